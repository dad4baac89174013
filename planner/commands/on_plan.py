"""Commands that work on a plan: PLAN and its usual options, declared once."""

import functools
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs
import click

from planner.commands import output
from planner.commands.options import after_option, plan_argument, view_options
from planner.storage import plans
from planner.storage.plans import Opened

if TYPE_CHECKING:
    from planner.plan.wrong_entries import Move


@attrs.frozen
class OnPlan:
    """The plan a command was given, and how it is to answer.

    Attributes
    ----------
    after : the step that must still be the last one; None where any will do.
    """

    path: Path
    as_json: bool
    after: int | None = None

    def open(self) -> Opened:
        """Read the plan, and say what should be mentioned about it."""
        opened = plans.open_plan(self.path)
        output.say_all(opened.remarks)
        return opened

    def move(self, move: "Move", seen: Opened | None = None) -> Opened:
        """Make one move and store it; `seen` is the plan as the move was decided on."""
        opened = plans.step(self.path, move, seen=seen, after=self.after)
        output.is_done(f"Stored as step {len(opened.day.plan.step)}.")
        return opened

    def write_json(self, **data: Any) -> None:
        """Write the one JSON object; it names the plan."""
        output.write_json({"plan": str(self.path), **data})

    def stands(
        self,
        opened: Opened,
        *,
        remarks: Sequence[str] = (),
        doubts: Sequence[str] = (),
        tell_last: bool = False,
        full: bool = False,
    ) -> None:
        """Say where the day stands; see `output.standing`."""
        output.standing(
            opened,
            as_json=self.as_json,
            remarks=remarks,
            doubts=doubts,
            tell_last=tell_last,
            full=full,
        )


def plan_command(
    name: str, *, moves: bool = False
) -> Callable[[Callable[..., None]], click.Command]:
    """Make a command that takes PLAN; its function gets it as an `OnPlan`, before its own options.

    Parameters
    ----------
    moves : it makes a move, so it takes ``--after`` too.
    """

    def made(function: Callable[..., None]) -> click.Command:
        @functools.wraps(function)
        def called(plan: Path, as_json: bool, after: int | None = None, **own: Any) -> None:
            function(OnPlan(plan, as_json, after), **own)

        shared = view_options(called)
        command = click.command(name)(plan_argument(after_option(shared) if moves else shared))
        # A command's own options come first in its help.
        command.params.sort(key=lambda param: param.name in ("after", "as_json", "plain"))
        return command

    return made
