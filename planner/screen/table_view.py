"""The day as a table, on the terminal."""

import re
from collections.abc import Iterator, Sequence

from rich.box import SIMPLE
from rich.console import Console, RenderableType
from rich.table import Table

from planner.screen import day_view, paper, story_view
from planner.storage.plans import Opened
from planner.trade.units import System
from planner.words import amendments as amendment_words
from planner.words import figures as figure_words
from planner.words.day_table import Answer, Row
from planner.words.figures import in_words

MARK = "!"
_HEADS = ("step", "run", "stage", "shown", "change", "expected", "came", "verdict")


def show(opened: Opened, rows: Sequence[Row], console: Console | None = None) -> None:
    """Print the rows, with a mark on those that rested on a number corrected since."""
    paper.put(console or paper.console(), _parts(opened, rows))


def _parts(opened: Opened, rows: Sequence[Row]) -> Iterator[RenderableType]:
    yield from day_view.head(opened.day, opened.path)
    if not rows:
        yield paper.indented("Nothing is recorded yet.", 2)
        return
    table = Table(box=SIMPLE, padding=(0, 1, 0, 0), pad_edge=False, header_style="dim")
    for head in _HEADS:
        table.add_column(head, overflow="fold", justify="right" if head == "run" else "left")
    for row in rows:
        table.add_row(*(paper.line(cell) for cell in _cells(row, opened.day.plan.units)))
    yield table
    marks = {amendment_words.rested(mark) for row in rows for mark in row.rested}
    for says in sorted(marks):
        yield paper.hanging(MARK, says, 2)
    yield from story_view.footnote(opened.day)


def _cells(row: Row, system: System) -> Iterator[str]:
    yield f"{row.step}{MARK if row.rested else ''}"
    yield "" if row.run is None else str(row.run)
    yield row.stage
    if row.void:
        yield f"judges nothing: {row.void}"
    else:
        shown = ", ".join(re.sub(r"[.:]", " ", key) for key in row.shown)
        yield shown or ("nothing" if row.run else "")
    yield row.in_short
    yield _listed(row.answers, system, [answer.expected for answer in row.answers])
    yield _listed(row.answers, system, [answer.came for answer in row.answers])
    yield row.verdicts


def _listed(answers: Sequence[Answer], system: System, values: list[float | None]) -> str:
    """Write figures by name; wear is no temperature and is told elsewhere."""
    return ", ".join(
        f"{in_words(answer.figure)} {figure_words.number(answer.figure, value, system)}"
        for answer, value in zip(answers, values, strict=True)
        if value is not None and not answer.figure.startswith("wear.")
    )
