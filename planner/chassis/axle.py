"""An axle in a turn: its rates at the ground, and the load it moves across."""

import math
from typing import Literal

import attrs

from planner.chassis.checks import checked, within
from planner.chassis.turn import TurnForce
from planner.trade.refusals import Refusal

Side = Literal["inside", "outside"]


@attrs.frozen
class AxleRates:
    """Two springs side by side, and the bar between them; or the two tires of an axle.

    Attributes
    ----------
    left, right : rate of each side when both move alike [lb/in].
    bar : load at each wheel per inch of difference in travel of the wheels [lb/in].

    Raises
    ------
    Refusal
        A rate is not positive, or the bar is negative.
    """

    left: float = attrs.field(validator=within("lb/in at the wheel", "spring.left", above=0))
    right: float = attrs.field(validator=within("lb/in at the wheel", "spring.right", above=0))
    bar: float = attrs.field(default=0.0, validator=within("lb/in at the wheel", low=0))

    def roll_stiffness(self, track_in: float, base_in: float | None = None) -> float:
        """Return the roll stiffness [lb·in/rad].

        Parameters
        ----------
        track_in : distance between the wheels [in].
        base_in : distance between the springs on a solid axle [in]; None where each wheel has
            its own.

        Notes
        -----
        Roll adds no load to the axle, so kL dL = kR dR with dL + dR = s phi on a spring base s.
        The load moved across is kL kR / (kL + kR) s phi, its arm is s. The bar is given at the
        wheels: K = s² kL kR / (kL + kR) + t² bar. With equal rates the springs give the k s² / 2
        of D. C. Barton and J. D. Fieldhouse, *Automotive Chassis Engineering*, ch. 3.
        """
        base = track_in if base_in is None else base_in
        return base**2 * self.left * self.right / (self.left + self.right) + track_in**2 * self.bar

    def uneven_moment(self, base_in: float, added_lb: float) -> float:
        """Return the moment to the right [lb·in] that load added on the axle [lb] makes.

        With no roll both sides move alike, so the stiffer side takes more:
        M = S (s / 2) (kR − kL) / (kL + kR), on a spring base s [in].
        """
        return added_lb * base_in / 2 * (self.right - self.left) / (self.left + self.right)


@attrs.frozen(kw_only=True)
class Axle:
    """One axle, as far as the load it moves across in a turn goes.

    Attributes
    ----------
    sprung : sprung weight it carries [lb].
    unsprung : weight of its wheels, hubs and links [lb].
    unsprung_height : height of their centre [in].
    track : [in].
    roll_center : height of the roll centre [in].
    roll_stiffness : of springs and bar between body and axle [lb·in/rad].
    uneven : outward moment that load added by banking makes on unequal springs, at zero roll
        [lb·in].
    tire_stiffness : roll stiffness of the tires between axle and track [lb·in/rad]; None takes
        them as stiff.
    tire_uneven : as `uneven`, of the tires [lb·in].
    room : outward moment of the tires, counted from the car on the scales, at which the outside
        and at which the inside wheel leaves the ground [lb·in].

    Raises
    ------
    Refusal
        A weight or height is negative, or a track or stiffness not positive.
    """

    sprung: float = attrs.field(validator=within("lb", above=0))
    unsprung: float = attrs.field(validator=within("lb", low=0))
    unsprung_height: float = attrs.field(validator=within("in", low=0))
    track: float = attrs.field(validator=within("in", above=0))
    roll_center: float = attrs.field(validator=within("in"))
    roll_stiffness: float = attrs.field(validator=within("lb·in/rad", above=0))
    uneven: float = attrs.field(default=0.0, validator=within("lb·in"))
    tire_stiffness: float | None = attrs.field(default=None, validator=within("lb·in/rad", above=0))
    tire_uneven: float = attrs.field(default=0.0, validator=within("lb·in"))
    room: tuple[float, float] = (-math.inf, math.inf)


@attrs.frozen
class AxleTransfer:
    """Load moved from the inside to the outside tire of an axle.

    Attributes
    ----------
    elastic : through the springs and bars [lb].
    geometric : through the roll centre [lb].
    unsprung : of the wheels and the axle itself [lb].
    lifted : the wheel that is off the ground, if one is.
    """

    elastic: float
    geometric: float
    unsprung: float
    lifted: Side | None = None

    @property
    def total(self) -> float:
        """All of it [lb]."""
        return self.elastic + self.geometric + self.unsprung


@attrs.frozen
class LoadTransfer:
    """Load moved to the outside at both ends.

    Attributes
    ----------
    front, rear : of each axle.
    roll_deg : roll of the body relative to the track, outward [deg].
    """

    front: AxleTransfer
    rear: AxleTransfer
    roll_deg: float

    @property
    def front_share(self) -> float:
        """Front part of the whole load transfer [1]; NaN when nothing is moved."""
        total = self.front.total + self.rear.total
        return self.front.total / total if total else math.nan


@attrs.frozen
class _Rolling:
    """An axle under a body that rolls: everything a straight line in the roll of the body.

    Attributes
    ----------
    axle, force : as given.
    gravity : count the weight that shifts outward as the axle rolls on its tires, or 0.
    lifted : the wheel held off the ground, if one is.
    """

    axle: Axle
    force: TurnForce
    gravity: float
    lifted: Side | None = None

    @property
    def _through_links(self) -> float:
        """Moment that reaches the tires past the springs, at zero roll [lb·in]."""
        return self.force.lateral_g * self._arm

    @property
    def _arm(self) -> float:
        axle = self.axle
        return axle.sprung * axle.roll_center + axle.unsprung * axle.unsprung_height

    @property
    def _tipping(self) -> float:
        """Moment per roll of the axle that its shifted weight adds [lb·in/rad]."""
        return self.gravity * self.force.normal_g * self._arm

    def tilt(self, roll: float) -> float:
        """Return the roll of the axle itself [rad] for a roll of the body [rad].

        Raises
        ------
        Refusal
            Springs and tires cannot hold the axle up.
        """
        axle = self.axle
        pushed = axle.uneven + axle.roll_stiffness * roll + self._through_links
        if self.lifted is not None:
            pushed, tires = pushed - self._at_lift, 0.0
        elif axle.tire_stiffness is None:
            return 0.0
        else:
            pushed, tires = pushed - axle.tire_uneven, axle.tire_stiffness
        stiffness = axle.roll_stiffness + tires - self._tipping
        if stiffness <= 0:
            raise _cannot_hold(axle.roll_stiffness + tires, axle.sprung + axle.unsprung)
        return pushed / stiffness

    @property
    def _at_lift(self) -> float:
        return self.axle.room[self.lifted == "inside"]

    def elastic(self, roll: float) -> float:
        """Return the moment through springs and bar [lb·in] for a roll of the body [rad]."""
        return self.axle.uneven + self.axle.roll_stiffness * (roll - self.tilt(roll))

    def transfer(self, roll: float) -> AxleTransfer:
        """Return the load it moves [lb] for a roll of the body [rad]."""
        axle = self.axle
        sideways = self.force.lateral_g + self.gravity * self.force.normal_g * self.tilt(roll)
        return AxleTransfer(
            elastic=self.elastic(roll) / axle.track,
            geometric=axle.sprung * axle.roll_center * sideways / axle.track,
            unsprung=axle.unsprung * axle.unsprung_height * sideways / axle.track,
            lifted=self.lifted,
        )

    def beyond(self, roll: float) -> float:
        """Return the moment the tires cannot hold with both wheels down [lb·in].

        Above zero the inside wheel leaves the ground, below zero the outside one.
        """
        if self.lifted is not None:
            return 0.0
        moment = self.transfer(roll).total * self.axle.track
        low, high = self.axle.room
        return min(moment - low, 0.0) or max(moment - high, 0.0)


def load_transfer(
    front: Axle,
    rear: Axle,
    force: TurnForce,
    cg_above_roll_axis: float,
    *,
    gravity_roll: bool = True,
    added_moment: float = 0.0,
) -> LoadTransfer:
    """Return the load transfer of a car rolling about its roll axis.

    Parameters
    ----------
    front, rear : the axles.
    force : what the turn asks.
    cg_above_roll_axis : sprung centre of gravity above the roll axis [in].
    gravity_roll : count the moment of weight that shifts outward as body and axles roll.
    added_moment : outward moment of banking on weight off the centreline [lb·in].

    Raises
    ------
    Refusal
        A value is not finite, the normal force not positive, the springs cannot hold the body
        up, or the car goes over: no wheel is left on the inside that could hold it.

    Notes
    -----
    The body rolls by phi, an axle on its tires by psi; both are small. Springs and bar carry
    E = K (phi − psi) + uneven to the axle. Past them go P = (Ws h_rc + Wu h_u) (a + n psi), the
    second part being the weight that shifts outward. The tires carry both,
    E + P = Kt psi + uneven_t, which gives psi. The body asks
    E_front + E_rear = Ws h (a + n phi) + added, which gives phi. With stiff tires psi is zero and
    phi = (Ws a h + added − uneven) / (K − Ws n h), after ch. 3 of [1].

    A wheel off the ground holds the moment of its axle's tires at what the axle carries times
    half the track. E + P then stays there whatever phi is, and the other axle takes the rest.
    Wheels are lifted one by one, the one furthest beyond what it can hold first.

    References
    ----------
    .. [1] D. C. Barton and J. D. Fieldhouse, *Automotive Chassis Engineering* (Springer, 2018).
    """
    checked(force.normal_g, "normal_g", "g", above=0)
    checked(force.lateral_g, "lateral_g", "g")
    checked(cg_above_roll_axis, "cg_above_roll_axis", "in")
    checked(added_moment, "added_moment", "lb·in")
    gravity = 1.0 if gravity_roll else 0.0
    axles = [_Rolling(axle, force, gravity) for axle in (front, rear)]
    body = front.sprung + rear.sprung
    moment = body * force.lateral_g * cg_above_roll_axis + added_moment
    tipping = gravity * body * force.normal_g * cg_above_roll_axis
    while True:
        held = sum(each.elastic(0.0) for each in axles)
        stiffness = sum(each.elastic(1.0) for each in axles) - held - tipping
        lifted = [each for each in axles if each.lifted]
        if len(lifted) == len(axles) or (lifted and stiffness <= 0):
            raise _goes_over(force.lateral_g)
        if stiffness <= 0:
            raise _cannot_hold(front.roll_stiffness + rear.roll_stiffness, body)
        roll = (moment - held) / stiffness
        beyond = [each.beyond(roll) for each in axles]
        worst = max(range(len(axles)), key=lambda i: abs(beyond[i]))
        if not beyond[worst]:
            return LoadTransfer(
                axles[0].transfer(roll), axles[1].transfer(roll), math.degrees(roll)
            )
        side: Side = "inside" if beyond[worst] > 0 else "outside"
        axles[worst] = attrs.evolve(axles[worst], lifted=side)


def _cannot_hold(stiffness: float, weight: float) -> Refusal:
    return Refusal(
        "bad-value",
        f"Springs with {stiffness:g} lb·in/rad of roll stiffness cannot hold up {weight:g} lb of "
        "body.",
        where="spring",
        hint="Check the spring rates [lb/in], motion ratios and heights [in].",
    )


def _goes_over(lateral_g: float) -> Refusal:
    return Refusal(
        "bad-value",
        f"At {abs(lateral_g):.2f} g both wheels of one side leave the ground: the car goes over.",
        where="speed, radius",
        hint="Check the speed [mph], the radius [ft], the height of the centre of gravity [in] "
        "and the scales [lb].",
    )
