"""The body of a simulated car: what is bolted together and no secret, as the car file has it."""

import math
from collections.abc import Mapping

import attrs
import numpy as np
import numpy.typing as npt

from planner.car import car_file
from planner.car.car_file import Car
from planner.car.changes import Setting
from planner.rehearsal.setups import SIDE
from planner.trade.corners import CORNERS
from planner.trade.refusals import Refusal

Array = npt.NDArray[np.float64]

# What the physics need of a car file, beside its scales.
SETTINGS: tuple[Setting, ...] = (
    *((knob, corner) for knob in ("camber", "pressure", "spring") for corner in CORNERS),
    ("toe", "front"),
    ("stagger", "rear"),
)
PANHARD: Setting = ("panhard", "rear")
DIMENSIONS = ("wheelbase", "track_front", "track_rear")
TRACK = ("length", "radius", "corner_speed")

# Where the file is silent; from memory.
CG_HEIGHT, ROLL_CENTER_FRONT, ROLL_CENTER_REAR = 16.0, 3.0, 9.0  # in
CIRCUMFERENCE = 84.0  # in
TIRE_RATE = 1400.0  # lb/in


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

    @property
    def straights_ft(self) -> float:
        """Length of both straights together [ft]."""
        return self.length * 5280 - self.turns_ft


@attrs.frozen(eq=False)
class Body:
    """What is bolted together: loads, springs, sizes; and the track it runs on.

    Attributes
    ----------
    file : the car file.
    start : its settings; ballast and unknown bars are 0, the Panhard bar is as high as the rear
        roll centre.
    course : the track.
    scales : [lb]; here and below LF RF LR RR.
    wheelbase : [in].
    track : front and rear [in].
    roll_center_front : height [in].
    cg_height : of the whole car [in].
    ratio : spring travel over that of the wheel, or of the axle where the spring stands [1].
    spring_base : distance of the rear springs over the rear track, left and right [1]. Where the
        file has no distance, a motion ratio of the solid axle is taken for it.
    tire_rate : vertical, at the pressures `cold` [lb/in].
    cold : pressures of the file [psi].
    round_rear : mean circumference of the rear tires [in].
    """

    file: Car
    start: Mapping[Setting, float]
    course: Course
    scales: Array
    wheelbase: float
    track: tuple[float, float]
    roll_center_front: float
    cg_height: float
    ratio: Array
    spring_base: Array
    tire_rate: Array
    cold: Array
    round_rear: float

    @property
    def weight(self) -> float:
        """Total weight [lb]."""
        return float(self.scales.sum())

    @property
    def rear_weight(self) -> float:
        """Weight on the rear axle [lb]."""
        return float(self.scales[2:].sum())

    @property
    def to_right(self) -> float:
        """Moment of the scale loads about the centreline, right heavy [lb in]."""
        return float(self.scales @ self.places[0])

    @property
    def places(self) -> tuple[Array, Array]:
        """Where the wheels are: right of the centreline, ahead of the front axle [in]."""
        half = np.array([self.track[0], self.track[0], self.track[1], self.track[1]]) / 2
        return SIDE * half, np.array([0.0, 0.0, -self.wheelbase, -self.wheelbase])

    @property
    def wheel_travel(self) -> Array:
        """How far each wheel rises towards the body, from the seven displacements, (4, 7)."""
        return self._towards_body(self.places[0], np.eye(4))

    @property
    def spring_travel(self) -> Array:
        """How far springs and bars are worked, from the seven displacements, (6, 7).

        Front springs: wheel travel times motion ratio. Rear springs stand on the axle at a share
        of the track. A bar is worked by the difference of its wheels.
        """
        wheels, (across, _) = self.wheel_travel, self.places
        front = self.ratio[:2, None] * wheels[:2]
        left, right = (1 + self.spring_base) / 2
        axle = np.eye(4)
        axle[2, 2:], axle[3, 2:] = (left, 1 - left), (1 - right, right)
        places = across * np.array([1.0, 1.0, *self.spring_base])
        rear = self.ratio[2:, None] * self._towards_body(places, axle)[2:]
        bars = np.stack([wheels[1] - wheels[0], wheels[3] - wheels[2]])
        return np.concatenate([front, rear, bars])

    def _towards_body(self, across: Array, hubs: Array) -> Array:
        """Return how far points on the hubs rise towards the body above them, (4, 7)."""
        along = self.places[1]
        return np.concatenate([-np.ones((4, 1)), across[:, None], along[:, None], hubs], axis=1)

    def behind_front(self, loads: Array) -> Array:
        """Return how far the centre of some loads lies behind the front axle [share of base]."""
        share: Array = loads[:, 2:].sum(axis=1) / loads.sum(axis=1)
        return share


def body(car: Car) -> Body:
    """Return the body that a car file describes.

    Raises
    ------
    Refusal
        Something the physics need is missing, or the track does not turn left.
    """
    start = car_file.starting_settings(car)
    _refuse_unless_enough(car, start)
    if car.car.turns not in (None, "left"):
        raise Refusal(
            "bad-value",
            f"The rehearsal track turns left; this car turns {car.car.turns}.",
            where="car.turns",
            hint="give a car file for a track that turns left",
        )
    start |= {("ballast", place): 0.0 for place in ("rear", "left")}
    for place in ("front", "rear"):
        start.setdefault(("bar", place), 0.0)
    track, size, tires = car.track, car.dimensions, car.tires
    start.setdefault(PANHARD, _or(size.roll_center_rear, ROLL_CENTER_REAR))
    around = tires.circumference
    ratio = np.array([car.motion_ratio.get(corner, 1.0) for corner in CORNERS])
    base = ratio[2:].copy()
    if size.spring_base_rear is None:
        ratio[2:] = 1.0
    else:
        base[:] = size.spring_base_rear / (size.track_rear or 1.0)
    return Body(
        file=car,
        start=start,
        course=Course(track.length or 0.0, track.radius or 0.0, track.banking or 0.0),
        scales=np.array([car.scales[corner] for corner in CORNERS]),
        wheelbase=size.wheelbase or 0.0,
        track=(size.track_front or 0.0, size.track_rear or 0.0),
        roll_center_front=_or(size.roll_center_front, ROLL_CENTER_FRONT),
        cg_height=_or(size.cg_height, CG_HEIGHT),
        ratio=ratio,
        spring_base=base,
        tire_rate=np.array([tires.rate.get(corner, TIRE_RATE) for corner in CORNERS]),
        cold=np.array([start["pressure", corner] for corner in CORNERS]),
        round_rear=(around.get("LR", CIRCUMFERENCE) + around.get("RR", CIRCUMFERENCE)) / 2,
    )


def _or(known: float | None, usual: float) -> float:
    return usual if known is None else known


def _refuse_unless_enough(car: Car, start: Mapping[Setting, float]) -> None:
    missing = [f"settings.{knob}.{place}" for knob, place in SETTINGS if (knob, place) not in start]
    for table, values, names in (
        ("dimensions", car.dimensions, DIMENSIONS),
        ("track", car.track, TRACK),
    ):
        missing += [f"{table}.{name}" for name in names if getattr(values, name) is None]
    missing += [] if car.scales else ["scales"]
    if missing:
        raise Refusal(
            "too-little",
            f"The car file does not say enough to drive the car; it lacks {', '.join(missing)}.",
            where="--car",
            hint="add them, or omit --car to drive the invented car that comes with the program",
        )
