"""What air does to the tire averages through the loads: tire rate, size, cross weight and stagger.

The rules of thumb say what air does to the heat of the tire itself. Beside that a tire with less
air is softer and smaller: its axle takes less of the roll, its corner stands lower and carries
less, and on the rear the stagger changes.
"""

from typing import TYPE_CHECKING, cast

import attrs

from planner.car.car_model import (
    HEAT_SHARE,
    LEAST_SPREAD,
    SPREAD,
    CarModel,
    missing_for_effects,
)
from planner.trade.corners import CORNERS, REAR, Corner, per_corner
from planner.trade.estimate import Estimate
from planner.trade.refusals import Refusal

if TYPE_CHECKING:
    from planner.chassis.loads import TurnCar

TIRE_RATE = 1400.0  # lb/in, where the car file gives none: 1200 to 1700, from memory
_SMALL = 0.5  # psi, small enough for a slope


def effects(model: CarModel, corner: str) -> dict[str, Estimate] | None:
    """Return what a pound of air does to the tire averages through the loads [degF per psi].

    To be added to what the rules of thumb say of the tire's own heat. Nothing is set again: a crew
    that brings the cross weight back has less of it.

    Parameters
    ----------
    model : the car as it stands.
    corner : whose air is changed.

    Returns
    -------
    dict or None
        By base figure. None where the car file says too little for the loads, the pressure now is
        not known, or the formulas cannot hold the car.
    """
    if model.turns == "both" or missing_for_effects(model.car, model.settings):
        return None
    at = cast(Corner, corner)
    pressure = model.settings.get(("pressure", corner), model.run.cold.get(at))
    if pressure is None:
        return None
    from planner.chassis import grip

    air = grip.AIR_F if model.run.air_temp is None else model.run.air_temp
    try:
        turn = model._turn()
        now = grip.balance(_on_tires(model), turn)
        up, down = (
            grip.temperature_shift(
                now,
                grip.balance(_with_air(model, at, pressure, half), turn),
                model.averages,
                air,
            )
            for half in (_SMALL / 2, -_SMALL / 2)
        )
    except Refusal:
        return None
    slopes = {
        corner: HEAT_SHARE * (up[corner] - down[corner]) / _SMALL
        for corner in CORNERS
        if corner in up and corner in down
    }
    return {
        f"average.{corner}": Estimate(slope, ((SPREAD * slope) ** 2 + LEAST_SPREAD**2) ** 0.5)
        for corner, slope in slopes.items()
    }


def _on_tires(model: CarModel) -> "TurnCar":
    """Return the car in the turn on tires of the rates given, or of usual ones."""
    car = model._turn_car()
    return car if car.tire_rate else attrs.evolve(car, tire_rate=per_corner(lambda _: TIRE_RATE))


def _with_air(model: CarModel, corner: Corner, pressure: float, amount: float) -> "TurnCar":
    """Return the car in the turn with more air in one tire, and nothing set again."""
    from planner.chassis import changed, tire_size

    car, rest = _on_tires(model), model.at_rest()
    rest = attrs.evolve(
        rest,
        loads=car.scales,  # where ballast was moved they are not those of the file
        suspension=attrs.evolve(rest.suspension, tire_rates=car.tire_rate),
    )
    car = attrs.evolve(
        changed.with_pressure(car, corner, pressure, amount),
        scales=tire_size.change_air(rest, {corner: pressure}, {corner: amount}).loads,
    )
    if corner not in REAR or car.stagger is None:
        return car
    outside = corner == ("LR" if model.turns == "right" else "RR")
    return changed.with_stagger(car, tire_size.growth(amount if outside else -amount))
