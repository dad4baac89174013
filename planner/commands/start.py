"""``treadgate start``: makes a new plan file."""

from pathlib import Path

import click

from planner.commands import output
from planner.commands.options import new_plan_options, plan_argument, view_options
from planner.storage import starting
from planner.storage.starting import NewPlan


@click.command("start")
@plan_argument
@new_plan_options
@view_options
def command(plan: Path, wanted: NewPlan, as_json: bool) -> None:
    """Make a new plan file; one that is there already is never overwritten."""
    output.standing(starting.start(plan, wanted), as_json=as_json)
