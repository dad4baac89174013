"""Replay: the steps of a plan led through the machine, one by one, to where the day stands."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import attrs

from planner import amends, beside, pressures, readings
from planner import car as car_file
from planner import changes as changing
from planner import figures as figure
from planner import outcome as outcomes
from planner import patterns as showing
from planner.candidates import Candidate, Past
from planner.errors import Unusable
from planner.observed import Observation
from planner.outcome import Outcome
from planner.patterns import WEAR_UNEVEN
from planner.plan import AmendStep, ChoiceStep, Judged, MadeStep, Plan, RunStep, Step
from planner.readings import Run, Settled
from planner.rulebook import TUNING_ORDER, Rulebook
from planner.stages import Course, Evidence, Trigger, due_words

if TYPE_CHECKING:  # numpy comes with it, and is loaded only when there is something to learn from
    pass
from planner.day import Day, GoodRun, learned, moved_by

# Cold pressures set this close to each other count as the same setting; gauges read to half of it.
SAME_PRESSURE = 0.5  # psi; from memory


@attrs.frozen
class _Stand:
    """Where the machine stood after a step."""

    state: str
    round: int
    left_open: frozenset[str]


class Fold:
    """The fold over the steps. Holds the machine, which is the one thing here that moves.

    An amendment begins a new fold over the steps before it, with the amended value in its place:
    see `amended`. `steps` are those folded so far, `trail` is where the machine stood before the
    first of them and after each, as it went.
    """

    def __init__(self, plan: Plan, book: Rulebook) -> None:
        self.plan = plan
        self.book = book
        self.course = Course()
        self.good: list[GoodRun] = []
        self.last: RunStep | None = None
        self.settings = car_file.starting_settings(plan.car)
        self.past: list[Past] = []
        self.pending: Candidate | None = None
        self.awaiting_outcome = False
        self.laps_run = 0
        self.left_open: frozenset[str] = frozenset()
        self.outcome: Outcome | None = None
        self.steps: list[Step] = []
        self.trail = [self._stand()]
        self.following = False

    def day(self) -> Day:
        return Day(
            plan=self.plan,
            book=self.book,
            stage=self.course.stage,
            due=self.course.due,
            round=self.course.round,
            good=tuple(self.good),
            last=self.last,
            settings=dict(self.settings),
            past=tuple(self.past),
            pending=self.pending,
            left_open=self.left_open,
            outcome=self.outcome,
            steps=tuple(self.steps),
        )

    def evidence(self) -> Evidence:
        latest = self.good[-1] if self.good else None
        patterns = latest.patterns if latest else ()
        faults = {p.stage for p in patterns if p.holds and p.key not in self.left_open}
        return Evidence(
            fault=next((stage for stage in TUNING_ORDER if stage in faults), None),
            unchanged=len(self.good) < 2 or _same_pressures(self.good[-2].run, self.good[-1].run),
            offer=any(p.id == WEAR_UNEVEN for p in patterns),
        )

    def judged(self, step: RunStep) -> RunStep:
        """Return a run step with everything worked out afresh from its readings."""
        self.correct(step)
        run, plan = step.run, self.plan
        void = readings.why_void(run, plan.laps)
        if void:
            return attrs.evolve(step, patterns=(), beside=(), doubt="", void=void, outcome=None)
        new = self.good_run(step, 0)
        first = self.good[0] if self.good else new
        seen = [good.seen for good in self.good]
        known = learned(plan, self.book, first, [*seen, new.seen])
        patterns = showing.find(
            run,
            known,
            self.book,
            latest=new.figures,
            certainty=plan.certainty,
            window=plan.car.tires.window,
            earlier=[good.run for good in self.good],
            system=plan.units,
        )
        patterns += pressures.findings(run, new.figures.averages(), self.settings)
        said = list(new.remarks)
        outcome, doubt = None, ""
        if self.awaiting_outcome and self.good:
            last = self.past[-1]
            before = learned(plan, self.book, first, seen)
            # By what was really made, which may differ from what was chosen.
            made = {change.setting: change.amount for change in last.made}
            aimed = [name for aim in last.candidate.aims for name in aim.figures]
            expected = {name: before.estimate(name, moved=made).mean for name in aimed}
            same = _same_setup(self.good)
            outcome = outcomes.judge(
                last.step,
                last.candidate.aims,
                expected,
                figure.mean([good.figures for good in same]),
                new.figures,
                before.priors.noise,
                runs_before=len(same),
                system=plan.units,
            )
            doubt = beside.doubt(last, before, new.seen, plan.units)
        if self.good:
            said.append(beside.laps(self.good[-1].run, run, outcome))
        said.append(beside.driver(run, patterns, self.book))
        told = tuple(sentence for sentence in said if sentence)
        return attrs.evolve(
            step, patterns=patterns, beside=told, doubt=doubt, void="", outcome=outcome
        )

    def correct(self, step: RunStep) -> None:
        """Put right what the last change really was, where the run says so."""
        if not step.really or not self.past:
            return
        last = self.past[-1]
        kept = {change.setting: change for change in last.made}
        kept |= {change.setting: change for change in step.really}
        for setting in kept:
            was = next((c.amount for c in last.made if c.setting == setting), 0.0)
            if setting in self.settings:
                moved = self.settings[setting] + kept[setting].amount - was
                self.settings[setting] = changing.tidy(moved)
        self.past[-1] = attrs.evolve(last, made=tuple(kept.values()))

    def good_run(self, step: RunStep, number: int) -> GoodRun:
        """Return a run with its figures and what the response model needs of it."""
        run = step.run
        settled = self.settled(run)
        figures = figure.compute(settled.tires, self.plan.turns)
        weather = {"track_temp": run.track_temp, "air_temp": run.air_temp}
        seen = Observation(
            figures.base,
            moved=moved_by(self.past),
            conditions={
                "tire_laps": float(self.laps_run),
                **{name: value for name, value in weather.items() if value is not None},
            },
            extra_variance=settled.extra_variance,
            level_variance=settled.level_variance,
        )
        return GoodRun(number, run, figures, step.patterns, seen, settled.remarks)

    def settled(self, run: Run) -> Settled:
        """Return the readings put back to one moment, where it was recorded how they were read."""
        if run.again is None and run.delay is None and not run.order:
            return Settled(run.tires)
        from planner import cooling

        return cooling.settle(run, self.book.noise, system=self.plan.units)

    def apply(self, step: Step, number: int) -> None:
        if isinstance(step, RunStep):
            self._apply_run(step, number)
        elif isinstance(step, ChoiceStep):
            self._apply_choice(step, number)
        elif isinstance(step, MadeStep):
            self._apply_made(step, number)
        self.steps.append(step)
        self.trail.append(self._stand())

    def amended(self, amend: AmendStep, *, afresh: bool) -> tuple["Fold", AmendStep]:
        """Return the fold after an amendment, and the amendment with what was judged again.

        Parameters
        ----------
        afresh : judge the runs again; otherwise they stand as the amendment has them.

        Notes
        -----
        The steps before the amendment are folded once more with the amended value in its place,
        so settings, figures, learning and outcomes are those of the right numbers. The machine
        is led along the trail it really went as far as the last run. From there on it goes by
        the last run as judged again: to another stage, or to the run being due again where that
        run is now void. Stages the crew left as they were since then stay left where they still
        show. But once a change has been chosen since the last run, or the crew has ended the
        day, the machine stays where it is: the right numbers tell in what is judged next.
        """
        steps = amends.in_place(self.steps, amend)
        again = {} if afresh else {judged.step: judged for judged in amend.judged}
        leads = len(steps) + 1 if amends.stage_stands(steps) else amends.last_run(steps)
        fold = Fold(self.plan, self.book)
        judged: list[Judged] = []
        for number, step in enumerate(steps, start=1):
            if isinstance(step, RunStep) and number >= amend.amends:
                step = _as_judged(step, again[number]) if number in again else fold.judged(step)
                judged.append(_judged_again(number, step))
            fold.following = number < leads
            if fold.following:
                fold.apply(step, number)
                fold._put(self.trail[number])
            elif isinstance(step, ChoiceStep):
                fold._leave_again(step, number)
            else:
                fold.apply(step, number)
        fold.following = False
        fold.steps.append(amend)
        fold.trail = [*self.trail, fold._stand()]
        return fold, attrs.evolve(amend, judged=tuple(judged))

    def _leave_again(self, step: ChoiceStep, number: int) -> None:
        """Leave a stage as it is once more, after the run it was left with was judged again."""
        if self.course.due == "choice":
            showing_now = {p.key for p in self.good[-1].patterns if p.holds}
            self.left_open |= set(step.left_open) & showing_now
            self._go("move_on", number, "the crew moves on")
        self.steps.append(step)

    def _stand(self) -> _Stand:
        return _Stand(self.course.state, self.course.round, self.left_open)

    def _put(self, stand: _Stand) -> None:
        self.course.put(stand.state, stand.round)
        self.left_open = stand.left_open

    def _apply_run(self, step: RunStep, number: int) -> None:
        self.correct(step)
        for corner, cold in step.run.cold.items():
            self.settings["pressure", corner] = cold
        self.last = step
        if step.void:
            self.laps_run += self._laps(step.run)
            self._go("bad_run", number, "a run is recorded")
            return
        self.good.append(self.good_run(step, number))
        self.laps_run += self._laps(step.run)
        # What was left as it is stays left only while it is there, and only for this round.
        showing_now = {p.key for p in step.patterns if p.holds}
        self.left_open &= showing_now
        if self.course.stage == "confirm":
            self.left_open = frozenset()
        if step.outcome is not None:
            self.outcome = step.outcome
            self.past[-1] = attrs.evolve(self.past[-1], outcome=step.outcome)
        self.awaiting_outcome = False
        self._go("good_run", number, "a run is recorded")

    def _laps(self, run: Run) -> int:
        return self.plan.laps if run.laps is None else run.laps

    def _apply_choice(self, step: ChoiceStep, number: int) -> None:
        if step.stage != self.course.stage and not self.following:
            raise _out_of_order(number, f"a choice in the {step.stage} stage", self.course)
        if step.chosen is None:
            self.left_open |= set(step.left_open)
            self._go("move_on", number, "the crew moves on")
        else:
            self.pending = step.chosen
            self._go("take", number, "a change is chosen")

    def _apply_made(self, step: MadeStep, number: int) -> None:
        self._go("made", number, "a change is made")
        assert self.pending is not None
        self.past.append(Past(number, self.pending, step.changes))
        for change in step.changes:
            if change.setting in self.settings:
                moved = self.settings[change.setting] + change.amount
                self.settings[change.setting] = changing.tidy(moved)
        self.pending = None
        self.awaiting_outcome = any(change.amount for change in step.changes)

    def _go(self, trigger: Trigger, number: int, what: str) -> None:
        if self.following:
            return
        if not self.course.go(trigger, self.evidence()):
            raise _out_of_order(number, what, self.course)


def _judged_again(number: int, step: RunStep) -> Judged:
    return Judged(number, step.patterns, step.beside, step.doubt, step.void, step.outcome)


def _as_judged(step: RunStep, again: Judged) -> RunStep:
    return attrs.evolve(
        step,
        patterns=again.patterns,
        beside=again.beside,
        doubt=again.doubt,
        void=again.void,
        outcome=again.outcome,
    )


def _out_of_order(number: int, what: str, course: Course) -> Unusable:
    return Unusable(
        "out-of-order",
        f"Step {number} cannot have happened there: {what}, but in the {course.stage} stage "
        f"{due_words(course.due)}.",
        where=f"step {number}",
        hint="put the steps back as they were (the previous version is kept beside the plan)",
    )


def _same_pressures(one: Run, other: Run) -> bool:
    both = one.cold.keys() & other.cold.keys()
    return all(abs(one.cold[corner] - other.cold[corner]) <= SAME_PRESSURE for corner in both)


def _same_setup(good: Sequence[GoodRun]) -> list[GoodRun]:
    """Return the latest good runs between which nothing was moved, oldest first."""
    latest = good[-1].seen.moved
    same: list[GoodRun] = []
    for run in reversed(good):
        if run.seen.moved != latest:
            break
        same.insert(0, run)
    return same


def replay(plan: Plan, book: Rulebook) -> Day:
    """Work out where a plan stands.

    Earlier runs stand as they were judged when the crew decided on them; the last run, on which
    nothing rests yet, is judged afresh, so that a mended reading counts. The same goes for the
    runs that an amendment had judged again.

    Parameters
    ----------
    plan : the plan.
    book : its rules, turned the way its track turns.

    Raises
    ------
    Unusable
        The steps could not have happened in this order; names the step.
    """
    return fold(plan, book).day()


def fold(plan: Plan, book: Rulebook) -> Fold:
    """Return the fold over all steps of a plan; see `replay`."""
    folded = Fold(plan, book)
    for number, step in enumerate(plan.step, start=1):
        last = number == len(plan.step)
        if isinstance(step, AmendStep):
            folded, step = folded.amended(step, afresh=last)
        else:
            if last and isinstance(step, RunStep):
                step = folded.judged(step)
            folded.apply(step, number)
        if last:  # what is saved next must hold what was decided on
            folded.plan = attrs.evolve(plan, step=(*plan.step[:-1], step))
    return folded
