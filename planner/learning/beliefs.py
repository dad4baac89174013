"""What is believed of the car's answer to its knobs before it has answered.

From the rules of thumb, and for what moves load from the cars that the rules call typical; put
aside where the car file lets the effect be computed.
Air has both: the rules say what it does to the heat of its tire, and what it does through the loads
is computed beside that.
"""

from collections.abc import Mapping
from math import hypot
from statistics import fmean

from planner.car import air_loads, typical
from planner.car.car_model import CarModel
from planner.car.changes import Setting
from planner.rulebook.rules import Rulebook
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate


def effects(book: Rulebook, model: CarModel) -> dict[Setting, Mapping[str, Estimate]]:
    """Return the prior effect of every setting the rules know, per unit, on the base figures.

    Parameters
    ----------
    book : the rules, turned the way the track turns.
    model : the car as it was first run.
    """
    found: dict[Setting, Mapping[str, Estimate]] = {}
    for entry in book.adjustment.values():
        for place in CORNERS if entry.corner == "same" else (entry.corner,):
            exact = entry.corner != "same"
            if exact or (entry.knob, place) not in found:
                found[entry.knob, place] = entry.effect_at(place)
    for knob, place in found:
        through_loads = air_loads.effects(model, place) if knob == "pressure" else None
        if through_loads is not None:
            found[knob, place] = _together(found[knob, place], through_loads)
    for setting in found:
        computed = model.effects(*setting)
        if computed is not None:
            found[setting] = computed
    unsaid = [setting for setting, effect in found.items() if not effect]
    if unsaid:
        found |= typical.effects(book.typical, unsaid, model.turns, fmean(book.window))
    return found


def _together(one: Mapping[str, Estimate], other: Mapping[str, Estimate]) -> dict[str, Estimate]:
    """Return the sum of two effects that do not know of one another."""
    both = {**one, **other}
    for name in one.keys() & other.keys():
        spread = hypot(one[name].sd, other[name].sd)
        both[name] = Estimate(one[name].mean + other[name].mean, spread)
    return both
