"""The day: where a plan stands, as derived from its steps (`fold`), and what it knows."""

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import attrs

from planner.advice import offers
from planner.advice.another_run import AnotherRun, another_run
from planner.advice.candidate import Candidate, Table
from planner.advice.outlook import Outlook
from planner.advice.past import Past
from planner.advice.situation import Situation
from planner.car import car_file, units_of_work
from planner.car import limits as limiting
from planner.car.at_the_car import AtTheCar, InTurn, at_the_car, in_turn
from planner.car.car_file import Car
from planner.car.car_model import CarModel
from planner.car.changes import Setting
from planner.car.limits import Limits
from planner.judging.evidence import Evidence, evidence
from planner.judging.heat import TooHot, too_hot
from planner.judging.outcomes import Outcome
from planner.judging.patterns import Pattern
from planner.judging.remarks import Remark, remarks
from planner.learning import beliefs
from planner.learning.earlier import OutOfCharacter, out_of_character
from planner.learning.observed import Observation, Priors
from planner.plan.machine import Due, Place, Stage
from planner.plan.steps import CarStep, Plan, RunStep, Step
from planner.plan.tire_sets import TireSets
from planner.rulebook.own_bands import Own
from planner.rulebook.rules import TUNING_ORDER, Rulebook, TuningStage
from planner.run.readings import ReadingRemark, Run
from planner.trade import figures as figure
from planner.trade import knobs
from planner.trade.corners import was_read
from planner.trade.estimate import Estimate
from planner.trade.figures import Figures

if TYPE_CHECKING:  # numpy comes with it, and is loaded only when there is something to learn from
    from planner.learning.posterior import Posterior

MOST_UNLIKE = 3  # figures out of character that are named; more say no more

Beliefs = Mapping[Setting, Mapping[str, Estimate]]


@attrs.frozen
class GoodRun:
    """A run that judges the setup.

    Attributes
    ----------
    run : as recorded, with what was said by then of its set of tires.
    figures : of its readings.
    patterns : what all runs up to it showed.
    seen : the run as the response model sees it.
    level : the set of tires and the part of the day it was on, by ``set`` and ``part``.
    remarks : what should be known of how it was read.
    """

    step: int
    run: Run
    figures: Figures
    patterns: tuple[Pattern, ...]
    seen: Observation
    level: Mapping[str, str]
    remarks: tuple[ReadingRemark, ...] = ()

    @property
    def is_corrected(self) -> bool:
        """Whether its readings were corrected to one moment; its figures are then not as read."""
        if self.run.again is None:
            return False
        read = figure.compute(self.run.tires, self.figures.turns).base
        return any(at != self.figures.base[name] for name, at in read.items() if was_read(at))


@attrs.frozen
class Stand:
    """Where the machine stands after a step, and the patterns the crew has left as they are.

    Attributes
    ----------
    left : of each of those, as ``id:corner``, the step of the run it was last left on.
    """

    place: Place
    left: Mapping[str, int] = attrs.field(factory=dict)


@attrs.frozen
class Day:
    """Where a plan stands: the state of the fold over its steps (`fold.advance`).

    Attributes
    ----------
    plan : with the steps so far, as recorded.
    rules, book : the rules as their file has them, turned the way the track turns; and as this car
        is judged by them now.
    own : the car's own figures in balance, by the runs before the last that counts.
    steps : the same with amended values in their place.
    good : runs that judge the setup, oldest first.
    last : the last run recorded, good or not.
    settings : what is on the car, where known.
    past : changes made so far.
    moved_before : displacements by all changes but the last, to which a run may add.
    pending : the candidate chosen and not yet made.
    as_set : the last run was driven on the cold pressures the tires were set to.
    tires : the sets of tires, and which is on the car.
    part : which part of the day it is: another begins with a run on another date or hours later.
    trusted : the set and the part of the day that the crew last moved on in, judging by the run
        before.
    outcome : what came of the last change judged.
    trail : where the machine stood before the first step and after each, as it went.
    waits : where it stands by the time it is, if a run is due before the choice; see `baseline`.
    given : the car file given last in the course of the day, if one was.
    before : the day before the last step, by the values in force; an amendment goes back there.
    learned_last : `known`, kept from judging the last run; None where it is not at hand.
    held : what was believed before the first run; None where it is not at hand.
    """

    plan: Plan
    rules: Rulebook
    book: Rulebook
    settings: Mapping[Setting, float]
    trail: tuple[Stand, ...]
    own: Mapping[str, Own] = attrs.field(factory=dict)
    good: tuple[GoodRun, ...] = ()
    last: RunStep | None = None
    past: tuple[Past, ...] = ()
    moved_before: Mapping[Setting, float] = attrs.field(factory=dict)
    pending: Candidate | None = None
    as_set: bool = True
    tires: TireSets = TireSets()
    part: int = 1
    trusted: Mapping[str, str] = attrs.field(factory=dict)
    outcome: Outcome | None = None
    steps: tuple[Step, ...] = ()
    waits: Place | None = None
    given: CarStep | None = None
    before: "Day | None" = attrs.field(default=None, eq=False, repr=False)
    learned_last: "Posterior | None" = attrs.field(default=None, eq=False, repr=False)
    held: Beliefs | None = attrs.field(default=None, eq=False, repr=False)

    @property
    def car(self) -> Car:
        """What is known of the car now: by the file given last."""
        return self.plan.car if self.given is None else self.given.car

    @cached_property
    def begun(self) -> dict[Setting, float]:
        """Settings as the day began, by the car file in force, where they are known.

        A file given later tells the settings of that moment: what was moved before is taken off.
        """
        found = car_file.starting_settings(self.car)
        if self.given is None:
            return found
        steps = next(n for n, step in enumerate(self.steps, 1) if step is self.given)
        moved = moved_by(past for past in self.past if past.step < steps)
        return {setting: at - moved.get(setting, 0.0) for setting, at in found.items()}

    @property
    def stand(self) -> Stand:
        """Where the machine stands now."""
        return self.trail[-1]

    @property
    def place(self) -> Place:
        """The stage, what is due in it, and which round it is."""
        return self.stand.place if self.waits is None else self.waits

    @property
    def stage(self) -> Stage:
        """The stage that is due."""
        return self.place.stage

    @property
    def due(self) -> Due:
        """What is due in it."""
        return self.place.due

    @property
    def round(self) -> int:
        """How many times the tuning order has been started."""
        return self.place.round

    @property
    def left_open(self) -> frozenset[str]:
        """Patterns the crew has left as they are; they rest until gone or clearly worse."""
        return frozenset(self.stand.left)

    def standing(self, stand: Stand) -> "Day":
        """Return the same day with the machine standing elsewhere."""
        return attrs.evolve(self, trail=(*self.trail[:-1], stand))

    def at(self, number: int) -> "Day":
        """Return the day after its first steps, by the values now in force."""
        day = self
        while len(day.steps) > number:
            assert day.before is not None
            day = day.before
        return day

    @cached_property
    def known(self) -> "Posterior":
        """What all good runs so far say of the car; there must be one."""
        return self.learned_last or self.known_by(len(self.good))

    def known_by(self, runs: int) -> "Posterior":
        """Return what the first good runs say of the car; there must be one."""
        return learned(self.plan, self.book, self.good[:runs], self.held_from(self.good[0]))

    def held_from(self, first: GoodRun) -> Beliefs:
        """Return what was believed before the first run.

        Parameters
        ----------
        first : the first good run, where the day has none yet.
        """
        if self.held is not None:
            return self.held
        return believed(self, self.good[0] if self.good else first)

    def remarks_on(self, number: int, run: RunStep) -> tuple[Remark, ...]:
        """Return what else a run said, beside its temperatures, as it was judged.

        Tires that must be looked at stand first, those of a run that judges nothing too.

        Parameters
        ----------
        number : of its step.
        run : the step, as recorded or with amended values.
        """
        hot = too_hot(run.run, self.book.too_hot)
        if run.void is not None:
            return hot
        here = next((good for good in self.good if good.step == number), None)
        before = next((good.run for good in reversed(self.good) if good.step < number), None)
        beside = remarks(before, run.run, run.patterns, run.outcome, self.book)
        unlike = self._unlike() if here is not None and before is None else ()
        return (*hot, *(() if here is None else here.remarks), *unlike, *beside)

    def _unlike(self) -> tuple[OutOfCharacter, ...]:
        """Return what of the first run is not as this setup has been at this track."""
        seen = self.good[0].seen
        if self.plan.usual is None or seen.setup:
            return ()
        return out_of_character(self.plan.usual, seen, self.book.noise)[:MOST_UNLIKE]

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """What else the last run said, beside its temperatures."""
        at = next((n for n in range(len(self.steps), 0, -1) if self.steps[n - 1] is self.last), 0)
        return () if self.last is None else self.remarks_on(at, self.last)

    @property
    def too_hot(self) -> tuple[TooHot, ...]:
        """Tires to be looked at before anything else, by the last run; the hottest first."""
        return () if self.last is None else too_hot(self.last.run, self.book.too_hot)

    def evidence_for(self, pattern: Pattern, number: int, run: Run) -> tuple[Evidence, ...]:
        """Return what wear and the driver say of a pattern that the run of a step showed."""
        return evidence(pattern, run, self.same_tires(number), self.book, self.plan.turns)

    def same_tires(self, number: int) -> tuple[Run, ...]:
        """Return the good runs before a step that were on the same set of tires."""
        there = next((good for good in self.good if good.step == number), None)
        on = self.tires.on if there is None else there.level[knobs.SET]
        return tuple(g.run for g in self.good if g.step < number and g.level[knobs.SET] == on)

    @property
    def open_patterns(self) -> tuple[Pattern, ...]:
        """Clear patterns of the stage that is due."""
        patterns = self.good[-1].patterns if self.good else ()
        return tuple(p for p in patterns if p.holds and p.stage == self.stage)

    @property
    def level(self) -> dict[str, str]:
        """The set of tires and the part of the day, by ``set`` and ``part``."""
        return {knobs.SET: self.tires.on, knobs.PART: str(self.part)}

    @property
    def on_trial(self) -> tuple[Past, ...]:
        """The changes made that no run has judged yet; the next one judges them together."""
        since = self.good[-1].step if self.good else 0
        return tuple(past for past in self.past if past.step > since and past.is_made)

    @property
    def judged(self) -> Past | None:
        """The last change that a run has judged, which `outcome` is of."""
        return next((past for past in reversed(self.past) if past.outcome is not None), None)

    def table(self) -> Table:
        """Return the candidates on the table now; empty unless a choice may be made."""
        return self._table

    @cached_property
    def _table(self) -> Table:
        if not self.good:
            return Table()
        if self.due == "choice" and self.stage in TUNING_ORDER:
            return offers.lay_out(self.situation(self.stage))
        if self.stage == "confirm" and self.due == "run":
            return offers.against_wear(self.situation("cross"))
        return Table()

    @cached_property
    def another_run(self) -> AnotherRun | None:
        """What the car run once more as it is may settle; None where no choice is due."""
        if self.due != "choice" or self.stage not in TUNING_ORDER:
            return None
        return another_run(self.situation(self.stage))

    @cached_property
    def one_more_run(self) -> float | None:
        """How many faults one more run, unchanged, is expected to leave unseen.

        None where the day is not at its end, or no run judges the car as it is.
        """
        at_its_end = self.stage in ("confirm", "complete") and self.good
        if not at_its_end or moved_since_last_good(self):
            return None
        return Outlook(self.known, self.book, self.left_open).unseen_after_another_run

    def in_settings(
        self, wanted: Sequence[tuple[str, str, float]], where: str
    ) -> list[tuple[str, str, float]]:
        """Return changes with turns of jacks and holes of a bar as the settings they come to."""
        if all(knob not in (knobs.JACK, knobs.HOLES) for knob, _, _ in wanted):
            return list(wanted)
        return units_of_work.in_settings(wanted, self._model, where)

    def how(self, candidate: Candidate) -> tuple[AtTheCar, ...]:
        """Return what a candidate's own changes mean in work on the car as it is now."""
        return tuple(
            line for change in candidate.own_changes for line in at_the_car(change, self._model)
        )

    def in_turn(self, candidate: Candidate) -> InTurn | None:
        """Return what a candidate does in the middle of the turn, where that is computed."""
        return in_turn(candidate.changes, self._model)

    @cached_property
    def limits(self) -> Limits:
        """How far every setting may go."""
        return limiting.of(self.car, self.book.cold_ends(self.plan.turns))

    @cached_property
    def _model(self) -> CarModel:
        """The car as it is after the last run that judges it, if there is one."""
        latest = self.good[-1] if self.good else None
        return CarModel(
            self.car,
            self.settings,
            moved_by(self.past),
            Run({}) if latest is None else latest.run,
            {} if latest is None else latest.figures.levels(),
            self.plan.turns,
        )

    def situation(self, stage: TuningStage) -> Situation:
        """Return what the candidates of a stage are worked out from."""
        latest = self.good[-1]
        return Situation(
            stage=stage,
            figures=latest.figures,
            patterns=tuple(p for p in latest.patterns if self.book.knows(p.id, p.stage)),
            book=self.book,
            settings=self.settings,
            limits=self.limits,
            run=latest.run,
            model=self._model,
            outlook=Outlook(self.known, self.book, self.left_open),
            past=self.past,
            earlier=self.same_tires(latest.step),
            taught=frozenset(self.plan.taught.settings),
            one_change=self.plan.one_change,
        )


def moved_since_last_good(day: Day) -> dict[Setting, float]:
    """Return what was moved on the car since the last run that judges it [unit of the knob]."""
    seen = day.good[-1].seen.moved
    now = moved_by(day.past)
    since = {setting: amount - seen.get(setting, 0.0) for setting, amount in now.items()}
    return {setting: amount for setting, amount in since.items() if abs(amount) > 1e-9}


def moved_by(
    past: Iterable[Past], before: Mapping[Setting, float] | None = None
) -> dict[Setting, float]:
    """Return how far every setting has been moved in all, by what was really made.

    Parameters
    ----------
    before : how far earlier changes have moved it.
    """
    total = dict(before or {})
    for each in past:
        for change in each.made:
            total[change.setting] = total.get(change.setting, 0.0) + change.amount
    return total


def first_model(day: Day, first: GoodRun) -> CarModel:
    """Return the car as it was first run, with what was changed before that."""
    before = first.seen.moved
    return CarModel(
        day.car,
        {setting: value + before.get(setting, 0.0) for setting, value in day.begun.items()},
        {},
        first.run,
        first.figures.levels(),
        day.plan.turns,
    )


def believed(day: Day, first: GoodRun) -> Beliefs:
    """Return what is believed of the car before its first run, computed from its loads then."""
    return beliefs.effects(day.book, first_model(day, first))


def learned(plan: Plan, book: Rulebook, good: Sequence[GoodRun], held: Beliefs) -> "Posterior":
    """Return what the good runs of a day say of the car.

    Parameters
    ----------
    held : what is `believed` before its first run.
    """
    from planner.learning.reading_noise import estimate_noise
    from planner.learning.response import learn

    seen = [each.seen for each in good]
    priors = Priors(held, noise=estimate_noise(seen, book.noise), told=plan.taught)
    return learn(seen, priors, plan.turns)
