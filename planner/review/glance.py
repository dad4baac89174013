"""The day at a glance, a row a run: what it showed, what was changed for that, what came of it.

The rows tell the day as it went, but a change as it really was made. A choice that rested on a
number put right since carries a mark, and every amendment has a row of its own; `why` with its step
tells what is judged otherwise.
"""

from typing import Any

import attrs

from planner import amends
from planner.amends import Rested
from planner.changes import Change
from planner.day import Day
from planner.outcome import Outcome
from planner.plan import AmendStep, ChoiceStep, MadeStep, RunStep, TakenBackStep
from planner.review import story


@attrs.frozen
class Answer:
    """An aimed-at figure [degF]: what was expected and what came; None where not known."""

    figure: str
    expected: float | None = None
    before: float | None = None
    came: float | None = None
    verdict: str | None = None


@attrs.frozen
class Row:
    """A run with the choice made on it; further choices on the same run have rows of their own.

    Attributes
    ----------
    step : of the run, of the choice in a further row, or of an amendment.
    run : number of the run; None in a further row.
    stage : that the choice was made in, or that the run led to.
    shown : keys of the patterns that held a stage.
    void : why the run judges nothing, or ``""``.
    change : what was chosen, in words, riding trims included.
    made : the parts as they really were, put right since or not; empty where none was (yet).
    is_made : whether the change was made, were it with nothing changed.
    answers : the aimed-at figures.
    verdict : what came of the change; None where that is not known (yet).
    rested : marks of what the choice rested on that has been put right since.
    """

    step: int
    time: str
    run: int | None = None
    stage: str = ""
    shown: tuple[str, ...] = ()
    void: str = ""
    change: str = ""
    made: tuple[Change, ...] = ()
    is_made: bool = False
    answers: tuple[Answer, ...] = ()
    verdict: str | None = None
    rested: tuple[Rested, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return the row as it goes into JSON."""
        return {
            "step": self.step,
            "time": self.time,
            "run": self.run,
            "stage": self.stage,
            "shown": list(self.shown),
            "void": self.void,
            "change": self.change,
            "made": [str(change) for change in self.made],
            "figures": [attrs.asdict(answer) for answer in self.answers],
            "verdict": self.verdict,
            "rested_on": [mark.as_dict() for mark in self.rested],
        }


def rows(day: Day) -> tuple[Row, ...]:
    """Return the day as rows, in the order of its steps."""
    steps = day.plan.step
    outcomes = {
        step.outcome.step: step.outcome
        for step in steps
        if isinstance(step, RunStep) and step.outcome is not None
    }
    found: list[Row] = []
    really = {past.step: past.made for past in day.past}
    marked = amends.all_rested(steps)
    runs = chosen_at = 0
    for number, step in enumerate(steps, start=1):
        time = step.time.isoformat()
        if isinstance(step, RunStep):
            runs += 1
            shown = tuple(p.key for p in step.patterns if p.holds)
            row = Row(number, time, runs, _led_to(step), shown, step.void)
            found.append(attrs.evolve(row, rested=marked[number - 1]))
        elif isinstance(step, AmendStep):
            found.append(Row(number, time, change=f"step {step.amends} put right: {step.reason}"))
        elif isinstance(step, ChoiceStep):
            row = found.pop() if found[-1].run and not found[-1].change else Row(number, time)
            found.append(_with_choice(row, step, marked[number - 1]))
            chosen_at = len(found) - 1
        elif isinstance(step, TakenBackStep):
            row = found[chosen_at]
            found[chosen_at] = attrs.evolve(row, change=f"taken back: {row.change}", answers=())
        elif isinstance(step, MadeStep):
            made = tuple(each for each in really.get(number, step.changes) if each.amount)
            found[chosen_at] = _with_made(found[chosen_at], made, outcomes.get(number))
    return tuple(found)


def _led_to(step: RunStep) -> str:
    """Return the stage a run led to, by what it showed."""
    if step.void:
        return ""
    return next((p.stage for p in step.patterns if p.holds and p.stage is not None), "confirm")


def _with_choice(row: Row, step: ChoiceStep, rested: tuple[Rested, ...]) -> Row:
    if step.chosen is None:
        change = f"moved on: {step.reason}"
        return attrs.evolve(row, stage=step.stage, change=change, rested=rested)
    chosen = step.chosen
    names = dict.fromkeys(name for aim in chosen.aims for name in aim.figures)
    answers = tuple(
        Answer(name, chosen.predicted[name].mean if name in chosen.predicted else None)
        for name in names
    )
    change = f"{chosen.title}{story.riding(chosen.changes)}"
    return attrs.evolve(row, stage=step.stage, change=change, answers=answers, rested=rested)


def _with_made(row: Row, made: tuple[Change, ...], outcome: Outcome | None) -> Row:
    if outcome is None:
        return attrs.evolve(row, made=made, is_made=True)
    by_name = {part.figure: part for part in outcome.figures}
    expected = {answer.figure: answer.expected for answer in row.answers}
    answers = tuple(
        Answer(name, expected.get(name), part.before, part.after, part.verdict)
        for name, part in by_name.items()
    )
    left = tuple(answer for answer in row.answers if answer.figure not in by_name)
    return attrs.evolve(
        row, made=made, is_made=True, answers=(*answers, *left), verdict=outcome.verdict
    )
