"""The loop of the guided day: read where the plan stands, do what is due, until it is complete."""

from pathlib import Path

from planner.guide import ask_tires, begin, change, choice, finish, run, unstored
from planner.guide import draft as drafts
from planner.guide.ask_tires import MoveOn
from planner.guide.prompts import BACK, Aside, Leave, Talk
from planner.guide.session import Drives, Session
from planner.storage.starting import NewPlan
from planner.trade.refusals import Refusal

_AGAIN = "Enter reads the plan again and asks what is due; q leaves. The plan has all you stored."


def guide(
    talk: Talk,
    path: Path | None,
    wanted: NewPlan,
    drives: Drives | None = None,
    *,
    full: bool = False,
) -> None:
    """Go through a day from where it stands until it is complete, or the crew leaves.

    Parameters
    ----------
    talk : the conversation.
    path, wanted : the plan to go on with, or what a new one is made with.
    drives : a simulated car that does the runs, at a rehearsal.
    full : everything is shown, however long; else a window at a time.

    Raises
    ------
    Refusal
        The plan cannot be used.
    """
    try:
        opened = begin.plan(talk, path, wanted)
    except Leave:
        talk.say("Left. Nothing was begun.")
        return
    session = Session(talk, opened.path, opened, drives=drives, full=full)
    for remark in opened.remarks:
        talk.say(remark)
    try:
        _go_on(session)
    except (Leave, KeyboardInterrupt):
        unstored.last_words(session)
        talk.say("Left. Everything stored is in the plan. To go on:")
        talk.command(f"treadgate guide {session.quoted_path}")


def _anything(answer: str) -> None:
    if answer.lower() in BACK:
        raise Refusal("bad-value", "That answer was not stored.", hint="Enter asks again")


def _go_on(session: Session) -> None:
    while session.day.due != "nothing":
        try:
            _do_what_is_due(session)
        except Aside:
            pass
        except Refusal as refusal:
            session.talk.refuse(refusal)
            session.talk.until("Enter tries again", _anything, _AGAIN)
        session.reread()
        unstored.overtaken(session)
    drafts.remove(session.path)
    finish.show(session)


def _do_what_is_due(session: Session) -> None:
    due = session.day.due
    if due == "choice":
        _choose(session)
    elif due == "change":
        change.make(session)
    else:
        _run(session)


def _choose(session: Session) -> None:
    """Take the choice that is due, or another run before it."""
    if not _being_typed(session):
        try:
            choice.take(session)
            return
        except choice.GoAgain:
            pass
    run.take(session)


def _being_typed(session: Session) -> bool:
    """Say whether a run is being typed where the plan stands."""
    plan = session.day.plan
    found = (drafts.load(session.path, plan), session.typed)
    return any(each is not None and each.begun and drafts.counts(each, plan) for each in found)


def _run(session: Session) -> None:
    """Take the run that is due, or the change offered beside it."""
    day = session.day
    begun = drafts.load(session.path, day.plan)
    if not any(draft is not None and draft.begun for draft in (begun, session.typed)):
        if day.table().candidates and choice.offer(session):
            return
        if not day.table().candidates:
            session.look(ask_tires.introduction(session))
    try:
        run.take(session)
    except MoveOn:
        choice.move_on(session)
