"""The body of a simulated car: what is bolted together and no secret, as the car file has it."""

import math
from collections.abc import Mapping

import attrs

from planner.car import car_file
from planner.car.car_file import Car
from planner.car.changes import Setting, tidy
from planner.car.in_turn import car_in_turn, turned
from planner.chassis import weights
from planner.chassis.loads import TurnCar
from planner.rehearsal.truth import Truth
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal

# What the physics need of a car file, beside its scales.
SETTINGS: tuple[Setting, ...] = (
    *((knob, corner) for knob in ("camber", "pressure", "spring") for corner in CORNERS),
    ("toe", "front"),
    ("stagger", "rear"),
)
DIMENSIONS = ("wheelbase", "track_front", "track_rear")
TRACK = ("length", "radius", "corner_speed")


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


@attrs.frozen
class Body:
    """What is bolted together: loads, springs, sizes; and the track it runs on.

    Attributes
    ----------
    file : the car file.
    start : its settings; ballast and unknown bars are 0.
    base : the car in the turn with those settings.
    course : the track.
    guess : corner speed of the car file [mph].
    """

    file: Car
    start: Mapping[Setting, float]
    base: TurnCar
    course: Course
    guess: float

    def in_turn(self, setup: Mapping[Setting, float], truth: Truth) -> TurnCar:
        """Return the car in the turn with a setup on it.

        Parameters
        ----------
        truth : says how far ballast is moved.
        """
        base = self.base
        travel: dict[Setting, float] = {
            ("ballast", "rear"): truth.ballast_rear * base.wheelbase,
            ("ballast", "left"): truth.ballast_left * (base.track_front + base.track_rear) / 2,
        }
        ratio: dict[Setting, float] = {
            ("spring", c): self.file.motion_ratio.get(c, 1.0) for c in CORNERS
        }
        car = base
        for setting, value in setup.items():
            moved = value - self.start.get(setting, 0.0)
            if moved:
                by, far = ratio.get(setting, 1.0), travel.get(setting, 0.0)
                car = turned(car, setting, moved, ratio=by, travel=far)
        return car

    def scales_with(self, cross: float) -> dict[Corner, float]:
        """Return the scale loads [lb] with a cross weight on the car [%]."""
        scales = self.file.scales
        if math.isclose(cross, car_file.cross_percent(scales)):
            return dict(scales)
        ratio = self.base.track_front / self.base.track_rear
        loads = weights.loads_for_cross(scales, cross, track_ratio=ratio)
        return {corner: tidy(load) for corner, load in loads.items()}


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
    track = car.track
    course = Course(track.length or 0.0, track.radius or 0.0, track.banking or 0.0)
    base = car_in_turn(car, start, car.scales)
    return Body(car, start, base, course, track.corner_speed or 0.0)


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
