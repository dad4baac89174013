"""``treadgate status``: where the day stands and what is due."""

from pathlib import Path

import click

from planner.commands import output
from planner.commands.options import plan_argument, view_options
from planner.storage import plans


@click.command("status")
@plan_argument
@view_options
def command(plan: Path, as_json: bool) -> None:
    """Show where the day stands and what is due."""
    output.standing(plans.open_plan(plan), as_json=as_json)
