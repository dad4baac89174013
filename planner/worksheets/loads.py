"""Tire loads in the middle of a turn, and which end runs out of grip first."""

from collections.abc import Mapping

from planner.chassis import grip
from planner.chassis.axle import AxleTransfer
from planner.chassis.loads import TurnCar, TurnLoads, turn_loads
from planner.chassis.turn import Turn
from planner.trade.corners import Corner
from planner.worksheets.worksheet import Part, Row, Worksheet, given

_EVEN = 0.005  # an index that shows as 0.00

_FORCE = (
    "Banked turn: with c = v² / (g R), lateral = c cos b - sin b, normal = c sin b + cos b. "
    "OpenStax, College Physics, “Centripetal Force”."
)
_TRANSFER = (
    "Load transfer: roll = (sprung weight * lateral * arm + uneven banking load) / (roll stiffness "
    "- weight * normal * arm); per axle through the springs K roll / t, through the roll centre "
    "W a h / t, and of the unsprung weight. Barton and Fieldhouse, Automotive Chassis "
    "Engineering, ch. 3."
)
_GRIP = (
    "Grip = friction * load, the friction falling slowly as load grows (Milliken and Milliken, "
    "Race Car Vehicle Dynamics, ch. 2; the figures are from memory); usage = force needed / grip, "
    "index = usage front - usage rear."
)


def sheet(
    car: TurnCar,
    turn: Turn,
    *,
    spring: Mapping[Corner, float],
    motion_ratio: Mapping[Corner, float],
    circumference: Mapping[Corner, float] | None = None,
) -> Worksheet:
    """Work out the four tire loads in a turn.

    Parameters
    ----------
    car : the car, its rates at the wheel.
    turn : radius, banking, speed and direction.
    spring : spring rates behind the wheel rates [lb/in].
    motion_ratio : spring travel over wheel travel [1].
    circumference : of the tires, where known [in].

    Raises
    ------
    Refusal
        No tire could hold the speed, or the springs cannot hold the body up.
    """
    state = turn_loads(car, turn)
    force, moved = state.force, state.transfer
    remarks = [
        "Steady state in the middle of the turn: no drive, brakes, wings or camber. Use it to "
        "compare one setting with another, not for lap times."
    ]
    if state.lifted:
        remarks.append(
            f"{' and '.join(state.lifted)} off the ground: the other tire carries that axle, and "
            "the transfer shown is the one before the wheel lifts."
        )
    parts = [
        Part(
            "The turn asks",
            (
                Row("lateral_g", "Lateral, in car's plane", force.lateral_g, "g", 3),
                Row("normal_g", "Normal to the track", force.normal_g, "g", 3),
                Row(
                    "banking_load",
                    "Load added by banking",
                    (force.normal_g - 1) * car.weight,
                    "lb",
                    signed=True,
                ),
            ),
        ),
        Part("Load moved to the outside, front", _axle_rows(moved.front), "transfer_front"),
        Part("Load moved to the outside, rear", _axle_rows(moved.rear), "transfer_rear"),
        Part("In the turn", _state_rows(state)),
    ]
    if force.lateral_g > 0:
        parts.append(_balance(car, turn, remarks))
    else:
        remarks.append(
            f"At {turn.speed_mph:g} mph the banking holds the car by itself: there is no usage "
            "and no tight or loose to speak of."
        )
    if car.stagger is None:
        remarks.append("Stagger is left out (--stagger, settings.stagger).")
    if car.tire_rate is None:
        remarks.append("Tires taken as rigid (--tire-rate, tires.rate).")
    front, rear = car.unsprung
    bars = {"front": car.bar_front, "rear": car.bar_rear}
    return Worksheet(
        work="loads",
        title=f"Loads: a {turn.direction} turn at {turn.speed_mph:g} mph",
        inputs=(
            *given("radius", "Radius", turn.radius_ft, "ft"),
            *given("banking", "Banking", turn.banking_deg, "deg"),
            *given("speed", "Speed", turn.speed_mph, "mph"),
            *given("turns", "Direction", turn.direction),
            *given("scales", "Scales", car.scales, "lb"),
            *given("spring", "Springs", spring, "lb/in"),
            *given("motion_ratio", "Motion ratios", motion_ratio, "ratio"),
            *given("tire_rate", "Tire rates", car.tire_rate, "lb/in"),
            *given("bar", "Bars, at the wheel", bars, "lb/in"),
            *given("wheelbase", "Wheelbase", car.wheelbase, "in"),
            *given("track_front", "Front track", car.track_front, "in"),
            *given("track_rear", "Rear track", car.track_rear, "in"),
            *given("cg_height", "Centre of gravity, height", car.cg_height, "in"),
            *given("roll_center_front", "Roll centre, front", car.roll_center_front, "in"),
            *given("roll_center_rear", "Roll centre, rear", car.roll_center_rear, "in"),
            *given("unsprung_front", "Unsprung weight, front", front, "lb"),
            *given("unsprung_rear", "Unsprung weight, rear", rear, "lb"),
            *given("stagger", "Stagger", car.stagger, "in"),
            *given("circumference", "Circumferences", circumference or None, "in"),
        ),
        equations=(_FORCE, _TRANSFER, _GRIP) if force.lateral_g > 0 else (_FORCE, _TRANSFER),
        results=tuple(parts),
        remarks=tuple(remarks),
    )


def _axle_rows(moved: AxleTransfer) -> tuple[Row, ...]:
    return (
        Row("elastic", "Through springs and bars", moved.elastic, "lb"),
        Row("geometric", "Through the roll centre", moved.geometric, "lb"),
        Row("unsprung", "Of the unsprung weight", moved.unsprung, "lb"),
        Row("total", "Together", moved.total, "lb"),
    )


def _state_rows(state: TurnLoads) -> tuple[Row, ...]:
    moved = state.transfer
    known = moved.front.total + moved.rear.total != 0
    share = 100 * moved.front_share if known else None
    return (
        Row("loads", "Loads", state.loads, "lb"),
        Row(
            "front_share",
            "Front share of transfer",
            share,
            "percent",
            words="" if known else "nothing moves",
        ),
        Row("roll", "Roll of the body, outward", moved.roll_deg, "deg", 2),
        Row("lifted", "Wheels off the ground", tuple(state.lifted)),
    )


def _balance(car: TurnCar, turn: Turn, remarks: list[str]) -> Part:
    found = grip.balance(car, turn)
    front, rear = found.usage_front, found.usage_rear
    both = f"front {100 * front:.1f} %, rear {100 * rear:.1f} % of the grip"
    apart = f"{100 * abs(found.index):.1f} points"
    side = "tight" if found.index > 0 else "loose"
    feel, words = side, f"{side} by {apart}: {both}"
    if abs(found.index) < _EVEN:
        feel, words = "neutral", f"neutral, {apart} toward {side}: {both}"
    if max(front, rear) > 1:
        remarks.append(
            "Usage above 1: with the friction taken no car would hold this speed. Tires differ; "
            "the index still compares settings."
        )
    return Part(
        "Balance",
        (
            Row("usage_front", "Usage, front", front, "ratio", 3),
            Row("usage_rear", "Usage, rear", rear, "ratio", 3),
            Row("index", "Index, front - rear", found.index, "ratio", 3, signed=True),
            Row("balance", "In words", feel, words=words),
        ),
    )
