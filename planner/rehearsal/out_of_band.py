"""How far figures are out of the bands of the rules, and where the middle of each band is.

The simulated car judges by the rules file alone, so that it shares nothing with how the planner
judges a run.
"""

from planner.rulebook.rules import Rulebook
from planner.trade import figures as figure
from planner.trade.corners import CORNERS
from planner.trade.figures import Figures


def excesses(figures: Figures, book: Rulebook) -> dict[str, float]:
    """Return by how much the figures are out of their bands, by pattern and corner [degF].

    As the rules have it: a pattern that looks at several figures shows when all are beyond.
    """
    averages, gap = figures.averages(), figures["front_split_gap"]
    out: dict[str, float] = {}
    for band in book.stage_bands:
        if band.is_looked_at(averages) and band.is_alike(gap):
            beyond = min(band.beyond(figures[name]) for name in band.figures)
            if beyond > 0:
                out[band.key] = beyond
    return out


def middles(book: Rulebook) -> dict[str, tuple[float, float]]:
    """Return middle and half width [degF] of every band that is closed on both sides."""
    found: dict[str, tuple[float, float]] = {}
    for rule in book.pattern:
        for name in rule.figures if rule.stage is not None else ():
            names = [f"{name}.{c}" for c in CORNERS] if rule.each == "corner" else [name]
            low, high = book.edges(name)
            if low is None or high is None or rule.each in ("hottest", "coldest"):
                continue
            found |= dict.fromkeys(names, ((low + high) / 2, (high - low) / 2))
    return {name: band for name, band in found.items() if figure.is_figure(name)}


def off_middle(figures: Figures, book: Rulebook) -> dict[str, float]:
    """Return how far figures are from the middle of their bands, in half widths.

    Of the figures that a pattern shows in together, as both of cross, only the nearest counts:
    one in band is enough.
    """
    off = {n: (figures[n] - mid) / half for n, (mid, half) in middles(book).items()}
    for rule in book.pattern:
        together = [name for name in rule.figures if name in off]
        if rule.stage is not None and len(together) > 1:
            nearest = min(together, key=lambda name: abs(off[name]))
            off = {n: each for n, each in off.items() if n == nearest or n not in together}
    return off
