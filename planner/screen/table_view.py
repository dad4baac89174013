"""The day at a glance on the terminal, two or three lines a run."""

from collections.abc import Iterator, Sequence

from rich.console import Console, RenderableType

from planner.plan.day import Day
from planner.screen import day_view, paper, story_view
from planner.storage.plans import Opened
from planner.trade.units import System
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import figures as figure_words
from planner.words import findings
from planner.words.day_table import Answer, Row
from planner.words.figures import in_words

MARK = "!"
_MARGIN = 18
_MOST = 2  # figures of a change; all of them stand in `why STEP` and in the JSON


def show(opened: Opened, rows: Sequence[Row], console: Console | None = None) -> None:
    """Print the rows, with a mark on those that rested on a number corrected since."""
    paper.put(console or paper.console(), _parts(opened, rows))


def _parts(opened: Opened, rows: Sequence[Row]) -> Iterator[RenderableType]:
    yield from day_view.head(opened.day, opened.path)
    if not rows:
        yield paper.indented("Nothing is recorded yet.", 2)
        return
    yield paper.hanging("step run stage", "shown; changed; came (as expected)", _MARGIN)
    for row in rows:
        run = "" if row.run is None else str(row.run)
        mark = MARK if row.rested else ""
        label = f"{f'{row.step}{mark}':<5}{run:>2}  {row.stage}"
        for number, line in enumerate(_lines(row, opened.day)):
            said = paper.line(line, "" if number else "bold")
            yield paper.hanging("" if number else label, said, _MARGIN)
    marks = {amendment_words.rested(mark) for row in rows for mark in row.rested}
    for says in sorted(marks):
        yield paper.hanging(MARK, says, 2)
    yield from story_view.footnote(opened.day)


def _lines(row: Row, day: Day) -> Iterator[str]:
    """Yield what a run showed, what was changed for that, and what came of it."""
    if row.void:
        yield f"judges nothing: {row.void}"
    elif row.run is not None:
        shown = ", ".join(findings.named(key, day) for key in row.shown)
        yield shown or "nothing out of band"
    changed = row.in_short
    if row.made:
        own = [change for change in row.made if not change.trim]
        changed = change_words.with_trims(own or row.made, len(row.made) - len(own) if own else 0)
    if changed:
        yield changed
    told = ", ".join(_answers(row.answers, day.plan.units))
    if row.came or told:
        yield ": ".join(filter(None, (row.came, told)))


def _answers(answers: Sequence[Answer], system: System) -> Iterator[str]:
    """Yield the figures by what came and what was expected; wear is told elsewhere."""
    for answer in [each for each in answers if not each.figure.startswith("wear.")][:_MOST]:
        came, expected = (
            None if value is None else figure_words.number(answer.figure, value, system)
            for value in (answer.came, answer.expected)
        )
        if came is None:
            yield f"{in_words(answer.figure)} expected {expected}"
        else:
            beside = "" if expected is None else f" ({expected})"
            yield f"{in_words(answer.figure)} {came}{beside}"
