"""What the report of a day says, ready for its template."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs
from markupsafe import Markup

from planner.export import status_object
from planner.files.file_name import in_command
from planner.judging import across
from planner.judging.across import Level
from planner.plan import on_car
from planner.plan.day import Day
from planner.plan.on_car import OnCar
from planner.plan.steps import AmendStep, ChoiceStep, RunStep, Step
from planner.report import change_rows, charts, findings
from planner.report.charts import Drawn
from planner.review import timeline
from planner.review.timeline import ChangeSeen, RunSeen
from planner.screen import car_view, day_view, heat
from planner.trade import knobs, units
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, STRIPS, Corner, Strip, Three
from planner.trade.knobs import KNOBS
from planner.trade.plain_text import counted
from planner.trade.refusals import Refusal
from planner.words import amendments as amendment_words
from planner.words import at_the_car, offers, story
from planner.words import changes as change_words
from planner.words import due as due_words
from planner.words import left_open as left_words
from planner.words import remarks as remark_words
from planner.words import runs as run_words
from planner.words import timeline as words
from planner.words import tire_sets as set_words
from planner.words.figures import difference, temperature
from planner.words.story import Told


@attrs.frozen
class Cell:
    """One strip of a tire: its name, its temperature, its mark, and the colours for it."""

    strip: Strip
    number: str
    mark: str
    ink: str
    paper: str


@attrs.frozen
class TireSeen:
    """One tire, its strips in the order they lie across the car."""

    corner: Corner
    average: str
    word: str
    cells: tuple[Cell, ...]


@attrs.frozen
class CarSeen:
    """The car from above after a run."""

    caption: str
    tires: Mapping[str, TireSeen]


@attrs.frozen
class SettingCell:
    """A setting in the morning and at the end; None where it is not known."""

    place: str
    before: str | None
    after: str | None
    moved: str


def of_day(day: Day, path: Path, *, story_wanted: bool = False) -> dict[str, Any]:
    """Return what the template of the report takes.

    Parameters
    ----------
    story_wanted : the story is printed as well, and open on the screen.

    Raises
    ------
    Refusal
        Nothing is recorded yet.
    """
    line = timeline.of(day)
    seen = line.runs
    if not seen:
        raise Refusal(
            "nothing-recorded",
            "No run is recorded in this plan yet, so there is nothing to report.",
            where=str(path),
            hint=f"treadgate sheet {in_command(path)} -o sheet.html makes a sheet for the first "
            f"run; treadgate guide {in_command(path)} takes the run in",
        )
    marks = line.made
    plots = _plots(day, seen, marks)
    return {
        "title": f"{day.car.car.name or path.stem}, {seen[0].recorded.time:%d %b %Y}",
        "facts": _facts(day, path.name),
        "runs": len(seen),
        **_stands(day, seen, marks),
        "findings": findings.findings(day, seen, marks),
        "changes": change_rows.rows(marks, day),
        "marks": change_rows.rested_on(marks),
        "corner_settings": _settings(day, corners=True),
        "car_settings": _settings(day, corners=False),
        "limits": CAUTIONS["rules"],
        "cars": _cars(seen, day),
        "footnote": words.footnote(line.corrected),
        "range": _range(day_view.window(day), day.plan.units),
        "across": [(heat.MARKS[level], *_colours(level)) for level in heat.STYLES],
        "noise": _noise(day),
        "plots": plots,
        "missing": _missing(plots),
        "story": _story(day),
        "story_wanted": story_wanted,
    }


def _stands(day: Day, seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]) -> dict[str, Any]:
    """Return the head of the page: what the day came to, what is due, and what was left open."""
    void = sum(run.good is None for run in seen)
    runs = counted(len(seen), "run") + (f" ({void} judging nothing)" if void else "")
    return {
        "summary": ", ".join([runs, *change_rows.summary(marks)]),
        "stands": due_words.says(day),
        "stage": day.stage,
        "complete": left_words.ended(day) if day.stage == "complete" else "",
        "left": list(left_words.says(day)),
        "todo": _todo(day),
        "cautions": _cautions(day),
    }


def _facts(day: Day, name: str) -> list[str]:
    plan = day.plan
    way = "turns both ways" if plan.turns == "both" else f"turns {plan.turns}"
    facts = [name, plan.track, _hours(day), way, f"rules {plan.rules.id}"]
    facts += [f"{plan.laps} laps planned", _amended(day)]
    facts += map(set_words.run_on, day.tires.sets.values()) if day.tires.several else ()
    return [fact for fact in facts if fact]


def _hours(day: Day) -> str:
    """Return when the day was driven, not counting later corrections."""
    times = [step.time for step in day.steps if not isinstance(step, AmendStep)]
    end = f"{times[-1]:%H:%M}"
    if times[-1].date() != times[0].date():
        end = f"{times[-1]:%d %b %Y}, {end}"
    return f"{times[0]:%H:%M} to {end}"


def _amended(day: Day) -> str:
    """Return when entries were corrected, or ``""``."""
    made = [n for n, step in enumerate(day.plan.step, 1) if isinstance(step, AmendStep)]
    when = dict.fromkeys(
        f"on {amendment_words.on_another_day(day.plan.step, n)}"
        if amendment_words.on_another_day(day.plan.step, n)
        else f"at {day.plan.step[n - 1].time:%H:%M}"
        for n in made
    )
    return f"amended {', '.join(when)}" if when else ""


def _todo(day: Day) -> list[str]:
    """Return what is still to be done, for a day that is not complete."""
    if day.pending is not None:
        how = [said for line in day.how(day.pending) for said in at_the_car.how(line)]
        return [*(change_words.in_words(change) for change in day.pending.changes), *how]
    return [f"{each.id}. {offers.title(each)}" for each in day.table().candidates]


def _cars(
    seen: Sequence[RunSeen],
    day: Day,
) -> list[CarSeen]:
    good = [run for run in seen if run.good is not None]
    if not good:
        last = seen[-1]
        why = run_words.void(last.recorded.void)
        caption = f"Run {last.number}, {last.time}; it judges nothing: {why}"
        return [_car(caption, last, day)]
    shown = [good[0]] if len(good) == 1 else [good[0], good[-1]]
    return [
        _car(f"{word} run that judges: run {run.number}, {run.time}", run, day)
        for word, run in zip(("First", "Last"), shown, strict=False)
    ]


def _car(caption: str, run: RunSeen, day: Day) -> CarSeen:
    readings = run.recorded.run.tires
    return CarSeen(caption, {c: tire_seen(c, readings[c], day) for c in CORNERS})


def tire_seen(corner: Corner, tire: Three, day: Day) -> TireSeen:
    """Return a tire as it is drawn."""
    cells = []
    system, levels = day.plan.units, across.levels(tire, day.book)
    for strip in car_view.strips_across(corner):
        value = tire[STRIPS.index(strip)]
        level = levels[STRIPS.index(strip)]
        mark = "" if level is None else heat.MARKS[level]
        cells.append(Cell(strip, car_view.shown(value, system), mark, *_colours(level)))
    average = sum(tire) / 3
    word = heat.word(average, day_view.window(day))
    return TireSeen(corner, temperature(average, system), word, tuple(cells))


def _colours(level: Level | None) -> tuple[str, str]:
    """Return the colour of the letters and that below them."""
    style = "" if level is None else heat.STYLES.get(level, "")
    ink, _, ground = (style or "#111 on #fff").partition(" on ")
    return ink, ground


def _range(window: tuple[float, float], system: units.System) -> str:
    low, high = (car_view.shown(edge, system) for edge in window)
    return f"{low} to {high} {units.degree_mark(system)}"


def _noise(day: Day) -> str:
    if not day.good:
        return ""
    return difference(day.known.priors.noise.reading, day.plan.units, signed=False)


def _plots(day: Day, seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]) -> list[Drawn]:
    beside = (charts.pressures(seen, marks), charts.laps(seen, marks))
    drawn = (*charts.stages(day, seen, marks), *filter(None, beside))
    # Drawn by ourselves, with every text in it escaped.
    return [attrs.evolve(plot, svg=Markup(plot.svg)) for plot in drawn]


def _missing(plots: Sequence[Drawn]) -> list[str]:
    """Return what was not written down, so that its plot is missing."""
    drawn = {plot.heading for plot in plots}
    missing = {"Pressures": "No pressure is known.", "Lap times": "No lap was timed."}
    return [says for heading, says in missing.items() if heading not in drawn]


def _settings(day: Day, *, corners: bool) -> list[tuple[str, str, list[SettingCell]]]:
    """Return the setting sheet as (knob, unit, cells): that of the corners, or of the whole car."""
    setup = on_car.setup(day)
    rows = []
    for knob in KNOBS.values():
        there = [each for each in setup if each.knob == knob.name]
        if (knob.places == CORNERS) != corners or not any(each.is_known for each in there):
            continue
        cells = [_setting(each) for each in there if corners or each.is_known]
        rows.append((knob.name, knob.unit, cells))
    return rows


def _setting(at: OnCar) -> SettingCell:
    was, now = (
        None if each is None else knobs.number(at.knob, each, signed=False)
        for each in (at.begun, at.now)
    )
    moved = knobs.shown(at.knob, at.moved) if now is None and at.moved else ""
    return SettingCell(at.place, was, now, moved)


def _cautions(day: Day) -> list[str]:
    """Return the cautions that matter now; on a finished day mostly none."""
    first = [remark_words.too_hot(each, day.plan.units) for each in day.too_hot]
    said = [f"{each[0].upper()}{each[1:]}." for each in first]
    return list(dict.fromkeys([*said, *status_object.cautions(day)]))


def _story(day: Day) -> list[Told]:
    """Return the story; a caution stands with the first step that it belonged to."""
    said: set[str] = set()
    found = []
    for told, step in zip(story.tell(day), day.steps, strict=True):
        keys = [key for key in _cautions_of(step, day) if key not in said]
        said.update(keys)
        care = tuple(("take care", CAUTIONS[key]) for key in keys)
        found.append(attrs.evolve(told, details=(*told.details, *care)))
    return found


def _cautions_of(step: Step, day: Day) -> Sequence[str]:
    if isinstance(step, ChoiceStep) and step.chosen is not None:
        return ("hot", *step.chosen.cautions)
    if not isinstance(step, RunStep):
        return ()
    if step.void is not None:
        return step.void.cautions
    return ("heat",) if any(p.id in day.book.too_warm for p in step.patterns) else ()
