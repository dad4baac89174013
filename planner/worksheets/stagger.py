"""Stagger: the turn it rolls through freely, the stagger a turn wants, and growth with air."""

import math

import attrs

from planner.chassis import stagger
from planner.chassis.stagger import Place, Reading
from planner.trade.cautions import CAUTIONS
from planner.worksheets.worksheet import Part, Row, Worksheet, given

_STAGGER = (
    "Stagger = outside minus inside circumference. Circle Track, “Racing Tire Technology”, May "
    "2004."
)
_CONE = (
    "Natural turning radius, similar triangles: radius = track * circumference / stagger, to the "
    "tire (or mean) the circumference belongs to. Western Racing, “Natural turning radius”."
)
_WANTED = (
    "Stagger wanted = track * circumference * cos(banking) / radius, the same cone laid on the "
    "banking. Western Racing, “Natural turning radius”."
)
_GROWTH = "Straight line through both readings. Common practice, no source."


@attrs.frozen(kw_only=True)
class Axle:
    """The rear axle and the turn.

    Attributes
    ----------
    outer, inner : circumferences of the outside and inside tire [in].
    track : distance between the middles of the treads [in].
    radius : of the turn, level [ft].
    banking : [deg].
    """

    outer: float | None = None
    inner: float | None = None
    track: float | None = None
    radius: float | None = None
    banking: float = 0.0


def sheet(axle: Axle) -> Worksheet:
    """Work out stagger, turning radius and the stagger wanted, as far as the numbers go.

    Parameters
    ----------
    axle : what is known; both circumferences, or radius, track and one circumference.

    Raises
    ------
    Refusal
        The outside tire is the smaller one, or the turn is tighter than the track.
    """
    equations, parts, remarks = [], [], []
    now = None
    if axle.outer is not None and axle.inner is not None:
        now = stagger.stagger(axle.outer, axle.inner)
        equations.append(_STAGGER)
        rows = [Row("stagger", "Stagger", now, "in", 3, signed=True)]
        if axle.track is not None:
            equations.append(_CONE)
            rows += _radius_rows(axle.outer, axle.inner, axle.track)
        else:
            remarks.append(
                "For the turning radius give --track, or dimensions.track_rear in the car file."
            )
        parts.append(Part("These tires", tuple(rows)))
    sizes = [size for size in (axle.outer, axle.inner) if size is not None]
    if axle.radius is not None and axle.track is not None and sizes:
        at: Place = "middle" if len(sizes) == 2 else "inner" if axle.outer is None else "outer"
        size = sum(sizes) / len(sizes)
        wanted = stagger.stagger_for_turn(axle.radius, axle.track, size, axle.banking, at)
        equations.append(_WANTED)
        rows = [Row("wanted", "Stagger wanted", wanted, "in", 3)]
        if now is not None:
            rows.append(Row("difference", "These tires, over", now - wanted, "in", 3, signed=True))
            remarks.append(_meaning(now - wanted))
        parts.append(Part("The turn", tuple(rows)))
    turn = axle.radius is not None
    return Worksheet(
        work="stagger",
        title="Stagger: rear tires and the turn",
        inputs=(
            *given("outer", "Outside tire", axle.outer, "in"),
            *given("inner", "Inside tire", axle.inner, "in"),
            *given("track", "Rear track", axle.track, "in"),
            *(given("radius", "Radius of the turn", axle.radius, "ft") if turn else ()),
            *(given("banking", "Banking", axle.banking, "deg") if turn else ()),
        ),
        equations=tuple(equations),
        results=tuple(parts),
        remarks=tuple(remarks),
        cautions=(CAUTIONS["inflation"],),
    )


def growth(one: Reading, other: Reading, at_pressure: float) -> Worksheet:
    """Work out the circumference of a tire at a pressure from two readings of it.

    Parameters
    ----------
    one, other : pressure [psi] and circumference [in].
    at_pressure : pressure asked about [psi].

    Raises
    ------
    Refusal
        The readings do not show growth, or the pressure is too far outside them.
    """
    size = stagger.circumference_at(at_pressure, one, other)
    per_psi = (other[1] - one[1]) / (other[0] - one[0])
    pairs = {f"{psi:g} psi": length for psi, length in sorted((one, other))}
    outside = not min(one[0], other[0]) <= at_pressure <= max(one[0], other[0])
    return Worksheet(
        work="stagger",
        title=f"Stagger: circumference at {at_pressure:g} psi",
        inputs=(
            *given("pressure_pair", "Readings", pairs, "in"),
            *given("at_pressure", "At pressure", at_pressure, "psi"),
        ),
        equations=(_GROWTH,),
        results=(
            Part(
                "Result",
                (
                    Row("circumference", "Circumference", size, "in", 3),
                    Row("per_psi", "Growth", per_psi, "in/psi", 4, signed=True),
                ),
            ),
        ),
        remarks=("The pressure lies outside the two readings: measure there to be sure.",)
        if outside
        else (),
        cautions=(CAUTIONS["inflation"],),
    )


def _radius_rows(outer: float, inner: float, track: float) -> list[Row]:
    middle = stagger.turning_radius(outer, inner, track)
    straight = math.isinf(middle)
    words = "none: the axle rolls straight" if straight else ""
    lengths: list[tuple[str, str, Place]] = [
        ("radius_middle", "Turning radius, middle", "middle"),
        ("radius_inner", "Turning radius, inside", "inner"),
        ("radius_outer", "Turning radius, outside", "outer"),
    ]
    rows = [
        Row(
            key,
            label,
            None if straight else stagger.turning_radius(outer, inner, track, at),
            "in",
            words=words,
        )
        for key, label, at in lengths
    ]
    feet = None if straight else middle / 12
    rows.insert(1, Row("radius_middle_ft", "Turning radius, in feet", feet, "ft", words=words))
    return rows


def _meaning(over: float) -> str:
    if abs(over) < 0.005:
        return "The axle rolls freely through this turn."
    if over > 0:
        return "More stagger than the turn wants: the rear axle turns the car in, toward loose."
    return "Less stagger than the turn wants: the rear axle pushes straight on, toward tight."
