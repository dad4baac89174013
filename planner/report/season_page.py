"""What the page of a season says, ready for its template: a car over its days."""

from collections.abc import Iterator, Sequence
from typing import Any

import attrs
from markupsafe import Markup

from planner.report import plots
from planner.report.plots import Axis, Line, Point
from planner.review import answers, season
from planner.review.answers import AnswerOverDays, Turned
from planner.review.season import CarSeason, DayOfCar
from planner.rulebook.rules import Rulebook
from planner.trade import knobs, units
from planner.trade.corners import CORNERS, was_read
from planner.trade.plain_text import counted
from planner.trade.units import System, degree_mark, in_plan_unit
from planner.words import changes as change_words
from planner.words import season as words
from planner.words.figures import in_words
from planner.words.run_story import telling_amount

MOST_DAYS = 8  # columns of settings; the latest days of a track
MOST_ANSWERS = 5  # plots of them; those of which most was learned


@attrs.frozen
class Track:
    """Where the settings ended at a track, a column a day."""

    name: str
    dates: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@attrs.frozen
class Drawn:
    """One plot with its heading and what is in it."""

    heading: str
    about: str
    svg: Markup


def of_car(car: CarSeason) -> dict[str, Any]:
    """Return what the template of a season takes."""
    system = car.days[-1].day.plan.units
    turns = car.days[-1].day.plan.turns
    same_way = [day for day in car.days if day.day.plan.turns == turns]
    learned = answers.over_days(same_way)[:MOST_ANSWERS]
    book = car.days[-1].day.book
    return {
        "title": words.named(car),
        "facts": [
            counted(len(car.days), "day"),
            counted(len({day.track for day in car.days}), "track"),
            f"{sum(len(day.runs) for day in car.days)} runs",
            f"{car.days[0].date:%d %b %Y} to {car.days[-1].date:%d %b %Y}",
        ],
        "days": [
            {
                "facts": list(words.facts(day, system)),
                "wrong": words.wrong(day),
                "changed": words.changed(day),
                "ended": words.ended(day),
            }
            for day in car.days
        ],
        "tracks": [_track(of) for of in car.by_track()],
        "answers": [_answer(f"answer{n}", each, book, system) for n, each in enumerate(learned)],
        "first_runs": _first_runs(car.days, system),
        "index": [_turned(row) for row in answers.index(car.days)],
    }


def _track(days: Sequence[DayOfCar]) -> Track:
    shown = days[-MOST_DAYS:]
    rows = []
    for (knob, place), ends in season.turned(shown):
        values = tuple(words.setting(knob, at) for at in ends)
        rows.append((f"{change_words.named((knob, place))}, {knobs.of(knob).unit}", values))
    return Track(
        days[-1].track or "track not named",
        tuple(f"{day.date:%d %b %y}" for day in shown),
        tuple(rows),
    )


def _answer(key: str, each: AnswerOverDays, book: Rulebook, system: System) -> Drawn:
    """Draw an answer as it is expected after more and more days."""
    amount = telling_amount(each.setting, book)

    def size(degrees: float) -> float:
        return units.apart(amount * degrees, system)

    alone = (None, *each.alone)
    points = tuple(
        Point(count, size(known.mean), size(known.sd), None if day is None else size(day.mean))
        for count, (known, day) in enumerate(zip(each.expected, alone, strict=True))
    )
    per = knobs.of(each.setting[0]).unit
    if amount != 1:
        per = knobs.shown(each.setting[0], amount, signed=False)
    heading = f"{change_words.named(each.setting)} on {in_words(each.figure)}"
    unit = f"{degree_mark(system)} per {per}"
    first, last = points[0], points[-1]
    about = (
        f"{unit}: {first.value:+.2g} ± {first.error:.2g} before the first day, "
        f"{last.value:+.2g} ± {last.error:.2g} expected of the next"
    )
    line = Line("", points, plots.STYLES["LF"])
    axis = Axis(len(points) - 1, frozenset(), first=0, called="days")
    svg = plots.figure_plot(key, heading, about, [line], (None, None), axis, "")
    return Drawn(heading, about, Markup(svg))


def _first_runs(days: Sequence[DayOfCar], system: System) -> Drawn | None:
    """Draw the averages of the first runs over the track temperature; None where none is known."""
    lines = [
        Line(corner, tuple(_first_averages(days, corner, system)), plots.STYLES[corner])
        for corner in CORNERS
    ]
    if not any(line.points for line in lines):
        return None
    mark = degree_mark(system)
    about = "tire averages in the first run of each day, whatever its setup"
    said = " ".join(
        f"{line.label}: "
        + ", ".join(f"{at.value:.0f} at {at.run:.0f} {mark}" for at in line.points)
        + "."
        for line in lines
    )
    svg = plots.scatter_plot(
        "first", "First runs by track temperature", said, lines, f"track, {mark}", mark
    )
    return Drawn("First runs by track temperature", about, Markup(svg))


def _first_averages(days: Sequence[DayOfCar], corner: str, system: System) -> Iterator[Point]:
    for day in days:
        track = None if day.first is None else day.first.run.track_temp
        if track is None or day.first is None:
            continue
        at = day.first.figures.base[f"average.{corner}"]
        if was_read(at):
            yield Point(in_plan_unit(track, system), in_plan_unit(at, system))


def _turned(row: Turned) -> tuple[str, str, str]:
    """Return a row of the index: what was turned, how often, what came of it."""
    knob, place = row.setting
    low, high = (knobs.number(knob, size, signed=False) for size in row.sizes)
    sizes = low if low == high else f"{low} to {high}"
    way = knobs.words(knob, place, 1.0 if row.up else -1.0)
    sign = "+" if row.up else "-"
    came = ", ".join(f"{name.replace('-', ' ')} {count}" for name, count in row.came.items())
    return (
        f"{change_words.named(row.setting)} {sign}{sizes} {knobs.of(knob).unit} ({way})",
        str(row.times),
        came,
    )
