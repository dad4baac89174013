"""Readings that are possible but look like a slip of the pen: asked about, never changed.

The sizes are from memory: three strips of one tire seldom lie further apart than this.
"""

from collections.abc import Mapping

import attrs

from planner import units
from planner.corners import CORNERS, Corner
from planner.readings import STRIPS, Three

ALONE = 45.0  # degF that one strip may differ from the mean of its two neighbours
TOGETHER = 25.0  # degF that two strips differ at most when the third is suspected
FROM_LAST_RUN = 70.0  # degF that a tire may change from one run to the next
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
    found = []
    for corner in CORNERS:
        if corner not in tires:
            continue
        asked = _one_strip(corner, tires[corner], system)
        if asked is None and before is not None:
            asked = _against_before(corner, tires[corner], before[corner], system)
        if asked is not None:
            found.append(asked)
    return tuple(found)


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
