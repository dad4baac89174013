"""An axle in a turn: its rates at the ground, and the load it moves across."""

import math

import attrs

from planner.chassis.checks import checked, within
from planner.chassis.turn import TurnForce
from planner.trade.refusals import Refusal


@attrs.frozen
class AxleRates:
    """Springs of one axle as the ground feels them.

    Attributes
    ----------
    left, right : rate of each side when both move alike [lb/in].
    bar : load at each wheel per inch of difference in travel [lb/in].
    """

    left: float
    right: float
    bar: float

    def roll_stiffness(self, track_in: float) -> float:
        """Return the roll stiffness [lb·in/rad] on a track [in].

        Roll adds no load to the axle, so kL dL = kR dR with dL + dR = t phi. The load moved
        across is kL kR / (kL + kR) t phi, its arm is t: K = t² (kL kR / (kL + kR) + bar). With
        equal rates this is the k t² / 2 of D. C. Barton and J. D. Fieldhouse, *Automotive
        Chassis Engineering*, ch. 3.
        """
        return track_in**2 * (self.left * self.right / (self.left + self.right) + self.bar)

    def uneven_moment(self, track_in: float, added_lb: float) -> float:
        """Return the moment to the right [lb·in] that load added on the axle [lb] makes.

        With no roll both sides move alike, so the stiffer side takes more:
        M = S (t / 2) (kR − kL) / (kL + kR).
        """
        return added_lb * track_in / 2 * (self.right - self.left) / (self.left + self.right)


def axle_rates(
    left: float,
    right: float,
    bar: float = 0.0,
    left_tire: float | None = None,
    right_tire: float | None = None,
) -> AxleRates:
    """Return the rates of an axle at the ground, tires in series when their rates are known.

    Parameters
    ----------
    left, right : wheel rates [lb/in].
    bar : anti-roll bar, load at each wheel per inch of difference in travel [lb/in].
    left_tire, right_tire : vertical rates of the tires [lb/in]; both or none.

    Raises
    ------
    Refusal
        A rate is not positive, the bar is negative, or only one tire's rate is given.

    Notes
    -----
    The bar ties the sides together, so the compliances add as matrices: the inverse of
    [[kL + b, −b], [−b, kR + b]] plus diag(1/tL, 1/tR), inverted back.
    """
    checked(left, "spring.left", "lb/in at the wheel", above=0)
    checked(right, "spring.right", "lb/in at the wheel", above=0)
    checked(bar, "bar", "lb/in at the wheel", low=0)
    if left_tire is None and right_tire is None:
        return AxleRates(left, right, bar)
    if left_tire is None or right_tire is None:
        raise Refusal(
            "bad-value",
            "The rate of only one tire of the axle is given.",
            where="tire_rate",
            hint="Give the rate of both tires [lb/in], or of none.",
        )
    checked(left_tire, "tire_rate", "lb/in", above=0)
    checked(right_tire, "tire_rate", "lb/in", above=0)
    det = left * right + bar * (left + right)
    of_left = (right + bar) / det + 1 / left_tire
    of_right = (left + bar) / det + 1 / right_tire
    cross = bar / det
    det = of_left * of_right - cross**2
    return AxleRates((of_right - cross) / det, (of_left - cross) / det, cross / det)


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
    roll_stiffness : [lb·in/rad].
    uneven : outward moment that load added by banking makes on unequal springs, at zero roll
        [lb·in].

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


@attrs.frozen
class AxleTransfer:
    """Load moved from the inside to the outside tire of an axle.

    Attributes
    ----------
    elastic : through the springs and bars [lb].
    geometric : through the roll centre [lb].
    unsprung : of the wheels and the axle itself [lb].
    """

    elastic: float
    geometric: float
    unsprung: float

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
    gravity_roll : count the moment of the centre of gravity as it rolls outward.
    added_moment : outward moment of banking on weight off the centreline [lb·in].

    Raises
    ------
    Refusal
        A value is not finite, the normal force not positive, or the springs cannot hold the body
        up.

    Notes
    -----
    phi = (Ws a h + added − uneven) / (K − Ws n h), after ch. 3 of [1]; without the gravity term
    the divisor is K. Then per axle: elastic = (K_axle phi + uneven) / t, geometric = Ws_axle a
    h_rc / t, unsprung = Wu a h_u / t. Small angles.

    References
    ----------
    .. [1] D. C. Barton and J. D. Fieldhouse, *Automotive Chassis Engineering* (Springer, 2018).
    """
    checked(force.normal_g, "normal_g", "g", above=0)
    checked(force.lateral_g, "lateral_g", "g")
    checked(cg_above_roll_axis, "cg_above_roll_axis", "in")
    checked(added_moment, "added_moment", "lb·in")
    weight = front.sprung + rear.sprung
    springs = front.roll_stiffness + rear.roll_stiffness
    stiffness = springs - weight * force.normal_g * cg_above_roll_axis if gravity_roll else springs
    if stiffness <= 0:
        raise Refusal(
            "bad-value",
            f"Springs with {springs:g} lb·in/rad of roll stiffness cannot hold up {weight:g} lb of "
            "body.",
            where="spring",
            hint="Check the spring rates [lb/in], motion ratios and heights [in].",
        )
    moment = weight * force.lateral_g * cg_above_roll_axis + added_moment
    roll = (moment - front.uneven - rear.uneven) / stiffness

    def moved(axle: Axle) -> AxleTransfer:
        return AxleTransfer(
            elastic=(axle.roll_stiffness * roll + axle.uneven) / axle.track,
            geometric=axle.sprung * force.lateral_g * axle.roll_center / axle.track,
            unsprung=axle.unsprung * force.lateral_g * axle.unsprung_height / axle.track,
        )

    return LoadTransfer(moved(front), moved(rear), math.degrees(roll))
