"""``treadgate start``: makes a new plan file."""

from pathlib import Path
from typing import get_args

import click

from planner import desk
from planner.commands import output
from planner.commands.options import json_option, plan_argument
from planner.errors import Refusal
from planner.figures import Turns
from planner.plan import Budget
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
@click.option(
    "--certainty",
    type=float,
    metavar="P",
    help="chance of being in band at which a figure stops holding its stage, 0.3 to 0.95 "
    "(0.7); more of it costs runs, see: treadgate ahead",
)
@click.option("--runs", type=int, metavar="N", help="runs there are for the day")
@click.option("--minutes", type=float, metavar="M", help="minutes there are for the day")
@click.option("--sets", type=int, metavar="N", help="sets of tires there are")
@click.option("--runs-per-set", type=int, default=5, metavar="N", help="runs a set is good for (5)")
@click.option(
    "--taught",
    "taught_path",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="what an earlier day has taught, from: treadgate taught",
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
    certainty: float | None,
    runs: int | None,
    minutes: float | None,
    sets: int | None,
    runs_per_set: int,
    taught_path: Path | None,
    as_json: bool,
) -> None:
    """Make a new plan file; one that is there already is never overwritten."""
    for option, value in (
        ("--runs", runs),
        ("--minutes", minutes),
        ("--sets", sets),
        ("--runs-per-set", runs_per_set),
    ):
        if value is not None and not 0 < value < 100_000:
            raise Refusal(
                "bad-value", f"{value:g} cannot be.", where=option, hint=f"{option} 12, say"
            )
    opened = desk.start(
        plan,
        rules=rules,
        car_path=car_path,
        laps=laps,
        track=track,
        units=units,
        turns=turns,
        certainty=certainty,
        budget=Budget(runs, minutes, sets, runs_per_set),
        taught_path=taught_path,
    )
    output.standing(opened, as_json=as_json)
