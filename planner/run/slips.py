"""Readings that are possible but look like a slip of the pen: asked about, never changed.

The sizes are from memory: three strips of one tire seldom lie further apart than this.
"""

from collections.abc import Mapping, Sequence
from itertools import permutations
from statistics import median
from typing import Literal

import attrs

from planner.run.readings import LEAST_AIR, Run
from planner.trade import units
from planner.trade.corners import CORNERS, STRIPS, Corner, Strip, Three, average_read, was_read
from planner.trade.estimate import Estimate

ALONE = 45.0  # degF that one strip may differ from the mean of its two neighbours
TOGETHER = 25.0  # degF that two strips differ at most when the third is suspected
FROM_LAST_RUN = 70.0  # degF that a tire may change from one run to the next
TEPID = 125.0  # degF; a tire that has run laps is warmer on any day
SCORCHING = 350.0  # degF; rubber comes apart near here
SLOW_LAP = 1.3  # times the usual lap: a digit slipped, or a lap behind a pace car
FAST_LAP = 0.94  # of the usual lap; no lap of a run is so much faster
MOVED_AIR = 1.5  # psi by which two tires must be off before they are taken for exchanged
FITTING_AIR = 0.75  # psi within which each must lie once put back


# What is odd about a reading: the four tires look typed in the other unit; a strip is far from its
# neighbours, or hotter than a tire stands; by all runs so far, tires look exchanged, or the edges
# of one; the tire is far from the last run.
Odd = Literal[
    "in-celsius",
    "in-fahrenheit",
    "far-strip",
    "too-hot",
    "exchanged",
    "turned-over",
    "far-from-last",
]
# What is odd about pressures: too low to drive on; typed in another order; hot ones that cannot
# come of the cold ones, or only if the tire lost air.
OddAir = Literal["too-low", "exchanged", "impossible", "lost"]


@attrs.frozen
class Question:
    """A doubtful reading.

    Attributes
    ----------
    reads : the number that is odd [degF]: a strip, a split, or the change since the last run.
    usual : what a split should read by all runs so far [degF].
    strip : which one it is about.
    instead : what the tires it is about may have been meant to be; empty where nobody can tell.
    """

    corner: Corner
    odd: Odd
    reads: float = 0.0
    usual: Estimate | None = None
    strip: Strip | None = None
    instead: Mapping[Corner, Three] = attrs.field(factory=dict)

    @property
    def corners(self) -> tuple[Corner, ...]:
        """The tires it is about."""
        return tuple(self.instead) or (self.corner,)


@attrs.frozen
class AirQuestion:
    """A doubtful pressure, or several that look exchanged.

    Attributes
    ----------
    read : the doubtful ones as they were read [psi].
    cold : what a hot one that does not belong to it would have come of [psi].
    instead : what all of them may have been meant to be [psi].
    """

    corner: Corner
    when: Literal["cold", "hot"]
    odd: OddAir
    read: Mapping[Corner, float]
    cold: float | None = None
    instead: Mapping[Corner, float] | None = None


@attrs.frozen
class LapQuestion:
    """A doubtful lap time: its number from 1, and the time of the others [s]."""

    number: int
    time: float
    usual: float


def questions(
    tires: Mapping[Corner, Three],
    before: Mapping[Corner, Three] | None = None,
    system: units.System = "us",
) -> tuple[Question, ...]:
    """Return what should be asked about the readings before they are stored.

    Parameters
    ----------
    tires : inner, middle, outer [degF] at the corners read so far.
    before : the same of the last good run, where there is one.
    system : the units they were typed in, whose digits may have slipped.
    """
    found = _other_unit(tires, system)
    if found:
        return tuple(found)
    for corner in CORNERS:
        if corner not in tires:
            continue
        asked = _one_strip(corner, tires[corner], system)
        if asked is None and before is not None:
            asked = _against_before(corner, tires[corner], before[corner])
        if asked is not None:
            found.append(asked)
    return tuple(found)


def pressures(run: Run, known: Mapping[Corner, float] = {}) -> tuple[AirQuestion, ...]:
    """Return what should be asked about the pressures of a run.

    Parameters
    ----------
    known : the cold pressures that should be in the tires [psi], where that is known.
    """
    read: tuple[tuple[Literal["cold", "hot"], Mapping[Corner, float]], ...]
    read = (("cold", run.cold), ("hot", run.hot))
    found = [
        AirQuestion(corner, when, "too-low", {corner: psi})
        for when, values in read
        for corner, psi in values.items()
        if psi < LEAST_AIR
    ]
    return tuple(found or _exchanged(run.cold, known))


def laps(times: Sequence[float]) -> LapQuestion | None:
    """Return what should be asked about the lap times of a run [s]; None where nothing is odd.

    The first lap may be as slow as it likes; a lap behind a pace car is no slip either, so this
    can only be asked.
    """
    rest = times[1:]
    if len(rest) < 2:
        return None
    usual = median(rest)
    for number, lap in enumerate(times, start=1):
        if lap < usual * FAST_LAP or (lap > usual * SLOW_LAP and number > 1):
            return LapQuestion(number, lap, usual)
    return None


def _exchanged(cold: Mapping[Corner, float], known: Mapping[Corner, float]) -> list[AirQuestion]:
    """Return the doubt about cold pressures that fit once some of them have changed places.

    What all tires are higher or lower by alike is the day's heat, not a slip.
    """
    both = [corner for corner in CORNERS if corner in cold and corner in known]
    if len(both) < 2:
        return []
    heat = sum(cold[corner] - known[corner] for corner in both) / len(both)
    off = [corner for corner in both if abs(cold[corner] - known[corner] - heat) > MOVED_AIR]

    def worst(order: tuple[float, ...]) -> float:
        return max(abs(psi - known[c] - heat) for c, psi in zip(off, order, strict=True))

    if len(off) < 2:
        return []
    best = min(permutations(cold[corner] for corner in off), key=worst)
    if worst(best) > FITTING_AIR:
        return []
    instead = {**cold, **dict(zip(off, best, strict=True))}
    read = {corner: cold[corner] for corner in off}
    return [AirQuestion(off[0], "cold", "exchanged", read, instead=instead)]


def _other_unit(tires: Mapping[Corner, Three], system: units.System) -> list[Question]:
    """Return the doubt about four tires as cool, or as hot, as they are in the other unit."""
    if set(tires) != set(CORNERS):
        return []
    averages = [at for tire in tires.values() if was_read(at := average_read(tire))]
    if not averages:
        return []
    if system == "us" and max(averages) < TEPID:
        return [Question("LF", "in-celsius", max(averages))]
    if system == "metric" and min(averages) > SCORCHING:
        return [Question("LF", "in-fahrenheit", min(averages))]
    return []


def _one_strip(corner: Corner, tire: Three, system: units.System) -> Question | None:
    for index, strip in enumerate(STRIPS):
        value = tire[index]
        one, other = (tire[i] for i in range(3) if i != index)
        mean = (one + other) / 2
        if abs(one - other) <= TOGETHER and abs(value - mean) > ALONE:
            instead = _digit_slip(value, mean, system)
            fixed = {} if instead is None else {corner: _replaced(tire, index, instead)}
            return Question(corner, "far-strip", value, strip=strip, instead=fixed)
        if value > SCORCHING:
            return Question(corner, "too-hot", value, strip=strip)
    return None


def _digit_slip(value: float, mean: float, system: units.System) -> float | None:
    """Return what was meant if a digit was left out, doubled or swapped; None if not to be told."""
    typed = units.in_plan_unit(value, system)
    text = f"{typed:.0f}"
    near = units.in_plan_unit(mean, system)
    guesses = {text[:i] + text[i + 1 :] for i in range(len(text))}  # one too many
    guesses |= {text[:i] + d + text[i:] for i in range(len(text) + 1) for d in "0123456789"}
    guesses |= {
        text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1)
    }  # swapped
    guesses |= {text[:i] + d + text[i + 1 :] for i in range(len(text)) for d in "0123456789"}
    numbers = [float(guess) for guess in guesses if guess.lstrip("-").isdigit()]
    close = [guess for guess in numbers if abs(guess - near) <= TOGETHER / 2]
    if not close:
        return None
    return units.fahrenheit(min(close, key=lambda guess: abs(guess - near)), system)


def _against_before(corner: Corner, tire: Three, before: Three) -> Question | None:
    moved = sum(tire) / 3 - sum(before) / 3
    return Question(corner, "far-from-last", moved) if abs(moved) > FROM_LAST_RUN else None


def _replaced(tire: Three, index: int, value: float) -> Three:
    inner, middle, outer = (value if i == index else tire[i] for i in range(3))
    return inner, middle, outer
