"""Two runs side by side, on the terminal."""

from collections.abc import Iterator

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from planner.review.timeline import RunSeen
from planner.review.two_runs import Against, FigureAgainst, Parted
from planner.screen import car_view, paper
from planner.trade import units
from planner.trade.units import System
from planner.words import figures as figure_words
from planner.words import runs as run_words
from planner.words import timeline as words
from planner.words.figures import difference, in_words, temperature

DIFFERS = "*"


def show(compared: Against, system: System, console: Console | None = None) -> None:
    """Print readings, figures, settings, conditions and lap times of both runs."""
    paper.put(console or paper.console(), _parts(compared, system))


def _parts(compared: Against, system: System) -> Iterator[RenderableType]:
    one, other = compared.one, compared.other
    yield paper.line(f"{_name(one)} against {_name(other)}", "bold")
    for run in (one, other):
        if run.recorded.void:
            yield paper.indented(
                f"Run {run.number} judges nothing: {run_words.void(run.recorded.void)}", 2
            )
    yield paper.heading(f"Readings, {units.degree_mark(system)}")
    yield _readings(compared, system)
    yield paper.heading("Figures")
    yield _figures(compared, system)
    yield paper.indented("± is one standard error of the difference", 2)
    yield paper.indented(
        f"{DIFFERS} differs: reading scatter alone does that less than 1 in 20 times", 2
    )
    if compared.corrected:
        yield paper.indented(words.footnote(compared.corrected), 2)
    yield paper.heading("Settings that differ")
    yield from _settings(compared.settings, system) if compared.settings else _none()
    yield paper.heading("Conditions")
    yield from _listed(compared.conditions, system) if compared.conditions else _none()
    if compared.laps is not None:
        laps = compared.laps
        yield paper.heading("Lap times")
        error = "" if laps.error is None else f" ± {laps.error:.2f}"
        text = f"mean lap {laps.difference:+.2f}{error} s: {laps.verdict} (Welch, p {laps.p:.2f})"
        yield paper.indented(text, 2)


def _name(run: RunSeen) -> str:
    return f"Run {run.number} (step {run.step}, {run.recorded.time:%H:%M})"


def _none() -> Iterator[RenderableType]:
    yield paper.indented("None recorded.", 2)


def _grid(heads: tuple[str, ...]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column()
    for _ in heads[1:]:
        table.add_column(justify="right")
    table.add_row(*(Text(head, style="dim") for head in heads))
    return table


def _readings(compared: Against, system: System) -> RenderableType:
    table = _grid(("", f"run {compared.one.number}", f"run {compared.other.number}"))
    for corner, one, other in compared.readings():
        shown = ("/".join(car_view.shown(value, system) for value in tire) for tire in (one, other))
        table.add_row(corner, *shown)
    return paper.padded(table)


def _figures(compared: Against, system: System) -> RenderableType:
    heads = ("", f"run {compared.one.number}", f"run {compared.other.number}", "difference", "", "")
    table = _grid(heads)
    for each in compared.figures:
        table.add_row(*_figure(each, system))
    return paper.padded(table)


def _figure(each: FigureAgainst, system: System) -> Iterator[str]:
    yield in_words(each.figure)
    yield figure_words.value(each.figure, each.one, system)
    yield figure_words.value(each.figure, each.other, system)
    yield difference(each.difference, system)
    yield f"± {difference(each.error, system, signed=False)}"
    yield DIFFERS if each.differs else ""


def _settings(parts: tuple[Parted, ...], system: System) -> Iterator[RenderableType]:
    for part in parts:
        if isinstance(part.other, str):  # not known in itself, only how far it was moved
            text = f"not known, moved {part.other} {part.unit}"
            yield paper.hanging(part.name, text, 26)
        else:
            yield from _listed((part,), system)


def _listed(parts: tuple[Parted, ...], system: System) -> Iterator[RenderableType]:
    for part in parts:
        text = f"{_value(part.one, part.unit, system)} → {_value(part.other, part.unit, system)}"
        yield paper.hanging(part.name, text, 26)


def _value(value: float | str | None, unit: str, system: System) -> str:
    if value is None:
        return "not known" if unit else "none"
    if unit == "degF" and not isinstance(value, str):
        return temperature(value, system)
    shown = value if isinstance(value, str) else f"{value:g}"
    return f"{shown} {unit}".rstrip()
