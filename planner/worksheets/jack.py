"""Weight jacks: what turns do to loads, cross and ride heights, and turns for what is wanted."""

from collections.abc import Iterable, Mapping, Sequence

import attrs

from planner.chassis import at_rest, jacking, springs
from planner.chassis.at_rest import AtRest, Jack, Suspension
from planner.chassis.jacking import JackPlan, JackResponse
from planner.chassis.weights import check_on_ground, weigh
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal
from planner.worksheets.worksheet import Part, Row, Worksheet, given

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


@attrs.frozen(kw_only=True)
class Stand:
    """How the car stands.

    Attributes
    ----------
    suspension : springs, motion ratios, tires and bars.
    scales : scale reading per corner [lb]; None where not known.
    pitch : travel of a jack along the spring [in/turn].
    step : smallest turn a hand makes [turns].
    track_front, track_rear : tracks [in]; equal where one is not known.
    """

    suspension: Suspension
    scales: Mapping[Corner, float] | None = None
    pitch: float = at_rest.JACK_PITCH
    step: float = at_rest.HAND_STEP
    track_front: float | None = None
    track_rear: float | None = None

    @property
    def track_ratio(self) -> float:
        """Front over rear track."""
        return at_rest.track_ratio(self.track_front, self.track_rear)

    @property
    def car(self) -> AtRest:
        """The car on its scales, which must be known."""
        assert self.scales is not None
        return AtRest(
            loads=self.scales,
            suspension=self.suspension,
            track_front=self.track_front,
            track_rear=self.track_rear,
        )

    @property
    def jack(self) -> Jack:
        """The jacks and the hand."""
        return Jack(self.pitch, self.step)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The inputs."""
        return (
            *given("scales", "Scales", self.scales, "lb"),
            *suspension_rows(self.suspension),
            *given("track_front", "Front track", self.track_front, "in"),
            *given("track_rear", "Rear track", self.track_rear, "in"),
            *given("pitch", "Jack pitch", self.pitch, "in/turn"),
        )

    @property
    def remarks(self) -> tuple[str, ...]:
        """What was left out for want of numbers."""
        without = []
        if self.suspension.tire_rates is None:
            without.append("tires taken as rigid (--tire-rate, tires.rate)")
        if self.track_front is None or self.track_rear is None:
            without.append("tracks taken as equal (--track-front, --track-rear)")
        if not without:
            return ()
        said = "; ".join(without)
        return (f"{said[0].upper()}{said[1:]}.",)


def suspension_rows(suspension: Suspension) -> tuple[Row, ...]:
    """Return springs, motion ratios, tires and bars as input rows."""
    bars = {"front": suspension.bar_front, "rear": suspension.bar_rear}
    return (
        *given("spring", "Springs", suspension.spring_rates, "lb/in"),
        *given("motion_ratio", "Motion ratios", suspension.motion_ratios, "ratio"),
        *given("tire_rate", "Tire rates", suspension.tire_rates, "lb/in"),
        *given("bar", "Bars, at the wheel", bars, "lb/in"),
    )


def by_hand(
    stand: Stand, turns: Mapping[Corner, float], perch: Mapping[Corner, float]
) -> Worksheet:
    """Work out what turns of the jacks and moved perches do.

    Parameters
    ----------
    stand : how the car stands.
    turns : turns per jack, screwed in positive [turns].
    perch : travel per perch along the spring, pressing positive [in].

    Raises
    ------
    Refusal
        A wheel would lift.
    """
    travel = {
        corner: turns.get(corner, 0.0) * stand.pitch + perch.get(corner, 0.0)
        for corner in CORNERS
        if corner in turns or corner in perch
    }
    done = jacking.jack_response(stand.suspension, travel, track_ratio=stand.track_ratio)
    where = "turn" if turns else "perch"
    return _worksheet(
        stand,
        "Jack: what these turns do",
        (_SETTLE,),
        (Part("After the turns", _response_rows(stand, done, where)),),
        asked=(
            *given("turn", "Turns", turns or None, "turns"),
            *given("perch", "Perch travel", perch or None, "in"),
        ),
        rounded=False,
    )


def for_ride_height(stand: Stand, corner: Corner, wanted: float) -> Worksheet:
    """Work out the turns of one jack that change the ride height at its own corner.

    Parameters
    ----------
    stand : how the car stands.
    corner : the corner.
    wanted : change of ride height there [in].

    Raises
    ------
    Refusal
        A wheel would lift.
    """
    suspension, ratio = stand.suspension, stand.track_ratio
    one = jacking.jack_response(suspension, {corner: 1.0}, track_ratio=ratio)
    lift = one.ride_height[corner]
    if lift < 1e-6:
        raise Refusal(
            "bad-value",
            f"With these springs the {corner} jack does not raise its own corner.",
            where="ride_height",
            hint="check the spring rates and bars",
        )
    exact = wanted / lift / stand.pitch
    turns = round(exact / stand.step) * stand.step
    done = jacking.jack_response(suspension, {corner: turns * stand.pitch}, track_ratio=ratio)
    left = wanted - done.ride_height[corner]
    return _worksheet(
        stand,
        f"Jack: {wanted:+g} in of ride height at {corner}",
        (
            _SETTLE,
            "The response is linear: turns = change wanted / change per turn at that corner.",
        ),
        (
            Part(
                "Turns to make",
                (
                    Row("turns", f"Turn the {corner} jack", turns, "turns", 3, signed=True),
                    Row("exact_turns", "Exact", exact, "turns", 3, signed=True),
                    Row("per_turn", "Ride height per turn", lift * stand.pitch, "in/turn", 4),
                    Row("remains", "Ride height left over", left, "in", 3, signed=True),
                ),
            ),
            Part("After the turns", _response_rows(stand, done, "ride_height")),
        ),
        asked=given("ride_height", "Ride height, change", {corner: wanted}, "in"),
        remarks=(
            "One jack moves all four ride heights and the cross: look at both.",
            *_far(stand, (turns,)),
        ),
    )


def for_cross(
    stand: Stand, cross: float, choices: Sequence[tuple[str, str, Sequence[Corner]]]
) -> Worksheet:
    """Work out the turns that give a cross.

    Parameters
    ----------
    stand : how the car stands; the scales must be known.
    cross : cross wanted [percent].
    choices : key, title and jacks of each way to do it.

    Raises
    ------
    Refusal
        The cross cannot be reached with four wheels on the ground.
    """
    assert stand.scales is not None
    now = weigh(stand.scales)
    parts = [
        Part(
            "Now",
            (
                Row("cross_before", "Cross, RF + LR", now.cross, "percent", 2),
                Row("wedge_before", "Wedge, LR - RR", now.wedge, "lb", signed=True),
            ),
        )
    ]
    most: list[float] = []
    for key, title, corners in choices:
        plan = jacking.turns_for_cross(stand.car, cross, corners, stand.jack)
        parts.append(_plan_part(key, title, corners, plan))
        most += plan.turns.values()
    at = tuple(choices[0][2]) if len(choices) == 1 else None
    return _worksheet(
        stand,
        f"Jack: turns for {cross:g} % cross",
        (_SETTLE, _PLAN),
        tuple(parts),
        asked=(*given("cross", "Cross wanted", cross, "percent"), *given("at", "Jacks", at)),
        remarks=(
            "Settle the car (roll it, bounce it) and weigh it again after the turns.",
            *_far(stand, most),
        ),
        cautions=(CAUTIONS["loosening"],) if cross < now.cross else (),
    )


def for_spring(
    stand: Stand, corner: Corner, rate: float, *, free_length: float = 0.0, unsprung: float = 0.0
) -> Worksheet:
    """Work out what another spring does to the cross, and the turns that restore it.

    Parameters
    ----------
    stand : how the car stands with the old spring; the scales must be known.
    corner : where the spring is changed.
    rate : rate of the new spring [lb/in].
    free_length : free length of the new spring minus that of the old one [in].
    unsprung : unsprung weight at that corner [lb].

    Raises
    ------
    Refusal
        A wheel would lift, or the unsprung weight is not below the scale reading.
    """
    assert stand.scales is not None
    done = springs.spring_change(
        stand.car,
        corner,
        rate,
        unsprung=unsprung,
        free_length_change=free_length,
        jack=stand.jack,
    )
    old = stand.suspension.spring_rates[corner]
    remarks = ["Restoring the cross at that corner brings loads and ride heights back with it."]
    if unsprung == 0.0:
        remarks.append(
            "Without the unsprung weight of that corner (--unsprung) the whole scale reading is "
            "taken to press the spring, which makes the turns too many by its share."
        )
    if free_length == 0.0:
        remarks.append("Both springs are taken as equally long (--free-length).")
    return _worksheet(
        stand,
        f"Jack: {corner} spring from {old:g} to {rate:g} lb/in",
        (_SETTLE, _SPRING),
        (
            Part(
                "With the jack left alone",
                (
                    Row("cross_before", "Cross, old spring", done.cross_before, "percent", 2),
                    Row("cross_after", "Cross, new spring", done.cross_after, "percent", 2),
                    Row("loads", "Loads", done.loads, "lb"),
                    Row("ride_height", "Ride height", done.ride_height, "in", 3, signed=True),
                    Row("perch", "Acts as perch travel", done.perch, "in", 3, signed=True),
                ),
            ),
            Part(
                "To restore the cross",
                (
                    Row(
                        "turns",
                        f"Turn the {corner} jack",
                        done.hand_turns,
                        "turns",
                        3,
                        signed=True,
                    ),
                    Row("exact_turns", "Exact", done.turns, "turns", 3, signed=True),
                    Row("cross_restored", "Cross after the turns", done.hand_cross, "percent", 2),
                    Row(
                        "remains",
                        "Cross left over",
                        done.cross_before - done.hand_cross,
                        "percent",
                        2,
                        signed=True,
                    ),
                ),
            ),
        ),
        asked=(
            *given("spring_change", "New spring", {corner: rate}, "lb/in"),
            *given("free_length", "Free length, change", free_length, "in"),
            *given("unsprung", "Unsprung at that corner", unsprung, "lb"),
        ),
        remarks=(*remarks, *_far(stand, (done.hand_turns,))),
    )


def _worksheet(
    stand: Stand,
    title: str,
    equations: tuple[str, ...],
    results: tuple[Part, ...],
    *,
    asked: tuple[Row, ...],
    remarks: tuple[str, ...] = (),
    cautions: tuple[str, ...] = (),
    rounded: bool = True,
) -> Worksheet:
    step = given("step", "Step of the hand", stand.step, "turns") if rounded else ()
    return Worksheet(
        work="jack",
        title=title,
        inputs=asked + stand.rows + step,
        equations=equations,
        results=results,
        remarks=(_SIGN, *remarks, *stand.remarks),
        cautions=(CAUTIONS["stands"], *cautions),
    )


def _response_rows(stand: Stand, done: JackResponse, where: str) -> tuple[Row, ...]:
    rows = [
        Row("load_change", "Load, change", done.load, "lb", signed=True),
        Row("ride_height", "Ride height, change", done.ride_height, "in", 3, signed=True),
    ]
    if stand.scales is None:
        words = "give --scales or [scales] to see them"
        return (*rows, Row("loads", "Loads and cross", None, words=words))
    scales = stand.scales
    loads = check_on_ground(per_corner(lambda c: scales[c] + done.load[c]), where)
    before, after = weigh(scales), weigh(loads)
    return (
        Row("loads", "Loads", loads, "lb"),
        *rows,
        Row("cross_before", "Cross before", before.cross, "percent", 2),
        Row("cross_after", "Cross after", after.cross, "percent", 2),
        Row("wedge_before", "Wedge before", before.wedge, "lb", signed=True),
        Row("wedge_after", "Wedge after", after.wedge, "lb", signed=True),
    )


def _far(stand: Stand, turns: Iterable[float]) -> tuple[str, ...]:
    """Say when turns go beyond what a jack has."""
    travel = max(abs(turn) for turn in turns) * stand.pitch
    if travel <= JACK_TRAVEL:
        return ()
    return (
        f"That is {travel:.1f} in of jack travel, more than most have (from memory): move the "
        "spring seat, or change the spring or its length.",
    )


def _plan_part(key: str, title: str, corners: Sequence[Corner], plan: JackPlan) -> Part:
    def of_these(turns: Mapping[Corner, float]) -> dict[Corner, float]:
        return {corner: turns[corner] for corner in CORNERS if corner in corners}

    return Part(
        title,
        (
            Row("turns", "Turns to make", of_these(plan.turns), "turns", 2, signed=True),
            Row("exact_turns", "Exact", of_these(plan.exact_turns), "turns", 3, signed=True),
            Row("loads", "Loads", plan.loads, "lb"),
            Row("ride_height", "Ride height, change", plan.ride_height, "in", 3, signed=True),
            Row("cross", "Cross reached", plan.cross, "percent", 2),
            Row("remains", "Cross left over", plan.residual, "percent", 2, signed=True),
        ),
        key,
    )
