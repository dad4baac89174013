"""Invented cars that answer in closed form, and crews that take them through whole days.

A car is its twelve base figures and its true answer to every knob. A crew runs, reads with noise,
takes the first candidate and makes it as it was asked, until the day is complete.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from functools import cache

import attrs
import numpy as np
from garage import GOOD, Tires, book

from planner.car.car_file import Car
from planner.car.car_model import CarModel
from planner.car.changes import Setting
from planner.learning import beliefs
from planner.plan import day as days
from planner.plan import moves
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.plan.steps import Plan, RulesUsed
from planner.rehearsal.out_of_band import excesses
from planner.rulebook.rules import Rulebook
from planner.run.readings import Run
from planner.trade import figures
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate

BEGUN = datetime(2024, 5, 11, 9, 0, tzinfo=UTC)
READING, COMMON = 3.0, 2.0  # degF, one standard deviation: each reading, and all of a run
FARTHEST = 1.5  # standard deviations that a true answer may be from the rules' own
MOST_RUNS = 40

# How far a knob may be from where it should be when the day begins.
ASTRAY: Mapping[Setting, float] = {
    **{("camber", corner): 2.0 for corner in CORNERS},
    **{("pressure", corner): 3.0 for corner in CORNERS},
    ("toe", "front"): 0.25,
    ("cross", "car"): 3.0,
    ("spring", "RF"): 150.0,
    ("spring", "RR"): 100.0,
    ("bar", "front"): 150.0,
    ("ballast", "rear"): 80.0,
    ("stagger", "rear"): 1.0,
}


def rule_of_thumb(rules: Rulebook) -> dict[Setting, Mapping[str, Estimate]]:
    """Return what is believed of a car of which nothing is known."""
    some_run = Run(dict.fromkeys(CORNERS, (200.0, 200.0, 200.0)))
    unknown = CarModel(Car(), {}, {}, some_run, dict.fromkeys(CORNERS, 200.0), "left")
    return beliefs.effects(rules, unknown)


@attrs.frozen(eq=False)
class InventedCar:
    """A car: its base figures with nothing moved, and its true answers per unit of a knob."""

    base: Mapping[str, float]
    answers: Mapping[tuple[Setting, str], float]

    def true(self, moved: Mapping[Setting, float]) -> dict[str, float]:
        """Return the base figures without any noise."""
        values = dict(self.base)
        for (setting, name), slope in self.answers.items():
            values[name] += slope * moved.get(setting, 0.0)
        return values


def read(values: Mapping[str, float], noise: np.random.Generator | None = None) -> Tires:
    """Return inner/middle/outer of base figures, with the noise of a probe where one is given."""
    tires = {}
    common = 0.0 if noise is None else noise.normal(0.0, COMMON)
    for corner in CORNERS:
        average, split, crown = (values[f"{k}.{corner}"] for k in ("average", "split", "crown"))
        edges = average - crown / 2
        three = np.array([edges + split / 2, average + crown, edges - split / 2])
        if noise is not None:
            three = three + common + noise.normal(0.0, READING, 3)
        tires[corner] = tuple(round(float(each), 1) for each in three)
    return tires  # type: ignore[return-value]


def in_band() -> dict[str, float]:
    """Return the base figures of a car with nothing wrong."""
    return {
        **{f"average.{corner}": GOOD[corner] for corner in CORNERS},
        **{f"{kind}.{corner}": 0.0 for kind in ("split", "crown") for corner in CORNERS},
    }


def drawn(draw: np.random.Generator, faults: int) -> InventedCar:
    """Return a car with this many knobs astray and answers of its own."""
    believed = rule_of_thumb(book())
    touched = {knob for knob, _ in ASTRAY}

    def answers(of: Iterable[Setting]) -> dict[tuple[Setting, str], float]:
        return {
            (setting, name): effect.mean + effect.sd * _within(draw)
            for setting in of
            for name, effect in believed[setting].items()
        }

    # Knobs that are never astray are drawn last: one more of them leaves the cars as they were.
    sound = InventedCar(in_band(), answers(s for s in believed if s[0] in touched))
    chosen = draw.choice(len(ASTRAY), size=faults, replace=False)
    astray = {
        list(ASTRAY)[i]: float(draw.uniform(0.5, 1.0) * draw.choice([-1, 1]))
        * list(ASTRAY.values())[i]
        for i in chosen
    }
    rest = answers(s for s in believed if s[0] not in touched)
    return InventedCar(sound.true(astray), {**sound.answers, **rest})


def _within(draw: np.random.Generator) -> float:
    while True:
        value = float(draw.normal())
        if abs(value) <= FARTHEST:
            return value


def out_of_band(values: Mapping[str, float], rules: Rulebook) -> float:
    """Return how far the figure that is farthest out of its band is out of it [degF]."""
    return max(excesses(figures.compute(read(values)), rules).values(), default=0.0)


@attrs.frozen(eq=False)
class Driven:
    """A day, driven to its end.

    Attributes
    ----------
    began, ended : how far the car truly was out of band, before and after [degF].
    runs : how many it took.
    one_run : the day as it stood after its first run.
    """

    day: Day
    began: float
    ended: float
    runs: int
    one_run: Day


def new_plan(rules: Rulebook, **more: object) -> Plan:
    """Return a plan with nothing in it."""
    return Plan(
        created=BEGUN,
        rules=RulesUsed(rules.id, rules.fingerprint),
        turns="left",
        laps=rules.laps,
        **more,  # type: ignore[arg-type]
    )


def clock() -> Iterator[datetime]:
    """Yield one moment after the other."""
    at = BEGUN
    while True:
        at += timedelta(minutes=5)
        yield at


def drive(car: InventedCar, noise: np.random.Generator, **plan: object) -> Driven:
    """Take a car through a day, the first candidate every time."""
    rules = book()
    day = replay(new_plan(rules, **plan), rules)
    now = clock()
    runs = 0
    one_run = day
    while day.due != "nothing" and runs < MOST_RUNS:
        if day.due == "run":
            readings = read(car.true(days.moved_by(day.past)), noise)
            day = moves.record(day, Run(readings), next(now))
            runs += 1
            one_run = day if runs == 1 else one_run
        elif day.due == "change":
            day = moves.made(day, next(now))
        elif day.table().candidates:
            day = moves.choose(day, "1", next(now))
        else:
            day = moves.move_on(day, "nothing is offered", next(now))
    began, ended = (out_of_band(car.true(moved), rules) for moved in ({}, days.moved_by(day.past)))
    return Driven(day, began, ended, runs, one_run)


@cache
def driven_days() -> tuple[Driven, ...]:
    """Return 24 days with cars of two to five faults, always the same."""
    found = []
    for seed in range(24):
        draw = np.random.default_rng([7, seed])
        car = drawn(draw, faults=2 + seed % 4)
        found.append(drive(car, draw))
    return tuple(found)


def spread(values: list[float]) -> str:
    """Say the mean and the ends of some numbers."""
    return f"{math.fsum(values) / len(values):.2f} ({min(values):.2f} to {max(values):.2f})"
