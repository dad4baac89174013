"""What was corrected, and what rested on it, in words."""

from collections.abc import Sequence

from planner.plan import amendments
from planner.plan.amendments import Rested
from planner.plan.steps import Step
from planner.review import timeline


def clock(steps: Sequence[Step], number: int) -> str:
    """Return the time of day of a step, after the date where the day began on another."""
    return timeline.clock(steps[number - 1].time, steps[0].time)


def rested(mark: Rested) -> str:
    """Say what a decision rested on, after the decision has been named."""
    was = "as first recorded" if mark.then is None else f"as amended in step {mark.then}"
    return f"rested on step {mark.step} {was}; step {mark.by} has corrected it since"


def on_another_day(steps: Sequence[Step], number: int) -> str:
    """Return the date of an amendment made on another day than the step it amends, else ``""``."""
    day = amendments.on_another_day(steps, number)
    return "" if day is None else f"{day:%d %b %Y}"


def named(steps: Sequence[Step], number: int) -> str:
    """Return an amendment as ``step 22``, with its date where that is another day's."""
    day = on_another_day(steps, number)
    return f"step {number}{f' on {day}' if day else ''}"


def steps(numbers: Sequence[int]) -> str:
    """Name steps, those that follow each other by the first and the last of them."""
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][-1] + 1:
            spans[-1] = [spans[-1][0], number]
        else:
            spans.append([number])
    said = ", ".join(" to ".join(map(str, span)) for span in spans)
    return f"step{'' if len(numbers) == 1 else 's'} {said}"
