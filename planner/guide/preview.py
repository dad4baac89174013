"""Trying a move on the plan as it stands, to show what it would mean before it is stored."""

from collections.abc import Callable
from datetime import datetime

from planner.export import status_object
from planner.guide.session import Bench
from planner.plan import way
from planner.plan.day import Day
from planner.plan.steps import ChoiceStep
from planner.screen import offer_view, paper
from planner.storage import planfile
from planner.words import way as way_words

Move = Callable[[Day, datetime], Day]


def confirmed(bench: Bench, move: Move) -> bool:
    """Show what a choice would put on the car and ask whether that is meant.

    Raises
    ------
    Refusal
        The move is not legal; nothing was stored.
    """
    trial = move(bench.day, planfile.now())
    if trial.pending is not None:
        bench.talk.show(offer_view.work(trial))
        bench.talk.show([paper.hanging("!", each, 2) for each in status_object.odd_sizes(trial)])
        return bench.talk.yes(
            "Take this?", "Enter puts it into the plan; n goes back to the choice.", back=True
        )
    step = trial.plan.step[-1]
    assert isinstance(step, ChoiceStep)
    if step.left_open:
        bench.talk.say(f"Left as it is: {', '.join(step.left_open)}.")
    went = way.way(trial, len(trial.plan.step))
    assert went is not None
    bench.talk.show([paper.indented(f"From here: {way_words.says(went)}.", 2)])
    if trial.due == "nothing":
        return bench.talk.sure(
            "This ends the day for good. Go on like this?",
            "y ends the day here and now; Enter goes back with nothing stored.",
        )
    return bench.talk.yes("Go on like this?", "Enter goes on; n goes back.", back=True)
