"""What earlier days are worth: the same simulated cars on five days, with and without a memory.

    python tests/bench/season.py --cars 100 --first 1000 [--jobs 2]

Each day brings faults of its own, drawn as on any first day; the second and fourth are at another
track. Between days every hidden parameter of the car wanders by `WANDER` of what cars differ by,
and the weather is drawn anew. Days two to five are driven three times from the same morning: from
scratch, with what the car's own earlier days taught, and with what another car's days taught, the
control: it should cost no more than a run.

No first run is out of character but by what the faults of the day do, which the plan is told of.

Calibration: what is believed of every answer that was told, before the first run, against the
true answer, measured on the simulated car. Of intervals of 80 %, 75 to 85 % should hold it.
"""

import argparse
import copy
import multiprocessing
import os
import sys
from collections.abc import Mapping, Sequence
from datetime import timedelta
from statistics import fmean
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process a core does better

import attrs
import crews
import numpy as np
from crews import NEAR

from planner.car import car_file
from planner.car.changes import Change
from planner.learning.earlier import OutOfCharacter
from planner.learning.observed import answer_of
from planner.plan import memory
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.rehearsal import by_the_plan, faults, good_setup, truth
from planner.rehearsal.body import body
from planner.rehearsal.car import SimulatedCar
from planner.rehearsal.out_of_band import excesses
from planner.rehearsal.truth import Truth
from planner.rehearsal.world import World
from planner.rulebook.rules import Rulebook

DAYS = 5
WANDER = 0.3  # of what cars differ by, from day to day
APART = timedelta(days=14)
ELSEWHERE = {"name": "Marl Hill", "radius": 150.0, "banking": 14.0, "corner_speed": 60.0}
INNER = 1.2816  # standard deviations on either side that 80 % lie within: normal quantile of 0.9
MEMORIES = ("scratch", "own", "another's")


@attrs.frozen
class Driven:
    """A day as it was driven.

    Attributes
    ----------
    number : of the day, from 1.
    memory : what it was begun with.
    excess : worst excess over a band at the end [degF].
    unlike : whether its first run was called out of character; None at a track the car is new to.
    off : of every answer that was told, how far the true one is from what was believed, in
        standard deviations, by the name of the answer.
    """

    seed: int
    number: int
    memory: str
    runs: int
    excess: float
    unlike: bool | None = None
    off: Mapping[str, float] = attrs.field(factory=dict)


def wandered(usual: Any, car: Any, day: Any) -> Any:
    """Return a record of hidden values between the car's and another's, all positive.

    In each, x = car (day / usual)^`WANDER`; arrays element by element.
    """
    if attrs.has(type(usual)):
        return attrs.evolve(
            car,
            **{
                each.name: wandered(*(getattr(of, each.name) for of in (usual, car, day)))
                for each in attrs.fields(type(usual))
            },
        )
    numbers = isinstance(usual, float | np.ndarray) and np.all(np.asarray(usual) > 0)
    return car * (day / usual) ** WANDER if numbers else car


def on_day(car: SimulatedCar, number: int) -> SimulatedCar:
    """Return the car on a later day, with that day's faults; number 1 is the car itself."""
    if number == 1:
        return copy.deepcopy(car)
    chance = np.random.default_rng([car.seed, 10 + number])
    file = car.car
    if number % 2 == 0:
        file = attrs.evolve(file, track=attrs.evolve(file.track, **ELSEWHERE))
    for _ in range(good_setup.TRIES):
        drawn = truth.draw(chance)
        hidden = attrs.evolve(
            wandered(Truth(), car.world.truth, drawn), weather=drawn.weather, delay=drawn.delay
        )
        world = World(body(file), hidden, car.book.laps)
        good = good_setup.solve(world, car.limits, car.book)
        if good is not None:
            break
    else:
        return on_day(car, number + DAYS)  # of the next days, one on which it can be got right
    cold = np.array([good["pressure", corner] for corner in crews.CORNERS])
    later = copy.deepcopy(car)
    later.car, later.good = file, good
    later.world = attrs.evolve(world, scaled_with=cold)
    later.faults = later._drawn(chance)
    later.settings = faults.with_faults(good, later.faults)
    later.begun = dict(later.settings)
    later.conditions = later.world.fresh()
    later._noise = np.random.default_rng([car.seed, 20 + number])
    return later


def drive(car: SimulatedCar, number: int, kind: str, earlier: Sequence[Day]) -> tuple[Driven, Day]:
    """Let the planner drive a day with what earlier days taught."""
    car = copy.deepcopy(car)
    at = crews.AT + (number - 1) * APART
    given = car.file()
    known = memory.of_days(earlier, given, given.track.name, at.date())
    begun = attrs.evolve(
        crews.plan(given, car.book),
        created=at,
        track=given.track.name,
        taught=known.told,
        usual=known.usual,
        in_balance=known.own,
    )
    day = replay(begun, car.book)
    off: Mapping[str, float] = {}
    while (move := by_the_plan.next_move(car, day)) is not None:
        day = move(day, at)
        if len(day.good) == 1 and not day.past and not off:
            off = _off(car, day)
    left = excesses(car.true_figures(), car.book)
    worst = max(left.values(), default=0.0)
    unlike = None
    if known.usual is not None:
        first = day.remarks_on(1, day.steps[0])
        unlike = any(isinstance(each, OutOfCharacter) for each in first)
    return Driven(car.seed, number, kind, car.runs, worst, unlike, off), day


def _off(car: SimulatedCar, day: Day) -> dict[str, float]:
    """Return of every answer that was told how far it is from what is believed.

    The true answer is measured half a move either way from where the knob stands.
    """
    found = {}
    for name in day.plan.taught.answers:
        setting, figure = answer_of(name)
        most = day.book.adjustments_of(*setting)[0].most / 2
        ends = []
        for way in (-most, most):
            tried = copy.deepcopy(car)
            tried.apply([Change(*setting, way)])
            ends.append(tried.world.figures([tried.settings], car.conditions)[0].base[figure])
        known = day.known.sensitivity(setting, figure)
        found[name] = ((ends[1] - ends[0]) / (2 * most) - known.mean) / known.sd
    return found


def season(seed: int, rules: Rulebook | None = None) -> list[Driven]:
    """Drive one car's five days; the other car of the control is that of the next seed."""
    book = rules or crews.book()
    cars = [
        SimulatedCar(each, car=car_file.load(crews.SAMPLE), book=book) for each in (seed, seed + 1)
    ]
    found: list[Driven] = []
    days: tuple[list[Day], list[Day]] = ([], [])
    for number in range(1, DAYS + 1):
        mine, other = (on_day(car, number) for car in cars)
        driven, day = drive(mine, number, "scratch" if number == 1 else "own", days[0])
        found.append(driven)
        if number > 1:
            found.append(drive(mine, number, "scratch", ())[0])
            found.append(drive(mine, number, "another's", days[1])[0])
        days[0].append(day)
        if number < DAYS:
            days[1].append(drive(other, number, "own", days[1])[1])
    return found


def table(found: Sequence[Driven]) -> str:
    """Return the table in Markdown, and the calibration below it."""
    rows = [
        "| day | begun with | runs, mean | within 1 °F | 80 % intervals hold |",
        "|---|---|---|---|---|",
    ]
    for days in ((1,), *((number,) for number in range(2, DAYS + 1)), tuple(range(2, DAYS + 1))):
        for kind in MEMORIES:
            of = [each for each in found if each.number in days and each.memory == kind]
            if not of:
                continue
            held = [abs(off) <= INNER for each in of for off in each.off.values()]
            name = f"{days[0]} to {days[-1]}" if len(days) > 1 else f"{days[0]}"
            near = sum(each.excess <= NEAR for each in of) / len(of)
            told = f"{fmean(held):.0%} of {len(held)}" if held else ""
            rows.append(
                f"| {name} | {kind} | {fmean(e.runs for e in of):.2f} | {near:.1%} | {told} |"
            )
    firsts = [each.unlike for each in found if each.memory == "own" and each.unlike is not None]
    rows += ["", f"First runs called out of character: {sum(firsts)} of {len(firsts)}."]
    return "\n".join(rows)


def main() -> None:
    """Read the options, drive, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cars", type=int, default=100)
    parser.add_argument("--first", type=int, default=1000, help="seed of the first car")
    parser.add_argument("--jobs", type=int, default=1)
    given = parser.parse_args()
    seeds = range(given.first, given.first + given.cars)
    if given.jobs > 1:
        with multiprocessing.get_context("spawn").Pool(given.jobs) as pool:
            found = [each for of in pool.imap_unordered(season, seeds) for each in of]
    else:
        found = [each for seed in seeds for each in season(seed)]
    sys.stdout.write(f"{given.cars} cars from seed {given.first}.\n\n{table(found)}\n")


if __name__ == "__main__":
    main()
