"""The worksheet: what went in, by which equation, what came out, and what to mind."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import attrs

# One number, one a corner (or place, or end), words, or nothing where there is no number to give.
Value = float | str | Mapping[Any, float] | tuple[str, ...] | None


@attrs.frozen
class Row:
    """One line of a worksheet.

    Attributes
    ----------
    key : name of the value for other programs.
    label : name of the value for the reader.
    value : what it is.
    unit : its unit, as other programs read it.
    decimals : figures after the point; None for as many as were given.
    signed : show a plus sign.
    words : shown in place of the value.
    """

    key: str
    label: str
    value: Value
    unit: str = ""
    decimals: int | None = 1
    signed: bool = False
    words: str = ""


@attrs.frozen
class Line:
    """One result as a worksheet declares it; its value makes it a `Row`.

    Attributes
    ----------
    key, label, unit, decimals, signed : as of the row.
    of : what gives the value when it is not named as the key: a name, or a function of the record.
    """

    key: str
    label: str
    unit: str = ""
    decimals: int = 1
    signed: bool = False
    of: str | Callable[[Any], Value] = ""

    def row(self, value: Value, words: str = "") -> Row:
        """Return the row with this value, or with words in its place."""
        return Row(self.key, self.label, value, self.unit, self.decimals, self.signed, words)


def rows(lines: Iterable[Line], found: Any) -> tuple[Row, ...]:
    """Return the rows of lines from a record, or from values by key; None leaves a row out."""
    filled = ((line, _value(line, found)) for line in lines)
    return tuple(line.row(value) for line, value in filled if value is not None)


def _value(line: Line, found: Any) -> Value:
    if callable(line.of):
        return line.of(found)
    name = line.of or line.key
    value: Value = found.get(name) if isinstance(found, Mapping) else getattr(found, name)
    return value


@attrs.frozen
class Part:
    """Some results that belong together.

    Attributes
    ----------
    title : heading for the reader.
    rows : the results.
    key : name of the group for other programs; empty puts the rows at the top level.
    """

    title: str
    rows: tuple[Row, ...]
    key: str = ""


@attrs.frozen(kw_only=True)
class Worksheet:
    """A calculation, complete.

    Attributes
    ----------
    work : the topic, as the command names it.
    title : what was worked out.
    inputs : every number that went in.
    equations : by name, each with its source.
    results : what came out, in groups.
    doubts : what looks like a slip, or cannot be done on most cars.
    remarks : what to know about the results.
    cautions : what to mind at the car.
    """

    work: str
    title: str
    inputs: tuple[Row, ...]
    equations: Sequence[str]
    results: Sequence[Part]
    doubts: Sequence[str] = ()
    remarks: Sequence[str] = ()
    cautions: Sequence[str] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return the worksheet as other programs read it; units mirror inputs and results."""
        values: dict[str, Any] = {}
        units: dict[str, Any] = {}
        for part in self.results:
            into, with_units = values, units
            if part.key:
                into, with_units = values.setdefault(part.key, {}), units.setdefault(part.key, {})
            into.update(_values(part.rows))
            with_units.update(_units(part.rows))
        return {
            "work": self.work,
            "title": self.title,
            "units": {"inputs": _units(self.inputs), "results": units},
            "inputs": _values(self.inputs),
            "equation": list(self.equations),
            "results": values,
            "doubts": list(self.doubts),
            "remarks": list(self.remarks),
            "cautions": list(self.cautions),
        }


def _values(rows: Iterable[Row]) -> dict[str, Any]:
    return {row.key: _plain(row.value) for row in rows}


def _units(rows: Iterable[Row]) -> dict[str, str]:
    return {row.key: row.unit for row in rows if row.unit}


def _plain(value: Value) -> Any:
    if isinstance(value, Mapping):
        return {place: _plain(number) for place, number in value.items()}
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, float):
        return round(value, 9) + 0.0  # no minus zero
    return value
