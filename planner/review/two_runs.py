"""Two runs side by side: readings, figures, settings, conditions, lap times."""

from math import sqrt

import attrs

from planner.learning.observed import two_sided
from planner.plan.day import Day
from planner.review import timeline
from planner.review.timeline import RunSeen
from planner.run import driver, lap_times
from planner.run.lap_times import LapComparison
from planner.trade import knobs
from planner.trade.corners import CORNERS, Corner, Three
from planner.trade.figures import WHOLE_CAR
from planner.trade.refusals import Refusal

FIGURES = (
    *(f"{kind}.{c}" for kind in ("average", "split", "crown", "versus_others") for c in CORNERS),
    *WHOLE_CAR,
)

# Two-sided probability, between equal cars, below which a figure is taken to differ. The usual
# 1 in 20; with this many figures one or two differ by chance alone.
DIFFERS = 0.05


@attrs.frozen
class FigureAgainst:
    """A figure of both runs [degF], and the standard error of the difference.

    Attributes
    ----------
    differs : the difference is larger than reading noise makes it but once in twenty times.
    """

    figure: str
    one: float
    other: float
    error: float
    differs: bool

    @property
    def difference(self) -> float:
        """The other run less the one."""
        return self.other - self.one


@attrs.frozen
class Parted:
    """A setting or condition that differs between the runs; None where it is not known."""

    name: str
    one: float | str | None
    other: float | str | None
    unit: str = ""


@attrs.frozen
class Against:
    """Two runs of one day side by side.

    Attributes
    ----------
    corrected : those of them whose readings were corrected for cooling.
    """

    one: RunSeen
    other: RunSeen
    figures: tuple[FigureAgainst, ...]
    settings: tuple[Parted, ...]
    conditions: tuple[Parted, ...]
    laps: LapComparison | None
    corrected: tuple[RunSeen, ...] = ()

    def readings(self) -> tuple[tuple[Corner, Three, Three], ...]:
        """Return the readings of both runs, tire by tire [degF]."""
        one, other = self.one.recorded.run.tires, self.other.recorded.run.tires
        return tuple((corner, one[corner], other[corner]) for corner in CORNERS)


def compare(day: Day, one: int, other: int) -> Against:
    """Set two runs against each other.

    Parameters
    ----------
    one, other : numbers of the runs, from 1, void ones counted.

    Raises
    ------
    Refusal
        There is no such run, or both are the same.

    Notes
    -----
    Errors of two runs add in quadrature: sqrt(e1² + e2²), each from the reading noise as the day
    knows it, the noise common to a run included, and what putting readings back to one moment
    left uncertain.
    """
    line = timeline.of(day)
    seen = line.runs
    for option, number in (("--run", one), ("--against", other)):
        if not 1 <= number <= len(seen):
            known = f"runs 1 to {len(seen)}" if seen else "no runs yet"
            raise Refusal(
                "no-run",
                f"There is no run {number}; the plan has {known}.",
                where=option,
                hint=f"{option} {min(max(number, 1), len(seen) or 1)}",
            )
    if one == other:
        raise Refusal(
            "bad-value", "A run against itself shows nothing.", where="--against", hint="another"
        )
    first, second = seen[one - 1], seen[other - 1]
    noise = line.noise
    figures = []
    for name in FIGURES:
        error = sqrt(first.error(name, noise) ** 2 + second.error(name, noise) ** 2)
        was, now = first.figures[name], second.figures[name]
        figures.append(
            FigureAgainst(name, was, now, error, two_sided((now - was) / error) < DIFFERS)
        )
    times = first.recorded.run.lap_times, second.recorded.run.lap_times
    return Against(
        first,
        second,
        tuple(figures),
        _settings(first, second, day),
        _conditions(first, second, day),
        lap_times.compare(*times) if all(times) else None,
        tuple(run for run in line.corrected if run in (first, second)),
    )


def _settings(one: RunSeen, other: RunSeen, day: Day) -> tuple[Parted, ...]:
    """Return the settings that differ; an unknown one as how far it was moved."""
    found = []
    moved = {
        change.setting
        for past in day.past
        if min(one.step, other.step) < past.step < max(one.step, other.step)
        for change in past.made
        if change.amount
    }
    places = [(knob.name, place) for knob in knobs.KNOBS.values() for place in knob.places]
    for setting in places:
        was, now = (
            None if at is None else knobs.rounded(setting[0], at)
            for at in (one.settings.get(setting), other.settings.get(setting))
        )
        unit = knobs.of(setting[0]).unit
        name = f"{setting[1]} {setting[0]}"
        if was is not None or now is not None:
            if was != now:
                found.append(Parted(name, was, now, unit))
        elif setting in moved:
            total = _moved(day, setting, one.step, other.step)
            if total:
                found.append(Parted(name, None, f"{total:+g}", unit))
    return tuple(found)


def _moved(day: Day, setting: tuple[str, str], one: int, other: int) -> float:
    low, high = min(one, other), max(one, other)
    total = sum(
        change.amount
        for past in day.past
        if low < past.step < high
        for change in past.made
        if change.setting == setting
    )
    return round(total if one < other else -total, 6)


def _conditions(one: RunSeen, other: RunSeen, day: Day) -> tuple[Parted, ...]:
    """Return what was recorded around both runs, the same or not."""
    first, second = one.recorded.run, other.recorded.run
    asked = day.plan.laps
    laps = tuple(float(asked if run.laps is None else run.laps) for run in (first, second))
    rows: tuple[tuple[str, float | str | None, float | str | None, str], ...] = (
        ("track temperature", first.track_temp, second.track_temp, "degF"),
        ("air temperature", first.air_temp, second.air_temp, "degF"),
        ("laps run", laps[0], laps[1], "laps"),
        ("set of tires", one.tires.name, other.tires.name, ""),
        ("laps on the tires before", one.tires.laps, other.tires.laps, "laps"),
        ("stop to first reading", first.delay, second.delay, "s"),
        ("driver", _feel(one), _feel(other), ""),
        ("flags", ", ".join(first.flags), ", ".join(second.flags), ""),
    )
    return tuple(
        Parted(name, was if was != "" else None, now if now != "" else None, unit)
        for name, was, now, unit in rows
        if was not in (None, "") or now not in (None, "")
    )


def _feel(run: RunSeen) -> str:
    return driver.spoken(run.recorded.run.felt)
