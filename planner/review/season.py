"""A car over its days: what was wrong each day, what was changed, and how it ended."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from functools import cached_property
from pathlib import Path

import attrs

from planner.advice.past import Past
from planner.car import car_file
from planner.car.changes import Setting
from planner.plan import on_car
from planner.plan.day import Day, GoodRun
from planner.plan.steps import RunStep
from planner.run import lap_times
from planner.run.lap_times import LapSummary
from planner.run.readings import Run
from planner.trade.knobs import KNOBS

Range = tuple[float, float]


@attrs.frozen(eq=False)
class DayOfCar:
    """A day of a car, looked back on from another."""

    path: Path
    day: Day

    @property
    def date(self) -> date:
        """When it was begun."""
        return self.day.plan.created.date()

    @property
    def track(self) -> str:
        """The name of its track; "" where nobody gave one."""
        return self.day.plan.track

    @property
    def runs(self) -> tuple[Run, ...]:
        """Every run, those that judge nothing too."""
        return tuple(step.run for step in self.day.steps if isinstance(step, RunStep))

    @property
    def sets(self) -> tuple[str, ...]:
        """The sets of tires it was run on; none where nobody named one."""
        tires = self.day.tires
        return tuple(each.name for each in tires.sets.values()) if tires.are_told else ()

    @property
    def first(self) -> GoodRun | None:
        """The first run that judges the setup: the car as it came."""
        return next(iter(self.day.good), None)

    @property
    def track_temp(self) -> Range | None:
        """The coolest and hottest track of a run [degF]; None where nobody wrote it down."""
        return _range(run.track_temp for run in self.runs)

    @property
    def air_temp(self) -> Range | None:
        """The same of the air [degF]."""
        return _range(run.air_temp for run in self.runs)

    @cached_property
    def wrong(self) -> tuple[str, ...]:
        """What held a stage in any run, unmasked, as ``id:corner``; the first stands first."""
        held = (p for good in self.day.good for p in good.patterns if p.holds and not p.masked_by)
        return tuple(dict.fromkeys(pattern.key for pattern in held))

    @property
    def changes(self) -> tuple[Past, ...]:
        """Every change made, with what came of it."""
        return self.day.past

    @cached_property
    def laps(self) -> LapSummary | None:
        """The lap times of the run with the fastest lap; None where none was timed."""
        timed = [lap_times.summary(run.lap_times) for run in self.runs if run.lap_times]
        return min(timed, key=lambda each: each.best, default=None)

    @cached_property
    def begun(self) -> dict[Setting, float]:
        """What was on the car in the morning, where known."""
        return {
            (each.knob, each.place): each.begun
            for each in on_car.setup(self.day)
            if each.begun is not None
        }

    @cached_property
    def ended(self) -> dict[Setting, float]:
        """What is on the car as the day stands, where known."""
        return {
            (each.knob, each.place): each.now
            for each in on_car.setup(self.day)
            if each.now is not None
        }


@attrs.frozen(eq=False)
class CarSeason:
    """A car over its days.

    Attributes
    ----------
    days : the oldest first.
    """

    days: tuple[DayOfCar, ...]

    @property
    def name(self) -> str:
        """The name it had last; "" where it has none."""
        return self.days[-1].day.car.car.name

    @property
    def id(self) -> str:
        """Its id; "" where it has none."""
        return self.days[-1].day.car.car.id

    @property
    def known_by(self) -> frozenset[str]:
        """What it may be asked for by: its id, and every name it had."""
        cars = [day.day.car.car for day in self.days]
        return frozenset(car_file.same(name) for car in cars for name in (car.id, car.name) if name)

    def by_track(self) -> tuple[tuple[DayOfCar, ...], ...]:
        """Return the days with a run at one track after another, the track it was at last first."""
        found: dict[str, list[DayOfCar]] = {}
        for day in reversed(self.days):
            if day.first is not None:
                found.setdefault(car_file.same(day.track), []).append(day)
        return tuple(tuple(reversed(days)) for days in found.values())


def by_car(days: Iterable[tuple[Path, Day]]) -> tuple[CarSeason, ...]:
    """Return the cars of some days, the oldest first; days of a car without name are one car's.

    Parameters
    ----------
    days : where each is kept, and the day; the oldest first.
    """
    found: dict[str, list[DayOfCar]] = {}
    for path, day in days:
        found.setdefault(day.car.car.known_by, []).append(DayOfCar(path, day))
    return tuple(CarSeason(tuple(of)) for of in found.values())


def turned(days: Sequence[DayOfCar]) -> Iterator[tuple[Setting, tuple[float | None, ...]]]:
    """Yield each setting that did not end all days alike, and where it ended each day."""
    for knob in KNOBS.values():
        for place in knob.places:
            ends = tuple(day.ended.get((knob.name, place)) for day in days)
            known = {at for at in ends if at is not None}
            moved = any(
                change.setting == (knob.name, place) and change.amount
                for day in days
                for past in day.changes
                for change in past.made
            )
            if len(known) > 1 or (known and moved):
                yield (knob.name, place), ends


def _range(values: Iterable[float | None]) -> Range | None:
    known = [value for value in values if value is not None]
    return (min(known), max(known)) if known else None
