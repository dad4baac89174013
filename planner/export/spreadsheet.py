"""The day as tidy tables for a spreadsheet: a row an observation, a column a variable.

Temperatures are in the plan's unit, which every row names; the names of other columns say theirs.
Values corrected later are the ones in force; beside a reading stands what was recorded first.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

from planner.plan import amendments
from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.review import timeline
from planner.review.timeline import RunSeen, Timeline
from planner.run import lap_times
from planner.run.readings import PHASES, TreadUnit
from planner.trade import knobs, plain_text, units
from planner.trade.corners import CORNERS, STRIPS, was_read
from planner.trade.figures import PER_CORNER, WHOLE_CAR, terms
from planner.trade.units import System
from planner.words import amendments as amendment_words
from planner.words import offers
from planner.words import runs as run_words

Cell = str | float | int | None

# What makes a spreadsheet take a cell for a formula (also in the full width of Chinese and Japanese
# keyboards), wherever one may see a cell begin: where the list separator of the machine is a
# semicolon, it parts our cells at theirs, quoted or not.
_FORMULA = re.compile(r"(^|[;\n])( *)(?=[=+\-@＝＋－＠])")

RUNS = (
    *("run", "step", "time", "judges", "void", "laps", "laps_on_tires_before"),
    *("set", "set_state", "heat_cycles_before"),
    *("track_temp", "air_temp", "unit", "feel", "where", "flags"),
    *(f"feel_{phase}" for phase in PHASES),
    *(f"{when}_psi_{corner}" for when in ("cold", "hot") for corner in CORNERS),
    *("best_lap_s", "mean_lap_s", "falloff_s_per_lap", "delay_s", "order", "amended_by", "note"),
)
LAPS = ("run", "lap", "time_s", "counted", "judges", "step")
READINGS = (
    *("run", "corner", "position", "temperature", "unit", "first_recorded", "judges", "step"),
    *("time", "note", "read_again", "tread_before", "tread", "tread_unit"),
)
FIGURES = ("run", "figure", "value", "standard_error", "band_low", "band_high", "unit", "step")
CHANGES = (
    *("step", "time", "stage", "knob", "corner", "amount", "unit", "from", "to", "trim", "chosen"),
    *("title", "reason", "rested_on"),
)
OUTCOMES = (
    *("change_step", "run", "figure", "before", "after", "expected", "target", "unit", "verdict"),
    *("chance", "change_verdict", "judged_with"),
)
TABLES = ("runs", "laps", "readings", "figures", "changes", "outcomes")


_TREAD_UNITS: dict[TreadUnit, str] = {"32nds": "1/32 in", "percent": "% left"}


def tables(day: Day) -> dict[str, str]:
    """Return the day as CSV texts by the names of `TABLES`."""
    line = timeline.of(day)
    return {
        "runs": text(RUNS, _runs(line)),
        "laps": text(LAPS, _laps(line)),
        "readings": text(READINGS, _readings(line)),
        "figures": text(FIGURES, _figures(line)),
        "changes": text(CHANGES, _changes(line)),
        "outcomes": text(OUTCOMES, _outcomes(line)),
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
    if value is None or (isinstance(value, float) and not was_read(value)):
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


def _runs(line: Timeline) -> Iterator[Sequence[Cell]]:
    day = line.day
    for seen in line.runs:
        run = seen.recorded.run
        timed = lap_times.summary(run.lap_times) if run.lap_times else None
        weather = (
            None if degrees is None else units.in_plan_unit(degrees, day.plan.units)
            for degrees in (run.track_temp, run.air_temp)
        )
        yield (
            seen.number,
            seen.step,
            seen.recorded.time.isoformat(),
            _judges(seen),
            run_words.void(seen.recorded.void),
            day.plan.laps if run.laps is None else run.laps,
            seen.tires.laps,
            seen.tires.name,
            seen.tires.state,
            seen.tires.cycles,
            *weather,
            _unit(day.plan.units),
            run.feel,
            run.where,
            ", ".join(run.flags),
            *(run.felt_in(phase) for phase in PHASES),
            *(pressures.get(corner) for pressures in (run.cold, run.hot) for corner in CORNERS),
            None if timed is None else timed.best,
            None if timed is None else timed.mean,
            None if timed is None else timed.falloff,
            run.delay,
            ", ".join(run.order),
            ", ".join(str(step) for step in amendments.amended_by(day.plan.step, seen.step)),
            run.note,
        )


def _laps(line: Timeline) -> Iterator[Sequence[Cell]]:
    for seen in line.runs:
        times = seen.recorded.run.lap_times
        counted = lap_times.summary(times).counted if times else ()
        for lap, time in enumerate(times, start=1):
            count = "yes" if lap in counted else "no"
            yield seen.number, lap, time, count, _judges(seen), seen.step


def _judges(seen: RunSeen) -> str:
    return "no" if seen.recorded.void else "yes"


def _readings(line: Timeline) -> Iterator[Sequence[Cell]]:
    system = line.day.plan.units
    for run in line.runs:
        first = line.day.plan.step[run.step - 1]
        assert isinstance(first, RunStep)
        recorded = run.recorded.run
        again = {} if recorded.again is None else {recorded.again.corner: recorded.again.tire}
        for corner in CORNERS:
            treads = (recorded.tread_before.get(corner), recorded.tread.get(corner))
            for at, strip in enumerate(STRIPS):
                value = recorded.tires[corner][at]
                was = first.run.tires[corner][at]
                yield (
                    run.number,
                    corner,
                    strip,
                    units.in_plan_unit(value, system),
                    _unit(system),
                    None if was == value else units.in_plan_unit(was, system),
                    _judges(run),
                    run.step,
                    run.recorded.time.isoformat(),
                    recorded.note,
                    units.in_plan_unit(again[corner][at], system) if corner in again else None,
                    *(None if tread is None else tread[at] for tread in treads),
                    _TREAD_UNITS[recorded.tread_unit] if any(treads) else None,
                )


def _figures(line: Timeline) -> Iterator[Sequence[Cell]]:
    day, noise = line.day, line.noise
    window = day.car.tires.window or day.book.window
    names = [f"{kind}.{corner}" for kind in PER_CORNER for corner in CORNERS] + list(WHOLE_CAR)
    for run in line.runs:
        if run.recorded.void:
            continue
        for name in names:
            kind = name.partition(".")[0]
            low, high = window if kind == "average" else day.book.edges(kind)
            error = run.error(name, noise)
            yield (
                run.number,
                name,
                _figure(name, run.figures[name], day),
                units.apart(error, day.plan.units),
                _figure(name, low, day),
                _figure(name, high, day),
                _unit(day.plan.units),
                run.step,
            )


def _changes(line: Timeline) -> Iterator[Sequence[Cell]]:
    for seen in line.made:
        past, candidate = seen.made(), seen.made().candidate
        wanted = {change.setting: change.amount for change in candidate.changes}
        marks = "; ".join(map(amendment_words.rested, seen.rested))
        for change in past.made:
            settings = (change.amount, change.before, change.after, wanted.get(change.setting))
            amount, before, after, asked = (
                None if value is None else knobs.rounded(change.knob, value) for value in settings
            )
            yield (
                past.step,
                line.day.steps[past.step - 1].time.isoformat(),
                seen.chosen.stage,
                change.knob,
                change.corner,
                amount,
                change.unit,
                before,
                after,
                "yes" if change.trim else "no",
                asked,
                offers.title(candidate),
                seen.chosen.reason,
                marks,
            )


def _outcomes(line: Timeline) -> Iterator[Sequence[Cell]]:
    day = line.day
    for seen in line.made:
        past = seen.made()
        if past.outcome is None or seen.after is None:
            continue
        for part in past.outcome.figures:
            if past.beside and part.figure not in past.candidate.aimed(day.book):
                continue  # another of the changes that this run judged aimed at it
            temperatures = (part.before, part.after, part.expected, part.target)
            yield (
                past.step,
                seen.after.number,
                part.figure,
                *(_figure(part.figure, value, day) for value in temperatures),
                _unit(day.plan.units),
                part.verdict,
                part.chance,
                past.outcome.verdict,
                ", ".join(map(str, past.beside)),
            )
