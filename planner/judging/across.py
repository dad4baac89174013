"""How far each strip of a tire is from the tire's own average, in steps of what the rules allow."""

import math
from typing import Literal

from planner.rulebook.rules import Rulebook
from planner.trade.corners import Three, was_read

Level = Literal[-2, -1, 0, 1, 2]

_NOT_KNOWN: tuple[Level | None, ...] = (None, None, None)


def levels(tire: Three, book: Rulebook) -> tuple[Level | None, ...]:
    """Return how far inner, middle and outer are from the average of the three.

    Parameters
    ----------
    tire : its readings [degF].
    book : the rules, whose bands of split and crown are the measure.

    Returns
    -------
    For each strip 0 as far as the rules allow, 1 or 2 above that, -1 or -2 below it; None where a
    reading is missing.

    Notes
    -----
    An edge may be a quarter of the width of the band of splits from the average: with both edges as
    far off, on opposite sides, the split is at the end of its band. The middle may be half the
    width of the band of crowns from it, which is the crown itself. Twice that is the second step.
    """
    average = sum(tire) / 3
    if not was_read(average):
        return _NOT_KNOWN
    edge, middle = _half_width("split", book) / 2, _half_width("crown", book)
    allowed = (edge, middle, edge)
    return tuple(_level(at - average, most) for at, most in zip(tire, allowed, strict=True))


def _half_width(figure: str, book: Rulebook) -> float:
    """Return half the width of a band [degF]; of one open on a side, how far its end is from 0."""
    low, high = book.edges(figure)
    if low is not None and high is not None:
        return (high - low) / 2
    return abs(high if high is not None else low if low is not None else math.inf)


def _level(off: float, allowed: float) -> Level:
    size = abs(round(off, 9))  # no dust at the end of a band
    if size <= allowed:
        return 0
    if size <= 2 * allowed:
        return 1 if off > 0 else -1
    return 2 if off > 0 else -2
