"""The day as a story, step by step."""

from collections.abc import Container, Iterator, Sequence
from pathlib import Path

from rich.console import Console, RenderableType
from rich.text import Text

from planner.files.file_name import in_command
from planner.plan.day import Day
from planner.review import timeline
from planner.screen import day_view, paper
from planner.storage.plans import Opened
from planner.words import timeline as words
from planner.words.story import Source, Told

_MARGIN = 13  # the longest label, and a gap


def show(
    opened: Opened,
    told: Sequence[Told],
    sources: Sequence[Source] = (),
    console: Console | None = None,
) -> None:
    """Print the steps, each with what stands behind it, and where the rules come from."""
    paper.put(console or paper.console(), _parts(opened, told, sources))


def _parts(
    opened: Opened, told: Sequence[Told], sources: Sequence[Source]
) -> Iterator[RenderableType]:
    yield from day_view.head(opened.day, opened.path)
    if not told:
        yield paper.indented("Nothing is recorded yet.", 2)
    yield from steps(told, opened.path)
    for note in footnote(opened.day, {each.step for each in told}):
        yield Text("")
        yield note
    if sources:
        yield paper.heading("Where the rules come from")
    for source in sources:
        yield paper.hanging("-", f"{source.name}: {source.source}", 2)


def footnote(day: Day, among: Container[int] | None = None) -> Iterator[RenderableType]:
    """Yield the footnote on readings put back to one moment, where such runs are shown."""
    corrected = timeline.of(day).corrected
    said = words.footnote([run for run in corrected if among is None or run.step in among])
    if said:
        yield paper.indented(said, 2)


def steps(told: Sequence[Told], path: Path) -> Iterator[RenderableType]:
    """Yield steps, each with what stands behind it; one by itself tells everything in full."""
    for each in told:
        yield paper.heading(f"Step {each.label}, {each.when}: {each.headline}")
        command = f"treadgate why {in_command(path)} {each.step}"
        yield from details(each, f"all of it: {command}" if len(told) > 1 else "")


def details(told: Told, elsewhere: str = "") -> Iterator[RenderableType]:
    """Yield what stands behind a step.

    Parameters
    ----------
    elsewhere : where what is long can be read in full; empty where it is to stand here.
    """
    for about, says in told.details:
        yield paper.hanging(about, paper.shortened(says, elsewhere) if elsewhere else says, _MARGIN)
