"""``treadgate taught``: keeps what the car has taught for another day."""

from pathlib import Path

import click

from planner.commands import kinds, output
from planner.commands.options import json_option, plan_argument
from planner.storage import desk


@click.command("taught")
@plan_argument
@click.argument("file", type=kinds.File())
@json_option
def command(plan: Path, file: Path, as_json: bool) -> None:
    """Write what the car has taught to FILE, for another day's start --taught FILE."""
    knobs = desk.keep_taught(desk.open_plan(plan), file)
    if as_json:
        output.write_json({"plan": str(plan), "file": str(file), "knobs": knobs})
    else:
        output.write(f"{file}: the car's answer to {knobs} knobs. Another day:")
        output.write(f"  treadgate start PLAN --taught {file}")
