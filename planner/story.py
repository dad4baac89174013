"""Why each change was made: the steps of a plan retold, one by one."""

from collections.abc import Iterator
from typing import Any

import attrs

from planner import figures as figure
from planner import knobs, lap_times, units
from planner.day import Day
from planner.errors import Refusal
from planner.plan import ChoiceStep, MadeStep, RunStep, Step
from planner.readings import Run


@attrs.frozen
class Told:
    """One step, told: a headline and what stands behind it, line by line."""

    step: int
    kind: str
    time: str
    headline: str
    details: tuple[tuple[str, str], ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the step as it goes into JSON."""
        return {
            "step": self.step,
            "kind": self.kind,
            "time": self.time,
            "headline": self.headline,
            "details": [{"about": about, "says": says} for about, says in self.details],
        }


def tell(day: Day, only: int | None = None) -> tuple[Told, ...]:
    """Return the day as a story.

    Parameters
    ----------
    day : the day.
    only : one step by its number; None for all.

    Raises
    ------
    Refusal
        There is no step of that number.
    """
    steps = day.plan.step
    if only is not None and not 1 <= only <= len(steps):
        known = f"steps 1 to {len(steps)}" if steps else "no steps yet"
        raise Refusal(
            "no-step",
            f"There is no step {only}; the plan has {known}.",
            where="STEP",
            hint="treadgate why PLAN",
        )
    runs = 0
    told = []
    for number, step in enumerate(steps, start=1):
        if isinstance(step, RunStep):
            runs += 1
            step = _as_judged(step, day, number)
        if only in (None, number):
            told.append(_told(number, step, runs, day))
    return tuple(told)


def _as_judged(step: RunStep, day: Day, number: int) -> RunStep:
    """Return the run as the day stands on it: the last one is judged afresh."""
    if day.last is not None and number == len(day.plan.step):
        return attrs.evolve(day.last, went=step.went)
    return step


def _told(number: int, step: Step, runs: int, day: Day) -> Told:
    time = step.time.strftime("%H:%M")
    if isinstance(step, RunStep):
        return Told(number, "run", time, _run_headline(step, runs), tuple(_run(step, day)))
    if isinstance(step, ChoiceStep):
        headline = step.chosen.title if step.chosen else f"moved on from the {step.stage} stage"
        return Told(number, "choice", time, headline, tuple(_choice(step, day)))
    return Told(number, "made", time, _made_headline(step), tuple(_made(step)))


def _run_headline(step: RunStep, runs: int) -> str:
    if step.void:
        return f"run {runs}, judges nothing: {step.void}"
    if step.outcome is not None:
        verdict = step.outcome.verdict.replace("-", " ")
        return f"run {runs}; the change of step {step.outcome.step}: {verdict}"
    return f"run {runs}"


def _run(step: RunStep, day: Day) -> Iterator[tuple[str, str]]:
    system = day.plan.units
    averages = figure.compute(step.run.tires, day.plan.turns).averages()
    tires = ", ".join(
        f"{corner} {'/'.join(f'{units.in_plan_unit(v, system):.0f}' for v in tire)}"
        f" (average {units.temperature(averages[corner], system)})"
        for corner, tire in step.run.tires.items()
    )
    yield "read", tires
    yield from _beside(step.run, system)
    if step.outcome is not None:
        yield "outcome", step.outcome.says
    for sentence in step.beside:
        yield "beside", sentence
    if step.doubt:
        yield "doubt", step.doubt
    for change in step.really:
        yield "corrected", f"the change before was really {change}"
    for pattern in step.patterns:
        yield "shows", f"{pattern.id}: {pattern.says}"
        for sentence in pattern.evidence:
            yield "beside", sentence
    if not step.patterns and not step.void:
        yield "shows", "nothing out of band"
    if step.went:
        yield "went", step.went


def _beside(run: Run, system: units.System) -> Iterator[tuple[str, str]]:
    if run.feel:
        yield "driver", f"{run.feel}{f', {run.where}' if run.where else ''}"
    if run.lap_times:
        yield "laps", lap_times.in_words(run.lap_times)
    weather = [
        f"{name} {units.temperature(value, system)}"
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


def _choice(step: ChoiceStep, day: Day) -> Iterator[tuple[str, str]]:
    yield "stage", step.stage
    chosen = step.chosen
    if chosen is None:
        yield "left as is", ", ".join(step.left_open) or "nothing was open"
    else:
        yield "because", chosen.why
        yield "rests on", f"{chosen.rests_on} ({chosen.source})"
        for name, at in chosen.predicted.items():
            if any(name in aim.figures for aim in chosen.aims):
                mean = units.difference(at.mean, day.plan.units)
                spread = units.difference(at.sd, day.plan.units, signed=False)
                yield "expected", f"{name} {mean}, give or take {spread}"
    for other in step.offered:
        if chosen is None or other.title != chosen.title:
            yield "not taken", other.title
    if step.reason:
        yield "reason", step.reason
    if step.went:
        yield "went", step.went


def _made_headline(step: MadeStep) -> str:
    real = [change for change in step.changes if change.amount]
    return "on the car: " + ", ".join(str(change) for change in real) if real else "nothing changed"


def _made(step: MadeStep) -> Iterator[tuple[str, str]]:
    for change in step.changes:
        if change.before is not None and change.after is not None:
            places = knobs.KNOBS[change.knob].decimals
            yield (
                f"{change.corner} {change.knob}",
                f"{change.before:.{places}f} → {change.after:.{places}f} {change.unit}",
            )
