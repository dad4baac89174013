"""``treadgate start``: makes a new plan file."""

from planner.commands import output
from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import new_plan_options
from planner.storage import starting
from planner.storage.starting import NewPlan


@plan_command("start")
@new_plan_options
def command(on: OnPlan, wanted: NewPlan) -> None:
    """Make a new plan file; an existing one is never overwritten."""
    opened = starting.start(on.path, wanted)
    output.is_done("The plan is made.")
    on.stands(opened)
