"""Tire loads in a steady turn: banking, roll, and the ways load moves across each axle."""

import math
from collections.abc import Mapping
from typing import Literal

import attrs

from planner.chassis.checks import checked
from planner.trade.corners import CORNERS, FRONT, REAR, Corner, across, per_corner
from planner.trade.refusals import Refusal

Direction = Literal["left", "right"]

GRAVITY_FT = 32.17405  # ft/s², standard gravity; NIST SP 811, appendix B.8
MPH_TO_FT_PER_S = 5280 / 3600
CEILING_G = 2.5  # in the car's plane; no paved short-track tire holds more (from memory)

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


@attrs.frozen(kw_only=True)
class Turn:
    """A turn and the speed through its middle.

    Attributes
    ----------
    radius_ft : radius of the car's path, measured level [ft].
    banking_deg : banking, positive when the outside is higher [deg].
    speed_mph : speed in the middle of the turn [mph].
    direction : the way the car turns, ``"left"`` or ``"right"``.
    """

    radius_ft: float
    banking_deg: float
    speed_mph: float
    direction: Direction = "left"

    def __attrs_post_init__(self) -> None:
        checked(self.radius_ft, "track.radius", "ft", above=0)
        checked(self.banking_deg, "track.banking", "deg", low=-10, high=45)
        checked(self.speed_mph, "track.corner_speed", "mph", above=0)
        if self.direction not in ("left", "right"):
            raise Refusal(
                "bad-value",
                f"A turn cannot go {self.direction!r}.",
                where="car.turns",
                hint="Give left or right; a track that turns both ways is two turns.",
            )

    @property
    def outside(self) -> tuple[Corner, Corner]:
        """The outside tires, front first."""
        return ("RF", "RR") if self.direction == "left" else ("LF", "LR")


@attrs.frozen
class TurnForce:
    """What the turn asks of the car, as multiples of its weight.

    Attributes
    ----------
    lateral_g : force the tires must give along the track's surface, towards the inside [g].
    normal_g : load square to the track's surface; 1 on a flat track [g].
    """

    lateral_g: float
    normal_g: float


def turn_force(
    radius_ft: float, banking_deg: float, speed_mph: float, *, ceiling_g: float = CEILING_G
) -> TurnForce:
    """Return the lateral and normal force of a steady banked turn.

    Parameters
    ----------
    radius_ft : radius of the car's path, measured level [ft].
    banking_deg : banking, positive when the outside is higher [deg].
    speed_mph : speed [mph].
    ceiling_g : most lateral force any tire is believed to hold [g].

    Raises
    ------
    Refusal
        A value is out of range, or no tire could hold the speed on the radius.

    Notes
    -----
    With c = v² / (g R): lateral = c cos(b) − sin(b), normal = c sin(b) + cos(b), the
    centripetal force and gravity turned into the track's plane (Sec. 6.3 of [1]). A negative
    lateral value means that the car is slower than the banking alone would hold.

    References
    ----------
    .. [1] OpenStax, *College Physics*, "Centripetal Force", banked curves.
    """
    turn = Turn(radius_ft=radius_ft, banking_deg=banking_deg, speed_mph=speed_mph)
    checked(ceiling_g, "ceiling_g", "g", above=0)
    centripetal = (turn.speed_mph * MPH_TO_FT_PER_S) ** 2 / (GRAVITY_FT * turn.radius_ft)
    banking = math.radians(turn.banking_deg)
    lateral = centripetal * math.cos(banking) - math.sin(banking)
    if lateral > ceiling_g:
        raise Refusal(
            "bad-value",
            f"{speed_mph:g} mph on a radius of {radius_ft:g} ft asks {lateral:.2f} g of the tires; "
            f"none holds more than {ceiling_g:g} g.",
            where="track.corner_speed, track.radius",
            hint="Check the speed in the middle of the turn [mph] and the radius [ft].",
        )
    return TurnForce(lateral, centripetal * math.sin(banking) + math.cos(banking))


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
        """Return the roll stiffness [lb·in/rad] on a track [in]; see `roll_stiffness`."""
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
            where="tires.rate",
            hint="Give the rate of both tires [lb/in], or of none.",
        )
    checked(left_tire, "tires.rate", "lb/in", above=0)
    checked(right_tire, "tires.rate", "lb/in", above=0)
    det = left * right + bar * (left + right)
    of_left = (right + bar) / det + 1 / left_tire
    of_right = (left + bar) / det + 1 / right_tire
    cross = bar / det
    det = of_left * of_right - cross**2
    return AxleRates((of_right - cross) / det, (of_left - cross) / det, cross / det)


def roll_stiffness(
    left: float,
    right: float,
    track_in: float,
    bar: float = 0.0,
    left_tire: float | None = None,
    right_tire: float | None = None,
) -> float:
    """Return the roll stiffness of an axle [lb·in/rad].

    Parameters
    ----------
    left, right : wheel rates [lb/in].
    track_in : track [in]; the springs are taken to act at the wheels.
    bar : load at each wheel per inch of difference in travel [lb/in].
    left_tire, right_tire : vertical rates of the tires [lb/in]; both or none.

    Raises
    ------
    Refusal
        A rate or the track is not positive, or the bar is negative.

    Notes
    -----
    Roll adds no load to the axle, so kL dL = kR dR with dL + dR = t phi. The load moved across
    is kL kR / (kL + kR) t phi, its arm is t: K = t² (kL kR / (kL + kR) + bar). With equal rates
    this is the k t² / 2 of [1].

    References
    ----------
    .. [1] D. C. Barton and J. D. Fieldhouse, *Automotive Chassis Engineering*, ch. 3.
    """
    checked(track_in, "dimensions.track", "in", above=0)
    return axle_rates(left, right, bar, left_tire, right_tire).roll_stiffness(track_in)


@attrs.frozen
class LoadTransfer:
    """Load moved from the inside to the outside tire of each axle.

    Attributes
    ----------
    elastic_front, elastic_rear : through the springs and bars [lb].
    geometric_front, geometric_rear : through the roll centres [lb].
    unsprung_front, unsprung_rear : of the wheels and axles themselves [lb].
    roll_deg : roll of the body relative to the track, outward [deg].
    """

    elastic_front: float
    elastic_rear: float
    geometric_front: float
    geometric_rear: float
    unsprung_front: float
    unsprung_rear: float
    roll_deg: float

    @property
    def front(self) -> float:
        """Total across the front [lb]."""
        return self.elastic_front + self.geometric_front + self.unsprung_front

    @property
    def rear(self) -> float:
        """Total across the rear [lb]."""
        return self.elastic_rear + self.geometric_rear + self.unsprung_rear

    @property
    def front_share(self) -> float:
        """Front part of the whole load transfer [1]; NaN when nothing is moved."""
        total = self.front + self.rear
        return self.front / total if total else math.nan


def load_transfer(
    *,
    lateral_g: float,
    sprung_front: float,
    sprung_rear: float,
    unsprung_front: float,
    unsprung_rear: float,
    unsprung_height_front: float,
    unsprung_height_rear: float,
    track_front: float,
    track_rear: float,
    roll_center_front: float,
    roll_center_rear: float,
    cg_above_roll_axis: float,
    roll_stiffness_front: float,
    roll_stiffness_rear: float,
    normal_g: float = 1.0,
    gravity_roll: bool = True,
    added_moment: float = 0.0,
    uneven_front: float = 0.0,
    uneven_rear: float = 0.0,
) -> LoadTransfer:
    """Return the load transfer of a car rolling about its roll axis.

    Parameters
    ----------
    lateral_g : lateral force over weight, in the car's plane [g].
    sprung_front, sprung_rear : sprung weight on each axle [lb].
    unsprung_front, unsprung_rear : unsprung weight of each axle [lb].
    unsprung_height_front, unsprung_height_rear : heights of their centres [in].
    track_front, track_rear : tracks [in].
    roll_center_front, roll_center_rear : roll-centre heights [in].
    cg_above_roll_axis : sprung centre of gravity above the roll axis [in].
    roll_stiffness_front, roll_stiffness_rear : roll stiffness of each axle [lb·in/rad].
    normal_g : load square to the track over weight [g].
    gravity_roll : count the moment of the centre of gravity as it rolls outward.
    added_moment : outward moment of banking on weight off the centreline [lb·in].
    uneven_front, uneven_rear : outward moment that load added by banking makes on unequal
        springs, at zero roll [lb·in].

    Raises
    ------
    Refusal
        A weight or height is negative, a track or stiffness not positive, or the springs cannot
        hold the body up.

    Notes
    -----
    phi = (Ws a h + added − uneven) / (K − Ws n h), after ch. 3 of [1]; without the gravity term
    the divisor is K. Then per axle: elastic = (K_axle phi + uneven) / t, geometric = Ws_axle a
    h_rc / t, unsprung = Wu a h_u / t. Small angles.

    References
    ----------
    .. [1] D. C. Barton and J. D. Fieldhouse, *Automotive Chassis Engineering* (Springer, 2018).
    """
    for where, value, unit in (
        ("sprung_front", sprung_front, "lb"),
        ("sprung_rear", sprung_rear, "lb"),
        ("normal_g", normal_g, "g"),
        ("dimensions.track_front", track_front, "in"),
        ("dimensions.track_rear", track_rear, "in"),
        ("roll_stiffness_front", roll_stiffness_front, "lb·in/rad"),
        ("roll_stiffness_rear", roll_stiffness_rear, "lb·in/rad"),
    ):
        checked(value, where, unit, above=0)
    for where, value, unit in (
        ("unsprung_front", unsprung_front, "lb"),
        ("unsprung_rear", unsprung_rear, "lb"),
        ("unsprung_height_front", unsprung_height_front, "in"),
        ("unsprung_height_rear", unsprung_height_rear, "in"),
    ):
        checked(value, where, unit, low=0)
    for where, value, unit in (
        ("lateral_g", lateral_g, "g"),
        ("dimensions.roll_center_front", roll_center_front, "in"),
        ("dimensions.roll_center_rear", roll_center_rear, "in"),
        ("cg_above_roll_axis", cg_above_roll_axis, "in"),
        ("added_moment", added_moment, "lb·in"),
        ("uneven_front", uneven_front, "lb·in"),
        ("uneven_rear", uneven_rear, "lb·in"),
    ):
        checked(value, where, unit)

    weight = sprung_front + sprung_rear
    stiffness = roll_stiffness_front + roll_stiffness_rear
    if gravity_roll:
        stiffness -= weight * normal_g * cg_above_roll_axis
    if stiffness <= 0:
        raise Refusal(
            "bad-value",
            f"Springs with {roll_stiffness_front + roll_stiffness_rear:g} lb·in/rad of roll "
            f"stiffness cannot hold up {weight:g} lb of body.",
            where="settings.spring",
            hint="Check the spring rates [lb/in], motion ratios and heights [in].",
        )
    moment = weight * lateral_g * cg_above_roll_axis + added_moment
    roll = (moment - uneven_front - uneven_rear) / stiffness
    return LoadTransfer(
        elastic_front=(roll_stiffness_front * roll + uneven_front) / track_front,
        elastic_rear=(roll_stiffness_rear * roll + uneven_rear) / track_rear,
        geometric_front=sprung_front * lateral_g * roll_center_front / track_front,
        geometric_rear=sprung_rear * lateral_g * roll_center_rear / track_rear,
        unsprung_front=unsprung_front * lateral_g * unsprung_height_front / track_front,
        unsprung_rear=unsprung_rear * lateral_g * unsprung_height_rear / track_rear,
        roll_deg=math.degrees(roll),
    )


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

    scales: Mapping[Corner, float]
    wheel_rate: Mapping[Corner, float]
    wheelbase: float
    track_front: float
    track_rear: float
    bar_front: float = 0.0
    bar_rear: float = 0.0
    tire_rate: Mapping[Corner, float] | None = None
    cg_height: float = CG_HEIGHT
    roll_center_front: float = ROLL_CENTER_FRONT
    roll_center_rear: float = ROLL_CENTER_REAR
    unsprung_front: float | None = None
    unsprung_rear: float | None = None
    unsprung_height: float = UNSPRUNG_HEIGHT
    stagger: float | None = None
    rear_circumference: float = (86 + 83.5) / 2

    def __attrs_post_init__(self) -> None:
        tables: list[tuple[str, Mapping[Corner, float], str]] = [
            ("scales", self.scales, "lb"),
            ("settings.spring", self.wheel_rate, "lb/in at the wheel"),
        ]
        if self.tire_rate is not None:
            tables.append(("tires.rate", self.tire_rate, "lb/in"))
        for table, values, unit in tables:
            for corner in CORNERS:
                where = f"{table}.{corner}"
                if corner not in values:
                    hint = f"Give all four corners, in {unit}."
                    raise Refusal("bad-value", f"{where} is missing.", where=where, hint=hint)
                checked(values[corner], where, unit, above=0)
        checked(self.bar_front, "settings.bar.front", "lb/in at the wheel", low=0)
        checked(self.bar_rear, "settings.bar.rear", "lb/in at the wheel", low=0)
        for name in ("wheelbase", "track_front", "track_rear", "cg_height"):
            checked(getattr(self, name), f"dimensions.{name}", "in", above=0)
        for name in ("roll_center_front", "roll_center_rear"):
            checked(getattr(self, name), f"dimensions.{name}", "in")
        checked(self.unsprung_height, "unsprung_height", "in", low=0)
        checked(self.rear_circumference, "tires.circumference", "in", above=0)
        if self.stagger is not None:
            checked(self.stagger, "settings.stagger.rear", "in")
        for name, corners, light in zip(
            ("unsprung_front", "unsprung_rear"), (FRONT, REAR), self.unsprung, strict=True
        ):
            checked(light, name, "lb", low=0)
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

    def axle(self, corners: tuple[Corner, Corner]) -> AxleRates:
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


def turn_loads(
    car: TurnCar, turn: Turn, *, gravity_roll: bool = True, ceiling_g: float = CEILING_G
) -> TurnLoads:
    """Return the loads on the four tires in the middle of a steady turn.

    Parameters
    ----------
    car : scale loads, rates and dimensions.
    turn : radius, banking, speed and direction.
    gravity_roll : count the moment of the centre of gravity as it rolls outward.
    ceiling_g : most lateral force any tire is believed to hold [g].

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
    force = turn_force(turn.radius_ft, turn.banking_deg, turn.speed_mph, ceiling_g=ceiling_g)
    outward = 1.0 if turn.direction == "left" else -1.0
    added = force.normal_g - 1
    unsprung_front, unsprung_rear = car.unsprung
    static_front = car.scales["LF"] + car.scales["RF"]
    static_rear = car.scales["LR"] + car.scales["RR"]
    sprung_front, sprung_rear = static_front - unsprung_front, static_rear - unsprung_rear
    sprung = sprung_front + sprung_rear
    hubs = car.unsprung_height
    sprung_height = (car.weight * car.cg_height - (car.weight - sprung) * hubs) / sprung
    axis = (
        sprung_front * car.roll_center_front + sprung_rear * car.roll_center_rear
    ) / sprung  # the roll axis below the sprung centre of gravity
    to_right = (car.scales["RF"] - car.scales["LF"]) * car.track_front / 2
    to_right += (car.scales["RR"] - car.scales["LR"]) * car.track_rear / 2
    front, rear = car.axle(FRONT), car.axle(REAR)
    transfer = load_transfer(
        lateral_g=force.lateral_g,
        normal_g=force.normal_g,
        sprung_front=sprung_front,
        sprung_rear=sprung_rear,
        unsprung_front=unsprung_front,
        unsprung_rear=unsprung_rear,
        unsprung_height_front=hubs,
        unsprung_height_rear=hubs,
        track_front=car.track_front,
        track_rear=car.track_rear,
        roll_center_front=car.roll_center_front,
        roll_center_rear=car.roll_center_rear,
        cg_above_roll_axis=sprung_height - axis,
        roll_stiffness_front=front.roll_stiffness(car.track_front),
        roll_stiffness_rear=rear.roll_stiffness(car.track_rear),
        gravity_roll=gravity_roll,
        added_moment=outward * added * to_right,
        uneven_front=outward * front.uneven_moment(car.track_front, added * sprung_front),
        uneven_rear=outward * rear.uneven_moment(car.track_rear, added * sprung_rear),
    )

    def load(corner: Corner) -> float:
        static, moved = (
            (static_front, transfer.front) if corner in FRONT else (static_rear, transfer.rear)
        )
        gained = moved if corner in turn.outside else -moved
        return car.scales[corner] + added * static / 2 + gained

    raw = per_corner(load)
    lifted = tuple(corner for corner in CORNERS if raw[corner] < 0)
    for corner in lifted:
        raw[across(corner)] += raw[corner]
        raw[corner] = 0.0
    return TurnLoads(raw, lifted, transfer, force)
