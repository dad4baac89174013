"""Numbers given to the chassis formulas: taken, or refused with the value and the key named."""

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal

if TYPE_CHECKING:
    import attrs

Validator = Callable[[Any, "attrs.Attribute[Any]", Any], None]


def checked(
    value: float,
    where: str,
    unit: str,
    *,
    above: float = -math.inf,
    below: float = math.inf,
    low: float = -math.inf,
    high: float = math.inf,
) -> float:
    """Return the value as a float, or refuse one that is not finite or out of range.

    Parameters
    ----------
    value : the number given [unit].
    where : key or parameter it came from.
    unit : its unit, as shown to the reader.
    above, below : the value must be more, or less, than these [unit].
    low, high : the value must not be less, or more, than these [unit].

    Raises
    ------
    Refusal
        The value is NaN, infinite or out of range.
    """
    if math.isfinite(value) and above < value < below and low <= value <= high:
        return float(value)
    bounds = [
        f"{word} {bound:g}"
        for word, bound in (
            ("above", above),
            ("below", below),
            ("at least", low),
            ("at most", high),
        )
        if math.isfinite(bound)
    ]
    wanted = f"a number {' and '.join(bounds)}" if bounds else "a finite number"
    raise Refusal(
        "bad-value",
        f"{where} is {value:g} {unit}; it must be {wanted}.",
        where=where,
        hint=f"give {wanted}, in {unit}",
    )


def checked_corners(
    values: Mapping[Corner, float], where: str, unit: str, *, above: float = 0.0
) -> dict[Corner, float]:
    """Return the four values in the order LF, RF, LR, RR, or refuse them.

    Parameters
    ----------
    values : one number per corner [unit].
    where : parameter or key they came from, for the message.
    unit : unit to name in the message.
    above : open lower bound [unit].

    Raises
    ------
    Refusal : a corner is missing or unknown, or its value is not a number above the bound.
    """
    if set(values) != set(CORNERS):
        raise Refusal(
            "bad-value",
            f"{where} names {', '.join(sorted(values)) or 'no corner'}; "
            f"it needs exactly {', '.join(CORNERS)}.",
            where=where,
            hint=f"Give one number in {unit} for each of {', '.join(CORNERS)}.",
        )
    return per_corner(lambda c: checked(values[c], f"{where}.{c}", unit, above=above))


def within(unit: str, name: str = "", **bounds: float) -> Validator:
    """Return an attrs validator: a number within bounds, as for `checked`, or None.

    Parameters
    ----------
    unit : its unit.
    name : what a refusal calls it; the field's own name when left out.
    bounds : ``above``, ``below``, ``low`` and ``high``.
    """

    def validate(_: Any, field: "attrs.Attribute[Any]", value: Any) -> None:
        if value is not None:
            checked(value, name or field.name, unit, **bounds)

    return validate


def each_corner(unit: str) -> Validator:
    """Return an attrs validator: a number above zero for each corner, or None."""

    def validate(_: Any, field: "attrs.Attribute[Any]", value: Any) -> None:
        if value is not None:
            checked_corners(value, field.name, unit)

    return validate
