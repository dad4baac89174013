"""The twelve readings laid out as the car stands, seen from above with the front at the top."""

from collections.abc import Mapping

from rich.console import Group
from rich.text import Text

from planner.screen import heat
from planner.trade import units
from planner.trade.corners import FRONT, LEFT, REAR, STRIPS, Corner, Strip, Three, was_read

_CELL = 8  # the longest word of heat
_TIRE = 3 * _CELL + 2
_GAP = 8
WIDTH = 2 + 2 * _TIRE + _GAP

NO_READING = "-"


def strips_across(corner: Corner) -> tuple[Strip, ...]:
    """Return the strips of a tire as they lie from left to right: inner edges face each other."""
    return STRIPS[::-1] if corner in LEFT else STRIPS


def car(tires: Mapping[Corner, Three], window: tuple[float, float], system: units.System) -> Group:
    """Return the picture; tires not yet read are left open."""
    rows: list[Text] = [Text("  " + "front of the car".center(WIDTH - 2).rstrip(), style="dim")]
    for axle in (FRONT, REAR):
        left, right = (_tire(corner, tires.get(corner), window, system) for corner in axle)
        rows += [
            Text.assemble("  ", one, " " * _GAP, other)
            for one, other in zip(left, right, strict=True)
        ]
        if axle is FRONT:
            rows.append(Text(""))
    for row in rows:
        row.no_wrap = True
        row.rstrip()
    return Group(*rows)


def _tire(
    corner: Corner, tire: Three | None, window: tuple[float, float], system: units.System
) -> list[Text]:
    """Return one tire as four lines of the same width: average, strip names, numbers, words."""
    across = strips_across(corner)
    names = Text(" ".join(f"{strip:^{_CELL}}" for strip in across), style="dim")
    if tire is None:
        empty = Text(" ".join(f"{NO_READING:^{_CELL}}" for _ in across))
        return [Text(f"{corner}  not read yet".ljust(_TIRE), style="bold"), names, empty, empty]
    average = sum(tire) / 3
    mark = units.degree_mark(system)
    title = f"{corner}  {shown(average, system)} {mark} avg, {heat.word(average, window)}"
    if not was_read(average):
        title = f"{corner}  average not known"
    numbers, words = Text(), Text()
    for position, strip in enumerate(across):
        value = tire[STRIPS.index(strip)]
        how = heat.word(value, window)
        gap = " " if position else ""
        numbers.append(gap).append(f"{shown(value, system):^{_CELL}}", style=heat.STYLES[how])
        words.append(gap).append(f"{how:^{_CELL}}", style=heat.STYLES[how])
    return [Text(title.ljust(_TIRE), style="bold"), names, numbers, words]


def shown(temperature: float, system: units.System) -> str:
    """Write a temperature [degF] without its unit; Celsius, the coarser unit, keeps its tenths."""
    if not was_read(temperature):
        return NO_READING
    value = units.in_plan_unit(temperature, system)
    return f"{value:.0f}" if system == "us" else f"{value:.1f}"
