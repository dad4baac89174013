"""A rehearsal taken up again: the car is driven once more through all that the plan holds."""

from planner.plan.day import Day
from planner.plan.fold import advance, begin
from planner.plan.steps import RunStep
from planner.rehearsal import follow
from planner.rehearsal.car import SimulatedCar
from planner.trade.refusals import Refusal


def bring_up(car: SimulatedCar, day: Day) -> None:
    """Drive a fresh car through the runs of a plan, so that it stands where the day stands.

    Everything random in the car follows from its seed, so nothing of it is stored: the same car
    reads the same.

    Raises
    ------
    Refusal
        The plan was not driven on this car.
    """
    if day.plan.car != car.file():
        raise _another(car, "its car file is another")
    before = begin(day.plan, day.book)
    for step in day.plan.step:
        if isinstance(step, RunStep) and follow.run(car, before).tires != step.run.tires:
            raise _another(car, f"its run {car.runs} reads otherwise")
        before = advance(before, step)


def _another(car: SimulatedCar, says: str) -> Refusal:
    return Refusal(
        "other-car",
        f"The plan that is there was not driven on the car of seed {car.seed}: {says}.",
        where="--plan",
        hint="give the --seed, --fault, --rules and --car it was begun with, or another --plan",
    )
