"""Changing one spring: what it does to cross weight, and the turns that give it back."""

import attrs

from planner.chassis.at_rest import AtRest, Jack
from planner.chassis.checks import checked
from planner.chassis.jacking import JackResponse, jack_response
from planner.chassis.weights import check_on_ground, weigh
from planner.trade.corners import CORNERS, Corner, across, per_corner
from planner.trade.refusals import Refusal


@attrs.frozen
class SpringChange:
    """A changed spring before and after the jack is turned.

    Attributes
    ----------
    cross_before : share on RF + LR with the old spring [percent].
    cross_after : the same with the new spring and the jack left alone [percent].
    loads : load per corner with the jack left alone [lb].
    ride_height : change of ride height per corner with the jack left alone [in].
    perch : perch travel the new spring amounts to [in]; positive raises the corner.
    turns : turns at that corner that restore cross and ride heights [turn]; in is positive.
    hand_turns : the same to the nearest step a hand can make [turn].
    hand_cross : share on RF + LR after the hand turns [percent].
    """

    cross_before: float
    cross_after: float
    loads: dict[Corner, float]
    ride_height: dict[Corner, float]
    perch: float
    turns: float
    hand_turns: float
    hand_cross: float


def spring_compression(
    load: float, spring_rate: float, motion_ratio: float = 1.0, unsprung: float = 0.0
) -> float:
    """Return how far a spring is pressed with the car standing on the scales.

    Parameters
    ----------
    load : scale reading at the wheel [lb].
    spring_rate : rate of the spring [lb/in].
    motion_ratio : spring travel over wheel travel [-].
    unsprung : weight of wheel, hub and half the links [lb]. Left at zero the compression
        comes out too long by its share of the load.

    Returns
    -------
    float : ``(load - unsprung) / motion_ratio / spring_rate`` [in].

    Raises
    ------
    Refusal : a bad value, or an unsprung weight that is not less than the load.

    Notes
    -----
    Virtual work: the spring carries the load divided by the motion ratio. The anti-roll bar
    is taken to carry nothing with the car at rest.
    """
    load = checked(load, "load", "lb", above=0.0)
    rate = checked(spring_rate, "spring_rate", "lb/in", above=0.0)
    ratio = checked(motion_ratio, "motion_ratio", "spring over wheel travel", above=0.0)
    unsprung = checked(unsprung, "unsprung", "lb", low=0.0, below=load)
    return (load - unsprung) / ratio / rate


def spring_change(
    car: AtRest,
    corner: Corner,
    new_rate: float,
    *,
    unsprung: float = 0.0,
    free_length_change: float = 0.0,
    jack: Jack | None = None,
) -> SpringChange:
    """Find what a different spring at one corner does, and the turns that restore the cross.

    Parameters
    ----------
    car : the car as it stands, with the old spring.
    corner : where the spring is changed.
    new_rate : rate of the new spring [lb/in].
    unsprung : unsprung weight at that corner [lb].
    free_length_change : free length of the new spring minus that of the old one [in].
    jack : pitch of the jack and step of the hand; the usual ones when left out.

    Returns
    -------
    SpringChange

    Raises
    ------
    Refusal : a bad value, or a spring that would lift a wheel.

    Notes
    -----
    On a solid axle the difference of the two spring loads is that of the wheels over the spring
    base (as a share of the track); both sides are taken to weigh the same unsprung.
    With the perch where it was and ``N`` the load in the spring, the new spring pushes as if
    its perch had been moved by ``s = N (1 / old_rate - 1 / new_rate) + free_length_change``.
    The car then settles on the new rates as in :func:`~planner.chassis.jacking.settle`.
    Turning the jack back by ``s / pitch`` gives the old spring load at the old ride height,
    so loads, cross and ride heights all come back together.
    """
    if corner not in CORNERS:
        raise Refusal(
            "bad-value",
            f"corner is {corner}, which is not a corner.",
            where="corner",
            hint=f"Use one of {', '.join(CORNERS)}.",
        )
    jack = jack or Jack()
    before = weigh(car.loads)
    new_rate = checked(new_rate, "new_rate", "lb/in", above=0.0)
    longer = checked(free_length_change, "free_length_change", "in")
    rates, ratio = car.suspension.spring_rates, car.suspension.motion_ratios[corner]
    apart = (car.loads[corner] - car.loads[across(corner)]) / 2
    held = car.loads[corner] - apart + apart / car.suspension.base(corner)
    old = spring_compression(held, rates[corner], ratio, unsprung)
    new = spring_compression(held, new_rate, ratio, unsprung)
    perch = old - new + longer
    changed = attrs.evolve(car.suspension, spring_rates={**rates, corner: new_rate})
    moved = jack_response(changed, {corner: perch}, track_ratio=car.track_ratio)
    after = _standing(car, moved)
    turns = (new - old - longer) / jack.pitch
    hand_turns = jack.by_hand(turns)
    left = perch + hand_turns * jack.pitch
    by_hand = _standing(car, jack_response(changed, {corner: left}, track_ratio=car.track_ratio))
    return SpringChange(
        cross_before=before.cross,
        cross_after=weigh(after).cross,
        loads=after,
        ride_height=moved.ride_height,
        perch=perch,
        turns=turns,
        hand_turns=hand_turns,
        hand_cross=weigh(by_hand).cross,
    )


def _standing(car: AtRest, moved: JackResponse) -> dict[Corner, float]:
    return check_on_ground(per_corner(lambda c: car.loads[c] + moved.load[c]), "new_rate")
