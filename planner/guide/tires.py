"""From a typed line to the readings of one tire, of several, or of the whole run."""

import re
from collections.abc import Mapping, Sequence

from planner.guide.draft import Way
from planner.run import typed
from planner.screen import car_view
from planner.trade import units
from planner.trade.corners import STRIPS, UNREAD, Corner, Strip, Three
from planner.trade.numbers import TIRE_TEMPERATURE
from planner.trade.refusals import Refusal

# Three readings of a warm tire, in the unit of the plan.
EXAMPLE: dict[units.System, str] = {"us": "205 212 209", "metric": "96 100 98"}
_CORNER = re.compile(r"\b(LF|RF|LR|RR)\b\s*[=:>]?", re.IGNORECASE)


def typed_order(corner: Corner, way: Way) -> tuple[Strip, ...]:
    """Return the strips of a tire in the order they are typed."""
    return car_view.strips_across(corner) if way == "across" else STRIPS


def as_typed(tire: Three, corner: Corner, way: Way, system: units.System) -> str:
    """Return the readings of a tire as they are typed."""
    values = dict(zip(STRIPS, tire, strict=True))
    return " ".join(car_view.shown(values[strip], system) for strip in typed_order(corner, way))


def listed(
    tires: Mapping[Corner, Three], order: Sequence[Corner], way: Way, system: units.System
) -> tuple[str, ...]:
    """Return the readings of all tires as they are typed, each after the name of its tire."""
    return tuple(
        f"{corner} {as_typed(tires[corner], corner, way, system)}"
        if corner in tires
        else f"{corner} not read yet"
        for corner in order
    )


def labelled(text: str) -> tuple[str, list[tuple[Corner, str]]]:
    """Split a line at the names of corners: what stands before the first, then each's part."""
    head, *rest = _CORNER.split(typed.with_corners(text))
    names = [typed.corner(name, "tire") for name in rest[::2]]
    return head.strip(), list(zip(names, (part.strip(" ;,") for part in rest[1::2]), strict=True))


def is_of_tires(text: str) -> bool:
    """Say whether a line gives three readings each of tires by name, and nothing else."""
    head, named = labelled(text)
    return bool(named) and not head and all(len(typed.strips(part)) == 3 for _, part in named)


def read(
    text: str, due: Sequence[Corner], order: Sequence[Corner], way: Way, system: units.System
) -> dict[Corner, Three]:
    """Read a line of readings.

    Parameters
    ----------
    text : three numbers for the tire that is due, more for those after it, twelve for the whole
        run in reading order; or any tires by name (``LF 205 212 209 RF …``).
    due : tires not read yet, in reading order.
    order : all tires in reading order.
    way : order of the strips.
    system : unit they are typed in.

    Raises
    ------
    Refusal
        They are not three a tire, or one is no number or cannot be true.
    """
    head, named = labelled(text)
    if named and not head:
        if len({corner for corner, _ in named}) != len(named):
            raise Refusal("bad-value", "A tire is given twice.", hint="give each tire once")
        return {corner: _tire(part, corner, way, system) for corner, part in named}
    pieces = typed.strips(text)
    tires = order if len(pieces) == 3 * len(order) else due
    count = len(pieces) // 3
    if len(pieces) % 3 or not 0 < count <= len(tires):
        raise _not_three(due[0], way, system)
    return {
        corner: _tire(" ".join(pieces[3 * i : 3 * i + 3]), corner, way, system)
        for i, corner in enumerate(tires[:count])
    }


def _tire(text: str, corner: Corner, way: Way, system: units.System) -> Three:
    pieces = typed.strips(text)
    if len(pieces) != 3:
        raise _not_three(corner, way, system)
    strips = typed_order(corner, way)
    read = {
        strip: _temperature(piece, f"{corner} {strip}", system)
        for strip, piece in zip(strips, pieces, strict=True)
    }
    return read["inner"], read["middle"], read["outer"]


def _temperature(text: str, where: str, system: units.System) -> float:
    if text == typed.NOT_READ:
        return UNREAD
    value = typed.number(text, where, EXAMPLE[system])
    low, high = (
        units.in_plan_unit(edge, system) for edge in (TIRE_TEMPERATURE.low, TIRE_TEMPERATURE.high)
    )
    if low <= value <= high:
        return units.fahrenheit(value, system)
    hint = f"a number from {low:.0f} to {high:.0f}"
    if value > high and value / 10 <= high:
        hint += f" (a digit too many? {value / 10:g})"
    mark = units.degree_mark(system)
    raise Refusal(
        "bad-value", f"{value:g} {mark} cannot be a tire temperature.", where=where, hint=hint
    )


def _not_three(corner: Corner, way: Way, system: units.System = "us") -> Refusal:
    names = " ".join(typed_order(corner, way))
    return Refusal(
        "bad-value",
        f"Give three numbers: {names}.",
        where=corner,
        hint=f"for example {corner} {EXAMPLE[system]}; ? shows all you can type here",
    )


def lines(text: str, way: Way, order: Sequence[Corner]) -> list[str]:
    """Return ``CORNER=a/b/c`` texts, inner first, from three values a named corner.

    Without names they are for the tires in the order given, as many as there are threes of values.

    Raises
    ------
    Refusal
        A corner has not three values.
    """
    head, named = labelled(text)
    if not named:
        pieces = typed.numbers(head)
        named = [
            (corner, " ".join(pieces[3 * i : 3 * i + 3]))
            for i, corner in enumerate(order)
            if 3 * i < len(pieces)
        ]
    texts = []
    for corner, part in named:
        values = typed.strips(part)
        if len(values) != 3:
            raise _not_three(corner, way)
        placed = dict(zip(typed_order(corner, way), values, strict=True))
        texts.append(f"{corner}=" + "/".join(placed[strip] for strip in STRIPS))
    return texts
