"""What a blank run sheet asks for: the words and the order of `record` and of the guide."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import attrs

from planner.car.changes import Change, Setting
from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.run.readings import FEELS, FLAGS, PHASES
from planner.screen import car_view
from planner.trade import knobs, units
from planner.trade.corners import CORNERS, Corner, Strip, Turns, reading_order
from planner.trade.units import System
from planner.words import at_the_car, offers
from planner.words import changes as change_words
from planner.words import due as due_words
from planner.words import tire_sets as set_words

USUAL_LAPS = 10
MOST_BOXES = 20  # for lap times; more do not fit on the page

# Common practice, no source.
CHECKLIST = (
    "Pressures cold, before the run, all four.",
    "Straight in from speed, no cool-down lap; the clock starts when the car stops.",
    "Gloves on: tires, wheels and brakes are hot.",
    "Probe at the same three places every time, to the same depth, until the number stands still.",
    "Tires in the order of the numbers; the first one once more at the end.",
    "Then the pressures hot, then the tread; let no air out before.",
    "Ask the driver before showing the numbers.",
)


@attrs.frozen
class Box:
    """One tire on the sheet: when it is read, its strips as they lie, the pressure it is set to."""

    corner: Corner
    turn: int
    strips: tuple[Strip, ...]
    set_to: str


@attrs.frozen
class Kind:
    """What a sheet is for, where no plan says so."""

    turns: Turns = "left"
    units: System = "us"
    laps: int = USUAL_LAPS


def sheet(kind: Kind) -> dict[str, Any]:
    """Return what the template of a sheet takes, for no plan in particular."""
    return _matter(kind, {}) | {
        "title": "Run sheet",
        "facts": [],
        "run": "",
        "laps_planned": "",
        "due": "",
        "work": [],
        "candidates": [],
        "running": [],
        "set_on": "",
        "plan": "PLAN",
    }


def sheet_for(day: Day, path: Path) -> dict[str, Any]:
    """Return what the template of a sheet takes, for what is due in a plan."""
    plan = day.plan
    runs = sum(isinstance(step, RunStep) for step in day.steps)
    facts = [day.car.car.name, plan.track, f"{day.stage} stage", f"round {day.round}"]
    return _matter(Kind(plan.turns, plan.units, plan.laps), day.settings) | {
        "title": f"Run sheet, {path.stem}",
        "facts": [fact for fact in facts if fact],
        "run": str(runs + 1),
        "laps_planned": str(plan.laps),
        "due": due_words.says(day),
        "work": _work(day),
        "candidates": [offers.title(each) for each in day.table().candidates]
        if not day.pending
        else [],
        "running": _on_trial(day),
        "set_on": set_words.on_car(day),
        "plan": path.name,
    }


def _matter(kind: Kind, settings: Mapping[Setting, float]) -> dict[str, Any]:
    order = reading_order(kind.turns)
    boxes = min(kind.laps, MOST_BOXES)
    return {
        "mark": units.degree_mark(kind.units),
        "order": order,
        "boxes": {c: _box(c, order.index(c) + 1, settings) for c in CORNERS},
        "laps": range(1, boxes + 1),
        "lap_columns": 10 if boxes <= 10 else -(-boxes // 2),
        "feels": FEELS,
        "phases": PHASES,
        "flags": FLAGS,
        "checklist": CHECKLIST,
    }


def _box(corner: Corner, turn: int, settings: Mapping[Setting, float]) -> Box:
    known = settings.get(("pressure", corner))
    set_to = "" if known is None else knobs.shown("pressure", known, signed=False)
    return Box(corner, turn, car_view.strips_across(corner), set_to)


def _work(day: Day) -> list[str]:
    """Return the chosen change, part by part, where it is still to be made."""
    if day.pending is None:
        return []
    how = [said for line in day.how(day.pending) for said in at_the_car.how(line)]
    return [*(_part(change) for change in day.pending.changes), *how]


def _part(change: Change) -> str:
    text = f"{change_words.in_words(change)}{', riding trim' if change.trim else ''}"
    if change.before is None or change.after is None:
        return text
    before, after = (
        knobs.shown(change.knob, s, signed=False) for s in (change.before, change.after)
    )
    return f"{text}: from {before} to {after}"


def _on_trial(day: Day) -> list[str]:
    """Return the changes that the next run judges."""
    if day.pending is not None or day.due != "run":
        return []
    made = (change for past in day.on_trial for change in past.made if change.amount)
    return [change_words.in_words(change) for change in made]
