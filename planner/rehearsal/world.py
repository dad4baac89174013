"""The physics of one car on one day, without its state: what any setup truly shows."""

from collections.abc import Mapping, Sequence

import attrs
import numpy as np
import numpy.typing as npt

from planner.car import car_file
from planner.car.car_file import Car
from planner.car.changes import Setting
from planner.chassis.loads import TurnCar
from planner.rehearsal import laps, pace
from planner.rehearsal.pace import Course, Effort
from planner.rehearsal.truth import Truth
from planner.rulebook.rules import Rulebook
from planner.trade import figures as figure
from planner.trade.corners import CORNERS, Corner, Three, per_corner
from planner.trade.figures import Figures
from planner.trade.refusals import Refusal

Array = npt.NDArray[np.float64]


@attrs.frozen
class Body:
    """What is bolted together and not a secret: loads, springs, sizes, track.

    Attributes
    ----------
    base : the car in the turn on its starting settings.
    start : those settings.
    ratio : motion ratio per corner.
    course : the track.
    guess : corner speed of the car file [mph].
    """

    base: TurnCar
    start: Mapping[Setting, float]
    ratio: Mapping[Corner, float]
    course: Course
    guess: float


def body(car: Car) -> Body:
    """Return the body that a car file describes.

    Raises
    ------
    Refusal
        Something the physics need is missing, or the track does not turn left.
    """
    start = car_file.starting_settings(car)
    size, track = car.dimensions, car.track
    wanted: list[Setting] = [(k, c) for k in ("camber", "pressure", "spring") for c in CORNERS]
    wanted += [("toe", "front"), ("stagger", "rear")]
    missing = [f"settings.{knob}.{place}" for knob, place in wanted if (knob, place) not in start]
    sizes = {
        "dimensions.wheelbase": size.wheelbase,
        "dimensions.track_front": size.track_front,
        "dimensions.track_rear": size.track_rear,
        "track.length": track.length,
        "track.radius": track.radius,
        "track.corner_speed": track.corner_speed,
    }
    missing += [key for key, value in sizes.items() if value is None]
    missing += [] if car.scales else ["scales"]
    if missing:
        raise Refusal(
            "too-little",
            "The car file says too little to drive it: " + ", ".join(missing) + " missing.",
            where="--car",
            hint="give them, or omit --car for the invented car that comes with the program",
        )
    if car.car.turns not in (None, "left"):
        raise Refusal(
            "bad-value",
            f"The rehearsal track turns left; this car turns {car.car.turns}.",
            where="car.turns",
            hint="a car file for a left-turn track",
        )
    ratio = {corner: car.motion_ratio.get(corner, 1.0) for corner in CORNERS}
    start = start | {("ballast", p): 0.0 for p in ("rear", "left")}
    for place in ("front", "rear"):
        start.setdefault(("bar", place), 0.0)
    rates = car.tires.rate
    rear = car.tires.circumference
    extra = {
        name: getattr(size, name)
        for name in ("cg_height", "roll_center_front", "roll_center_rear")
        if getattr(size, name) is not None
    }
    if "LR" in rear and "RR" in rear:
        extra["rear_circumference"] = (rear["LR"] + rear["RR"]) / 2
    base = TurnCar(
        scales=dict(car.scales),
        wheel_rate=per_corner(lambda c: start["spring", c] * ratio[c] ** 2),
        wheelbase=size.wheelbase or 0.0,
        track_front=size.track_front or 0.0,
        track_rear=size.track_rear or 0.0,
        bar_front=start["bar", "front"],
        bar_rear=start["bar", "rear"],
        tire_rate=dict(rates) if len(rates) == len(CORNERS) else None,
        stagger=start["stagger", "rear"],
        **extra,
    )
    course = Course(track.length or 0.0, track.radius or 0.0, track.banking or 0.0)
    return Body(base, start, ratio, course, track.corner_speed or 0.0)


@attrs.frozen
class Conditions:
    """When and on what a run is driven: minutes since the start, tread on every strip [1/32 in]."""

    minutes: float
    tread: Array


@attrs.frozen(eq=False)
class World:
    """The physics of one car on one day, without its state; the same for whoever asks.

    Attributes
    ----------
    body : what is bolted together.
    truth : what is hidden.
    per_run : laps a run has.
    """

    body: Body
    truth: Truth
    per_run: int

    def fresh(self) -> Conditions:
        """Return the conditions of the first run: new tires in the morning."""
        return Conditions(0.0, np.full((4, 3), self.truth.tread_depth))

    def efforts(self, setups: Sequence[Mapping[Setting, float]]) -> list[Effort]:
        """Return how hard the tires work with each setup."""
        where = self.body
        made = []
        for setup in setups:
            car = pace.car_with(where.base, where.start, setup, where.ratio, self.truth)
            made.append(pace.effort(car, where.course, self.truth, where.guess))
        return made

    def driven(
        self,
        setups: Sequence[Mapping[Setting, float]],
        at: Conditions,
        number: int | None = None,
        efforts: Sequence[Effort] | None = None,
    ) -> laps.Driven:
        """Drive some setups beside one another."""
        settings = laps.Settings(
            camber=np.array([[s["camber", c] for c in CORNERS] for s in setups]),
            cold=np.array([[s["pressure", c] for c in CORNERS] for s in setups]),
            toe=np.array([s["toe", "front"] for s in setups]),
        )
        return laps.drive(
            efforts or self.efforts(setups),
            settings,
            self.truth,
            self.body.course,
            self.truth.weather(at.minutes),
            at.tread,
            self.per_run if number is None else number,
        )

    def figures(
        self, setups: Sequence[Mapping[Setting, float]], at: Conditions
    ) -> tuple[Figures, ...]:
        """Return the true figures of each setup as the first tire is read, free of noise."""
        driven = self.driven(setups, at)
        air, _ = self.truth.weather(at.minutes)
        stood = laps.stand(driven.temperatures, self.truth, air, driven.tread, self.truth.delay)
        return tuple(figure.compute(tires_of(each)) for each in stood)


def tires_of(nodes: Array) -> dict[Corner, Three]:
    """Return inner, middle, outer of the four tires from an array of nodes (4, 5)."""
    return {
        corner: (float(nodes[i, 0]), float(nodes[i, 1]), float(nodes[i, 2]))
        for i, corner in enumerate(CORNERS)
    }


def excesses(figures: Figures, book: Rulebook) -> dict[str, float]:
    """Return by how much the figures are out of their bands, by pattern and corner [degF].

    As the rules have it: a pattern that looks at several figures shows when all are beyond.
    """
    averages, gap = figures.averages(), figures["front_split_gap"]
    out: dict[str, float] = {}
    for band in book.stage_bands:
        if band.is_looked_at(averages) and band.is_alike(gap):
            beyond = min(band.beyond(figures[name]) for name in band.figures)
            if beyond > 0:
                out[band.key] = beyond
    return out
