"""``treadgate made``: the chosen change is on the car."""

from datetime import datetime

import click

from planner.car import changes
from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import change_option, reason_option
from planner.plan import moves
from planner.plan.day import Day


@plan_command("made", moves=True)
@change_option("--actual", "what was really changed, where it differs; may be repeated")
@click.option(
    "--other", multiple=True, metavar="TEXT", help="something else that was changed, in your words"
)
@reason_option("why, of a change made without a choice")
def command(
    on: OnPlan,
    actual: tuple[tuple[str, str, float], ...],
    other: tuple[str, ...],
    reason: str,
) -> None:
    """Say that the change is on the car, as chosen or as it really came out.

    Where a run is due: what was changed meanwhile, without a choice here; --actual or --other is
    required, and --reason.

    --other is for anything that is no knob: "RR shock 2 clicks softer", tape, a gear, a bent arm.
    """
    said = (changes.parse(f"other: {text}", "--other") for text in other)
    actual = (*actual, *said)

    def move(day: Day, at: datetime) -> Day:
        if day.due == "run" and actual:
            return moves.changed(day, actual, reason, at)
        return moves.made(day, at, actual, reason)

    on.stands(on.move(move), tell_last=True)
