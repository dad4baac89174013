"""Where the plan went from a step, and what sent it there, from the trail of the machine."""

from typing import Literal

import attrs

from planner.judging.patterns import Pattern
from planner.plan import amendments
from planner.plan.day import Day
from planner.plan.machine import Place
from planner.plan.steps import (
    AmendStep,
    CarStep,
    ChoiceStep,
    MadeStep,
    NoteStep,
    RunStep,
    TakenBackStep,
)
from planner.plan.unjudged import Unjudged, unjudged
from planner.rulebook.rules import TUNING_ORDER
from planner.run.readings import Void
from planner.trade.numbers import enough

Kind = Literal[
    "same-run-due",
    "same-choice-due",
    "complete",
    "new-round",
    "confirm-again",
    "to-confirm",
    "same-stage",
    "back",
    "on",
    "as-before-the-choice",
    "stands",
    "moved",
]


@attrs.frozen
class Way:
    """Where the plan went from a step.

    Attributes
    ----------
    kind : how it got there.
    place : where the machine stood afterwards.
    shown : the patterns that sent it there, as ``id:corner``.
    left : the patterns left as they are, where it went to confirm or to the end in spite of them.
    void : why the run judges nothing.
    worse : patterns left as they were that the run shows clearly worse.
    expected_out : faults expected after a run that shows none but does not end the day.
    enough : faults with which the day may end.
    unjudged : what no run has read by then, where it went to confirm or to the end.
    """

    kind: Kind
    place: Place
    shown: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    void: Void | None = None
    worse: tuple[str, ...] = ()
    expected_out: float | None = None
    enough: float = 0.0
    unjudged: Unjudged | None = None


def way(day: Day, number: int) -> Way | None:
    """Return where the plan went from a step; None from a change chosen or made, and a note.

    Parameters
    ----------
    number : of the step.
    """
    step = day.plan.step[number - 1]
    before, after = (day.trail[each] for each in (number - 1, number))
    there = after.place
    if isinstance(step, MadeStep | NoteStep | CarStep) or (
        isinstance(step, ChoiceStep) and step.chosen is not None
    ):
        return None
    if isinstance(step, TakenBackStep):
        return Way("as-before-the-choice", there)
    if isinstance(step, AmendStep):
        return Way("stands" if before.place == there else "moved", there)
    if isinstance(step, RunStep) and step.void is not None:
        again: Kind = "same-choice-due" if there.due == "choice" else "same-run-due"
        return Way(again, there, void=step.void)
    shown = tuple(
        p.key
        for p in _patterns(day, number)
        if p.holds and p.stage == there.stage and p.key not in after.left
    )
    worse = step.worse if isinstance(step, RunStep) else ()
    left = _left(day, number) if there.stage in ("confirm", "complete") else ()
    expected = None
    runs = [run for run in day.good if run.step <= number]
    if isinstance(step, RunStep) and there.stage == "confirm":
        expected = amendments.judged_before(number, day.plan.step[:number]).expected_out
    return Way(
        _kind(before.place, there),
        there,
        shown,
        left,
        worse=worse,
        expected_out=expected,
        enough=enough(day.plan.certainty),
        unjudged=unjudged(day, runs) if there.stage in ("confirm", "complete") else None,
    )


def _kind(before: Place, after: Place) -> Kind:
    order = (*TUNING_ORDER, "confirm")
    if after.stage == "complete":
        return "complete"
    if after.round > before.round:
        return "new-round"
    if after.stage == "confirm":
        return "confirm-again" if before.stage == "confirm" else "to-confirm"
    if after.stage == before.stage:
        return "same-stage"
    return "back" if order.index(after.stage) < order.index(before.stage) else "on"


def _left(day: Day, number: int) -> tuple[str, ...]:
    """Return the patterns left as they are that still showed at a step."""
    left = day.trail[number].left
    return tuple(sorted(p.key for p in _patterns(day, number) if p.holds and p.key in left))


def _patterns(day: Day, number: int) -> tuple[Pattern, ...]:
    """Return what the last run up to a step that judges the setup showed, as judged by then."""
    steps = day.plan.step[:number]
    runs = (at for at in range(number, 0, -1) if isinstance(steps[at - 1], RunStep))
    judged = (amendments.judged_before(at, steps) for at in runs)
    return next((each.patterns for each in judged if not each.void), ())
