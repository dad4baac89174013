"""The opened hood of a simulated car, in words."""

from collections.abc import Iterator, Mapping

from rich.console import RenderableType

from planner.rehearsal.so_far import Hood, Knob
from planner.rulebook.rules import Rulebook
from planner.screen import figure_view, paper
from planner.trade import units
from planner.trade.figures import in_words
from planner.trade.knobs import KNOBS, shown

_LABEL = 18


def show(hood: Hood, book: Rulebook, window: tuple[float, float]) -> Iterator[RenderableType]:
    """Yield what was wrong, what was found, and what it took."""
    yield paper.heading("The hood is open.")
    yield from _knobs("Wrong this morning", [knob for knob in hood.knobs if knob.fault])
    yield from _knobs("Moved beside that", [knob for knob in hood.knobs if not knob.fault])
    yield paper.heading("Truly out of band")
    yield paper.hanging("this morning", _excess(hood.morning, book), _LABEL)
    yield paper.hanging("now", _excess(hood.evening, book), _LABEL)
    yield paper.heading("What it took")
    yield paper.hanging("this day", f"{_count(hood.runs, hood.changes)}{_cut_short(hood)}", _LABEL)
    best = hood.knowing
    yield paper.hanging(
        "all-knowing crew", f"{_count(best.runs, len(best.made))}, one stage at a time", _LABEL
    )
    for made in best.made:
        told = ", ".join(f"{c.corner} {c.knob} {shown(c.knob, c.amount)}" for c in made)
        yield paper.indented(told, _LABEL + 2)
    yield paper.heading("True figures, free of reading noise, if it ran now")
    yield figure_view.table(hood.figures, book, window, "us")


def _knobs(title: str, knobs: list[Knob]) -> Iterator[RenderableType]:
    if not knobs:
        return
    yield paper.heading(title)
    for knob in knobs:
        name, place = knob.setting
        label = f"{place} {name}"
        said = f"off by {_off(knob, knob.begun)}, now by {_off(knob, knob.now)}"
        if not knob.fault:
            said = f"good at {_at(name, knob.good)}, now at {_at(name, knob.now)}"
        elif knob.now == knob.begun:
            said = f"off by {_off(knob, knob.begun)}, not touched"
        yield paper.hanging(label, said, _LABEL)


def _off(knob: Knob, at: float) -> str:
    off = at - knob.good
    return shown(knob.setting[0], off) if abs(off) > 1e-6 else "nothing"


def _at(knob: str, value: float) -> str:
    return f"{value:.{KNOBS[knob].decimals}f} {KNOBS[knob].unit}"


def _excess(out: Mapping[str, float], book: Rulebook) -> str:
    """Say which figures are out of their bands, and by how much, the worst first."""
    if not out:
        return "nothing: every figure is in its band"
    said = []
    for key, excess in sorted(out.items(), key=lambda item: -item[1]):
        band = book.band(key)
        assert band is not None
        figures = " and ".join(map(in_words, band.figures))
        side = "high" if band.rule.sign > 0 else "low"
        said.append(f"{figures} {units.difference(excess, 'us', signed=False)} too {side}")
    return ", ".join(said)


def _count(runs: int, changes: int) -> str:
    return f"{runs} run{'' if runs == 1 else 's'}, {changes} change{'' if changes == 1 else 's'}"


def _cut_short(hood: Hood) -> str:
    return "" if hood.complete else ", and not at its end"
