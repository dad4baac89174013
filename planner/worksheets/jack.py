"""Weight jacks: what turns do to loads, cross and ride heights, and turns for what is wanted."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from typing import cast

import attrs

from planner.chassis import jacking, springs
from planner.chassis.jacking import JackPlan, JackResponse, Suspension
from planner.chassis.loads import usual_unsprung
from planner.chassis.weights import check_on_ground, weigh
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal
from planner.worksheets import reading
from planner.worksheets.inputs import Known
from planner.worksheets.quantities import ENDS, QUANTITIES, TURNS, Wish, option
from planner.worksheets.worksheet import Calculator, Line, Part, Row, Worksheet, rows

_SETTLE = (
    "Rigid chassis on four springs: each wheel rate = spring rate * motion ratio², in series with "
    "its tire, bars across each axle; heave, pitch and roll balance force and moments. Wheel "
    "rate: Milliken and Milliken, Race Car Vehicle Dynamics, ch. 16 (from memory); statics "
    "derived."
)
_PLAN = (
    "Turns for a cross: those that meet it and disturb the four ride heights least (least "
    "squares), then rounded to the step that leaves the least cross over."
)
_SPRING = (
    "Changed spring: N (1 / old rate - 1 / new rate) + change of free length acts as perch "
    "travel, N being the load in the spring, (scale - unsprung) / motion ratio."
)
JACK_TRAVEL = 4.0  # in, either way; from memory

_SIGN = "Turns: + is screwed in, which raises that corner."
_LINEAR = "The response is linear: turns = change wanted / change per turn at that corner."

_LOADS = Line("loads", "Loads", "lb")
_LIFT = Line("ride_height", "Ride height, change", "in", 3, signed=True)
_EXACT = Line("exact_turns", "Exact", "turns", 3, signed=True)
_NOW = (
    Line("cross_before", "Cross, RF + LR", "percent", 2),
    Line("wedge_before", "Wedge, LR - RR", "lb", signed=True),
)
_CHANGE = (Line("load_change", "Load, change", "lb", signed=True), _LIFT)
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
    Line("remains", "Cross left over", "percent", 2, signed=True),
)
_NEW_SPRING = (
    Line("cross_before", "Cross, old spring", "percent", 2),
    Line("cross_after", "Cross, new spring", "percent", 2),
    _LOADS,
    _LIFT,
    Line("perch", "Acts as perch travel", "in", 3, signed=True),
)
_RESTORED = (
    Line("turns", "Turns of the jack", "turns", 3, signed=True),
    _EXACT,
    Line("cross_restored", "Cross after the turns", "percent", 2),
    Line("remains", "Cross left over", "percent", 2, signed=True),
)

SPRINGS = ("spring", "motion_ratio", "tire_rate", "bar")
_TRACKS = ("track_front", "track_rear")


def suspension_of(known: Known) -> Suspension | None:
    """Return springs, motion ratios, tires and bars; None when the springs are not known."""
    spring = known.corners("spring")
    if spring is None:
        return None
    bar = known.taken_places("bar", ENDS, 0.0)
    ratios = known.taken_places("motion_ratio", CORNERS, 1.0)
    return Suspension(
        spring,
        cast(dict[Corner, float], ratios),
        tire_rates=known.corners("tire_rate"),
        bar_front=bar["front"],
        bar_rear=bar["rear"],
    )


@attrs.frozen(kw_only=True)
class _Stand:
    """How the car stands.

    Attributes
    ----------
    known : the inputs.
    suspension : springs, motion ratios, tires and bars.
    scales : scale reading per corner [lb]; empty where not known.
    pitch : travel of a jack along the spring [in/turn].
    step : smallest turn a hand makes [turns].
    """

    known: Known
    suspension: Suspension
    scales: Mapping[Corner, float]
    pitch: float
    step: float

    def response(self, travel: Mapping[Corner, float]) -> JackResponse:
        """Return what perch travel does [in]."""
        ratio = self.known.track_ratio()
        return jacking.jack_response(self.suspension, travel, track_ratio=ratio)

    def sheet(
        self,
        title: str,
        asked: tuple[Row, ...],
        equations: Sequence[str],
        results: Sequence[Part],
        remarks: Sequence[str] = (),
    ) -> Worksheet:
        """Return the worksheet, with what every one of these shows."""
        inputs = self.known.rows("scales", *SPRINGS, *_TRACKS, "pitch", "step")
        return Worksheet(
            work="jack",
            title=title,
            inputs=asked + inputs,
            equations=(_SETTLE, *equations),
            results=results,
            remarks=(_SIGN, *remarks, *self._without()),
            cautions=(CAUTIONS["stands"],),
        )

    def _without(self) -> tuple[str, ...]:
        """Say what is left out for want of numbers."""
        said = []
        if self.suspension.tire_rates is None:
            said.append("Tires are taken as rigid (--tire-rate, tires.rate).")
        if self.known.value("track_front") is None:
            said.append("Tracks are taken as equal (--track-front, --track-rear).")
        return tuple(said)

    def far(self, turns: Iterable[float]) -> tuple[str, ...]:
        """Say when turns go beyond what a jack has."""
        travel = max(abs(turn) for turn in turns) * self.pitch
        if travel <= JACK_TRAVEL:
            return ()
        return (
            f"That is {travel:.1f} in of jack travel, more than most have (from memory): move the "
            "spring seat, or change the spring or its length.",
        )


def _asked(known: Known) -> Callable[[], Worksheet]:
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
    known.tracks()
    stand = _Stand(
        known=known,
        suspension=suspension,
        scales=scales or {},
        pitch=known.taken("pitch", jacking.JACK_PITCH),
        step=known.taken("step", jacking.HAND_STEP),
    )
    return _WISHES[wish](stand)


def _wish(known: Known) -> str:
    """Return the one thing that is asked for."""
    asked = [name for name in _WISHES if known.typed(name)]
    if "turn" in asked and "perch" in asked:  # they go together
        asked.remove("perch")
    if len(asked) == 1:
        return asked[0]
    said = "two things at once are asked" if asked else "nothing is asked"
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


def _by_hand_asked(stand: _Stand) -> Callable[[], Worksheet]:
    stand.known.drop("step")
    turns, perch = stand.known.places("turn"), stand.known.places("perch")
    travel = {
        corner: turns.get(corner, 0.0) * stand.pitch + perch.get(corner, 0.0)
        for corner in CORNERS
        if corner in turns or corner in perch
    }
    return partial(_by_hand, stand, travel, "turn" if turns else "perch")


def _by_hand(stand: _Stand, travel: Mapping[Corner, float], where: str) -> Worksheet:
    after = _after(stand, stand.response(travel), where)
    asked = stand.known.rows("turn", "perch")
    return stand.sheet("Jack: what these turns do", asked, (), (after,))


def _after(stand: _Stand, done: JackResponse, where: str) -> Part:
    title = "After the turns"
    change = rows(_CHANGE, {"load_change": done.load, "ride_height": done.ride_height})
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


def _for_height_asked(stand: _Stand) -> Callable[[], Worksheet]:
    return partial(_for_height, stand, *_one_corner(stand.known, "ride_height"))


def _for_height(stand: _Stand, corner: Corner, wanted: float) -> Worksheet:
    """Work out the turns of one jack that change the ride height at its own corner."""
    lift = stand.response({corner: 1.0}).ride_height[corner]
    if lift < 1e-6:
        raise Refusal(
            "bad-value",
            f"With these springs the {corner} jack does not raise its own corner.",
            where="ride_height",
            hint="check the spring rates and bars",
        )
    exact = wanted / lift / stand.pitch
    turns = round(exact / stand.step) * stand.step
    done = stand.response({corner: turns * stand.pitch})
    found = {
        "turns": turns,
        "exact_turns": exact,
        "per_turn": lift * stand.pitch,
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
        ("One jack moves all four ride heights and the cross: look at both.", *stand.far([turns])),
    )


# --- a cross -------------------------------------------------------------------------------------


def _for_cross_asked(stand: _Stand) -> Callable[[], Worksheet]:
    known = stand.known
    cross = known.needed("cross")
    one: Corner = "RR" if known.turns() == "right" else "LR"
    jacks = reading.corners_listed(known.wish("at"), "--at")
    ways: list[tuple[str, str, tuple[Corner, ...]]] = [
        ("one_jack", f"With {one} alone", (one,)),
        ("all_four", "With all four, ride heights kept", CORNERS),
    ]
    if jacks:
        ways = [("at", f"With {', '.join(jacks)}", jacks)]
    return partial(_for_cross, stand, cross, ways)


def _for_cross(
    stand: _Stand, cross: float, ways: Sequence[tuple[str, str, tuple[Corner, ...]]]
) -> Worksheet:
    """Work out the turns that give a cross, by each way: key, title and jacks."""
    now = weigh(stand.scales)
    before = {"cross_before": now.cross, "wedge_before": now.wedge}
    parts = [Part("Now", rows(_NOW, before))]
    most: list[float] = []
    for key, title, jacks in ways:
        plan = _plan(stand, cross, jacks)
        parts.append(Part(title, _plan_rows(plan, jacks), key))
        most += plan.turns.values()
    at = (Row("at", "Jacks", ways[0][2]),) if len(ways) == 1 else ()
    sheet = stand.sheet(
        f"Jack: turns for {cross:g} % cross",
        (*stand.known.rows("cross"), *at),
        (_PLAN,),
        parts,
        (
            "Settle the car (roll it, bounce it) and weigh it again after the turns.",
            *stand.far(most),
        ),
    )
    if cross >= now.cross:
        return sheet
    return attrs.evolve(sheet, cautions=(*sheet.cautions, CAUTIONS["loosening"]))


def _plan(stand: _Stand, cross: float, jacks: Sequence[Corner]) -> JackPlan:
    return jacking.turns_for_cross(
        stand.scales,
        cross,
        stand.suspension,
        jacks,
        pitch=stand.pitch,
        step=stand.step,
        track_ratio=stand.known.track_ratio(),
    )


def _plan_rows(plan: JackPlan, jacks: Sequence[Corner]) -> tuple[Row, ...]:
    used = [corner for corner in CORNERS if corner in jacks]
    found = {
        "turns": {corner: plan.turns[corner] for corner in used},
        "exact_turns": {corner: plan.exact_turns[corner] for corner in used},
        "loads": plan.loads,
        "ride_height": plan.ride_height,
        "cross": plan.cross,
        "remains": plan.residual,
    }
    return rows(_FOR_CROSS, found)


# --- another spring ------------------------------------------------------------------------------


def _for_spring_asked(stand: _Stand) -> Callable[[], Worksheet]:
    known = stand.known
    corner, rate = _one_corner(known, "spring_change")
    known.taken("free_length", 0.0)
    usual = usual_unsprung(sum(stand.scales.values()), corner)
    known.taken("unsprung", round(usual, 1))
    return partial(_for_spring, stand, corner, rate)


def _for_spring(stand: _Stand, corner: Corner, rate: float) -> Worksheet:
    """Work out what another spring does to the cross, and the turns that restore it."""
    unsprung = stand.known.value("unsprung") or 0.0
    longer = stand.known.value("free_length") or 0.0
    done = springs.spring_change(
        stand.scales,
        stand.suspension,
        corner,
        rate,
        unsprung=unsprung,
        free_length_change=longer,
        pitch=stand.pitch,
        step=stand.step,
        track_ratio=stand.known.track_ratio(),
    )
    restored = {
        "turns": done.hand_turns,
        "exact_turns": done.turns,
        "cross_restored": done.hand_cross,
        "remains": done.cross_before - done.hand_cross,
    }
    return stand.sheet(
        f"Jack: {corner} spring from {stand.suspension.spring_rates[corner]:g} to {rate:g} lb/in",
        stand.known.rows("spring_change", "free_length", "unsprung"),
        (_SPRING,),
        (
            Part("With the jack left alone", rows(_NEW_SPRING, done)),
            Part(f"To restore the cross, the {corner} jack", rows(_RESTORED, restored)),
        ),
        (*_spring_remarks(unsprung, longer), *stand.far([done.hand_turns])),
    )


def _spring_remarks(unsprung: float, longer: float) -> list[str]:
    said = ["Restoring the cross at that corner brings loads and ride heights back with it."]
    if unsprung == 0.0:
        said.append(
            "Without the unsprung weight of that corner (--unsprung) the whole scale reading is "
            "taken to press the spring: too many turns, by its share."
        )
    if longer == 0.0:
        said.append("Both springs are taken as equally long (--free-length).")
    return said


_WISHES: dict[str, Callable[[_Stand], Callable[[], Worksheet]]] = {
    "turn": _by_hand_asked,
    "perch": _by_hand_asked,
    "ride_height": _for_height_asked,
    "cross": _for_cross_asked,
    "spring_change": _for_spring_asked,
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
        *_TRACKS,
        "pitch",
        "step",
    ),
    wishes=(Wish("at", "jacks to turn for --cross", shape="CORNER"), TURNS),
    asked=_asked,
)
