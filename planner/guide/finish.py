"""The end of the day: what was done, and how to look back."""

from collections.abc import Iterator
from pathlib import Path

from rich.console import RenderableType

from planner.files.file_name import in_command
from planner.guide.session import Session
from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.screen import day_view, paper
from planner.words import changes as change_words
from planner.words import left_open as left_words


def summary(day: Day, path: Path) -> Iterator[RenderableType]:
    """Yield the day in short: each change with what came of it, and where to read more."""
    runs = sum(isinstance(step, RunStep) for step in day.plan.step)
    yield paper.heading(left_words.ended(day))
    yield paper.indented(f"{_count(runs, 'run')}, {_count(len(day.past), 'change')}.", 2)
    for past in day.past:
        made = change_words.listed(past.made) or "nothing"
        came = change_words.verdicts(past, day.book) or "not judged"
        yield paper.hanging(f"step {past.step}", f"{made}: {came}", 10)
    for left in left_words.says(day):
        yield paper.hanging("left", left, 10)
    for command, what in (("why", "To look back"), ("report", "The day as a page")):
        yield paper.indented(f"{what}: treadgate {command} {in_command(path)}", 2)


def show(session: Session) -> None:
    """Show the last run and the summary."""
    day = session.day
    width = session.talk.console.width
    session.talk.show(
        [*day_view.come_in(day), *day_view.last_run(day, width), *summary(day, session.path)]
    )


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
