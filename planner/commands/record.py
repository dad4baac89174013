"""``treadgate record``: stores the readings of a run."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from planner import changes, moves, run_entry, slips
from planner.commands import output
from planner.commands.options import after_option, plan_argument, run_options, view_options
from planner.errors import Refusal
from planner.run_entry import Sheet
from planner.storage import desk
from planner.units import System


@click.command("record")
@plan_argument
@run_options()
@click.option(
    "--really",
    multiple=True,
    metavar="KNOB:CORNER:AMOUNT",
    help="what the change before this run really was, if made was told otherwise",
)
@after_option
@view_options
def command(
    plan: Path,
    source: Path | None,
    row: int | None,
    really: tuple[str, ...],
    after: int | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Record the readings of a run, temperatures in the plan's unit."""
    seen = desk.open_plan(plan)
    system = seen.day.plan.units
    sheet = stated(source, row, system, given)
    run = run_entry.from_options(sheet.texts, system)
    corrections = [changes.parse(text, "--really") for text in really]
    before = seen.day.good
    asked = slips.questions(run.tires, before[-1].run.tires if before else None, system)
    opened = desk.step(
        plan, lambda day, at: moves.record(day, run, at, corrections), seen=seen, after=after
    )
    remarks = tuple(f"Look again: {question.says}" for question in asked)
    output.standing(opened, as_json=as_json, remarks=(*sheet.remarks, *remarks))


def stated(source: Path | None, row: int | None, system: System, given: Mapping[str, Any]) -> Sheet:
    """Return the options that were given, over those of a file, and remarks on the file."""
    if source is None and row is not None:
        raise Refusal(
            "usage", "--row goes with --from.", where="--row", hint="--from FILE.csv --row 2"
        )
    sheet = Sheet({}) if source is None else run_entry.from_file(source, system, row)
    typed = {key: value for key, value in given.items() if value not in ((), None)}
    return Sheet({**sheet.texts, **typed}, sheet.remarks)
