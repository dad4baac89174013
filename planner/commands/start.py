"""``treadgate start``: makes a new plan file."""

from pathlib import Path
from typing import get_args

import click

from planner import desk
from planner.commands import output
from planner.commands.options import json_option, plan_argument
from planner.figures import Turns
from planner.units import System


@click.command("start")
@plan_argument
@click.option("--rules", default="paved-oval", metavar="ID_OR_FILE", help="rules to go by")
@click.option(
    "--car",
    "car_path",
    metavar="CAR.toml",
    type=click.Path(dir_okay=False, path_type=Path),
    help="what is known of the car; every key is optional",
)
@click.option("--laps", type=int, metavar="N", help="laps asked of every run")
@click.option("--track", metavar="NAME", help="name of the track")
@click.option(
    "--units",
    type=click.Choice(get_args(System)),
    default="us",
    help="us: temperatures in °F; metric: in °C",
)
@click.option(
    "--turns", type=click.Choice(get_args(Turns)), help="which way the track turns (left)"
)
@json_option
def command(
    plan: Path,
    rules: str,
    car_path: Path | None,
    laps: int | None,
    track: str | None,
    units: System,
    turns: Turns | None,
    as_json: bool,
) -> None:
    """Make a new plan file; one that is there already is never overwritten."""
    opened = desk.start(
        plan, rules=rules, car_path=car_path, laps=laps, track=track, units=units, turns=turns
    )
    output.standing(opened, as_json=as_json)
