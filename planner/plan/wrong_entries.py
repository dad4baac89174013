"""Wrong entries: what looks like one to the day, and the move that corrects one."""

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from planner.judging import pressures
from planner.plan import moves
from planner.plan.amendments import Which
from planner.plan.day import Day, moved_since_last_good
from planner.plan.steps import MadeStep, RunStep
from planner.run import from_options, slips
from planner.run.readings import Run
from planner.run.slips import AirQuestion, Question
from planner.trade import units
from planner.trade.corners import CORNERS, Corner, Three, reading_order
from planner.trade.estimate import Estimate
from planner.trade.figures import standard_error
from planner.trade.refusals import Refusal

Move = Callable[[Day, datetime], Day]


def move(
    which: Which,
    texts: Mapping[str, Any],
    actual: Sequence[tuple[str, str, float]],
    reason: str,
    system: units.System,
) -> Move:
    """Return the move that corrects a step by what was typed.

    Parameters
    ----------
    which : the step.
    texts : what a run should have been, as for `run_entry.amended`.
    actual : (knob, place, amount) of what was really changed.

    Raises
    ------
    Refusal
        Nothing is given, or both.
    """
    if texts and actual:
        raise Refusal(
            "usage",
            "--actual corrects a change, the other options a run; one step is not both.",
            where="--actual",
            hint="amend one step at a time",
        )
    if not texts and not actual:
        raise Refusal(
            "nothing-given",
            "Say what it should have been.",
            where="treadgate amend",
            hint="--tire RF=205/212/209, --flag none, or --actual pressure:RF:-1.0",
        )

    def correct(run: Run) -> Run:
        return from_options.amended(run, texts, system)

    def put(day: Day, at: datetime) -> Day:
        number = which.among(day.plan.step)
        if actual:
            return moves.amend_made(day, number, actual, reason, at)
        return moves.amend_run(day, number, correct, reason, at)

    return put


def questions(day: Day, tires: Mapping[Corner, Three]) -> tuple[Question, ...]:
    """Return what should be asked about the readings of the run that is due."""
    before = day.good[-1].run.tires if day.good else None
    return slips.questions(tires, before, day.plan.units, _usual_splits(day, tires))


def air_questions(day: Day, run: Run) -> tuple[AirQuestion, ...]:
    """Return what should be asked about the pressures of the run that is due."""
    known = _cold_by_plan(day) if run.cold or run.hot else {}
    return slips.pressures(run, known) or pressures.questions(
        run, known, reading_order(day.plan.turns)
    )


def _usual_splits(day: Day, tires: Mapping[Corner, Three]) -> dict[Corner, Estimate]:
    """Return what the splits should read, from all runs so far and what was changed."""
    if not day.good:
        return {}
    known, since = day.known, moved_since_last_good(day)
    found = {}
    for corner in tires:
        true = known.estimate(f"split.{corner}", moved=since)
        error = standard_error(f"split.{corner}", known.priors.noise)
        found[corner] = Estimate(true.mean, math.hypot(true.sd, error))
    return found


def _cold_by_plan(day: Day) -> dict[Corner, float]:
    """Return the cold pressures by the plan, or as last read with what was changed since [psi]."""
    found = {}
    for corner in CORNERS:
        setting = ("pressure", corner)
        if setting in day.settings:
            found[corner] = day.settings[setting]
            continue
        added = 0.0
        for step in reversed(day.steps):
            if isinstance(step, MadeStep):
                added += sum(each.amount for each in step.changes if each.setting == setting)
            elif isinstance(step, RunStep) and corner in step.run.cold:
                found[corner] = step.run.cold[corner] + added
                break
    return found
