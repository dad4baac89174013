"""What was left as it is, in words."""

from collections.abc import Iterator

from planner.plan import left_open
from planner.plan.day import Day
from planner.plan.unjudged import Unjudged, unjudged
from planner.words import patterns


def says(day: Day) -> Iterator[str]:
    """Yield what was left as it is and why, and what an ended day has not confirmed or read."""
    for left in left_open.left_open(day):
        yield f"{patterns.named(left.pattern)}: {left.reason} (step {left.step})"
    ended = left_open.unconfirmed(day)
    if ended is not None:
        yield f"the confirming run: {ended.reason} (step {ended.step})"
    never = unjudged(day, day.good) if day.stage == "complete" else None
    if never is not None:
        yield f"{', '.join(never.stages)}: {not_read(never)}"


def not_read(found: Unjudged) -> str:
    """Say what no run has read."""
    return f"no run has read {' and '.join(found.corners)} whole"


def ended(day: Day) -> str:
    """Say how a complete day ended."""
    if left_open.unconfirmed(day) is not None:
        return "The day was ended before the confirming run."
    if left_open.left_open(day):
        return "The day is complete, but for what was left as it is."
    return "The day is complete."
