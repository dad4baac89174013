"""``treadgate record``: stores the readings of a run."""

from pathlib import Path
from typing import Any

from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import change_option, run_given, run_options
from planner.plan import moves, wrong_entries
from planner.run import from_options
from planner.storage import plans
from planner.words import csv_file as csv_words
from planner.words import slips as slip_words


@plan_command("record", moves=True)
@run_options()
@change_option("--really", "what the change before this run really was, if made was told otherwise")
def command(
    on: OnPlan,
    source: Path | None,
    row: int | None,
    really: tuple[tuple[str, str, float], ...],
    **typed: Any,
) -> None:
    """Record the readings of a run, temperatures in the plan's unit.

    Where a choice is due: of the car run once more, unchanged.
    """
    seen = plans.open_plan(on.path)
    day, system = seen.day, seen.day.plan.units
    given = run_given(source, row, system, typed)
    run = from_options.from_options(given.texts, system)
    # A run that is out of turn, or cannot be true, is refused below.
    due = day.due in ("run", "choice")
    asked = wrong_entries.questions(day, run.tires, run.set) if due else ()
    pressures = wrong_entries.air_questions(day, run) if due else ()
    opened = on.move(lambda day, at: moves.record(day, run, at, really), seen)
    step = len(opened.day.plan.step)
    doubts = slip_words.in_doubt(asked, pressures, opened.path, step, system, run.lap_times)
    on.stands(opened, remarks=[csv_words.says(each) for each in given.remarks], doubts=doubts)
