"""A run that is typed and not yet stored: taken up again, read back, and never lost silently."""

import attrs

from planner.guide import ask_tires, extras, tires
from planner.guide import draft as drafts
from planner.guide.draft import Draft
from planner.guide.session import Session
from planner.run.readings import Run
from planner.screen import day_view, paper, window
from planner.storage import planfile
from planner.trade.corners import was_read
from planner.trade.refusals import Refusal
from planner.words import slips as slip_words


def take_up(session: Session) -> Draft:
    """Return the draft to go on with: what was typed and never stored, or a fresh one."""
    plan, typed = session.day.plan, session.typed
    kept = drafts.load(session.path, plan)
    if any(draft is not None and draft.begun for draft in (typed, kept)):
        opened = session.opened
        parts = (window.head(opened), day_view.way(opened.day), day_view.resumed(opened))
        session.talk.show(part for each in parts for part in each)
    if typed is not None and typed.begun and _of_this_run(session, typed):
        return attrs.evolve(typed, after=len(plan.step))
    if kept is not None and kept.begun:
        session.talk.show([paper.heading("This run was being typed when the guide was left:")])
        read_back(session, kept)
        if session.talk.yes(
            "Go on with it?", "Enter goes on typing it; n drops it and begins anew."
        ):
            session.way = kept.way
            session.keep(kept)
            return kept
    session.forget()
    draft = drafts.fresh(plan, session.way if kept is None else kept.way)
    session.talk.show(ask_tires.introduction(session))
    return draft


def _of_this_run(session: Session, draft: Draft) -> bool:
    """Say whether what was typed and never stored belongs to the run that is due."""
    if drafts.counts(draft, session.day.plan):
        return True
    session.talk.show(
        [paper.heading("This run was typed before the plan was changed from elsewhere:")]
    )
    read_back(session, draft)

    def read(answer: str) -> bool:
        if answer.lower() not in ("y", "yes", "n", "no"):
            raise Refusal("bad-value", "Say y or n, or a run may be stored twice.", hint="y, or n")
        return answer.lower().startswith("y")

    return session.talk.until(
        "Is it the run that is due now? [y/n]",
        read,
        "y goes on with it as the run that is due; n drops it, and you type the run anew.",
    )


def overtaken(session: Session) -> None:
    """Say what becomes of a run that was typed while the plan was changed from elsewhere."""
    draft, last = session.typed, session.day.last
    if draft is None or not draft.begun or drafts.counts(draft, session.day.plan):
        return
    if last is not None and _alike(draft, last.run):
        session.talk.say("The run you typed is in the plan: it was recorded elsewhere.", "bold")
        session.forget()
    elif session.day.due != "run":
        session.talk.say("The run you typed is not in the plan, and no run is due now:", "bold")
        read_back(session, draft)
        session.talk.hint(
            "This window keeps it and offers it when a run is due. If it should replace the "
            "recorded run, type in another window:"
        )
        session.talk.command(slip_words.amends(session.path, None, _tire_options(session, draft)))


def last_words(session: Session) -> None:
    """Show what was typed and is not on disk, before the window is closed."""
    draft = session.typed
    if draft is None or not draft.begun:
        return
    if session.on_disk and planfile.is_there(drafts.place(session.path)):
        return
    session.talk.say("This run is not on disk yet. Write it down, or type later:", "bold")
    session.talk.command(f"treadgate record {session.quoted_path} {_tire_options(session, draft)}")
    if draft.extras:
        session.talk.say(f"  and {extras.in_words(draft.extras)}")


def read_back(session: Session, draft: Draft) -> None:
    """Show what is typed so far, in the order it is typed in."""
    read = tires.listed(draft.tires, session.order, draft.way, session.system)
    session.talk.show([paper.padded(paper.Facts(read, "bold"))])
    if draft.extras:
        session.talk.say(f"  {extras.in_short(draft.extras)}")


def _alike(draft: Draft, run: Run) -> bool:
    """Say whether the same temperatures were typed, to the accuracy of the file."""
    return all(
        corner in draft.tires
        and all(_near(a, b) for a, b in zip(draft.tires[corner], tire, strict=True))
        for corner, tire in run.tires.items()
    )


def _near(one: float, other: float) -> bool:
    return abs(one - other) < 0.01 or not (was_read(one) or was_read(other))


def _tire_options(session: Session, draft: Draft) -> str:
    return " ".join(
        slip_words.tire_option(corner, tire, session.system) for corner, tire in draft.tires.items()
    )
