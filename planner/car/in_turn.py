"""The car in the turn: what the load and grip formulas take, from a car file and its settings."""

from collections.abc import Mapping
from typing import cast

from planner.car.car_file import Car
from planner.car.changes import Setting
from planner.chassis import changed
from planner.chassis.loads import TurnCar
from planner.trade.corners import CORNERS, Corner, per_corner

_SIZES = (
    *("cg_height", "roll_center_front", "roll_center_rear"),
    *("spring_base_front", "spring_base_rear"),
)


def car_in_turn(
    car: Car, settings: Mapping[Setting, float], scales: Mapping[Corner, float]
) -> TurnCar:
    """Return the car in the turn; the file must give its wheelbase and both tracks.

    Parameters
    ----------
    settings : on the car; a bar that is not known is taken as none.
    scales : loads with those settings [lb].

    Notes
    -----
    Roll centres are those of the car file. Where it gives none for the rear, but the height of a
    panhard bar, that height is it.
    """
    size, round_ = car.dimensions, car.tires.circumference
    extra = {name: getattr(size, name) for name in _SIZES if getattr(size, name) is not None}
    if "roll_center_rear" not in extra and "rear" in car.settings.get("panhard", {}):
        extra["roll_center_rear"] = car.settings["panhard"]["rear"]
    if "LR" in round_ and "RR" in round_:
        extra["rear_circumference"] = (round_["LR"] + round_["RR"]) / 2
    rates = car.tires.rate
    return TurnCar(
        scales=dict(scales),
        wheel_rate=per_corner(lambda c: settings["spring", c] * car.motion_ratio.get(c, 1.0) ** 2),
        wheelbase=size.wheelbase or 0.0,
        track_front=size.track_front or 0.0,
        track_rear=size.track_rear or 0.0,
        bar_front=settings.get(("bar", "front"), 0.0),
        bar_rear=settings.get(("bar", "rear"), 0.0),
        tire_rate=dict(rates) if len(rates) == len(CORNERS) else None,
        stagger=settings.get(("stagger", "rear")),
        **extra,
    )


def turned(
    present: TurnCar, setting: Setting, amount: float, *, ratio: float = 1.0, travel: float = 0.0
) -> TurnCar:
    """Return the car in the turn with one knob turned; one that moves no load leaves it as it is.

    Parameters
    ----------
    amount : how far [unit of the knob].
    ratio : motion ratio, for a spring [1].
    travel : how far lead is moved, for ballast [in].
    """
    knob, place = setting
    if knob == "spring":
        return changed.with_spring(present, cast(Corner, place), amount * ratio**2)
    if knob == "bar":
        return changed.with_bar(present, "front" if place == "front" else "rear", amount)
    if knob == "cross":
        return changed.with_cross(present, amount)
    if knob == "stagger":
        return changed.with_stagger(present, amount)
    if knob == "ballast":  # the formula takes pounds and a signed distance; the knob signed pounds
        signed = -travel if amount < 0 else travel
        back, left = (signed, 0.0) if place == "rear" else (0.0, signed)
        return changed.with_ballast(present, abs(amount), rearward_in=back, leftward_in=left)
    if knob == "panhard":
        return changed.with_panhard(present, amount)
    return present
