"""What is usual on a car, and in which other unit a number may have been given."""

import math
from collections.abc import Sequence

import attrs

from planner.trade import numbers

JACK_TRAVEL = 4.0  # in of a weight jack, either way; from memory
FEW_TURNS = 4.0  # of a weight jack at once: a crew turns one or two and looks again; from memory
# in that a car spring can be pressed before its coils touch: 5 to 7 for the usual lengths, from
# memory. One that stands pressed so far has no travel left for a bump.
SPRING_TRAVEL = 6.0


@attrs.frozen
class InOtherUnit:
    """Numbers that would be usual, were they given in another unit.

    Attributes
    ----------
    unit : the other unit.
    values : what they are then in `ours`, the unit of the car file.
    """

    unit: str
    values: tuple[float, ...]
    ours: str


def range_of(key: str) -> tuple[float, float]:
    """Return what is common at a key of the car file; all there is where nothing is said."""
    return numbers.CAR[key].usual or (-math.inf, math.inf)


def is_usual(key: str, value: float) -> bool:
    """Say whether a number is what is common at its key."""
    low, high = range_of(key)
    return low <= value <= high


def unit_of(key: str) -> str:
    """Return the unit of a key of the car file, for the reader."""
    unit = numbers.CAR[key].unit
    return {"degF": "°F", "ratio": "in per in"}.get(unit, unit)


def in_other_units(key: str, values: Sequence[float]) -> tuple[InOtherUnit, ...]:
    """Return the other units in which all of some numbers of a key would be usual."""
    if key not in numbers.CAR or numbers.CAR[key].usual is None:
        return ()
    found = []
    for other, size in numbers.CAR[key].also:
        there = tuple(value * size + (32 if other == "°C" else 0) for value in values)
        if all(is_usual(key, value) for value in there):
            found.append(InOtherUnit(other, there, unit_of(key)))
    return tuple(found)
