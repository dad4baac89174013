"""``treadgate choose``: takes a candidate, the crew's own change, moves on, or takes it back."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import click

from planner.car import changes
from planner.commands import kinds, output
from planner.commands.options import after_option, plan_argument, reason_option, view_options
from planner.plan import moves
from planner.plan.day import Day
from planner.storage import plans
from planner.trade.refusals import Refusal

MOST_ID = 100  # letters; the table numbers its candidates


@click.command("choose")
@plan_argument
@click.argument("candidate", metavar="[ID]", type=kinds.Text(MOST_ID), required=False)
@click.option("--amount", metavar="A", help="another amount (a single change only)")
@click.option("--no-trims", is_flag=True, help="leave riding trims out")
@click.option(
    "--own",
    multiple=True,
    metavar="KNOB:CORNER:AMOUNT",
    help="your own change; repeat it for a bundle",
)
@click.option("--move-on", "onward", is_flag=True, help="leave the stage as it is")
@click.option("--take-back", "back", is_flag=True, help="take back a choice not yet made")
@reason_option
@after_option
@view_options
def command(
    plan: Path,
    candidate: str | None,
    amount: str | None,
    no_trims: bool,
    own: tuple[str, ...],
    onward: bool,
    back: bool,
    reason: str,
    after: int | None,
    as_json: bool,
) -> None:
    """Take a candidate by its ID, give your own change, move on, or take a choice back."""
    if (candidate is not None) + bool(own) + onward + back != 1:
        raise Refusal(
            "usage",
            "Give one of: a candidate's ID, --own, --move-on, or --take-back.",
            where="treadgate choose",
            hint="treadgate choose PLAN 1",
        )
    if (amount is not None or no_trims) and candidate is None:
        raise Refusal(
            "usage",
            "--amount and --no-trims go with a candidate's ID.",
            where="--amount",
            hint="treadgate choose PLAN 1 --amount 0.5",
        )
    move: Callable[[Day, datetime], Day]
    if onward:

        def move(day: Day, at: datetime) -> Day:
            return moves.move_on(day, reason, at)

    elif back:

        def move(day: Day, at: datetime) -> Day:
            return moves.take_back(day, reason, at)

    elif own:
        wanted = [changes.parse(text, "--own") for text in own]

        def move(day: Day, at: datetime) -> Day:
            return moves.choose_own(day, wanted, reason, at)

    else:

        def move(day: Day, at: datetime) -> Day:
            size = None if amount is None else _size(day, candidate or "", amount)
            return moves.choose(
                day, candidate or "", at, amount=size, trims=not no_trims, reason=reason
            )

    output.standing(plans.step(plan, move, after=after), as_json=as_json)


def _size(day: Day, candidate: str, text: str) -> float | None:
    """Read another amount of a candidate, in the unit of its knob; None where there is none."""
    own = [c.changes[0] for c in day.table().candidates if c.id == candidate]
    return changes.amount(text, "--amount", "0.5", own[0].knob) if own else None
