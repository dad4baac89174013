"""A crew that follows the planner without a thought of its own, on a simulated car."""

from collections.abc import Callable
from datetime import datetime

from planner.plan import day as days
from planner.plan import moves
from planner.plan.day import Day
from planner.rehearsal.car import SimulatedCar
from planner.run.readings import Run

MOST_RUNS = 40  # a day has no more; from memory

Move = Callable[[Day, datetime], Day]


def run(car: SimulatedCar, day: Day) -> Run:
    """Put on the car what the plan says has been made, and drive the run that is due."""
    car.stand_at(days.moved_by(day.past))
    return car.drive()


def next_move(car: SimulatedCar, day: Day) -> Move | None:
    """Return what such a crew does next; None when the day is complete or too long."""
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
