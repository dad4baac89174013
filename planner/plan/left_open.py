"""What the crew left as it is and why, and whether the day ended before it was confirmed."""

import attrs

from planner.plan import amendments
from planner.plan.day import Day
from planner.plan.steps import ChoiceStep, RunStep
from planner.trade.numbers import enough


@attrs.frozen
class LeftOpen:
    """A pattern left as it is that still shows.

    Attributes
    ----------
    pattern : as ``id:corner``.
    step : of the choice that left it.
    reason : the crew's.
    """

    pattern: str
    step: int
    reason: str


def left_open(day: Day) -> tuple[LeftOpen, ...]:
    """Return what was left as it is and still shows, in the order of the rules."""
    showing = day.good[-1].patterns if day.good else ()
    keys = [p.key for p in showing if p.holds and p.key in day.left_open]
    return tuple(LeftOpen(key, *_last(day, key)) for key in keys)


def unconfirmed(day: Day) -> LeftOpen | None:
    """Return the choice that ended the day before its confirming run; None where none did.

    A later run that shows little enough to be out of band confirms the day after all.
    """
    for number, step in reversed(list(enumerate(day.plan.step, start=1))):
        if isinstance(step, ChoiceStep) and step.stage == "confirm" and step.chosen is None:
            return LeftOpen("", number, step.reason)
        if isinstance(step, RunStep) and _is_enough(number, day):
            return None
    return None


def _is_enough(number: int, day: Day) -> bool:
    """Say whether a run leaves little enough expected out of band to end the day."""
    expected = amendments.judged_before(number, day.plan.step).expected_out
    return expected is not None and expected <= enough(day.plan.certainty)


def _last(day: Day, key: str) -> tuple[int, str]:
    """Return the last choice that left a pattern: its step, and the crew's reason."""
    return next(
        (number, step.reason)
        for number, step in reversed(list(enumerate(day.plan.step, start=1)))
        if isinstance(step, ChoiceStep) and key in step.left_open
    )
