"""Stagger: the turn it rolls through freely, the stagger a turn wants, and growth with air."""

import math

import attrs

from planner.chassis import stagger
from planner.chassis.stagger import Place
from planner.trade.cautions import CAUTIONS
from planner.trade.refusals import Refusal
from planner.worksheets import reading
from planner.worksheets.inputs import Calculator, Known
from planner.worksheets.quantities import QUANTITIES, TURNS, Wish
from planner.worksheets.worksheet import Line, Part, Row, Worksheet, rows

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

_NOW = Line("stagger", "Stagger", "in", 3, signed=True)
_RADII: tuple[tuple[Place, float, Line], ...] = (
    ("middle", 1, Line("radius_middle", "Turning radius, middle", "in")),
    ("middle", 12, Line("radius_middle_ft", "Turning radius, in feet", "ft")),
    ("inner", 1, Line("radius_inner", "Turning radius, inside", "in")),
    ("outer", 1, Line("radius_outer", "Turning radius, outside", "in")),
)
_TURN = (
    Line("wanted", "Stagger wanted", "in", 3),
    Line("difference", "These tires, over", "in", 3, signed=True),
)
_GROWN = (
    Line("circumference", "Circumference", "in", 3),
    Line("per_psi", "Growth", "in/psi", 4, signed=True),
)


def _work(known: Known) -> Worksheet:
    if known.typed("pressure_pair", "at_pressure"):
        return _growth(known)
    outer, inner = _sizes(known)
    track, radius = known.number("track"), known.number("radius")
    banking = 0.0 if radius is None else known.taken("banking", 0.0)
    equations, parts, remarks = [], [], []
    now = None
    if outer is not None and inner is not None:
        now = stagger.stagger(outer, inner)
        equations.append(_STAGGER)
        radii: tuple[Row, ...] = ()
        if track is None:
            remarks.append("For the turning radius give --track, or dimensions.track_rear.")
        else:
            equations.append(_CONE)
            radii = _radii(outer, inner, track)
        parts.append(Part("These tires", (_NOW.row(now), *radii)))
    if radius is not None and track is not None:
        sizes = [size for size in (outer, inner) if size is not None]
        at: Place = "middle" if now is not None else "inner" if outer is None else "outer"
        size = sum(sizes) / len(sizes)
        wanted = stagger.stagger_for_turn(radius, track, size, banking, at)
        over = None if now is None else now - wanted
        equations.append(_WANTED)
        parts.append(Part("The turn", rows(_TURN, {"wanted": wanted, "difference": over})))
        remarks += [] if over is None else [_meaning(over)]
    return Worksheet(
        work="stagger",
        title="Stagger: rear tires and the turn",
        inputs=known.rows("outer", "inner", "track", "radius", "banking"),
        equations=equations,
        results=parts,
        remarks=remarks,
        cautions=(CAUTIONS["inflation"],),
    )


def _sizes(known: Known) -> tuple[float | None, float | None]:
    """Return both circumferences, or one where the turn is known; refuse what is not enough."""
    right = known.turns() == "right"
    if not known.typed("outer", "inner"):
        known.only_with("--outer and --inner", "diameter")
    corners = {"outer": "LR" if right else "RR", "inner": "RR" if right else "LR"}
    sizes = {}
    for name, corner in corners.items():
        size = known.number(name, f"tires.circumference.{corner}")
        if size is not None and known.wish("diameter") and known.typed(name):
            size *= math.pi
            known.put(name, size, "typed")
        sizes[name] = size
    lacking = [name for name, size in sizes.items() if size is None]
    if lacking and (known.number("radius") is None or len(lacking) == len(sizes)):
        key = f"tires.circumference.{corners[lacking[0]]}"
        raise reading.missing(attrs.evolve(QUANTITIES[lacking[0]], key=key))
    if known.typed("banking"):
        known.needed("radius")
    if lacking or known.typed("radius"):
        known.needed("track")
    return sizes["outer"], sizes["inner"]


def _radii(outer: float, inner: float, track: float) -> tuple[Row, ...]:
    if math.isinf(stagger.turning_radius(outer, inner, track)):
        return tuple(line.row(None, "none: the axle rolls straight") for *_, line in _RADII)
    return tuple(
        line.row(stagger.turning_radius(outer, inner, track, at) / inches)
        for at, inches, line in _RADII
    )


def _meaning(over: float) -> str:
    if abs(over) < 0.005:
        return "The axle rolls freely through this turn."
    if over > 0:
        return "More stagger than the turn wants: the rear axle turns the car in, toward loose."
    return "Less stagger than the turn wants: the rear axle pushes straight on, toward tight."


def _growth(known: Known) -> Worksheet:
    """Work out the circumference of a tire at a pressure from two readings of it."""
    known.never_with("--pressure-pair", "outer", "inner", "radius")
    pairs = known.wish("pressure_pair")
    if len(pairs) != 2:
        raise Refusal(
            "missing",
            f"Growth with air takes two readings of one tire; {len(pairs)} given.",
            where="--pressure-pair",
            hint="--pressure-pair 18=85.25 --pressure-pair 26=86.0 --at-pressure 22",
        )
    low, high = sorted(reading.pair(text) for text in pairs)
    psi = known.needed("at_pressure")
    found = {
        "circumference": stagger.circumference_at(psi, low, high),
        "per_psi": (high[1] - low[1]) / (high[0] - low[0]),
    }
    read = {f"{at:g} psi": length for at, length in (low, high)}
    outside = "The pressure lies outside the two readings: measure there to be sure."
    return Worksheet(
        work="stagger",
        title=f"Stagger: circumference at {psi:g} psi",
        inputs=(Row("pressure_pair", "Readings", read, "in", None), *known.rows("at_pressure")),
        equations=(_GROWTH,),
        results=(Part("Result", rows(_GROWN, found)),),
        remarks=() if low[0] <= psi <= high[0] else (outside,),
        cautions=(CAUTIONS["inflation"],),
    )


CALCULATOR = Calculator(
    about="Find the turn the rear tires roll through freely, or the stagger a turn wants.",
    takes=("outer", "inner", "track", "radius", "banking", "at_pressure"),
    wishes=(
        Wish("diameter", "--outer and --inner are diameters"),
        Wish("pressure_pair", "circumference at a pressure; give two", shape="PSI=IN"),
        TURNS,
    ),
    work=_work,
)
