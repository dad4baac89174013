"""The simulated car: driven, read with a probe, changed, and asked what is really so."""

import math
from collections.abc import Iterable, Mapping
from pathlib import Path

import attrs
import numpy as np
import numpy.typing as npt

from planner.car import limits
from planner.car.car_file import Car
from planner.car.changes import Change, Setting, tidy
from planner.files import bundled
from planner.rehearsal import faults as faulty
from planner.rehearsal import good_setup, laps
from planner.rehearsal.body import PANHARD, body
from planner.rehearsal.heat import STRIPS
from planner.rehearsal.laps import Driven
from planner.rehearsal.out_of_band import excesses
from planner.rehearsal.world import true_figures
from planner.rulebook.rules import Rulebook
from planner.run.readings import WHOLE, Again, Feel, Part, Run
from planner.trade.corners import CORNERS, Corner, Three
from planner.trade.figures import Figures
from planner.trade.refusals import Refusal

Array = npt.NDArray[np.float64]

DRAWS = 10  # of faults, before a day begins with nothing out of band
LAP_NOISE = 0.06  # s; from memory
GAUGE_NOISE = 0.2  # psi; from memory
FELT_FROM = 0.6  # deg of slip between the ends, away from neutral, that a driver feels; from memory
FEEL_NOISE = 0.2  # of it, from run to run; from memory

# The orders crews read in on a track that turns left: the hardest-worked front tire first, then
# round the car one way or the other.
READING_ORDERS: tuple[tuple[Corner, ...], ...] = (
    ("RF", "RR", "LR", "LF"),
    ("RF", "LF", "LR", "RR"),
)


def invented() -> Path:
    """Return the car file of the invented car that comes with the program."""
    return bundled.folder("sample_plans") / "river-bend-car.toml"


class SimulatedCar:
    """A car, its track and its day. Everything random in it follows from the seed.

    Parameters
    ----------
    seed : of the hidden truth, the faults and the noise.
    faults : displacements of knobs from a good setup; None draws some.
    car : a car file; what is on it is where the search for a good setup begins.
    book : the rules whose bands are to be met; a run has the laps they ask for.

    Attributes
    ----------
    good, faults, settings, begun : the good setup, what was moved away from it, what is on the
        car now, and what was on it this morning.
    order : in which the crew reads the tires.
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
    ) -> None:
        self.seed = seed
        self.book = book
        self.car = car
        self.limits = limits.of(car, book.cold_ends(car.car.turns or "left"))
        self.world, self.good = good_setup.day(seed, body(car), self.limits, book)
        chance = np.random.default_rng([seed, 2])
        self.order = READING_ORDERS[int(chance.integers(len(READING_ORDERS)))]
        self.faults = dict(self._drawn(chance) if faults is None else faults)
        self.settings = faulty.with_faults(self.good, self.faults)
        self.begun = dict(self.settings)
        self.conditions = self.world.fresh()
        self.runs = 0
        self.shown: Figures | None = None
        self._noise = np.random.default_rng([seed, 3])

    def _drawn(self, chance: np.random.Generator) -> dict[Setting, float]:
        """Draw faults, until something is truly out of band in the morning."""
        for _ in range(DRAWS):
            found = faulty.draw(chance, self.good, self.limits, self.book)
            on_car = faulty.with_faults(self.good, found)
            if excesses(self.world.figures([on_car], self.world.fresh())[0], self.book):
                break
        return found

    def file(self) -> Car:
        """Return the car file as the crew would write it this morning: what is on the car now."""
        settings: dict[str, dict[str, float]] = {}
        for (knob, place), value in self.begun.items():
            if (knob, place) == PANHARD and place not in self.car.settings.get(knob, {}):
                continue  # given as the height of the roll centre below
            if knob not in ("cross", "ballast"):  # which are on the scales
                settings.setdefault(knob, {})[place] = value
        loads, stagger = self.world.measured(self.begun)
        settings["stagger"]["rear"] = round(stagger, 3)
        scales = {corner: round(load, 1) for corner, load in loads.items()}
        size = self.car.dimensions
        if size.roll_center_rear is not None:
            size = attrs.evolve(size, roll_center_rear=self.begun[PANHARD])
        who = attrs.evolve(self.car.car, id=f"rehearsal {self.seed}")  # no day of the real car
        return attrs.evolve(self.car, car=who, settings=settings, scales=scales, dimensions=size)

    def stand_at(self, moved: Mapping[Setting, float]) -> None:
        """Bring the car to where it began plus these displacements."""
        now = {setting: value - self.begun[setting] for setting, value in self.settings.items()}
        wanted = {s: moved.get(s, 0.0) - now.get(s, 0.0) for s in {**now, **moved}}
        turned = [Change(*s, amount) for s, amount in wanted.items() if abs(amount) > 1e-9]
        if turned:
            self.apply(turned)

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
            self.settings[change.setting] = tidy(self.settings[change.setting] + change.amount)
        self.conditions = self.world.after_change(self.conditions)

    def drive(self) -> Run:
        """Drive laps and return the run as a crew would write it down."""
        air, track = self.world.truth.weather.at(self.conditions.minutes)
        driven = self.world.driven([self.settings], self.conditions)
        self.conditions = self.world.after_run(driven, self.conditions)
        self.runs += 1
        # In this order: what a seed reads depends on which noise is drawn first.
        tires, again = self._probed(driven, air)
        part, feel = self._felt(*driven.slips[0])
        hot = driven.hot[0] + [self._noise.normal(0.0, GAUGE_NOISE) for _ in CORNERS]
        times = driven.lap_times[0] + self._noise.normal(0.0, LAP_NOISE, driven.lap_times.shape[1])
        return Run(
            tires=tires,
            lap_times=tuple(round(float(each), 2) for each in times),
            cold={corner: self.settings["pressure", corner] for corner in CORNERS},
            hot={c: round(float(psi) * 4) / 4 for c, psi in zip(CORNERS, hot, strict=True)},
            track_temp=float(round(track)),
            air_temp=float(round(air)),
            delay=float(round(self.world.truth.delay / 5) * 5),
            order=self.order,
            again=again,
            felt={part: feel},
        )

    def _probed(self, driven: Driven, air: float) -> tuple[dict[Corner, Three], Again]:
        """Read the tires in order as they cool in the pits, and the first one once more."""
        truth, tires = self.world.truth, driven.tires
        common = self._noise.normal(0.0, self.book.noise.run)
        read: list[Three] = []
        first = self.order[0]
        for corner in (*self.order, first):
            tires = laps.stand(tires, truth, air, truth.per_tire if read else truth.delay)
            if not read:
                self.shown = true_figures(tires.temperatures[0])
            read.append(self._three(tires.temperatures[0, CORNERS.index(corner), STRIPS], common))
        *each, once_more = read
        found = dict(zip(self.order, each, strict=True))
        return {corner: found[corner] for corner in CORNERS}, Again(first, once_more)

    def _three(self, strips: Array, common: float) -> Three:
        """Read three strips with a probe that shows whole degrees."""
        noise = self._noise.normal(0.0, self.book.noise.reading, 3)
        inner, middle, outer = (float(round(x)) for x in strips + noise + common)
        return inner, middle, outer

    def _felt(self, front: float, rear: float) -> tuple[Part, Feel]:
        """Return where the driver feels what: slip angle of front against rear, as far as felt."""
        apart = math.degrees(math.atan(front) - math.atan(rear))
        index = apart + self._noise.normal(0.0, FEEL_NOISE)
        if abs(index) < FELT_FROM:
            return WHOLE, "neutral"
        return "middle", "tight" if index > 0 else "loose"

    def true_figures(self) -> Figures:
        """Return the figures that a run driven now would show at the first reading, noise-free."""
        return self.world.figures([self.settings], self.conditions)[0]
