"""The crews that drive the simulated cars of the scoreboard, and how their days end.

(a) rules of thumb: the tuning order with fixed sizes, each run taken at face value, no memory.
(b) no learning: the planner's patterns, each run judged alone, sizes by the rules.
(c) the planner as shipped, its first candidate always taken, with the whole car file; and with
    none, so that it knows nothing of the car.
(d) all-knowing: see `planner.rehearsal.all_knowing_crew`.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import attrs

from planner.advice.ahead import Forecast
from planner.advice.outlook import Outlook
from planner.car import changes as changing
from planner.car.car_file import Car
from planner.car.changes import Change
from planner.plan import budget, moves
from planner.plan.day import Day
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

AT = datetime(2024, 5, 4, 9, 30, tzinfo=UTC)
SAMPLE = Path(__file__).parents[2] / "sample_plans" / "river-bend-car.toml"
NEAR = 1.0  # degF out of band that still counts as near, or as no fault

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
    "one": "(c) one change at a stop",
    "knowing": "(d) all-knowing, one stage at a time",
}
Decision = tuple[list[str], tuple[Change, ...]]  # what shows, and what is done about it


@attrs.frozen
class Said:
    """What the planner said of a fault after a run, and whether it was there.

    Attributes
    ----------
    key : pattern and corner.
    chance : that the fault is there, as the planner said.
    there : truly, by more than a degree.
    """

    key: str
    chance: float
    there: bool


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
    forecast : told after the first run; None where the day was done by then.
    said : of every fault after every run.
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
    forecast: Forecast | None = None
    said: tuple[Said, ...] = ()

    @property
    def foretold_too_many(self) -> float:
        """By how many runs the forecast was too high."""
        assert self.forecast is not None
        return self.forecast.runs - (self.runs - 1)

    @property
    def within_forecast(self) -> bool:
        """Whether the day took as many runs as the forecast's range of 80 % says."""
        assert self.forecast is not None
        return self.forecast.low <= self.runs - 1 <= self.forecast.high


def book(reading: float | None = None) -> Rulebook:
    """Return the rules all crews go by, with another noise of one reading [degF] if given."""
    usual = rules_file.load(rules_file.find("paved-oval"))
    if reading is None:
        return usual
    return attrs.evolve(usual, noise=attrs.evolve(usual.noise, reading=reading))


def plan(car: Car, rules: Rulebook, **more: Any) -> Plan:
    """Return an empty plan for a car."""
    used = RulesUsed(rules.id, rules.fingerprint)
    return Plan(AT, used, turns="left", laps=rules.laps, car=car, **more)


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


def as_shipped(
    car: SimulatedCar, certainty: float, *, bare: bool = False, one_change: bool = False
) -> Ended:
    """Let the planner drive the day, with the car file or without it."""
    morning = worst(car)
    given = Car() if bare else car.file()
    begun = plan(given, car.book, certainty=certainty, one_change=one_change)
    day = replay(begun, car.book)
    false_alarms, forecast = 0, None
    said: list[Said] = []
    while (move := by_the_plan.next_move(car, day)) is not None:
        day = move(day, AT)
        step = day.plan.step[-1]
        if isinstance(step, RunStep):
            false_alarms += _false((p.key for p in step.patterns if p.holds), car)
            said += _said(day, car)
            if car.runs == 1 and (fit := budget.forecast(day)) is not None:
                forecast = fit.expected
    made = [past.made for past in day.past]
    crew = "bare" if bare else "one" if one_change else "planner"
    ended = _ended(crew, car, morning, made, false_alarms, certainty)
    return attrs.evolve(ended, forecast=forecast, said=tuple(said))


def _said(day: Day, car: SimulatedCar) -> list[Said]:
    """Return what is said of every fault after a run, and which were there as it was read."""
    assert car.shown is not None
    truly = excesses(car.shown, car.book)
    chances = Outlook(day.known, day.book).chances
    return [Said(key, chance, truly.get(key, 0.0) > NEAR) for key, chance in chances.items()]


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
