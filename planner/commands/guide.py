"""``treadgate guide``: the guided day."""

from pathlib import Path
from typing import get_args

import click

from planner.figures import Turns
from planner.units import System


@click.command("guide")
@click.argument(
    "plan", metavar="[PLAN]", required=False, type=click.Path(dir_okay=False, path_type=Path)
)
@click.option("--plain", is_flag=True, help="no colours and no bold: letters only")
@click.option(
    "--rules", default="paved-oval", metavar="ID_OR_FILE", help="new plan: rules to go by"
)
@click.option(
    "--car",
    "car_path",
    metavar="CAR.toml",
    type=click.Path(dir_okay=False, path_type=Path),
    help="new plan: what is known of the car",
)
@click.option("--laps", type=click.IntRange(1, 1000), metavar="N", help="new plan: laps a run")
@click.option("--track", metavar="NAME", help="new plan: name of the track")
@click.option(
    "--units", type=click.Choice(get_args(System)), default="us", help="new plan: us °F, metric °C"
)
@click.option(
    "--turns", type=click.Choice(get_args(Turns)), help="new plan: which way the track turns"
)
def command(
    plan: Path | None,
    plain: bool,
    rules: str,
    car_path: Path | None,
    laps: int | None,
    track: str | None,
    units: System,
    turns: Turns | None,
) -> None:
    """Go through the day one question at a time; makes the plan, or goes on with it."""
    # Loaded here so that --help need not wait for the terminal library.
    from planner.guide import round as rounds
    from planner.guide.begin import Wanted
    from planner.guide.talk import Talk
    from planner.screen import paper

    talk = Talk(paper.console(plain=plain))
    rounds.guide(talk, plan, Wanted(rules, car_path, laps, track, units, turns))
