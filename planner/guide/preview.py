"""Trying a move on the plan as it stands, to show what it would mean before it is stored."""

from planner.car import changes as changing
from planner.export import status_object
from planner.guide.session import Session
from planner.plan import way
from planner.plan.steps import ChoiceStep
from planner.plan.wrong_entries import Move
from planner.screen import offer_view, paper
from planner.storage import planfile
from planner.words import patterns as pattern_words
from planner.words import way as way_words


def if_confirmed(session: Session, move: Move | None) -> Move | None:
    """Show what a choice would put on the car; return the move if that is meant.

    Raises
    ------
    Refusal
        The move is not legal; nothing was stored.
    """
    return move if move is not None and _confirmed(session, move) else None


def _confirmed(session: Session, move: Move) -> bool:
    trial = move(session.day, planfile.now())
    if trial.pending is not None:
        session.talk.show(part for _, part in offer_view.work(trial))
        session.talk.show([paper.hanging("!", each, 2) for each in status_object.odd_sizes(trial)])
        if changing.beyond_rules(trial.pending.changes, trial.limits.room):
            return session.talk.sure(
                "Take it all the same?", "y stores it; Enter goes back to the choice."
            )
        return session.talk.yes(
            "Take this?", "Enter stores it; n goes back to the choice.", back=True
        )
    step = trial.plan.step[-1]
    assert isinstance(step, ChoiceStep)
    if step.left_open:
        session.talk.say(f"Left as it is: {pattern_words.listed(step.left_open)}.")
    went = way.way(trial, len(trial.plan.step))
    assert went is not None
    session.talk.show([paper.indented(f"From here: {way_words.says(went)}.", 2)])
    if trial.due == "nothing":
        return session.talk.sure(
            "This ends the day for good. Go on like this?",
            "y ends the day now; Enter goes back and stores nothing.",
        )
    return session.talk.yes("Go on like this?", "Enter goes on; n goes back.", back=True)
