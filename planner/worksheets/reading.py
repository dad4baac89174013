"""What is typed for a worksheet, read: values, one a place, pairs, lists of corners."""

import re
from collections.abc import Iterable, Sequence

from planner.run import typed
from planner.trade.corners import Corner
from planner.trade.refusals import Refusal, quoted
from planner.worksheets.quantities import ALL, DEGF, ENDS, QUANTITIES, Quantity

MOST_TYPED = 500  # letters of one option


def corners_listed(texts: Iterable[str], option: str) -> tuple[Corner, ...]:
    """Read corners, each option one or a list; refuse one named twice."""
    found = [corner for text in texts for corner in typed.corners(text, option)]
    named = typed.once_each(((corner, None) for corner in found), option)
    return tuple(named)


def pair(text: str) -> tuple[float, float]:
    """Read ``PSI=INCHES``, a tire's circumference at a pressure.

    Raises
    ------
    Refusal
        It is not of that form, or no tire can have such values.
    """
    option = "--pressure-pair"
    psi, equals, length = text.partition("=")
    if not equals:
        raise Refusal(
            "bad-value",
            f"{quoted(text)} is not PSI=INCHES.",
            where=option,
            hint=f"{option} 20=85.5",
        )
    return (
        possible(typed.pressure(psi, option), QUANTITIES["at_pressure"], option),
        possible(typed.number(length, option, "20=85.5"), QUANTITIES["outer"], option),
    )


def places(texts: Sequence[str], quantity: Quantity) -> dict[str, float]:
    """Read ``PLACE=VALUE`` options, each one or a list.

    Raises
    ------
    Refusal
        One is not of that form, names no place or one named already, or cannot be.
    """
    found: dict[str, float] = {}
    for text in texts:
        if len(text) > MOST_TYPED:
            raise _bad(f"{quoted(text)} is not a list of values.", quantity)
    for piece in (p for text in texts for p in re.split(r"[,;\s]+(?=[A-Za-z]+\s*=)", text.strip())):
        place, value = _place(piece, quantity)
        if place in found:
            said = "Two values are given for all." if place == ALL else f"{place} is given twice."
            raise _bad(said, quantity, "give each once")
        named = quantity.option if place == ALL else f"{quantity.option} {place}"
        found[place] = number(value, quantity, named)
    return found


def _place(piece: str, quantity: Quantity) -> tuple[str, str]:
    name, equals, value = piece.partition("=")
    if not equals and ALL in quantity.places:
        return ALL, piece
    if not equals or not value.strip():
        kind = "PLACE" if quantity.places == ENDS else "CORNER"
        raise _bad(f"{quoted(piece)} is not {kind}=VALUE.", quantity)
    if quantity.places != ENDS:
        return typed.corner(name, quantity.option), value
    place = name.strip().lower()
    if place not in ENDS:
        raise _bad(f"{quoted(name)} is not an end of the car.", quantity, "front or rear")
    return place, value


def _bad(said: str, quantity: Quantity, hint: str = "") -> Refusal:
    hint = hint or f"{quantity.option} {quantity.example}"
    return Refusal("bad-value", said, where=quantity.option, hint=hint)


def number(text: str, quantity: Quantity, where: str) -> float:
    """Read one value in its unit, and refuse what cannot be."""
    if quantity.unit == DEGF:
        value = typed.temperature(text, quantity.option, "us")
    elif quantity.unit == "psi":
        value = typed.pressure(text, quantity.option)
    else:
        value = typed.number(text, quantity.option, quantity.example)
    return possible(value, quantity, where)


def possible(value: float, quantity: Quantity, where: str) -> float:
    """Return the value, or refuse one that cannot be."""
    if quantity.low <= value <= quantity.high:
        return value
    unit = "" if quantity.unit == "ratio" else f" {quantity.unit}"
    hint = f"for example {quantity.option} {quantity.example}"
    if quantity.unit == "percent" and 0 < value < 1:
        hint = f"in percent, not as a fraction: {quantity.option} {100 * value:g}"
    raise Refusal(
        "bad-value",
        f"{where} is {value:g}{unit}; it must lie between {quantity.low:g} and "
        f"{quantity.high:g}{unit}.",
        where=where,
        hint=hint,
    )


def missing(quantity: Quantity, without: Sequence[str] = ()) -> Refusal:
    """Return the refusal of a worksheet that cannot do without this."""
    which = f": {', '.join(without)} not given" if without else ": not given"
    return Refusal("missing", f"{quantity.label}{which}.", where=quantity.where, hint=quantity.hint)
