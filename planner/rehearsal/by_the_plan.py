"""A simulated car driven by a plan: what is due, and a day taken up again where it was left."""

from collections.abc import Callable
from datetime import datetime

from planner.plan import day as days
from planner.plan import fold, moves
from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.rehearsal.car import SimulatedCar
from planner.run.readings import Run
from planner.trade.refusals import Refusal

MOST_RUNS = 40  # a day has no more; from memory

Move = Callable[[Day, datetime], Day]


def run(car: SimulatedCar, day: Day) -> Run:
    """Put on the car what the plan says has been made, and drive the run that is due."""
    car.stand_at(days.moved_by(day.past))
    return car.drive()


def next_move(car: SimulatedCar, day: Day) -> Move | None:
    """Return what a crew does that always takes the first candidate; None when its day is over."""
    if day.due == "run" and car.runs < MOST_RUNS:
        driven = run(car, day)
        return lambda now, at: moves.record(now, driven, at)
    if day.due == "change":
        return moves.made
    if day.due == "choice":
        found = day.table().candidates
        if not found:
            return lambda now, at: moves.move_on(now, "nothing is offered", at)
        return lambda now, at: moves.choose(now, found[0].id, at)
    return None


def catch_up(car: SimulatedCar, day: Day) -> None:
    """Drive a fresh car through the runs of a plan, so that it stands where the day stands.

    Everything random in the car follows from its seed, so nothing of it is stored: the same car
    reads the same.

    Raises
    ------
    Refusal
        The plan was not driven on this car.
    """
    if day.plan.car != car.file():
        raise _another(car, "the plan has another car file")
    before = fold.begin(day.plan, day.book)
    for step in day.plan.step:
        if isinstance(step, RunStep) and run(car, before).tires != step.run.tires:
            raise _another(car, f"run {car.runs} reads differently on it")
        before = fold.advance(before, step)


def _another(car: SimulatedCar, says: str) -> Refusal:
    return Refusal(
        "other-car",
        f"This plan was not driven on the car of seed {car.seed}: {says}.",
        where="--plan",
        hint="use the --seed, --fault, --rules and --car it was begun with, or another --plan",
    )
