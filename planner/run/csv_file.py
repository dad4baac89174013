"""The temperatures of a run from a CSV file, in the layouts that crews and loggers keep.

Three layouts are told apart by the first row, which names the columns:

- a row a reading: corner, position, temperature;
- a row a tire: corner, inner, middle, outer;
- a row a run: twelve columns such as ``LF_inner``, ``LF middle`` or ``RRO``.

Columns may stand in any order, further ones are left alone and named. Tabs, semicolons or commas
part the columns; decimals may have a comma. A unit in a column's name (``temp_c``, ``inner (°F)``),
in a column called unit, or behind a number wins over the unit of the plan. Where a file holds
several runs (rows in the third layout, a column called run in the others) one is picked.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Literal

import attrs

from planner.files import whole_file
from planner.run import readings, typed
from planner.trade import units
from planner.trade.corners import CORNERS, STRIPS, Corner, Strip
from planner.trade.refusals import Refusal
from planner.trade.units import System

LARGEST_FILE = 5_000_000  # bytes; a season of runs is a hundredth of this
MOST_IN_ROW = 20_000  # letters
MOST_COLUMNS = 1000
_MOST_NAME = 40  # letters of a column's name that are repeated in a message
_MOST_NAMED = 20
_UTF16 = (b"\xff\xfe", b"\xfe\xff")

LAYOUTS = (
    "corner,inner,middle,outer; corner,position,temperature; or LF_inner,LF_middle,… all twelve"
)

_CORNER_WORDS: dict[str, Corner] = {corner.lower(): corner for corner in CORNERS}
_STRIP_WORDS: dict[str, Strip] = {
    **dict.fromkeys(("inner", "inside", "in", "i"), "inner"),
    **dict.fromkeys(("middle", "mid", "center", "centre", "m", "c"), "middle"),
    **dict.fromkeys(("outer", "outside", "out", "o"), "outer"),
}
_UNIT_WORDS: dict[str, System] = {
    **dict.fromkeys(("f", "degf", "fahrenheit"), "us"),
    **dict.fromkeys(("c", "degc", "celsius"), "metric"),
}
_SIDES = {"left": "l", "right": "r"}
_ENDS = {"front": "f", "rear": "r", "back": "r"}
_DEGREES = ("deg", "degrees")
_TIRE = ("tire", "tyre")
_NOISE = ("temp", "temps", "temperature", "edge", "strip", *_TIRE, *_DEGREES)
_CORNER_COLUMNS = ("corner", "wheel", *_TIRE)
_STRIP_COLUMNS = ("position", "pos", "strip", "edge", "place", "location")
_VALUE_COLUMNS = ("temperature", "temp", "temps", "reading", "value")

Role = Literal["corner", "position", "temperature", "unit", "run"]


@attrs.frozen
class Sheet:
    """What a file held: the tires as their options would be typed, and what should be mentioned."""

    tires: tuple[str, ...]
    remarks: tuple[str, ...] = ()


@attrs.frozen
class _Column:
    """A column by its name: what it holds, at which corner and strip, in which unit."""

    name: str
    role: Role | None = None
    corner: Corner | None = None
    strip: Strip | None = None
    unit: System | None = None


@attrs.frozen
class _Row:
    """A row, its number in the file, and its cells by column number."""

    number: int
    cells: tuple[str, ...]


def read(path: Path, system: System = "us", row: int | None = None) -> Sheet:
    """Return the tires of a CSV file.

    Parameters
    ----------
    system : the plan's unit, for columns that state none and for what is returned.
    row : which of several runs, from 1 in the order of the file; the last when None.

    Raises
    ------
    Refusal
        Names the row and the column that cannot be used.
    """
    rows = _rows(path)
    if not rows:
        raise _no_layout(path, 1, ())
    header, body = rows[0], rows[1:]
    if len(header.cells) > MOST_COLUMNS:
        raise Refusal(
            "bad-value",
            f"This row names {len(header.cells)} columns; at most {MOST_COLUMNS} are read.",
            where=f"{path}, row {header.number}",
            hint=LAYOUTS,
        )
    columns = [_column(name) for name in header.cells]
    for each in body:
        if len(each.cells) > len(columns) and any(cell for cell in each.cells[len(columns) :]):
            raise _uneven(path, each, len(columns))
    if any(column.corner and column.strip for column in columns):
        return _wide(path, columns, body, system, row)
    roles = {column.role for column in columns}
    strips = {column.strip for column in columns}
    if "corner" in roles and {"position", "temperature"} <= roles:
        return _by_reading(path, columns, body, system, row)
    if "corner" in roles and set(STRIPS) <= strips:
        return _by_tire(path, columns, body, system, row)
    raise _no_layout(path, header.number, header.cells)


# --- the file into rows ---------------------------------------------------------------------


def _rows(path: Path) -> list[_Row]:
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
        _Row(number, cells) for number, cells in enumerate(found, start=1 + skipped) if any(cells)
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


# --- the names of columns -------------------------------------------------------------------


def _words(text: str) -> list[str]:
    """Return the words of a name in small letters, ``left front`` and ``LFI`` taken apart."""
    words: list[str] = []
    for word in re.findall(r"[a-z]+", text.lower()):
        side, end = _SIDES.get(word), _ENDS.get(word)
        if words and words[-1] in _SIDES and end:
            words[-1] = _SIDES[words[-1]] + end
        elif words and words[-1] in _ENDS and side:
            words[-1] = side + _ENDS[words[-1]]
        elif word[:2] in _CORNER_WORDS and word[2:] in _STRIP_WORDS:
            words += [word[:2], word[2:]]
        else:
            words.append(word)
    return words


def _column(name: str) -> _Column:
    """Find out what a column holds by its name."""
    words = _words(name)
    role = _role(words)
    if role is not None:
        unit = next((_UNIT_WORDS[word] for word in words if word in _UNIT_WORDS), None)
        return _Column(name, role, unit=unit)
    corner = strip = unit = None
    left = []
    # A lone c is the unit where the strip is named otherwise (LF_inner_c), else the centre (LF c).
    named = any(word in _STRIP_WORDS and word != "c" for word in words)
    for word in words:
        if corner is None and word in _CORNER_WORDS:
            corner = _CORNER_WORDS[word]
        elif strip is None and word in _STRIP_WORDS and not (word == "c" and named):
            strip = _STRIP_WORDS[word]
        elif unit is None and word in _UNIT_WORDS:
            unit = _UNIT_WORDS[word]
        elif word not in _NOISE:
            left.append(word)
    if left or strip is None:
        return _Column(name)
    return _Column(name, None, corner, strip, unit)


def _role(words: Sequence[str]) -> Role | None:
    """Return the role of a column that is no strip; its unit may stand in its name."""
    bare = [word for word in words if word not in _UNIT_WORDS and word not in _DEGREES]
    if len(bare) > 1 and bare[0] in _TIRE:  # tire temp, tire position
        bare = bare[1:]
    roles: tuple[tuple[Role, tuple[str, ...]], ...] = (
        ("corner", _CORNER_COLUMNS),
        ("position", _STRIP_COLUMNS),
        ("temperature", _VALUE_COLUMNS),
        ("unit", ("unit", "units")),
        ("run", ("run",)),
    )
    return next((role for role, names in roles if len(bare) == 1 and bare[0] in names), None)


# --- the three layouts ----------------------------------------------------------------------


def _by_reading(
    path: Path, columns: list[_Column], body: list[_Row], system: System, row: int | None
) -> Sheet:
    at = _places(path, columns, ("corner", "position", "temperature", "unit", "run"))
    body, said = _picked(path, at.get("run"), body, row)
    found: dict[tuple[Corner, Strip], str] = {}
    for each in body:
        corner = _corner(path, each, columns, at["corner"])
        strip = _strip(path, each, columns, at["position"])
        value = _value(path, each, columns, at["temperature"], system, at.get("unit"))
        _once(path, each, found, corner, strip, value)
    return Sheet(_complete(path, found), (*said, *_unused(columns, at.values())))


def _by_tire(
    path: Path, columns: list[_Column], body: list[_Row], system: System, row: int | None
) -> Sheet:
    at = _places(path, columns, ("corner", "unit", "run"))
    strips = _strips(path, columns)
    body, said = _picked(path, at.get("run"), body, row)
    found: dict[tuple[Corner, Strip], str] = {}
    for each in body:
        corner = _corner(path, each, columns, at["corner"])
        for (_, strip), column in strips.items():
            value = _value(path, each, columns, column, system, at.get("unit"))
            _once(path, each, found, corner, strip, value)
    used = [*at.values(), *strips.values()]
    return Sheet(_complete(path, found), (*said, *_unused(columns, used)))


def _wide(
    path: Path, columns: list[_Column], body: list[_Row], system: System, row: int | None
) -> Sheet:
    at = _places(path, columns, ("unit", "run"))
    strips = {
        (corner, strip): column
        for (corner, strip), column in _strips(path, columns).items()
        if corner is not None
    }
    if not body:
        raise Refusal("bad-value", "The file holds no run.", where=str(path), hint="a row a run")
    number = len(body) if row is None else row
    _in_range(path, number, len(body))
    picked = body[number - 1]
    found: dict[tuple[Corner, Strip], str] = {}
    for corner, strip in ((corner, strip) for corner in CORNERS for strip in STRIPS):
        if (corner, strip) in strips:
            column = strips[corner, strip]
            value = _value(path, picked, columns, column, system, at.get("unit"))
            found[corner, strip] = value
    said = [_which(number, len(body), f"row {picked.number}")] if len(body) > 1 else []
    used = [*at.values(), *strips.values()]
    return Sheet(_complete(path, found), (*said, *_unused(columns, used)))


def _places(path: Path, columns: list[_Column], roles: Sequence[Role]) -> dict[Role, int]:
    """Return the column number of every role that is there; refuse two of one role."""
    found: dict[Role, int] = {}
    for number, column in enumerate(columns):
        role = column.role
        if role is not None and role in roles:
            if role in found:
                raise _two_columns(path, columns[found[role]].name, column.name)
            found[role] = number
    return found


def _strips(path: Path, columns: list[_Column]) -> dict[tuple[Corner | None, Strip], int]:
    found: dict[tuple[Corner | None, Strip], int] = {}
    for number, column in enumerate(columns):
        if column.strip is not None:
            key = column.corner, column.strip
            if key in found:
                raise _two_columns(path, columns[found[key]].name, column.name)
            found[key] = number
    return found


def _picked(
    path: Path, column: int | None, body: list[_Row], row: int | None
) -> tuple[list[_Row], list[str]]:
    """Return the rows of one run, where a column says which run they belong to."""
    if column is None:
        if row not in (None, 1):
            raise Refusal(
                "bad-value",
                "The file holds a single run: it has neither a row a run nor a column called run.",
                where="--row",
                hint="omit --row",
            )
        return body, []
    runs = list(dict.fromkeys(_cell(each, column) for each in body))
    if not runs:
        return body, []
    number = len(runs) if row is None else row
    _in_range(path, number, len(runs))
    said = (
        [_which(number, len(runs), f"run {runs[number - 1][:_MOST_NAME]}")] if len(runs) > 1 else []
    )
    return [each for each in body if _cell(each, column) == runs[number - 1]], said


def _in_range(path: Path, number: int, count: int) -> None:
    if not 1 <= number <= count:
        raise Refusal(
            "bad-value",
            f"There is no run {number} in {path.name}; it holds {count}.",
            where="--row",
            hint=f"--row 1 to --row {count}, not counting the names of the columns",
        )


def _which(number: int, count: int, name: str) -> str:
    return f"The file holds {count} runs; number {number} was read ({name})."


def _unused(columns: list[_Column], used: Iterable[int]) -> Iterator[str]:
    kept = set(used)
    names = [c.name[:_MOST_NAME] for n, c in enumerate(columns) if n not in kept and c.name]
    if names:
        more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
        yield f"Columns left alone: {', '.join(names[:_MOST_NAMED])}{more}."


# --- cells ----------------------------------------------------------------------------------


def _cell(row: _Row, column: int) -> str:
    return row.cells[column] if column < len(row.cells) else ""


def _where(path: Path, row: _Row, column: _Column) -> str:
    return f"{path}, row {row.number}, column {column.name[:_MOST_NAME]}"


def _corner(path: Path, row: _Row, columns: list[_Column], column: int) -> Corner:
    text = _cell(row, column)
    words = [word for word in _words(text) if word not in _NOISE]
    if len(words) == 1 and words[0] in _CORNER_WORDS:
        return _CORNER_WORDS[words[0]]
    return typed.corner(text, _where(path, row, columns[column]))


def _strip(path: Path, row: _Row, columns: list[_Column], column: int) -> Strip:
    text = _cell(row, column)
    words = [word for word in _words(text) if word not in _NOISE]
    if len(words) == 1 and words[0] in _STRIP_WORDS:
        return _STRIP_WORDS[words[0]]
    raise Refusal(
        "bad-value",
        f"{text[:40]!r} is none of {', '.join(STRIPS)}.",
        where=_where(path, row, columns[column]),
        hint=STRIPS[0],
    )


def _value(
    path: Path,
    row: _Row,
    columns: list[_Column],
    column: int,
    system: System,
    unit_column: int | None,
) -> str:
    """Return a temperature as it would be typed, in the plan's unit."""
    where = _where(path, row, columns[column])
    text = _cell(row, column)
    if not text and len(row.cells) < len(columns):
        raise _uneven(path, row, len(columns))
    stated = columns[column].unit
    if stated is None and unit_column is not None:
        words = _words(_cell(row, unit_column))
        named = [_UNIT_WORDS[word] for word in words if word in _UNIT_WORDS]
        if len(named) != 1:
            raise Refusal(
                "bad-value",
                f"{_cell(row, unit_column)[:40]!r} is no unit of temperature.",
                where=_where(path, row, columns[unit_column]),
                hint="degF or degC",
            )
        stated = named[0]
    fahrenheit = typed.temperature(text, where, stated or system)
    readings.check_temperature(fahrenheit, where, stated or system)
    return f"{round(units.in_plan_unit(fahrenheit, system), 6):f}"


def _once(
    path: Path,
    row: _Row,
    found: dict[tuple[Corner, Strip], str],
    corner: Corner,
    strip: Strip,
    value: str,
) -> None:
    if (corner, strip) in found:
        raise Refusal(
            "bad-value",
            f"{corner} {strip} is there twice.",
            where=f"{path}, row {row.number}",
            hint="each reading once; a column called run keeps several runs apart",
        )
    found[corner, strip] = value


def _complete(path: Path, found: Mapping[tuple[Corner, Strip], str]) -> tuple[str, ...]:
    for corner in CORNERS:
        missing = [strip for strip in STRIPS if (corner, strip) not in found]
        if missing:
            raise Refusal(
                "missing-tire",
                f"{corner} {', '.join(missing)} is not in the file.",
                where=str(path),
                hint="all twelve temperatures are needed",
            )
    return tuple(
        f"{corner}=" + "/".join(found[corner, strip] for strip in STRIPS) for corner in CORNERS
    )


# --- refusals -------------------------------------------------------------------------------


def _no_layout(path: Path, row: int, names: Sequence[str]) -> Refusal:
    seen = f" Read: {', '.join(name[:30] for name in names[:20])}." if names else ""
    return Refusal(
        "bad-value",
        f"The first row must name the columns.{seen}",
        where=f"{path}, row {row}",
        hint=LAYOUTS,
    )


def _uneven(path: Path, row: _Row, wanted: int) -> Refusal:
    return Refusal(
        "bad-value",
        f"This row has {len(row.cells)} columns, the first one {wanted}.",
        where=f"{path}, row {row.number}",
        hint="one value a column; in a file with decimal commas part columns by semicolons",
    )


def _two_columns(path: Path, one: str, other: str) -> Refusal:
    return Refusal(
        "bad-value",
        f"Two columns hold the same: {one[:_MOST_NAME]} and {other[:_MOST_NAME]}.",
        where=f"{path}, column {other[:_MOST_NAME]}",
        hint="leave one of them away",
    )
