"""What wear and the driver say of a pattern; derived from the runs, and kept nowhere."""

from collections.abc import Mapping, Sequence

import attrs

from planner.judging import wear
from planner.judging.patterns import Pattern
from planner.judging.wear import WearSays
from planner.rulebook.rules import PatternRule, Rulebook
from planner.run.readings import Feel, Part, Run
from planner.trade import figures as figure
from planner.trade.corners import CORNERS, Corner, Turns


@attrs.frozen
class DriverSays:
    """What the driver felt, part by part, and whether one of his words is what the tires show."""

    agrees: bool
    felt: Mapping[Part, Feel]


Evidence = WearSays | DriverSays


def evidence(
    pattern: Pattern, run: Run, earlier: Sequence[Run], book: Rulebook, turns: Turns
) -> tuple[Evidence, ...]:
    """Return what stands beside a pattern.

    Parameters
    ----------
    run : the run that shows it.
    earlier : good runs before that one, for the tread they left.
    """
    rule = next((rule for rule in book.pattern if rule.id == pattern.id), None)
    if rule is None:  # the rules no longer have it
        return ()
    loss, corner = wear.worn(run, earlier), pattern.corner
    found: list[Evidence | None] = []
    if rule.tread is not None and corner is not None:
        found.append(wear.across_tire(corner, rule.tread, loss, book.wear))
    if rule.wears is not None and corner is not None:
        others = tuple(other for other in CORNERS if other != corner)
        hot, cool = ((corner,), others) if rule.wears == "more" else (others, (corner,))
        found.append(wear.between(hot, cool, loss, book.wear))
    if rule.feel is not None:
        found.append(wear.between(*_hot_and_cool(rule, turns), loss, book.wear))
        if run.felt:
            found.append(DriverSays(rule.feel in run.felt.values(), run.felt))
    return tuple(each for each in found if each is not None)


def _hot_and_cool(rule: PatternRule, turns: Turns) -> tuple[tuple[Corner, ...], tuple[Corner, ...]]:
    """Return the corners a balance figure holds against each other, the hotter side first."""
    sides = figure.terms(rule.figures[0], turns)
    plus = tuple(c for c in CORNERS if sides.get(f"average.{c}", 0) > 0)
    minus = tuple(c for c in CORNERS if sides.get(f"average.{c}", 0) < 0)
    return (plus, minus) if rule.above is not None else (minus, plus)
