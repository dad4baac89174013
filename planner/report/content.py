"""What the report of a day says, ready for its template."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import attrs
from markupsafe import Markup

from planner.advice.past import Past
from planner.car.changes import Change
from planner.export import status_object
from planner.files.file_name import in_command
from planner.judging import across
from planner.judging.across import Level
from planner.judging.outcomes import Verdict
from planner.plan import on_car
from planner.plan.day import Day
from planner.plan.on_car import OnCar
from planner.plan.steps import AmendStep, ChoiceStep, RunStep
from planner.report import charts
from planner.report.charts import Drawn
from planner.review import timeline
from planner.review.timeline import ChangeSeen, RunSeen
from planner.screen import car_view, day_view, heat
from planner.trade import knobs, units
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, STRIPS, Corner, Strip, Three
from planner.trade.knobs import KNOBS
from planner.trade.refusals import Refusal
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import day_table, offers, story
from planner.words import due as due_words
from planner.words import figures as figure_words
from planner.words import left_open as left_words
from planner.words import patterns as pattern_words
from planner.words import remarks as remark_words
from planner.words import runs as run_words
from planner.words import timeline as words
from planner.words.day_table import Answer
from planner.words.figures import difference, in_words, temperature
from planner.words.outcomes import in_short

_NOT_JUDGED, _NOT_MADE = "not judged yet", "not made"
_SIGNS: dict[Verdict, str] = {"better": "+", "no-change": "=", "worse": "-", "unclear": "?"}


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
class ChangeRow:
    """A change as the table beside the plots has it."""

    letter: str
    when: str
    made: tuple[str, ...]
    because: tuple[str, ...]
    reason: str
    sign: str
    verdict: str
    figures: tuple[str, ...]
    marked: bool


@attrs.frozen
class SettingCell:
    """A setting in the morning and at the end; None where it is not known."""

    place: str
    before: str | None
    after: str | None
    moved: str


def of_day(day: Day, path: Path) -> dict[str, Any]:
    """Return what the template of the report takes.

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
    plan = day.plan
    window = day_view.window(day)
    good = [run for run in seen if run.good is not None]
    return {
        "title": f"{day.car.car.name or path.stem}, {seen[0].recorded.time:%d %b %Y}",
        "facts": _facts(day, path.name),
        "runs": len(seen),
        "summary": _summary(seen, marks),
        "stands": due_words.says(day),
        "stage": day.stage,
        "complete": left_words.ended(day) if day.stage == "complete" else "",
        "left": list(left_words.says(day)),
        "todo": _todo(day),
        "cars": _cars(seen, good, day),
        "footnote": words.footnote(line.corrected),
        "range": _range(window, plan.units),
        "across": [(heat.MARKS[level], *_colours(level)) for level in heat.STYLES],
        "changes": [_change(mark, marks, day) for mark in marks],
        "marks": _rested_on(marks),
        "noise": _noise(day),
        "plots": [_marked(plot) for plot in charts.stages(day, seen, marks)],
        "beside": [
            _marked(p) for p in (charts.pressures(seen, marks), charts.laps(seen, marks)) if p
        ],
        "missing": _missing(seen),
        "corner_settings": _settings(day, corners=True),
        "car_settings": _settings(day, corners=False),
        "story": story.tell(day),
        "cautions": _cautions(day),
    }


def _facts(day: Day, name: str) -> list[str]:
    plan = day.plan
    way = "turns both ways" if plan.turns == "both" else f"turns {plan.turns}"
    facts = [name, plan.track, _hours(day), way, f"rules {plan.rules.id}"]
    facts += [f"{plan.laps} laps planned", _amended(day)]
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


def _summary(seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]) -> str:
    void = sum(run.good is None for run in seen)
    said = [_counted(len(seen), "run") + (f" ({void} judging nothing)" if void else "")]
    made = [past for mark in marks if (past := mark.made()).is_made]
    said.append(_counted(len(made), "change"))
    verdicts = ["put back" if past.is_undone else _verdict(past) for past in made]
    verdicts += [_NOT_MADE] * (len(marks) - len(made))
    for verdict in (*map(in_short, _SIGNS), "put back", _NOT_JUDGED, _NOT_MADE):
        count = verdicts.count(verdict)
        if count:
            said.append(f"{count} {verdict}")
    return ", ".join(said)


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _todo(day: Day) -> list[str]:
    """Return what is still to be done, for a day that is not complete."""
    if day.pending is not None:
        how = [said for line in day.how(day.pending) for said in offers.how(line)]
        return [*(change_words.in_words(change) for change in day.pending.changes), *how]
    return [f"{each.id}. {offers.title(each)}" for each in day.table().candidates]


def _cars(
    seen: Sequence[RunSeen],
    good: Sequence[RunSeen],
    day: Day,
) -> list[CarSeen]:
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


def _change(mark: ChangeSeen, marks: Sequence[ChangeSeen], day: Day) -> ChangeRow:
    past = mark.made()
    outcome = past.outcome
    made = [_part(change, past) for change in past.made if change.amount]
    made += [
        f"{change_words.named(change.setting)} not made (chosen "
        f"{knobs.shown(change.knob, change.amount)})"
        for change in past.left_out
    ]
    return ChangeRow(
        letter=mark.letter,
        when=f"{mark.time}, after run {mark.after_run}",
        made=tuple(made) or ("nothing was changed",),
        because=tuple(_because(mark, marks, day)),
        reason=mark.chosen.reason,
        sign="" if outcome is None else _SIGNS["no-change" if past.is_undone else outcome.verdict],
        verdict=change_words.verdicts(past, day.book) or _verdict(past),
        figures=tuple(_figures(day_table.answers(past, day), day.plan.units)),
        marked=bool(mark.rested),
    )


def _rested_on(marks: Sequence[ChangeSeen]) -> list[str]:
    """Return what changes rested on that was corrected since, once for all of them."""
    letters: dict[str, list[str]] = {}
    for mark in marks:
        for each in mark.rested:
            letters.setdefault(amendment_words.rested(each), []).append(mark.letter)
    return [f"{', '.join(carry)} {says}" for says, carry in letters.items()]


def _verdict(past: Past) -> str:
    return change_words.verdict(past) or (_NOT_JUDGED if past.is_made else _NOT_MADE)


def _part(change: Change, past: Past) -> str:
    otherwise = change_words.otherwise(past, change)
    trim = ", riding trim" if change.trim else ""
    return f"{change_words.in_words(change)}{trim}{f', {otherwise}' if otherwise else ''}"


def _because(mark: ChangeSeen, marks: Sequence[ChangeSeen], day: Day) -> Iterator[str]:
    """Say what a change was made for; the story has the rest of the reason."""
    candidate = mark.made().candidate
    undone = next((each for each in marks if each.made().step == candidate.puts_back), None)
    if undone is not None:
        yield f"{undone.letter} made it worse"
    else:
        shown = story.shown_for(mark.choice, day)
        yield from (pattern_words.says(each, day.book, day.plan.units) for each in shown)
    aims = candidate.trim_aims(day.book)
    for change in candidate.changes:
        if change.setting in aims:
            names = ", ".join(map(in_words, aims[change.setting].figures))
            yield f"riding along for {names}: {offers.WHY_A_TRIM}"


def _figures(answers: Iterable[Answer], system: units.System) -> Iterator[str]:
    """Say what every aimed-at figure came to and what was expected, as far as known."""

    for each in answers:
        name = in_words(each.figure)
        number, value = (
            partial(write, each.figure, system=system)
            for write in (figure_words.number, figure_words.value)
        )
        if each.before is None or each.came is None:
            if each.expected is not None:
                yield f"{name} expected {value(each.expected)}"
            continue
        expected = "" if each.expected is None else f", expected {number(each.expected)}"
        yield f"{name} {number(each.before)} → {value(each.came)}{expected}"


def _noise(day: Day) -> str:
    if not day.good:
        return ""
    return difference(day.known.priors.noise.reading, day.plan.units, signed=False)


def _marked(plot: Drawn) -> Drawn:
    # Drawn by ourselves, with every text in it escaped.
    return attrs.evolve(plot, svg=Markup(plot.svg))


def _missing(seen: Sequence[RunSeen]) -> list[str]:
    """Return what was not written down, so that its plot is missing."""
    found = []
    if not any(run.recorded.run.lap_times for run in seen if run.good is not None):
        found.append("No lap was timed.")
    return found


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
    places = KNOBS[at.knob].decimals
    was, now = (None if each is None else f"{each:.{places}f}" for each in (at.begun, at.now))
    moved = knobs.shown(at.knob, at.moved) if now is None and at.moved else ""
    return SettingCell(at.place, was, now, moved)


def _cautions(day: Day) -> list[str]:
    """Return every caution that mattered in the course of the day, and those that matter now."""
    keys = ["rules", "hot"]
    for step in day.steps:
        if isinstance(step, ChoiceStep) and step.chosen is not None:
            keys += step.chosen.cautions
        elif isinstance(step, RunStep):
            keys += () if step.void is None else step.void.cautions
            keys += ["heat"] if any(p.id in day.book.too_warm for p in step.patterns) else []
    first = [remark_words.too_hot(each, day.plan.units) for each in day.too_hot]
    said = [f"{each[0].upper()}{each[1:]}." for each in first]
    said += [CAUTIONS[key] for key in CAUTIONS if key in keys]
    return list(dict.fromkeys([*said, *status_object.cautions(day)]))
