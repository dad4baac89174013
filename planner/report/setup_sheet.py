"""What a setup sheet holds before a day: all that is known of the car, and room for the rest."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs

from planner.car import car_file, limits
from planner.car import known as knowing
from planner.car.car_file import Car
from planner.car.limits import Limits
from planner.plan.day import Day
from planner.plan.steps import NoteStep, RunStep
from planner.review import car_left
from planner.trade import knobs
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS
from planner.trade.knobs import KNOBS, KnobLimits
from planner.words import changes as change_words
from planner.words import due as due_words
from planner.words import left_open, story
from planner.words import tire_sets as set_words

# What is set on a car and nothing here computes. Common practice, no source.
AT_A_CORNER = (
    ("tire, number", ""),
    ("ride height", "in"),
    ("caster", "deg"),
    ("shock, compression", ""),
    ("shock, rebound", ""),
    ("spring rubber", ""),
    ("wheel offset", "in"),
)
ON_THE_CAR = ("gear", "tape", "brake bias", "fuel", "lead, where", "steering", "driver")
MOST_NOTES = 4


@attrs.frozen
class Row:
    """A line of the sheet: what is set, its unit and limits, and the number known at each place."""

    name: str
    unit: str
    allowed: str
    known: tuple[tuple[str, str], ...]


def of_car(car: Car, title: str = "") -> dict[str, Any]:
    """Return what the template of a setup sheet takes, for a car without a plan.

    Parameters
    ----------
    title : what the car is called where its file does not say.
    """
    rows = tuple(_rows(car))
    return {
        "title": "Setup sheet",
        "facts": [each for each in (car.car.name or title, *_track(car)) if each],
        "corners": [row for row in rows if len(row.known) == len(CORNERS)] + list(_measured(car)),
        "blank_corners": AT_A_CORNER,
        "whole": [row for row in rows if len(row.known) != len(CORNERS)],
        "blanks": ON_THE_CAR,
        "weighed": _weighed(car),
        "sizes": list(_sizes(car)),
        "remarks": [],
        "before": "",
        "last": [],
        "rules": CAUTIONS["rules"],
    }


def of_plan(day: Day, path: Path) -> dict[str, Any]:
    """Return the same for a car as it stands at the end of a plan, with what is open there."""
    car, remarks = car_left.as_it_stands(day)
    when = f"{day.steps[-1].time:%d %b %Y}" if day.steps else ""
    matter = of_car(car, path.stem)
    if day.plan.track and day.plan.track != car.track.name:
        matter["facts"].insert(1, day.plan.track)
    return matter | {
        "remarks": list(remarks),
        "before": f"{path.name}{f', {when}' if when else ''}",
        "last": list(_last(day)),
    }


def _rows(car: Car) -> Iterator[Row]:
    """Yield every knob that has a setting, with what is known of it."""
    settings, ends = car_file.starting_settings(car), limits.of(car, {})
    for knob in KNOBS.values():
        if knob.name == "ballast":  # it has no setting: the weights of the car tell it
            continue
        at = tuple(
            (place, _at(knob.name, place, settings.get((knob.name, place)), ends))
            for place in knob.places
        )
        allowed = _allowed(ends.by_knob.get(knob.name, KnobLimits()))
        if knob.places == CORNERS:
            yield Row(knob.name, knob.unit, allowed, at)
        else:
            for place, says in at:
                name = knob.name if len(at) == 1 else f"{place} {knob.name}"
                yield Row(name, knob.unit, allowed, ((place, says),))


def _at(knob: str, place: str, value: float | None, ends: Limits) -> str:
    said = "" if value is None else knobs.number(knob, value, signed=False)
    fixed = ends.room(knob, place).fixed
    return " ".join(filter(None, (said, "fixed" if fixed else "")))


def _allowed(own: KnobLimits) -> str:
    """Say how far a knob may go and in which steps, by the car file."""
    ends = [
        "" if own.min is None else f"from {own.min:g}",
        "" if own.max is None else f"to {own.max:g}",
        "" if own.step is None else f"by {own.step:g}",
    ]
    return " ".join(filter(None, ends))


def _measured(car: Car) -> Iterator[Row]:
    """Yield what is measured at the corners: the scales, and tires with their springs."""
    tires = car.tires
    for name, unit, values, decimals in (
        ("scales", "lb", car.scales, 0),
        ("circumference", "in", tires.circumference, 2),
        ("tire rate", "lb/in", tires.rate, 0),
        ("motion ratio", "", car.motion_ratio, 2),
    ):
        at = ((c, f"{values[c]:.{decimals}f}" if c in values else "") for c in CORNERS)
        yield Row(name, unit, "", tuple(at))


def _weighed(car: Car) -> str:
    known = knowing.known(car, car.car.turns or "left") if car.scales else None
    if known is None or known.split is None:
        return ""
    split = known.split
    return (
        f"{split.total:.0f} lb: front {split.front:.1f} %, left {split.left:.1f} %, "
        f"cross {split.cross:.1f} %"
    )


def _track(car: Car) -> Iterator[str]:
    track = car.track
    yield track.name
    yield f"turns {car.car.turns}" if car.car.turns in ("left", "right") else ""
    for value, says in (
        (track.length, "{:g} mile"),
        (track.radius, "radius {:g} ft"),
        (track.banking, "banking {:g}°"),
        (track.corner_speed, "{:g} mph in the corner"),
    ):
        yield "" if value is None else says.format(value)


def _sizes(car: Car) -> Iterator[str]:
    """Yield the lengths and heights of the car, and what one turn and one hole are."""
    for name, value in attrs.asdict(car.dimensions).items():
        if value is not None:
            yield f"{name.replace('_', ' ').replace('cg', 'center of gravity')} {value:g} in"
    if car.jack.pitch is not None:
        yield f"weight jack {car.jack.pitch:g} in a turn"
    if car.panhard.spacing is not None:
        yield f"panhard bar {car.panhard.spacing:g} in from hole to hole"
    if car.suspension.rear is not None:
        yield f"rear axle {car.suspension.rear}"
    if car.tires.window is not None:
        yield "tires work from {:g} to {:g} °F".format(*car.tires.window)


def _last(day: Day) -> Iterator[str]:
    """Yield what the plan leaves to think of: where it stands, what is open, what was noted."""
    ended = left_open.ended(day).rstrip(".") if day.due == "nothing" else ""
    yield ended or f"it stands {due_words.stands(day.place)}"
    yield from (f"left as it is: {says}" for says in left_open.says(day))
    if day.pending is not None:
        yield f"chosen, not made: {change_words.listed(day.pending.changes)}"
    yield from map(set_words.run_on, day.tires.sets.values())
    hot = {c: p for run in day.good for c, p in run.run.hot.items()}
    if hot:
        said = ", ".join(f"{c} {knobs.shown('pressure', p, signed=False)}" for c, p in hot.items())
        yield f"hot pressures last read: {said}"
    for past in day.past:
        for change in past.made:
            if change.is_other:
                yield f"changed: {change_words.in_words(change)}"
    noted = [story.note(step) for step in day.steps if isinstance(step, NoteStep)]
    runs = [step for step in day.steps if isinstance(step, RunStep)]
    noted += [f"run {n}: {step.run.note}" for n, step in enumerate(runs, 1) if step.run.note]
    yield from noted[-MOST_NOTES:]
