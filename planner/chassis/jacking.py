"""Weight jacks: what a turn does to the four loads and ride heights, and turns for a cross.

A rigid chassis rests on four springs, each in series with its tire. Changes are small and are
counted from the car as it stands on the scales, so no ride height or free length is needed.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import attrs

from planner.chassis.at_rest import JACK_PITCH, AtRest, Jack, Suspension
from planner.chassis.checks import checked
from planner.chassis.weights import check_on_ground, loads_for_cross, weigh
from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal

# numpy takes long to load and most worksheets never settle a car, so it is loaded where it is used.
if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.floating]


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


def _row(values: Mapping[Corner, float]) -> "Array":
    import numpy as np

    return np.array([values[c] for c in CORNERS], dtype=np.float64)


def _named(values: "Array") -> dict[Corner, float]:
    return {c: float(v) for c, v in zip(CORNERS, values, strict=True)}


def _at_the_ground(suspension: Suspension, travel: "Array") -> "tuple[Array, Array]":
    """Return ``(1 + S C)^-1 S`` and ``(1 + S C)^-1 K p`` of `settle`, for travel of the perches."""
    import numpy as np

    ratio = _row(suspension.motion_ratios)
    rates = _row(suspension.spring_rates) * ratio**2
    ends = (
        (slice(0, 2), suspension.bar_front, suspension.base_front),
        (slice(2, 4), suspension.bar_rear, suspension.base_rear),
    )
    shared = np.zeros((4, 4))  # travel of the springs from that of the wheels
    for axle, _, base in ends:
        shared[axle, axle] = np.array([[1 + base, 1 - base], [1 - base, 1 + base]]) / 2
    stiff = shared.T @ np.diag(rates) @ shared
    for axle, bar, _ in ends:
        stiff[axle, axle] += bar * np.array([[1.0, -1.0], [-1.0, 1.0]])
    tires = suspension.tire_rates
    flex = np.diag(np.zeros(4) if tires is None else 1.0 / _row(tires))
    through_tires = np.eye(4) + stiff @ flex
    resist = np.linalg.solve(through_tires, stiff)
    return resist, np.linalg.solve(through_tires, shared.T @ (rates * travel / ratio))


def settle(
    suspension: Suspension,
    perch: Mapping[Corner, float],
    *,
    wheelbase: float,
    track_front: float,
    track_rear: float,
    fore_moment: float = 0.0,
    left_moment: float = 0.0,
    risen: Mapping[Corner, float] = {},
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
    risen : how much higher the hubs stand on other tires under the same load [in].

    Returns
    -------
    JackResponse

    Raises
    ------
    Refusal : a bad value.

    Notes
    -----
    Unknowns are heave, pitch and roll, ``q``; the chassis moves by ``G q`` at the corners.
    With ``K`` the wheel rates, ``S`` the same with the bars and, on a solid axle, shared over both
    wheels as in :class:`~planner.chassis.at_rest.Suspension`, ``C`` the flexibility of the
    tires and ``p = perch / motion_ratio``, the load changes are
    ``F = (1 + S C)^-1 (K p + S h - S G q)``, ``h`` being the hubs' rise, and balance of force,
    pitch and roll is ``G' F = (0, fore_moment, left_moment)``. No weight is added, so the place
    of the center of gravity drops out. Angles are small; the tilt of the car's own weight is left
    out.
    Linear statics, derived here.
    """
    for corner in (*perch, *risen):
        if corner not in CORNERS:
            raise Refusal(
                "bad-value",
                f"perch names {corner}, which is not a corner.",
                where="perch",
                hint=f"Use {', '.join(CORNERS)}.",
            )
    import numpy as np

    base = checked(wheelbase, "wheelbase", "in", above=0.0)
    front = checked(track_front, "track_front", "in", above=0.0)
    rear = checked(track_rear, "track_rear", "in", above=0.0)
    travel = _row(per_corner(lambda c: checked(perch.get(c, 0.0), f"perch.{c}", "in")))
    resist, push = _at_the_ground(suspension, travel)
    push += resist @ _row(per_corner(lambda c: checked(risen.get(c, 0.0), f"risen.{c}", "in")))

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
    car: AtRest, cross: float, corners: Sequence[Corner] = CORNERS, jack: Jack | None = None
) -> JackPlan:
    """Find the turns that give a wanted cross with the ride heights disturbed least.

    Parameters
    ----------
    car : the car as it stands.
    cross : wanted share on RF + LR [percent].
    corners : jacks that may be turned, one to four.
    jack : pitch of the jacks and step of the hand; the usual ones when left out.

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
    """
    if not corners or len(set(corners)) != len(corners) or not set(corners) <= set(CORNERS):
        raise Refusal(
            "bad-value",
            f"corners is {', '.join(corners) or 'empty'}; it must name corners, each once.",
            where="corners",
            hint=f"Name one to four of {', '.join(CORNERS)}.",
        )
    jack = jack or Jack()
    before = weigh(car.loads)
    loads_for_cross(car.loads, cross, track_ratio=car.track_ratio)  # refuses what is out of reach
    missing = cross - before.cross

    def turned(turns: Mapping[Corner, float]) -> JackResponse:
        return turn_response(car.suspension, turns, pitch=jack.pitch, track_ratio=car.track_ratio)

    per_turn = [turned({c: 1.0}) for c in corners]
    exact, best = _least_disturbing(per_turn, before.total, missing, jack.step)

    def spread(values: Sequence[float]) -> dict[Corner, float]:
        named = dict(zip(corners, values, strict=True))
        return per_corner(lambda c: float(named.get(c, 0.0)))

    turns = spread(best)
    done = turned(turns)
    after = check_on_ground(per_corner(lambda c: car.loads[c] + done.load[c]), "cross")
    reached = weigh(after).cross
    return JackPlan(
        turns=turns,
        exact_turns=spread(exact),
        loads=after,
        cross=reached,
        residual=cross - reached,
        ride_height=done.ride_height,
    )


def _least_disturbing(
    per_turn: Sequence[JackResponse], total: float, missing: float, step: float
) -> tuple[Sequence[float], Sequence[float]]:
    """Return the exact turns and those a hand makes, one for each jack.

    Parameters
    ----------
    per_turn : what one turn of each jack does.
    total : weight of the car [lb].
    missing : cross wanted less cross now [percent].
    step : smallest turn a hand can make [turn].

    Notes
    -----
    Rounding tries, at every corner, the step below and the step above the exact turns in all
    combinations and keeps the one with the smallest remainder of cross; among equals (to
    1e-6 percent), the one that disturbs the ride heights least.
    """
    import numpy as np

    gain = np.array([100.0 * (r.load["RF"] + r.load["LR"]) / total for r in per_turn])
    lift = np.column_stack([_row(r.ride_height) for r in per_turn])
    count = len(per_turn)
    system = np.zeros((count + 1, count + 1))
    system[:count, :count] = lift.T @ lift
    system[:count, count] = system[count, :count] = gain
    exact = np.linalg.solve(system, np.append(np.zeros(count), missing))[:count]

    def remainder(choice: tuple[float, ...]) -> tuple[float, float]:
        left_over = abs(missing - float(gain @ choice))
        return round(left_over, 6), float(np.sum((lift @ choice) ** 2))

    neighbors = [sorted({math.floor(n / step) * step, math.ceil(n / step) * step}) for n in exact]
    return list(exact), min(itertools.product(*neighbors), key=remainder)
