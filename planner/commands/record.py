"""``treadgate record``: stores the readings of a run."""

import shlex
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import click

from planner import changes, moves, run_entry, slips, units
from planner.commands import output
from planner.commands.options import after_option, plan_argument, run_options, view_options
from planner.errors import Refusal
from planner.run_entry import Sheet
from planner.slips import Question
from planner.storage import desk
from planner.storage.desk import Opened
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
    doubts = in_doubt(asked, slips.pressures(run), len(opened.day.plan.step), opened)
    output.standing(opened, as_json=as_json, remarks=sheet.remarks, doubts=doubts)


def in_doubt(
    asked: Iterable[Question], pressures: Iterable[str], step: int, opened: Opened
) -> tuple[str, ...]:
    """Return what may be a slip in a run that is stored, each with what puts it right."""
    plan = shlex.quote(str(opened.path))
    system = opened.day.plan.units
    found = []
    for question in asked:
        read = question.instead
        values = (
            ("inner", "middle", "outer")
            if read is None
            else [f"{units.in_plan_unit(value, system):g}" for value in read]
        )
        found.append((question.says, f"--tire {question.corner}={'/'.join(values)}"))
    found += [(says, "--hot or --cold") for says in pressures]
    return tuple(
        f"{says}. If it is a slip: treadgate amend {plan} {step} {option} --reason slip"
        for says, option in found
    )


def stated(source: Path | None, row: int | None, system: System, given: Mapping[str, Any]) -> Sheet:
    """Return the options that were given, over those of a file, and remarks on the file."""
    if source is None and row is not None:
        raise Refusal(
            "usage", "--row goes with --from.", where="--row", hint="--from FILE.csv --row 2"
        )
    sheet = Sheet({}) if source is None else run_entry.from_file(source, system, row)
    typed = {key: value for key, value in given.items() if value not in ((), None)}
    return Sheet({**sheet.texts, **typed}, sheet.remarks)
