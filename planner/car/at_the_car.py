"""What a change means at the car: turns of the jack, the hot pressure, and what moves with it."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Literal, cast

import attrs

from planner.car.car_file import rear_tires
from planner.car.car_model import COMPUTED_KNOBS, CarModel
from planner.car.changes import Change
from planner.trade.corners import CORNERS, REAR, Corner
from planner.trade.refusals import Refusal

if TYPE_CHECKING:  # loaded when a car file calls for them
    from planner.chassis.mid_turn import MidTurn
    from planner.chassis.tire_size import TireChange


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
    frees : whether the cross weight left alone would free the car up.
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
    frees: bool = False
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
    """Ballast moved half the wheelbase or half the track.

    Attributes
    ----------
    place : rear or left.
    distance : that it is moved [in]; None where the car file does not say.
    scales : change of each scale [lb].
    rear, left, cross : shares of weight after it [percent]; None where the scales are not known.
    """

    place: str
    distance: float | None
    scales: Mapping[Corner, float]
    rear: float | None = None
    left: float | None = None
    cross: float | None = None


@attrs.frozen
class PanhardHoles:
    """Holes by which one end of the panhard bar is moved, up positive.

    Attributes
    ----------
    holes, exact : whole holes, and what they should be.
    spacing : from hole to hole [in].
    """

    holes: int
    exact: float
    spacing: float


@attrs.frozen
class StaggerFollows:
    """What air in a rear tire does to the stagger.

    Attributes
    ----------
    by : change of stagger [in].
    after : stagger then [in]; None where it is not known.
    """

    by: float
    after: float | None = None


@attrs.frozen
class CrossFollows:
    """What air or a tire of another size does to cross weight and ride height, nothing set again.

    Attributes
    ----------
    before, after : cross weight [percent].
    jack, turns, exact : the turns that bring it back, as in `JackTurns`; 0 where it hardly moves.
    frees : whether the cross weight as it would be frees the car up.
    corner, height : where the ride height changes most, and by how much [in].
    """

    before: float
    after: float
    jack: Corner
    turns: float
    exact: float
    frees: bool
    corner: Corner
    height: float


@attrs.frozen
class NotComputed:
    """The car file lacks the scales, or the springs, that this would be computed from."""

    knob: Literal["cross", "spring", "stagger"]


AtTheCar = (
    JackTurns
    | KeptCross
    | HotPressure
    | BallastMoved
    | PanhardHoles
    | StaggerFollows
    | CrossFollows
    | NotComputed
)


def at_the_car(change: Change, model: CarModel) -> tuple[AtTheCar, ...]:
    """Return what a change means at the car, and what moves with it."""
    works = {
        "cross": (_by_jack,),
        "spring": (_kept_cross,),
        "pressure": (_hot_pressure, _stagger_follows, _cross_follows_air),
        "ballast": (_ballast_moved,),
        "panhard": (_by_holes,),
        "stagger": (_cross_follows_stagger,),
    }.get(change.knob, ())
    found = []
    for work in works:
        try:
            found.append(work(change, model))
        except Refusal:
            continue  # what cannot be computed is left unsaid; the change itself stands
    return tuple(each for each in found if each is not None)


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
        frees=_frees(done.cross_after - done.cross_before, model),
        travel=abs(done.hand_turns) * model.jack().pitch,
        pressed=springs.spring_compression(
            car.loads[corner], change.after, car.suspension.motion_ratios[corner], unsprung
        ),
    )


def _frees(cross: float, model: CarModel) -> bool:
    """Say whether a change of cross weight [percent] frees the car up: less on the diagonal."""
    return (cross < 0) == (model.turns != "right")


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


def _stagger_follows(change: Change, model: CarModel) -> AtTheCar | None:
    if change.corner not in REAR or model.turns == "both":
        return None
    from planner.chassis.tire_size import growth

    outside, _ = rear_tires(model.car)
    by = growth(change.amount) * (1.0 if change.corner == outside else -1.0)
    now = model.settings.get(("stagger", "rear"))
    return StaggerFollows(by, None if now is None else now + by)


def _cross_follows_air(change: Change, model: CarModel) -> AtTheCar | None:
    corner = cast(Corner, change.corner)
    if not model.on_known_springs() or change.before is None:
        return None
    if len(model.car.tires.rate) != len(CORNERS):
        return None
    from planner.chassis.tire_size import change_air

    car = model.at_rest()
    return _follows(change_air(car, {corner: change.before}, {corner: change.amount}), model)


def _cross_follows_stagger(change: Change, model: CarModel) -> AtTheCar:
    """Return what another outside rear tire does: that is how stagger is usually changed."""
    if not model.on_known_springs() or model.turns == "both":
        return NotComputed("stagger")
    from planner.chassis.tire_size import change_size

    outside, _ = rear_tires(model.car)
    return _follows(change_size(model.at_rest(), {outside: change.amount}), model)


def _follows(moved: "TireChange", model: CarModel) -> CrossFollows:
    from planner.chassis import jacking

    _, jack = rear_tires(model.car)  # the inside one, as for a move of cross weight
    after = attrs.evolve(model.at_rest(), loads=moved.loads)
    back = jacking.turns_for_cross(after, moved.cross_before, (jack,), model.jack())
    corner = max(CORNERS, key=lambda c: abs(moved.ride_height[c]))
    return CrossFollows(
        before=moved.cross_before,
        after=moved.cross_after,
        jack=jack,
        turns=back.turns[jack],
        exact=back.exact_turns[jack],
        frees=_frees(moved.cross_after - moved.cross_before, model),
        corner=corner,
        height=moved.ride_height[corner],
    )


def _ballast_moved(change: Change, model: CarModel) -> AtTheCar:
    from planner.chassis import ballast

    back, left = model.travel(change.corner)
    size = model.car.dimensions
    whole = size.wheelbase if change.corner == "rear" else size.track_rear and size.track_front
    car = model.at_rest() if model.car.scales else None
    scales = ballast.load_shifts(
        change.amount,
        rearward=back,
        leftward=left,
        wheelbase=size.wheelbase or 1.0,
        track_front=size.track_front or 1.0,
        track_rear=size.track_rear or 1.0,
        **({} if car is None else {"suspension": car.suspension}),
    )
    distance = max(back, left) if whole else None
    if car is None:
        return BallastMoved(change.corner, distance, scales)
    split = ballast.move_ballast(car, change.amount, rearward=back, leftward=left).split
    return BallastMoved(change.corner, distance, scales, split.rear, split.left, split.cross)


def _by_holes(change: Change, model: CarModel) -> PanhardHoles | None:
    spacing, hole = model.car.panhard.spacing, model.car.panhard.a_hole
    if spacing is None or hole is None:
        return None
    exact = change.amount / hole
    return PanhardHoles(round(exact), exact, spacing)


@attrs.frozen
class InTurn:
    """The car in the middle of the turn, as it stands and with changes made."""

    now: "MidTurn"
    after: "MidTurn"


def in_turn(changes: Iterable[Change], model: CarModel) -> InTurn | None:
    """Return what changes do in the middle of the turn; None where that is not computed.

    None too where they move no load.
    """
    moves = {change.setting: change.amount for change in changes}
    if not any(knob in COMPUTED_KNOBS for knob, _ in moves):
        return None
    now, after = model.mid_turn(), model.mid_turn(moves)
    if now is None or after is None or now == after:
        return None
    return InTurn(now, after)
