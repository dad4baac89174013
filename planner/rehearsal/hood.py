"""Under the hood of a simulated car: what was wrong, what it is like now, what the day took."""

from collections.abc import Iterable, Mapping
from typing import Any

import attrs

from planner.car.changes import Change, Setting
from planner.plan.day import Day
from planner.rehearsal import all_knowing_crew
from planner.rehearsal.all_knowing_crew import Knowing
from planner.rehearsal.car import SimulatedCar
from planner.rehearsal.out_of_band import excesses
from planner.rulebook.rules import Rulebook
from planner.trade import figures as figure
from planner.trade.figures import Figures
from planner.trade.knobs import KNOBS


@attrs.frozen
class Knob:
    """One knob that stood, or stands, away from the good setup.

    Attributes
    ----------
    setting : the knob and its place.
    fault : how far away from there it was put as a fault; None for a knob that was right.
    good, begun, now : where it should stand, stood in the morning, and stands.
    """

    setting: Setting
    fault: float | None
    good: float
    begun: float
    now: float


@attrs.frozen(eq=False)
class Hood:
    """What only the simulated car knows.

    Attributes
    ----------
    book : the rules whose bands are meant.
    knobs : those that were wrong or have been moved.
    runs, changes : of the day.
    complete : the day came to its end.
    morning, evening : what was truly out of band then, and is now, by pattern [degF].
    figures : true ones, of a run driven now.
    knowing : what an all-knowing crew would have needed.
    """

    book: Rulebook
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
    (begun,) = car.world.figures([car.begun], car.world.fresh())
    now = car.true_figures()
    return Hood(
        book=car.book,
        knobs=tuple(
            Knob(s, car.faults.get(s), good, car.begun[s], car.settings[s])
            for s, good in car.good.items()
            if s in car.faults or car.settings[s] != car.begun[s]
        ),
        runs=car.runs,
        changes=len(day.past),
        complete=day.stage == "complete",
        morning=excesses(begun, car.book),
        evening=excesses(now, car.book),
        figures=now,
        knowing=all_knowing_crew.day(car.world, car.begun, car.book, car.limits),
    )


def as_dict(hood: Hood) -> dict[str, Any]:
    """Return the hood as one JSON object; temperatures in degF."""
    return {
        "knobs": [
            {
                "knob": knob.setting[0],
                "corner": knob.setting[1],
                "unit": KNOBS[knob.setting[0]].unit,
                "fault": round(knob.fault or 0.0, 6),
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
        "bands": _bands(hood.book),
        "all_knowing": {
            "runs": hood.knowing.runs,
            "changes": [_changes(made) for made in hood.knowing.made],
            "out_of_band": round(hood.knowing.excess, 2),
        },
    }


def _bands(book: Rulebook) -> dict[str, list[float | None]]:
    """Return the band of every figure that can hold a stage [degF]: lowest and highest."""
    kinds = {name for rule in book.pattern if rule.stage is not None for name in rule.figures}
    return {name: list(book.edges(name)) for name in sorted(kinds)}


def _rounded(excess: Mapping[str, float]) -> dict[str, float]:
    return {name: round(value, 2) for name, value in excess.items()}


def _changes(made: Iterable[Change]) -> list[dict[str, Any]]:
    return [
        {"knob": each.knob, "corner": each.corner, "amount": each.amount, "unit": each.unit}
        for each in made
    ]
