"""A run: twelve numbers, anything else, a look at them, and only then stored."""

import attrs

from planner.guide import ask_extras, ask_tires, doubts, storing, unstored
from planner.guide.ask_tires import MoveOn
from planner.guide.draft import Draft
from planner.guide.prompts import Aside, Back
from planner.guide.session import Drives, Session
from planner.run.readings import Run
from planner.trade.refusals import Refusal, quoted


def take(session: Session) -> None:
    """Take a run from the first number to the stored step.

    Every answer goes into the draft at once, and the draft decides what is asked next, so a run
    goes on where it was left.

    Raises
    ------
    MoveOn
        The crew goes on without the run.
    """
    if session.drives is not None:
        _driven(session, session.drives)
        return
    draft = unstored.take_up(session)
    try:
        while not _asked_until_stored(session, draft):
            draft = session.typed or draft
    except Aside:
        # What is typed belongs to the run that is still due, one step later.
        if session.typed is not None and session.day.due in ("run", "choice"):
            session.keep(attrs.evolve(session.typed, after=session.steps))
        raise


def _asked_until_stored(session: Session, draft: Draft) -> bool:
    """Ask until the run is stored, or given up for the choice; say whether either was done."""
    try:
        _asked(session, draft)
    except Back:
        typed = session.typed
        if typed is None or not typed.begun:
            return True
        tell = "y drops all that is typed of this run; Enter goes back to it and loses nothing."
        if not session.talk.sure("Drop these readings and go back to the choice?", tell):
            return False
        session.forget()
    return True


def _asked(session: Session, draft: Draft) -> None:
    """Ask one thing after the other until the run is stored."""
    while True:
        answer = _next(session, draft)
        if isinstance(answer, Run):
            try:
                storing.store(session, answer)
            except Back:
                continue  # to the question about storing
            return
        if answer != draft:
            draft = answer
            session.keep(draft)


def _next(session: Session, draft: Draft) -> Draft | Run:
    """Ask what the draft wants next; return it changed, or the run that is to be stored."""
    if not draft.has_all_tires:
        return ask_tires.ask(session, draft)
    if not draft.finished:
        return ask_extras.ask(session, draft)
    return doubts.ask(session, draft) or storing.ask(session, draft)


def _driven(session: Session, drives: Drives) -> None:
    """Let a simulated car do the run, show what the crew reads, and store it."""
    onward = session.moves_on
    session.talk.show(ask_tires.introduction(session))
    leave = f"m {onward}; " if onward else ""
    answers = f"Enter lets the simulated car drive; {leave}q leaves"
    session.talk.hint(answers)

    def read(answer: str) -> None:
        if answer.lower() == "m" and onward:
            raise MoveOn
        if answer:
            hint = "Enter, m, or q" if onward else "Enter, or q"
            raise Refusal("bad-value", f"{quoted(answer)} is not an answer here.", hint=hint)

    session.talk.until("drive [Enter]", read, answers)
    driven = drives(session.day)
    storing.store(session, driven)
