"""Worn tread as evidence beside the temperatures: hot areas are also the areas that wear.

Source: *Circle Track*, "Race Tire Technology", June 2004. Sizes are in the rules file.
"""

from collections.abc import Iterable, Mapping
from statistics import mean

import attrs

from planner.rulebook.rules import Tread, WearRule
from planner.run.readings import Run, TreadUnit
from planner.trade.corners import CORNERS, Corner, Three

Part = Tread | Corner


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
    earlier : the runs before it on the same tires, oldest first.

    Returns
    -------
    Worn
        For the corners where a depth before is known: given with the run, or the last one
        measured in the same unit. Percent of tread left counts from 100, unless the tires were
        said to be scuffed or heat-cycled: those begin with what was first measured.
    """
    earlier = list(earlier)
    before: dict[Corner, Three] = {}
    from_new = all(each.set_state in (None, "new") for each in (run, *earlier))
    if run.tread_unit == "percent" and from_new:
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


@attrs.frozen
class WearSays:
    """What wear says of a pattern.

    Attributes
    ----------
    agrees : whether what runs hot lost more, too.
    more, less : what lost more and what less: parts of a tire, or corners.
    lost_more, lost_less : how much, in `unit`.
    """

    agrees: bool
    more: tuple[Part, ...]
    less: tuple[Part, ...]
    lost_more: float
    lost_less: float
    unit: TreadUnit


def across_tire(corner: Corner, place: Tread, loss: Worn, rule: WearRule) -> WearSays | None:
    """Return whether the wear of one tire agrees that a part of it runs hot; None if silent.

    Parameters
    ----------
    place : the part that runs hot by the temperatures: inner, outer, middle, or both edges.
    """
    if corner not in loss.lost:
        return None
    inner, middle, outer = loss.lost[corner]
    parts: dict[Tread, float] = {
        "inner": inner,
        "outer": outer,
        "middle": middle,
        "edges": (inner + outer) / 2,
    }
    opposite: dict[Tread, Tread] = {
        "inner": "outer",
        "outer": "inner",
        "middle": "edges",
        "edges": "middle",
    }
    other = opposite[place]
    return _says((place,), (other,), parts[place], parts[other], loss, rule)


def between(
    hot: tuple[Corner, ...], cool: tuple[Corner, ...], loss: Worn, rule: WearRule
) -> WearSays | None:
    """Return whether the wear agrees that some corners work harder than others; None if silent."""
    if not set(hot) | set(cool) <= set(loss.lost):
        return None
    lost_hot, lost_cool = (mean(loss.mean(corner) for corner in each) for each in (hot, cool))
    return _says(hot, cool, lost_hot, lost_cool, loss, rule)


def _says(
    hot: tuple[Part, ...],
    other: tuple[Part, ...],
    lost_hot: float,
    lost_other: float,
    loss: Worn,
    rule: WearRule,
) -> WearSays | None:
    if max(lost_hot, lost_other) < least(rule, loss.unit):
        return None
    if lost_hot >= rule.edge * max(lost_other, 0.0):
        return WearSays(True, hot, other, lost_hot, lost_other, loss.unit)
    if lost_other >= rule.edge * max(lost_hot, 0.0):
        return WearSays(False, other, hot, lost_other, lost_hot, loss.unit)
    return None


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
