"""``treadgate why``: why each change was made."""

from pathlib import Path

import click

from planner import desk, story
from planner.commands import output
from planner.commands.options import json_option, plan_argument


@click.command("why")
@plan_argument
@click.argument("step", metavar="[STEP]", type=int, required=False)
@json_option
def command(plan: Path, step: int | None, as_json: bool) -> None:
    """Tell why each change was made: one step, or the whole day."""
    opened = desk.open_plan(plan)
    told = story.tell(opened.day, step)
    for remark in opened.remarks:
        output.say(remark)
    if as_json:
        output.write_json({"plan": str(plan), "steps": [each.as_dict() for each in told]})
    else:
        from planner.screen import told as view

        view.show(opened, told)
