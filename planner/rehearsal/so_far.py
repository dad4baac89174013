"""The opened hood: what was wrong with a simulated car, and what the day has come to."""

from collections.abc import Mapping
from typing import Any

import attrs

from planner.car.changes import Change, Setting
from planner.plan.day import Day
from planner.rehearsal import all_knowing
from planner.rehearsal.all_knowing import Knowing
from planner.rehearsal.car import SimulatedCar
from planner.rehearsal.world import excesses
from planner.trade import figures as figure
from planner.trade.figures import Figures
from planner.trade.knobs import KNOBS


@attrs.frozen
class Knob:
    """One knob that stood, or stands, away from the good setup.

    Attributes
    ----------
    setting : the knob and its place.
    fault : whether it was put there as a fault.
    good, begun, now : where it should stand, stood in the morning, and stands.
    """

    setting: Setting
    fault: bool
    good: float
    begun: float
    now: float


@attrs.frozen(eq=False)
class Hood:
    """What only the simulated car knows.

    Attributes
    ----------
    knobs : those that were wrong or have been moved.
    runs, changes : of the day.
    complete : the day came to its end.
    morning, evening : what was truly out of band then, and is now, by pattern [degF].
    figures : true ones of the last run, or of the car as it stands when it has not run.
    knowing : what an all-knowing crew would have needed.
    """

    knobs: tuple[Knob, ...]
    runs: int
    changes: int
    complete: bool
    morning: Mapping[str, float]
    evening: Mapping[str, float]
    figures: Figures
    knowing: Knowing


def opened(car: SimulatedCar, day: Day) -> Hood:
    """Open the hood of a car after its day."""
    begun = car.world.figures([car.begun], car.world.fresh())[0]
    now = car.true_figures()
    turned = [
        Knob(setting, setting in car.faults, value, car.begun[setting], car.settings[setting])
        for setting, value in car.good.items()
        if setting in car.faults or car.settings[setting] != car.begun[setting]
    ]
    return Hood(
        knobs=tuple(turned),
        runs=car.runs,
        changes=len(day.past),
        complete=day.stage == "complete",
        morning=excesses(begun, car.book),
        evening=excesses(now, car.book),
        figures=now,
        knowing=all_knowing.day(car.world, car.begun, car.book, car.car.limits),
    )


def as_dict(hood: Hood, car: SimulatedCar) -> dict[str, Any]:
    """Return the hood as one JSON object; temperatures in degF."""
    return {
        "knobs": [
            {
                "knob": knob.setting[0],
                "corner": knob.setting[1],
                "unit": KNOBS[knob.setting[0]].unit,
                "fault": round(car.faults.get(knob.setting, 0.0), 6),
                "good": round(knob.good, 6),
                "begun": round(knob.begun, 6),
                "now": round(knob.now, 6),
            }
            for knob in hood.knobs
        ],
        "runs": hood.runs,
        "changes": hood.changes,
        "complete": hood.complete,
        "out_of_band": {
            "morning": _rounded(hood.morning),
            "evening": _rounded(hood.evening),
            "worst_morning": round(max(hood.morning.values(), default=0.0), 2),
            "worst_evening": round(max(hood.evening.values(), default=0.0), 2),
        },
        "figures": {name: round(hood.figures.base[name], 2) for name in figure.BASE_FIGURES},
        "bands": bands(car),
        "all_knowing": {
            "runs": hood.knowing.runs,
            "changes": [[_change(change) for change in made] for made in hood.knowing.made],
            "out_of_band": round(hood.knowing.excess, 2),
        },
    }


def bands(car: SimulatedCar) -> dict[str, list[float | None]]:
    """Return the band of every figure that can hold a stage [degF]: lowest and highest."""
    kinds = {name for rule in car.book.pattern if rule.stage is not None for name in rule.figures}
    return {name: list(car.book.edges(name)) for name in sorted(kinds)}


def _rounded(excess: Mapping[str, float]) -> dict[str, float]:
    return {name: round(value, 2) for name, value in excess.items()}


def _change(change: Change) -> dict[str, Any]:
    return {
        "knob": change.knob,
        "corner": change.corner,
        "amount": change.amount,
        "unit": change.unit,
    }
