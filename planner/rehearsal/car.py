"""The simulated car: driven, read with a probe, changed, and asked what is really so."""

import math
from collections.abc import Iterable, Mapping
from pathlib import Path

import attrs
import numpy as np
import numpy.typing as npt

from planner.car import car_file
from planner.car import changes as changing
from planner.car.car_file import Car
from planner.car.changes import Change, Setting
from planner.chassis import weights
from planner.chassis.loads import TurnCar
from planner.rehearsal import faults as faulty
from planner.rehearsal import good_setup, heat, laps
from planner.rehearsal.pace import Effort
from planner.rehearsal.world import Conditions, body, tires_of
from planner.rulebook.rules import Rulebook
from planner.run.readings import Again, Feel, Phase, Run
from planner.trade import figures as figure
from planner.trade.corners import CORNERS, Corner, Three
from planner.trade.figures import Figures
from planner.trade.refusals import Refusal

Array = npt.NDArray[np.float64]

RUN_MINUTES = 12.0  # laps, reading, writing down; from memory
CHANGE_MINUTES = 8.0  # a change, on the average; from memory
LAP_NOISE = 0.06  # s; from memory
GAUGE_NOISE = 0.2  # psi; from memory
FELT_FROM = 0.03  # balance index that a driver feels; from memory
FEEL_NOISE = 0.012  # of it, from run to run; from memory

# The order a crew reads in on a track that turns left: the hardest-worked front tire first.
READING_ORDER: tuple[Corner, ...] = ("RF", "RR", "LR", "LF")


def invented() -> Path:
    """Return the car file of the invented car that comes with the program."""
    program = Path(__file__).parents[1]
    inside = program / "sample_plans"  # in an installed wheel
    folder = inside if inside.is_dir() else program.parent / "sample_plans"
    return folder / "river-bend-car.toml"


class SimulatedCar:
    """A car, its track and its day. Everything random in it follows from the seed.

    Parameters
    ----------
    seed : of the hidden truth, the faults and the noise.
    faults : displacements of knobs from a good setup; None draws some.
    car : a car file; what is on it is where the search for a good setup begins.
    book : the rules whose bands are to be met.
    laps : of a run; None takes what the rules ask.

    Attributes
    ----------
    good, faults, settings, begun : the good setup, what was moved away from it, what is on the
        car now, and what was on it this morning.
    conditions : of the next run.
    shown : true figures of the last run as its first tire was read; None before the first.
    """

    def __init__(
        self,
        seed: int,
        faults: Mapping[Setting, float] | None = None,
        *,
        car: Car,
        book: Rulebook,
        laps: int | None = None,
    ) -> None:
        self.seed = seed
        self.book = book
        self.car = car
        self.world, self.good = good_setup.day(seed, body(car), car.limits, book, laps or book.laps)
        chance = np.random.default_rng([seed, 2])
        found = faulty.draw(chance, self.good, car.limits, book) if faults is None else faults
        self.faults = dict(found)
        self.settings = faulty.with_faults(self.good, self.faults)
        self.begun = dict(self.settings)
        self.conditions = self.world.fresh()
        self.runs = 0
        self.shown: Figures | None = None
        self._noise = np.random.default_rng([seed, 3])

    def file(self) -> Car:
        """Return the car file as the crew would write it this morning: what is on the car now."""
        settings: dict[str, dict[str, float]] = {}
        for (knob, place), value in self.begun.items():
            if knob in ("cross", "ballast"):
                continue
            settings.setdefault(knob, {})[place] = value
        before = car_file.cross_percent(self.car.scales)
        scales = _scales(self.world.body.base, self.begun, before)
        return attrs.evolve(self.car, settings=settings, scales=scales)

    def stand_at(self, moved: Mapping[Setting, float]) -> None:
        """Bring the car to where it began plus these displacements."""
        now = self._moved()
        wanted = {p: moved.get(p, 0.0) - now.get(p, 0.0) for p in {**now, **moved}}
        turned = [Change(*place, amount) for place, amount in wanted.items() if abs(amount) > 1e-9]
        if turned:
            self.apply(turned)

    def _moved(self) -> dict[Setting, float]:
        return {
            place: value - self.begun[place]
            for place, value in self.settings.items()
            if value != self.begun[place]
        }

    def apply(self, made: Iterable[Change]) -> None:
        """Make changes on the car.

        Raises
        ------
        Refusal
            The simulated car has no such knob.
        """
        for change in made:
            if change.setting not in self.settings:
                raise Refusal(
                    "bad-value",
                    f"The simulated car has no {change.knob} at {change.corner}.",
                    where="--own",
                    hint=f"it has {', '.join(f'{knob}:{place}' for knob, place in self.settings)}",
                )
            value = self.settings[change.setting] + change.amount
            self.settings[change.setting] = changing.tidy(value)
        self.conditions = attrs.evolve(
            self.conditions, minutes=self.conditions.minutes + CHANGE_MINUTES
        )

    def drive(self, number: int | None = None) -> Run:
        """Drive laps and return the run as a crew would write it down."""
        at, hidden = self.conditions, self.world.truth
        efforts = self.world.efforts([self.settings])
        driven = self.world.driven([self.settings], at, number, efforts)
        air, track = hidden.weather(at.minutes)
        common = self._noise.normal(0.0, self.book.noise.run)
        nodes = driven.temperatures
        tires: dict[Corner, Three] = {}
        waits = [hidden.delay] + [hidden.per_tire] * len(READING_ORDER)
        for corner, wait in zip((*READING_ORDER, READING_ORDER[0]), waits, strict=True):
            nodes = laps.stand(nodes, hidden, air, driven.tread, wait)
            if not tires:
                self.shown = figure.compute(tires_of(nodes[0]))
            read = self._read(nodes[0, CORNERS.index(corner)], common)
            if corner in tires:
                again = Again(corner, read)
            tires.setdefault(corner, read)
        feel, phase = self._felt(efforts[0])
        hot = {
            corner: round(float(driven.hot[0, i] + self._noise.normal(0.0, GAUGE_NOISE)) * 4) / 4
            for i, corner in enumerate(CORNERS)
        }
        times = driven.lap_times[0] + self._noise.normal(0.0, LAP_NOISE, driven.lap_times.shape[1])
        self.conditions = Conditions(at.minutes + RUN_MINUTES, driven.tread[0])
        self.runs += 1
        return Run(
            tires={corner: tires[corner] for corner in CORNERS},
            laps=number,
            lap_times=tuple(round(float(each), 2) for each in times),
            cold={corner: self.settings["pressure", corner] for corner in CORNERS},
            hot=hot,
            track_temp=float(round(track)),
            air_temp=float(round(air)),
            delay=float(round(hidden.delay / 5) * 5),
            order=READING_ORDER,
            again=again,
            feel=feel,
            where=phase,
        )

    def _read(self, nodes: Array, common: float) -> Three:
        """Read three strips with a probe that shows whole degrees."""
        noise = self._noise.normal(0.0, self.book.noise.reading, 3)
        inner, middle, outer = (float(round(x)) for x in nodes[heat.STRIPS] + noise + common)
        return inner, middle, outer

    def _felt(self, effort: Effort) -> tuple[Feel, Phase | None]:
        """Return the driver's word: front against rear use of grip, as far as it can be felt."""
        front, rear = effort.usage
        index = front - rear + self._noise.normal(0.0, FEEL_NOISE)
        if abs(index) < FELT_FROM:
            return "neutral", None
        return ("tight", "middle") if index > 0 else ("loose", "middle")

    def true_figures(self) -> Figures:
        """Return the figures that a run driven now would show at the first reading, noise-free."""
        return self.world.figures([self.settings], self.conditions)[0]


def _scales(base: TurnCar, begun: Mapping[Setting, float], before: float) -> dict[Corner, float]:
    """Return the scale loads with the cross weight that is on the car [lb]."""
    cross = begun["cross", "car"]
    if math.isclose(cross, before):
        return dict(base.scales)
    ratio = base.track_front / base.track_rear
    loads = weights.loads_for_cross(base.scales, cross, track_ratio=ratio)
    return {corner: changing.tidy(load) for corner, load in loads.items()}
