"""What looks like a slip in a run before it is stored: kept, corrected, or typed again."""

from collections.abc import Callable, Sequence

import attrs

from planner.guide import extras, tires
from planner.guide.draft import Draft
from planner.guide.prompts import BACK
from planner.guide.session import Session
from planner.guide.tires import as_typed, typed_order
from planner.plan import wrong_entries
from planner.run import typed
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
    read : returns the draft with what is typed again.
    """

    about: str
    answers: str
    kept: Draft
    instead: Draft | None
    read: Callable[[str], Draft]


def ask(session: Session, draft: Draft) -> Draft | None:
    """Ask about the first thing in the draft that looks like a slip; None where nothing does."""
    asked = wrong_entries.questions(session.day, draft.tires, extras.run(draft, session.system).set)
    tire = next((each for each in asked if not set(each.corners) <= set(draft.kept)), None)
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
        if word in ("", "s"):
            raise Refusal("bad-value", "Choose one of these.", hint=way.answers)
        return way.read(answer)

    return session.talk.until(
        f"{way.about} k{'/s' if way.instead is not None else ''}/again",
        read,
        f"{way.answers}; b goes back to anything else about the run",
    )


def _tire(session: Session, draft: Draft, question: Question) -> _Way:
    corners, meant = question.corners, question.instead

    def read(answer: str) -> Draft:
        return draft.with_tires(tires.read(answer, corners, corners, draft.way, session.system))

    taken = [as_typed(tire, corner, draft.way, session.system) for corner, tire in meant.items()]
    if len(corners) > 1:
        taken = [f"{corner} {typed}" for corner, typed in zip(corners, taken, strict=True)]
    other = f", s takes {', '.join(taken)}" if taken else ""
    orders = [f"{corner} again ({' '.join(typed_order(corner, draft.way))})" for corner in corners]
    return _Way(
        about=" ".join(corners),
        answers=f"k keeps {'it' if len(corners) == 1 else 'them'} as typed{other}, or type "
        + ", ".join(orders),
        kept=attrs.evolve(draft, kept=(*draft.kept, *corners)),
        instead=draft.with_tires(meant) if meant else None,
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

    def read(answer: str) -> Draft:
        if not answer.lower().startswith(("cold ", "hot ", "no ")):
            # What is typed here without a word is the pressure asked about, or all four.
            alone = len(typed.pressures(answer)) == 1
            answer = f"{when} {question.corner} {answer}" if alone else f"{when} {answer}"
        return extras.added(draft, answer, session.order, session.system)

    shown = "; ".join(text.replace("=", " ") for text in texts)
    other = f", s takes {when} {shown}" if texts else ""
    return _Way(
        about="pressures",
        answers=f"k keeps them as typed{other}, or type them again: {when} 28 26 21 22 "
        f"({' '.join(session.order)})",
        kept=attrs.evolve(draft, kept_air=True),
        instead=attrs.evolve(draft, extras={**draft.extras, when: texts}) if texts else None,
        read=read,
    )
