"""Tire loads in a steady turn: the scale loads, what banking adds, and what moves across."""

from collections.abc import Mapping

import attrs

from planner.chassis.axle import Axle, AxleRates, LoadTransfer, axle_rates, load_transfer
from planner.chassis.checks import each_corner, within
from planner.chassis.turn import Turn, TurnForce, turn_force
from planner.trade.corners import CORNERS, FRONT, REAR, Corner, across, per_corner
from planner.trade.refusals import Refusal

# Stand-ins for what few crews have measured. All from memory, wide.
CG_HEIGHT = 16.0  # in
ROLL_CENTER_FRONT = 3.0  # in
ROLL_CENTER_REAR = 9.0  # in
UNSPRUNG_FRONT_SHARE = 0.07  # of the total weight
UNSPRUNG_REAR_SHARE = 0.11  # of the total weight, solid axle
UNSPRUNG_HEIGHT = 13.5  # in, the hub of an 85 in tire


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
    wheel_rate : spring rates at the wheels [lb/in]; for a solid axle the rate in roll.
    wheelbase, track_front, track_rear : [in].
    bar_front, bar_rear : load at each wheel per inch of difference in travel [lb/in].
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

    def rates(self, corners: tuple[Corner, Corner]) -> AxleRates:
        """Return the rates of the axle with the two corners, left first."""
        left, right = corners
        tires = self.tire_rate
        return axle_rates(
            self.wheel_rate[left],
            self.wheel_rate[right],
            self.bar_front if corners == FRONT else self.bar_rear,
            None if tires is None else tires[left],
            None if tires is None else tires[right],
        )


@attrs.frozen
class TurnLoads:
    """Loads on the four tires in the turn.

    Attributes
    ----------
    loads : load square to the track, never below zero [lb].
    lifted : wheels off the ground.
    transfer : how the load got there. It is the transfer before any wheel lifts.
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
    gravity_roll : count the moment of the centre of gravity as it rolls outward.

    Raises
    ------
    Refusal
        No tire could hold the speed, or the springs cannot hold the body up.

    Notes
    -----
    Start from the scale loads, in which the jacked-in cross already is. Banking adds (n − 1)
    times the weight: the unsprung part half to each side, the sprung part through the springs,
    its moment about the centreline shared by roll stiffness. Then `load_transfer` moves load to
    the outside. A wheel that would carry less than nothing is reported as lifted, carries 0, and
    its axle partner carries the whole axle; that the body then rolls further onto the other axle
    is not followed. Drive and brake forces are left out.
    """
    force = turn_force(turn)
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

    def load(corner: Corner) -> float:
        corners, moved = (FRONT, transfer.front) if corner in FRONT else (REAR, transfer.rear)
        static = car.scales[corners[0]] + car.scales[corners[1]]
        gained = moved.total if corner in turn.outside else -moved.total
        return car.scales[corner] + added * static / 2 + gained

    raw = per_corner(load)
    lifted = tuple(corner for corner in CORNERS if raw[corner] < 0)
    for corner in lifted:
        raw[across(corner)] += raw[corner]
        raw[corner] = 0.0
    return TurnLoads(raw, lifted, transfer, force)


def _axle(car: TurnCar, corners: tuple[Corner, Corner], outward: float, added: float) -> Axle:
    """Return an axle in the turn.

    Parameters
    ----------
    outward : 1 where the outside is on the right, -1 on the left.
    added : load that banking adds, over the weight [1].
    """
    ends = (car.track_front, car.roll_center_front, car.unsprung[0])
    if corners == REAR:
        ends = (car.track_rear, car.roll_center_rear, car.unsprung[1])
    track, roll_center, unsprung = ends
    sprung = car.scales[corners[0]] + car.scales[corners[1]] - unsprung
    rates = car.rates(corners)
    return Axle(
        sprung=sprung,
        unsprung=unsprung,
        unsprung_height=car.unsprung_height,
        track=track,
        roll_center=roll_center,
        roll_stiffness=rates.roll_stiffness(track),
        uneven=outward * rates.uneven_moment(track, added * sprung),
    )


def _cg_above_roll_axis(car: TurnCar, front: Axle, rear: Axle) -> float:
    """Return the height of the sprung centre of gravity above the roll axis below it [in]."""
    sprung = front.sprung + rear.sprung
    height = (car.weight * car.cg_height - (car.weight - sprung) * car.unsprung_height) / sprung
    axis = (front.sprung * front.roll_center + rear.sprung * rear.roll_center) / sprung
    return height - axis
