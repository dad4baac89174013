"""What another set of tires, or another part of the day, read by itself, as the runs show."""

from collections.abc import Mapping

import attrs

from planner.car.changes import Setting
from planner.plan.day import Day
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES


@attrs.frozen
class LevelSeen:
    """A set of tires, or a part of the day, against the first that was run.

    Attributes
    ----------
    level : ``("set", "2")`` or ``("part", "2")``.
    against : the first of its kind.
    apart : how much more it reads, of each base figure [degF].
    """

    level: Setting
    against: Setting
    apart: Mapping[str, Estimate]


def of(day: Day) -> tuple[LevelSeen, ...]:
    """Return every level that was run beside the first of its kind."""
    if not day.good:
        return ()
    first = day.good[0].level
    others = {
        level for run in day.good for level in run.level.items() if level not in first.items()
    }
    if not others:
        return ()
    found = []
    for kind, place in sorted(others):
        against = kind, first[kind]
        moved = {(kind, place): 1.0, against: -1.0}
        apart = {name: day.known.difference(moved, name) for name in BASE_FIGURES}
        found.append(LevelSeen((kind, place), against, apart))
    return tuple(found)
