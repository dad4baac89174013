"""The loop of the guided day: read where the plan stands, do what is due, until it is complete."""

from collections.abc import Iterator
from pathlib import Path

from rich.console import RenderableType

from planner.guide import amend, begin, change, choice, finish, run
from planner.guide import draft as drafts
from planner.guide.prompts import BACK, Leave, Talk
from planner.guide.session import Bench, Drives
from planner.plan.steps import AmendStep, RunStep
from planner.screen import day_view, paper, pattern_view
from planner.storage.starting import NewPlan
from planner.trade.refusals import Refusal

_AGAIN = (
    "Enter reads the plan again and asks what is due in it; q leaves. Everything stored so far is "
    "in the plan."
)


def guide(talk: Talk, path: Path | None, wanted: NewPlan, drives: Drives | None = None) -> None:
    """Go through a day from where it stands until it is complete or the crew leaves.

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
    bench = Bench(talk, opened.path, opened, drives=drives)
    for remark in opened.remarks:
        talk.say(remark)
    try:
        _go_on(bench)
    except (Leave, KeyboardInterrupt):
        run.last_words(bench)
        talk.say("Left. Everything stored so far is in the plan. To go on:")
        talk.command(f"treadgate guide {bench.quoted_path}")


def _anything(answer: str) -> None:
    if answer.lower() in BACK:
        raise Refusal("bad-value", "The answer before is not stored.", hint="Enter asks it again")


def _go_on(bench: Bench) -> None:
    talk = bench.talk
    told = -1
    while bench.day.due != "nothing":
        if told != bench.steps:
            talk.show(
                [
                    paper.rule(talk.console.width),
                    *day_view.head(bench.day, bench.path),
                    *day_view.way(bench.day),
                ]
            )
            told = bench.steps
        try:
            _do_what_is_due(bench)
        except amend.PutRight:
            pass
        except Refusal as refusal:
            talk.refuse(refusal)
            talk.until("Enter tries again", _anything, _AGAIN)
        bench.reread()
        run.overtaken(bench)
    drafts.remove(bench.path)
    finish.show(bench)


def _do_what_is_due(bench: Bench) -> None:
    day = bench.day
    if day.due == "choice":
        choice.take(bench)
        return
    if day.due == "change":
        change.make(bench)
        return
    begun = drafts.load(bench.path, day.plan)
    if not any(draft is not None and draft.begun for draft in (begun, bench.typed)):
        bench.talk.show(_before_run(bench))
        if day.table().candidates and choice.offer(bench):
            return
    try:
        run.take(bench)
    except run.MoveOn:
        choice.move_on(bench)


def _before_run(bench: Bench) -> Iterator[RenderableType]:
    """Yield what the last run said, where that was the last thing stored, and cautions."""
    day = bench.day
    yield from day_view.of_the_car(day)
    if day.plan.step and isinstance(day.plan.step[-1], RunStep | AmendStep):
        if day_view.counts(day):
            yield from pattern_view.outcome(day)
        yield from day_view.last_run(day, bench.talk.console.width)
        if day_view.counts(day):
            yield from pattern_view.patterns(day)
    yield from day_view.cautions(day)
    yield from day_view.outlook(day)
