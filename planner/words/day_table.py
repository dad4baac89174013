"""The day at a glance, a row a run: what it showed, what was changed for that, what came of it.

A row says what a run shows, which change was really made, what it was expected to do and what came
of it, all by the values in force. A decision that rested on a value no longer in force carries a
mark, and every amendment has a row of its own; `why` with its step says what a decision was made on
and what is judged differently.
"""

from typing import Any

import attrs

from planner.advice.candidate import Candidate
from planner.advice.outlook import Outlook
from planner.advice.past import Past
from planner.car.changes import Change, moves_of
from planner.plan import amendments
from planner.plan.amendments import Rested
from planner.plan.day import Day, GoodRun
from planner.plan.steps import (
    AmendStep,
    CarStep,
    ChoiceStep,
    MadeStep,
    NoteStep,
    RunStep,
    TakenBackStep,
)
from planner.rulebook.rules import Rulebook
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import offers
from planner.words import runs as run_words


@attrs.frozen
class Answer:
    """A figure [degF] of a change: what was expected and what came; None where not known.

    Attributes
    ----------
    expected : from what was really made, or from what was chosen while it is not made yet.
    """

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
    shown : keys of the patterns that hold a stage by the values in force.
    void : why the run judges nothing, or ``""``.
    change : what was chosen, in words, riding trims included; `in_short` is what is really on the
        car, or what was chosen while it is not made yet.
    made : the parts as they really were, corrected since or not; empty where none was (yet).
    is_made : whether the change was made, even if nothing was changed.
    answers : the aimed-at figures, and beside them those that a change of the crew's own moves.
    verdict : what came of the change; None where that is not known (yet).
    came : the same in a few words.
    verdicts : and with riding trims that came out different.
    rested : marks of what the choice rested on that has been corrected since.
    """

    step: int
    time: str
    run: int | None = None
    stage: str = ""
    shown: tuple[str, ...] = ()
    void: str = ""
    change: str = ""
    in_short: str = ""
    made: tuple[Change, ...] = ()
    is_made: bool = False
    answers: tuple[Answer, ...] = ()
    verdict: str | None = None
    came: str = ""
    verdicts: str = ""
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
            "made": [change_words.in_words(change) for change in self.made],
            "figures": [attrs.asdict(answer) for answer in self.answers],
            "verdict": self.verdict,
            "verdict_words": self.verdicts,
            "rested_on": [mark.as_dict() for mark in self.rested],
        }


def rows(day: Day) -> tuple[Row, ...]:
    """Return the day as rows, in the order of its steps."""
    steps = day.plan.step
    found: list[Row] = []
    past = {each.step: each for each in day.past}
    marked = amendments.all_rested(steps)
    runs = run_at = chosen_at = 0
    for number, step in enumerate(steps, start=1):
        time = step.time.isoformat()
        in_force = day.steps[number - 1]
        if isinstance(in_force, RunStep):
            runs += 1
            found.append(_judged(Row(number, time, runs), in_force))
            run_at = len(found) - 1
        elif isinstance(step, AmendStep):
            date = amendment_words.on_another_day(steps, number)
            change = f"step {step.amends} corrected{f' on {date}' if date else ''}: {step.reason}"
            found.append(Row(number, time, change=change, in_short=change))
        elif isinstance(step, CarStep):
            found.append(Row(number, time, change="a car file was given", in_short="car file"))
        elif isinstance(step, NoteStep):
            said = f"note{'' if step.about is None else f' to step {step.about}'}: {step.note}"
            found.append(Row(number, time, change=said, in_short=said))
        elif isinstance(step, ChoiceStep):
            row, chosen_at = Row(number, time), len(found)
            if runs and not found[run_at].change:
                row, chosen_at = found[run_at], run_at
            found[chosen_at : chosen_at + 1] = [
                _with_choice(row, step, marked[number - 1], day.book)
            ]
        elif isinstance(step, TakenBackStep):
            row = found[chosen_at]
            found[chosen_at] = attrs.evolve(
                row,
                change=f"taken back: {row.change}",
                in_short=f"taken back: {row.in_short}",
                answers=(),
            )
        elif isinstance(step, MadeStep):
            found[chosen_at] = _with_made(found[chosen_at], past[number], day)
    return tuple(found)


def _judged(row: Row, run: RunStep) -> Row:
    """Return the row of a run with what the run showed, and the stage it led to by that."""
    if run.void is not None:
        return attrs.evolve(row, void=run_words.void(run.void))
    held = [pattern for pattern in run.patterns if pattern.holds]
    stage = next((pattern.stage for pattern in held if pattern.stage is not None), "confirm")
    return attrs.evolve(row, stage=stage, shown=tuple(each.key for each in held))


def _with_choice(row: Row, step: ChoiceStep, rested: tuple[Rested, ...], book: Rulebook) -> Row:
    row = attrs.evolve(row, stage=step.stage, rested=rested)
    if step.chosen is None:
        change = f"moved on: {step.reason}"
        return attrs.evolve(row, change=change, in_short=change)
    chosen = step.chosen
    foreseen = tuple(
        Answer(name, chosen.predicted[name].mean if name in chosen.predicted else None)
        for name in _told_of(chosen, book)
    )
    change = f"{offers.title(chosen)}{change_words.riding(chosen.changes)}"
    in_short = offers.in_short(chosen, chosen.changes)
    return attrs.evolve(row, change=change, in_short=in_short, answers=foreseen)


def _with_made(row: Row, past: Past, day: Day) -> Row:
    """Return the row of a change with what was really made, and what came of it."""
    made = tuple(each for each in past.made if each.amount)
    row = attrs.evolve(
        row,
        in_short=offers.in_short(past.candidate, made),
        made=made,
        is_made=True,
        answers=answers(past, day),
    )
    if past.outcome is None:
        return row
    return attrs.evolve(
        row,
        verdict=past.outcome.verdict,
        came=change_words.came(past),
        verdicts=change_words.verdicts(past, day.book),
    )


def answers(past: Past, day: Day) -> tuple[Answer, ...]:
    """Return what was to be expected of a change as it was really made, and what came of it.

    What the change is judged by comes first; figures beside that have no verdict.
    """
    found = {name: Answer(name) for name in _told_of(past.candidate, day.book)}
    judged = () if past.outcome is None else past.outcome.figures
    if past.beside:  # what another change was for, which the same run judged, stands beside that
        judged = tuple(part for part in judged if part.figure in found)
    for part in judged:
        found[part.figure] = Answer(
            part.figure, part.expected, part.before, part.after, part.verdict
        )
    beside = tuple(name for name in found if name not in {part.figure for part in judged})
    runs = sum(good.step < past.step for good in day.good)
    if not runs or not past.is_made or not beside:
        return tuple(found.values())
    after = Outlook(day.known_by(runs), day.book).after(beside, moves_of(past.made))
    for name in beside:
        found[name] = Answer(name, after[name].mean)
        if judged:
            before, came = (_read(day.good[at], name) for at in (runs - 1, runs))
            found[name] = attrs.evolve(found[name], before=before, came=came)
    return tuple(found.values())


def _read(run: GoodRun, name: str) -> float | None:
    """Return a figure of a run; None where it was not read."""
    return run.figures[name] if run.figures.is_known(name) else None


def _told_of(candidate: Candidate, book: Rulebook) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*candidate.aimed(book), *candidate.foretold(book))))
