"""The opened hood of a simulated car."""

from collections.abc import Iterator

from rich.console import RenderableType

from planner.rehearsal.hood import Hood, Knob
from planner.screen import figure_view, paper
from planner.words import rehearsal as words

_LABEL = 18


def show(hood: Hood, window: tuple[float, float]) -> Iterator[RenderableType]:
    """Yield what was wrong, what was found, and what it took.

    Parameters
    ----------
    window : temperatures the tires like [degF].
    """
    yield paper.heading(words.OPEN)
    yield from _knobs(words.WRONG, [knob for knob in hood.knobs if knob.fault is not None])
    yield from _knobs(words.MOVED, [knob for knob in hood.knobs if knob.fault is None])
    yield paper.heading(words.OUT)
    for when, excess in (("this morning", hood.morning), ("now", hood.evening)):
        yield paper.hanging(when, words.out_of_band(excess, hood.book), _LABEL)
    yield paper.heading(words.TOOK)
    yield paper.hanging(
        "this day", words.took(hood.runs, hood.changes, complete=hood.complete), _LABEL
    )
    best = words.took(hood.knowing.runs, len(hood.knowing.made), complete=True)
    yield paper.hanging("all-knowing crew", f"{best}, one stage at a time", _LABEL)
    for made in hood.knowing.made:
        yield paper.indented(words.changes(made), _LABEL + 2)
    yield paper.heading(words.FIGURES)
    yield figure_view.table(hood.figures, hood.book, window, "us")


def _knobs(title: str, knobs: list[Knob]) -> Iterator[RenderableType]:
    if knobs:
        yield paper.heading(title)
    for knob in knobs:
        said = words.knob(
            knob.setting[0],
            good=knob.good,
            begun=knob.begun,
            now=knob.now,
            wrong=knob.fault is not None,
        )
        yield paper.hanging(words.named(knob.setting), said, _LABEL)
