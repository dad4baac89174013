"""The four corners of the car and the groups the trade gives names to."""

from collections.abc import Callable, Mapping
from typing import Literal, TypeVar, cast

Corner = Literal["LF", "RF", "LR", "RR"]
T = TypeVar("T")

CORNERS: tuple[Corner, ...] = ("LF", "RF", "LR", "RR")
FRONT: tuple[Corner, Corner] = ("LF", "RF")
REAR: tuple[Corner, Corner] = ("LR", "RR")
LEFT: tuple[Corner, Corner] = ("LF", "LR")
RIGHT: tuple[Corner, Corner] = ("RF", "RR")

_ACROSS: dict[Corner, Corner] = {"LF": "RF", "RF": "LF", "LR": "RR", "RR": "LR"}


def across(corner: Corner) -> Corner:
    """Return the other corner on the same axle."""
    return _ACROSS[corner]


def per_corner(value: Callable[[Corner], T]) -> dict[Corner, T]:
    """Return ``{corner: value(corner)}`` in the order LF, RF, LR, RR."""
    return {corner: value(corner) for corner in CORNERS}


def mean_of(values: Mapping[Corner, float], corners: tuple[Corner, ...]) -> float:
    """Return the plain mean of the values at the named corners."""
    return sum(values[corner] for corner in corners) / len(corners)


def mirrored(corner_or_place: str) -> str:
    """Return the corner as seen in a mirror; a place that is no corner stays as it is."""
    return _ACROSS.get(cast(Corner, corner_or_place), corner_or_place)
