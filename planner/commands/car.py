"""``treadgate car``: takes in a car file in the course of the day."""

from pathlib import Path

import click

from planner.car import car_file
from planner.car.doubts import doubts
from planner.commands import kinds
from planner.commands.on_plan import OnPlan, plan_command
from planner.plan import moves
from planner.words import car as car_words


@plan_command("car", moves=True)
@click.argument("file", metavar="CAR.toml", type=kinds.File())
def command(on: OnPlan, file: Path) -> None:
    """Take in CAR.toml: what is known of the car from here on, say once it was on the scales.

    Its settings are those on the car now. What was decided before stays as decided.
    """
    car = car_file.load(file)
    remarks = [car_words.doubt(found) for found in doubts(car)]
    on.stands(on.move(lambda day, at: moves.take_car(day, car, at)), remarks=remarks)
