"""What is believed of the car's answer to its knobs before it has answered.

From the rules of thumb, put aside where the car file lets the effect be computed, and put aside
again where an earlier day has taught it. What air does to its own tire is a rule of thumb; what it
does through the loads is computed and comes to that.
"""

from collections.abc import Mapping
from math import hypot

from planner.car import air_loads
from planner.car.car_model import CarModel
from planner.car.changes import Setting
from planner.rulebook.rules import Rulebook
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate

Effects = Mapping[Setting, Mapping[str, Estimate]]


def effects(
    book: Rulebook, model: CarModel, taught: Effects
) -> dict[Setting, Mapping[str, Estimate]]:
    """Return the prior effect of every setting the rules know, per unit, on the base figures.

    Parameters
    ----------
    book : the rules, turned the way the track turns.
    model : the car as it was first run.
    taught : what an earlier day has taught.
    """
    found: dict[Setting, Mapping[str, Estimate]] = {}
    for entry in book.adjustment.values():
        for place in CORNERS if entry.corner == "same" else (entry.corner,):
            exact = entry.corner != "same"
            if exact or (entry.knob, place) not in found:
                found[entry.knob, place] = entry.effect_at(place)
    for setting, by_rule in found.items():
        knob, place = setting
        computed = model.effects(knob, place)
        if computed is not None:
            found[setting] = computed
        elif knob == "pressure":
            found[setting] = _joined(by_rule, air_loads.effects(model, place) or {})
    for setting, learned in taught.items():
        found[setting] = {**found.get(setting, {}), **learned}
    return found


def _joined(own: Mapping[str, Estimate], beside: Mapping[str, Estimate]) -> dict[str, Estimate]:
    """Return effects with what comes to them beside; the two are taken as independent."""
    found = dict(own)
    for name, effect in beside.items():
        was = found.get(name, Estimate(0.0, 0.0))
        found[name] = Estimate(was.mean + effect.mean, hypot(was.sd, effect.sd))
    return found
