"""The loop of the guided day: read where the plan stands, do what is due, until it is complete."""

from collections.abc import Iterator
from pathlib import Path

from rich.console import RenderableType

from planner.guide import begin, change, choice, finish, run, unstored
from planner.guide import draft as drafts
from planner.guide.ask_tires import MoveOn
from planner.guide.prompts import BACK, Aside, Leave, Talk
from planner.guide.session import Drives, Session
from planner.plan.steps import AmendStep, RunStep
from planner.screen import day_view, paper, pattern_view
from planner.storage.starting import NewPlan
from planner.trade.refusals import Refusal

_AGAIN = "Enter reads the plan again and asks what is due; q leaves. The plan has all you stored."


def guide(talk: Talk, path: Path | None, wanted: NewPlan, drives: Drives | None = None) -> None:
    """Go through a day from where it stands until it is complete, or the crew leaves.

    Parameters
    ----------
    talk : the conversation.
    path, wanted : the plan to go on with, or what a new one is made with.
    drives : a simulated car that does the runs, at a rehearsal.

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
    session = Session(talk, opened.path, opened, drives=drives)
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
    talk = session.talk
    told: tuple[int, str] | None = None
    while session.day.due != "nothing":
        if told != (session.steps, session.day.due):
            talk.show(
                [
                    paper.rule(talk.console.width),
                    *day_view.head(session.day, session.path),
                    *day_view.way(session.day),
                    *day_view.resumed(session.opened),
                ]
            )
            told = session.steps, session.day.due
        try:
            _do_what_is_due(session)
        except Aside:
            pass
        except Refusal as refusal:
            talk.refuse(refusal)
            talk.until("Enter tries again", _anything, _AGAIN)
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
        session.talk.show(_before_run(session))
        if day.table().candidates and choice.offer(session):
            return
    try:
        run.take(session)
    except MoveOn:
        choice.move_on(session)


def _before_run(session: Session) -> Iterator[RenderableType]:
    """Yield what the last run said, if that was stored last, and cautions."""
    day = session.day
    yield from day_view.of_the_car(day)
    if day.plan.step and isinstance(day.plan.step[-1], RunStep | AmendStep):
        yield from day_view.come_in(day)
        if day_view.counts(day):
            yield from pattern_view.outcome(day)
        yield from day_view.last_run(day, session.talk.console.width)
        if day_view.counts(day):
            yield from pattern_view.patterns(day)
    yield from day_view.cautions(day)
    yield from day_view.day_ahead(day)
    yield from day_view.weather(day)
