"""How hard the tires work: in the turns, at the speed the driver finds, and on the straights."""

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import steady_turn
from planner.rehearsal.body import Body
from planner.rehearsal.setups import SIDE, Setups
from planner.rehearsal.steady_turn import SteadyTurn, Tires
from planner.rehearsal.truth import Truth

Array = npt.NDArray[np.float64]

WATT_PER_FT_LB = 1.3558179  # per second; NIST SP 811, appendix B.8


@attrs.frozen(eq=False)
class Effort:
    """What each of several setups asks of the tires at full grip; corners are LF RF LR RR.

    Attributes
    ----------
    speed : in the turns [ft/s].
    roll : of the body to the right [deg].
    slips : tangents of the slip angles, front and rear [1].
    load_turn, load_straight : [lb].
    deflection_turn, deflection_straight : of the tires [in].
    side_turn, side_straight : force towards the centreline over load [1]; by toe on the straights.
    sliding_turn, sliding_straight : power of sliding, at the speed of the turns [W].
    """

    speed: Array
    roll: Array
    slips: Array
    load_turn: Array
    load_straight: Array
    deflection_turn: Array
    deflection_straight: Array
    side_turn: Array
    side_straight: Array
    sliding_turn: Array
    sliding_straight: Array


def effort(body: Body, on: Setups, truth: Truth, scaled_with: Array | None) -> Effort:
    """Return how hard the tires work at the speed the driver finds.

    Parameters
    ----------
    body : what is bolted together, and the track.
    on : the setups.
    truth : tires and driver.
    scaled_with : pressures with which cross was set and stagger measured [psi]; None for those
        of each setup.

    Raises
    ------
    Refusal
        The car cannot be driven so.

    Notes
    -----
    Power of sliding is force times slip times speed, of both slips of a tire together.
    """
    turn, unknown, tires = steady_turn.solved(body, on, truth, scaled_with)
    speed = turn.speed(unknown[:, 2])
    rest = turn.stance.at_rest(turn.rate, turn.gained)
    stiff = truth.slip.steepness(rest)
    watts = speed[:, None] * WATT_PER_FT_LB
    slip = np.hypot(tires.sideways, tires.along)
    return Effort(
        speed=speed,
        roll=np.degrees(tires.roll),
        slips=unknown[:, :2],
        load_turn=tires.load,
        load_straight=rest,
        deflection_turn=tires.load / turn.rate,
        deflection_straight=rest / turn.rate,
        side_turn=SIDE * tires.inward / np.maximum(tires.load, 1.0),
        side_straight=stiff * on.toe,
        sliding_turn=np.hypot(tires.inward, tires.forward) * slip * watts,
        sliding_straight=_on_straights(turn, tires, rest) * watts,
    )


def _on_straights(turn: SteadyTurn, tires: Tires, rest: Array) -> Array:
    """Return the mean power of sliding over the speed on the straights [lb].

    Parameters
    ----------
    tires : in the turns.
    rest : loads on the straights [lb].

    Notes
    -----
    Force F = c s on the rising part of the curve, power over speed F s. Rear: both wheels turn at
    one speed; stagger sets their slips apart, drive adds to both for a share of the way. Front:
    the brakes pull alike on both sides, F² / c, so that the lighter tire slips more, for a share
    of the way and half-way into the turn. Toe slides both front tires all the way.
    """
    body, truth = turn.body, turn.truth
    stiffness = truth.slip.steepness(rest) * rest
    rear = stiffness[:, 2:]
    both = rear.sum(axis=1)
    apart = turn.stagger / body.round_rear
    coasting = np.stack([-apart * rear[:, 1] / both, apart * rear[:, 0] / both], axis=1)
    driven = coasting + (truth.drive * body.weight / both)[:, None]
    share = truth.drive_share
    at_rear = rear * (share * driven**2 + (1 - share) * coasting**2)
    load = (rest + tires.load)[:, :2] / 2
    braking = truth.slip.steepness(load) * load
    at_front = truth.brake_share * (truth.brake * body.weight / 2) ** 2 / braking
    at_front = at_front + stiffness[:, :2] * turn.on.toe[:, :2] ** 2
    return np.concatenate([at_front, at_rear], axis=1)
