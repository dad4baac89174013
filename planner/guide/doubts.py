"""What looks like a slip in a run before it is stored: kept, corrected, or typed again."""

from collections.abc import Callable, Sequence

import attrs

from planner.guide import extras, tires
from planner.guide.draft import Draft
from planner.guide.prompts import BACK
from planner.guide.session import Session
from planner.guide.tires import as_typed, typed_order
from planner.plan import wrong_entries
from planner.run.slips import AirQuestion, Question
from planner.trade.refusals import Refusal
from planner.words import slips as slip_words


@attrs.frozen
class _Way:
    """The ways out of a doubt.

    Attributes
    ----------
    about : what is in doubt.
    answers : what can be typed.
    kept, instead : the draft with it as typed, and with what it may have been; None where nobody
        can tell.
    read : returns the draft with what is typed again, None for anything else.
    """

    about: str
    answers: str
    kept: Draft
    instead: Draft | None
    read: Callable[[str], Draft | None]


def ask(session: Session, draft: Draft) -> Draft | None:
    """Ask about the first thing in the draft that looks like a slip; None where nothing does."""
    asked = wrong_entries.questions(session.day, draft.tires)
    tire = next((question for question in asked if question.corner not in draft.kept), None)
    if tire is not None:
        return _settled(
            session, draft, _tire(session, draft, tire), (slip_words.says(tire, session.system),)
        )
    air = _doubted_air(session, draft)
    if air:
        says = [slip_words.of_air(question) for question in air]
        return _settled(session, draft, _air(session, draft, air[0]), says)
    return None


def look_again(session: Session, says: str) -> None:
    """Say what looks like a slip."""
    session.talk.say(f"Look again: {says}", "bold")


def _settled(session: Session, draft: Draft, way: _Way, says: Sequence[str]) -> Draft:
    for each in says:
        look_again(session, each)
    session.talk.hint(way.answers)

    def read(answer: str) -> Draft:
        word = answer.lower()
        if word in BACK:
            return attrs.evolve(draft, finished=False)
        if word == "k":
            return way.kept
        if word in ("s", "y", "yes") and way.instead is not None:
            return way.instead
        typed = None if word in ("", "s") else way.read(answer)
        if typed is None:
            raise Refusal("bad-value", "Choose one of these.", hint=way.answers)
        return typed

    return session.talk.until(
        f"{way.about} k{'/s' if way.instead is not None else ''}/again",
        read,
        f"{way.answers}; b goes back to anything else about the run",
    )


def _tire(session: Session, draft: Draft, question: Question) -> _Way:
    corner, meant = question.corner, question.instead

    def read(answer: str) -> Draft:
        one = (corner,)
        return draft.with_tires(tires.read(answer, one, one, draft.way, session.system))

    shown = "" if meant is None else as_typed(meant, corner, draft.way, session.system)
    other = f", s takes {shown}" if shown else ""
    order = " ".join(typed_order(corner, draft.way))
    return _Way(
        about=corner,
        answers=f"k keeps it as typed{other}, or type {corner} again ({order})",
        kept=attrs.evolve(draft, kept=(*draft.kept, corner)),
        instead=None if meant is None else draft.with_tires({corner: meant}),
        read=read,
    )


def _doubted_air(session: Session, draft: Draft) -> tuple[AirQuestion, ...]:
    """Return the pressures that look like a slip and that the crew has not looked at."""
    if draft.kept_air or not {"hot", "cold"}.intersection(draft.extras):
        return ()
    return wrong_entries.air_questions(session.day, extras.run(draft, session.system))


def _air(session: Session, draft: Draft, question: AirQuestion) -> _Way:
    meant, when = question.instead, question.when
    texts = tuple(f"{corner}={psi:g}" for corner, psi in (meant or {}).items())

    def read(answer: str) -> Draft | None:
        if answer.lower().startswith(("cold ", "hot ", "no ")):
            return extras.added(draft, answer, session.system)
        return None

    shown = "; ".join(text.replace("=", " ") for text in texts)
    other = f", s takes {when} {shown}" if texts else ""
    return _Way(
        about="pressures",
        answers=f"k keeps them as typed{other}, or type them again: {when} 22 28 21 26 "
        "(LF RF LR RR)",
        kept=attrs.evolve(draft, kept_air=True),
        instead=attrs.evolve(draft, extras={**draft.extras, when: texts}) if texts else None,
        read=read,
    )
