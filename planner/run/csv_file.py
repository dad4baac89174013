"""The temperatures of a run from a CSV file, in the layouts that crews and loggers keep.

Three layouts are told apart by the first row, which names the columns:

- a row a reading: corner, position, temperature;
- a row a tire: corner, inner, middle, outer;
- a row a run: twelve columns such as ``LF_inner``, ``LF middle`` or ``RRO``.

Columns may stand in any order; columns that are not read are named. Tabs, semicolons or commas
part the columns; decimals may have a comma. A unit in a column's name (``temp_c``, ``inner (°F)``),
in a column called unit, or behind a number wins over the unit of the plan. Where a file holds
several runs (rows in the third layout, a column called run in the others) one is picked.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TypeVar

import attrs

from planner.run import csv_rows, readings, typed
from planner.run.csv_columns import (
    CORNER_WORDS,
    STRIP_WORDS,
    UNIT_WORDS,
    Column,
    Role,
    column_of,
    named,
    words_of,
)
from planner.run.csv_rows import Row
from planner.trade.corners import CORNERS, STRIPS, UNREAD, Corner, Strip, Three, per_corner
from planner.trade.refusals import Refusal
from planner.trade.units import System

K = TypeVar("K")

MOST_COLUMNS = 1000
_MOST_NAME = 40  # letters of a column's name that are repeated in a message

LAYOUTS = (
    "corner,inner,middle,outer; corner,position,temperature; or LF_inner,LF_middle,… all twelve"
)


@attrs.frozen
class Picked:
    """Which run of several in a file was read.

    Attributes
    ----------
    number : of the run, from 1 in the order of the file.
    of : how many runs the file holds.
    called : what the column called run names it; None in a file with a row a run.
    row : of the file, where its readings begin.
    """

    number: int
    of: int
    called: str | None
    row: int


@attrs.frozen
class Unread:
    """The names of the columns of a file that were not read."""

    columns: tuple[str, ...]


FileRemark = Picked | Unread


@attrs.frozen
class Sheet:
    """What a file held: the tires [degF], and what should be mentioned."""

    tires: Mapping[Corner, Three]
    remarks: tuple[FileRemark, ...] = ()


@attrs.frozen
class _Layout:
    """Which columns say what.

    Attributes
    ----------
    values : those with temperatures.
    roles : those that say of a row which corner, strip, unit and run it is of.
    a_run_a_row : each row holds all twelve temperatures.
    """

    columns: tuple[Column, ...]
    values: tuple[Column, ...]
    roles: Mapping[Role, Column]
    a_run_a_row: bool = False


def read(path: Path, system: System = "us", row: int | None = None) -> Sheet:
    """Return the tires of a CSV file.

    Parameters
    ----------
    system : the plan's unit, for columns that state none.
    row : which of several runs, from 1 in the order of the file; the last when None.

    Raises
    ------
    Refusal
        Names the row and the column that cannot be used.
    """
    rows = csv_rows.read(path)
    if not rows:
        raise _no_layout(path, 1, ())
    header, body = rows[0], rows[1:]
    layout = _layout(path, header)
    for each in body:
        if any(each.cells[len(layout.columns) :]):
            raise _uneven(path, each, len(layout.columns))
    runs = _runs(layout, body)
    if not runs and layout.a_run_a_row:
        raise Refusal("bad-value", "The file holds no run.", where=str(path), hint="a row a run")
    if layout.a_run_a_row or "run" in layout.roles:
        number = len(runs) if row is None else row
        if runs and not 1 <= number <= len(runs):
            raise Refusal(
                "bad-value",
                f"There is no run {number} in {path.name}; it holds {len(runs)}.",
                where="--row",
                hint=f"--row 1 to --row {len(runs)}, not counting the names of the columns",
            )
    elif row not in (None, 1):
        raise Refusal(
            "bad-value",
            "The file holds a single run: it has neither a row a run nor a column called run.",
            where="--row",
            hint="omit --row",
        )
    else:
        number = 1
    remarks: list[FileRemark] = []
    picked: Sequence[Row] = list(runs.values())[number - 1] if runs else []
    if len(runs) > 1:
        called = None if layout.a_run_a_row else list(runs)[number - 1]
        remarks.append(Picked(number, len(runs), called, picked[0].number))
    unread = _unread(layout)
    if unread:
        remarks.append(Unread(unread))
    return Sheet(_tires(path, layout, picked, system), tuple(remarks))


def _runs(layout: _Layout, body: Sequence[Row]) -> dict[str, list[Row]]:
    """Return the rows of every run by its name, in the order of the file."""
    runs: dict[str, list[Row]] = {}
    for each in body:
        if layout.a_run_a_row:
            runs[str(each.number)] = [each]
        else:
            name = each[layout.roles["run"].number] if "run" in layout.roles else ""
            runs.setdefault(name, []).append(each)
    return runs


# --- the three layouts ----------------------------------------------------------------------


def _layout(path: Path, header: Row) -> _Layout:
    """Find out which layout a file has by the names of its columns."""
    if len(header.cells) > MOST_COLUMNS:
        raise Refusal(
            "bad-value",
            f"This row names {len(header.cells)} columns; at most {MOST_COLUMNS} are read.",
            where=f"{path}, row {header.number}",
            hint=LAYOUTS,
        )
    columns = tuple(column_of(number, name) for number, name in enumerate(header.cells))
    there = {column.role for column in columns}
    strips = [column for column in columns if column.strip is not None]
    usual: tuple[Role, ...] = ("unit", "run")
    if any(column.corner for column in strips):
        _once_each(path, strips, lambda column: (column.corner, column.strip))
        values = tuple(column for column in strips if column.corner is not None)
        return _Layout(columns, values, _roles(path, columns, usual), a_run_a_row=True)
    if {"corner", "position", "temperature"} <= there:
        roles = _roles(path, columns, ("corner", "position", "temperature", *usual))
        return _Layout(columns, (roles["temperature"],), roles)
    if "corner" in there and set(STRIPS) <= {column.strip for column in strips}:
        _once_each(path, strips, lambda column: column.strip)
        return _Layout(columns, tuple(strips), _roles(path, columns, ("corner", *usual)))
    raise _no_layout(path, header.number, header.cells)


def _roles(path: Path, columns: Iterable[Column], wanted: Sequence[Role]) -> dict[Role, Column]:
    there = [column for column in columns if column.role in wanted]
    return {role: at for role, at in _once_each(path, there, lambda c: c.role).items() if role}


def _once_each(path: Path, columns: Iterable[Column], of: Callable[[Column], K]) -> dict[K, Column]:
    """Return columns by what they hold; refuse two of one kind."""
    found: dict[K, Column] = {}
    for column in columns:
        other = found.setdefault(of(column), column)
        if other is not column:
            raise Refusal(
                "bad-value",
                f"Two columns hold the same: {other.name[:_MOST_NAME]} and "
                f"{column.name[:_MOST_NAME]}.",
                where=f"{path}, column {column.name[:_MOST_NAME]}",
                hint="leave one of them out",
            )
    return found


def _unread(layout: _Layout) -> tuple[str, ...]:
    read = {column.number for column in (*layout.values, *layout.roles.values())}
    return tuple(c.name for c in layout.columns if c.number not in read and c.name)


# --- cells ----------------------------------------------------------------------------------


def _tires(path: Path, layout: _Layout, rows: Iterable[Row], system: System) -> dict[Corner, Three]:
    """Return the tires [degF] that rows hold together."""
    found: dict[tuple[Corner, Strip], float] = {}
    for row in rows:
        corner, strip = _corner(path, row, layout), _strip(path, row, layout)
        for column in layout.values:
            place = column.corner or corner, column.strip or strip
            value = _value(path, row, column, layout, system)
            if place in found:
                raise Refusal(
                    "bad-value",
                    f"{place[0]} {place[1]} is there twice.",
                    where=f"{path}, row {row.number}",
                    hint="each reading once; a column called run keeps several runs apart",
                )
            found[place] = value
    for corner in CORNERS:
        missing = [strip for strip in STRIPS if (corner, strip) not in found]
        if missing:
            raise Refusal(
                "missing-tire",
                f"{corner} {', '.join(missing)} is not in the file.",
                where=str(path),
                hint="all twelve temperatures are needed",
            )
    return per_corner(
        lambda c: (found[c, "inner"], found[c, "middle"], found[c, "outer"]),
    )


def _where(path: Path, row: Row, column: Column) -> str:
    return f"{path}, row {row.number}, column {column.name[:_MOST_NAME]}"


def _corner(path: Path, row: Row, layout: _Layout) -> Corner:
    """Return the corner that a row is of; any where its columns say so themselves."""
    if "corner" not in layout.roles:
        return CORNERS[0]
    column = layout.roles["corner"]
    return named(row[column.number], CORNER_WORDS) or typed.corner(
        row[column.number], _where(path, row, column)
    )


def _strip(path: Path, row: Row, layout: _Layout) -> Strip:
    """Return the strip that a row is of; any where its columns say so themselves."""
    if "position" not in layout.roles:
        return STRIPS[0]
    column = layout.roles["position"]
    strip = named(row[column.number], STRIP_WORDS)
    if strip is None:
        raise Refusal(
            "bad-value",
            f"unknown position {row[column.number][:40]!r}.",
            where=_where(path, row, column),
            hint=f"use one of {', '.join(STRIPS)}",
        )
    return strip


def _value(path: Path, row: Row, column: Column, layout: _Layout, system: System) -> float:
    """Return a temperature [degF]."""
    where, text = _where(path, row, column), row[column.number]
    if not text and len(row.cells) < len(layout.columns):
        raise _uneven(path, row, len(layout.columns))
    if text in ("", typed.NOT_READ):
        return UNREAD
    stated = column.unit or _unit(path, row, layout) or system
    fahrenheit = round(typed.temperature(text, where, stated), 6)
    readings.check_temperature(fahrenheit, where, stated)
    return fahrenheit


def _unit(path: Path, row: Row, layout: _Layout) -> System | None:
    """Return the unit that a row states; None where no column does."""
    column = layout.roles.get("unit")
    if column is None:
        return None
    units = [UNIT_WORDS[word] for word in words_of(row[column.number]) if word in UNIT_WORDS]
    if len(units) != 1:
        raise Refusal(
            "bad-value",
            f"{row[column.number][:40]!r} is not a unit of temperature.",
            where=_where(path, row, column),
            hint="degF or degC",
        )
    return units[0]


# --- refusals -------------------------------------------------------------------------------


def _no_layout(path: Path, row: int, names: Sequence[str]) -> Refusal:
    seen = f" Read: {', '.join(name[:30] for name in names[:20])}." if names else ""
    return Refusal(
        "bad-value",
        f"The first row must name the columns.{seen}",
        where=f"{path}, row {row}",
        hint=LAYOUTS,
    )


def _uneven(path: Path, row: Row, wanted: int) -> Refusal:
    return Refusal(
        "bad-value",
        f"This row has {len(row.cells)} columns, the first has {wanted}.",
        where=f"{path}, row {row.number}",
        hint="one value a column; separate columns by semicolons in a file with decimal commas",
    )
