"""How the figures went over the day: one strip a figure, the band in brackets, a mark a run."""

from collections.abc import Iterator
from string import ascii_lowercase, digits

from rich.console import RenderableType
from rich.text import Text

from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.rulebook.rules import is_out
from planner.screen import paper
from planner.words import figures as figure_words
from planner.words.figures import in_words

_MARKS = digits + ascii_lowercase
_MOST = 8  # strips; more would push what is due off the screen
_LABEL = 17
_EDGE = 7


def strips(day: Day, width: int) -> Iterator[RenderableType]:
    """Yield a strip for every figure that was out of its band in some run.

    The strip runs from the lowest to the highest reading or edge of the band. A run is its number,
    from the tenth on a letter, runs that judge nothing counted too; where two runs read the same,
    the later one is shown.
    """
    if len(day.good) < 2:
        return
    names = [name for name in _holding(day) if _was_out(name, day)]
    if not names:
        return
    runs = [n for n, step in enumerate(day.plan.step, 1) if isinstance(step, RunStep)]
    many = f", {_MARKS[10]} is run 10" if len(runs) >= len(digits) else ""
    yield paper.heading(f"How it went: each digit is a run{many}, [ ] is the band")
    for name in names[:_MOST]:
        yield paper.padded(_strip(name, day, min(width, 100)))
    if len(names) > _MOST:
        yield paper.indented(f"and {len(names) - _MOST} more: treadgate export has them all", 2)


def _holding(day: Day) -> list[str]:
    return [
        name
        for stage in dict.fromkeys(rule.stage for rule in day.book.pattern if rule.stage)
        for name in day.book.figures_of((stage,))
    ]


def _was_out(name: str, day: Day) -> bool:
    band = day.book.edges(name)
    return any(is_out(good.figures[name], band) for good in day.good)


def _strip(name: str, day: Day, width: int) -> Text:
    low, high = day.book.edges(name)
    read = [good for good in day.good if good.figures.is_known(name)]
    values = [good.figures[name] for good in read]
    ends = [*values, *(edge for edge in (low, high) if edge is not None)]
    left, right = min(ends), max(ends)
    cells = max(20, width - _LABEL - 2 * _EDGE - 8)

    def at(value: float) -> int:
        return round((value - left) / ((right - left) or 1.0) * (cells - 1))

    marks = ["."] * cells
    for edge, mark in ((low, "["), (high, "]")):
        if edge is not None:
            marks[at(edge)] = mark
    steps = [n for n, step in enumerate(day.plan.step, 1) if isinstance(step, RunStep)]
    for good, value in zip(read, values, strict=True):
        marks[at(value)] = _MARKS[(steps.index(good.step) + 1) % len(_MARKS)]
    first, last = (figure_words.number(name, end, day.plan.units) for end in (left, right))
    label = in_words(name)
    return Text(f"{label:{_LABEL}}{first:>{_EDGE}} {''.join(marks)} {last}")
