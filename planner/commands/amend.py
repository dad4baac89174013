"""``treadgate amend``: corrects a wrong entry without losing the old one."""

from pathlib import Path
from typing import Any

import click

from planner.commands import kinds
from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import change_option, reason_option, run_given, run_options
from planner.plan import wrong_entries
from planner.plan.amendments import Which
from planner.plan.steps import AmendStep
from planner.run import slips
from planner.run.slips import Question
from planner.storage import planfile
from planner.words import csv_file as csv_words
from planner.words import slips as slip_words


@plan_command("amend", moves=True)
@click.argument("step", metavar="STEP", type=kinds.Step())
@run_options(amending=True)
@change_option("--actual", "what was really changed, for a change that was made; may be repeated")
@reason_option("how the mistake came to light; required")
def command(
    on: OnPlan,
    step: Which,
    source: Path | None,
    row: int | None,
    actual: tuple[tuple[str, str, float], ...],
    reason: str,
    **typed: Any,
) -> None:
    """Correct the entry of STEP: a run, or what was really changed; --reason is required.

    STEP is the number of a step, or a run by its own number: run3.

    Only what you give changes; the word none takes a value away (--flag none, --cold LF=none). The
    first entry stays in the plan, and choices that rested on it are marked.
    """
    system = planfile.load(on.path).units
    given = run_given(source, row, system, typed)
    opened = on.move(wrong_entries.move(step, given.texts, actual, reason, system))
    new = opened.day.plan.step[-1]
    assert isinstance(new, AmendStep)
    asked: tuple[Question, ...] = ()
    if new.run is not None and "tire" in given.texts:
        asked = wrong_entries.questions_again(opened.day, new.amends, new.run)
    pressures = slips.pressures(new.run) if new.run is not None else ()
    times = new.run.lap_times if new.run is not None and "lap_times" in given.texts else ()
    doubts = slip_words.in_doubt(asked, pressures, on.path, new.amends, system, times)
    on.stands(
        opened,
        remarks=[csv_words.says(each) for each in given.remarks],
        doubts=doubts,
        tell_last=True,
    )
