"""A run retold: what was read, what it judged, what it taught."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import attrs

from planner.advice.outlook import Outlook
from planner.car.changes import Change, Setting
from planner.judging.outcomes import Outcome
from planner.judging.patterns import Pattern
from planner.plan.day import Day
from planner.plan.steps import (
    RunStep,
)
from planner.rulebook.rules import Rulebook
from planner.run.readings import Run
from planner.trade import figures as figure
from planner.trade import knobs, units
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES
from planner.words import changes as change_words
from planner.words import outcomes as outcome_words
from planner.words import patterns as pattern_words
from planner.words import remarks as remark_words
from planner.words import runs as run_words
from planner.words import tire_sets as set_words
from planner.words.figures import difference, in_words, reading, temperature

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.posterior import Posterior


def headline(step: RunStep, number: int, runs: int, day: Day) -> str:
    """Say what a run judged, and what it judges by the numbers corrected since."""
    in_force = day.steps[number - 1]
    assert isinstance(in_force, RunStep)
    headline = f"run {runs}"
    if step.void:
        headline = f"run {runs}, judges nothing: {run_words.void(step.void)}"
    elif step.outcome is not None:
        headline += f"; the change of step {step.outcome.step}: {verdicts(step.outcome, day)}"
    if step.void == in_force.void and _came(step, day) == _came(in_force, day):
        return headline
    if in_force.void:
        again = f"judges nothing: {run_words.void(in_force.void)}"
    elif in_force.outcome is None:
        again = "counts" if step.void else "no longer judges a change"
    elif step.outcome is not None:
        again = verdicts(in_force.outcome, day)
    else:
        again = f"the change of step {in_force.outcome.step}: {verdicts(in_force.outcome, day)}"
    return f"{headline}{';' if step.void else ','} judged again: {again}"


def details(step: RunStep, day: Day, number: int) -> Iterator[tuple[str, str]]:
    """Tell what was read, what came of the change before it, and what it shows."""
    system = day.plan.units
    averages = figure.compute(step.run.tires, day.plan.turns).averages()
    tires = ", ".join(
        f"{corner} {'/'.join(reading(v, system) for v in tire)}"
        f" (average {temperature(averages[corner], system)})"
        for corner, tire in step.run.tires.items()
    )
    yield "read", tires
    yield from _tires(day, number)
    yield from _beside(step.run, system)
    if step.outcome is not None:
        yield "outcome", outcome_words.says(step.outcome, system)
        yield from (("learned", said) for said in _learned(step.outcome.step, day, number))
    for remark in day.remarks_on(number, step):
        yield "beside", remark_words.says(remark, system)
    if step.doubt is not None:
        yield "doubt", remark_words.doubt(step.doubt, system)
    yield from (("beside", said) for said in _between(day, number))
    for change in step.really:
        yield "corrected", f"the change before was really {change_words.in_words(change)}"
    for pattern in step.patterns:
        says = pattern_words.says(pattern, day.book, system)
        yield "shows", f"{says}{_sureness(pattern, system)}"
        for each in day.evidence_for(pattern, number, step.run):
            yield "beside", pattern_words.beside(each)
    if not step.patterns and not step.void:
        yield "shows", "nothing out of band"


def _tires(day: Day, number: int) -> Iterator[tuple[str, str]]:
    """Tell which set a run was on, and how sets and parts of the day read, once there are two."""
    after = day.at(number)
    on = set_words.on_car(after)
    if on:
        yield "tires", f"{on}, this run counted"
    if after.good and after.good[-1].step == number:
        yield from (("learned", said) for said in set_words.changed(after))


def _between(day: Day, number: int) -> Iterator[str]:
    """Tell that several changes lie between a run that counts and the one before."""
    before = max((run.step for run in day.good if run.step < number), default=0)
    made = [past.step for past in day.past if before < past.step < number and past.is_made]
    if before and len(made) > 1 and any(run.step == number for run in day.good):
        yield (
            f"steps {change_words.joined(made)} changed the car since the run before: what came of "
            "each cannot be told apart"
        )


def _came(run: RunStep, day: Day) -> str:
    return "" if run.void or run.outcome is None else verdicts(run.outcome, day)


def verdicts(outcome: Outcome, day: Day) -> str:
    """Say in a few words what came of the change that an outcome is of."""
    past = next(each for each in day.past if each.step == outcome.step)
    return change_words.verdicts(attrs.evolve(past, outcome=outcome), day.book)


def _sureness(pattern: Pattern, system: units.System) -> str:
    """Tell how well a figure that holds a stage is known, or ``""``."""
    if pattern.stage is None or not pattern.error:
        return ""
    error = difference(pattern.error, system, signed=False)
    return f" [± {error}; {pattern.chance:.0%} likely out]"


def _learned(changed_at: int, day: Day, number: int) -> Iterator[str]:
    """Say what a run taught about the knobs that the change before it moved.

    An answer that is still as believed before the first run is left out.
    """
    past = next((each for each in day.past if each.step == changed_at), None)
    runs = sum(run.step <= number for run in day.good)
    if past is None or not runs:
        return
    outlook = Outlook(day.known_by(runs), day.book)
    for change in past.made:
        if change.is_other:
            yield _shift(change, day.known_by(runs), day.plan.units)
            continue
        aims = past.candidate.aims(day.book)
        own = tuple(aim for aim in aims if aim.corner == change.corner)
        for aim in (own or aims)[:1]:
            name, amount = aim.figures[0], telling_amount(change.setting, day.book)
            now, before = (
                _answer(at, amount, day.plan.units)
                for at in (
                    outlook.answer(name, change.setting),
                    outlook.believed(name, change.setting),
                )
            )
            if change.amount and now != before:
                per = change.unit
                if amount != 1:
                    per = knobs.shown(change.knob, amount, signed=False)
                yield f"{change.corner} {change.knob}: {in_words(name)} {now} per {per}"


def _shift(change: Change, known: "Posterior", system: units.System) -> str:
    """Tell what something that is no knob did, as far as it stands out of its error."""
    found = {name: known.sensitivity(change.setting, name) for name in BASE_FIGURES}
    return f"{change_words.named(change.setting)}: {set_words.shifts(found, system)}"


def _answer(at: Estimate, amount: float, system: units.System) -> str:
    mean = difference(at.mean * amount, system)
    return f"{mean} ± {difference(at.sd * amount, system, signed=False)}"


def telling_amount(setting: Setting, book: Rulebook) -> float:
    """Return the amount of a knob its answer is given for: one unit, or one step of the rules.

    A pound of ballast changes nothing readable, and nobody turns an inch of toe.
    """
    entries = book.adjustments_of(*setting)
    return min(max(1.0, entries[0].step), entries[0].most) if entries else 1.0


def _beside(run: Run, system: units.System) -> Iterator[tuple[str, str]]:
    if run.felt:
        yield "driver", run_words.felt(run.felt)
    if run.lap_times:
        yield "laps", run_words.laps(run.lap_times)
    weather = [
        f"{name} {temperature(value, system)}"
        for name, value in (("track", run.track_temp), ("air", run.air_temp))
        if value is not None
    ]
    if weather:
        yield "weather", ", ".join(weather)
    for name, pressures in (("cold", run.cold), ("hot", run.hot)):
        if pressures:
            yield name, ", ".join(f"{corner} {psi:.1f} psi" for corner, psi in pressures.items())
    if run.flags:
        yield "flags", ", ".join(run.flags)
    if run.note:
        yield "note", run.note
