"""The plans of a folder, on the terminal."""

from collections.abc import Iterator
from pathlib import Path

from rich.box import SIMPLE
from rich.console import Console, RenderableType
from rich.table import Table

from planner.plan import RunStep
from planner.screen import paper
from planner.storage.desk import Opened, Shelf

_HEADS = ("plan", "date", "track", "stage", "due", "runs", "outcome")
_NAME = 24  # columns that the name of a plan gets before it is folded


def show(shelf: Shelf, folder: Path, console: Console | None = None) -> None:
    """Print the plans with where they stand, then what cannot be used."""
    paper.put(console or paper.console(), _parts(shelf, folder))


def _parts(shelf: Shelf, folder: Path) -> Iterator[RenderableType]:
    yield paper.line(str(folder), "bold")
    if shelf.plans:
        table = Table(box=SIMPLE, padding=(0, 1, 0, 0), pad_edge=False, header_style="dim")
        longest = max(len(opened.path.name) for opened in shelf.plans)
        for head in _HEADS:
            table.add_column(
                head,
                overflow="fold",
                justify="right" if head == "runs" else "left",
                min_width=min(longest, _NAME) if head == "plan" else None,
            )
        for opened in shelf.plans:
            table.add_row(*(paper.line(cell) for cell in _cells(opened)))
        yield table
    else:
        yield paper.indented("There is no plan here.", 2)
    for path, why in shelf.unusable:
        yield paper.hanging("!", f"{path.name} cannot be used: {why.message}", 2)


def _cells(opened: Opened) -> Iterator[str]:
    day = opened.day
    yield opened.path.name
    yield day.plan.created.date().isoformat()
    yield day.plan.track
    yield day.stage
    yield day.due
    yield str(sum(isinstance(step, RunStep) for step in day.plan.step))
    yield day.outcome.verdict.replace("-", " ") if day.outcome else ""
