"""How well days end: the same simulated cars, driven by four crews.

    python tests/bench/scoreboard.py [--cars 200] [--first 0] [--certainty 0.4 0.5]
        [--reading 2.1] [--workers 2]

(a) rules of thumb: the tuning order with fixed sizes, each run taken at face value, no memory.
(b) no learning: the planner's patterns, each run judged alone, sizes by the rules.
(c) the planner as shipped, its first candidate always taken, with the whole car file; and with
    none, so that it knows nothing of the car.
(d) all-knowing: the true figures, sizes worked out on the simulated car, one stage at a time.

Prints a Markdown table; what (c) does at other certainties; and what it does with better or worse
readings, rules and car then sharing another noise of one reading than that of the rules file.
"""

import argparse
import copy
import multiprocessing
import os
import statistics
import sys
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one process a core does better

import attrs

from planner.car import car_file
from planner.car import changes as changing
from planner.car.car_file import Car
from planner.car.changes import Change
from planner.plan import moves
from planner.plan.fold import replay
from planner.plan.steps import Plan, RulesUsed, RunStep
from planner.rehearsal import all_knowing_crew, by_the_plan
from planner.rehearsal.by_the_plan import MOST_RUNS
from planner.rehearsal.car import SimulatedCar
from planner.rehearsal.out_of_band import excesses
from planner.rulebook import rules_file
from planner.rulebook.rules import TUNING_ORDER, Rulebook
from planner.run.readings import Run
from planner.trade import figures as figure
from planner.trade.corners import CORNERS
from planner.trade.numbers import USUAL_CERTAINTY

AT = datetime(2024, 5, 4, 9, 30, tzinfo=UTC)
SAMPLE = Path(__file__).parents[2] / "sample_plans" / "river-bend-car.toml"
NEAR = 1.0  # degF out of band that still counts as near

# Fixed sizes of the rules of thumb, in the knob's unit; common practice, no source.
FIXED = {
    "camber": 0.5,
    "pressure": 1.0,
    "toe": 0.0625,
    "cross": 0.5,
    "spring": 50.0,
    "bar": 50.0,
    "ballast": 20.0,
    "stagger": 0.25,
}
CREWS = {
    "thumb": "(a) rules of thumb, fixed sizes",
    "alone": "(b) planner without learning",
    "planner": "(c) planner as shipped",
    "bare": "(c) without a car file",
    "knowing": "(d) all-knowing, one stage at a time",
}
Decision = tuple[list[str], tuple[Change, ...]]  # what shows, and what is done about it

CERTAINTIES = (0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9)
# Noise of one reading [degF]: each tire read twice (3 over the root of 2), four times, not at all.
READINGS = (2.1, 1.5, 0.1)


@attrs.frozen
class Ended:
    """How one day ended.

    Attributes
    ----------
    crew, seed, certainty, reading : who drove which car, and the noise of one reading [degF].
    begun, excess : worst excess over a band, in the morning and at the end [degF].
    left : what is truly out of band at the end.
    runs, changes : how many; a bundle is one change.
    turned_back : changes that turn a knob the other way than it was turned last.
    false_alarms : clear patterns on what was truly in band.
    known : runs that the all-knowing crew took on this car.
    """

    crew: str
    seed: int
    certainty: float
    begun: float
    excess: float
    left: tuple[str, ...]
    runs: int
    changes: int
    turned_back: int
    false_alarms: int
    reading: float
    known: int = 0


def book(reading: float | None = None) -> Rulebook:
    """Return the rules all crews go by, with another noise of one reading [degF] if given."""
    usual = rules_file.load(rules_file.find("paved-oval"))
    if reading is None:
        return usual
    return attrs.evolve(usual, noise=attrs.evolve(usual.noise, reading=reading))


def begun(seed: int, rules: Rulebook) -> SimulatedCar:
    """Return the simulated car of a seed, with faults drawn."""
    return SimulatedCar(seed, car=car_file.load(SAMPLE), book=rules)


def plan(car: Car, rules: Rulebook, certainty: float = USUAL_CERTAINTY) -> Plan:
    """Return an empty plan for a car."""
    used = RulesUsed(rules.id, rules.fingerprint)
    return Plan(AT, used, turns="left", laps=rules.laps, car=car, certainty=certainty)


def worst(car: SimulatedCar) -> float:
    """Return by how much the worst figure is truly out of band now [degF]."""
    return max(excesses(car.true_figures(), car.book).values(), default=0.0)


def _reversals(made: Iterable[Sequence[Change]]) -> int:
    """Count the changes that turn a knob the other way than it was turned last."""
    last: dict[tuple[str, str], float] = {}
    count = 0
    for bundle in made:
        count += any(last.get(change.setting, 0.0) * change.amount < 0 for change in bundle)
        last |= {change.setting: change.amount for change in bundle}
    return count


def _false(shown: Iterable[str], car: SimulatedCar) -> int:
    """Count the patterns shown by the last run on what was truly in band."""
    assert car.shown is not None
    return len(set(shown) - set(excesses(car.shown, car.book)))


def _ended(
    crew: str,
    car: SimulatedCar,
    morning: float,
    made: Sequence[Sequence[Change]],
    false_alarms: int,
    certainty: float = 0.0,
) -> Ended:
    left = excesses(car.true_figures(), car.book)
    return Ended(
        crew=crew,
        seed=car.seed,
        certainty=certainty,
        begun=morning,
        excess=max(left.values(), default=0.0),
        left=tuple(left),
        runs=car.runs,
        changes=len(made),
        turned_back=_reversals(made),
        false_alarms=false_alarms,
        reading=car.book.noise.reading,
    )


def as_shipped(car: SimulatedCar, certainty: float, *, bare: bool = False) -> Ended:
    """Let the planner drive the day, with the car file or without it."""
    morning = worst(car)
    day = replay(plan(Car() if bare else car.file(), car.book, certainty), car.book)
    false_alarms = 0
    while (move := by_the_plan.next_move(car, day)) is not None:
        day = move(day, AT)
        step = day.plan.step[-1]
        if isinstance(step, RunStep):
            false_alarms += _false((p.key for p in step.patterns if p.holds), car)
    made = [past.made for past in day.past]
    crew = "bare" if bare else "planner"
    return _ended(crew, car, morning, made, false_alarms, certainty)


def judged_alone(car: SimulatedCar) -> Ended:
    """Drive the day with the planner's patterns and no learning."""
    bare = Car(car=car.car.car, limits=car.car.limits)

    def decide(run: Run) -> Decision:
        settings: dict[str, dict[str, float]] = {}
        for (knob, place), value in car.settings.items():
            settings.setdefault(knob, {})[place] = value
        known = attrs.evolve(bare, settings=settings)
        one = attrs.evolve(plan(known, car.book), step=(RunStep(AT, run),))
        day = replay(one, car.book)
        shown = [p.key for p in day.good[-1].patterns if p.holds]
        while day.due == "choice" and not day.table().candidates:
            day = moves.move_on(day, "nothing is offered", AT)
        if day.due != "choice":
            return shown, ()
        return shown, day.table().candidates[0].changes

    return _thoughtless("alone", car, decide)


def by_thumb(car: SimulatedCar) -> Ended:
    """Drive the day with rules of thumb: face value, fixed sizes, the first offer."""

    def decide(run: Run) -> Decision:
        shown = excesses(figure.compute(run.tires), car.book)
        worst_first = sorted(shown, key=lambda key: -shown[key])
        for stage in TUNING_ORDER:
            keys = [k for k in worst_first if car.book.rule(k.partition(":")[0]).stage == stage]
            changes: dict[tuple[str, str], Change] = {}
            for change in filter(None, (_by_rule(car, key) for key in keys)):
                changes.setdefault(change.setting, change)
            if changes:
                corners = tuple(c for c in changes.values() if c.corner in CORNERS)
                bundles = stage in ("camber", "pressure") and corners
                return list(shown), corners if bundles else tuple(changes.values())[:1]
        return list(shown), ()

    return _thoughtless("thumb", car, decide)


def _by_rule(car: SimulatedCar, key: str) -> Change | None:
    """Return the change of fixed size that the rules offer first; None where there is no room."""
    name, _, corner = key.partition(":")
    offer = car.book.rule(name).offers[0]
    entry = car.book.adjustment[offer.use]
    place = corner if entry.corner == "same" else entry.corner
    size = FIXED[entry.knob] * (-1.0 if offer.direction == "-" else 1.0)
    room = car.limits.room(entry.knob, place)
    now = car.settings[entry.knob, place]
    amount, _ = changing.within(entry.knob, size, now, room, entry.step_on(room))
    return Change(entry.knob, place, amount) if amount else None


def _thoughtless(crew: str, car: SimulatedCar, decide: Callable[[Run], Decision]) -> Ended:
    """Run and change until two runs in a row ask for nothing."""
    morning = worst(car)
    made: list[tuple[Change, ...]] = []
    quiet = false_alarms = 0
    while quiet < 2 and car.runs < MOST_RUNS:
        shown, changes = decide(car.drive())
        false_alarms += _false(shown, car)
        quiet = 0 if changes else quiet + 1
        if changes and car.runs < MOST_RUNS:
            car.apply(changes)
            made.append(changes)
    return _ended(crew, car, morning, made, false_alarms)


def all_knowing(car: SimulatedCar) -> Ended:
    """Let an all-knowing crew drive the day."""
    morning = worst(car)
    best = all_knowing_crew.day(car.world, car.begun, car.book, car.limits)
    return Ended(
        crew="knowing",
        seed=car.seed,
        certainty=0.0,
        begun=morning,
        excess=best.excess,
        left=(),
        runs=best.runs,
        changes=len(best.made),
        turned_back=_reversals(best.made),
        false_alarms=0,
        reading=car.book.noise.reading,
    )


Job = tuple[int, tuple[float, ...], tuple[float, ...]]  # seed, certainties, readings


def try_out(job: Job) -> list[Ended]:
    """Let every crew drive the car of a seed; the planner at every certainty and noise."""
    seed, certainties, readings = job
    car = begun(seed, book())
    ideal = all_knowing(copy.deepcopy(car))
    ends = [ideal, by_thumb(copy.deepcopy(car)), judged_alone(copy.deepcopy(car))]
    ends += [as_shipped(copy.deepcopy(car), sure) for sure in certainties]
    ends += [as_shipped(copy.deepcopy(car), USUAL_CERTAINTY, bare=True)]
    ends += [as_shipped(begun(seed, book(noise)), USUAL_CERTAINTY) for noise in readings]
    return [attrs.evolve(end, known=ideal.runs) for end in ends]


def drive(
    cars: int,
    certainties: Iterable[float],
    readings: Iterable[float] = (),
    workers: int = 2,
    first: int = 0,
) -> list[Ended]:
    """Let the crews drive many cars, the shipped certainty always among those tried."""
    sure = tuple(sorted({*certainties, USUAL_CERTAINTY}))
    jobs = [(seed, sure, tuple(readings)) for seed in range(first, first + cars)]
    if workers < 2:
        return [end for job in jobs for end in try_out(job)]
    with multiprocessing.get_context("spawn").Pool(workers) as pool:
        ends: list[Ended] = []
        for number, found in enumerate(pool.imap_unordered(try_out, jobs), 1):
            ends += found
            if sys.stderr.isatty():
                sys.stderr.write(f"\r{number} of {cars} cars")
        return ends


def summary(ends: Sequence[Ended]) -> dict[str, float]:
    """Return the numbers of one row."""
    count = len(ends)
    return {
        "in_band": sum(e.excess <= 0 for e in ends) / count,
        "near": sum(e.excess <= NEAR for e in ends) / count,
        "median_runs": statistics.median(e.runs for e in ends),
        "mean_runs": statistics.mean(e.runs for e in ends),
        "median_ratio": statistics.median(e.runs for e in ends)
        / statistics.median(e.known for e in ends),
        "mean_ratio": sum(e.runs for e in ends) / sum(e.known for e in ends),
        "changes": statistics.mean(e.changes for e in ends),
        "turned_back": statistics.mean(e.turned_back for e in ends),
        "false_alarms": statistics.mean(e.false_alarms for e in ends),
        "worse": sum(e.excess > e.begun + 1e-9 for e in ends),
        "too_long": sum(e.runs >= MOST_RUNS for e in ends),
        "worst": max(e.excess for e in ends),
    }


HEAD = (
    "truly in band | within 1 °F | runs, median | mean | to (d), median | mean | changes "
    "| turned back | false alarms | worse than begun | worst, °F |"
)


def row(name: str, ends: Sequence[Ended]) -> str:
    """Return one row of the table."""
    of = summary(ends)
    return (
        f"| {name} | {of['in_band']:.1%} | {of['near']:.1%} | {of['median_runs']:g} "
        f"| {of['mean_runs']:.2f} | {of['median_ratio']:.2f} | {of['mean_ratio']:.2f} "
        f"| {of['changes']:.2f} | {of['turned_back']:.2f} | {of['false_alarms']:.2f} "
        f"| {of['worse']:.0f} | {of['worst']:.1f} |"
    )


def shipped(ends: Iterable[Ended], **wanted: float) -> list[Ended]:
    """Return the days of (c) at the shipped certainty and noise, or at those wanted."""
    certainty = wanted.get("certainty", USUAL_CERTAINTY)
    reading = wanted.get("reading", book().noise.reading)
    return [
        e for e in ends if e.crew == "planner" and (e.certainty, e.reading) == (certainty, reading)
    ]


def table(ends: Sequence[Ended]) -> str:
    """Return the scoreboard, the curve of certainty, and that of the noise, in Markdown."""
    line = "|---|" + "---|" * HEAD.count("|")
    rows = [f"| crew | {HEAD}", line]
    for crew, name in CREWS.items():
        mine = [e for e in ends if e.crew == crew]
        rows.append(row(name, shipped(ends) if crew == "planner" else mine))
    planner = [e for e in ends if e.crew == "planner"]
    rows += ["", f"| certainty of (c) | {HEAD}", line]
    for sure in sorted({e.certainty for e in planner}):
        rows.append(row(f"{sure:g}", shipped(ends, certainty=sure)))
    rows += ["", f"| noise of one reading, °F, for (c) | {HEAD}", line]
    for noise in sorted({e.reading for e in planner}, reverse=True):
        rows.append(row(f"{noise:g}", shipped(ends, reading=noise)))
    return "\n".join(rows)


def unfinished(ends: Sequence[Ended]) -> str:
    """Return what was left out of band by the planner as shipped, by pattern."""
    left: dict[str, int] = {}
    for end in shipped(ends):
        if end.excess > NEAR:
            for key in end.left:
                name = key.partition(":")[0]
                left[name] = left.get(name, 0) + 1
    found = ", ".join(f"{name} {count}" for name, count in sorted(left.items()))
    return f"Left out of band by more than {NEAR:g} °F by (c): {found or 'nothing'}."


def main() -> None:
    """Read the options, drive, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cars", type=int, default=200)
    parser.add_argument("--first", type=int, default=0, help="seed of the first car")
    parser.add_argument("--certainty", type=float, nargs="*", default=list(CERTAINTIES))
    parser.add_argument("--reading", type=float, nargs="*", default=list(READINGS))
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    ends = drive(given.cars, given.certainty, given.reading, given.workers, given.first)
    sys.stdout.write(f"{given.cars} cars from seed {given.first}.\n\n")
    sys.stdout.write(table(ends) + "\n\n" + unfinished(ends) + "\n")


if __name__ == "__main__":
    main()
