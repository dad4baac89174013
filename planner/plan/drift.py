"""When drift can no longer be told from effect: go back to the baseline, or write the weather down.

Source: go back to the baseline at the end of a test to see what the track did meanwhile, *Circle
Track*, "Track Testing Tips", May 2004. The sizes are from memory.
"""

from collections.abc import Iterator
from datetime import datetime
from math import sqrt
from typing import Literal

import attrs

from planner.car.changes import Setting
from planner.learning.levels import is_level
from planner.learning.observed import Observation
from planner.plan.day import Day
from planner.plan.steps import AmendStep, CarStep, NoteStep

COLD = 1.0  # hours in which tires cool through; from memory
LATER = 4.0  # hours after which tires are cold and the track is another; from memory
BLINDFOLD = 4  # good runs without a track temperature after which it is asked for


@attrs.frozen
class WriteDown:
    """The track temperature should be written down with every run."""


@attrs.frozen
class RepeatStart:
    """The starting setup should be run once more before early runs are compared with late ones.

    Attributes
    ----------
    shift : how much hotter the track is than at the first run [degF].
    unknown : how much of what that did to the tires is not known [degF].
    """

    shift: float
    unknown: float


Missing = Literal["cold", "track"]


@attrs.frozen
class NewPart:
    """The last run began a new part of the day: tires were cold, and track and air had changed.

    Attributes
    ----------
    hours : since the run before.
    missing : what was not written down with it.
    changed : the car was changed before it, so that weather and change cannot be told apart.
    """

    hours: float
    missing: tuple[Missing, ...]
    changed: bool


Drift = WriteDown | RepeatStart | NewPart


def begins_part(last: datetime, at: datetime) -> bool:
    """Say whether a new part of the day begins: `LATER` hours after, or on another date.

    A night session that runs past midnight is no other morning: its tires are still warm.
    """
    hours = hours_between(last, at)
    return hours >= LATER or (last.date() != at.date() and hours >= COLD)


def part_at(day: Day, at: datetime) -> int:
    """Return which part of the day a run at a time is in."""
    return day.part + (day.last is not None and begins_part(day.last.time, at))


def hours_between(last: datetime, at: datetime) -> float:
    """Return how long it is from one time to another [h]."""
    return (at - last).total_seconds() / 3600


def last_at_the_car(day: Day) -> datetime | None:
    """Return when something was last done at the car; None before that."""
    told = AmendStep | NoteStep | CarStep
    return next((step.time for step in reversed(day.steps) if not isinstance(step, told)), None)


def _new_part(day: Day) -> Iterator[NewPart]:
    """Yield that the last run that counts began a new part, where more is wanted of it."""
    before, last = day.good[-2:]
    then, at = (day.steps[good.step - 1].time for good in (before, last))
    if not begins_part(then, at):
        return
    missing: list[Missing] = [] if last.run.cold else ["cold"]
    missing += [] if last.run.track_temp is not None else ["track"]
    changed = _turned(before.seen) != _turned(last.seen)
    if missing or changed:
        yield NewPart(hours_between(then, at), tuple(missing), changed)


def _turned(seen: Observation) -> dict[Setting, float]:
    return {setting: by for setting, by in seen.setup if not is_level(setting)}


def advice(day: Day) -> Iterator[Drift]:
    """Yield what the crew should do so that weather is not taken for setup."""
    if day.stage == "complete" or len(day.good) < 2:
        return
    yield from _new_part(day)
    temperatures = [good.run.track_temp for good in day.good]
    recorded = [t for t in temperatures if t is not None]
    missing = temperatures[-1] is None and len(recorded) < 2
    if len(temperatures) >= BLINDFOLD and missing:
        yield WriteDown()
    if len(recorded) < 2 or not day.past:
        return
    shift = recorded[-1] - recorded[0]
    known = day.known
    names = list(known.parameters)
    at = names.index("track_temp") if "track_temp" in names else None
    spread = (
        known.priors.conditions["track_temp"].sd
        if at is None
        else sqrt(max(0.0, float(known.covariance[at, at])))
    )
    if abs(shift) * spread > known.priors.noise.reading:
        yield RepeatStart(shift, abs(shift) * spread)
