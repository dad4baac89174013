"""Rubber: the grip that heat and wear leave, and the tread that sliding takes."""

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import spread

Array = npt.NDArray[np.float64]

HOTTER_WEARS = 100.0  # degF that make rubber wear e times as fast; from memory


@attrs.frozen
class Rubber:
    """The compound. All from memory.

    Attributes
    ----------
    wear : tread lost per joule of sliding on a strip at 200 degF [1/32 in per J].
    fade : share of grip lost 100 degF from the best temperature [1].
    best : temperature of most grip [degF].
    depth : tread when new [1/32 in].
    worn_grip : share of grip lost by the time the tread is gone [1].
    """

    wear: float = spread.near(1.5e-7, 0.3)
    fade: float = spread.near(0.06, 0.3)
    best: float = 210.0
    depth: float = 8.0
    worn_grip: float = 0.10

    def grip(self, strips: Array, left: Array) -> Array:
        """Return what heat and wear leave of the grip of a car [1], a mean over its tires.

        Parameters
        ----------
        strips : temperatures of the tread, shape (..., 4, 3) [degF].
        left : tread on each strip, as a share of the new one [1].

        Notes
        -----
        m = (1 − fade ((T − best)/100)²)(1 − worn_grip · worn), the first never below a half.
        """
        cold_or_hot = ((strips.mean(axis=-1) - self.best) / 100) ** 2
        warm = np.maximum(1 - self.fade * cold_or_hot, 0.5)
        worn = 1 - self.worn_grip * (1 - left.mean(axis=-1))
        mean: Array = (warm * worn).mean(axis=-1)
        return mean

    def worn(self, joules: Array, strips: Array) -> Array:
        """Return the tread that sliding takes off every strip [1/32 in].

        Parameters
        ----------
        joules : work of sliding on each strip [J].
        strips : their temperatures [degF].

        Notes
        -----
        Wear goes as the work of sliding, faster on hot rubber (Archard's law with an exponential;
        common practice, no source).
        """
        lost: Array = self.wear * joules * np.exp((strips - 200.0) / HOTTER_WEARS)
        return lost
