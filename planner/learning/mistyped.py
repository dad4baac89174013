"""Tires exchanged or edges mirrored while typing: asked where that explains the readings better."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import permutations

import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.learning.posterior import Posterior
from planner.learning.reading_noise import AVERAGES, SHARE
from planner.run.slips import Question
from planner.trade.corners import CORNERS, Corner, Three
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, compute

Array = npt.NDArray[np.float64]

_ALL = range(len(BASE_FIGURES))

# How many times likelier an exchange must make the readings before it is asked about. One run in a
# hundred is typed with one of the ten simple ones (six pairs, four tires' edges), from memory, so
# each has odds of one in a thousand beforehand; a question costs one key and a slip costs runs, so
# one chance in ten is worth asking: 1000/10.
CLEARLY = 100.0

# Chance of readings at least as far from what is predicted as they are once put right; below it
# they fit neither way, and something else has happened.
BELIEVABLE = 0.001

# What all tires of a run may be hotter or cooler by alike is the day's heat and no slip [degF].
# From memory, wide.
DAYS_HEAT = 30.0


def questions(
    known: Posterior, since: Mapping[Setting, float], tires: Mapping[Corner, Three]
) -> tuple[Question, ...]:
    """Return the doubts about tires that all runs so far predict better once put right.

    Parameters
    ----------
    known : by the runs so far.
    since : what was moved since the last of them [unit of the knob].
    tires : as typed, all four.

    Notes
    -----
    The readings to come are normal by the posterior, with the noise of a single run added and
    the heat of the day. With d² the squared distance of readings from their prediction in that
    covariance, putting them right makes them exp((d²_typed - d²_right)/2) times likelier. Of
    exchanges the one of fewest tires is asked about, unless one of more is clearly likelier still.
    """
    mean, covariance = known.joint(BASE_FIGURES, moved=since)
    covariance = covariance + np.diag(SHARE * known.priors.noise.reading**2)
    covariance[AVERAGES, AVERAGES] += DAYS_HEAT**2
    typed = _distance(tires, mean, covariance)

    def gain(put_right: Mapping[Corner, Three]) -> float:
        """Return the logarithm of the likelihood ratio; none where they fit neither way."""
        right = {**tires, **put_right}
        own = _told_by(put_right)
        if chance_beyond(_distance(right, mean, covariance, own), len(own)) < BELIEVABLE:
            return -math.inf
        return (typed - _distance(right, mean, covariance)) / 2

    found: list[Question] = []
    meant: Mapping[Corner, Three] = {}
    least = 0.0
    for exchanged in _exchanges(tires):
        at = gain(exchanged)
        more = len(exchanged) > len(meant)
        if at > least + (math.log(CLEARLY) if more else 0.0):
            meant, least = exchanged, at
    if meant:
        found.append(Question(next(iter(meant)), "exchanged", instead=meant))
    for corner in CORNERS:
        inner, middle, outer = tires[corner]
        mirrored: dict[Corner, Three] = {corner: (outer, middle, inner)}
        if corner not in meant and gain(mirrored) > math.log(CLEARLY):
            at = BASE_FIGURES.index(f"split.{corner}")
            usual = Estimate(float(mean[at]), math.sqrt(float(covariance[at, at])))
            found.append(Question(corner, "turned-over", inner - outer, usual, instead=mirrored))
    return tuple(found)


def _exchanges(tires: Mapping[Corner, Three]) -> Iterator[dict[Corner, Three]]:
    """Yield what the tires may have been, exchanged in every way: those that move, pairs first."""
    ways = [
        {
            corner: tires[from_]
            for corner, from_ in zip(CORNERS, order, strict=True)
            if corner != from_
        }
        for order in permutations(CORNERS)
    ]
    yield from sorted((way for way in ways if way), key=len)


def _told_by(put_right: Mapping[Corner, Three]) -> list[int]:
    """Return where the figures stand that show whether tires fit once they are put right.

    A mirrored tire has another split; exchanged ones have other patterns and other places among
    the averages of all four.
    """
    if len(put_right) == 1:
        (corner,) = put_right
        return [BASE_FIGURES.index(f"split.{corner}")]
    return [
        number
        for number, name in enumerate(BASE_FIGURES)
        if name.startswith("average.") or name.partition(".")[2] in put_right
    ]


def _distance(
    tires: Mapping[Corner, Three], mean: Array, covariance: Array, at: Sequence[int] = _ALL
) -> float:
    """Return the squared distance of some figures from their prediction."""
    base = compute(tires).base
    off = np.array([base[BASE_FIGURES[number]] for number in at]) - mean[at]
    return float(off @ np.linalg.solve(covariance[np.ix_(at, at)], off))


def chance_beyond(distance: float, freedom: int) -> float:
    """Return the probability that a chi-square variable is larger.

    Parameters
    ----------
    distance : the squared distance.
    freedom : degrees of freedom.

    Notes
    -----
    The closed forms for even and odd degrees, [1] 26.4.4 and 26.4.5.

    References
    ----------
    .. [1] M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964 (from memory).
    """
    half = distance / 2
    start, tail = (0.0, 0.0) if freedom % 2 == 0 else (0.5, math.erfc(math.sqrt(half)))
    powers = [start + number for number in range(freedom // 2)]
    near = math.fsum(math.pow(half, power) / math.gamma(power + 1) for power in powers)
    return tail + math.exp(-half) * near
