"""The car as a day left it: what is on it now, and what of its file no longer holds."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

import attrs

from planner.car import car_file, changes
from planner.car.car_file import Car
from planner.car.changes import Setting
from planner.chassis import weights
from planner.plan import day as days
from planner.plan.day import Day
from planner.trade import knobs
from planner.trade.corners import REAR, Corner
from planner.trade.knobs import KNOBS, KnobLimits
from planner.trade.refusals import Refusal


def as_it_stands(day: Day) -> tuple[Car, tuple[str, ...]]:
    """Return the car with what is on it now, and what should be looked at before it is used."""
    car, remarks = day.car, list(_not_known(day))
    moved = {s: a for s, a in days.moved_by(day.past).items() if changes.tidy(a)}
    scales = dict(car.scales)
    if scales and any(knob == "ballast" for knob, _ in moved):
        scales = {}
        remarks.append("[scales] left out: ballast was moved; weigh the car again.")
    elif scales and ("cross", "car") in moved:
        scales, said = _computed_scales(day)
        remarks.append(said)
    if scales and any(knob == "spring" for knob, _ in moved):
        remarks.append(
            "Springs were changed: [scales] hold if the cross weight was set again; weigh the car."
        )
    round_ = dict(car.tires.circumference)
    if ("stagger", "rear") in moved and any(corner in round_ for corner in REAR):
        round_ = {corner: length for corner, length in round_.items() if corner not in REAR}
        remarks.append("Rear circumferences left out: the stagger was changed; tape them again.")
    size, raised = car.dimensions, moved.get(("panhard", "rear"), 0.0)
    if raised and size.roll_center_rear is not None:
        size = attrs.evolve(size, roll_center_rear=changes.tidy(size.roll_center_rear + raised))
        remarks.append("dimensions.roll_center_rear moved with the panhard bar.")
    settings: dict[str, dict[str, float]] = {}
    begun = car_file.starting_settings(car)
    for (knob, place), value in _in_order(day.settings):
        if scales and knob == "cross":
            continue  # the scales tell it
        if value != begun.get((knob, place)):
            value = knobs.rounded(knob, value)
        if not KNOBS[knob].lowest <= value <= KNOBS[knob].highest:  # two amendments may add up so
            at = knobs.shown(knob, value, signed=False)
            remarks.append(f"Left out: {place} {knob} would stand at {at}, which is impossible.")
            continue
        settings.setdefault(knob, {})[place] = value
    tires = attrs.evolve(car.tires, circumference=round_)
    car = attrs.evolve(car, settings=settings, scales=scales, tires=tires, dimensions=size)
    return car, tuple(remarks)


def with_fixed(day: Day, said: str, option: str) -> Car:
    """Return the car as it stands with settings that nothing turns on it.

    Parameters
    ----------
    said : knobs and places, ``LR camber, RR camber``.
    option : that they were given by; ``""`` in the guide.

    Raises
    ------
    Refusal
        There is no such knob or place, or the whole car has one setting of it.
    """
    car, _ = as_it_stands(day)
    limits = dict(car.limits)
    for piece in filter(None, re.split(r"[,;]|\band\b", said)):
        knob, place, _ = changes.parse(f"{piece} 1", option)
        own = limits.get(knob, KnobLimits())
        if knob not in KNOBS or not hasattr(own, place):
            raise Refusal(
                "bad-value",
                f"{knob} is not at a place of its own.",
                where=option,
                hint=f"{option} LR camber",
            )
        fixed: dict[str, Any] = {place: "fixed"}
        limits[knob] = attrs.evolve(own, **fixed)
    return attrs.evolve(car, limits=limits)


def _computed_scales(day: Day) -> tuple[dict[Corner, float], str]:
    """Return the scales at the cross weight that is on the car now, and what to say of them."""
    car, cross = day.car, day.settings["cross", "car"]
    try:
        ratio = car.dimensions.track_ratio
        loads = weights.loads_for_cross(car.scales, cross, track_ratio=ratio)
    except Refusal:
        loads = {}
    if not loads or min(loads.values()) < 1:
        return {}, "[scales] left out: they do not match the cross weight; weigh the car again."
    whole = {corner: round(pounds, 1) for corner, pounds in loads.items()}
    return whole, f"[scales] computed for {cross:.2f} % cross, not weighed."


def _not_known(day: Day) -> Iterator[str]:
    """Say what was moved from where nobody has said it stood."""
    for setting, amount in days.moved_by(day.past).items():
        knob, place = setting
        if setting not in day.settings and knob != "ballast" and changes.tidy(amount):
            yield (
                f"Not known: {place} {knob} was moved {knobs.shown(knob, amount)} from a setting "
                "that was not given."
            )


def _in_order(settings: Mapping[Setting, float]) -> list[tuple[Setting, float]]:
    """Return settings in the order of the knobs and their places."""
    order = ((knob.name, place) for knob in KNOBS.values() for place in knob.places)
    return [(setting, settings[setting]) for setting in order if setting in settings]
