"""The end of the day: what was done, and how to look back."""

from collections.abc import Iterator
from pathlib import Path

from rich.console import RenderableType

from planner.files.file_name import in_command
from planner.guide.session import Session
from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.screen import day_view, paper


def summary(day: Day, path: Path) -> Iterator[RenderableType]:
    """Yield the day in short: each change with what came of it, and where to read more."""
    runs = sum(isinstance(step, RunStep) for step in day.plan.step)
    yield paper.heading("The day is complete.")
    yield paper.indented(f"{_count(runs, 'run')}, {_count(len(day.past), 'change')}.", 2)
    for past in day.past:
        made = ", ".join(str(change) for change in past.made if change.amount) or "nothing"
        yield paper.hanging(f"step {past.step}", f"{made}: {past.verdicts or 'not judged'}", 10)
    for key in sorted(day.left_open):
        yield paper.indented(f"Left as it is: {key}", 2)
    for command, what in (("why", "To look back"), ("report", "The day as a page")):
        yield paper.indented(f"{what}: treadgate {command} {in_command(path)}", 2)


def show(session: Session) -> None:
    """Show the last run and the summary."""
    day = session.day
    width = session.talk.console.width
    session.talk.show([*day_view.last_run(day, width), *summary(day, session.path)])


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
