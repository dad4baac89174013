"""``treadgate made``: the chosen change is on the car."""

from pathlib import Path

import click

from planner.car import changes
from planner.commands import output
from planner.commands.options import after_option, plan_argument, view_options
from planner.plan import moves
from planner.storage import plans


@click.command("made")
@plan_argument
@click.option(
    "--actual",
    multiple=True,
    metavar="KNOB:CORNER:AMOUNT",
    help="what was really changed, where it differs; may be repeated",
)
@after_option
@view_options
def command(plan: Path, actual: tuple[str, ...], after: int | None, as_json: bool) -> None:
    """Say that the change is on the car, as chosen or as it really came out."""
    really = [changes.parse(text, "--actual") for text in actual]
    opened = plans.step(plan, lambda day, at: moves.made(day, at, really), after=after)
    output.standing(opened, as_json=as_json, tell_last=True)
