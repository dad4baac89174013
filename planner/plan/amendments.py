"""Amendments: wrong entries corrected later, without losing what was recorded first.

An amendment is a step of its own (`plan.AmendStep`). The step it amends stays in the file as it was
recorded; from the amendment on, the value *in force* is the amended one: in the settings, in the
figures, in what is learned. What was decided in between stays as it was decided, and is marked: a
choice, a change made or the judgement of a run *rested* on a step when the value in force then is
not the one in force now. If a value goes back to what it was, the mark goes away.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

import attrs

from planner.car import changes as changing
from planner.car.changes import Change
from planner.plan.steps import (
    AmendStep,
    CarStep,
    ChoiceStep,
    Judged,
    MadeStep,
    NoteStep,
    RunStep,
    Step,
    TakenBackStep,
)
from planner.run.readings import Run
from planner.trade.refusals import Refusal

Value = Run | tuple[Change, ...]


@attrs.frozen
class Which:
    """A step as a crew names it: by its own number, or a run by the number of the run."""

    number: int
    is_run: bool = False

    def among(self, steps: Sequence[Step]) -> int:
        """Return the number of the step.

        Raises
        ------
        Refusal
            There is no run of that number. (Whether there is such a step is checked elsewhere.)
        """
        if not self.is_run:
            return self.number
        runs = [n for n, step in enumerate(steps, start=1) if isinstance(step, RunStep)]
        if not 1 <= self.number <= len(runs):
            known = f"runs 1 to {len(runs)}" if runs else "no runs yet"
            raise Refusal(
                "no-run",
                f"There is no run {self.number}; the plan has {known}.",
                where="STEP",
                hint="treadgate why PLAN",
            )
        return runs[self.number - 1]


@attrs.frozen
class Rested:
    """A decision rested on a step whose value has been corrected since.

    Attributes
    ----------
    step : the step rested on.
    by : the amendment that corrected it.
    then : the amendment in force when it was decided; None for what was recorded first.
    """

    step: int
    by: int
    then: int | None = None

    def as_dict(self) -> dict[str, int | None]:
        """Return the mark as it goes into JSON."""
        return {"step": self.step, "amended_by": self.by, "as_of": self.then}


def in_place(steps: Sequence[Step], amend: AmendStep) -> list[Step]:
    """Return the steps with an amended value in its place.

    Parameters
    ----------
    steps : before the amendment, with earlier amendments in place.

    Notes
    -----
    The amended change is the whole of it, so what the run after it said of that change
    (``really``) is part of it and is not applied once more.
    """
    changed = list(steps)
    index = amend.amends - 1
    step = changed[index]
    if isinstance(step, RunStep) and amend.run is not None:
        changed[index] = attrs.evolve(step, run=amend.run)
    elif isinstance(step, MadeStep):
        changed[index] = attrs.evolve(step, changes=amend.changes)
        for later in range(index + 1, len(changed)):
            each = changed[later]
            if isinstance(each, MadeStep):
                break
            if isinstance(each, RunStep):
                changed[later] = attrs.evolve(each, really=())
    return changed


def weighs(steps: Sequence[Step], amend: AmendStep) -> bool:
    """Say whether an amendment changes anything that decisions rest on.

    Parameters
    ----------
    steps : before it, as recorded.
    """
    *_, (_, was) = _values(steps, amend.amends)
    return _weighs(was) != _weighs(_amended(amend))


def _amended(amend: AmendStep) -> Value:
    return amend.changes if amend.run is None else amend.run


def last_run(steps: Sequence[Step]) -> int:
    """Return the number of the last run; 0 when there is none."""
    runs = (n for n in range(len(steps), 0, -1) if isinstance(steps[n - 1], RunStep))
    return next(runs, 0)


def last_choice(steps: Sequence[Step]) -> int:
    """Return the number of the last choice; 0 when there is none."""
    choices = (n for n in range(len(steps), 0, -1) if isinstance(steps[n - 1], ChoiceStep))
    return next(choices, 0)


def stage_stands(steps: Sequence[Step]) -> bool:
    """Say whether the stage stays as it is, whatever the corrected last run shows.

    It does if a change has been chosen after that run and not taken back, or if the crew has ended
    the day.
    """
    stands = False
    for step in steps[last_run(steps) :]:
        if isinstance(step, ChoiceStep):
            stands = step.chosen is not None or step.stage == "confirm"
        elif isinstance(step, TakenBackStep):
            stands = False
    return stands


def amendable(steps: Sequence[Step], number: int) -> RunStep | MadeStep:
    """Return the step of that number, when it is one that can be amended.

    Raises
    ------
    Refusal
        There is no such step, or it records a decision or an amendment.
    """
    refuse_unknown(steps, number)
    step = steps[number - 1]
    if isinstance(step, RunStep | MadeStep):
        return step
    if isinstance(step, NoteStep):
        raise Refusal(
            "not-amendable",
            f"Step {number} is a note: it stays as it was written.",
            where="STEP",
            hint=f'treadgate note PLAN "..." --about {number} adds to it',
        )
    if isinstance(step, CarStep):
        raise Refusal(
            "not-amendable",
            f"Step {number} is a car file: it stays as it was given.",
            where="STEP",
            hint="treadgate car PLAN CAR.toml takes another one",
        )
    if isinstance(step, AmendStep):
        raise Refusal(
            "not-amendable",
            f"Step {number} is itself an amendment, of step {step.amends}.",
            where="STEP",
            hint=f"amend step {step.amends} once more",
        )
    raise Refusal(
        "not-amendable",
        f"Step {number} is a decision and stays as it was made.",
        where="STEP",
        hint="amend the run it rested on, or the change made after it",
    )


def refuse_unknown(steps: Sequence[Step], number: int | None) -> None:
    """Refuse the number of a step that is not there; None is any.

    Raises
    ------
    Refusal
        There is no such step.
    """
    if number is not None and not 1 <= number <= len(steps):
        known = f"steps 1 to {len(steps)}" if steps else "no steps yet"
        raise Refusal(
            "no-step",
            f"There is no step {number}; the plan has {known}.",
            where="STEP",
            hint="treadgate why PLAN",
        )


def rested(steps: Sequence[Step], number: int) -> tuple[Rested, ...]:
    """Return what a step rested on that has been corrected since.

    Parameters
    ----------
    steps : of the plan, as recorded.
    number : of a run, choice or made step; amendments rest on nothing.
    """
    idle = isinstance(steps[number - 1], AmendStep | NoteStep | CarStep)
    return () if idle else _rested(_put_right(steps), number)


def all_rested(steps: Sequence[Step]) -> tuple[tuple[Rested, ...], ...]:
    """Return `rested` of every step, the first one's first."""
    values = _put_right(steps)
    return tuple(
        () if isinstance(step, AmendStep | NoteStep | CarStep) else _rested(values, number)
        for number, step in enumerate(steps, start=1)
    )


def _put_right(steps: Sequence[Step]) -> dict[int, list[tuple[int, object]]]:
    """Return what decisions rest on for every amended step, as `_values` yields it."""
    amended = dict.fromkeys(step.amends for step in steps if isinstance(step, AmendStep))
    return {n: [(at, _weighs(value)) for at, value in _values(steps, n)] for n in amended}


def _rested(values: Mapping[int, Sequence[tuple[int, object]]], number: int) -> tuple[Rested, ...]:
    found = []
    for amended, each in values.items():
        if amended >= number:
            continue
        # A run that itself corrects the change before it is judged with that correction.
        then = [value for value in each if value[0] <= number][-1]
        now = each[-1]
        if then[1] != now[1]:
            first = then[0] == amended
            found.append(Rested(amended, now[0], None if first else then[0]))
    return tuple(found)


def amended_by(steps: Sequence[Step], number: int) -> tuple[int, ...]:
    """Return the numbers of the amendments of a step, oldest first."""
    return tuple(
        n
        for n, step in enumerate(steps, start=1)
        if isinstance(step, AmendStep) and step.amends == number
    )


def on_another_day(steps: Sequence[Step], number: int) -> date | None:
    """Return the date of an amendment made on another day than the step it amends."""
    amend = steps[number - 1]
    assert isinstance(amend, AmendStep)
    day = amend.time.date()
    return None if day == steps[amend.amends - 1].time.date() else day


def before(steps: Sequence[Step], number: int) -> Value:
    """Return the value in force just before an amendment, as the steps record it."""
    amend = steps[number - 1]
    assert isinstance(amend, AmendStep)
    return [value for at, value in _values(steps, amend.amends) if at < number][-1]


def judged_before(number: int, steps: Sequence[Step]) -> Judged | RunStep:
    """Return how a run, given by the number of its step, was last judged."""
    found = steps[number - 1]
    assert isinstance(found, RunStep)
    again = [
        judged
        for step in steps
        if isinstance(step, AmendStep)
        for judged in step.judged
        if judged.step == number
    ]
    return again[-1] if again else found


def _values(steps: Sequence[Step], number: int) -> Iterator[tuple[int, Value]]:
    """Yield (step that put it in force, value) of an amended step, oldest first."""
    step = steps[number - 1]
    assert isinstance(step, RunStep | MadeStep)
    value: Value = step.run if isinstance(step, RunStep) else step.changes
    yield number, value
    latest = isinstance(step, MadeStep)  # no later change was made yet
    for at, each in enumerate(steps[number:], start=number + 1):
        if isinstance(each, MadeStep):
            latest = False
        elif isinstance(each, AmendStep) and each.amends == number:
            value = _amended(each)
            yield at, value
        elif isinstance(each, RunStep) and each.really and latest:
            assert not isinstance(value, Run)
            kept = {change.setting: change for change in value}
            value = tuple((kept | {change.setting: change for change in each.really}).values())
            yield at, value


def _weighs(value: Value) -> object:
    """Return the part of a value that decisions rest on: all but the note; a change's sizes."""
    if isinstance(value, Run):
        return attrs.evolve(value, note="")
    return {change.setting: changing.tidy(change.amount) for change in value if change.amount}
