"""``treadgate note``: notes something between runs, about a step or the day."""

from datetime import datetime

import click

from planner.commands import kinds
from planner.commands.on_plan import OnPlan, plan_command
from planner.plan import moves
from planner.plan.amendments import Which
from planner.plan.day import Day
from planner.run import tire_set


@plan_command("note", moves=True)
@click.argument("text", metavar="TEXT", type=kinds.Text())
@click.option(
    "--about", metavar="STEP", type=kinds.Step(), help="the step it is about, or run3: a run"
)
@click.option(
    "--set", "tires", type=kinds.Text(), metavar="NAME", help='the set that went on: "2 new"'
)
def command(on: OnPlan, text: str, about: Which | None, tires: str | None) -> None:
    """Note TEXT in the plan, at any time; nothing follows from it but from --set."""
    put_on = ("", None) if tires is None else tire_set.said(tires, "--set")

    def move(day: Day, at: datetime) -> Day:
        number = None if about is None else about.among(day.plan.step)
        return moves.note(day, text, at, number, put_on)

    on.stands(on.move(move), tell_last=True)
