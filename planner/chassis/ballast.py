"""Moving ballast: new loads, percentages, height of the center of gravity and load transfer."""

import attrs

from planner.chassis.at_rest import EQUALLY_STIFF, AtRest, Suspension
from planner.chassis.checks import checked
from planner.chassis.jacking import settle
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


def load_shifts(
    amount: float,
    *,
    rearward: float = 0.0,
    leftward: float = 0.0,
    wheelbase: float,
    track_front: float,
    track_rear: float,
    suspension: Suspension = EQUALLY_STIFF,
) -> dict[Corner, float]:
    """Find what moved ballast does to each scale [lb]; the scales need not be known.

    Parameters
    ----------
    amount : ballast moved [lb]; a negative amount is moved the opposite way.
    rearward, leftward : distances [in].
    wheelbase, track_front, track_rear : [in].
    suspension : the springs; where they are not known the four corners are taken as equally
        stiff.

    Returns
    -------
    dict : change of load per corner [lb].

    Raises
    ------
    Refusal : a bad value.

    Notes
    -----
    With equal springs and tracks each pound-inch rearward puts ``1 / (2 wheelbase)`` on each rear
    tire and takes it off each front one, each pound-inch to the left ``1 / (2 track)`` on each
    left tire and off each right one: balance of moments. Other springs and tracks put some of it
    into the warp, solved as in :func:`~planner.chassis.jacking.settle`.
    """
    pounds = checked(amount, "amount", "lb")
    return settle(
        suspension,
        {},
        wheelbase=wheelbase,
        track_front=track_front,
        track_rear=track_rear,
        fore_moment=-pounds * checked(rearward, "rearward", "in"),
        left_moment=pounds * checked(leftward, "leftward", "in"),
    ).load


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
    car: AtRest,
    amount: float,
    *,
    rearward: float = 0.0,
    leftward: float = 0.0,
    upward: float = 0.0,
) -> BallastMove:
    """Find what moving some ballast does to the car.

    Parameters
    ----------
    car : the car as it stands. Where its springs are not known the four corners are taken as
        equally stiff; with equal tracks that leaves the weight on each diagonal as it was. Both
        tracks must be known or neither; they are taken as equal then.
    amount : ballast moved [lb]; a negative amount is moved the opposite way.
    rearward : distance to the rear [in], or as a share of a wheelbase that is not known.
    leftward : distance to the left [in], or as a share of a track that is not known.
    upward : distance up [in].

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
    before = weigh(car.loads)
    amount = checked(amount, "amount", "lb", above=-before.total, below=before.total)
    if (car.track_front is None) != (car.track_rear is None):
        raise Refusal(
            "bad-value",
            "Only one of track_front and track_rear is given.",
            where="track_rear" if car.track_rear is None else "track_front",
            hint="Give both tracks in inches, or neither.",
        )
    back = _distance(rearward, "rearward", car.wheelbase, "wheelbase")
    left = _distance(leftward, "leftward", car.track_front, "track_front and track_rear")
    moved = settle(
        car.suspension,
        {},
        wheelbase=1.0 if car.wheelbase is None else car.wheelbase,
        track_front=1.0 if car.track_front is None else car.track_front,
        track_rear=1.0 if car.track_rear is None else car.track_rear,
        fore_moment=-amount * back,
        left_moment=amount * left,
    )
    after = check_on_ground(per_corner(lambda c: car.loads[c] + moved.load[c]), "amount")
    raised = amount * checked(upward, "upward", "in") / before.total
    height = None if car.cg_height is None else car.cg_height + raised
    if height is not None:
        checked(height, "upward", "in (the new cg height)", above=0.0)
    return BallastMove(
        loads=after,
        split=weigh(after),
        ride_height=None if car.suspension == EQUALLY_STIFF else moved.ride_height,
        cg_height=height,
        transfer_before=_transfer(car, before.total, car.cg_height),
        transfer_after=_transfer(car, before.total, height),
    )


def _transfer(car: AtRest, total: float, height: float | None) -> float | None:
    """Return the load transfer per g [lb/g], None where the height or a track is not known."""
    if height is None or car.track_front is None or car.track_rear is None:
        return None
    return lateral_transfer_per_g(total, height, (car.track_front + car.track_rear) / 2.0)
