"""The day looked back on: every run, and every change with its choice and what came of it.

Built once from a `Day`, by the values now in force, and read by why, report, export and screens.
"""

from datetime import datetime
from functools import cached_property
from math import sqrt
from string import ascii_uppercase
from typing import TYPE_CHECKING

import attrs

from planner.advice.past import Past
from planner.car import car_file
from planner.car.changes import Setting
from planner.plan import amendments, on_car
from planner.plan.amendments import Rested
from planner.plan.day import Day, GoodRun
from planner.plan.steps import ChoiceStep, NoteStep, RunStep, TakenBackStep
from planner.plan.tire_sets import TireSet, TireSets
from planner.trade import figures as figure
from planner.trade.estimate import Estimate
from planner.trade.figures import SHARE, Figures, Noise, standard_error, terms

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.posterior import Posterior


@attrs.frozen(eq=False)
class RunSeen:
    """A run of the day.

    Attributes
    ----------
    number, step : of the run, void ones counted, from 1; and of its step in the plan.
    recorded : the step, with amended values in their place.
    good : the run as it judges the setup; None where it judges nothing.
    figures : of its readings, put back to one moment where the run counts [degF].
    settings : on the car, where known.
    tires : the set of tires it was on, with what had been run on it before.
    """

    number: int
    step: int
    recorded: RunStep
    good: GoodRun | None
    figures: Figures
    settings: dict[Setting, float]
    tires: TireSet
    _day: Day = attrs.field(repr=False)

    @property
    def time(self) -> str:
        """The time of day it was recorded at, with the date where the day began on another."""
        return clock(self.recorded.time, self._day.steps[0].time)

    @cached_property
    def known(self) -> "Posterior | None":
        """What all good runs up to it say of the car; None before the first."""
        runs = sum(good.step <= self.step for good in self._day.good)
        return self._day.known_by(runs) if runs else None

    def by_all_runs(self, name: str) -> Estimate:
        """Return a figure [degF] by this run and all before it; only of a run that judges."""
        assert self.known is not None
        return self.known.estimate(name)

    def error(self, name: str, noise: Noise) -> float:
        """Return the standard error of a figure of this run [degF], its own cooling counted."""
        parts = terms(name, self.figures.turns).items()
        extra = sum(weight**2 * self._beyond_noise(term) for term, weight in parts)
        if self.good is not None:
            level = sum(weight for term, weight in parts if term.startswith("average."))
            extra += level**2 * self.good.seen.common_variance
        return sqrt(standard_error(name, noise) ** 2 + extra)

    def _beyond_noise(self, term: str) -> float:
        """Return the variance of a base figure beyond the noise of the readings [degF²]."""
        if self.good is None:
            return 0.0
        kind, _, corner = term.partition(".")
        seen = self.good.seen
        extra = {str(c): v for c, v in seen.extra_variance.items()}.get(corner, 0.0)
        level = {str(c): v for c, v in seen.level_variance.items()}.get(corner, 0.0)
        return SHARE[term] * extra + (level if kind == "average" else 0.0)


@attrs.frozen(eq=False)
class ChangeSeen:
    """A change that was chosen.

    Attributes
    ----------
    choice : number of the step that chose it, which is `chosen`.
    past : the change as it was really made and what came of it; None where it was not made (yet).
    taken_back : the step that took the choice back, or None.
    before, after : the last run before the choice, and the first good one after it was made.
    rested : what the choice rested on that has been corrected since.
    letter, time : of a change made, the letter it has in the report and when it was made.
    """

    choice: int
    chosen: ChoiceStep
    past: Past | None
    taken_back: int | None
    before: RunSeen | None
    after: RunSeen | None
    rested: tuple[Rested, ...]
    letter: str = ""
    time: str = ""

    @property
    def after_run(self) -> int:
        """How many runs were recorded before it."""
        return 0 if self.before is None else self.before.number

    def made(self) -> Past:
        """Return the change as it was made; only of one that was."""
        assert self.past is not None
        return self.past


@attrs.frozen(eq=False)
class Timeline:
    """A day from its first run to its last change.

    Attributes
    ----------
    runs : every run, oldest first.
    changes : every change that was chosen, taken back or made or neither yet, oldest first.
    """

    day: Day
    runs: tuple[RunSeen, ...]
    changes: tuple[ChangeSeen, ...]

    @property
    def made(self) -> tuple[ChangeSeen, ...]:
        """The changes that were made."""
        return tuple(each for each in self.changes if each.past is not None)

    @property
    def noise(self) -> Noise:
        """The reading noise as the day knows it: the rules', and what repeated runs say."""
        return self.day.known.priors.noise if self.day.good else self.day.book.noise

    @property
    def corrected(self) -> tuple[RunSeen, ...]:
        """The runs whose readings were corrected for cooling."""
        return tuple(run for run in self.runs if run.good is not None and run.good.is_corrected)

    def run_at(self, step: int) -> RunSeen:
        """Return the run that a step recorded."""
        return next(run for run in self.runs if run.step == step)


def of(day: Day) -> Timeline:
    """Return the timeline of a day."""
    runs = _runs(day)
    return Timeline(day, runs, _changes(day, runs))


def _runs(day: Day) -> tuple[RunSeen, ...]:
    good = {each.step: each for each in day.good}
    start = car_file.starting_settings(day.plan.car)
    settings = on_car.after_each(start, day.steps, day.past)
    found: list[RunSeen] = []
    tires = TireSets()
    for step, recorded in enumerate(day.steps, start=1):
        if isinstance(recorded, NoteStep) and recorded.set:
            tires = tires.put_on(recorded)
        if not isinstance(recorded, RunStep):
            continue
        judging = good.get(step)
        if judging is None:
            figures = figure.compute(recorded.run.tires, day.plan.turns)
        else:
            figures = judging.figures
        number, at = len(found) + 1, dict(settings[step])
        tires = tires.put_on(recorded.run)
        found.append(RunSeen(number, step, recorded, judging, figures, at, tires.now, day))
        tires = tires.driven(day.plan.laps if recorded.run.laps is None else recorded.run.laps)
    return tuple(found)


def _changes(day: Day, runs: tuple[RunSeen, ...]) -> tuple[ChangeSeen, ...]:
    rested = amendments.all_rested(day.plan.step)
    made = {amendments.last_choice(day.steps[: past.step - 1]): past for past in day.past}
    back = {
        amendments.last_choice(day.steps[:at]): at + 1
        for at, step in enumerate(day.steps)
        if isinstance(step, TakenBackStep)
    }
    letters = {past.step: _letter(number) for number, past in enumerate(day.past)}
    found = []
    for number, step in enumerate(day.steps, start=1):
        if not isinstance(step, ChoiceStep) or step.chosen is None:
            continue
        past = made.get(number)
        after = None
        if past is not None:
            judging = (r for r in runs if r.step > past.step and r.good is not None)
            after = next(judging, None)
        before = next((run for run in reversed(runs) if run.step < number), None)
        seen = ChangeSeen(number, step, past, back.get(number), before, after, rested[number - 1])
        if past is not None:
            time = clock(day.steps[past.step - 1].time, day.steps[0].time)
            seen = attrs.evolve(seen, letter=letters[past.step], time=time)
        found.append(seen)
    return tuple(found)


def clock(at: datetime, begun: datetime) -> str:
    """Return a time of day, after its date where the day began on another."""
    return f"{at:%H:%M}" if at.date() == begun.date() else f"{at:%d %b %Y}, {at:%H:%M}"


def _letter(number: int) -> str:
    """Return A, B, … Z, AA, AB and so on for 0, 1, 2 and so on."""
    rest, last = divmod(number, len(ascii_uppercase))
    return (_letter(rest - 1) if rest else "") + ascii_uppercase[last]
