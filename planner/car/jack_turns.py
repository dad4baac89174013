"""Turns of the weight jacks, as a crew counts them, as the change of cross weight they come to."""

from collections.abc import Sequence
from typing import cast

from planner.car import changes
from planner.car.car_model import CarModel
from planner.trade.corners import Corner
from planner.trade.knobs import JACK
from planner.trade.refusals import Refusal

Wanted = tuple[str, str, float]


def in_settings(wanted: Sequence[Wanted], model: CarModel, where: str) -> list[Wanted]:
    """Return changes with turns of the jacks taken together as one change of cross weight.

    Parameters
    ----------
    wanted : (knob, place, amount) of every part.
    model : the car as it stands.
    where : the option they were given by.

    Raises
    ------
    Refusal
        The car file lacks what that is computed from.
    """
    turns = {cast(Corner, place): by for knob, place, by in wanted if knob == JACK}
    others = [each for each in wanted if each[0] != JACK]
    if not turns:
        return others
    if not model.on_known_springs():
        raise Refusal(
            "not-computed",
            "What turns of a jack do to the cross weight needs [scales] and settings.spring in the "
            "car file.",
            where=where,
            hint=f"{where} cross:car:+0.5, by the scales",
        )
    from planner.chassis import jacking, weights

    car, jack = model.at_rest(), model.jack()
    moved = jacking.turn_response(
        car.suspension, turns, pitch=jack.pitch, track_ratio=car.track_ratio
    )
    after = {corner: load + moved.load[corner] for corner, load in car.loads.items()}
    by = weights.weigh(after).cross - weights.weigh(car.loads).cross
    given = sum(amount for knob, _, amount in others if knob == "cross")
    kept = [each for each in others if each[0] != "cross"]
    return [*kept, ("cross", "car", changes.tidy(round(by + given, 2)))]
