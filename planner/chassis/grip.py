"""Tight or loose from the tire loads, and what that does to temperatures.

Steady state in the middle of the turn: no drive or brake force, no aerodynamic load, camber and
steer left out. The figures are for comparing a change with none, not for lap times.
"""

import math
from collections.abc import Mapping

import attrs

from planner.chassis.checks import checked, within
from planner.chassis.loads import TurnCar, TurnLoads, turn_loads
from planner.chassis.stagger import stagger_for_turn
from planner.chassis.turn import Turn
from planner.trade.corners import CORNERS, FRONT, REAR, Corner, per_corner
from planner.trade.refusals import Refusal

AIR_F = 75.0  # degF, a summer day, when the air was not measured (from memory)


@attrs.frozen(kw_only=True)
class TireModel:
    """How grip grows with load. The defaults are from memory and wide.

    Attributes
    ----------
    friction : lateral friction coefficient at the reference load [1].
    reference_load : load it belongs to [lb].
    sensitivity : exponent with which friction falls as load grows, 0 to 1 [1]; tires lie
        between 0.1 and 0.3, slicks in the lower half.
    longitudinal : longitudinal force per unit of slip over load, for a tire already near its
        sideways limit [1]; 3 to 15.
    limit_slip : slip at the limit of grip, tangent of the slip angle [1]; 0.08 to 0.15.
    """

    friction: float = attrs.field(default=1.3, validator=within("(ratio)", above=0))
    reference_load: float = attrs.field(default=700.0, validator=within("lb", above=0))
    sensitivity: float = attrs.field(default=0.15, validator=within("(exponent)", low=0, high=0.9))
    longitudinal: float = attrs.field(default=6.0, validator=within("(ratio)", low=0))
    limit_slip: float = attrs.field(default=0.12, validator=within("(ratio)", above=0))

    def grip(self, load_lb: float) -> float:
        """Return the most lateral force [lb] under a load [lb].

        F = mu0 F0 (N / F0) ** (1 − p): friction falls with load as mu0 (N / F0) ** −p, and a
        tire never loses force by gaining load (load sensitivity: W. F. and D. L.
        Milliken, *Race Car Vehicle Dynamics*, ch. 2; the power law is a choice).
        """
        checked(load_lb, "load", "lb", low=0)
        relative = load_lb / self.reference_load
        return float(self.friction * self.reference_load * relative ** (1 - self.sensitivity))


DEFAULT_TIRE = TireModel()


def slip_of(usage: float) -> float:
    """Return the slip over the slip at the limit [1] for a share of grip used.

    Parameters
    ----------
    usage : force needed over force available [1].

    Notes
    -----
    sigma = u (1 + 2 u⁸) / 3. It follows the brush model, sigma = 1 − (1 − u)^(1/3), within 0.16
    up to the limit, with the same slope at zero, but stays smooth and finite at and past it: the
    grip is an estimate, and a car that held its speed may come out above it.
    """
    checked(usage, "usage", "(ratio)")
    return usage * (1 + 2 * usage**8) / 3


@attrs.frozen
class Balance:
    """Balance of the car in the turn.

    Attributes
    ----------
    index : usage_front − usage_rear; positive is tight (the front runs out first) [1].
    usage_front, usage_rear : lateral force needed over force available [1].
    grip_front, grip_rear : lateral force available [lb].
    lateral : lateral force per tire [lb].
    work : friction work per foot travelled, per tire [lb].
    stagger_force : push of the outside and drag of the inside rear tire [lb]; positive turns the
        car in.
    state : loads, transfer and lifted wheels behind it.
    """

    index: float
    usage_front: float
    usage_rear: float
    grip_front: float
    grip_rear: float
    lateral: dict[Corner, float]
    work: dict[Corner, float]
    stagger_force: float
    state: TurnLoads

    @property
    def loads(self) -> dict[Corner, float]:
        """Load per tire [lb]."""
        return self.state.loads


def _stagger_slip(car: TurnCar, turn: Turn) -> float:
    """Return the slip of the outside over the inside rear tire [1], 0 when stagger is unknown."""
    if car.stagger is None:
        return 0.0
    free = stagger_for_turn(
        turn.radius_ft, car.track_rear, car.rear_circumference, turn.banking_deg
    )
    return (car.stagger - free) / car.rear_circumference


def balance(car: TurnCar, turn: Turn, tire: TireModel = DEFAULT_TIRE) -> Balance:
    """Return the balance of the car in a turn.

    Parameters
    ----------
    car : scale loads, rates, dimensions and stagger.
    turn : radius, banking, speed and direction.
    tire : grip against load.

    Raises
    ------
    Refusal
        No tire could hold the speed, or the banking alone holds the car at it.

    Notes
    -----
    Each axle needs a_y times its static weight. Both tires of an axle run at one slip, so they
    share its force as their grip.

    Stagger: both rear tires turn at one speed. The slip between them, (stagger − stagger of the
    turn) / circumference, is shared as by two springs in series of stiffness c N each:
    X = slip c No Ni / (No + Ni), rounded off by tanh at the grip of the weaker tire. The pair
    X t turns the car in, which moves X t / wheelbase of lateral force from the front need to the
    rear, and leaves sqrt(grip² − X²) sideways. The stiffness c is from memory and wide: trust
    the sign more than the size. That a taller tire also moves cross is left out: cross is taken
    as set again with the jack.

    Friction work per foot: lateral force times slip, plus X times its own slip.
    """
    state = turn_loads(car, turn)
    lateral_g = state.force.lateral_g
    if lateral_g <= 0:
        raise Refusal(
            "bad-value",
            f"At {turn.speed_mph:g} mph the banking of {turn.banking_deg:g} deg holds the car "
            "by itself.",
            where="speed",
            hint="Check the speed [mph], radius [ft] and banking [deg].",
        )
    loads = state.loads
    slip = _stagger_slip(car, turn)
    push, grip = _pushed(loads, tire, slip)

    shifted = push * car.track_rear / car.wheelbase
    need_front = lateral_g * (car.scales["LF"] + car.scales["RF"]) - shifted
    need_rear = lateral_g * (car.scales["LR"] + car.scales["RR"]) + shifted
    grip_front, grip_rear = grip["LF"] + grip["RF"], grip["LR"] + grip["RR"]
    usage_front, usage_rear = need_front / grip_front, need_rear / grip_rear

    def usage(corner: Corner) -> float:
        return usage_front if corner in FRONT else usage_rear

    lateral = per_corner(lambda corner: grip[corner] * usage(corner))
    work = per_corner(lambda corner: lateral[corner] * (slip_of(usage(corner)) * tire.limit_slip))
    left, right = loads["LR"], loads["RR"]
    if left > 0 and right > 0:
        # In series the lighter tire slips more: its part is the other's load over both.
        work["LR"] += push * slip * right / (left + right)
        work["RR"] += push * slip * left / (left + right)
    return Balance(
        index=usage_front - usage_rear,
        usage_front=usage_front,
        usage_rear=usage_rear,
        grip_front=grip_front,
        grip_rear=grip_rear,
        lateral=lateral,
        work=work,
        stagger_force=push,
        state=state,
    )


def _pushed(
    loads: Mapping[Corner, float], tire: TireModel, slip: float
) -> tuple[float, dict[Corner, float]]:
    """Return the push of stagger [lb], and the grip it leaves each tire sideways [lb]."""
    grip = per_corner(lambda corner: tire.grip(loads[corner]))
    left, right = loads["LR"], loads["RR"]
    stiffness = tire.longitudinal * left * right / (left + right)
    weaker = min(grip["LR"], grip["RR"])
    push = weaker * math.tanh(stiffness * slip / weaker) if weaker > 0 else 0.0
    for corner in REAR:
        grip[corner] = math.sqrt(max(grip[corner] ** 2 - push**2, 0.0))
    return push, grip


def temperature_shift(
    before: Balance,
    after: Balance,
    averages: Mapping[Corner, float],
    air: float = AIR_F,
) -> dict[Corner, float]:
    """Return by how much each tire's average is expected to move [degF].

    Parameters
    ----------
    before, after : balance with and without the change, in one turn at one speed.
    averages : measured average of each tire before the change [degF].
    air : air temperature [degF].

    Returns
    -------
    dict
        Shift per corner. A tire that is off the ground before the change is left out: there is
        no work to compare with.

    Raises
    ------
    Refusal
        An average is missing or not above the air.

    Notes
    -----
    Heat in is friction work, heat out goes as the rise over the air, so the rise goes as the
    work: shift = (T − air) (work_after / work_before − 1). Both ends of this are rough: part of
    the heat comes from rolling and from the straights and does not move, so sizes are upper
    bounds; signs and order are what to use. Simple model, from memory.
    """
    checked(air, "air_temp", "degF", above=-459.67)
    shifts: dict[Corner, float] = {}
    for corner in CORNERS:
        if corner not in averages:
            raise Refusal(
                "bad-value",
                f"The average of {corner} is missing.",
                where=f"average.{corner}",
                hint="Give the averages of all four tires [degF].",
            )
        rise = checked(averages[corner], f"average.{corner}", "degF", above=air) - air
        if before.work[corner] > 0:
            shifts[corner] = rise * (after.work[corner] / before.work[corner] - 1)
    return shifts
