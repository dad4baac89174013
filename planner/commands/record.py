"""``treadgate record``: stores the readings of a run."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from planner.car import changes
from planner.commands import output
from planner.commands.options import after_option, plan_argument, run_options, view_options
from planner.plan import moves, wrong_entries
from planner.run import from_options
from planner.run.from_options import Sheet
from planner.storage import plans
from planner.trade.refusals import Refusal
from planner.trade.units import System


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
    seen = plans.open_plan(plan)
    system = seen.day.plan.units
    sheet = stated(source, row, system, given)
    run = from_options.from_options(sheet.texts, system)
    corrections = [changes.parse(text, "--really") for text in really]
    day = seen.day
    # A run that is out of turn, or cannot be true, is refused below.
    due = day.due == "run"
    asked = wrong_entries.questions(day, run.tires) if due else ()
    pressures = wrong_entries.air_questions(day, run) if due else ()
    opened = plans.step(
        plan, lambda day, at: moves.record(day, run, at, corrections), seen=seen, after=after
    )
    step = len(opened.day.plan.step)
    doubts = wrong_entries.in_doubt(asked, pressures, opened.path, step, system, run.lap_times)
    output.standing(opened, as_json=as_json, remarks=sheet.remarks, doubts=doubts)


def stated(source: Path | None, row: int | None, system: System, given: Mapping[str, Any]) -> Sheet:
    """Return the options that were given, over those of a file, and remarks on the file."""
    if source is None and row is not None:
        raise Refusal(
            "usage", "--row goes with --from.", where="--row", hint="--from FILE.csv --row 2"
        )
    sheet = Sheet({}) if source is None else from_options.from_file(source, system, row)
    typed = {key: value for key, value in given.items() if value not in ((), None)}
    return Sheet({**sheet.texts, **typed}, sheet.remarks)
