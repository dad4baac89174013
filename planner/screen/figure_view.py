"""The figures of a run beside their bands."""

from collections.abc import Iterator

from rich.console import Group
from rich.table import Table
from rich.text import Text

from planner.rulebook.rules import Rulebook, is_out
from planner.screen import car_view
from planner.trade import units
from planner.trade.corners import CORNERS
from planner.trade.figures import PER_CORNER, Figures, half_difference
from planner.words import figures as figure_words
from planner.words.figures import in_words

_LABEL = 14
_VALUE = 7
_OVERALL = ("front", "rear", "left", "right", "diagonal")

OUTSIDE = "*"

Band = tuple[float | None, float | None]


def table(
    figures: Figures,
    book: Rulebook,
    window: tuple[float, float],
    system: units.System,
    *,
    brief: bool = False,
) -> Group:
    """Return the figures the rules look at, with a mark on each that is outside its band.

    Parameters
    ----------
    brief : without the averages, which stand in the picture beside it, and without footnotes.
    """
    named = list(
        dict.fromkeys(
            name for rule in book.pattern for kind in rule.figures for name in _with_parts(kind)
        )
    )
    heads = "".join(f"{corner:>{_VALUE - 1}} " for corner in CORNERS)
    rows = [Text(f"{'':{_LABEL}}{heads} band, {units.degree_mark(system)}", style="dim")]
    for kind in PER_CORNER:
        if kind not in named or (brief and kind == "average"):
            continue
        band: Band = window if kind == "average" else book.edges(kind)
        cells = [_cell(f"{kind}.{corner}", figures, band, system) for corner in CORNERS]
        rows.append(_row(kind, cells, figure_words.band(kind, band, system)))
    for name in (name for name in named if name not in PER_CORNER):
        band = book.edges(name)
        cell = _cell(name, figures, band, system)
        beside = "  ".join(
            filter(None, (figure_words.band(name, band, system), _tires(name, figures, system)))
        )
        rows.append(_row(name, [cell], beside))
    rows += () if brief else _beneath(figures, book, system, any(OUTSIDE in r.plain for r in rows))
    for row in rows:
        row.rstrip()
    return Group(*rows)


def beside(car: Group, figures: Group) -> Table:
    """Return the figures to the right of the picture of the car."""
    found = Table.grid(padding=(0, 2, 0, 0), pad_edge=False)
    found.add_column(width=car_view.WIDTH, no_wrap=True)
    found.add_column()
    found.add_row(car, figures)
    return found


def _beneath(
    figures: Figures, book: Rulebook, system: units.System, is_marked: bool
) -> Iterator[Text]:
    """Yield the averages of axles and sides, and what the marks mean."""
    yield Text(
        "  ".join(f"{name} {figure_words.number(name, figures[name], system)}" for name in _OVERALL)
    )
    if is_marked:
        yield Text(f"{OUTSIDE} outside its band in this run", style="dim")
    yield from (Text(f"  {said}", style="dim") for said in _not_alone(figures, book))


def _with_parts(name: str) -> tuple[str, ...]:
    """Return a figure after those it is made of, where the trade reads those."""
    return ("cross_vs_front", "cross_vs_right", name) if name == "cross_vs_both" else (name,)


def _tires(name: str, figures: Figures, system: units.System) -> str:
    """Say which two tires a figure of the diagonal compares, and how far apart they are."""
    pair = half_difference(name, figures.turns)
    if pair is None:
        return ""
    return f"{pair[0]} against {pair[1]} {figure_words.number(name, 2 * figures[name], system)}"


def _not_alone(figures: Figures, book: Rulebook) -> Iterator[str]:
    """Say which figures hold a stage only together, where not all of them are out of band."""
    holding = [rule for rule in book.pattern if rule.stage is not None and rule.each == "car"]
    for names in dict.fromkeys(rule.figures for rule in holding):
        out = [is_out(figures[name], book.edges(name)) for name in names]
        if any(out) and not all(out):
            yield f"{' and '.join(map(in_words, names))}: one of them in band is enough"


def _row(name: str, cells: list[Text], band: str) -> Text:
    gap = " " if len(cells) > 1 else "  "
    return Text.assemble(f"{in_words(name):{_LABEL}}", *cells, gap, (band, "dim"))


def _cell(name: str, figures: Figures, band: Band, system: units.System) -> Text:
    degrees = figures[name]
    out = is_out(degrees, band)
    shown = figure_words.beside_band(name, round(degrees, 9), band, system)
    cell = f"{shown:>{_VALUE - 1}}{OUTSIDE if out else ' '}"
    return Text(cell, style="bold" if out else "")
