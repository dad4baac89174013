"""The day as tidy tables for a spreadsheet: a row an observation, a column a variable.

Temperatures are in the plan's unit, which every row names. Values put right later are the ones in
force; what was recorded first stands beside them.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

from planner import amends, plain_text, units
from planner.corners import CORNERS
from planner.day import Day
from planner.figures import PER_CORNER, WHOLE_CAR, terms
from planner.plan import ChoiceStep, RunStep
from planner.readings import STRIPS
from planner.review import seen_runs
from planner.units import System

Cell = str | float | int | None

# What makes a spreadsheet reckon with a cell (also in the full width of Chinese and Japanese
# keyboards), wherever one may see a cell begin: where the list separator of the machine is a
# semicolon, it parts our cells at theirs, quoted or not.
_FORMULA = re.compile(r"(^|[;\n])( *)(?=[=+\-@＝＋－＠])")

READINGS = (
    *("run", "corner", "position", "temperature", "unit", "first_recorded", "judges", "step"),
    *("time", "note"),
)
FIGURES = ("run", "figure", "value", "standard_error", "band_low", "band_high", "unit", "step")
CHANGES = (
    *("step", "time", "stage", "knob", "corner", "amount", "unit", "from", "to", "trim", "chosen"),
    *("title", "reason", "rested_on"),
)
OUTCOMES = (
    *("change_step", "run", "figure", "before", "after", "expected", "target", "unit", "verdict"),
    *("chance", "change_verdict"),
)
TABLES = ("readings", "figures", "changes", "outcomes")


def tables(day: Day) -> dict[str, str]:
    """Return the day as CSV texts by the names of `TABLES`."""
    return {
        "readings": text(READINGS, _readings(day)),
        "figures": text(FIGURES, _figures(day)),
        "changes": text(CHANGES, _changes(day)),
        "outcomes": text(OUTCOMES, _outcomes(day)),
    }


def text(heads: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Return a table as CSV.

    Text that a spreadsheet would take for a formula gets an apostrophe before it, and what could
    steer a terminal is taken out; numbers are left alone, and a cell that is not known is empty.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        lines = value.replace("\r\n", "\n").replace("\r", "\n")
        return _FORMULA.sub(r"\1\2'", plain_text.lines(lines))
    return f"{round(value, 6) + 0.0:.6f}".rstrip("0").rstrip(".")


def _unit(system: System) -> str:
    return "degF" if system == "us" else "degC"


def _figure(name: str, degrees: float | None, day: Day) -> float | None:
    """Return a figure [degF] in the plan's unit; a difference has no zero to shift."""
    if degrees is None or day.plan.units == "us":
        return degrees
    averages = sum(
        weight
        for term, weight in terms(name, day.plan.turns).items()
        if term.startswith("average.")
    )
    shift = 32.0 * averages  # a mean of averages is a temperature, anything else a difference
    return (degrees - shift) * 5 / 9


def _readings(day: Day) -> Iterator[Sequence[Cell]]:
    system = day.plan.units
    for run in seen_runs.of_day(day):
        first = day.plan.step[run.step - 1]
        assert isinstance(first, RunStep)
        for corner in CORNERS:
            for at, strip in enumerate(STRIPS):
                value = run.recorded.run.tires[corner][at]
                was = first.run.tires[corner][at]
                yield (
                    run.number,
                    corner,
                    strip,
                    units.in_plan_unit(value, system),
                    _unit(system),
                    None if was == value else units.in_plan_unit(was, system),
                    "no" if run.recorded.void else "yes",
                    run.step,
                    run.recorded.time.isoformat(),
                    run.recorded.run.note,
                )


def _figures(day: Day) -> Iterator[Sequence[Cell]]:
    noise = seen_runs.noise(day)
    window = day.plan.car.tires.window or day.book.window
    names = [f"{kind}.{corner}" for kind in PER_CORNER for corner in CORNERS] + list(WHOLE_CAR)
    for run in seen_runs.of_day(day):
        if run.recorded.void:
            continue
        for name in names:
            kind = name.partition(".")[0]
            low, high = window if kind == "average" else day.book.bands(kind)
            error = run.error(name, noise)
            yield (
                run.number,
                name,
                _figure(name, run.figures[name], day),
                error if day.plan.units == "us" else error * 5 / 9,
                _figure(name, low, day),
                _figure(name, high, day),
                _unit(day.plan.units),
                run.step,
            )


def _changes(day: Day) -> Iterator[Sequence[Cell]]:
    past = {each.step: each for each in day.past}
    chosen: tuple[int, ChoiceStep] | None = None
    for number, step in enumerate(day.steps, start=1):
        if isinstance(step, ChoiceStep):
            chosen = number, step
        if number not in past or chosen is None:
            continue
        wanted = {change.setting: change.amount for change in past[number].candidate.changes}
        marks = "; ".join(mark.says for mark in amends.rested(day.plan.step, chosen[0]))
        for change in past[number].made:
            yield (
                number,
                step.time.isoformat(),
                chosen[1].stage,
                change.knob,
                change.corner,
                change.amount,
                change.unit,
                change.before,
                change.after,
                "yes" if change.trim else "no",
                wanted.get(change.setting),
                past[number].candidate.title,
                chosen[1].reason,
                marks,
            )


def _outcomes(day: Day) -> Iterator[Sequence[Cell]]:
    runs = seen_runs.of_day(day)
    for past in day.past:
        if past.outcome is None:
            continue
        judged = next(run for run in runs if run.step > past.step and not run.recorded.void)
        for part in past.outcome.figures:
            temperatures = (part.before, part.after, part.expected, part.target)
            yield (
                past.step,
                judged.number,
                part.figure,
                *(_figure(part.figure, value, day) for value in temperatures),
                _unit(day.plan.units),
                part.verdict,
                part.chance,
                past.outcome.verdict,
            )
