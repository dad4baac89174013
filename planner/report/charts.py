"""What is drawn of a day: the figures of every stage, pressures, lap times, each with its words."""

from collections.abc import Sequence
from math import sqrt

import attrs

from planner.plan.day import Day
from planner.report import panels, plots
from planner.report.panels import Panel
from planner.report.plots import Axis, Line, Point, Sign
from planner.review.timeline import ChangeSeen, RunSeen
from planner.rulebook.rules import Rulebook
from planner.run import lap_times
from planner.trade import units
from planner.trade.corners import CORNERS
from planner.words import changes as change_words
from planner.words import figures as figure_words
from planner.words import runs as run_words
from planner.words.figures import difference, in_words

_MEANS = {
    "average": "mean of the three readings",
    "split": "inner edge minus outer edge",
    "crown": "middle minus the tire's average",
    "versus_others": "a tire's average minus the mean of the other three",
    "front_split": "mean of the two front splits",
    "front_split_gap": "LF split minus RF split",
    "cross_vs_front": "diagonal minus front",
    "cross_vs_right": "diagonal minus loaded side",
    "balance": "loaded front tire minus loaded rear tire",
    "front_vs_rear": "front minus rear",
    "left_vs_right": "left minus right",
    "diagonal": "mean of the loaded front and the other rear tire",
}
_LEVELS = ("average", "front", "rear", "left", "right", "diagonal")


@attrs.frozen
class Drawn:
    """One plot: the stage it belongs to, its heading, what is in it, and the SVG."""

    stage: str
    heading: str
    about: str
    svg: str


def stages(day: Day, seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]) -> tuple[Drawn, ...]:
    """Return one plot for every panel of the rules; none before a run judges the setup."""
    good = [run for run in seen if run.good is not None]
    if not good:
        return ()
    return tuple(
        _stage(number, panel, day, seen, marks)
        for number, panel in enumerate(panels.panels(day.book), start=1)
    )


def _stage(
    number: int, panel: Panel, day: Day, seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]
) -> Drawn:
    system = day.plan.units
    band = (_edge(panel, 0, system), _edge(panel, 1, system))
    lines = [
        Line(_label(name), _points(name, seen, system), plots.style_of(name, position))
        for position, name in enumerate(panel.names)
    ]
    kinds = ", ".join(in_words(kind) for kind in panel.kinds)
    heading = kinds if kinds == panel.stage else f"{panel.stage}: {kinds}"
    about = "; ".join(_MEANS.get(kind, in_words(kind)) for kind in panel.kinds)
    own = {mark.letter for mark in marks if _made_for(mark, panel, day.book)}
    said_band = figure_words.band(panel.kinds[0], panel.band, system)
    said_band = f"{said_band} {units.degree_mark(system)}" if said_band else "open"
    says = " ".join(
        [
            f"{about}. Band: {said_band}.",
            *(_line_in_words(name, seen, system) for name in panel.names),
            *_signs_in_words(marks),
        ]
    )
    mark = units.degree_mark(system)
    svg = plots.figure_plot(
        f"stage{number}",
        f"{heading}, {mark}, run by run",
        says,
        lines,
        band,
        _axis(seen, marks, own),
        mark,
    )
    return Drawn(panel.stage, heading, f"{about}; band {said_band}", svg)


def _label(name: str) -> str:
    corner = name.partition(".")[2]
    return corner or in_words(name)


def _points(name: str, seen: Sequence[RunSeen], system: units.System) -> tuple[Point, ...]:
    points = []
    for run in seen:
        if run.good is None:
            continue
        at = run.by_all_runs(name)
        points.append(
            Point(
                run.number,
                _in_unit(name, at.mean, system),
                units.apart(at.sd, system),
                _in_unit(name, run.figures[name], system) if run.figures.is_known(name) else None,
            )
        )
    return tuple(points)


def _made_for(mark: ChangeSeen, panel: Panel, book: Rulebook) -> bool:
    """Say whether a change was made for the figures of a panel."""
    aimed = set(mark.made().candidate.aimed(book))
    rules = {rule.id for rule in book.pattern if set(rule.figures) & set(panel.kinds)}
    return bool(aimed & set(panel.names)) or (
        mark.chosen.stage == panel.stage and mark.made().candidate.pattern in rules
    )


def _axis(seen: Sequence[RunSeen], marks: Sequence[ChangeSeen], own: set[str]) -> Axis:
    void = frozenset(run.number for run in seen if run.good is None)
    signs = tuple(Sign(mark.letter, mark.after_run, mark.letter in own) for mark in marks)
    return Axis(len(seen), void, signs)


def _edge(panel: Panel, which: int, system: units.System) -> float | None:
    edge = panel.band[which]
    return None if edge is None else _in_unit(panel.kinds[0], edge, system)


def _in_unit(name: str, degrees: float, system: units.System) -> float:
    if name.partition(".")[0] in _LEVELS:
        return units.in_plan_unit(degrees, system)
    return units.apart(degrees, system)


def _line_in_words(name: str, seen: Sequence[RunSeen], system: units.System) -> str:
    at = []
    for run in seen:
        if run.good is not None:
            estimate = run.by_all_runs(name)
            spread = difference(estimate.sd, system, signed=False)
            value = figure_words.value(name, estimate.mean, system)
            at.append(f"run {run.number} {value} give or take {spread}")
    return f"{in_words(name)}: {', '.join(at)}."


def _signs_in_words(marks: Sequence[ChangeSeen]) -> list[str]:
    return [
        f"Change {mark.letter} after run {mark.after_run}: "
        + (change_words.listed(mark.made().made) or "nothing")
        + "."
        for mark in marks
    ]


def pressures(seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]) -> Drawn | None:
    """Return cold and hot pressures over the day; None where none is known."""
    cold, hot = [], []
    said = []
    for position, corner in enumerate(CORNERS):
        style = plots.style_of(corner, position)
        set_to = tuple(
            Point(run.number, run.settings["pressure", corner])
            for run in seen
            if ("pressure", corner) in run.settings
        )
        read = tuple(
            Point(run.number, run.recorded.run.hot[corner])
            for run in seen
            if corner in run.recorded.run.hot
        )
        if set_to:
            cold.append(Line(corner, set_to, style))
            said.append(f"{corner} cold: {_psi_in_words(set_to)}.")
        if read:
            hot.append(Line(corner if not set_to else "", read, style))
            said.append(f"{corner} hot: {_psi_in_words(read)}.")
    if not cold and not hot:
        return None
    own = {m.letter for m in marks if any(c.knob == "pressure" for c in m.made().made if c.amount)}
    about = "cold as set, joined by lines"
    if hot:
        about += "; hot as read after the run, single marks above"
    svg = plots.pressure_plot(
        "pressures",
        "Tire pressures, psi, run by run",
        " ".join([*said, *_signs_in_words(marks)]),
        cold,
        hot,
        _axis(seen, marks, own),
    )
    return Drawn("", "Pressures", about, svg)


def _psi_in_words(points: Sequence[Point]) -> str:
    return ", ".join(f"run {point.run} {point.value:.1f} psi" for point in points)


def laps(seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]) -> Drawn | None:
    """Return mean lap and fall-off over the day; None where no lap was timed."""
    mean, falloff, said = [], [], []
    for run in seen:
        if run.good is None or not run.good.run.lap_times:
            continue
        times = run.good.run.lap_times
        summary = lap_times.summary(times)
        error = None if summary.sd is None else summary.sd / sqrt(len(summary.counted))
        mean.append(Point(run.number, summary.mean, error))
        if summary.falloff is not None:
            falloff.append(Point(run.number, summary.falloff, summary.falloff_error))
        said.append(f"Run {run.number}: {run_words.laps(times)}.")
    if not mean:
        return None
    style = plots.STYLES["LF"]
    svg = plots.lap_plot(
        "laps",
        "Mean lap and fall-off, run by run",
        " ".join([*said, *_signs_in_words(marks)]),
        Line("mean lap", tuple(mean), style),
        Line("fall-off", tuple(falloff), style),
        _axis(seen, marks, set()),
    )
    about = "above the mean of the counted laps, below how much slower each is than the last"
    return Drawn("", "Lap times", about, svg)
