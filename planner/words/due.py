"""What is due now, in words, and what to type for it."""

from itertools import takewhile

from planner.plan.day import Day
from planner.plan.machine import Place
from planner.plan.steps import MadeStep, RunStep
from planner.words import left_open


def says(day: Day) -> str:
    """Say what is due, as a heading."""
    since = takewhile(lambda step: not isinstance(step, RunStep), reversed(day.steps))
    if day.too_hot and not any(isinstance(step, MadeStep) for step in since):
        corners = " and ".join(found.corner for found in day.too_hot)
        return f"look at {corners}, then {_says(day)}"
    return _says(day)


def _says(day: Day) -> str:
    if day.due == "run":
        again = " again" if day.last is not None and day.last.void else ""
        what = "the confirming run" if day.stage == "confirm" else "a run"
        return f"{what} of {day.plan.laps} laps{again}, then twelve temperatures"
    return {
        "choice": f"choose what to do about the {day.stage} stage",
        "change": "make the chosen change",
        "nothing": f"nothing. {left_open.ended(day)}",
    }[day.due]


def one_more_run(day: Day) -> str:
    """Say what the last run bought, and what one more would; ``""`` where nothing is to be said."""
    now = None if day.last is None else day.last.expected_out
    left = day.one_more_run
    if now is None or left is None:
        return ""
    if day.due != "nothing":
        return f"{left:.2f} expected out after it"
    beside = " beside what was left as it is" if day.left_open else ""
    if now < 0.005:
        return f"less than 0.01 expected out{beside}"
    return f"{now:.2f} expected out{beside}; one more run, unchanged: {left:.2f}"


def run(day: Day) -> str:
    """Say what run is to be made, as a heading; where a choice is due, one more before it."""
    if day.due == "choice":
        return f"Again, nothing changed: a run of {day.plan.laps} laps, then twelve temperatures"
    return f"Due now: {says(day)}"


def moving_on(day: Day) -> str:
    """Say what moving on does where a run is due."""
    if day.stage == "confirm":
        return "ends the day here, without the confirming run"
    return "goes on to the choice, by the run before"


def stands(place: Place) -> str:
    """Say where a day stands, as a part of a sentence."""
    if place.due == "nothing":
        return "complete"
    return f"in the {place.stage} stage, a {place.due} is due"


def next_command(day: Day, plan: str = "PLAN") -> str:
    """Return what to type next.

    Parameters
    ----------
    plan : the plan, as it is typed.
    """
    if day.due == "choice" and not day.table().candidates:
        return (
            f"treadgate choose {plan} --own KNOB:CORNER:AMOUNT --reason TEXT, or --move-on "
            "--reason TEXT: no known change would fix this"
        )
    return {
        "run": f"run {day.plan.laps} laps, then: treadgate record {plan} --tire LF=… --tire RF=… "
        "--tire LR=… --tire RR=…",
        "choice": f"treadgate choose {plan} ID, the number of a way (--full shows all of them)",
        "change": f"make the change, then: treadgate made {plan} "
        f"(treadgate choose {plan} --take-back takes the choice back)",
        "nothing": f"treadgate why {plan} tells the day; treadgate start begins another",
    }[day.due]
