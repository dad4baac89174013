"""What is new in a plan since somebody looked at it, in words."""

from collections.abc import Sequence

from planner.plan.steps import (
    AmendStep,
    CarStep,
    ChoiceStep,
    MadeStep,
    NoteStep,
    Plan,
    RunStep,
    Step,
    TakenBackStep,
)
from planner.storage import plan_tables
from planner.trade import plain_text
from planner.words import offers

MOST = 4  # steps that are told one by one


def since(before: Plan, now: Plan) -> str:
    """Say what has changed.

    Parameters
    ----------
    before : the plan as it was seen; only its steps and when it was begun are compared.
    now : the plan as it is.
    """
    if before.created != now.created:
        return "It is the plan of another day now."
    known = len(before.step)
    if len(now.step) < known:
        return f"It holds {steps(len(now.step))} now, where it held {known}."
    for number, (old, new) in enumerate(zip(before.step, now.step, strict=False), 1):
        if plan_tables.step(old) != plan_tables.step(new):
            return f"Step {number}, {in_words(new)}, is different now."
    return since_step(known, now) or "Something other than its steps was changed."


def since_step(known: int, now: Plan) -> str:
    """Say what was recorded after so many steps, or ``""``."""
    new = now.step[known:]
    if not new:
        return ""
    told = [f"step {known + i}, {in_words(step)}" for i, step in enumerate(new[:MOST], 1)]
    more = f"; and {len(new) - MOST} more" if len(new) > MOST else ""
    return f"Recorded since then: {'; '.join(told)}{more}."


def lost(before: Plan, now: Plan) -> bool:
    """Say whether steps that were there are not there any more."""
    return before.created != now.created or len(now.step) < len(before.step)


def in_words(step: Step) -> str:
    """Return a step in a few words, with its time of day."""
    return f"{_kind(step)} at {step.time:%H:%M}"


def steps(count: int) -> str:
    """Return ``1 step``, ``2 steps``."""
    return plain_text.counted(count, "step")


def numbered(known: Sequence[Step]) -> list[str]:
    """Return every step in a line, with its number."""
    return [f"{number}. {in_words(step)}" for number, step in enumerate(known, 1)]


def _kind(step: Step) -> str:
    if isinstance(step, RunStep):
        return "a run that judges nothing" if step.void else "a run"
    if isinstance(step, ChoiceStep):
        return "moving on" if step.chosen is None else f"a choice ({offers.title(step.chosen)})"
    if isinstance(step, TakenBackStep):
        return "a choice taken back"
    if isinstance(step, MadeStep):
        return "the change made"
    if isinstance(step, NoteStep):
        return "a note"
    if isinstance(step, CarStep):
        return "a car file"
    assert isinstance(step, AmendStep)
    return f"step {step.amends} corrected"
