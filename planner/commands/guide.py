"""``treadgate guide``: the guided day."""

from pathlib import Path

import click

from planner.commands import kinds
from planner.commands.options import full_option, new_plan_options, plain_option
from planner.storage.starting import NewPlan


@click.command("guide")
@click.argument("plan", metavar="[PLAN]", required=False, type=kinds.File())
@plain_option
@full_option
@new_plan_options
def command(plan: Path | None, full: bool, wanted: NewPlan) -> None:
    """Go through the day one question at a time; makes the plan, or goes on with it.

    The options from --rules on are for a new plan.
    """
    # Loaded here so that --help need not wait for the terminal library.
    from planner.guide import loop as rounds
    from planner.guide.prompts import Talk
    from planner.screen import paper

    rounds.guide(Talk(paper.console()), plan, wanted, full=full)
