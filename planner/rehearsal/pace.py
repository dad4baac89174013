"""How hard the tires work: loads and slip in the turns, at the speed the driver finds."""

import math
from collections.abc import Iterable

import attrs
import numpy as np
import numpy.typing as npt

from planner.chassis import grip
from planner.chassis.loads import TurnCar
from planner.chassis.turn import GRAVITY_FT, MPH_TO_FT_PER_S, Turn
from planner.rehearsal.body import Course
from planner.rehearsal.tread import SIDE
from planner.rehearsal.truth import Truth
from planner.trade.corners import CORNERS

Array = npt.NDArray[np.float64]

WATT_PER_FT_LB = 1.3558179  # per second; NIST SP 811, appendix B.8

SEARCHES = 5  # times the speed is worked out anew; each leaves about a fifth of the error
TAKEN = 0.85  # of the lateral force that is missing, from one guess to the next


@attrs.frozen(eq=False)
class Effort:
    """What a setup asks of the tires at full grip; of several, with them along the first axis.

    Attributes
    ----------
    speed : in the turns [ft/s].
    roll : of the body to the right [deg].
    usage : share of grip used [1]: front, rear.
    load_turn, load_straight : [lb]; here and below LF RF LR RR.
    side_force : towards the centreline over load, in the turns [1].
    sliding : power of sliding in the turns [W].
    slip : in the turns [1].
    """

    speed: Array
    roll: Array
    usage: Array
    load_turn: Array
    load_straight: Array
    side_force: Array
    sliding: Array
    slip: Array


def effort(car: TurnCar, course: Course, truth: Truth, guess_mph: float) -> Effort:
    """Return how hard the tires work at the speed the driver finds.

    Parameters
    ----------
    car : as it stands.
    course : the track.
    truth : tires and pace.
    guess_mph : speed to begin the search at [mph].

    Notes
    -----
    The driver uses a fixed share of the whole car's grip: lateral_g · weight = pace · grip. From
    one guess to the next the lateral force is scaled by what is missing, and the speed follows
    from a = (v² / g R) cos b − sin b. Loads, forces and sliding work are those of
    `planner.chassis.grip.balance`.
    """
    banking = math.radians(course.banking)
    mph = guess_mph
    for _ in range(SEARCHES):
        turn = Turn(radius_ft=course.radius, banking_deg=course.banking, speed_mph=mph)
        found = grip.balance(car, turn, truth.model)
        lateral = found.state.force.lateral_g
        wanted = truth.pace * (found.grip_front + found.grip_rear) / car.weight
        lateral += TAKEN * (wanted - lateral)
        square = (lateral + math.sin(banking)) * GRAVITY_FT * course.radius / math.cos(banking)
        mph = math.sqrt(square) / MPH_TO_FT_PER_S
    speed = mph * MPH_TO_FT_PER_S
    loads, lateral_force, work, scales = (
        np.array([each[corner] for corner in CORNERS])
        for each in (found.loads, found.lateral, found.work, car.scales)
    )
    usage = (found.usage_front, found.usage_rear)
    front, rear = (grip.slip_of(used) * truth.model.limit_slip for used in usage)
    return Effort(
        speed=np.array(speed),
        roll=np.array(found.state.transfer.roll_deg),
        usage=np.array(usage),
        load_turn=loads,
        load_straight=scales,
        # All tires push the car to the left: inward on the right side, outward on the left.
        side_force=SIDE * lateral_force / np.maximum(loads, 1.0),
        sliding=work * speed * WATT_PER_FT_LB,
        slip=np.array([front, front, rear, rear]),
    )


def together(efforts: Iterable[Effort]) -> Effort:
    """Return the efforts of several setups as one, with them along the first axis."""
    each = [attrs.astuple(effort, recurse=False) for effort in efforts]
    return Effort(*(np.stack(values) for values in zip(*each, strict=True)))
