"""The twelve readings laid out as the car stands, seen from above with the front at the top."""

from collections.abc import Mapping
from itertools import zip_longest

from rich.console import Group
from rich.text import Text

from planner.judging import across
from planner.rulebook.rules import Rulebook
from planner.screen import heat
from planner.trade import units
from planner.trade.corners import FRONT, LEFT, REAR, STRIPS, Corner, Strip, Three, was_read

_NUMBER, _CELL = 6, 8  # a number, and it with its mark
_TIRE = 3 * _CELL
_GAP = 4
WIDTH = 2 + 2 * _TIRE + _GAP

NO_READING = "-"


def strips_across(corner: Corner) -> tuple[Strip, ...]:
    """Return the strips of a tire as they lie from left to right: inner edges face each other."""
    return STRIPS[::-1] if corner in LEFT else STRIPS


def car(
    tires: Mapping[Corner, Three],
    book: Rulebook,
    window: tuple[float, float],
    system: units.System,
    *,
    legend: str = "",
) -> Group:
    """Return the picture; tires not yet read are left open.

    Parameters
    ----------
    book : the rules, which say how far a strip may be from its tire's average.
    window : the working range of the tires [degF].
    legend : what the marks mean; ``beside`` or ``below`` the picture, or left out.
    """
    rows = [_names(system)]
    for axle in (FRONT, REAR):
        left, right = (_tire(corner, tires.get(corner), book, window, system) for corner in axle)
        rows += [
            Text.assemble("  ", one, " " * _GAP, other)
            for one, other in zip(left, right, strict=True)
        ]
    if legend == "beside":
        for row, said in zip_longest(rows, heat.LEGEND, fillvalue=""):
            if said:
                assert isinstance(row, Text)
                row.append(f"  {said}", "dim")
    elif legend == "below":
        *most, last = heat.LEGEND
        rows += [Text(f"  {' '.join(most)}", "dim"), Text(f"  {last}", "dim")]
    for row in rows:
        row.no_wrap = True
        row.rstrip()
    return Group(*rows)


def _names(system: units.System) -> Text:
    """Return the names of the strips, and the unit, once for both axles."""
    left, right = (
        "".join(f"{strip:>{_NUMBER}}".ljust(_CELL) for strip in strips_across(corner))
        for corner in FRONT
    )
    return Text(f"  {left}{units.degree_mark(system):^{_GAP}}{right}", "dim")


def _tire(
    corner: Corner,
    tire: Three | None,
    book: Rulebook,
    window: tuple[float, float],
    system: units.System,
) -> tuple[Text, Text]:
    """Return one tire as two lines of the same width: its average, and its numbers with marks."""
    strips = strips_across(corner)
    if tire is None:
        empty = "".join(f"{NO_READING:>{_NUMBER}}".ljust(_CELL) for _ in strips)
        return Text(f"{corner}  not read yet".ljust(_TIRE), style="bold"), Text(empty)
    average = sum(tire) / 3
    title = f"{corner}  {shown(average, system)} avg, {heat.word(average, window)}"
    if not was_read(average):
        title = f"{corner}  average not known"
    levels = across.levels(tire, book)
    numbers = Text()
    for strip in strips:
        at = STRIPS.index(strip)
        number, level = shown(tire[at], system), levels[at]
        mark = "" if level is None else heat.MARKS[level]
        style = "" if level is None else heat.STYLES.get(level, "")
        numbers.append(" " * (_NUMBER - len(number))).append(number + mark, style)
        numbers.append(" " * (_CELL - _NUMBER - len(mark)))
    return Text(title.ljust(_TIRE), style="bold"), numbers


def shown(temperature: float, system: units.System) -> str:
    """Write a temperature [degF] without its unit; Celsius, the coarser unit, keeps its tenths."""
    if not was_read(temperature):
        return NO_READING
    value = units.in_plan_unit(temperature, system)
    return f"{value:.0f}" if system == "us" else f"{value:.1f}"
