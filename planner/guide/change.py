"""The change: what to do on the car, and what really came of it."""

import math
from collections.abc import Sequence

from planner.advice.candidate import Candidate
from planner.car import changes
from planner.guide import asides
from planner.guide.session import Session
from planner.plan import moves
from planner.plan.day import Day
from planner.plan.steps import MadeStep
from planner.plan.wrong_entries import Move
from planner.screen import paper
from planner.storage import planfile
from planner.trade import knobs
from planner.trade.refusals import Refusal
from planner.words import changes as change_words

Actual = list[tuple[str, str, float]]


def make(session: Session) -> None:
    """Show the work and store what was made, once the crew says so."""
    pending = session.day.pending
    assert pending is not None
    example = _example(pending, session.day)
    below = [
        paper.hint(
            f"Enter when it is on the car as shown; or type what it came out at, such as {example};"
            " b takes the choice back; q leaves it for later"
        )
    ]
    session.look(below)
    session.talk.show(below)
    rows = {
        "Enter": "it is on the car as shown",
        example: "what it came out at; a number alone is how far it went, the same way if it has "
        "no sign, or the setting it came to",
        "n": "not made yet",
        "b": "take the choice back and choose again; nothing was touched",
        "q": "leave; the change stays due",
    }

    def ask() -> Move | None:
        actual = asides.or_ask(
            session,
            "made? [Enter]",
            lambda answer: _read(answer, pending),
            lambda: asides.tell(session, rows),
            back=True,
        )
        return _made(actual) if not actual or _confirmed(session, actual) else None

    session.settle(ask, lambda: _taken_back(session))


def _taken_back(session: Session) -> bool:
    """Take the choice back if that is meant; say whether it was."""
    sure = session.talk.yes(
        "Take the choice back?", "Enter puts the candidates back on the table.", back=True
    )
    if sure:
        session.store(lambda day, at: moves.take_back(day, "", at))
    return sure


def _made(actual: Actual) -> Move:
    return lambda day, at: moves.made(day, at, actual)


def _example(pending: Candidate, day: Day) -> str:
    """Return what could be typed: one step less than was chosen, or one more than a single step."""
    change = pending.changes[0]
    if change.is_other:
        return "0 if it was not done" if len(pending.changes) == 1 else "RF camber +0.5"
    rules = [entry.step for entry in day.book.adjustments_of(*change.setting)]
    step = day.limits.room(*change.setting).step or next(iter(rules), abs(change.amount) / 2)
    less = abs(change.amount) - step
    other = math.copysign(less if less > step / 2 else abs(change.amount) + step, change.amount)
    amount = knobs.as_typed(change.knob, other)
    alone = f"{amount} or " if len(pending.changes) == 1 else ""
    return f"{alone}{change.corner} {change.knob} {amount}"


def _read(answer: str, pending: Candidate) -> Actual:
    """Return what came out differently; nothing if it is as chosen."""
    if answer.lower() in ("", "y", "yes", "made", "done"):
        return []
    if answer.lower() in ("n", "no"):
        raise Refusal("not-made", "Not yet. Nothing was stored.", hint="Enter once it is made")
    return changes.came_out(answer, pending.changes, "")


def _confirmed(session: Session, actual: Sequence[tuple[str, str, float]]) -> bool:
    trial = moves.made(session.day, planfile.now(), actual)
    step = trial.plan.step[-1]
    assert isinstance(step, MadeStep)
    on_car = ", ".join(
        change_words.in_words(change)
        if change.amount
        else f"{change_words.named(change.setting)} as it was"
        for change in step.changes
    )
    session.talk.show([paper.indented(f"On the car: {on_car}.", 2)])
    known = [each for each in step.changes if each.amount and each.after is not None]
    session.talk.show(paper.indented(f"{change_words.from_to(each)}.", 2) for each in known)
    return session.talk.yes(
        "Is that right?", "Enter stores it as shown; n goes back to type it again.", back=True
    )
