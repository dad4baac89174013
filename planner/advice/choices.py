"""What a knob may be turned by in one move, and what its work costs."""

from collections.abc import Callable, Iterable

import attrs

from planner.car import changes as changing
from planner.car.changes import Setting
from planner.car.limits import Limits
from planner.rulebook.rules import Adjustment, Rulebook, Way
from planner.trade.knobs import Room

# Where a setting stands before it is turned by an amount, as far as that is known.
Stands = Callable[[Setting, float], float | None]

RUN_MINUTES = 12.0  # a run and its readings, beside the work itself; from memory

# What turning a knob must take off the loss (`expected.Faults.loss`): for each knob however little
# it is turned, and for each minute of work. A run of twelve minutes is made for 0.05 of a fault,
# what a day of the usual certainty ends with; so a minute is worth 0.004. A part: from memory.
PART = 0.01
MINUTE = 0.004


@attrs.frozen
class Choices:
    """What one knob may be turned by.

    Attributes
    ----------
    amounts : in whole steps and within its limits, without 0 [unit of the knob].
    minutes : of work.
    """

    amounts: tuple[float, ...]
    minutes: float


def amounts(entry: Adjustment, room: Room) -> tuple[float, ...]:
    """Return the amounts one move of a knob may have: whole steps, either way, not 0."""
    step = entry.step_on(room)
    steps = range(1, int(entry.most_on(room) / step + 1e-9) + 1)
    return tuple(changing.tidy(sign * step * number) for number in steps for sign in (1, -1))


def choices(
    setting: Setting, book: Rulebook, limits: Limits, stands: Stands, way: Way | None = None
) -> Choices:
    """Return what a knob may be turned by as it stands, within the limits of the car.

    Parameters
    ----------
    limits : how far every setting may go.
    stands : where it stands.
    way : it is to be turned, where that is given.
    """
    (entry, *_) = book.adjustments_of(*setting)
    room = limits.room(*setting)
    step = entry.step_on(room)
    found = tuple(
        amount
        for amount in (() if room.fixed else amounts(entry, room))
        if way is None or (amount > 0) == (way == "+")
        if changing.within(entry.knob, amount, stands(setting, amount), room, step)[0] == amount
    )
    return Choices(found, entry.minutes)


def cost_of(minutes: Iterable[float]) -> float:
    """Return what the work of some knobs costs, in units of the loss.

    Parameters
    ----------
    minutes : of each knob turned.
    """
    return sum(PART + MINUTE * each for each in minutes)
