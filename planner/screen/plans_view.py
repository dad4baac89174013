"""The plans of a folder, on the terminal."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.box import SIMPLE
from rich.cells import cell_len
from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from planner.plan.day import Day
from planner.plan.steps import AmendStep, RunStep
from planner.screen import paper
from planner.storage.plan_folder import Shelf
from planner.storage.plans import Opened
from planner.words import changes as change_words
from planner.words import left_open as left_words

_HEADS = ("plan", "date", "track", "stands", "runs", "last change")
_BETWEEN = 2  # columns of the terminal that stand between two of the table, or at its edges
UNFINISHED = "*"
AMENDED = "~"
LEFT = "-"


def show(shelf: Shelf, folder: Path, console: Console | None = None) -> None:
    """Print the plans with where they stand, then what cannot be used."""
    console = console or paper.console()
    paper.put(console, _parts(shelf, folder, console.width))


def _parts(shelf: Shelf, folder: Path, width: int) -> Iterator[RenderableType]:
    yield paper.line(str(folder), "bold")
    if shelf.plans:
        table = Table(box=SIMPLE, padding=(0, 1, 0, 0), pad_edge=False, header_style="dim")
        rows = [[paper.line(cell) for cell in _cells(opened)] for opened in shelf.plans]
        folded = _folded(rows, width)
        for head in _HEADS:
            table.add_column(
                head,
                overflow="fold",
                no_wrap=head not in folded,
                justify="right" if head == "runs" else "left",
            )
        for row in rows:
            table.add_row(*row)
        yield table
        stands = "".join(_stands(opened.day) for opened in shelf.plans)
        if UNFINISHED in stands:
            yield paper.hanging(UNFINISHED, "unfinished: the stage, and what is due in it", 2)
        if AMENDED in stands:
            yield paper.hanging(AMENDED, "amended: an entry was corrected later", 2)
        for opened in shelf.plans:
            said = "; ".join(left_words.says(opened.day))
            if said:
                yield paper.hanging(LEFT, f"{opened.path.name} left as it is: {said}", 2)
    else:
        yield paper.indented("There is no plan here.", 2)
    for path, why in shelf.unusable:
        yield paper.hanging("!", f"{path.name} cannot be used: {why.message}", 2)
    if shelf.others:
        names = ", ".join(path.name for path in shelf.others)
        yield paper.indented(f"Skipped, not plans: {names}", 2)


def _folded(rows: Sequence[Sequence[Text]], width: int) -> tuple[str, ...]:
    """Return the columns to be folded: that of the names only where folding tracks is not enough.

    A track is folded between its words, a name has nowhere to be broken.
    """
    columns = {head: [head, *(row[at].plain for row in rows)] for at, head in enumerate(_HEADS)}
    track = max(cell_len(word) for text in columns["track"] for word in text.split() or [""])
    whole = sum(max(map(cell_len, columns[head])) for head in _HEADS if head != "track")
    return ("track",) if whole + track + _BETWEEN * len(_HEADS) <= width else ("plan", "track")


def _cells(opened: Opened) -> Iterator[str]:
    day = opened.day
    yield opened.path.name
    yield day.plan.created.date().isoformat()
    yield day.plan.track
    yield _stands(day)
    yield str(sum(isinstance(step, RunStep) for step in day.plan.step))
    judged = day.judged
    undone = judged is not None and judged.is_undone
    yield "put back" if undone else "" if judged is None else change_words.verdict(judged)


def _stands(day: Day) -> str:
    """Say where a day stands, with a mark where it is unfinished or an entry was corrected."""
    text = "complete"
    if day.stage != "complete":
        text = f"{day.stage}: {day.due}{UNFINISHED}"
    amended = any(isinstance(step, AmendStep) for step in day.plan.step)
    return f"{text}{AMENDED if amended else ''}"
