"""How much is expected to be out of band: the one number that everything is decided by.

What holds a stage, the size and order of offers, what rides along, when a day is done and how many
runs it may still take all come from `Faults`: the chance that each fault is truly there, and how
far out it is expected to be.
"""

import math
from collections.abc import Container
from functools import cached_property

import attrs
import numpy as np
import numpy.typing as npt

from planner.rulebook.rules import TUNING_ORDER, Band, Rulebook, TuningStage
from planner.trade.corners import Turns
from planner.trade.figures import BASE_FIGURES, terms

Array = npt.NDArray[np.float64]

# A figure this little beyond its edge [degF] is not worth a run: a probe shows whole degrees.
# From memory.
MARGIN = 1.0
# What half a band's width of expected excess counts beside one figure out of band; from memory.
EXCESS = 0.3

_GAP = "front_split_gap"


@attrs.frozen(eq=False)
class Faults:
    """What is expected of every band; arrays end in one entry a band, in the order of `Bands`.

    Attributes
    ----------
    chance : that the fault of the band is truly there, by more than `MARGIN`.
    excess : expected excess beyond that [half widths of the band].
    """

    chance: Array
    excess: Array

    @property
    def count(self) -> Array:
        """How many faults are expected to be there."""
        return np.asarray(self.chance.sum(axis=-1))

    @property
    def loss(self) -> Array:
        """The count, and a share of the excess, so that a bad fault weighs more than a slight one.

        With m and s of a figure beyond its edge, the excess is E[max(x, 0)] = m P(z) + s p(z),
        z = m/s: the loss of a normal variable beyond a threshold.
        """
        return np.asarray(self.count + EXCESS * self.excess.sum(axis=-1))


@attrs.frozen(eq=False)
class Bands:
    """The bands that hold a stage, laid out as arrays.

    Attributes
    ----------
    bands : in the order of the rules file.
    half_widths : of each [degF].
    turns : which way the track turns.
    """

    bands: tuple[Band, ...]
    half_widths: tuple[float, ...]
    turns: Turns

    @classmethod
    def of(cls, book: Rulebook, turns: Turns, left_open: Container[str] = ()) -> "Bands":
        """Return the bands of the rules, but for those the crew has left as they are.

        Parameters
        ----------
        left_open : patterns, as ``id:corner``.
        """
        found = tuple(band for band in book.stage_bands if band.key not in left_open)
        return cls(found, tuple(book.half_width(band) for band in found), turns)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """All figures looked at."""
        looked_at = (name for band in self.bands for name in band.figures)
        return tuple(dict.fromkeys((*looked_at, _GAP)))

    @cached_property
    def weights(self) -> Array:
        """The figures as weights on the base figures, (figures, 12)."""
        rows = [terms(name, self.turns) for name in self.names]
        return np.array([[row.get(base, 0.0) for base in BASE_FIGURES] for row in rows])

    @cached_property
    def pairs(self) -> Array:
        """Both figures of each band, or its one figure twice, (bands, 2)."""
        found = [[self.names.index(n) for n in (b.figures[0], b.figures[-1])] for b in self.bands]
        return np.array(found, dtype=int).reshape(-1, 2)

    def of_stage(self, stage: TuningStage) -> npt.NDArray[np.bool_]:
        """Return which bands are of a stage, (bands,) of booleans."""
        return np.asarray(self._stages == TUNING_ORDER.index(stage))

    @cached_property
    def _stages(self) -> Array:
        return np.array([TUNING_ORDER.index(b.rule.stage or "camber") for b in self.bands])

    @cached_property
    def _numbers(self) -> tuple[Array, Array, Array]:
        """Sign, edge [degF] and `alike` [degF] of each band."""
        return (
            np.array([band.rule.sign for band in self.bands]),
            np.array([band.rule.edge or 0.0 for band in self.bands]),
            np.array([band.rule.alike or math.inf for band in self.bands]),
        )

    def faults(self, mean: Array, covariance: Array) -> Faults:
        """Return what is expected, from the base figures.

        Parameters
        ----------
        mean : of the base figures, (12,) [degF].
        covariance : (12, 12) [degF²].
        """
        return self.faults_of(self.weights @ mean, *self._spread(covariance))

    def faults_of(self, mean: Array, variance: Array, shared: Array) -> Faults:
        """Return what is expected, from the figures.

        Parameters
        ----------
        mean, variance : of `names`, (..., figures) [degF, degF²].
        shared : covariance of the two figures of each band, (..., bands) [degF²].

        Notes
        -----
        A pattern of two figures is there when both are beyond, so by the one least beyond. Mean
        and variance of the lesser of two normal variables are those of Clark [1]_; it is then
        taken as normal. That is within 0.03 of the true chance nearly always, and within 0.08
        where one of the two is known much better than the other (tested).

        References
        ----------
        .. [1] C. E. Clark, "The Greatest of a Finite Set of Random Variables", *Operations
           Research* 9 (1961), 145-162.
        """
        beyond, square = self._beyond(mean, variance, shared)
        spread, half = np.sqrt(square), np.array(self.half_widths)
        z = beyond / spread
        chance = _normal(z)
        excess = (beyond * chance + spread * _density(z)) / half
        applies = self._alike(mean, variance)
        return Faults(chance * applies, excess * applies)

    def unseen(self, mean: Array, now: Array, after: Array) -> float:
        """Return how many faults are expected to be there and not to show after one more run.

        Parameters
        ----------
        mean : of the base figures, (12,) [degF].
        now, after : their covariance now, and after one more run of the car as it is [degF²].

        Notes
        -----
        A run changes nothing on the car, so by itself it leaves the expected number of faults as it
        is: the chances after it, whatever they come to, average to those now. What it buys is that
        a fault which is there then shows, and is put right. With a figure beyond its edge x ~
        N(m, s²) now and N(m', s'²) after the run, m' itself is N(m, w²) before it, w² = s² - s'²
        [1]_; the fault does not show where it is not more likely there than not, so where m' ≤ 0.
        What is left is P(x > 0, m' ≤ 0), the integral over m' ≤ 0 of P(m'/s') times the density of
        m', by Gauss-Legendre.

        References
        ----------
        .. [1] H. Raiffa and R. Schlaifer, *Applied Statistical Decision Theory*, Harvard, 1961,
           ch. 5: preposterior analysis.
        """
        figures, spread = self.weights @ mean, self._spread(now)
        beyond, before = self._beyond(figures, *spread)
        _, left = self._beyond(figures, *self._spread(after))
        moves, rest = np.sqrt(np.maximum(before - left, _LEAST)), np.sqrt(left)
        low, high = np.minimum(beyond, 0.0) - _FAR * moves, np.minimum(0.0, beyond + _FAR * moves)
        half = np.maximum(high - low, 0.0)[:, None] / 2
        nodes, node_weights = np.polynomial.legendre.leggauss(48)  # loaded only when it is asked
        at = low[:, None] + half * (1 + nodes)
        there = _normal(at / rest[:, None]) * _density((at - beyond[:, None]) / moves[:, None])
        chance = (there * node_weights * half / moves[:, None]).sum(axis=1)
        return float((chance * self._alike(figures, spread[0])).sum())

    def _spread(self, covariance: Array) -> tuple[Array, Array]:
        """Return the variance of every figure, and what the two of each band share."""
        own = self.weights @ covariance @ self.weights.T
        first, second = self.pairs.T
        return np.diag(own), own[first, second]

    def _beyond(self, mean: Array, variance: Array, shared: Array) -> tuple[Array, Array]:
        """Return how far each band's figures are beyond edge and margin, as mean and variance."""
        sign, edge, _ = self._numbers
        first, second = self.pairs.T
        beyond = sign * (mean[..., first] - edge)
        square = np.maximum(variance[..., first], _LEAST)
        two = np.flatnonzero(first != second)
        beyond[..., two], square[..., two] = _lesser(
            beyond[..., two],
            (sign * (mean[..., second] - edge))[..., two],
            square[..., two],
            variance[..., second[two]],
            shared[..., two],
        )
        return beyond - MARGIN, square

    def _alike(self, mean: Array, variance: Array) -> Array:
        """Return the chance that both front splits are as alike as each rule asks, (..., bands)."""
        applies = np.ones((*mean.shape[:-1], len(self.bands)))
        *_, alike = self._numbers
        asks = np.isfinite(alike)
        at = self.names.index(_GAP)
        gap, spread = mean[..., at, None], np.sqrt(np.maximum(variance[..., at, None], _LEAST))
        within = _normal(np.stack([alike[asks] - gap, -alike[asks] - gap]) / spread)
        applies[..., asks] = within[0] - within[1]
        return applies


_LEAST = 1e-12  # degF²; a figure known exactly is still a normal variable
_FAR = 8.0  # standard deviations; beyond is nothing


def _lesser(
    one: Array, other: Array, one_variance: Array, other_variance: Array, shared: Array
) -> tuple[Array, Array]:
    """Return mean and variance of the lesser of two normal variables, pair by pair."""
    apart = np.sqrt(np.maximum(one_variance + other_variance - 2 * shared, _LEAST))
    z = (one - other) / apart
    lower, density = _normal(-z), _density(z)
    upper = 1 - lower
    mean = one * lower + other * upper - apart * density
    square = (one**2 + one_variance) * lower + (other**2 + other_variance) * upper
    square -= (one + other) * apart * density
    return mean, np.maximum(square - mean**2, _LEAST)


def _normal(values: Array) -> Array:
    """Return the normal distribution function of every value."""
    flat = (values * -math.sqrt(0.5)).ravel().tolist()
    return 0.5 * np.fromiter(map(math.erfc, flat), float, len(flat)).reshape(values.shape)


def _density(values: Array) -> Array:
    """Return the standard normal density of every value."""
    return np.exp(-0.5 * values**2) / math.sqrt(2 * math.pi)
