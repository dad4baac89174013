"""``treadgate status``: where the day stands and what is due."""

from planner.commands.on_plan import OnPlan, plan_command
from planner.storage import plans


@plan_command("status")
def command(on: OnPlan) -> None:
    """Show where the day stands and what is due."""
    on.stands(plans.open_plan(on.path))
