"""The readings: asked tire by tire in reading order, back and forth as the crew likes."""

from collections.abc import Iterator, Mapping

import attrs
from rich.console import RenderableType

from planner.car import changes
from planner.guide import asides, tires
from planner.guide.draft import Draft, Way
from planner.guide.prompts import BACK, Back
from planner.guide.session import Session
from planner.guide.tires import as_typed, typed_order
from planner.screen import paper
from planner.trade import units
from planner.trade.corners import STRIPS, Corner, Three, was_read
from planner.trade.refusals import Refusal
from planner.words import due as due_words

# No word here is the name of a tire: LR at the prompt is the left rear, and no order.
_WAYS: dict[str, Way] = {"imo": "imo", "across": "across"}
_WAY_WORDS: dict[Way, str] = {
    "imo": "inner, middle, outer on every tire",
    "across": "left to right as the car stands: left tires outer first, right tires inner first",
}


class MoveOn(Exception):
    """The crew would rather move on than run."""


def introduction(session: Session) -> Iterator[RenderableType]:
    """Yield what is due, and how the readings are typed."""
    order = ", ".join(session.order)
    mark = units.degree_mark(session.system)
    yield paper.heading(due_words.run(session.day))
    if session.drives is not None:
        return
    yield paper.hint(
        f"In {mark}, hardest-worked front tire first: {order}. A line a tire, or all twelve on "
        f"one. Order now: {_WAY_WORDS[session.way]}. ? shows what else you can type."
    )
    if session.moves_on:
        yield paper.hint(f"m {session.moves_on}.")
    if session.day.due == "choice":
        yield paper.hint("b goes back to the choice.")


def ask(session: Session, draft: Draft) -> Draft:
    """Ask for the tire that is due, and return the draft with what is typed.

    Raises
    ------
    MoveOn
        The crew goes on without the run.
    Back
        The crew goes back to the choice that is due.
    """
    order = session.order
    listed = [*draft.tires, *(corner for corner in order if corner not in draft.tires)]
    due = listed[listed.index(draft.back_at) if draft.back_at else len(draft.tires) :]
    at = due[0]
    old = draft.tires.get(at)
    keeps = "" if old is None else f"; Enter = {as_typed(old, at, draft.way, session.system)}"
    prompt = f"{at} ({' '.join(typed_order(at, draft.way))}{keeps})"

    def read(answer: str) -> Draft:
        word = answer.lower()
        if word in _WAYS:
            session.way = _WAYS[word]
            session.talk.say(f"Order now: {_WAY_WORDS[session.way]}.")
            return attrs.evolve(draft, way=session.way)
        if word in BACK:
            if session.day.due == "choice" and listed[0] == at:
                raise Back
            return draft.back()
        if word == "m" and session.moves_on:
            raise MoveOn
        if not word and old is not None:
            return draft.past(at)
        try:
            typed = tires.read(answer, due, order, draft.way, session.system)
        except Refusal:
            _refuse_change(session, answer)
            raise
        if not _left_out(session, draft, typed):
            return draft
        changed = draft.with_tires(typed)
        return changed.past(list(typed)[-1]) if at in typed else changed

    return asides.or_ask(session, prompt, read, lambda: _help(session, draft))


def _refuse_change(session: Session, answer: str) -> None:
    """Refuse a line that tells a change, and say how it is told here."""
    try:
        changes.parse_all(answer, "")
    except Refusal:
        return
    is_due = session.day.due == "run"
    raise Refusal(
        "bad-value",
        "This is a change, not a reading.",
        hint=f"changed {answer}" if is_due else f"b, then o {answer} at the choice",
    )


def _left_out(session: Session, draft: Draft, typed: Mapping[Corner, Three]) -> bool:
    """Ask whether readings were really not taken; say whether the crew goes on so."""
    gone = [
        corner if not any(map(was_read, tire)) else f"{corner} {strip}"
        for corner, tire in typed.items()
        for strip, value in zip(STRIPS, tire, strict=True)
        if not was_read(value) and draft.tires.get(corner) != tire
    ]
    if not gone:
        return True
    session.talk.say(
        f"Not read: {', '.join(dict.fromkeys(gone))}. Figures that need it are not known for this "
        "run, and nothing is judged by them."
    )
    return session.talk.yes("Leave it out?", "Enter leaves it out; n asks for it again.")


def _help(session: Session, draft: Draft) -> None:
    other = "across" if draft.way == "imo" else "imo"
    example = tires.EXAMPLE[session.system]
    rows = {
        example: "the tire that is due; blanks, slashes, dashes or commas between",
        "twelve numbers": "the whole run in reading order",
        f"LF {example}": "a tire by name, in any order",
        other: f"change the order: {_WAY_WORDS[_WAYS[other]]}",
        "-": "a tire that was not read; a dash in place of a number, one reading of it",
        "b": "back one answer, to look at it or type it again; those after it stay",
        "q": "leave; what is typed is kept",
    }
    if draft.back_at is not None:
        rows["Enter"] = "keeps the tire as it is"
    if session.moves_on:
        rows["m"] = session.moves_on
    asides.tell(session, rows)
    session.talk.hint("Inner is the edge nearest the car's centreline.")
