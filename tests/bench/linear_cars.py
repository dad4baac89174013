"""A second family of cars for the scoreboard: no physics of tires, only sums, products and squares.

What the planner learns on the rehearsal's cars must hold on cars that are made another way. Here
the twelve base figures are those of a good setup plus what every knob adds that is off from there:

    figures = good + sum over knobs of [g_k d_k (1 + κ_k d_k / D_k)]
              + sum over tires of [i_t x camber off x pressure off]

g are twelve effects a knob, κ a curvature of its own, D the size of its usual largest fault, i what
camber and air of one tire do together. All are drawn for each car, evenly between the ends below.

Ranges, with their grounds; what has none is from memory. They come neither from the rules file nor
from `planner.rehearsal`:

- Camber, own split: 5 to 17 °F a degree, less for more. A crew that aims for edges within 10 °F
  turns half a degree to two for what it reads; so a degree is a third of a bad split or all of it.
- Air, own crown: 1 to 4 °F a pound. A meter's manual steps by 2 psi from one reading to the next
  (Raytek AutoPro manual, tire section), for crowns of a few degrees.
- Toe, both front splits: 20 to 100 °F an inch, less for toe-in: a degree to six for a sixteenth.
- Load, own average: 0.06 to 0.26 °F a pound. A tire 110 °F above the air under 700 lb has 0.16
  if heat goes with load alone; half as much and half as much again are allowed.
- Pounds moved: 1 % of cross is a two-hundredth of the car on each tire, and lead goes by a third
  to two thirds of the base it is moved over: statics. For 100 lb/in a front spring or bar shifts
  3 to 15 lb of the outer tires' load from rear to front and a rear spring 8 to 30 lb back; an
  inside spring may do nothing or the opposite; an inch of Panhard bar shifts 8 to 25 lb.
- Stagger, an inch: fronts 2 to 10 °F cooler, rears up to 6 °F warmer: the car turns by itself.
- Beside all that, what no rule of thumb has: a degree of camber does up to 1 °F to the crown and 3
  to the average of its tire, a pound of air up to 1 °F to the split and -2.5 to +0.5 to the
  average, 100 lb of load up to 5 °F to the split and -5 to 0 to the crown.
- Each tire answers 15 % more or less than its car. Curvature: up to 25 % at D, either way.
- Reading: noise of a strip 2 to 4 °F, by Student's t of five degrees (now and then a bad one); up
  to 1.5 °F common to a tire, 1 to 4 °F to a run. The day climbs by up to 15 °F, all tires alike.
- A good setup lies within 0.4 half widths of the middle of its bands, drawn.
"""

import math
from collections.abc import Iterable, Mapping, Sequence

import attrs
import numpy as np
import numpy.typing as npt

from planner.car import limits
from planner.car.car_file import Car, starting_settings
from planner.car.changes import Change, Setting, tidy
from planner.rehearsal import faults as faulty
from planner.rehearsal.car import DRAWS
from planner.rehearsal.out_of_band import excesses, middles, off_middle
from planner.rulebook.rules import Rulebook
from planner.run.readings import WHOLE, Run
from planner.trade.corners import CORNERS, Corner, Three
from planner.trade.figures import BASE_FIGURES, Figures, terms

Array = npt.NDArray[np.float64]
Chance = np.random.Generator

AT = {name: number for number, name in enumerate(BASE_FIGURES)}
LEVEL = np.repeat([1.0, 0.0, 0.0], 4)  # the averages among them
# LF RF LR RR: what a pound more on the front outside tire goes with, and the other patterns of load
DIAGONAL, REARWARD, LEFTWARD = (
    np.array(each) for each in ((-1, 1, 1, -1), (-1, -1, 1, 1), (1, -1, 1, -1))
)
RUN_MINUTES, CHANGE_MINUTES, CLIMB = 12.0, 8.0, 150.0
FELT_FROM, FEEL_NOISE = 9.0, 4.0  # degF of balance off its middle that a driver feels
ROUGH = 200  # draws of a setup before the rules are said to ask too much


@attrs.frozen
class Hour:
    """When a run is driven [min since the morning]."""

    minutes: float = 0.0


@attrs.frozen(eq=False)
class LinearWorld:
    """What any setup truly shows on one car, on one day.

    Attributes
    ----------
    good, figures_of_good : a good setup, and its base figures (12,) [degF].
    effects : of a unit of each knob, (12,) [degF per unit].
    bend : its curvature, at `spans` [1].
    spans : largest usual fault of each knob [unit of the knob].
    together : what a degree of camber and a pound of air do together, (12,) [degF], by tire.
    climbs : how far all tires climb in the course of the day [degF].
    """

    good: Mapping[Setting, float]
    figures_of_good: Array
    effects: Mapping[Setting, Array]
    bend: Mapping[Setting, float]
    spans: Mapping[Setting, float]
    together: Mapping[Corner, Array]
    climbs: float

    def fresh(self) -> Hour:
        """Return the morning."""
        return Hour()

    def driven(self, setups: Sequence[Mapping[Setting, float]], at: Hour) -> tuple[Figures, ...]:
        """Return the true figures of each setup."""
        return tuple(self._shown(setup, at) for setup in setups)

    figures = driven

    def as_read(self, driven: tuple[Figures, ...], at: Hour) -> tuple[Figures, ...]:  # noqa: ARG002
        """Return the true figures as the tires are read: at once, by as many people as tires."""
        return driven

    def after_run(self, driven: tuple[Figures, ...], at: Hour) -> Hour:  # noqa: ARG002
        """Return the time after a run."""
        return Hour(at.minutes + RUN_MINUTES)

    def after_change(self, at: Hour) -> Hour:
        """Return the time after a change."""
        return Hour(at.minutes + CHANGE_MINUTES)

    def climbed(self, at: Hour) -> float:
        """Return how far all tires have climbed since the morning [degF]."""
        return self.climbs * (1 - math.exp(-at.minutes / CLIMB))

    def _shown(self, setup: Mapping[Setting, float], at: Hour) -> Figures:
        total = self.figures_of_good + self.climbed(at) * LEVEL
        off = {setting: value - self.good[setting] for setting, value in setup.items()}
        for setting, by in off.items():
            if by and setting in self.effects:
                bent = 1 + self.bend[setting] * by / self.spans[setting]
                total = total + self.effects[setting] * by * bent
        for corner, both in self.together.items():
            total = total + both * off["camber", corner] * off["pressure", corner]
        return Figures(dict(zip(BASE_FIGURES, map(float, total), strict=True)))


class LinearCar:
    """A car of this family: driven, read and changed as `planner.rehearsal.car.SimulatedCar` is."""

    def __init__(self, seed: int, *, car: Car, book: Rulebook) -> None:
        self.seed, self.book, self.car = seed, book, car
        self.limits = limits.of(car, book.cold_ends("left"))
        chance = np.random.default_rng([seed, 20])
        self.good = {("ballast", "rear"): 0.0, ("ballast", "left"): 0.0, ("panhard", "rear"): 9.0}
        self.good |= {s: tidy(value) for s, value in starting_settings(car).items()}
        self.world = drawn(chance, self.good, sum(car.scales.values()), book)
        self._reading, self._run = chance.uniform(2.0, 4.0), chance.uniform(1.0, 4.0)
        self._reading *= book.noise.reading / 3.0  # with a better probe, as much better
        self._tire, self._share = chance.uniform(0.0, 1.5), chance.uniform(1 / 3, 2 / 3, 2)
        for _ in range(DRAWS):
            self.faults = faulty.draw(chance, self.good, self.limits, book)
            self.begun = faulty.with_faults(self.good, self.faults)
            if excesses(self.world.figures([self.begun], Hour())[0], book):
                break
        self.settings = dict(self.begun)
        self.conditions, self.runs = Hour(), 0
        self.shown: Figures | None = None
        self._noise = np.random.default_rng([seed, 21])

    def file(self) -> Car:
        """Return the car file as the crew would write it: what is on the car and on the scales."""
        settings: dict[str, dict[str, float]] = {}
        for (knob, place), value in self.begun.items():
            if knob not in ("cross", "ballast", "panhard"):
                settings.setdefault(knob, {})[place] = value
        off = {setting: self.begun[setting] - self.good[setting] for setting in self.begun}
        weight = sum(self.car.scales.values())
        moved = DIAGONAL * off["cross", "car"] * weight / 200
        moved = moved + REARWARD * off["ballast", "rear"] * self._share[0] / 2
        moved = moved + LEFTWARD * off["ballast", "left"] * self._share[1] / 2
        scales = {c: self.car.scales[c] + float(moved[i]) for i, c in enumerate(CORNERS)}
        size = attrs.evolve(self.car.dimensions, roll_center_rear=self.begun["panhard", "rear"])
        return attrs.evolve(self.car, settings=settings, scales=scales, dimensions=size)

    def stand_at(self, moved: Mapping[Setting, float]) -> None:
        """Bring the car to where it began plus these displacements."""
        wanted = {s: tidy(value + moved.get(s, 0.0)) for s, value in self.begun.items()}
        if wanted != self.settings:
            self.settings, self.conditions = wanted, self.world.after_change(self.conditions)

    def apply(self, made: Iterable[Change]) -> None:
        """Make changes on the car."""
        for change in made:
            self.settings[change.setting] = tidy(self.settings[change.setting] + change.amount)
        self.conditions = self.world.after_change(self.conditions)

    def drive(self) -> Run:
        """Drive, and return the run as a crew would write it down."""
        (shown,) = self.world.driven([self.settings], self.conditions)
        climbed = self.world.climbed(self.conditions)
        self.conditions, self.runs = self.world.after_run((shown,), self.conditions), self.runs + 1
        self.shown, common = shown, self._noise.normal(0.0, self._run)
        feel = self._noise.normal(shown["balance"] - _middle(self.book, "balance"), FEEL_NOISE)
        return Run(
            tires={corner: self._read(shown, corner, common) for corner in CORNERS},
            cold={corner: self.settings["pressure", corner] for corner in CORNERS},
            track_temp=float(round(110 + climbed)),
            felt={WHOLE: "neutral" if abs(feel) < FELT_FROM else "tight" if feel > 0 else "loose"},
        )

    def _read(self, shown: Figures, corner: Corner, common: float) -> Three:
        """Read three strips with a probe that shows whole degrees.

        From average a, split s and crown c: middle a + 2c/3, edges a - c/3 ± s/2.
        """
        average, split, crown = (shown[f"{n}.{corner}"] for n in ("average", "split", "crown"))
        edge = average - crown / 3
        strips = np.array([edge + split / 2, average + 2 * crown / 3, edge - split / 2])
        tails = self._noise.standard_t(5, 3) * math.sqrt(3 / 5)  # of variance 1
        off = common + self._noise.normal(0.0, self._tire) + self._reading * tails
        inner, middle, outer = (float(round(each)) for each in strips + off)
        return inner, middle, outer

    def true_figures(self) -> Figures:
        """Return the figures that a run driven now would show, noise-free."""
        return self.world.figures([self.settings], self.conditions)[0]


def drawn(
    chance: Chance, good: Mapping[Setting, float], weight: float, book: Rulebook
) -> LinearWorld:
    """Draw a car and its day; the ranges stand above.

    Parameters
    ----------
    good : a good setup.
    weight : of the car [lb].
    """
    effects = {**_of_tires(chance), **_of_loads(chance, weight)}
    return LinearWorld(
        good=good,
        figures_of_good=_in_band(chance, book),
        effects=effects,
        bend={setting: float(chance.uniform(-0.25, 0.25)) for setting in effects},
        spans={setting: faulty.USUAL[setting].most for setting in effects},
        together={
            corner: _figures(corner, 0.0, *chance.uniform(-1.0, 1.0, 2)) for corner in CORNERS
        },
        climbs=float(chance.uniform(0.0, 15.0)),
    )


def _of_tires(chance: Chance) -> dict[Setting, Array]:
    """Draw what acts at its own tire."""
    found: dict[Setting, Array] = {}
    camber, air, toe = chance.uniform((5.0, 1.0, 20.0), (17.0, 4.0, 100.0))
    for corner in CORNERS:
        own = np.exp(chance.normal(0.0, 0.15, 2))
        average, crown, warmer, split = chance.uniform((-3, -1, -2.5, -1), (3, 1, 0.5, 1))
        found["camber", corner] = _figures(corner, average, -camber * own[0], crown)
        found["pressure", corner] = _figures(corner, warmer, split, air * own[1])
    splits = toe * np.exp(chance.normal(0.0, 0.15, 2))
    found["toe", "front"] = _figures("LF", 0.0, -splits[0], 0.0) + _figures(
        "RF", 0.0, -splits[1], 0.0
    )
    return found


def _of_loads(chance: Chance, weight: float) -> dict[Setting, Array]:
    """Draw what acts through the loads, and stagger."""
    forward = DIAGONAL  # outer load from rear to front: RF up, RR down, and the left the other way
    pounds: dict[Setting, Array] = {
        ("cross", "car"): DIAGONAL * weight / 200,
        ("ballast", "rear"): REARWARD * chance.uniform(1 / 3, 2 / 3) / 2,
        ("ballast", "left"): LEFTWARD * chance.uniform(1 / 3, 2 / 3) / 2,
        ("spring", "RF"): forward * chance.uniform(3, 15) / 100,
        ("spring", "LF"): forward * chance.uniform(-3, 10) / 100,
        ("bar", "front"): forward * chance.uniform(3, 15) / 100,
        ("spring", "RR"): -forward * chance.uniform(8, 30) / 100,
        ("spring", "LR"): -forward * chance.uniform(-8, 25) / 100,
        ("panhard", "rear"): -forward * chance.uniform(8, 25),
    }
    heat = chance.uniform(0.06, 0.26) * np.exp(chance.normal(0.0, 0.15, 4))
    split, crown = chance.uniform(-0.05, 0.05, 4), chance.uniform(-0.05, 0.0, 4)
    of_a_pound = np.concatenate([heat, split, crown])
    found = {setting: of_a_pound * np.tile(each, 3) for setting, each in pounds.items()}
    cooler, warmer = chance.uniform(2, 10), chance.uniform(0, 6)
    found["stagger", "rear"] = np.array([-cooler, -cooler, warmer, warmer, *np.zeros(8)])
    return found


def _figures(corner: str, average: float, split: float, crown: float) -> Array:
    """Return the base figures of one tire, (12,)."""
    found = np.zeros(len(BASE_FIGURES))
    for name, value in (("average", average), ("split", split), ("crown", crown)):
        found[AT[f"{name}.{corner}"]] = value
    return found


def _in_band(chance: Chance, book: Rulebook) -> Array:
    """Draw the base figures of a good setup: within 0.4 half widths of the middle of every band."""
    bands = {name: each for name, each in middles(book).items() if not name.startswith("versus")}
    weights = np.array([[terms(name).get(base, 0.0) for base in BASE_FIGURES] for name in bands])
    for _ in range(ROUGH):
        wanted = np.array([mid + half * chance.uniform(-0.4, 0.4) for mid, half in bands.values()])
        level = chance.uniform(180.0, 215.0)  # least squares leaves it free: no band asks for it
        found = (
            level * LEVEL
            + np.linalg.lstsq(weights, wanted - weights @ (level * LEVEL), rcond=None)[0]
        )
        figures = Figures(dict(zip(BASE_FIGURES, map(float, found), strict=True)))
        off = off_middle(figures, book)
        if not excesses(figures, book) and max(map(abs, off.values())) < 0.6:
            return found
    raise ValueError(f"no setup lies well within the bands of the {book.id} rules")


def _middle(book: Rulebook, name: str) -> float:
    return middles(book)[name][0]
