"""How to keep weather and setup apart, in words."""

from datetime import datetime

from planner.plan import baseline
from planner.plan import drift as drifts
from planner.plan.day import Day
from planner.plan.drift import Drift, Missing, NewPart, WriteDown
from planner.trade.units import System
from planner.words import patterns as pattern_words
from planner.words.figures import difference


def says(drift: Drift, system: System) -> str:
    """Say what to write down, or what to run again, and why."""
    if isinstance(drift, WriteDown):
        return (
            "write down the track temperature with every run: without it a hotter track may be "
            "taken for a change that worked"
        )
    if isinstance(drift, NewPart):
        return _of_new_part(drift)
    shift, unknown = (
        difference(each, system, signed=False) for each in (abs(drift.shift), drift.unknown)
    )
    return (
        f"the track is {shift} {'hotter' if drift.shift > 0 else 'cooler'} than it was, and what "
        f"that alone did to the tires is uncertain by {unknown}. No extra run now. Repeat the "
        "starting setup before comparing early runs with late ones"
    )


_WRITE: dict[Missing, str] = {"cold": "the cold pressures", "track": "the track temperature"}


def _of_new_part(part: NewPart) -> str:
    said = [f"the last run began a new part of the day, {_later(part.hours)}"]
    if part.missing:
        said.append(f"amend it with {' and '.join(_WRITE[each] for each in part.missing)}")
    if part.changed:
        said.append(
            "the car was changed before it, so weather and change cannot be told apart: go again "
            "with the change taken out before trusting what came of it"
        )
    return ". ".join(each[0].upper() + each[1:] if n else each for n, each in enumerate(said))


def resumed(day: Day, now: datetime | None) -> str:
    """Say in two sentences that a new part of the day begins now, or that a set was not run yet.

    ``""`` where neither is so.
    """
    last = drifts.last_at_the_car(day)
    if now is None or last is None or day.due == "nothing":
        return ""
    if not drifts.begins_part(last, now):
        again = _as_it_stands(day, now, "")
        return f"No run on set {day.tires.now.name} counts yet. {again}" if again else ""
    told = (
        f"It is {_later(drifts.hours_between(last, now))}: the tires are cold, and track and air "
        "are not what they were."
    )
    again = _as_it_stands(day, now, ", and write cold pressures, track and air down")
    if again:
        return f"{told} {again}"
    first = {
        "choice": "run the car as it stands first, so that weather is not taken for setup",
        "change": "take the choice back and run the car as it stands first, so that weather is "
        "not taken for the change",
    }.get(day.due, "it shows what weather alone has done, if nothing was changed")
    return f"{told} Write cold pressures, track and air down with the next run; {first}."


def _as_it_stands(day: Day, now: datetime, written: str) -> str:
    """Say that the car is run as it stands before a change is chosen, and why; else ``""``."""
    found = baseline.overtaken(day, now) if day.due == "run" else ()
    if not found:
        return ""
    most = max(found, key=lambda each: each.out)
    out, by = (difference(each, day.plan.units, signed=False) for each in (most.out, most.by))
    return (
        f"Run the car as it stands before a change is chosen{written}: "
        f"{pattern_words.named(most.key)} is out by {out}, and that alone may have done {by}."
    )


def _later(hours: float) -> str:
    """Write how much later, in hours up to two days."""
    return f"{hours:.0f} hours later" if hours < 48 else f"{hours / 24:.0f} days later"
