"""How far every setting of a car may go, and what cannot be turned on it at all.

The car file says it where it says anything; the cold pressure then ends where the rules file has
it end, and a solid rear axle has no camber to turn.
"""

from collections.abc import Mapping

import attrs

from planner.car.car_file import Car
from planner.car.changes import BeyondRules, Setting
from planner.trade.corners import REAR, Corner
from planner.trade.knobs import KNOBS, CannotTurn, KnobLimits, Room


@attrs.frozen
class Limits:
    """How far the settings of a car may go.

    Attributes
    ----------
    by_knob : of the car file.
    air : lowest and highest cold pressure of the rules file [psi].
    cannot_turn : settings that cannot be turned, and why.
    """

    by_knob: Mapping[str, KnobLimits] = attrs.field(factory=dict)
    air: Mapping[Corner, tuple[float, float]] = attrs.field(factory=dict)
    cannot_turn: Mapping[Setting, CannotTurn] = attrs.field(factory=dict)

    def room(self, knob: str, place: str) -> Room:
        """Return how far a knob may go at a place."""
        fixed = self.cannot_turn.get((knob, place))
        own = self.by_knob.get(knob, KnobLimits()).at(place)
        if isinstance(own, str):
            return Room(fixed=fixed)
        room = Room(own.min, own.max, own.step, fixed=fixed)
        air = {str(corner): ends for corner, ends in self.air.items()}
        if knob != "pressure" or place not in air:
            return room
        lowest, highest = air[place]
        if room.min is None and (room.max is None or lowest <= room.max):
            room = attrs.evolve(room, min=lowest, min_by_rules=True)
        if room.max is None and (own.min is None or own.min <= highest):
            room = attrs.evolve(room, max=highest, max_by_rules=True)
        return room


def of(car: Car, air: Mapping[Corner, tuple[float, float]]) -> Limits:
    """Return how far the settings of a car may go by its car file, and else by the rules.

    Parameters
    ----------
    air : lowest and highest cold pressure of the rules [psi].
    """
    return Limits(_by_hole(car), air, cannot_turn(car))


def _by_hole(car: Car) -> Mapping[str, KnobLimits]:
    """Return the limits of a car file, the panhard bar going by its holes if it says no step."""
    own = car.limits.get("panhard", KnobLimits())
    if car.panhard.a_hole is None or own.step is not None:
        return car.limits
    return {**car.limits, "panhard": attrs.evolve(own, step=car.panhard.a_hole)}


def past_rules(limits: Limits, settings: Mapping[Setting, float]) -> tuple[BeyondRules, ...]:
    """Return the settings that stand past an end of the rules file."""
    found = []
    for setting, value in settings.items():
        room = limits.room(*setting)
        if room.min_by_rules and room.min is not None and value < room.min - 1e-9:
            found.append(BeyondRules(setting, value, room.min, highest=False))
        if room.max_by_rules and room.max is not None and value > room.max + 1e-9:
            found.append(BeyondRules(setting, value, room.max, highest=True))
    return tuple(found)


def cannot_turn(car: Car) -> dict[Setting, CannotTurn]:
    """Return the settings of a car that cannot be turned, and why."""
    found: dict[Setting, CannotTurn] = {}
    if car.suspension.rear == "solid":
        found |= {("camber", corner): "solid-axle" for corner in REAR}
    for knob, limits in car.limits.items():
        fixed = [place for place, own in limits.of_places().items() if own == "fixed"]
        found |= {(knob, place): "fixed" for place in fixed if place in KNOBS[knob].places}
    return found
