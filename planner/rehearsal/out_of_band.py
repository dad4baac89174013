"""How far figures are out of the bands of the rules, and where the middle of each band is.

The simulated car judges by the rules file alone, so that it shares nothing with how the planner
judges a run.
"""

from planner.rulebook.rules import PatternRule, Rulebook, figure_names
from planner.trade import figures as figure
from planner.trade.corners import CORNERS, Corner
from planner.trade.figures import Figures


def excesses(figures: Figures, book: Rulebook) -> dict[str, float]:
    """Return by how much the figures are out of their bands, by pattern and corner [degF].

    As the rules have it: a pattern that looks at several figures shows when all are beyond.
    """
    out: dict[str, float] = {}
    for rule in book.pattern:
        edge = rule.above if rule.above is not None else rule.below
        if rule.stage is None or edge is None:
            continue
        if rule.alike is not None and abs(figures["front_split_gap"]) > rule.alike:
            continue
        sign = 1.0 if rule.above is not None else -1.0
        for corner in _where(rule, figures):
            beyond = min(sign * (figures[n] - edge) for n in figure_names(rule, corner or ""))
            if beyond > 0:
                out[f"{rule.id}:{corner}" if corner else rule.id] = beyond
    return out


def _where(rule: PatternRule, figures: Figures) -> tuple[Corner | None, ...]:
    """Return the corners a rule looks at; None for the whole car."""
    if rule.each in ("corner", "car"):
        return CORNERS if rule.each == "corner" else (None,)
    averages = figures.averages()
    pick = max if rule.each == "hottest" else min
    return (pick(CORNERS, key=lambda corner: averages[corner]),)


def middles(book: Rulebook) -> dict[str, tuple[float, float]]:
    """Return middle and half width [degF] of every band that is closed on both sides."""
    found: dict[str, tuple[float, float]] = {}
    for rule in book.pattern:
        for name in rule.figures if rule.stage is not None else ():
            names = [f"{name}.{c}" for c in CORNERS] if rule.each == "corner" else [name]
            low, high = book.bands(name)
            if low is None or high is None or rule.each in ("hottest", "coldest"):
                continue
            found |= dict.fromkeys(names, ((low + high) / 2, (high - low) / 2))
    return {name: band for name, band in found.items() if figure.is_figure(name)}
