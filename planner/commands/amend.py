"""``treadgate amend``: puts a wrong entry right without losing the old one."""

from pathlib import Path
from typing import Any

import click

from planner.car import changes
from planner.commands import kinds, output
from planner.commands.options import after_option, plan_argument, run_options, view_options
from planner.commands.record import stated
from planner.plan import wrong_entries
from planner.plan.amendments import Which
from planner.plan.steps import AmendStep
from planner.run import slips
from planner.storage import planfile, plans


@click.command("amend")
@plan_argument
@click.argument("step", metavar="STEP", type=kinds.Step())
@run_options(amending=True)
@click.option(
    "--actual",
    multiple=True,
    metavar="KNOB:CORNER:AMOUNT",
    help="what was really changed, for a change that was made; may be repeated",
)
@click.option(
    "--reason",
    default="",
    metavar="TEXT",
    type=kinds.Text(),
    help="how the mistake came to light; must be given",
)
@after_option
@view_options
def command(
    plan: Path,
    step: Which,
    source: Path | None,
    row: int | None,
    actual: tuple[str, ...],
    reason: str,
    after: int | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Put the entry of STEP right: a run, or what was really changed; --reason must be given.

    STEP is the number of a step, or a run by its own: run3.

    Only what is given changes; the word none takes a value away (--flag none, --cold LF=none). What
    was recorded first stays in the plan, and choices that rested on it are marked.
    """
    system = planfile.load(plan).units
    sheet = stated(source, row, system, given)
    really = [changes.parse(text, "--actual") for text in actual]
    move = wrong_entries.move(step, sheet.texts, really, reason, system)
    opened = plans.step(plan, move, after=after)
    new = opened.day.plan.step[-1]
    assert isinstance(new, AmendStep)
    looked_at = new.run.tires if new.run is not None and "tire" in sheet.texts else {}
    asked = slips.questions(looked_at, None, system)
    pressures = slips.pressures(new.run) if new.run is not None else ()
    times = new.run.lap_times if new.run is not None and "lap_times" in sheet.texts else ()
    doubts = wrong_entries.in_doubt(asked, pressures, plan, new.amends, system, times)
    output.standing(opened, as_json=as_json, remarks=sheet.remarks, doubts=doubts, tell_last=True)
