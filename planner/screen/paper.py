"""The terminal as something to write on: plain when piped, and safe for any text."""

import sys
from collections.abc import Iterable
from typing import TextIO

import attrs
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.trade import plain_text

MOST_SHOWN = 400  # letters of a note among other things: five lines
APART = "   "  # between facts in a row
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


def put(console: Console, parts: Iterable[RenderableType]) -> None:
    """Print the parts one below the other, without the blanks that would fill up the lines."""
    with console.capture() as caught:
        for part in parts:
            console.print(part)
    for row in caught.get().splitlines():
        console.file.write(row.rstrip() + "\n")
    console.file.flush()
