"""Weight jacks: what a turn does to the four loads and ride heights, and turns for a cross.

A rigid chassis rests on four springs, each in series with its tire. Changes are small and are
counted from the car as it stands on the scales, so no ride height or free length is needed.
"""

import itertools
import math
from collections.abc import Mapping, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from planner.chassis.checks import checked, checked_corners
from planner.chassis.weights import check_on_ground, loads_for_cross, weigh
from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal

Array = NDArray[np.float64]

JACK_PITCH = 1.0 / 12.0
"""Travel of a weight jack [in/turn]; twelve threads to the inch: common practice, no source."""

HAND_STEP = 0.25
"""Smallest turn worth asking of a hand on a wrench [turn]: common practice, no source."""


def wheel_rate(spring_rate: float, motion_ratio: float) -> float:
    """Return the rate of a spring as felt at the wheel.

    Parameters
    ----------
    spring_rate : rate of the spring [lb/in].
    motion_ratio : spring travel over wheel travel [-].

    Returns
    -------
    float : ``spring_rate * motion_ratio ** 2`` [lb/in], see [1].

    Raises
    ------
    Refusal : a value is not a number above zero.

    References
    ----------
    [1] W. F. Milliken, D. L. Milliken, Race Car Vehicle Dynamics, SAE, 1995, chapter 16
       (from memory).
    """
    rate = checked(spring_rate, "spring_rate", "lb/in", above=0.0)
    ratio = checked(motion_ratio, "motion_ratio", "spring over wheel travel", above=0.0)
    return rate * ratio**2


def _all_ones() -> dict[Corner, float]:
    return per_corner(lambda _: 1.0)


@attrs.frozen
class Suspension:
    """The springs the chassis stands on.

    Attributes
    ----------
    spring_rates : rate of each spring [lb/in].
    motion_ratios : spring travel over wheel travel per corner [-]; 1 when left out.
    tire_rates : vertical rate of each tire [lb/in]; None for rigid tires.
    bar_front, bar_rear : anti-roll bar at the wheel [lb/in]: the force at one wheel per inch
        it travels against the other one held still. A bar pushes the left wheel down by
        ``bar * (travel_left - travel_right)``, travel upward, and the right one by the opposite.

    Raises
    ------
    Refusal : a rate or ratio is missing, not a number, or out of range.

    Notes
    -----
    A bar stays connected and keeps whatever preload it has with the car on the scales.
    A solid axle is taken as two separate corners, each with its own motion ratio.
    """

    spring_rates: Mapping[Corner, float]
    motion_ratios: Mapping[Corner, float] = attrs.field(factory=_all_ones)
    tire_rates: Mapping[Corner, float] | None = None
    bar_front: float = 0.0
    bar_rear: float = 0.0

    def __attrs_post_init__(self) -> None:
        checked_corners(self.spring_rates, "spring_rates", "lb/in")
        checked_corners(self.motion_ratios, "motion_ratios", "spring over wheel travel")
        if self.tire_rates is not None:
            checked_corners(self.tire_rates, "tire_rates", "lb/in")
        checked(self.bar_front, "bar_front", "lb/in", low=0.0)
        checked(self.bar_rear, "bar_rear", "lb/in", low=0.0)


@attrs.frozen
class JackResponse:
    """What the car does when something on it is changed.

    Attributes
    ----------
    load : change of load per corner [lb].
    ride_height : change of the chassis height above the ground per corner [in].
    """

    load: dict[Corner, float]
    ride_height: dict[Corner, float]


@attrs.frozen
class JackPlan:
    """Turns for a wanted cross, and what they leave over.

    Attributes
    ----------
    turns : turns to make by hand per corner [turn]; screwed in is positive.
    exact_turns : the same before rounding [turn].
    loads : load per corner after the turns [lb].
    cross : share on RF + LR after the turns [percent].
    residual : wanted minus reached cross [percent].
    ride_height : change of ride height per corner after the turns [in].
    """

    turns: dict[Corner, float]
    exact_turns: dict[Corner, float]
    loads: dict[Corner, float]
    cross: float
    residual: float
    ride_height: dict[Corner, float]


def _row(values: Mapping[Corner, float]) -> Array:
    return np.array([values[c] for c in CORNERS], dtype=np.float64)


def _named(values: Array) -> dict[Corner, float]:
    return {c: float(v) for c, v in zip(CORNERS, values, strict=True)}


def settle(
    suspension: Suspension,
    perch: Mapping[Corner, float],
    *,
    wheelbase: float,
    track_front: float,
    track_rear: float,
    fore_moment: float = 0.0,
    left_moment: float = 0.0,
) -> JackResponse:
    """Find where a rigid chassis settles after perches or weights on it have moved.

    Parameters
    ----------
    suspension : the springs it stands on.
    perch : travel of each spring perch, measured along the spring [in]; positive presses the
        spring. Corners left out stay as they are.
    wheelbase, track_front, track_rear : distances between tire centers [in], or any common unit.
    fore_moment : weight moved times the distance forward [lb in].
    left_moment : weight moved times the distance to the left [lb in].

    Returns
    -------
    JackResponse

    Raises
    ------
    Refusal : a bad value.

    Notes
    -----
    Unknowns are heave, pitch and roll, ``q``; the chassis moves by ``G q`` at the corners.
    With ``K`` the wheel rates, ``S`` the same with the bars, ``C`` the flexibility of the
    tires and ``p = perch / motion_ratio``, the load changes are
    ``F = (1 + S C)^-1 (K p - S G q)`` and balance of force, pitch and roll is
    ``G' F = (0, fore_moment, left_moment)``. No weight is added, so the place of the center
    of gravity drops out. Angles are small; the tilt of the car's own weight is left out.
    Linear statics, derived here; rates at the wheel as in :func:`wheel_rate`.
    """
    for corner in perch:
        if corner not in CORNERS:
            raise Refusal(
                "bad-value",
                f"perch names {corner}, which is no corner.",
                where="perch",
                hint=f"Use {', '.join(CORNERS)}.",
            )
    base, front, rear = (
        checked(value, where, "in", above=0.0)
        for where, value in (
            ("wheelbase", wheelbase),
            ("track_front", track_front),
            ("track_rear", track_rear),
        )
    )
    travel = _row(per_corner(lambda c: checked(perch.get(c, 0.0), f"perch.{c}", "in")))
    ratio = _row(suspension.motion_ratios)
    rates = _row(suspension.spring_rates) * ratio**2
    stiff = np.diag(rates)
    for axle, bar in ((slice(0, 2), suspension.bar_front), (slice(2, 4), suspension.bar_rear)):
        stiff[axle, axle] += bar * np.array([[1.0, -1.0], [-1.0, 1.0]])
    tires = suspension.tire_rates
    flex = np.diag(np.zeros(4) if tires is None else 1.0 / _row(tires))
    through_tires = np.eye(4) + stiff @ flex
    resist = np.linalg.solve(through_tires, stiff)
    push = np.linalg.solve(through_tires, rates * travel / ratio)

    ahead = np.array([base, base, -base, -base]) / 2.0
    to_left = np.array([front, -front, rear, -rear]) / 2.0
    rigid = np.column_stack([np.ones(4), ahead, to_left])
    moments = np.array([0.0, fore_moment, left_moment])
    pose = np.linalg.solve(rigid.T @ resist @ rigid, rigid.T @ push - moments)
    height = rigid @ pose
    return JackResponse(load=_named(push - resist @ height), ride_height=_named(height))


def jack_response(
    suspension: Suspension, perch: Mapping[Corner, float], *, track_ratio: float = 1.0
) -> JackResponse:
    """Find what moved spring perches (jacks, shims, collars) do to loads and ride heights.

    Parameters
    ----------
    suspension : the springs the chassis stands on.
    perch : travel of each perch, measured along the spring [in]; positive presses the spring
        and raises the corner. Corners left out stay as they are.
    track_ratio : front track over rear track [-]. Only this ratio matters, not the tracks or
        the wheelbase; where they are not known the tracks are taken as equal.

    Returns
    -------
    JackResponse

    Raises
    ------
    Refusal : a bad value.

    Notes
    -----
    See :func:`settle`. The loads change by the warp pattern of
    :func:`~planner.chassis.weights.loads_for_cross` only.
    """
    ratio = checked(track_ratio, "track_ratio", "front over rear track", above=0.0)
    return settle(suspension, perch, wheelbase=1.0, track_front=ratio, track_rear=1.0)


def turn_response(
    suspension: Suspension,
    turns: Mapping[Corner, float],
    *,
    pitch: float = JACK_PITCH,
    track_ratio: float = 1.0,
) -> JackResponse:
    """Find what turns of the weight jacks do to loads and ride heights.

    Parameters
    ----------
    suspension : the springs the chassis stands on.
    turns : turns of each jack [turn]; screwed in is positive and raises the corner.
    pitch : travel of the jack along the spring [in/turn].
    track_ratio : front track over rear track [-].

    Returns
    -------
    JackResponse

    Raises
    ------
    Refusal : a bad value.
    """
    pitch = checked(pitch, "pitch", "in/turn", above=0.0)
    perch = {c: checked(n, f"turns.{c}", "turns") * pitch for c, n in turns.items()}
    return jack_response(suspension, perch, track_ratio=track_ratio)


def turns_for_cross(
    loads: Mapping[Corner, float],
    cross: float,
    suspension: Suspension,
    corners: Sequence[Corner] = CORNERS,
    *,
    pitch: float = JACK_PITCH,
    step: float = HAND_STEP,
    track_ratio: float = 1.0,
) -> JackPlan:
    """Find the turns that give a wanted cross with the ride heights disturbed least.

    Parameters
    ----------
    loads : scale reading per corner now [lb].
    cross : wanted share on RF + LR [percent].
    suspension : the springs the chassis stands on.
    corners : jacks that may be turned, one to four.
    pitch : travel of a jack along the spring [in/turn].
    step : smallest turn a hand can make [turn].
    track_ratio : front track over rear track [-].

    Returns
    -------
    JackPlan

    Raises
    ------
    Refusal : a bad value, no or repeated corners, or a cross that would lift a wheel.

    Notes
    -----
    The turns minimize the sum of squares of the four ride height changes, subject to the
    cross being met (one Lagrange multiplier). With one corner that is the only answer there
    is; with all four the ride heights do not change at all.

    Rounding tries, at every corner, the step below and the step above the exact turns in all
    combinations and keeps the one with the smallest remainder of cross; among equals (to
    1e-6 percent), the one that disturbs the ride heights least.
    """
    if not corners or len(set(corners)) != len(corners) or not set(corners) <= set(CORNERS):
        raise Refusal(
            "bad-value",
            f"corners is {', '.join(corners) or 'empty'}; it must name corners, each once.",
            where="corners",
            hint=f"Name one to four of {', '.join(CORNERS)}.",
        )
    step = checked(step, "step", "turns", above=0.0)
    before = weigh(loads)
    loads_for_cross(loads, cross, track_ratio=track_ratio)  # refuses what is out of reach
    missing = cross - before.cross

    per_turn = [
        turn_response(suspension, {c: 1.0}, pitch=pitch, track_ratio=track_ratio) for c in corners
    ]
    gain = np.array([100.0 * (r.load["RF"] + r.load["LR"]) / before.total for r in per_turn])
    lift = np.column_stack([_row(r.ride_height) for r in per_turn])
    count = len(corners)
    system = np.zeros((count + 1, count + 1))
    system[:count, :count] = lift.T @ lift
    system[:count, count] = system[count, :count] = gain
    exact = np.linalg.solve(system, np.append(np.zeros(count), missing))[:count]

    def remainder(choice: tuple[float, ...]) -> tuple[float, float]:
        left_over = abs(missing - float(gain @ choice))
        return round(left_over, 6), float(np.sum((lift @ choice) ** 2))

    neighbors = [sorted({math.floor(n / step) * step, math.ceil(n / step) * step}) for n in exact]
    best = min(itertools.product(*neighbors), key=remainder)

    def spread(values: Sequence[float] | Array) -> dict[Corner, float]:
        named = dict(zip(corners, values, strict=True))
        return per_corner(lambda c: float(named.get(c, 0.0)))

    turns = spread(best)
    done = turn_response(suspension, turns, pitch=pitch, track_ratio=track_ratio)
    after = check_on_ground(per_corner(lambda c: loads[c] + done.load[c]), "cross")
    reached = weigh(after).cross
    return JackPlan(
        turns=turns,
        exact_turns=spread(exact),
        loads=after,
        cross=reached,
        residual=cross - reached,
        ride_height=done.ride_height,
    )
