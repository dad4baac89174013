"""The course of a day as a report tells it: every run, and every change by a letter."""

from collections.abc import Mapping
from string import ascii_uppercase
from typing import TYPE_CHECKING

import attrs

from planner.advice.past import Past
from planner.car import car_file
from planner.car.changes import Setting
from planner.plan import amendments, on_car
from planner.plan import day as days
from planner.plan.day import Day, GoodRun
from planner.plan.machine import Stage
from planner.plan.steps import ChoiceStep, RunStep
from planner.rulebook.rules import TUNING_ORDER, Rulebook, TuningStage
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import PER_CORNER

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.response import Posterior

Band = tuple[float | None, float | None]


@attrs.frozen(eq=False)
class RunSeen:
    """A run, and what was known with it; amended values stand in the place of the first ones.

    Attributes
    ----------
    number, step : which run of the day, void ones counted, and its step in the plan.
    good : the run as it judges the setup; None where it judges nothing.
    known : what all good runs up to it say of the car; None before the first.
    settings : what was on the car, where known.
    """

    number: int
    step: int
    record: RunStep
    good: GoodRun | None
    known: "Posterior | None"
    settings: Mapping[Setting, float]

    @property
    def time(self) -> str:
        """The time of day it was recorded at."""
        return self.record.time.strftime("%H:%M")

    def by_all_runs(self, name: str) -> Estimate:
        """Return a figure [degF] by this run and all before it; only of a run that judges."""
        assert self.known is not None
        return self.known.estimate(name)

    def as_read(self, name: str) -> float:
        """Return a figure [degF] of this run's readings alone; only of a run that judges."""
        assert self.good is not None
        return self.good.figures[name]


@attrs.frozen
class Mark:
    """A change that was made, with the letter it has in the report.

    Attributes
    ----------
    after_run : how many runs were recorded before it.
    choice, stage, reason : of the choice, its step first; the reason is the crew's.
    """

    letter: str
    past: Past
    time: str
    after_run: int
    choice: int
    stage: Stage
    reason: str


@attrs.frozen
class Panel:
    """Figures of one stage that are drawn together: one kind at four corners, or of one band."""

    stage: TuningStage
    kinds: tuple[str, ...]
    names: tuple[str, ...]
    band: Band


def runs(day: Day) -> tuple[RunSeen, ...]:
    """Return every run of the day."""
    judging = {good.step: good for good in day.good}
    seen: list[RunSeen] = []
    good: list[GoodRun] = []
    known = None
    settings = on_car.after_each(car_file.starting_settings(day.plan.car), day.steps, day.past)
    for number, step in enumerate(day.steps, start=1):
        if not isinstance(step, RunStep):
            continue
        if number in judging:
            good.append(judging[number])
            known = days.learned(day.plan, day.book, good[0], [each.seen for each in good])
        seen.append(
            RunSeen(len(seen) + 1, number, step, judging.get(number), known, settings[number])
        )
    return tuple(seen)


def marks(day: Day) -> tuple[Mark, ...]:
    """Return every change that was made, lettered in order."""
    found: list[Mark] = []
    for past in day.past:
        before = day.steps[: past.step - 1]
        at = amendments.last_choice(before)
        choice = before[at - 1]
        assert isinstance(choice, ChoiceStep)
        found.append(
            Mark(
                letter=_letter(len(found)),
                past=past,
                time=day.steps[past.step - 1].time.strftime("%H:%M"),
                after_run=sum(isinstance(step, RunStep) for step in before),
                choice=at,
                stage=choice.stage,
                reason=choice.reason,
            )
        )
    return tuple(found)


def _letter(number: int) -> str:
    """Return A, B, … Z, AA, AB and so on for 0, 1, 2 and so on."""
    rest, last = divmod(number, len(ascii_uppercase))
    return (_letter(rest - 1) if rest else "") + ascii_uppercase[last]


def panels(book: Rulebook) -> tuple[Panel, ...]:
    """Return what is drawn, in tuning order: every figure that the rules hold a stage by."""
    found: list[Panel] = []
    for stage in TUNING_ORDER:
        kinds = dict.fromkeys(
            name for rule in book.pattern if rule.stage == stage for name in rule.figures
        )
        together: dict[Band, list[str]] = {}
        for kind in kinds:
            if kind in PER_CORNER:
                names = tuple(f"{kind}.{corner}" for corner in CORNERS)
                found.append(Panel(stage, (kind,), names, book.bands(kind)))
            else:
                together.setdefault(book.bands(kind), []).append(kind)
        found += [Panel(stage, tuple(each), tuple(each), band) for band, each in together.items()]
    return tuple(found)
