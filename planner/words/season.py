"""A car's earlier days, in words."""

from collections.abc import Iterator

from planner.advice.past import Past
from planner.learning.earlier import Usual
from planner.plan import left_open
from planner.plan.memory import Memory
from planner.review.season import CarSeason, DayOfCar, Range
from planner.trade import knobs
from planner.trade.corners import CORNERS
from planner.trade.plain_text import counted
from planner.trade.units import System, apart, degree_mark, in_plan_unit
from planner.words import changes as change_words
from planner.words import left_open as left_words
from planner.words import patterns


def named(car: CarSeason) -> str:
    """Name a car, its id beside the name where it has one."""
    if car.name and car.id:
        return f"{car.name} ({car.id})"
    return car.name or car.id or "a car without a name"


def facts(day: DayOfCar, system: System) -> Iterator[str]:
    """Yield what a day was in short: its date, track, weather, tires, runs and best lap."""
    yield day.date.isoformat()
    yield day.track
    if day.track_temp is not None:
        yield f"track {_temperatures(day.track_temp, system)}"
    void = len(day.runs) - len(day.day.good)
    yield counted(len(day.runs), "run") + (f", {void} judged nothing" if void else "")
    if day.sets:
        yield f"set{'s' * (len(day.sets) != 1)} {', '.join(day.sets)}"
    if day.laps is not None:
        falling = day.laps.falloff
        yield f"best {day.laps.best:.2f} s" + ("" if falling is None else f", {falling:+.3f} a lap")


def wrong(day: DayOfCar) -> str:
    """Say what held a stage, in the order it showed."""
    return patterns.listed(day.wrong) or "nothing"


def changed(day: DayOfCar) -> str:
    """Say what was changed, riding trims counted alone, and what came of it."""
    return "; ".join(_change(past) for past in day.changes) or "nothing"


def _change(past: Past) -> str:
    own = [change_words.briefly(c) for c in past.made if c.amount and not c.trim]
    trims = sum(bool(c.amount and c.trim) for c in past.made)
    text = ", ".join(own) or "nothing turned"
    if trims:
        text += f" and {counted(trims, 'trim')}"
    came = change_words.verdict(past)
    return f"{text}: {came}" if came else text


def ended(day: DayOfCar) -> str:
    """Say where a day stands or how it ended, and what was left as it is."""
    left = "; ".join(left_words.says(day.day))
    if day.day.stage != "complete":
        text = f"{day.day.stage}: {day.day.due} due"
    else:
        text = "complete" if left_open.unconfirmed(day.day) is None else "complete, not confirmed"
    return f"{text}; left: {left}" if left else text


def setting(knob: str, at: float | None) -> str:
    """Write a setting without its unit; a question mark where it is not known."""
    return "?" if at is None else knobs.number(knob, at, signed=False)


def _temperatures(between: Range, system: System) -> str:
    low, high = (f"{in_plan_unit(at, system):.0f}" for at in between)
    return f"{low if low == high else f'{low} to {high}'} {degree_mark(system)}"


def remembered(found: Memory, name: str) -> str:
    """Say in one line what earlier days of a car tell a new one; "" for nothing."""
    if not found.days:
        return ""
    turned = list(dict.fromkeys(knob for knob, _ in found.told.settings))
    known = f"{change_words.joined(turned)} answers known" if turned else "no answer known yet"
    here = 0 if found.usual is None else found.usual.days
    at_track = f", {here} of them at this track" if here else ""
    days = counted(found.days, "day")
    return f"{days} of {name}{at_track}: {known}. --from-scratch begins without."


def usual(found: Usual, system: System) -> str:
    """Say what the first run of a day should read, by earlier days at the track."""
    tires = ", ".join(
        f"{corner} {in_plan_unit(at.mean, system):.0f} ± {apart(at.sd, system):.0f}"
        for corner in CORNERS
        for at in [found.figures[f"average.{corner}"]]
    )
    track = found.conditions.get("track_temp")
    weather = "" if track is None else f" on a track of {in_plan_unit(track, system):.0f}"
    return (
        f"By {counted(found.days, 'day')} here the first run should average {tires} "
        f"{degree_mark(system)}{weather}."
    )
