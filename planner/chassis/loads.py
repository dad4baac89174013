"""Tire loads in a steady turn: the scale loads, what banking adds, and what moves across."""

from collections.abc import Mapping

import attrs

from planner.chassis.axle import Axle, AxleRates, LoadTransfer, load_transfer
from planner.chassis.checks import each_corner, within
from planner.chassis.turn import CEILING_G, Turn, TurnForce, force_at, turn_force
from planner.trade.corners import CORNERS, FRONT, REAR, Corner, per_corner
from planner.trade.refusals import Refusal

# Stand-ins for what few crews have measured. All from memory, wide.
CG_HEIGHT = 16.0  # in
ROLL_CENTER_FRONT = 3.0  # in
ROLL_CENTER_REAR = 9.0  # in
UNSPRUNG_FRONT_SHARE = 0.07  # of the total weight
UNSPRUNG_REAR_SHARE = 0.11  # of the total weight, solid axle
UNSPRUNG_HEIGHT = 13.5  # in, the hub of an 85 in tire

LIFT_WITHIN = 1e-6  # g; how closely the lift-off of a wheel is found


def usual_unsprung(weight: float, corner: Corner) -> float:
    """Return the unsprung weight of one corner where nobody has weighed it [lb].

    Parameters
    ----------
    weight : of the whole car [lb].

    Notes
    -----
    Half of the axle's usual share of the total; from memory.
    """
    share = UNSPRUNG_FRONT_SHARE if corner in FRONT else UNSPRUNG_REAR_SHARE
    return share * weight / 2


_LENGTH = within("in", above=0)
_BAR = within("lb/in at the wheel", low=0)


@attrs.frozen(kw_only=True)
class TurnCar:
    """The car as far as its tire loads in a turn go.

    Attributes
    ----------
    scales : scale loads, driver in [lb].
    wheel_rate : spring rates at the wheels when both of an axle move alike [lb/in].
    wheelbase, track_front, track_rear : [in].
    bar_front, bar_rear : load at each wheel per inch of difference in travel [lb/in].
    spring_base_front, spring_base_rear : distance between the springs of a solid axle [in]; None
        where each wheel has its own.
    tire_rate : vertical rates of the tires [lb/in]; None takes them as stiff.
    cg_height : height of the whole car's centre of gravity [in]; default from memory.
    roll_center_front, roll_center_rear : heights [in]; defaults from memory.
    unsprung_front, unsprung_rear : weights [lb], half on each side; None takes a share of the
        total weight, from memory.
    unsprung_height : height of the hubs [in]; default from memory.
    stagger : rear tires, outside minus inside circumference [in]; None leaves it out.
    rear_circumference : mean of the rear tires [in]; default is the mean of the 86 in and
        83.5 in of *Circle Track*, "Racing Tire Technology", May 2004.
    """

    scales: Mapping[Corner, float] = attrs.field(validator=each_corner("lb"))
    wheel_rate: Mapping[Corner, float] = attrs.field(validator=each_corner("lb/in at the wheel"))
    wheelbase: float = attrs.field(validator=_LENGTH)
    track_front: float = attrs.field(validator=_LENGTH)
    track_rear: float = attrs.field(validator=_LENGTH)
    bar_front: float = attrs.field(default=0.0, validator=_BAR)
    bar_rear: float = attrs.field(default=0.0, validator=_BAR)
    spring_base_front: float | None = attrs.field(default=None, validator=_LENGTH)
    spring_base_rear: float | None = attrs.field(default=None, validator=_LENGTH)
    tire_rate: Mapping[Corner, float] | None = attrs.field(
        default=None, validator=each_corner("lb/in")
    )
    cg_height: float = attrs.field(default=CG_HEIGHT, validator=_LENGTH)
    roll_center_front: float = attrs.field(default=ROLL_CENTER_FRONT, validator=within("in"))
    roll_center_rear: float = attrs.field(default=ROLL_CENTER_REAR, validator=within("in"))
    unsprung_front: float | None = attrs.field(default=None, validator=within("lb", low=0))
    unsprung_rear: float | None = attrs.field(default=None, validator=within("lb", low=0))
    unsprung_height: float = attrs.field(default=UNSPRUNG_HEIGHT, validator=within("in", low=0))
    stagger: float | None = attrs.field(default=None, validator=within("in"))
    rear_circumference: float = attrs.field(default=(86 + 83.5) / 2, validator=_LENGTH)

    def __attrs_post_init__(self) -> None:
        for name, corners, light in zip(
            ("unsprung_front", "unsprung_rear"), (FRONT, REAR), self.unsprung, strict=True
        ):
            axle = sum(self.scales[corner] for corner in corners)
            if light >= axle:
                raise Refusal(
                    "bad-value",
                    f"{name} is {light:g} lb, but that axle scales only {axle:g} lb.",
                    where=name,
                    hint="Check the scale loads [lb], or give the unsprung weight [lb].",
                )

    @property
    def weight(self) -> float:
        """Total weight [lb]."""
        return sum(self.scales[corner] for corner in CORNERS)

    @property
    def unsprung(self) -> tuple[float, float]:
        """Unsprung weight front and rear [lb]."""
        front, rear = self.unsprung_front, self.unsprung_rear
        return (
            2 * usual_unsprung(self.weight, FRONT[0]) if front is None else front,
            2 * usual_unsprung(self.weight, REAR[0]) if rear is None else rear,
        )


@attrs.frozen
class TurnLoads:
    """Loads on the four tires in the turn.

    Attributes
    ----------
    loads : load square to the track, never below zero [lb].
    lifted : wheels off the ground.
    transfer : how the load got there.
    force : lateral and normal force of the turn.
    """

    loads: dict[Corner, float]
    lifted: tuple[Corner, ...]
    transfer: LoadTransfer
    force: TurnForce


def turn_loads(car: TurnCar, turn: Turn, *, gravity_roll: bool = True) -> TurnLoads:
    """Return the loads on the four tires in the middle of a steady turn.

    Parameters
    ----------
    car : scale loads, rates and dimensions.
    turn : radius, banking, speed and direction.
    gravity_roll : count the moment of the weight that shifts outward as the car rolls.

    Raises
    ------
    Refusal
        No tire could hold the speed, the springs cannot hold the body up, or the car goes over.

    Notes
    -----
    Start from the scale loads, in which the jacked-in cross already is. Banking adds (n − 1)
    times the weight: the unsprung part half to each side, the sprung part through the springs,
    its moment about the centreline shared by roll stiffness. Then `load_transfer` moves load to
    the outside. A wheel that would carry less than nothing is off the ground and carries 0, its
    axle partner carries the whole axle, and the other axle carries the roll moment that is left
    over. Drive and brake forces are left out.
    """
    return _loads_at(car, turn, turn_force(turn), gravity_roll=gravity_roll)


def lift_off(car: TurnCar, turn: Turn) -> dict[Corner, float | None]:
    """Return the lateral force at which each inside wheel leaves the ground [g].

    Parameters
    ----------
    car : scale loads, rates and dimensions.
    turn : its banking and direction; the speed is found.

    Returns
    -------
    dict
        By inside corner, front first; None where the wheel is still down at `CEILING_G`. The
        second of the two is where the car goes over.

    Raises
    ------
    Refusal
        The springs cannot hold the body up at rest in the turn.

    Notes
    -----
    Once off, a wheel stays off as the force grows, so halving the range finds where. On banking
    the force square to the track grows with the lateral one.
    """
    _loads_at(car, turn, force_at(0.0, turn.banking_deg))

    def off(corner: Corner, lateral_g: float) -> bool:
        try:
            return corner in _loads_at(car, turn, force_at(lateral_g, turn.banking_deg)).lifted
        except Refusal:
            return True  # it has gone over

    def lifts(corner: Corner) -> float | None:
        low, high = 0.0, CEILING_G
        if not off(corner, high):
            return None
        while high - low > LIFT_WITHIN:
            middle = (low + high) / 2
            low, high = (low, middle) if off(corner, middle) else (middle, high)
        return high

    return {corner: lifts(corner) for corner in turn.inside}


def _loads_at(
    car: TurnCar, turn: Turn, force: TurnForce, *, gravity_roll: bool = True
) -> TurnLoads:
    """Return the loads under a force; of the turn only its direction counts."""
    outward = 1.0 if turn.direction == "left" else -1.0
    added = force.normal_g - 1
    front, rear = (_axle(car, corners, outward, added) for corners in (FRONT, REAR))
    to_right = (car.scales["RF"] - car.scales["LF"]) * car.track_front / 2
    to_right += (car.scales["RR"] - car.scales["LR"]) * car.track_rear / 2
    transfer = load_transfer(
        front,
        rear,
        force,
        _cg_above_roll_axis(car, front, rear),
        gravity_roll=gravity_roll,
        added_moment=outward * added * to_right,
    )

    def off(corner: Corner) -> bool:
        side = "outside" if corner in turn.outside else "inside"
        return (transfer.front if corner in FRONT else transfer.rear).lifted == side

    def load(corner: Corner) -> float:
        corners, moved = (FRONT, transfer.front) if corner in FRONT else (REAR, transfer.rear)
        gained = moved.total if corner in turn.outside else -moved.total
        return 0.0 if off(corner) else _banked(car, corners, corner, added) + gained

    lifted = tuple(corner for corner in CORNERS if off(corner))
    return TurnLoads(per_corner(load), lifted, transfer, force)


def _banked(car: TurnCar, corners: tuple[Corner, Corner], corner: Corner, added: float) -> float:
    """Return the load of a corner with half of what banking adds to its axle [lb]."""
    return car.scales[corner] + added * sum(car.scales[each] for each in corners) / 2


def _axle(car: TurnCar, corners: tuple[Corner, Corner], outward: float, added: float) -> Axle:
    """Return an axle in the turn.

    Parameters
    ----------
    outward : 1 where the outside is on the right, -1 on the left.
    added : load that banking adds, over the weight [1].
    """
    left, right = corners
    ends = (car.track_front, car.spring_base_front, car.roll_center_front, car.bar_front)
    unsprung = car.unsprung[0]
    if corners == REAR:
        ends = (car.track_rear, car.spring_base_rear, car.roll_center_rear, car.bar_rear)
        unsprung = car.unsprung[1]
    track, base, roll_center, bar = ends
    weight = car.scales[left] + car.scales[right]
    springs = AxleRates(car.wheel_rate[left], car.wheel_rate[right], bar)
    tires = car.tire_rate and AxleRates(car.tire_rate[left], car.tire_rate[right])
    inside, outside = (left, right) if outward > 0 else (right, left)
    sprung = weight - unsprung
    return Axle(
        sprung=sprung,
        unsprung=unsprung,
        unsprung_height=car.unsprung_height,
        track=track,
        roll_center=roll_center,
        roll_stiffness=springs.roll_stiffness(track, base),
        uneven=outward * springs.uneven_moment(track if base is None else base, added * sprung),
        tire_stiffness=tires.roll_stiffness(track) if tires else None,
        tire_uneven=outward * tires.uneven_moment(track, added * weight) if tires else 0.0,
        room=(
            -track * _banked(car, corners, outside, added),
            track * _banked(car, corners, inside, added),
        ),
    )


def _cg_above_roll_axis(car: TurnCar, front: Axle, rear: Axle) -> float:
    """Return the height of the sprung centre of gravity above the roll axis below it [in]."""
    sprung = front.sprung + rear.sprung
    height = (car.weight * car.cg_height - (car.weight - sprung) * car.unsprung_height) / sprung
    axis = (front.sprung * front.roll_center + rear.sprung * rear.roll_center) / sprung
    return height - axis
