"""Stagger: circumferences of the rear tires and the turn in which a solid axle rolls freely."""

import math
from typing import Literal

from planner.chassis.checks import checked
from planner.trade.refusals import Refusal

Place = Literal["inner", "middle", "outer"]
Reading = tuple[float, float]  # (pressure [psi], circumference [in])

_HALF_TRACKS: dict[Place, float] = {"inner": -1.0, "middle": 0.0, "outer": 1.0}


def stagger(outer_in: float, inner_in: float) -> float:
    """Return the stagger [in]: outer minus inner circumference.

    Parameters
    ----------
    outer_in, inner_in : circumferences of the outside and inside tire [in].

    Raises
    ------
    Refusal
        A circumference is not positive.
    """
    checked(outer_in, "circumference", "in", above=0)
    checked(inner_in, "circumference", "in", above=0)
    return outer_in - inner_in


def turning_radius(
    outer_in: float, inner_in: float, track_in: float, at: Place = "middle"
) -> float:
    """Return the radius a free solid axle rolls on [in]; infinite for equal tires.

    Parameters
    ----------
    outer_in, inner_in : circumferences of the outside and inside tire [in].
    track_in : distance between the middles of the treads [in].
    at : where the radius is measured: at the ``inner`` or ``outer`` tire or the ``middle``.

    Raises
    ------
    Refusal
        A length is not positive, or the outside tire is the smaller one.

    Notes
    -----
    The two tires are slices of one cone. By similar triangles its side, measured to a place of
    circumference C, is rho = t C / (outer − inner); [1] gives it at the inner tire.

    References
    ----------
    .. [1] Western Racing, "Natural turning radius".
    """
    checked(track_in, "track", "in", above=0)
    difference = stagger(outer_in, inner_in)
    if difference < 0:
        raise Refusal(
            "bad-value",
            f"The outside tire ({outer_in:g} in) is smaller than the inside one ({inner_in:g} in).",
            where="circumference",
            hint="Give the larger tire as the outside one [in]; the axle turns towards the other.",
        )
    if difference == 0:
        return math.inf
    middle = track_in * (outer_in + inner_in) / 2 / difference
    return middle + _HALF_TRACKS[at] * track_in / 2


def stagger_for_turn(
    radius_ft: float,
    track_in: float,
    circumference_in: float,
    banking_deg: float = 0.0,
    at: Place = "middle",
) -> float:
    """Return the stagger with which a solid axle rolls freely through a turn [in].

    Parameters
    ----------
    radius_ft : level radius of the path of the axle's middle [ft].
    track_in : distance between the middles of the treads [in].
    circumference_in : circumference of the tire named by ``at`` [in].
    banking_deg : banking [deg].
    at : the ``inner`` or ``outer`` tire, or their mean (``middle``).

    Raises
    ------
    Refusal
        A length is not positive, the banking out of range, or the turn tighter than the track.

    Notes
    -----
    The axle lies along the banked surface and turns about the upright axis of the turn, which
    it meets at rho = R / cos(banking) along that surface: the apex of its cone. Then
    stagger = t C / rho, with rho taken to the tire that C belongs to (similar triangles [1]).
    Banking so lowers the stagger wanted.

    References
    ----------
    .. [1] Western Racing, "Natural turning radius".
    """
    checked(track_in, "track", "in", above=0)
    checked(circumference_in, "circumference", "in", above=0)
    checked(banking_deg, "banking", "deg", above=-90, below=90)
    checked(radius_ft, "radius", "ft", above=0)
    middle = radius_ft * 12 / math.cos(math.radians(banking_deg))
    if middle <= track_in / 2:
        raise Refusal(
            "bad-value",
            f"A turn of {radius_ft:g} ft has its centre inside a track of {track_in:g} in.",
            where="radius",
            hint="Give the radius of the car's path in feet, the track in inches.",
        )
    return track_in * circumference_in / (middle + _HALF_TRACKS[at] * track_in / 2)


def circumference_at(pressure_psi: float, one: Reading, other: Reading) -> float:
    """Return the circumference of a tire at a pressure [in], from two readings of it.

    Parameters
    ----------
    pressure_psi : pressure wanted [psi].
    one, other : readings, each (pressure [psi], circumference [in]).

    Raises
    ------
    Refusal
        A value is not positive, both readings are at one pressure, the tire shrinks with air, or
        the pressure lies further outside the readings than they lie apart.

    Notes
    -----
    Straight line through both readings; growth with air is nearly straight over the few psi a
    crew uses (common practice, no source).
    """
    for reading in (one, other):
        checked(reading[0], "pressure", "psi", above=0)
        checked(reading[1], "circumference", "in", above=0)
    (low, small), (high, large) = sorted((one, other))
    if low == high or large < small:
        raise Refusal(
            "bad-value",
            f"{small:g} in at {low:g} psi and {large:g} in at {high:g} psi do not show how the "
            "tire grows with air.",
            where="circumference",
            hint="Measure the same tire [in] at two pressures [psi] a few psi apart.",
        )
    span = high - low
    checked(pressure_psi, "pressure", "psi", above=0, low=low - span, high=high + span)
    return small + (large - small) * (pressure_psi - low) / span
