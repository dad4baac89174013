"""Readings that are possible but look like a slip of the pen: asked about, never changed.

The sizes are from memory: three strips of one tire seldom lie further apart than this.
"""

from collections.abc import Mapping

import attrs

from planner import units
from planner.corners import CORNERS, Corner
from planner.readings import STRIPS, Run, Three

ALONE = 45.0  # degF that one strip may differ from the mean of its two neighbours
TOGETHER = 25.0  # degF that two strips differ at most when the third is suspected
FROM_LAST_RUN = 70.0  # degF that a tire may change from one run to the next
TEPID = 125.0  # degF; a tire that has run laps is warmer on any day
LEAST_AIR = 5.0  # psi; less is a slip, another unit or a flat tire
SCORCHING = 350.0  # degF; rubber comes apart near here
SWAPPED = 25.0  # degF by which the split turned over when the edges were perhaps swapped


@attrs.frozen
class Question:
    """A doubtful reading: where, what is odd in words, and what may have been meant."""

    corner: Corner
    says: str
    instead: Three | None = None


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
    system : units the words are written in.
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
        if asked is not None:
            found.append(asked)
    return tuple(found)


def pressures(run: Run) -> tuple[str, ...]:
    """Return what should be asked about the pressures of a run, in words."""
    return tuple(
        f"{corner} {psi:.1f} psi {when} is hardly a tire to drive on; bar is written {psi:g}bar"
        for when, values in (("cold", run.cold), ("hot", run.hot))
        for corner, psi in values.items()
        if psi < LEAST_AIR
    )


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


def _replaced(tire: Three, index: int, value: float) -> Three:
    inner, middle, outer = (value if i == index else tire[i] for i in range(3))
    return inner, middle, outer
