"""``treadgate made``: the chosen change is on the car."""

from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import change_option
from planner.plan import moves


@plan_command("made", moves=True)
@change_option("--actual", "what was really changed, where it differs; may be repeated")
def command(on: OnPlan, actual: tuple[tuple[str, str, float], ...]) -> None:
    """Say that the change is on the car, as chosen or as it really came out."""
    on.stands(on.move(lambda day, at: moves.made(day, at, actual)), tell_last=True)
