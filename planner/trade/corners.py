"""The four corners of the car, the groups the trade gives names to, and the way round them."""

import math
from collections.abc import Callable
from typing import Literal, TypeVar, cast, get_args

Corner = Literal["LF", "RF", "LR", "RR"]
Turns = Literal["left", "right", "both"]  # which way the track turns
Strip = Literal["inner", "middle", "outer"]
Three = tuple[float, float, float]  # inner, middle, outer
T = TypeVar("T")

# A reading that was not taken. Always this very object, so that runs that miss the same are equal;
# what is worked out from it is no number either.
UNREAD = math.nan

CORNERS: tuple[Corner, ...] = ("LF", "RF", "LR", "RR")
FRONT: tuple[Corner, Corner] = ("LF", "RF")
REAR: tuple[Corner, Corner] = ("LR", "RR")
LEFT: tuple[Corner, Corner] = ("LF", "LR")
RIGHT: tuple[Corner, Corner] = ("RF", "RR")
STRIPS: tuple[Strip, ...] = get_args(Strip)

# Rubber cools from the moment the car stops, so the most worked front tire is read first, and
# then the others on the way round the car (common practice, no source).
_ROUND_THE_CAR: dict[Turns, tuple[Corner, ...]] = {
    "left": ("RF", "RR", "LR", "LF"),
    "right": ("LF", "LR", "RR", "RF"),
    "both": ("RF", "RR", "LR", "LF"),
}

_ACROSS: dict[Corner, Corner] = {"LF": "RF", "RF": "LF", "LR": "RR", "RR": "LR"}


def was_read(value: float) -> bool:
    """Say whether a reading was taken, or a figure is known."""
    return not math.isnan(value)


def average_read(tire: Three) -> float:
    """Return the mean of those of a tire's readings that were taken; `UNREAD` of none."""
    read = [value for value in tire if was_read(value)]
    return sum(read) / len(read) if read else UNREAD


def across(corner: Corner) -> Corner:
    """Return the other corner on the same axle."""
    return _ACROSS[corner]


def outside_corners(turns: Turns) -> tuple[Corner, ...]:
    """Return the tires on the outside of the turns: all four where a track turns both ways."""
    return {"left": RIGHT, "right": LEFT, "both": CORNERS}[turns]


def reading_order(turns: Turns) -> tuple[Corner, ...]:
    """Return the tires in the order to read them."""
    return _ROUND_THE_CAR[turns]


def per_corner(value: Callable[[Corner], T]) -> dict[Corner, T]:
    """Return ``{corner: value(corner)}`` in the order LF, RF, LR, RR."""
    return {corner: value(corner) for corner in CORNERS}


def mirrored(corner_or_place: str) -> str:
    """Return the corner as seen in a mirror; a place that is no corner stays as it is."""
    return _ACROSS.get(cast(Corner, corner_or_place), corner_or_place)
