"""Levels: how another set of tires, or another part of the day, may read by itself.

Neither is a knob. A run on set 2 has moved ``("set", "2")`` by 1 and ``("set", "1")`` by -1 since
the day's first run, on set 1; one of the next morning ``("part", "2")`` and ``("part", "1")``
likewise. So every set and every part has one level of its own, known before the runs to within the
spreads below: it is learned with the answers, shared by all runs on it, found again by going back
to it, and credited to no knob.

The spreads are of one level; two of them are sqrt(2) as far apart.
"""

from collections.abc import Mapping
from math import hypot, sqrt

from planner.car.changes import Setting
from planner.trade.corners import Turns
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, terms
from planner.trade.knobs import PART, SET

# What is each tire's own [degF]. Of a set: a quarter of an inch of circumference from tire to tire
# moves cross weight and stagger, and with them the heat of a tire by some 5 degF; a tire scuffed at
# another camber wears to it. Of a part of the day: sun on one side, rubber laid down in one groove;
# cold pressures set on tires that are 15 degF colder come 1 psi higher by the gas law, 4 degF of
# crown, and about half the crews set them again. From memory, wide.
OWN: Mapping[str, Mapping[str, float]] = {
    SET: {"average": 4.0, "split": 3.0, "crown": 1.5},
    PART: {"average": 2.0, "split": 1.5, "crown": 2.0},
}

# What all four averages have in common [degF]. Of a set: new tread against scuffed or heat-cycled,
# one compound; which of them reads hotter is not agreed in the trade, so the mean is 0, and what
# laps do is a condition of its own (`observed.CONDITIONS`). Of a part: wind, sun and damp beside
# the track's temperature. From memory, wide.
COMMON: Mapping[str, float] = {SET: 5.0, PART: 3.0}

# How far the track of a part of the day is from that of the others where it was not written down
# [degF of track]; from memory. Where it was, the condition ``track_temp`` has it, and nothing is
# counted twice.
TRACK = 15.0


def is_level(setting: Setting) -> bool:
    """Say whether a displacement is that of a set of tires or a part of the day."""
    return setting[0] in OWN


def own(setting: Setting, figure: str) -> float | None:
    """Return what of a level is a tire's own [degF]; None where the setting is no level."""
    return OWN[setting[0]][figure.partition(".")[0]] if is_level(setting) else None


def common(level: Setting, track: Estimate | None = None) -> float:
    """Return what of a level all four averages share [degF]; see `prior`."""
    shared = COMMON[level[0]]
    if track is None or level[0] != PART:
        return shared
    return hypot(shared, TRACK * hypot(track.mean, track.sd))


def prior(setting: Setting, track: Estimate | None = None) -> dict[str, Estimate]:
    """Return what is believed of a level before a run has shown it.

    Parameters
    ----------
    track : what a degree of track temperature does to the averages [degF per degF], where that of
        the part was not recorded.
    """
    average = hypot(OWN[setting[0]]["average"], common(setting, track))
    spread = {**OWN[setting[0]], "average": average}
    return {name: Estimate(0.0, spread[name.partition(".")[0]]) for name in BASE_FIGURES}


def displaced(now: Mapping[str, str], first: Mapping[str, str]) -> dict[Setting, float]:
    """Return how far a run has moved from the levels of the day's first run.

    Parameters
    ----------
    now, first : the set and the part of the day, by ``set`` and ``part``.
    """
    moved: dict[Setting, float] = {}
    for kind in OWN:
        if now[kind] != first[kind]:
            moved[kind, now[kind]] = 1.0
            moved[kind, first[kind]] = -1.0
    return moved


def spread(
    moved: Mapping[Setting, float], name: str, turns: Turns, track: Estimate | None = None
) -> float:
    """Return how far levels that no run has shown may move a figure, one standard deviation [degF].

    Parameters
    ----------
    moved : as `displaced` returns it.
    name : any figure of `figures.terms`.
    track : see `prior`.
    """
    parts = terms(name, turns)
    averages = sum(w for term, w in parts.items() if term.startswith("average."))
    variance = 0.0
    for level, amount in moved.items():
        alone = {term: own(level, term) or 0.0 for term in parts}
        by_tire = sum((w * alone[term]) ** 2 for term, w in parts.items())
        variance += amount**2 * (by_tire + (averages * common(level, track)) ** 2)
    return sqrt(variance)
