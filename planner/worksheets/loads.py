"""Tire loads in the middle of a turn, and which end runs out of grip first."""

from collections.abc import Mapping

from planner.car.car_file import starting_settings
from planner.chassis import grip
from planner.chassis import loads as physics
from planner.chassis.grip import Balance
from planner.chassis.loads import TurnCar, TurnLoads
from planner.chassis.mid_turn import MidTurn, seen_in
from planner.chassis.turn import CEILING_G, Direction, Turn
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal
from planner.worksheets.inputs import Calculator, Known
from planner.worksheets.quantities import ENDS, TURNS
from planner.worksheets.worksheet import Line, Part, Row, Worksheet, rows

Corners = Mapping[Corner, float]

_EVEN = 0.005  # an index that shows as 0.00

_FORCE = (
    "Banked turn: with c = v² / (g R), lateral = c cos b - sin b, normal = c sin b + cos b. "
    "OpenStax, College Physics, “Centripetal Force”."
)
_TRANSFER = (
    "Load transfer: roll = (sprung weight * lateral * arm + uneven banking load) / (roll stiffness "
    "- weight * normal * arm); per axle through the springs K roll / t, through the roll centre "
    "W a h / t, and of the unsprung weight. Barton and Fieldhouse, Automotive Chassis "
    "Engineering, ch. 3. The tires give way under all three; a wheel that leaves the ground "
    "leaves the rest to the other axle."
)
_GRIP = (
    "Grip = friction * load, the friction falling slowly as load grows (Milliken and Milliken, "
    "Race Car Vehicle Dynamics, ch. 2; the figures are from memory); usage = force needed / grip, "
    "index = usage front - usage rear."
)
_STEADY = (
    "Steady state in the middle of the turn: no drive, brakes, wings or camber. Use it to compare "
    "one setting with another, not for lap times."
)
_ABOVE_ONE = (
    "Usage above 1: with the friction assumed no car would hold this speed. Tires differ; the "
    "index still compares settings."
)

_ASKED = (
    Line("lateral_g", "Lateral, in car's plane", "g", 3),
    Line("normal_g", "Normal to the track", "g", 3),
    Line("banking_load", "Load added by banking", "lb", signed=True),
)
_MOVED = (
    Line("elastic", "Through springs and bars", "lb"),
    Line("geometric", "Through the roll centre", "lb"),
    Line("unsprung", "Of the unsprung weight", "lb"),
    Line("total", "Together", "lb"),
)
_LOADS = Line("loads", "Loads", "lb")
_SHARE = Line("front_share", "Front share of transfer", "percent")
_CROSS = Line("dynamic_cross", "Cross weight in the turn", "percent")
_LIFTS = Line("lift_off", "Inside wheels lift at", "g", 2)
_ROLL = Line("roll", "Roll of the body, outward", "deg", 2)
_LIFTED = Line("lifted", "Wheels off the ground")
_USAGE = (
    Line("usage_front", "Usage, front", "ratio", 3),
    Line("usage_rear", "Usage, rear", "ratio", 3),
    Line("index", "Index, front - rear", "ratio", 3, signed=True),
)
_BALANCE = Line("balance", "In words")

_TURN = ("radius", "banking", "speed")
_SIZES = ("wheelbase", "track_front", "track_rear")
_BASES = ("spring_base_front", "spring_base_rear")
_UNSPRUNG = ("unsprung_front", "unsprung_rear")
# What is taken where it is not given, from memory.
_HEIGHTS = {
    "cg_height": physics.CG_HEIGHT,
    "roll_center_front": physics.ROLL_CENTER_FRONT,
    "roll_center_rear": physics.ROLL_CENTER_REAR,
}
_CAR = (
    *("scales", "spring", "motion_ratio", "tire_rate", "bar"),
    *(*_SIZES, *_HEIGHTS, *_UNSPRUNG, *_BASES, "stagger", "circumference"),
)


def _work(known: Known) -> Worksheet:
    scales, spring = known.needed_corners("scales"), known.needed_corners("spring")
    radius, speed = known.needed("radius"), known.needed("speed")
    banking, direction = known.taken("banking", 0.0), _direction(known)
    car = _car(known, scales, spring, _stagger(known, direction))
    turn = Turn(radius_ft=radius, banking_deg=banking, speed_mph=speed, direction=direction)
    state = physics.turn_loads(car, turn)
    found = grip.balance(car, turn) if state.force.lateral_g > 0 else None
    return Worksheet(
        work="loads",
        title=f"Loads: a {direction} turn at {speed:g} mph",
        inputs=(*known.rows(*_TURN), Row("turns", "Direction", direction), *known.rows(*_CAR)),
        equations=(_FORCE, _TRANSFER, _GRIP) if found else (_FORCE, _TRANSFER),
        results=(
            *_loads(car, state, seen_in(car, turn, state)),
            *((_balance(found),) if found else ()),
        ),
        remarks=_remarks(car, speed, state, found),
    )


def _direction(known: Known) -> Direction:
    turns = known.turns()
    if turns == "both":
        raise Refusal(
            "missing",
            "The track turns both ways: say which turn is meant.",
            where="--turns or car.turns",
            hint="--turns left",
        )
    if turns is None:
        known.put("turns", "left", "taken")
    return "right" if turns == "right" else "left"


def _stagger(known: Known, direction: Direction) -> float | None:
    """Return the stagger for this turn: typed, from typed tires, or of the car file."""
    around = known.places("circumference")
    if known.typed("circumference") and not known.typed("stagger"):
        outside, inside = ("LR", "RR") if direction == "right" else ("RR", "LR")
        if outside in around and inside in around:
            stagger = around[outside] - around[inside]
            known.put("stagger", stagger, known.sources["circumference"])
            return stagger
    stands = known.number("stagger", "settings.stagger.rear")
    if known.typed("stagger") or known.car is None:
        return stands
    if stands is None:
        stands = starting_settings(known.car).get(("stagger", "rear"))
    if stands is None:
        return None
    mirrored = (known.car.car.turns == "right") != (direction == "right")
    stagger = -stands if mirrored else stands
    known.put("stagger", stagger, "car file")
    return stagger


def _car(known: Known, scales: Corners, spring: Corners, stagger: float | None) -> TurnCar:
    ratio = known.taken_places("motion_ratio", CORNERS, 1.0)
    bar = known.taken_places("bar", ENDS, 0.0)
    around = known.places("circumference")
    numbers: dict[str, float] = {name: known.needed(name) for name in _SIZES}
    numbers |= {name: known.taken(name, usual) for name, usual in _HEIGHTS.items()}
    if {"LR", "RR"} <= set(around):
        numbers["rear_circumference"] = (around["LR"] + around["RR"]) / 2
    car = TurnCar(
        scales=scales,
        wheel_rate={corner: spring[corner] * ratio[corner] ** 2 for corner in CORNERS},
        bar_front=bar["front"],
        bar_rear=bar["rear"],
        tire_rate=known.corners("tire_rate"),
        stagger=stagger,
        unsprung_front=known.number("unsprung_front"),
        unsprung_rear=known.number("unsprung_rear"),
        spring_base_front=known.number("spring_base_front"),
        spring_base_rear=known.number("spring_base_rear"),
        **numbers,
    )
    for name, usual in zip(_UNSPRUNG, car.unsprung, strict=True):
        known.taken(name, usual)
    if any(known.sources[name] == "taken" for name in (*_HEIGHTS, *_UNSPRUNG)):
        known.remarks.append("Assumed heights and unsprung weights are from memory.")
    return car


def _loads(car: TurnCar, state: TurnLoads, seen: MidTurn) -> tuple[Part, ...]:
    force, moved = state.force, state.transfer
    asked = {
        "lateral_g": force.lateral_g,
        "normal_g": force.normal_g,
        "banking_load": (force.normal_g - 1) * car.weight,
    }
    lifting = {corner: g for corner, g in seen.lift_off.items() if g is not None}
    in_the_turn = (
        _LOADS.row(state.loads),
        _CROSS.row(seen.cross),
        _SHARE.row(seen.front_share, "" if seen.front_share is not None else "nothing moves"),
        _ROLL.row(moved.roll_deg),
        _LIFTED.row(tuple(state.lifted)),
        _LIFTS.row(lifting, ", ".join(_lifts(*each) for each in seen.lift_off.items())),
    )
    return (
        Part("The turn asks", rows(_ASKED, asked)),
        Part("Load moved to the outside, front", rows(_MOVED, moved.front), "transfer_front"),
        Part("Load moved to the outside, rear", rows(_MOVED, moved.rear), "transfer_rear"),
        Part("In the turn", in_the_turn),
    )


def _lifts(corner: Corner, lateral_g: float | None) -> str:
    at = f"above {CEILING_G:g} g" if lateral_g is None else f"{lateral_g:.2f} g"
    return f"{corner} {at}"


def _balance(found: Balance) -> Part:
    front, rear = 100 * found.usage_front, 100 * found.usage_rear
    apart = f"{100 * abs(found.index):.1f} points"
    side = "tight" if found.index > 0 else "loose"
    feel, words = side, f"{side} by {apart}"
    if abs(found.index) < _EVEN:
        feel, words = "neutral", f"neutral, {apart} toward {side}"
    words += f": front {front:.1f} %, rear {rear:.1f} % of the grip"
    return Part("Balance", (*rows(_USAGE, found), _BALANCE.row(feel, words)))


def _remarks(car: TurnCar, speed: float, state: TurnLoads, found: Balance | None) -> list[str]:
    said = [_STEADY]
    if state.lifted:
        said.append(
            f"{' and '.join(state.lifted)} off the ground: the other tire carries that axle, and "
            "the other axle takes the roll it can no longer hold."
        )
    if found is None:
        said.append(
            f"At {speed:g} mph the banking holds the car by itself: no tire force is needed, "
            "so there is no usage, tight or loose."
        )
    elif max(found.usage_front, found.usage_rear) > 1:
        said.append(_ABOVE_ONE)
    if car.stagger is None:
        said.append("Stagger is left out (--stagger, settings.stagger).")
    if car.tire_rate is None:
        said.append("Tires are assumed rigid (--tire-rate, tires.rate).")
    return said


CALCULATOR = Calculator(
    about="Find the four tire loads in a turn, and whether the car is tight or loose.",
    takes=(*_TURN, *_CAR),
    wishes=(TURNS,),
    work=_work,
)
