"""An earlier entry corrected, from any question about what is due."""

import re
from collections.abc import Iterator
from typing import Any

import attrs
from rich.console import RenderableType

from planner.car import changes
from planner.car.changes import Change
from planner.guide import extras, tires
from planner.guide.prompts import Aside, Back
from planner.guide.session import Session
from planner.plan import amendments, wrong_entries
from planner.plan.amendments import Which
from planner.plan.steps import MadeStep, RunStep
from planner.plan.wrong_entries import Move
from planner.run import slips
from planner.screen import paper, story_view
from planner.storage import planfile
from planner.trade import knobs
from planner.trade.refusals import Refusal
from planner.words import slips as slip_words
from planner.words import story

TOLD = "correct an earlier entry: amend, amend 3, amend run 2, amend RF 205 212 209"

_STEP = re.compile(r"(?:(step|run)\b\s*)?(\d+)?(?=\s|$)\s*(.*)", re.IGNORECASE)


@attrs.frozen
class _Entry:
    """A step that can be corrected, with what is in force."""

    number: int
    name: str
    in_force: RunStep | MadeStep
    made: tuple[Change, ...] = ()


def take(session: Session, said: str) -> None:
    """Ask which entry was wrong and what it should have been, show it, and store it.

    Returns if the crew thinks better of it.

    Parameters
    ----------
    said : what was said of it already.

    Raises
    ------
    Aside
        It is stored, or the plan has changed since it was looked at.
    Refusal
        There is nothing to correct, or `said` cannot be used.
    """
    entries = _entries(session)
    if not entries:
        raise Refusal("no-step", "Nothing is recorded yet: there is nothing to correct.")
    try:
        entry, words = _which(session, entries, said)
        session.talk.show(_in_force(session, entry))
        move = _move(session, entry, words)
    except Back:
        session.talk.say("Back. Nothing was corrected.")
        return
    try:
        session.store(move)
    except Refusal as refusal:
        session.talk.refuse(refusal)
        raise Aside from None
    session.talk.say(f"Stored as step {session.steps}: step {entry.number} is corrected.", "bold")
    raise Aside


def _entries(session: Session) -> dict[int, _Entry]:
    """Return the steps that can be corrected, by number."""
    made = {past.step: past.made for past in session.day.past}
    found, runs = {}, 0
    for number, step in enumerate(session.day.steps, start=1):
        if isinstance(step, RunStep):
            runs += 1
            found[number] = _Entry(number, f"run {runs}", step)
        elif isinstance(step, MadeStep):
            found[number] = _Entry(number, "the change made", step, tuple(made[number]))
    return found


def _which(session: Session, entries: dict[int, _Entry], said: str) -> tuple[_Entry, str]:
    """Return the entry that was wrong, and what was said of it already."""
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
        wanted = which.among(session.day.steps)
        amendments.amendable(session.day.steps, wanted)
        return entries[wanted], words

    def tell() -> None:
        session.talk.show(
            paper.hanging(f"{number}", f"{entry.name} at {entry.in_force.time:%H:%M}", 4)
            for number, entry in entries.items()
        )
        session.talk.hint("Type the number of a step, or run and its number; b goes back.")

    def typed(answer: str) -> tuple[_Entry, str]:
        entry, words = read(answer)
        if words:
            _read(session, entry, words)
        return entry, words

    if said:
        return typed(said)
    prompt = f"which step (Enter = {last.number}, {last.name})"
    return session.talk.until(prompt, typed, tell, back=True)


def _in_force(session: Session, entry: _Entry) -> Iterator[RenderableType]:
    yield paper.heading(f"Step {entry.number}, {entry.name}, as the plan has it:")
    if isinstance(entry.in_force, RunStep):
        read = tires.listed(entry.in_force.run.tires, session.order, session.way, session.system)
        yield paper.padded(paper.Facts(read))
    else:
        yield paper.indented(", ".join(map(str, entry.made)) or "nothing changed", 2)


def _move(session: Session, entry: _Entry, words: str) -> Move:
    """Ask what it should have been and why, until the crew has seen it and agrees."""
    while True:
        texts, actual = _read(session, entry, words) if words else _asked(session, entry)
        words = ""
        try:
            session.talk.hint(
                "How did the mistake come to light? Old and new are shown before it is stored; b "
                "goes back."
            )
            reason = session.talk.reason("why")
            move = wrong_entries.move(Which(entry.number), texts, actual, reason, session.system)
            if _confirmed(session, entry, move):
                return move
        except Back:
            continue


_Typed = tuple[dict[str, Any], list[tuple[str, str, float]]]


def _asked(session: Session, entry: _Entry) -> _Typed:
    order = "inner, middle, outer" if session.way == "imo" else "left to right"
    is_run = isinstance(entry.in_force, RunStep)
    example = "such as RF 205 212 209, laps 9 or no hot" if is_run else _example(entry)
    session.talk.hint(f"Type what it should have been, {example}; ? shows all; b goes back.")

    def tell() -> None:
        if not is_run:
            session.talk.hint(f"Type what was really changed, {_example(entry)}; b goes back.")
            return
        rows = {"RF 205 212 209": f"a tire, {order}"} | dict(extras.WORDS.values())
        session.talk.show(paper.hanging(example, says, 30) for example, says in rows.items())
        session.talk.hint("Only what you type changes. no hot removes hot; b goes back.")

    return session.talk.until(
        f"step {entry.number} should be",
        lambda answer: _read(session, entry, answer),
        tell,
        back=True,
    )


def _example(entry: _Entry) -> str:
    change = next((change for change in entry.made if not change.is_other), None)
    if change is None:
        return "for example RF camber +0.5"
    half = knobs.as_typed(change.knob, change.amount / 2)
    return f"for example {change.corner} {change.knob} {half} (0 if it was not done)"


def _read(session: Session, entry: _Entry, answer: str) -> _Typed:
    """Read what an entry should have been, and try it, so that a slip shows at once."""
    if not answer:
        raise Refusal("nothing-given", "Type what it should have been.", hint="? or b")
    texts: dict[str, Any] = {}
    actual: list[tuple[str, str, float]] = []
    word, _, rest = answer.partition(" ")
    is_actual = word.lower() == "actual"
    if is_actual or isinstance(entry.in_force, MadeStep):
        actual = changes.came_out(rest if is_actual else answer, entry.made, "")
    else:
        texts = extras.amendment(answer, session.way, session.order)
    tried = wrong_entries.move(Which(entry.number), texts, actual, "to try", session.system)
    tried(session.day, planfile.now())
    return texts, actual


def _confirmed(session: Session, entry: _Entry, move: Move) -> bool:
    """Show old and new, and ask whether that is meant."""
    trial = move(session.day, planfile.now())
    (new,) = story.tell(trial, len(trial.plan.step))
    session.talk.show([paper.heading(new.headline), *story_view.details(new)])
    amended = trial.steps[entry.number - 1]
    if isinstance(amended, RunStep):
        asked = wrong_entries.questions_again(trial, entry.number, amended.run)
        said = [slip_words.says(question, session.system) for question in asked]
        for says in (*said, *map(slip_words.of_air, slips.pressures(amended.run))):
            session.talk.say(f"Look again: {says}", "bold")
    return session.talk.yes(
        "Correct it like this?", "Enter stores it; n goes back to type it again.", back=True
    )
