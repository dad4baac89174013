"""``treadgate choose``: takes a candidate, the crew's own change, moves on, or takes it back."""

from datetime import datetime
from typing import Any

import attrs
import click

from planner.car import changes
from planner.commands import kinds
from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import change_option, reason_option
from planner.plan import moves
from planner.plan.day import Day
from planner.trade.refusals import Refusal

MOST_ID = 100  # letters; the table numbers its candidates


@attrs.frozen
class _Wanted:
    """What the options ask for; one of `candidate`, `own`, `onward` and `back`."""

    candidate: str | None
    amount: str | None
    no_trims: bool
    own: tuple[tuple[str, str, float], ...]
    onward: bool
    back: bool
    reason: str

    def check(self) -> None:
        """Refuse options that do not go together."""
        if (self.candidate is not None) + bool(self.own) + self.onward + self.back != 1:
            raise Refusal(
                "usage",
                "Give one of: a candidate's ID, --own, --move-on, or --take-back.",
                where="treadgate choose",
                hint="treadgate choose PLAN 1",
            )
        if (self.amount is not None or self.no_trims) and self.candidate is None:
            raise Refusal(
                "usage",
                "--amount and --no-trims need a candidate's ID.",
                where="--amount",
                hint="treadgate choose PLAN 1 --amount 0.5",
            )

    def move(self, day: Day, at: datetime) -> Day:
        """Return the day with the choice made."""
        if self.onward:
            return moves.move_on(day, self.reason, at)
        if self.back:
            return moves.take_back(day, self.reason, at)
        if self.candidate is None:
            return moves.choose_own(day, self.own, self.reason, at)
        return moves.choose(
            day,
            self.candidate,
            at,
            amount=self._amount(day),
            trims=not self.no_trims,
            reason=self.reason,
        )

    def _amount(self, day: Day) -> float | None:
        """Return another amount of the candidate, in the unit of its knob; None for its own."""
        found = [c.changes[0] for c in day.table().candidates if c.id == self.candidate]
        if self.amount is None or not found:
            return None
        return changes.amount(self.amount, "--amount", "0.5", found[0].knob)


@plan_command("choose", moves=True)
@click.argument("candidate", metavar="[ID]", type=kinds.Text(MOST_ID), required=False)
@click.option("--amount", metavar="A", help="another amount (a single change only)")
@click.option("--no-trims", is_flag=True, help="leave riding trims out")
@change_option("--own", "your own change; repeat it for a bundle")
@click.option("--move-on", "onward", is_flag=True, help="leave the stage as it is")
@click.option("--take-back", "back", is_flag=True, help="take back a choice not yet made")
@reason_option("why, for the record")
def command(on: OnPlan, **options: Any) -> None:
    """Take a candidate by its ID, give your own change, move on, or take a choice back."""
    wanted = _Wanted(**options)
    wanted.check()
    on.stands(on.move(wanted.move))
