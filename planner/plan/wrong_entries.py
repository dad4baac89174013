"""Wrong entries: what looks like one to the day, and the move that corrects one."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from planner.judging import pressures
from planner.learning import levels
from planner.plan import moves
from planner.plan.amendments import Which
from planner.plan.day import Day, moved_since_last_good
from planner.plan.steps import MadeStep, RunStep
from planner.run import from_options, slips
from planner.run.readings import Run
from planner.run.slips import AirQuestion, Question
from planner.trade import knobs, units
from planner.trade.corners import CORNERS, Corner, Three, reading_order, was_read
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


def questions(day: Day, tires: Mapping[Corner, Three], named: str = "") -> tuple[Question, ...]:
    """Return what should be asked about the readings of a run recorded after the day so far.

    Parameters
    ----------
    named : the set of tires it was on, if that was said.

    A strip that cannot be is asked about first: until it is settled its tire says nothing.
    """
    before = day.good[-1].run.tires if day.good else None
    found = slips.questions(tires, before, day.plan.units)
    read = [value for tire in tires.values() for value in tire if was_read(value)]
    if not day.good or len(read) < 12 or any(q.odd != "far-from-last" for q in found):
        return found
    from planner.learning import mistyped

    last = day.good[-1].level
    level = levels.displaced({**last, knobs.SET: named.casefold() or day.tires.on}, last)
    moved = mistyped.questions(day.known, moved_since_last_good(day) | level, tires)
    settled = {corner for question in moved for corner in question.corners}
    return (*moved, *(question for question in found if question.corner not in settled))


def questions_again(day: Day, number: int, run: Run) -> tuple[Question, ...]:
    """Return what should be asked about the readings of a run that is corrected.

    Parameters
    ----------
    number : of its step.
    run : as it is now.
    """
    return questions(day.at(number - 1), run.tires, run.set)


def air_questions(day: Day, run: Run) -> tuple[AirQuestion, ...]:
    """Return what should be asked about the pressures of the run that is due."""
    known = _cold_by_plan(day) if run.cold or run.hot else {}
    return slips.pressures(run, known) or pressures.questions(
        run, known, reading_order(day.plan.turns)
    )


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
