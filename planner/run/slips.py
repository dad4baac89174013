"""Readings that are possible but look like a slip of the pen: asked about, never changed.

The sizes are from memory: three strips of one tire seldom lie further apart than this.
"""

from collections.abc import Mapping, Sequence
from itertools import permutations
from statistics import median
from typing import Literal

import attrs

from planner.run.readings import Run
from planner.trade import units
from planner.trade.corners import CORNERS, STRIPS, Corner, Three
from planner.trade.estimate import Estimate

ALONE = 45.0  # degF that one strip may differ from the mean of its two neighbours
TOGETHER = 25.0  # degF that two strips differ at most when the third is suspected
FROM_LAST_RUN = 70.0  # degF that a tire may change from one run to the next
TEPID = 125.0  # degF; a tire that has run laps is warmer on any day
LEAST_AIR = 5.0  # psi; less is a slip, another unit or a flat tire
SCORCHING = 350.0  # degF; rubber comes apart near here
SLOW_LAP = 1.3  # times the usual lap: a digit slipped, or a lap behind a pace car
FAST_LAP = 0.94  # of the usual lap; no lap of a run is so much faster
SWAPPED = 25.0  # degF by which the split turned over when the edges were perhaps swapped
TURNED = 3.0  # standard errors from the usual split that are asked about, should it be turned over
FITTING = 1.5  # standard errors within which it must lie once turned back
MOVED_AIR = 1.5  # psi by which two tires must be off before they are taken for exchanged
FITTING_AIR = 0.75  # psi within which each must lie once put back


@attrs.frozen
class Question:
    """A doubtful reading: where, what is odd in words, and what may have been meant."""

    corner: Corner
    says: str
    instead: Three | None = None


@attrs.frozen
class AirQuestion:
    """A doubtful pressure: where, what is odd in words, and what may have been meant [psi]."""

    corner: Corner
    when: Literal["cold", "hot"]
    says: str
    instead: Mapping[Corner, float] | None = None


def questions(
    tires: Mapping[Corner, Three],
    before: Mapping[Corner, Three] | None = None,
    system: units.System = "us",
    splits: Mapping[Corner, Estimate] = {},
) -> tuple[Question, ...]:
    """Return what should be asked about the readings before they are stored.

    Parameters
    ----------
    tires : inner, middle, outer [degF] at the corners read so far.
    before : the same of the last good run, where there is one.
    system : units the words are written in.
    splits : what the splits should read by all runs so far, what was changed since counted.
    """
    found = _other_unit(tires, system)
    if found:
        return tuple(found)
    for corner in CORNERS:
        if corner not in tires:
            continue
        asked = _one_strip(corner, tires[corner], system)
        if asked is None and before is not None:
            asked = _against_before(corner, tires[corner], before[corner], system)
        if asked is None and corner in splits:
            asked = _turned_over(corner, tires[corner], splits[corner], system)
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
        AirQuestion(
            corner,
            when,
            f"{corner} {psi:.1f} psi {when} is hardly a tire to drive on; bar is written "
            f"{psi:g}bar",
        )
        for when, values in read
        for corner, psi in values.items()
        if psi < LEAST_AIR
    ]
    return tuple(found or _exchanged(run.cold, known))


def laps(times: Sequence[float]) -> str:
    """Return what should be asked about the lap times of a run [s], or ``""``.

    The first lap may be as slow as it likes; a lap behind a pace car is no slip either, so this
    can only be asked.
    """
    rest = times[1:]
    if len(rest) < 2:
        return ""
    usual = median(rest)
    for number, lap in enumerate(times, start=1):
        if lap < usual * FAST_LAP or (lap > usual * SLOW_LAP and number > 1):
            return f"lap {number} took {lap:g} s, where the others took about {usual:.2f} s"
    return ""


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
    read, fits = (
        ", ".join(f"{corner} {each[corner]:g}" for corner in off) for each in (cold, instead)
    )
    says = (
        f"cold {read} psi look exchanged, as if typed in another order; by what was in the tires "
        f"it is {fits}: was that meant?"
    )
    return [AirQuestion(off[0], "cold", says, instead)]


def _other_unit(tires: Mapping[Corner, Three], system: units.System) -> list[Question]:
    """Return the doubt about four tires as cool, or as hot, as they are in the other unit."""
    if set(tires) != set(CORNERS):
        return []
    averages = [sum(tire) / 3 for tire in tires.values()]
    if system == "us" and max(averages) < TEPID:
        return [Question("LF", "all four tires are as cool as if read in °C; the plan is in °F")]
    if system == "metric" and min(averages) > SCORCHING:
        return [Question("LF", "all four tires are as hot as if read in °F; the plan is in °C")]
    return []


def _one_strip(corner: Corner, tire: Three, system: units.System) -> Question | None:
    for index, strip in enumerate(STRIPS):
        value = tire[index]
        one, other = (tire[i] for i in range(3) if i != index)
        shown = units.temperature(value, system)
        mean = (one + other) / 2
        if abs(one - other) <= TOGETHER and abs(value - mean) > ALONE:
            instead = _digit_slip(value, mean, system)
            meant = f"; was {units.temperature(instead, system)} meant?" if instead else ""
            says = f"{corner} {strip} {shown} is far from its neighbours{meant}"
            fixed = None if instead is None else _replaced(tire, index, instead)
            return Question(corner, says, fixed)
        if value > SCORCHING:
            return Question(corner, f"{corner} {strip} {shown} is hotter than a tire stands")
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


def _against_before(
    corner: Corner, tire: Three, before: Three, system: units.System
) -> Question | None:
    split, old = tire[0] - tire[2], before[0] - before[2]
    if abs(split - old) > SWAPPED and abs(-split - old) < SWAPPED / 3:
        says = (
            f"{corner} reads {units.difference(split, system)} from inner to outer, but "
            f"{units.difference(old, system)} a run ago; were the edges swapped?"
        )
        return Question(corner, says, (tire[2], tire[1], tire[0]))
    moved = sum(tire) / 3 - sum(before) / 3
    if abs(moved) > FROM_LAST_RUN:
        says = f"{corner} is {units.difference(moved, system)} away from the run before"
        return Question(corner, says)
    return None


def _turned_over(
    corner: Corner, tire: Three, usual: Estimate, system: units.System
) -> Question | None:
    """Return the doubt about a split that fits all runs so far, had the edges been swapped."""
    split = tire[0] - tire[2]
    if split * usual.mean >= 0 or abs(split - usual.mean) <= TURNED * usual.sd:
        return None
    if abs(-split - usual.mean) > FITTING * usual.sd:
        return None
    says = (
        f"{corner} reads {units.difference(split, system)} from inner to outer, but "
        f"{units.difference(usual.mean, system)} by all runs so far, give or take "
        f"{units.difference(usual.sd, system, signed=False)}; were the edges swapped?"
    )
    return Question(corner, says, (tire[2], tire[1], tire[0]))


def _replaced(tire: Three, index: int, value: float) -> Three:
    inner, middle, outer = (value if i == index else tire[i] for i in range(3))
    return inner, middle, outer
