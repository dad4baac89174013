"""What air does to a tire: pressure as it warms, stiffness, and the size it grows to."""

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import spread

Array = npt.NDArray[np.float64]

ABSOLUTE_ZERO_F = -459.67  # NIST SP 811, appendix B.9
ATMOSPHERE_PSI = 14.696  # the standard atmosphere, 101 325 Pa


def warmed(cold_psi: Array, cold_f: float, hot_f: Array | float) -> Array:
    """Return the gauge pressure of dry air at constant volume at another temperature [psi].

    (p + p_atm) / T stays: Gay-Lussac's law.
    """
    ratio = (np.asarray(hot_f) - ABSOLUTE_ZERO_F) / (cold_f - ABSOLUTE_ZERO_F)
    hot: Array = (cold_psi + ATMOSPHERE_PSI) * ratio - ATMOSPHERE_PSI
    return hot


@attrs.frozen
class Casing:
    """How a tire carries by its air. From memory, of the right size only.

    Attributes
    ----------
    own_share : of the vertical rate that the casing has without air [1].
    grows : circumference gained per psi [in/psi].
    """

    own_share: float = spread.near(0.20, 0.15)
    grows: float = spread.near(0.08, 0.2)

    def rate(self, usual: Array, psi: Array, usual_psi: Array) -> Array:
        """Return the vertical rates of the tires [lb/in].

        Parameters
        ----------
        usual : rates [lb/in] at the pressures `usual_psi` [psi].

        Notes
        -----
        k = k0 (s + (1 − s) p / p0): the stiffness of a tire is nearly linear in its pressure and
        does not vanish without ([1]_, ch. 1, from memory).

        References
        ----------
        .. [1] S. K. Clark (ed.), *Mechanics of Pneumatic Tires*, NHTSA, 1981.
        """
        rate: Array = usual * (self.own_share + (1 - self.own_share) * psi / usual_psi)
        return rate

    def radius_gained(self, psi: Array, from_psi: Array) -> Array:
        """Return how much the unloaded radius grows from one pressure to another [in]."""
        gained: Array = self.grows * (psi - from_psi) / (2 * np.pi)
        return gained
