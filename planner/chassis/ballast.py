"""Moving ballast: new loads, percentages, height of the center of gravity and load transfer."""

from collections.abc import Mapping

import attrs

from planner.chassis.checks import checked
from planner.chassis.jacking import Suspension, settle
from planner.chassis.weights import WeightSplit, check_on_ground, weigh
from planner.trade.corners import Corner, per_corner
from planner.trade.refusals import Refusal


@attrs.frozen
class BallastMove:
    """The car after ballast has been moved.

    Attributes
    ----------
    loads : load per corner [lb].
    split : percentages and wedge of these loads.
    ride_height : change of ride height per corner [in]; None without spring rates.
    cg_height : height of the center of gravity [in]; None where it was not given.
    transfer_before, transfer_after : load that goes from the inside tires to the outside ones,
        front and rear together, per g of cornering [lb/g]; None without height and tracks.
    """

    loads: dict[Corner, float]
    split: WeightSplit
    ride_height: dict[Corner, float] | None
    cg_height: float | None
    transfer_before: float | None
    transfer_after: float | None


def lateral_transfer_per_g(total: float, cg_height: float, track: float) -> float:
    """Return the load moved across the car per g of cornering.

    Parameters
    ----------
    total : weight of the car [lb].
    cg_height : height of its center of gravity [in].
    track : distance between the tire centers [in].

    Returns
    -------
    float : ``total * cg_height / track`` [lb/g], see [1]; what body roll adds is left out.

    Raises
    ------
    Refusal : a value is not a number above zero.

    References
    ----------
    [1] W. F. Milliken, D. L. Milliken, Race Car Vehicle Dynamics, SAE, 1995, chapter 18
       (from memory).
    """
    weight = checked(total, "total", "lb", above=0.0)
    height = checked(cg_height, "cg_height", "in", above=0.0)
    return weight * height / checked(track, "track", "in", above=0.0)


def _distance(value: float, where: str, span: float | None, span_name: str) -> float:
    """Return the distance; as a share of a span that is not known it must stay within it."""
    distance = checked(value, where, "in")
    if span is None and abs(distance) > 1.0:
        raise Refusal(
            "bad-value",
            f"{where} is {value:g}, but without {span_name} it is a share of it, from -1 to 1.",
            where=where,
            hint=f"Give {span_name} in inches, or {where} as a share of it.",
        )
    return distance


def move_ballast(
    loads: Mapping[Corner, float],
    amount: float,
    *,
    rearward: float = 0.0,
    leftward: float = 0.0,
    upward: float = 0.0,
    wheelbase: float | None = None,
    track_front: float | None = None,
    track_rear: float | None = None,
    suspension: Suspension | None = None,
    cg_height: float | None = None,
) -> BallastMove:
    """Find what moving some ballast does to the car.

    Parameters
    ----------
    loads : scale reading per corner now [lb].
    amount : ballast moved [lb]; a negative amount is moved the opposite way.
    rearward : distance to the rear [in], or as a share of the wheelbase where that is left out.
    leftward : distance to the left [in], or as a share of the track where that is left out.
    upward : distance up [in].
    wheelbase : distance between the axles [in].
    track_front, track_rear : distances between tire centers [in], both or neither. Left out,
        they are taken as equal.
    suspension : the springs the chassis stands on. Left out, the four corners are taken as
        equally stiff; with equal tracks that leaves the weight on each diagonal as it was.
    cg_height : height of the center of gravity now [in].

    Returns
    -------
    BallastMove

    Raises
    ------
    Refusal : a bad value, more ballast than car, or a move that would lift a wheel.

    Notes
    -----
    Balance of moments alone gives ``amount * rearward / wheelbase`` more on the rear axle.
    How it and the sideways part divide over the diagonals depends on the springs and is
    solved as in :func:`~planner.chassis.jacking.settle`.
    The height changes by ``amount * upward / total``. For the load transfer the track is the
    mean of front and rear.
    """
    before = weigh(loads)
    amount = checked(amount, "amount", "lb", above=-before.total, below=before.total)
    if (track_front is None) != (track_rear is None):
        raise Refusal(
            "bad-value",
            "Only one of track_front and track_rear is given.",
            where="track_rear" if track_rear is None else "track_front",
            hint="Give both tracks in inches, or neither.",
        )
    back = _distance(rearward, "rearward", wheelbase, "wheelbase")
    left = _distance(leftward, "leftward", track_front, "track_front and track_rear")
    up = checked(upward, "upward", "in")
    front = 1.0 if track_front is None else track_front
    rear = 1.0 if track_rear is None else track_rear
    moved = settle(
        Suspension(per_corner(lambda _: 1.0)) if suspension is None else suspension,
        {},
        wheelbase=1.0 if wheelbase is None else wheelbase,
        track_front=front,
        track_rear=rear,
        fore_moment=-amount * back,
        left_moment=amount * left,
    )
    after = check_on_ground(per_corner(lambda c: loads[c] + moved.load[c]), "amount")

    new_height = transfer_before = transfer_after = None
    if cg_height is not None:
        old_height = checked(cg_height, "cg_height", "in", above=0.0)
        new_height = old_height + amount * up / before.total
        checked(new_height, "upward", "in (the new cg height)", above=0.0)
        if track_front is not None:
            track = (front + rear) / 2.0
            transfer_before = lateral_transfer_per_g(before.total, old_height, track)
            transfer_after = lateral_transfer_per_g(before.total, new_height, track)
    return BallastMove(
        loads=after,
        split=weigh(after),
        ride_height=None if suspension is None else moved.ride_height,
        cg_height=new_height,
        transfer_before=transfer_before,
        transfer_after=transfer_after,
    )
