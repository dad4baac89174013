"""Where the day stands, in words."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from rich.console import Console, RenderableType
from rich.text import Text

from planner.car.known import known
from planner.export import status_object
from planner.files.file_name import in_command
from planner.judging.heat import TooHot
from planner.plan import budget, drift
from planner.plan import way as ways
from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.rulebook.rules import TUNING_ORDER
from planner.screen import car_view, figure_view, offer_view, paper, pattern_view, trend_view
from planner.storage.plans import Opened
from planner.words import amendments as amendment_words
from planner.words import budget as budget_words
from planner.words import car as car_words
from planner.words import drift as drift_words
from planner.words import due as due_words
from planner.words import left_open as left_words
from planner.words import remarks as remark_words
from planner.words import runs as run_words
from planner.words import season as season_words
from planner.words import tire_sets as set_words
from planner.words import way as way_words


def show(
    opened: Opened, console: Console | None = None, first: Iterable[RenderableType] = ()
) -> None:
    """Print everything about where a plan stands, ending with what is due and what to type for it.

    Parameters
    ----------
    first : what a command has done, below which day this is.
    """
    out = console or paper.console()
    paper.put(out, [*everything(opened, out.width, first), *due(opened.day, opened.path)])


def everything(
    opened: Opened, width: int, first: Iterable[RenderableType] = ()
) -> list[RenderableType]:
    """Return all there is to show of a day but what is due."""
    day = opened.day
    return [
        *head(day, opened.path),
        *come_in(day),
        *way(day),
        *resumed(opened),
        *of_the_car(day),
        *first,
        *pattern_view.outcome(day),
        *last_run(day, width),
        *(pattern_view.patterns(day) if counts(day) else ()),
        *trend_view.strips(day, width),
        *left_as_is(day),
        *amended(day),
        *pending(day),
        *offer_view.table(day),
        *cautions(day),
        *outlook(day),
    ]


def head(day: Day, path: Path) -> Iterator[RenderableType]:
    """Yield which day this is, and how far it has come in the tuning order."""
    plan = day.plan
    facts = [str(path), day.car.car.name, plan.track, f"turns {plan.turns}", f"{plan.laps} laps"]
    if plan.turns == "both":
        facts[3] = "turns both ways"
    facts += [f"round {day.round}", f"step {len(plan.step)}"]
    yield paper.Facts(tuple(facts), "bold")
    yield progress(day)


def come_in(day: Day) -> Iterator[RenderableType]:
    """Yield the tires to be looked at before anything else."""
    if day.too_hot:
        yield paper.heading("First of all")
    yield from too_hot(day)


def too_hot(day: Day) -> Iterator[RenderableType]:
    """Yield the same without a heading."""
    for found in day.too_hot:
        says = remark_words.too_hot(found, day.plan.units)
        yield paper.hanging("!", paper.line(f"{says[0].upper()}{says[1:]}.", "bold"), 2)


def resumed(opened: Opened) -> Iterator[RenderableType]:
    """Yield that another part of the day begins, or that a set of tires was not run yet."""
    said = drift_words.resumed(opened.day, opened.at)
    if said:
        yield paper.line(said, "bold")


def way(day: Day) -> Iterator[RenderableType]:
    """Yield why the plan stands here, if the last step led it here."""
    if day.plan.step and day.due != "nothing":
        went = ways.way(day, len(day.plan.step))
        if went is not None:
            yield paper.indented(f"Why here: {way_words.says(went)}.", 2)


def of_the_car(day: Day) -> Iterator[RenderableType]:
    """Yield, before the first step, what is known from the car file."""
    if not day.plan.step:
        told = known(day.car, day.plan.turns)
        for sentence in () if told is None else car_words.understood(told):
            yield paper.indented(sentence, 2)
        taught = ", ".join(f"{place} {knob}" for knob, place in day.plan.taught.settings)
        if taught:
            yield paper.indented(f"Learned on earlier days, and used first: {taught}.", 2)
        if day.plan.usual is not None:
            yield paper.indented(season_words.usual(day.plan.usual, day.plan.units), 2)


def progress(day: Day) -> Text:
    """Return the tuning order with the current stage in brackets."""
    text = Text("  ")
    stages = (*TUNING_ORDER, "confirm")
    for position, stage in enumerate(stages):
        text.append(" > " if position else "", "dim")
        if stage == day.stage:
            text.append(f"[{stage}]", "bold reverse")
        else:
            text.append(stage)
    if day.stage == "complete":
        text.append(" > ", "dim").append("[complete]", "bold reverse")
    return text


def window(day: Day) -> tuple[float, float]:
    """Return the working range of the tires [degF]."""
    return day.car.tires.window or day.book.window


def counts(day: Day) -> bool:
    """Say whether the last run judges the setup."""
    return day.last is not None and not day.last.void


def last_run(day: Day, width: int) -> Iterator[RenderableType]:
    """Yield the readings of the last run as the car stands, with the figures where they count."""
    if day.last is None:
        return
    yield paper.heading("The last run, seen from above")
    side_by_side = width >= paper.WIDE and not day.last.void
    car = car_view.car(
        day.last.run.tires,
        day.book,
        window(day),
        day.plan.units,
        legend="below" if side_by_side else "beside",
    )
    if day.last.void:
        yield car
        yield paper.indented(
            f"This run does not judge the setup: {run_words.void(day.last.void)}.", 2
        )
    else:
        figures = figure_view.table(day.good[-1].figures, day.book, window(day), day.plan.units)
        if side_by_side:
            yield figure_view.beside(car, figures)
        else:
            yield car
            yield Text("")
            yield paper.padded(figures)
        if day.good[-1].is_corrected:
            yield paper.indented(
                "Tires cool while others are read, so the figures are corrected to one moment.",
                2,
            )
    yield from said(day.last, day)


def said(last: RunStep, day: Day) -> Iterator[RenderableType]:
    """Yield what the driver and the crew said of the run."""
    run = last.run
    if run.felt:
        yield paper.indented(f"Driver: {run_words.felt(run.felt)}", 2)
    if run.lap_times:
        yield paper.indented(f"Laps: {run_words.laps(run.lap_times)}", 2)
    on = set_words.on_car(day)
    if on:
        yield paper.indented(f"Tires: {on}", 2)
    for says in set_words.says(day):
        yield paper.hanging("-", says, 2)
    if run.note:
        note = paper.shortened(run.note, "treadgate why PLAN STEP shows all of it")
        yield paper.indented(f"Note: {note}", 2)
    for remark in (each for each in day.remarks if not isinstance(each, TooHot)):
        yield paper.hanging("-", remark_words.says(remark, day.plan.units), 2)
    if last.doubt is not None:
        says = remark_words.doubt(last.doubt, day.plan.units)
        yield paper.hanging("?", f"Hard to believe: {says}", 2)


def pending(day: Day) -> Iterator[RenderableType]:
    """Yield the change that is chosen and not yet made."""
    if day.pending is not None:
        yield paper.heading("To be done on the car")
        yield from (part for _, part in offer_view.work(day))
        for mark in status_object.rested_on(day):
            yield paper.hanging("!", f"This change {amendment_words.rested(mark)}.", 2)


def left_as_is(day: Day) -> Iterator[RenderableType]:
    """Yield what the crew left as it is, and why."""
    left = list(left_words.says(day))
    if left:
        yield paper.heading("Left as it is")
    for each in left:
        yield paper.hanging("-", each, 2)


def amended(day: Day) -> Iterator[RenderableType]:
    """Yield what was corrected, where choices were made before that was known."""
    told = [each for each in status_object.put_right(day) if each["choices_before"]]
    if told:
        yield paper.heading("Corrected since")
    for each in told:
        chosen = ", ".join(f"step {number}" for number in each["choices_before"])
        by = amendment_words.named(day.plan.step, each["step"])
        text = f"step {each['amends']}, by {by}; chosen before that: {chosen}"
        yield paper.indented(text, 2)


def cautions(day: Day) -> Iterator[RenderableType]:
    """Yield the cautions that matter now; nothing when there are none."""
    due = status_object.cautions(day)
    if due:
        yield paper.heading("Take care")
    for sentence in due:
        yield paper.hanging("!", sentence, 2)


def outlook(day: Day) -> Iterator[RenderableType]:
    """Yield how the rest of the day may go, and what would keep weather and setup apart."""
    forecast = budget.forecast(day)
    if forecast is not None:
        yield paper.heading("The day ahead")
        yield paper.indented(budget_words.says(forecast), 2)
    for sentence in drift.advice(day):
        yield paper.hanging("-", drift_words.says(sentence, day.plan.units), 2)


def due(day: Day, path: Path) -> Iterator[RenderableType]:
    """Yield what is due now and what to type for it."""
    yield paper.heading(f"Due now: {due_words.says(day)}")
    bought = due_words.one_more_run(day)
    if bought:
        yield paper.indented(f"{bought}.", 2)
    yield paper.indented(due_words.next_command(day, in_command(path)), 2)
