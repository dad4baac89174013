"""``treadgate car``: takes in a car file in the course of the day."""

from datetime import datetime
from pathlib import Path

import click

from planner.car import car_file
from planner.car.doubts import doubts
from planner.commands import kinds
from planner.commands.on_plan import OnPlan, plan_command
from planner.plan import moves
from planner.plan.day import Day
from planner.review import car_left
from planner.trade.refusals import Refusal
from planner.words import car as car_words


@plan_command("car", moves=True)
@click.argument("file", metavar="CAR.toml", type=kinds.File(), required=False)
@click.option(
    "--fixed",
    metavar="PLACE KNOB",
    type=kinds.Text(),
    help='what nothing turns on the car: "LR camber, RR camber"',
)
def command(on: OnPlan, file: Path | None, fixed: str | None) -> None:
    """Take in CAR.toml: what is known of the car from here on, say once it was on the scales.

    Its settings are those on the car now. What was decided before stays as decided.
    """
    if file is not None and fixed is None:
        car = car_file.load(file)
        remarks = [car_words.doubt(found) for found in doubts(car)]
        on.stands(on.move(lambda day, at: moves.take_car(day, car, at)), remarks=remarks)
    elif file is None and fixed is not None:
        on.stands(on.move(lambda day, at: _fix(day, fixed, at)))
    else:
        raise Refusal(
            "nothing-given" if file is None else "both-given",
            "Give a car file, or --fixed with what cannot be turned.",
            where="CAR.toml",
            hint='river-bend-car.toml, or --fixed "LR camber"',
        )


def _fix(day: Day, fixed: str, at: datetime) -> Day:
    return moves.take_car(day, car_left.with_fixed(day, fixed, "--fixed"), at)
