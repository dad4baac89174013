"""What the first run of a day should read, by earlier days of the car at this track."""

from collections.abc import Mapping
from math import erfc, hypot, sqrt

import attrs

from planner.learning.observed import CONDITIONS, Observation
from planner.trade.corners import was_read
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, SHARE, Noise

# A first run is called out of character where a figure is less likely than this: with twelve
# figures one morning in twenty at most says so by chance (Bonferroni).
UNLIKELY = 0.05 / len(BASE_FIGURES)


@attrs.frozen
class Usual:
    """What the first run should read, by the days of the car at this track.

    Attributes
    ----------
    days : how many there were.
    figures : the twelve base figures [degF] with the morning's settings in the weather of
        `conditions`; their spread is that of a day to come, reading noise aside.
    conditions : ``track_temp`` and ``air_temp`` [degF], where they were written down.
    """

    days: int
    figures: Mapping[str, Estimate]
    conditions: Mapping[str, float] = attrs.field(factory=dict)


@attrs.frozen
class OutOfCharacter:
    """A figure of the first run that is not as this car has been here.

    Attributes
    ----------
    read, usual : as read, and as it should have been with its spread, noise included [degF].
    days : of the car at this track.
    """

    figure: str
    read: float
    usual: Estimate
    days: int


def out_of_character(usual: Usual, seen: Observation, noise: Noise) -> tuple[OutOfCharacter, ...]:
    """Return what of a first run is out of character, the least likely first.

    Parameters
    ----------
    seen : the first run.
    noise : of its readings.
    """
    found = []
    for name, known in usual.figures.items():
        read = seen.base[name]
        if not was_read(read):
            continue
        corner = name.partition(".")[2]
        extra = {str(c): v for c, v in seen.extra_variance.items()}.get(corner, 0.0)
        mean, variance = known.mean, known.sd**2 + SHARE[name] * (noise.reading**2 + extra)
        if name.startswith("average."):
            level = {str(c): v for c, v in seen.level_variance.items()}.get(corner, 0.0)
            shift, spread = _weather(usual, seen)
            mean += shift
            variance += spread**2 + noise.run**2 + seen.common_variance + level
        expected = Estimate(mean, sqrt(variance))
        off = abs(read - mean) / expected.sd
        if erfc(off / sqrt(2)) < UNLIKELY:
            found.append((off, OutOfCharacter(name, read, expected, usual.days)))
    return tuple(each for _, each in sorted(found, key=lambda pair: -pair[0]))


def _weather(usual: Usual, seen: Observation) -> tuple[float, float]:
    """Return what today's weather adds to the averages, and the spread of that [degF]."""
    mean = spread = 0.0
    for name, known in usual.conditions.items():
        if name in seen.conditions:
            apart = seen.conditions[name] - known
            mean += CONDITIONS[name].mean * apart
            spread = hypot(spread, CONDITIONS[name].sd * apart)
    return mean, spread
