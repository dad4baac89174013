"""The terminal as something to write on: plain when piped, and safe for any text."""

import re
import sys
from collections.abc import Iterable, Sequence
from typing import TextIO

import attrs
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.trade import plain_text

MOST_SHOWN = 400  # letters of a note among other things: five lines
APART = "   "  # between facts in a row
_BLANKS = re.compile(r" +((?:\x1b\[[0-9;]*m)*)$")  # at the end of a line, or of what is painted
USUAL_HEIGHT = 24
MARGIN = 10  # the longest name of a stage, and a gap
WIDE = 118  # columns from which the car and its figures stand side by side


def console(
    *, plain: bool = False, width: int | None = None, file: TextIO | None = None
) -> Console:
    """Return a console that never reads markup, links or emoji into what it is given.

    Parameters
    ----------
    plain : no escape codes at all, as when the output is piped.
    width : columns; the terminal's own when None.
    file : where to write; standard output when None.
    """
    out = sys.stdout if file is None else file
    if file is None and hasattr(out, "reconfigure"):
        out.reconfigure(errors="lookalike")
    return Console(
        file=out,
        width=width,
        color_system=None if plain else "auto",
        force_terminal=not plain and out.isatty(),
        markup=False,
        highlight=False,
        emoji=False,
    )


def clean(text: str) -> str:
    """Return the text on one line, without anything that could steer a terminal."""
    return plain_text.line(text)


def shortened(text: str, whole: str) -> str:
    """Return a long text cut short, with the command that shows all of it.

    Parameters
    ----------
    whole : what shows all of it, such as ``treadgate why PLAN 3``.
    """
    text = clean(text)
    if len(text) <= MOST_SHOWN:
        return text
    return f"{plain_text.shortened(text, MOST_SHOWN)} ({len(text)} letters; {whole})"


def line(text: str, style: str = "") -> Text:
    """Return the text, cleaned, as one paragraph."""
    return Text(clean(text), style=style)


@attrs.frozen
class Facts:
    """Short facts in a row, as many to a line as fit; a line ends between two of them."""

    facts: tuple[str, ...]
    style: str = ""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        row = Text(style=self.style)
        for fact in filter(None, map(line, self.facts)):
            if row and row.cell_len + len(APART) + fact.cell_len > options.max_width:
                yield row
                row = Text("  ", style=self.style)
            elif row:
                row.append(APART)
            row.append(fact)
        yield row


def indented(text: Text | str, by: int) -> Padding:
    """Return a paragraph set in from the left, wrapped lines too."""
    return Padding(line(text) if isinstance(text, str) else text, (0, 0, 0, by))


def hint(text: str) -> Padding:
    """Return a paragraph that stands back a little."""
    return indented(line(text, "dim"), 2)


def heading(text: str) -> Text:
    """Return a heading with an empty line above it."""
    return Text("\n" + clean(text), style="bold")


def rule(width: int) -> Text:
    """Return a line across the page."""
    return Text("\n" + "-" * min(width, 80), style="dim")


def hanging(label: str, text: Text | str, by: int, *, start: int = 2) -> Padding:
    """Return a paragraph with its label standing out to the left of it."""
    grid = Table.grid(padding=0)
    grid.add_column(width=by, no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row(line(label), line(text) if isinstance(text, str) else text)
    return Padding(grid, (0, 0, 0, start))


def padded(part: RenderableType) -> Padding:
    """Return anything set in by the usual margin."""
    return Padding(part, (0, 0, 0, 2))


def rows(console: Console, parts: Iterable[RenderableType]) -> list[str]:
    """Return the parts as lines, without the blanks that would fill them up."""
    with console.capture() as caught:
        for part in parts:
            console.print(part)
    return [_BLANKS.sub(r"\1", row) for row in caught.get().splitlines()]


def put(console: Console, parts: Iterable[RenderableType]) -> None:
    """Print the parts one below the other."""
    for row in rows(console, parts):
        console.file.write(row + "\n")
    console.file.flush()


def height(console: Console) -> int:
    """Return how many lines the window has; where it is no terminal, those of a usual one."""
    return console.height if console.is_terminal else USUAL_HEIGHT


@attrs.frozen
class Row:
    """A part of a window that has no room for everything.

    Attributes
    ----------
    spare : how early it goes where there is no room; 0 stays whatever happens.
    more : the question that shows it then, such as ``? ways``.
    """

    part: RenderableType
    spare: int = 0
    more: str = ""


def fitted(console: Console, parts: Sequence[Row], room: int) -> list[RenderableType]:
    """Return the parts that fit into so many lines, and a line for those left out, if they say so.

    The most spare go first, of equals the last.
    """
    high = [len(rows(console, [each.part])) for each in parts]
    kept = list(range(len(parts)))

    def lines() -> int:
        left = {each.more for at, each in enumerate(parts) if at not in kept and each.more}
        return sum(high[at] for at in kept) + len(left)

    while lines() > room:
        spare = max(kept, key=lambda at: (parts[at].spare, at), default=0)
        if not kept or not parts[spare].spare:
            break
        kept.remove(spare)
    gone: dict[str, int] = {}
    for at, each in enumerate(parts):
        if at not in kept and each.more:
            gone[each.more] = gone.get(each.more, 0) + 1
    shown: list[RenderableType] = []
    for at, each in enumerate(parts):
        if at in kept:
            shown.append(each.part)
        elif each.more in gone:
            number = gone.pop(each.more)
            shown.append(hanging("", line(f"{number} more: {each.more}", "dim"), MARGIN))
    return shown
