"""Weight jacks: what turns do to loads, cross and ride heights, and turns for what is wanted."""

from collections.abc import Callable, Sequence
from typing import cast

import attrs

from planner.car.usual import SPRING_TRAVEL
from planner.chassis import jacking, springs
from planner.chassis.at_rest import HAND_STEP, JACK_PITCH, Jack
from planner.chassis.jacking import JackPlan, JackResponse
from planner.chassis.loads import usual_unsprung
from planner.chassis.weights import check_on_ground, weigh
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal
from planner.worksheets import reading
from planner.worksheets.inputs import Calculator, Known
from planner.worksheets.quantities import QUANTITIES, TURNS, Wish, option
from planner.worksheets.stand import SPRINGS, TRACKS, Stand, suspension_of
from planner.worksheets.worksheet import Line, Part, Row, Worksheet, rows

_PLAN = (
    "Turns for a cross: those that meet it and disturb the four ride heights least (least "
    "squares), then rounded to the step that leaves the least cross over."
)
_SPRING = (
    "Changed spring: N (1 / old rate - 1 / new rate) + change of free length acts as perch "
    "travel, N being the load in the spring, (scale - unsprung) / motion ratio."
)
_LINEAR = "The response is linear: turns = change wanted / change per turn at that corner."

_LOADS = Line("loads", "Loads", "lb")
_LIFT = Line("ride_height", "Ride height, change", "in", 3, signed=True)
_EXACT = Line("exact_turns", "Exact", "turns", 3, signed=True)
_NOW = (
    Line("cross_before", "Cross, RF + LR", "percent", 2, of="cross"),
    Line("wedge_before", "Wedge, LR - RR", "lb", signed=True, of="wedge"),
)
_CHANGE = (Line("load_change", "Load, change", "lb", signed=True, of="load"), _LIFT)
_SPLITS = (
    Line("cross_before", "Cross before", "percent", 2),
    Line("cross_after", "Cross after", "percent", 2),
    Line("wedge_before", "Wedge before", "lb", signed=True),
    Line("wedge_after", "Wedge after", "lb", signed=True),
)
_FOR_HEIGHT = (
    Line("turns", "Turns of the jack", "turns", 3, signed=True),
    _EXACT,
    Line("per_turn", "Ride height per turn", "in/turn", 4),
    Line("remains", "Ride height left over", "in", 3, signed=True),
)
_FOR_CROSS = (
    Line("turns", "Turns to make", "turns", 2, signed=True),
    _EXACT,
    _LOADS,
    _LIFT,
    Line("cross", "Cross reached", "percent", 2),
    Line("remains", "Cross left over", "percent", 2, signed=True, of="residual"),
)
_NEW_SPRING = (
    Line("cross_before", "Cross, old spring", "percent", 2),
    Line("cross_after", "Cross, new spring", "percent", 2),
    _LOADS,
    _LIFT,
    Line("perch", "Acts as perch travel", "in", 3, signed=True),
)
_RESTORED = (
    Line("turns", "Turns of the jack", "turns", 3, signed=True, of="hand_turns"),
    Line("exact_turns", "Exact", "turns", 3, signed=True, of="turns"),
    Line("cross_restored", "Cross after the turns", "percent", 2, of="hand_cross"),
    Line(
        "remains",
        "Cross left over",
        "percent",
        2,
        signed=True,
        of=lambda done: done.cross_before - done.hand_cross,
    ),
)


def _work(known: Known) -> Worksheet:
    wish = _wish(known)
    if wish != "spring_change":
        known.only_with("--spring-change", "free_length", "unsprung")
    if wish != "cross":
        known.only_with("--cross", "at")
    known.needed_corners("spring")
    suspension = suspension_of(known)
    assert suspension is not None
    with_scales = wish in ("cross", "spring_change")
    scales = known.needed_corners("scales") if with_scales else known.corners("scales")
    stand = Stand(
        known=known,
        suspension=suspension,
        scales=scales or {},
        jack=Jack(known.taken("pitch", JACK_PITCH), known.taken("step", HAND_STEP)),
        tracks=known.tracks(),
    )
    return _WISHES[wish](stand)


def _wish(known: Known) -> str:
    """Return the one thing that is asked for."""
    asked = [name for name in _WISHES if known.typed(name)]
    if "turn" in asked and "perch" in asked:  # they go together
        asked.remove("perch")
    if len(asked) == 1:
        return asked[0]
    said = "two were given" if asked else "none was given"
    what = "--turn or --perch, --ride-height, --cross, or --spring-change"
    raise Refusal(
        "usage", f"Give one of {what}; {said}.", where="treadgate work jack", hint="--turn LR=1"
    )


def _one_corner(known: Known, name: str) -> tuple[Corner, float]:
    """Return corner and value of a wish for a single corner; refuse more corners than one."""
    found = known.places(name)
    if len(found) != 1:
        raise Refusal(
            "bad-value",
            f"{option(name)} names {', '.join(found)}; it takes one corner at a time.",
            where=option(name),
            hint=f"{option(name)} {QUANTITIES[name].example}",
        )
    corner, value = next(iter(found.items()))
    return cast(Corner, corner), value


# --- turns made by hand --------------------------------------------------------------------------


def _by_hand(stand: Stand) -> Worksheet:
    stand.known.drop("step")
    turns, perch = stand.known.places("turn"), stand.known.places("perch")
    travel = {
        corner: turns.get(corner, 0.0) * stand.jack.pitch + perch.get(corner, 0.0)
        for corner in CORNERS
        if corner in turns or corner in perch
    }
    after = _after(stand, stand.response(travel), "turn" if turns else "perch")
    asked = stand.known.rows("turn", "perch")
    doubts = stand.far({corner: turns.get(corner, 0.0) for corner in CORNERS})
    return stand.sheet("Jack: what these turns do", asked, (), (after,), doubts=doubts)


def _after(stand: Stand, done: JackResponse, where: str) -> Part:
    title = "After the turns"
    change = rows(_CHANGE, done)
    scales = stand.scales
    if not scales:
        loads = Line("loads", "Loads and cross").row(None, "give --scales or [scales] to see them")
        return Part(title, (*change, loads))
    carried = check_on_ground(per_corner(lambda c: scales[c] + done.load[c]), where)
    before, after = weigh(scales), weigh(carried)
    splits = {
        "cross_before": before.cross,
        "cross_after": after.cross,
        "wedge_before": before.wedge,
        "wedge_after": after.wedge,
    }
    return Part(title, (_LOADS.row(carried), *change, *rows(_SPLITS, splits)))


# --- a ride height -------------------------------------------------------------------------------


def _for_height(stand: Stand) -> Worksheet:
    """Work out the turns of one jack that change the ride height at its own corner."""
    corner, wanted = _one_corner(stand.known, "ride_height")
    lift = stand.response({corner: 1.0}).ride_height[corner]
    if lift < 1e-6:
        raise Refusal(
            "bad-value",
            f"With these springs the {corner} jack does not raise its own corner.",
            where="ride_height",
            hint="check the spring rates and bars",
        )
    exact = wanted / lift / stand.jack.pitch
    turns = round(exact / stand.jack.step) * stand.jack.step
    done = stand.response({corner: turns * stand.jack.pitch})
    found = {
        "turns": turns,
        "exact_turns": exact,
        "per_turn": lift * stand.jack.pitch,
        "remains": wanted - done.ride_height[corner],
    }
    return stand.sheet(
        f"Jack: {wanted:+g} in of ride height at {corner}",
        stand.known.rows("ride_height"),
        (_LINEAR,),
        (
            Part(f"The {corner} jack", rows(_FOR_HEIGHT, found)),
            _after(stand, done, "ride_height"),
        ),
        ("One jack moves all four ride heights and the cross: look at both.",),
        stand.far({corner: turns}),
    )


# --- a cross -------------------------------------------------------------------------------------


def _for_cross(stand: Stand) -> Worksheet:
    """Work out the turns that give a cross, by each way there is."""
    known, now = stand.known, weigh(stand.scales)
    cross = known.needed("cross")
    jacks = reading.corners_listed(known.wish("at"), "--at")
    parts = [Part("Now", rows(_NOW, now))]
    most: dict[Corner, float] = {}
    for key, title, used in _ways(known, jacks):
        plan = _plan(stand, cross, used)
        parts.append(Part(title, _plan_rows(plan, used), key))
        most |= {c: t for c, t in plan.turns.items() if abs(t) > abs(most.get(c, 0.0))}
    at = (Row("at", "Jacks", jacks),) if jacks else ()
    settle = "Settle the car (roll it, bounce it) and weigh it again after the turns."
    sheet = stand.sheet(
        f"Jack: turns for {cross:g} % cross",
        (*known.rows("cross"), *at),
        (_PLAN,),
        parts,
        (settle,),
        stand.far(most),
    )
    if cross >= now.cross:
        return sheet
    return attrs.evolve(sheet, cautions=(*sheet.cautions, CAUTIONS["loosening"]))


def _ways(known: Known, jacks: tuple[Corner, ...]) -> list[tuple[str, str, tuple[Corner, ...]]]:
    """Return key, title and jacks of each way to reach a cross."""
    one: Corner = "RR" if known.turns() == "right" else "LR"
    if jacks:
        return [("at", f"With {', '.join(jacks)}", jacks)]
    return [
        ("one_jack", f"With {one} alone", (one,)),
        ("all_four", "With all four, ride heights kept", CORNERS),
    ]


def _plan(stand: Stand, cross: float, jacks: Sequence[Corner]) -> JackPlan:
    return jacking.turns_for_cross(stand.car, cross, jacks, stand.jack)


def _plan_rows(plan: JackPlan, jacks: Sequence[Corner]) -> tuple[Row, ...]:
    used = [corner for corner in CORNERS if corner in jacks]
    turns, exact = ({c: all_[c] for c in used} for all_ in (plan.turns, plan.exact_turns))
    return rows(_FOR_CROSS, attrs.evolve(plan, turns=turns, exact_turns=exact))


# --- another spring ------------------------------------------------------------------------------


def _for_spring(stand: Stand) -> Worksheet:
    """Work out what another spring does to the cross, and the turns that restore it."""
    corner, rate = _one_corner(stand.known, "spring_change")
    longer = stand.known.taken("free_length", 0.0)
    usual = usual_unsprung(sum(stand.scales.values()), corner)
    unsprung = stand.known.taken("unsprung", round(usual, 1))
    done = springs.spring_change(
        stand.car,
        corner,
        rate,
        unsprung=unsprung,
        free_length_change=longer,
        jack=stand.jack,
    )
    return stand.sheet(
        f"Jack: {corner} spring from {stand.suspension.spring_rates[corner]:g} to {rate:g} lb/in",
        stand.known.rows("spring_change", "free_length", "unsprung"),
        (_SPRING,),
        (
            Part("With the jack untouched", rows(_NEW_SPRING, done)),
            Part(f"To restore the cross, the {corner} jack", rows(_RESTORED, done)),
        ),
        _spring_remarks(unsprung, longer),
        (*stand.far({corner: done.hand_turns}), *_no_travel(stand, corner, rate, unsprung)),
    )


def _spring_remarks(unsprung: float, longer: float) -> list[str]:
    said = ["Restoring the cross at that corner brings loads and ride heights back with it."]
    if unsprung == 0.0:
        said.append(
            "Without the unsprung weight of that corner (--unsprung) the whole scale reading is "
            "taken to press the spring: too many turns, by its share."
        )
    if longer == 0.0:
        said.append("Both springs are assumed equally long (--free-length).")
    return said


def _no_travel(stand: Stand, corner: Corner, rate: float, unsprung: float) -> tuple[str, ...]:
    """Ask about a spring that stands pressed as far as most springs go."""
    ratio = stand.suspension.motion_ratios[corner]
    pressed = springs.spring_compression(stand.scales[corner], rate, ratio, unsprung)
    if pressed < SPRING_TRAVEL:
        return ()
    return (
        f"At {rate:g} lb/in the {corner} spring stands pressed by {pressed:.1f} in; most springs "
        f"have {SPRING_TRAVEL:g} in before the coils touch (from memory): is there travel left?",
    )


_WISHES: dict[str, Callable[[Stand], Worksheet]] = {
    "turn": _by_hand,
    "perch": _by_hand,
    "ride_height": _for_height,
    "cross": _for_cross,
    "spring_change": _for_spring,
}

CALCULATOR = Calculator(
    about="Say what turns of the weight jacks do, or the turns for what is wanted.\n\n"
    "Give one of: --turn and --perch, --ride-height, --cross, --spring-change.",
    takes=(
        *_WISHES,
        "free_length",
        "unsprung",
        "scales",
        *SPRINGS,
        *TRACKS,
        "pitch",
        "step",
    ),
    wishes=(Wish("at", "jacks to turn for --cross", shape="CORNER"), TURNS),
    work=_work,
)
