"""Worn tread as evidence beside the temperatures: hot areas are also the areas that wear.

Source: *Circle Track*, "Race Tire Technology", June 2004. Sizes are in the rules file.
"""

from collections.abc import Iterable, Mapping

import attrs

from planner.rulebook.rules import Tread, WearRule
from planner.run.readings import Run, TreadUnit
from planner.trade.corners import CORNERS, Corner, Three


@attrs.frozen
class Worn:
    """Tread lost at each corner since it was last measured, inner/middle/outer, in `unit`."""

    lost: Mapping[Corner, Three]
    unit: TreadUnit

    def mean(self, corner: Corner) -> float:
        """Return the mean loss over the tire, in `unit`."""
        return sum(self.lost[corner]) / 3


def worn(run: Run, earlier: Iterable[Run]) -> Worn:
    """Work out what the tires lost.

    Parameters
    ----------
    run : the run after which the tread was measured.
    earlier : the runs before it, oldest first.

    Returns
    -------
    Worn
        For the corners where a depth before is known: given with the run, or the last one
        measured in the same unit. Percent of tread left counts from 100.
    """
    before: dict[Corner, Three] = {}
    if run.tread_unit == "percent":
        before = dict.fromkeys(CORNERS, (100.0, 100.0, 100.0))
    for past in earlier:
        if past.tread_unit == run.tread_unit:
            before.update(past.tread)
    before.update(run.tread_before)
    lost: dict[Corner, Three] = {}
    for corner, after in run.tread.items():
        if corner in before:
            inner, middle, outer = (b - a for b, a in zip(before[corner], after, strict=True))
            lost[corner] = (inner, middle, outer)
    return Worn(lost, run.tread_unit)


def least(rule: WearRule, unit: TreadUnit) -> float:
    """Return the loss, in `unit`, below which wear says nothing."""
    return rule.least_percent if unit == "percent" else rule.least


def across_tire(corner: Corner, place: Tread, loss: Worn, rule: WearRule) -> str:
    """Say whether the wear of one tire agrees that a part of it runs hot.

    Parameters
    ----------
    place : the part that runs hot by the temperatures: inner, outer, middle, or both edges.

    Returns
    -------
    str
        A sentence, or ``""`` where the wear says nothing.
    """
    if corner not in loss.lost:
        return ""
    inner, middle, outer = loss.lost[corner]
    edges = (inner + outer) / 2
    names = {
        "inner": (inner, outer, "the inner edge", "the outer edge"),
        "outer": (outer, inner, "the outer edge", "the inner edge"),
        "middle": (middle, edges, "the middle", "the edges"),
        "edges": (edges, middle, "the edges", "the middle"),
    }
    hot, other, hot_name, other_name = names[place]
    return _verdict(hot, other, hot_name, other_name, loss, rule)


def between(more: tuple[Corner, ...], less: tuple[Corner, ...], loss: Worn, rule: WearRule) -> str:
    """Say whether the wear agrees that some corners work harder than others; ``""`` if silent."""
    if not set(more) | set(less) <= set(loss.lost):
        return ""
    first = sum(loss.mean(corner) for corner in more) / len(more)
    second = sum(loss.mean(corner) for corner in less) / len(less)
    return _verdict(first, second, _listed(more), _listed(less), loss, rule)


def _verdict(
    hot: float, other: float, hot_name: str, other_name: str, loss: Worn, rule: WearRule
) -> str:
    if max(hot, other) < least(rule, loss.unit):
        return ""
    unit = "%" if loss.unit == "percent" else "/32 in"
    if hot >= rule.edge * max(other, 0.0):
        return f"wear agrees: {hot_name} lost {hot:.1f}{unit}, {other_name} {other:.1f}"
    if other >= rule.edge * max(hot, 0.0):
        return f"wear contradicts: {other_name} lost {other:.1f}{unit}, {hot_name} only {hot:.1f}"
    return ""


def _listed(corners: tuple[Corner, ...]) -> str:
    return (
        corners[0]
        if len(corners) == 1
        else "the others"
        if len(corners) == 3
        else "/".join(corners)
    )


def fastest(loss: Worn, rule: WearRule) -> tuple[Corner, float] | None:
    """Return the corner that wears clearly faster than the others, and how many times as fast."""
    if set(loss.lost) != set(CORNERS):
        return None
    corner = max(CORNERS, key=loss.mean)
    others = sum(loss.mean(other) for other in CORNERS if other != corner) / 3
    most = loss.mean(corner)
    if most < least(rule, loss.unit) or most < rule.uneven * max(others, 0.0):
        return None
    return corner, most / max(others, least(rule, loss.unit) / 10)
