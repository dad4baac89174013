"""An earlier entry put right, from any question about what is due."""

import re
from collections.abc import Iterator
from typing import Any

import attrs
from rich.console import RenderableType

from planner.car import changes
from planner.car.changes import Change
from planner.guide import extras
from planner.guide.prompts import Back
from planner.guide.session import Bench
from planner.plan import amendments, wrong_entries
from planner.plan.amendments import Which
from planner.plan.steps import MadeStep, RunStep
from planner.plan.wrong_entries import Move
from planner.run import slips
from planner.screen import car_view, paper, story_view
from planner.storage import planfile
from planner.trade.refusals import Refusal
from planner.words import story

TOLD = "put an earlier entry right: amend, amend 3, amend run 2, amend RF 205 212 209"

_STEP = re.compile(r"(?:(step|run)\b\s*)?(\d+)?(?=\s|$)\s*(.*)", re.IGNORECASE)


class PutRight(Exception):
    """An entry was put right: what is due is to be looked at again."""


@attrs.frozen
class _Entry:
    """The step that is put right, with what is in force."""

    number: int
    name: str
    in_force: RunStep | MadeStep
    made: tuple[Change, ...] = ()


def asked_for(answer: str) -> bool:
    """Say whether an answer asks to put an entry right."""
    return answer.lower().partition(" ")[0] == "amend"


def take(bench: Bench, answer: str) -> None:
    """Ask which entry was wrong and what it should have been, show it, and store it.

    Returns where the crew thinks better of it.

    Raises
    ------
    PutRight
        It is stored, or the plan is not the one any more that was looked at.
    Refusal
        There is nothing to put right, or what came with the word cannot be used.
    """
    entries = _entries(bench)
    if not entries:
        raise Refusal("no-step", "Nothing is recorded yet, so there is nothing to put right.")
    try:
        entry, words = _which(bench, entries, answer.partition(" ")[2].strip())
        bench.talk.show(_in_force(bench, entry))
        move = _move(bench, entry, words)
    except Back:
        bench.talk.say("Back. Nothing was put right.")
        return
    try:
        bench.store(move)
    except Refusal as refusal:
        bench.talk.refuse(refusal)
        raise PutRight from None
    bench.talk.say(f"Stored as step {bench.steps}: step {entry.number} is put right.", "bold")
    raise PutRight


def _entries(bench: Bench) -> dict[int, _Entry]:
    """Return the steps that can be put right, by their numbers."""
    made = {past.step: past.made for past in bench.day.past}
    found, runs = {}, 0
    for number, step in enumerate(bench.day.steps, start=1):
        if isinstance(step, RunStep):
            runs += 1
            found[number] = _Entry(number, f"run {runs}", step)
        elif isinstance(step, MadeStep):
            found[number] = _Entry(number, "the change made", step, tuple(made[number]))
    return found


def _which(bench: Bench, entries: dict[int, _Entry], said: str) -> tuple[_Entry, str]:
    """Return the entry that was wrong, and what was said already of what it should have been."""
    runs = [entry for entry in entries.values() if isinstance(entry.in_force, RunStep)]
    last = runs[-1]

    def read(answer: str) -> tuple[_Entry, str]:
        named = _STEP.fullmatch(answer)
        if named is None:
            return last, answer
        kind, number, words = named.groups()
        if number is None:
            return last, words
        which = Which(int(number[:9]), is_run=(kind or "").lower() == "run")
        wanted = which.among(bench.day.steps)
        amendments.amendable(bench.day.steps, wanted)
        return entries[wanted], words

    def tell() -> None:
        bench.talk.show(
            paper.hanging(f"{number}", f"{entry.name} at {entry.in_force.time:%H:%M}", 4)
            for number, entry in entries.items()
        )
        bench.talk.hint("The number of a step, or run and its number; b goes back.")

    def typed(answer: str) -> tuple[_Entry, str]:
        entry, words = read(answer)
        if words:
            _read(bench, entry, words)
        return entry, words

    if said:
        return typed(said)
    prompt = f"which step (Enter = {last.number}, {last.name})"
    return bench.talk.until(prompt, typed, tell, back=True)


def _in_force(bench: Bench, entry: _Entry) -> Iterator[RenderableType]:
    yield paper.heading(f"Step {entry.number}, {entry.name}, as it is in the plan:")
    if isinstance(entry.in_force, RunStep):
        yield car_view.car(entry.in_force.run.tires, bench.window, bench.system)
    else:
        yield paper.indented(", ".join(map(str, entry.made)) or "nothing changed", 2)


def _move(bench: Bench, entry: _Entry, words: str) -> Move:
    """Ask what it should have been and why, until the crew has seen it and says so."""
    while True:
        texts, actual = _read(bench, entry, words) if words else _asked(bench, entry)
        words = ""
        try:
            bench.talk.hint(
                "Why: how did it come to light? What was and what is now is shown before it is "
                "stored; b goes back."
            )
            reason = bench.talk.reason("why")
            move = wrong_entries.move(Which(entry.number), texts, actual, reason, bench.system)
            if _confirmed(bench, entry, move):
                return move
        except Back:
            continue


_Typed = tuple[dict[str, Any], list[tuple[str, str, float]]]


def _asked(bench: Bench, entry: _Entry) -> _Typed:
    order = "inner, middle, outer" if bench.way == "imo" else "left to right"
    is_run = isinstance(entry.in_force, RunStep)
    example = "such as RF 205 212 209, laps 9 or no hot" if is_run else _example(entry)
    bench.talk.hint(f"Type what it should have been, {example}; ? tells all; b goes back.")

    def tell() -> None:
        if not is_run:
            bench.talk.hint(f"What was really changed, {_example(entry)}; b goes back.")
            return
        rows = {"RF 205 212 209": f"a tire, {order}"} | dict(extras.WORDS.values())
        bench.talk.show(paper.hanging(example, says, 27) for example, says in rows.items())
        bench.talk.hint("Only what is typed changes. no hot takes hot out; b goes back.")

    return bench.talk.until(
        f"step {entry.number} should be",
        lambda answer: _read(bench, entry, answer),
        tell,
        back=True,
    )


def _example(entry: _Entry) -> str:
    change = next(iter(entry.made), None)
    if change is None:
        return "for example camber:RF:+0.5"
    return f"for example {change.knob}:{change.corner}:{change.amount / 2:+g} (0 for not at all)"


def _read(bench: Bench, entry: _Entry, answer: str) -> _Typed:
    """Read what an entry should have been, and try it, so that a slip is told at once."""
    if not answer:
        raise Refusal("nothing-given", "What it should have been is wanted.", hint="? or b")
    texts: dict[str, Any] = {}
    actual: list[tuple[str, str, float]] = []
    word, _, rest = answer.partition(" ")
    if word.lower() == "actual":
        actual = changes.came_out(rest, entry.made, "")
    elif isinstance(entry.in_force, MadeStep):
        actual = changes.came_out(answer, entry.made, "")
    else:
        texts = extras.amendment(answer, bench.way)
    tried = wrong_entries.move(Which(entry.number), texts, actual, "to try", bench.system)
    tried(bench.day, planfile.now())
    return texts, actual


def _confirmed(bench: Bench, entry: _Entry, move: Move) -> bool:
    """Show what was and what it would be now, and ask whether that is meant."""
    trial = move(bench.day, planfile.now())
    (new,) = story.tell(trial, len(trial.plan.step))
    bench.talk.show([paper.heading(new.headline), *story_view.details(new)])
    amended = trial.steps[entry.number - 1]
    if isinstance(amended, RunStep):
        asked = slips.questions(amended.run.tires, None, bench.system)
        said = [question.says for question in asked]
        for says in (*said, *(each.says for each in slips.pressures(amended.run))):
            bench.talk.say(f"Look again: {says}", "bold")
    return bench.talk.yes(
        "Put it right like this?", "Enter stores it; n goes back, to say it again.", back=True
    )
