"""``treadgate status``: where the day stands and what is due."""

from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import full_option
from planner.storage import plans


@plan_command("status")
@full_option
def command(on: OnPlan, full: bool) -> None:
    """Show where the day stands and what is due."""
    on.stands(plans.open_plan(on.path), full=full)
