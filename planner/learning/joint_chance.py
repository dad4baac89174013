"""How likely several figures lie in their bands together."""

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from planner.learning.observed import chance_within
from planner.trade.estimate import Estimate

Array = npt.NDArray[np.float64]

_POINTS = 1024
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53)
_NORMAL = NormalDist()
# Points in the unit cube, a column a figure.
_CUBE: Array = np.abs(2 * (np.arange(1, _POINTS + 1)[:, None] * np.sqrt(_PRIMES) % 1.0) - 1)


def chance_all_within(
    mean: Sequence[float] | Array,
    covariance: Sequence[Sequence[float]] | Array,
    lows: Sequence[float | None],
    highs: Sequence[float | None],
) -> float:
    """Return the probability that several figures lie in their bands together.

    Parameters
    ----------
    mean, covariance : as `response.Posterior.joint` returns them; up to 17 figures.
    lows, highs : edges of the bands; None leaves that side open.

    Notes
    -----
    Exact for one figure and for independent ones. Otherwise the separation of variables of
    Genz [1]_: with a Cholesky root of the correlations the probability becomes an integral over
    the unit cube, here taken at 1024 points of the sequence of square roots of primes, folded by
    |2 x - 1|; figures least likely in band come first. Always the same points, so always the same
    answer. Within 0.003 of the true value for up to eight figures (tested); within 0.01 where some
    figures are sums of others, the integrand then having jumps.

    References
    ----------
    .. [1] A. Genz, "Numerical Computation of Multivariate Normal Probabilities", *J. Comput.
       Graph. Stat.* 1 (1992), 141-149.
    """
    middle, spread = np.asarray(mean), np.asarray(covariance)
    sds = np.sqrt(np.maximum(np.diag(spread), 0.0))
    single = [
        chance_within(Estimate(float(middle[i]), float(sds[i])), lows[i], highs[i])
        for i in range(len(middle))
    ]
    if 0.0 in single:
        return 0.0
    below = np.array([-math.inf if low is None else low for low in lows]) - middle
    above = np.array([math.inf if high is None else high for high in highs]) - middle
    chance = 1.0
    for group in _tied(sorted(range(len(single)), key=single.__getitem__), spread):
        if len(group) == 1:
            chance *= single[group[0]]
            continue
        scale = sds[group]
        root = _semidefinite_root(spread[np.ix_(group, group)] / np.outer(scale, scale))
        chance *= _together(root, below[group] / scale, above[group] / scale)
    return chance


def _tied(figures: Sequence[int], spread: Array) -> list[list[int]]:
    """Part the figures into groups that do not correlate with one another, each in order."""
    groups: list[list[int]] = []
    for i in figures:
        near = [g for g in groups if any(abs(spread[i, j]) > 1e-12 for j in g)]
        joined = sorted({i, *(j for g in near for j in g)}, key=figures.index)
        groups = [g for g in groups if g not in near] + [joined]
    return groups


def _together(root: Array, below: Array, above: Array) -> float:
    """Return the probability that correlated standard normals lie in their bands together."""
    size = len(root)
    points = _CUBE[:, : size - 1]
    drawn = np.zeros((_POINTS, size))
    chance = np.ones(_POINTS)
    for i in range(size):
        shift = drawn[:, :i] @ root[i, :i]
        if root[i, i] == 0:
            chance *= (below[i] <= shift) & (shift <= above[i])
            continue
        start = _normal((below[i] - shift) / root[i, i])
        end = _normal((above[i] - shift) / root[i, i])
        chance *= end - start
        if i + 1 < size:
            # The inverse has no value at 0 and 1, where a band is many deviations away.
            at = np.clip(start + points[:, i] * (end - start), 1e-15, 1 - 1e-15)
            drawn[:, i] = [_NORMAL.inv_cdf(each) for each in at.tolist()]
    return float(chance.mean())


def _semidefinite_root(correlation: Array) -> Array:
    """Return a lower triangular root; a figure that is a sum of those before it gets a pivot 0."""
    size = len(correlation)
    root = np.zeros((size, size))
    for i in range(size):
        for j in range(i):
            if root[j, j] > 0:
                root[i, j] = (correlation[i, j] - root[i, :j] @ root[j, :j]) / root[j, j]
        left = 1.0 - float(root[i, :i] @ root[i, :i])
        root[i, i] = math.sqrt(left) if left > 1e-9 else 0.0
    return root


def _normal(values: Array) -> Array:
    """Return the normal distribution function of every value."""
    return 0.5 * np.array([math.erfc(each) for each in (values * -math.sqrt(0.5)).tolist()])
