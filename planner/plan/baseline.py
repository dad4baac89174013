"""When the car is run as it stands before a change is chosen: another morning, another set.

The reason: what a night, or another set, does by itself may be as large as the fault that was read
before it. A change chosen against that fault may chase the weather, and the run after it could not
tell the two apart.
"""

from datetime import datetime

import attrs

from planner.learning import levels
from planner.learning.observed import CONDITIONS
from planner.plan.day import Day
from planner.plan.drift import part_at
from planner.rulebook.rules import TUNING_ORDER
from planner.trade import knobs


@attrs.frozen
class Overtaken:
    """A fault that another part of the day, or another set of tires, may have made or undone.

    Attributes
    ----------
    key : of its pattern, as ``id:corner``.
    out : how far its figure was beyond the limit [degF].
    by : how far the level may have moved that figure, one standard deviation [degF].
    """

    key: str
    out: float
    by: float


def overtaken(day: Day, at: datetime) -> tuple[Overtaken, ...]:
    """Return the faults of the earliest stage that shows one, if no longer one of them is sure.

    Parameters
    ----------
    at : what time it is.

    Notes
    -----
    A fault stands while it is farther out than the level may have moved its figure, by the spreads
    of `levels` (the track's temperature counted where it was not written down). While one of the
    stage stands, a change may be chosen on it, and nothing is asked.
    """
    if not day.good:
        return ()
    last = day.good[-1]
    now = level(day, at)
    if now == day.trusted or any(run.level == now for run in day.good):
        return ()
    moved = levels.displaced(now, last.level)
    here = [p for p in last.patterns if p.holds and p.key not in day.left_open]
    stage = next((each for each in TUNING_ORDER for p in here if p.stage == each), None)
    if stage is None:
        return ()
    track = None if last.run.track_temp is not None else CONDITIONS["track_temp"]
    found = []
    for pattern in (p for p in here if p.stage == stage):
        band = day.book.band(pattern.key)
        out = abs(pattern.value - pattern.limit)
        figures = () if band is None else band.figures
        by = max((levels.spread(moved, f, day.plan.turns, track) for f in figures), default=0.0)
        if out > by:
            return ()
        found.append(Overtaken(pattern.key, out, by))
    return tuple(found)


def level(day: Day, at: datetime) -> dict[str, str]:
    """Return the set of tires and the part of the day that a run now would be on."""
    return {**day.level, knobs.PART: str(part_at(day, at))}
