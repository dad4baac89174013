"""What a change means at the car: turns of the jack, the cross weight kept, the hot pressure."""

from collections.abc import Mapping
from typing import Literal, cast

import attrs

from planner.car.car_model import CarModel
from planner.car.changes import Change
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal


@attrs.frozen
class JackTurns:
    """A move of cross weight by one weight jack, or by all four with the ride heights kept.

    Attributes
    ----------
    jack, turns, exact : the one jack, its turns as a hand makes them (into it positive), and what
        they should be.
    all_four : turns of every jack.
    before, after, after_all : cross weight now, after the one, and after the four [percent].
    travel : of the one jack [in].
    hooked : a bar is, and winds up with the turns.
    """

    jack: Corner
    turns: float
    exact: float
    all_four: Mapping[Corner, float]
    before: float
    after: float
    after_all: float
    travel: float = 0.0
    hooked: bool = False


@attrs.frozen
class KeptCross:
    """What a new spring does to the cross weight, and the turns that bring it back.

    Attributes
    ----------
    jack, turns, exact : as in `JackTurns`.
    before, left_alone, brought_back : cross weight [percent].
    unsprung : weight taken as unsprung at the corner [lb].
    travel : of the jack [in].
    pressed : by which the new spring stands pressed [in].
    """

    jack: Corner
    turns: float
    exact: float
    before: float
    left_alone: float
    brought_back: float
    unsprung: float
    travel: float = 0.0
    pressed: float = 0.0


@attrs.frozen
class HotPressure:
    """The hot pressure to expect, by the gas law, from the last cold and hot pair [psi]."""

    expected: float
    hot: float
    cold: float


@attrs.frozen
class BallastMoved:
    """The shares of weight after ballast moved half the wheelbase or half the track [percent]."""

    place: str
    rear: float
    left: float
    cross: float


@attrs.frozen
class NotComputed:
    """The car file lacks the scales, or the springs, that this would be computed from."""

    knob: Literal["cross", "spring", "ballast"]


AtTheCar = JackTurns | KeptCross | HotPressure | BallastMoved | NotComputed


def at_the_car(change: Change, model: CarModel) -> AtTheCar | None:
    """Return what a change means at the car; None where there is nothing to say of it."""
    work = {
        "cross": _by_jack,
        "spring": _kept_cross,
        "pressure": _hot_pressure,
        "ballast": _ballast_moved,
    }.get(change.knob)
    if work is None:
        return None
    try:
        return work(change, model)
    except Refusal:
        return None  # what cannot be computed is left unsaid; the change itself stands


def _by_jack(change: Change, model: CarModel) -> AtTheCar:
    if not model.on_known_springs():
        return NotComputed("cross")
    from planner.chassis import jacking

    cross = model.settings["cross", "car"]
    jack: Corner = "RR" if model.turns == "right" else "LR"
    one, all_four = (
        jacking.turns_for_cross(model.at_rest(), cross + change.amount, jacks, model.jack())
        for jacks in ((jack,), CORNERS)
    )
    return JackTurns(
        jack,
        one.turns[jack],
        one.exact_turns[jack],
        all_four.turns,
        before=cross,
        after=one.cross,
        after_all=all_four.cross,
        travel=abs(one.turns[jack]) * model.jack().pitch,
        hooked=any(model.settings.get(("bar", end), 0.0) > 0 for end in ("front", "rear")),
    )


def _kept_cross(change: Change, model: CarModel) -> AtTheCar:
    if not model.on_known_springs() or change.after is None:
        return NotComputed("spring")
    from planner.chassis import springs
    from planner.chassis.loads import usual_unsprung

    corner = cast(Corner, change.corner)
    car = model.at_rest()
    unsprung = usual_unsprung(sum(car.loads.values()), corner)
    done = springs.spring_change(car, corner, change.after, unsprung=unsprung, jack=model.jack())
    return KeptCross(
        corner,
        done.hand_turns,
        done.turns,
        before=done.cross_before,
        left_alone=done.cross_after,
        brought_back=done.hand_cross,
        unsprung=unsprung,
        travel=abs(done.hand_turns) * model.jack().pitch,
        pressed=springs.spring_compression(
            car.loads[corner], change.after, car.suspension.motion_ratios[corner], unsprung
        ),
    )


def _hot_pressure(change: Change, model: CarModel) -> AtTheCar | None:
    corner = cast(Corner, change.corner)
    cold, hot = model.run.cold.get(corner), model.run.hot.get(corner)
    if cold is None or hot is None:
        return None
    from planner.chassis.air import atmospheric_pressure
    from planner.chassis.pressure import belong_together

    if not belong_together(cold, hot):
        return None  # of a pair that cannot be nothing follows
    outside = atmospheric_pressure(0.0)
    expected = (cold + change.amount + outside) * (hot + outside) / (cold + outside) - outside
    return HotPressure(expected, hot, cold)


def _ballast_moved(change: Change, model: CarModel) -> AtTheCar:
    if not model.car.scales:
        return NotComputed("ballast")
    from planner.chassis import ballast

    back, left = model.travel(change.corner)
    moved = ballast.move_ballast(model.at_rest(), change.amount, rearward=back, leftward=left)
    split = moved.split
    return BallastMoved(change.corner, split.rear, split.left, split.cross)
