"""Changes as a crew counts them: turns of the weight jacks, holes of the panhard bar.

Both are typed and not kept: what is kept is the cross weight or the height they come to.
"""

from collections.abc import Sequence
from typing import cast

from planner.car import changes
from planner.car.car_model import CarModel
from planner.car.changes import Setting
from planner.trade.corners import Corner
from planner.trade.knobs import HOLES, JACK
from planner.trade.refusals import Refusal

Wanted = tuple[str, str, float]


def in_settings(wanted: Sequence[Wanted], model: CarModel, where: str) -> list[Wanted]:
    """Return changes with turns as the cross weight, and holes as the height, they come to.

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
    holes = sum(by for knob, _, by in wanted if knob == HOLES)
    kept = [each for each in wanted if each[0] not in (JACK, HOLES)]
    if turns:
        kept = _added(kept, ("cross", "car"), _cross(turns, model, where))
    if holes:
        kept = _added(kept, ("panhard", "rear"), holes * _rise(model, where))
    return kept


def _added(wanted: Sequence[Wanted], setting: Setting, by: float) -> list[Wanted]:
    """Return changes with one more of a setting, taken together with what is there of it."""
    given = sum(amount for knob, place, amount in wanted if (knob, place) == setting)
    others = [each for each in wanted if each[:2] != setting]
    return [*others, (*setting, changes.tidy(by + given))]


def _cross(turns: dict[Corner, float], model: CarModel, where: str) -> float:
    """Return the change of cross weight [percent] that turns of the jacks come to."""
    if not model.on_known_springs():
        raise Refusal(
            "not-computed",
            "What turns of a jack do to the cross weight needs [scales] and settings.spring in the "
            "car file.",
            where=where,
            hint=f'{where} cross:car:+0.5, by the scales; or {where} "other: LR jack 1 turn", in '
            "your own words",
        )
    from planner.chassis import jacking, weights

    car, jack = model.at_rest(), model.jack()
    moved = jacking.turn_response(
        car.suspension, turns, pitch=jack.pitch, track_ratio=car.track_ratio
    )
    after = {corner: load + moved.load[corner] for corner, load in car.loads.items()}
    return round(weights.weigh(after).cross - weights.weigh(car.loads).cross, 2)


def _rise(model: CarModel, where: str) -> float:
    """Return by how much a hole raises the bar where it crosses the car's centreline [in]."""
    hole = model.car.panhard.a_hole
    if hole is None:
        raise Refusal(
            "not-computed",
            "How far a hole raises the panhard bar needs panhard.spacing in the car file: from "
            "hole to hole [in].",
            where=where,
            hint=f"{where} panhard:rear:+0.25, the height where the bar crosses the centreline",
        )
    return hole
