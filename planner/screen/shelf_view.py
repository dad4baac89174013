"""The plans of a folder, on the terminal."""

from collections.abc import Iterator
from pathlib import Path

from rich.box import SIMPLE
from rich.console import Console, RenderableType
from rich.table import Table

from planner.day import Day
from planner.plan import AmendStep, RunStep
from planner.screen import paper
from planner.storage.desk import Opened, Shelf

_HEADS = ("plan", "date", "track", "stands", "runs", "outcome")
_FOLDED = ("plan", "track")  # where the terminal is narrow; the others keep to one line
UNFINISHED = "*"
AMENDED = "~"


def show(shelf: Shelf, folder: Path, console: Console | None = None) -> None:
    """Print the plans with where they stand, then what cannot be used."""
    paper.put(console or paper.console(), _parts(shelf, folder))


def _parts(shelf: Shelf, folder: Path) -> Iterator[RenderableType]:
    yield paper.line(str(folder), "bold")
    if shelf.plans:
        table = Table(box=SIMPLE, padding=(0, 1, 0, 0), pad_edge=False, header_style="dim")
        for head in _HEADS:
            table.add_column(
                head,
                overflow="fold",
                no_wrap=head not in _FOLDED,
                justify="right" if head == "runs" else "left",
            )
        for opened in shelf.plans:
            table.add_row(*(paper.line(cell) for cell in _cells(opened)))
        yield table
        stands = "".join(_stands(opened.day) for opened in shelf.plans)
        if UNFINISHED in stands:
            yield paper.hanging(UNFINISHED, "unfinished: the stage, and what is due in it", 2)
        if AMENDED in stands:
            yield paper.hanging(AMENDED, "amended: an entry was put right later", 2)
    else:
        yield paper.indented("There is no plan here.", 2)
    for path, why in shelf.unusable:
        yield paper.hanging("!", f"{path.name} cannot be used: {why.message}", 2)
    if shelf.others:
        names = ", ".join(path.name for path in shelf.others)
        yield paper.indented(f"Not plans, passed over: {names}", 2)


def _cells(opened: Opened) -> Iterator[str]:
    day = opened.day
    yield opened.path.name
    yield day.plan.created.date().isoformat()
    yield day.plan.track
    yield _stands(day)
    yield str(sum(isinstance(step, RunStep) for step in day.plan.step))
    yield "" if day.judged is None else "put back" if day.judged.is_undone else day.judged.verdict


def _stands(day: Day) -> str:
    """Say where a day stands, with a mark where it is unfinished or an entry was put right."""
    text = "complete"
    if day.stage != "complete":
        text = f"{day.stage}: {day.due}{UNFINISHED}"
    amended = any(isinstance(step, AmendStep) for step in day.plan.step)
    return f"{text}{AMENDED if amended else ''}"
