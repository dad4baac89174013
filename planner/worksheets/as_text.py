"""A worksheet as aligned lines of plain text, no wider than the screen."""

import textwrap
from collections.abc import Iterable, Mapping

from planner.worksheets.worksheet import Row, Worksheet

WIDTH = 80
_LABEL = 27
_CELL = 10
_SIGNS = {"degF": "°F", "percent": "%", "ratio": ""}
_HEADINGS = {
    "typed": "Typed",
    "typed in part": "Typed in part",
    "car file": "From the car file",
    "taken": "Assumed",
}


def text(sheet: Worksheet, sources: Mapping[str, str]) -> str:
    """Return the worksheet for the reader.

    Parameters
    ----------
    sheet : the worksheet.
    sources : where each input comes from, by its key.
    """
    lines = [sheet.title]
    for source, heading in _HEADINGS.items():
        rows = [row for row in sheet.inputs if sources.get(row.key, "typed") == source]
        if rows:
            lines += ["", heading, *_rows(rows)]
    lines += ["", "Equation" if len(sheet.equations) == 1 else "Equations"]
    for equation in sheet.equations:
        lines += _wrapped(equation, "  ", "    ")
    for part in sheet.results:
        lines += ["", part.title, *_rows(part.rows)]
    told = (("Look again", sheet.doubts), ("Remarks", sheet.remarks), ("Cautions", sheet.cautions))
    for heading, notes in told:
        if notes:
            lines += ["", heading]
            for note in notes:
                lines += _wrapped(note, "  - ", "    ")
    return "\n".join(lines)


def _wrapped(words: str, first: str, then: str) -> list[str]:
    return textwrap.wrap(words, WIDTH, initial_indent=first, subsequent_indent=then)


def _rows(rows: Iterable[Row]) -> list[str]:
    return [line for row in rows for line in _row(row)]


def _row(row: Row) -> list[str]:
    unit = _SIGNS.get(row.unit, row.unit)
    value = row.value
    if isinstance(value, Mapping) and not row.words:
        cells = [
            place + f" {_number(number, row):>{max(_CELL - len(place) - 1, 0)}}"
            for place, number in value.items()
        ]
        line = f"  {row.label:<{_LABEL}}{' '.join(cells)} {unit}".rstrip()
        if len(line) <= WIDTH:
            return [line]
        return [f"  {row.label}", *(f"    {cell} {unit}".rstrip() for cell in cells)]
    if isinstance(value, int | float) and not isinstance(value, bool) and not row.words:
        return [f"  {row.label:<{_LABEL}}{_number(value, row):>{_CELL}} {unit}".rstrip()]
    shown = row.words or (", ".join(value) or "none" if isinstance(value, tuple) else f"{value}")
    return _wrapped(f"{row.label:<{_LABEL}}{shown}", "  ", " " * (_LABEL + 2))


def _number(value: float, row: Row) -> str:
    sign = "+" if row.signed else ""
    if row.decimals is None:
        return f"{value:{sign}g}"
    return f"{round(value, row.decimals) + 0.0:{sign}.{row.decimals}f}"
