"""How hard the tires work: loads and slip in the turns, at the speed the driver finds."""

import math
from collections.abc import Mapping

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.chassis import grip
from planner.chassis.loads import TurnCar
from planner.chassis.turn import GRAVITY_FT, MPH_TO_FT_PER_S, Turn
from planner.rehearsal.tread import SIDE
from planner.rehearsal.truth import Truth
from planner.trade.corners import CORNERS, Corner

Array = npt.NDArray[np.float64]

WATT_PER_FT_LB = 1.3558179  # per second; NIST SP 811, appendix B.8
METER_PER_FOOT = 0.3048  # exact; NIST SP 811, appendix B.8
NEWTON_PER_LB = 4.4482216  # NIST SP 811, appendix B.8

SEARCHES = 5  # times the speed is worked out anew; each leaves about a fifth of the error
FASTER_ON_STRAIGHTS = 1.22  # mean speed there over that in the turns; from memory


@attrs.frozen
class Course:
    """The track: length [mile], level radius of the turns [ft], banking [deg]."""

    length: float
    radius: float
    banking: float

    @property
    def turns_ft(self) -> float:
        """Length of both turns together [ft]."""
        return min(2 * math.pi * self.radius, 0.8 * self.length * 5280)


@attrs.frozen(eq=False)
class Effort:
    """What one setup asks of the tires at full grip; corners as LF RF LR RR.

    Attributes
    ----------
    speed : in the turns [ft/s].
    roll : of the body to the right [deg].
    usage : share of grip used, front and rear [1].
    load_turn, load_straight : [lb].
    side_force : towards the centreline over load, in the turns [1].
    sliding : power of sliding in the turns [W].
    slip : in the turns [1].
    """

    speed: float
    roll: float
    usage: tuple[float, float]
    load_turn: Array
    load_straight: Array
    side_force: Array
    sliding: Array
    slip: Array


def car_with(
    base: TurnCar,
    start: Mapping[Setting, float],
    now: Mapping[Setting, float],
    ratio: Mapping[Corner, float],
    truth: Truth,
) -> TurnCar:
    """Return the car in the turn with what is on it.

    Parameters
    ----------
    base : the car on its starting settings.
    start, now : settings then and now.
    ratio : motion ratio per corner.
    truth : how far ballast is moved.
    """
    car = base
    for setting, value in now.items():
        moved = value - start.get(setting, 0.0)
        knob, place = setting
        if not moved:
            continue
        if knob == "spring":
            corner = next(c for c in CORNERS if c == place)
            car = grip.with_spring(car, corner, moved * ratio[corner] ** 2)
        elif knob == "bar":
            car = grip.with_bar(car, "front" if place == "front" else "rear", moved)
        elif knob == "cross":
            car = grip.with_cross(car, moved)
        elif knob == "stagger":
            car = grip.with_stagger(car, moved)
        elif knob == "ballast":
            sign = math.copysign(1.0, moved)
            back = truth.ballast_rear * car.wheelbase if place == "rear" else 0.0
            left = truth.ballast_left * (car.track_front + car.track_rear) / 2
            left = left if place == "left" else 0.0
            car = grip.with_ballast(
                car, abs(moved), rearward_in=sign * back, leftward_in=sign * left
            )
    return car


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
        lateral += 0.85 * (wanted - lateral)
        square = (lateral + math.sin(banking)) * GRAVITY_FT * course.radius / math.cos(banking)
        mph = math.sqrt(square) / MPH_TO_FT_PER_S
    speed = mph * MPH_TO_FT_PER_S
    loads = np.array([found.loads[c] for c in CORNERS])
    lateral_force = np.array([found.lateral[c] for c in CORNERS])
    work = np.array([found.work[c] for c in CORNERS])
    axle = [grip.slip_of(u) * truth.model.limit_slip for u in (found.usage_front, found.usage_rear)]
    return Effort(
        speed=speed,
        roll=found.state.transfer.roll_deg,
        usage=(found.usage_front, found.usage_rear),
        load_turn=loads,
        load_straight=np.array([car.scales[c] for c in CORNERS]),
        # All tires push the car to the left: inward on the right side, outward on the left.
        side_force=SIDE * lateral_force / np.maximum(loads, 1.0),
        sliding=work * speed * WATT_PER_FT_LB,
        slip=np.array([axle[0], axle[0], axle[1], axle[1]]),
    )
