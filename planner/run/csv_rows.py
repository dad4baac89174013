"""The rows of a CSV file: tabs, semicolons or commas, whatever program saved it."""

import csv
import io
import re
from pathlib import Path

import attrs

from planner.files import whole_file
from planner.trade.refusals import Refusal

LARGEST_FILE = 5_000_000  # bytes; a season of runs is a hundredth of this
MOST_IN_ROW = 20_000  # letters
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


@attrs.frozen
class Row:
    """A row, its number in the file, and its cells by column number."""

    number: int
    cells: tuple[str, ...]

    def __getitem__(self, column: int) -> str:
        """Return a cell; ``""`` where the row ends before it."""
        return self.cells[column] if column < len(self.cells) else ""


def read(path: Path) -> list[Row]:
    """Return the rows that hold anything, cells stripped, numbered as a spreadsheet would."""
    text = _text(path).replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    longest = max(range(len(lines)), key=lambda number: len(lines[number]))
    if len(lines[longest]) > MOST_IN_ROW:
        raise Refusal(
            "bad-value",
            f"This row has {len(lines[longest])} letters; no table of temperatures is so wide.",
            where=f"{path}, row {longest + 1}",
            hint=f"rows of at most {MOST_IN_ROW} letters, each ended by a new line",
        )
    told = re.fullmatch(r"sep=(.)", lines[0].strip())  # spreadsheets write this for themselves
    skipped = 1 if told else 0
    first = next((line for line in lines[skipped:] if line.strip()), "")
    comma = next((mark for mark in "\t;" if mark in first), ",")
    reader = csv.reader(
        io.StringIO("\n".join(lines[skipped:])), delimiter=told[1] if told else comma
    )
    try:
        found = [tuple(cell.strip() for cell in row) for row in reader]
    except csv.Error as error:
        raise Refusal(
            "bad-value",
            f"The file is not a table: {error}.",
            where=f"{path}, row {reader.line_num + skipped}",
            hint="a row a tire; a quotation mark that opens must close",
        ) from None
    return [
        Row(number, cells) for number, cells in enumerate(found, start=1 + skipped) if any(cells)
    ]


def _text(path: Path) -> str:
    try:
        raw = whole_file.read(path, LARGEST_FILE)
    except OSError as error:
        reason = error.strerror or str(error)
        raise Refusal(
            "unreadable",
            f"The file cannot be read: {reason}.",
            where=str(path),
            hint="--from with the name of a .csv or .toml file",
        ) from None
    if len(raw) > LARGEST_FILE:
        raise Refusal(
            "too-large",
            "This file is far too large to be a table of temperatures.",
            where=str(path),
            hint="the rows of this run alone",
        )
    if b"\0" in raw and not raw.startswith(_UTF16):
        line = raw.count(b"\n", 0, raw.index(b"\0")) + 1
        raise Refusal(
            "encoding",
            "The file is no text: there are null bytes in it.",
            where=f"{path}, row {line}",
            hint="save it as CSV, in UTF-8",
        )
    try:
        if raw.startswith(_UTF16):
            return raw.decode("utf-16")
        if raw.replace(b"\xb0", b"").isascii():  # the sign of degrees as older programs write it
            return raw.decode("latin-1")
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise Refusal(
            "encoding",
            "The file is not UTF-8 text.",
            where=f"{path}, row {line}",
            hint="save it as UTF-8",
        ) from None
