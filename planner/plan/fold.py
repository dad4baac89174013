"""Replay: the steps of a plan led through the machine, one by one, to where the day stands."""

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import attrs

from planner.advice.candidate import Candidate
from planner.advice.past import Past
from planner.car import car_file
from planner.car import changes as changing
from planner.car.changes import Setting
from planner.judging import beside, outcomes, pressures
from planner.judging import patterns as showing
from planner.judging.outcomes import Outcome
from planner.judging.patterns import WEAR_UNEVEN
from planner.learning.observed import Observation
from planner.plan import amendments
from planner.plan.day import Day, GoodRun, believed, learned, moved_by
from planner.plan.machine import Course, Evidence, Trigger, due_words
from planner.plan.steps import (
    AmendStep,
    ChoiceStep,
    Judged,
    MadeStep,
    Plan,
    RunStep,
    Step,
    TakenBackStep,
)
from planner.rulebook.rules import TUNING_ORDER, Rulebook
from planner.run import readings
from planner.run.readings import Run, Settled
from planner.trade import figures as figure
from planner.trade.refusals import Unusable

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.response import Posterior

# Cold pressures set this close to each other count as the same setting; gauges read to half of it.
SAME_PRESSURE = 0.5  # psi; from memory


@attrs.frozen
class _Stand:
    """Where the machine stood after a step."""

    state: str
    round: int
    left_open: frozenset[str]


@attrs.frozen(eq=False)
class _Facts:
    """What the steps so far come to, apart from the machine; the attributes are those of `Fold`."""

    good: tuple[GoodRun, ...]
    last: RunStep | None
    settings: Mapping[Setting, float]
    past: tuple[Past, ...]
    moved_before: Mapping[Setting, float]
    pending: Candidate | None
    awaiting_outcome: bool
    laps_run: int
    outcome: Outcome | None


class Fold:
    """The fold over the steps. Holds the machine, which is the one thing here that moves.

    An amendment goes back to the step it amends and folds from there, with the amended value in
    its place: see `amended`. `steps` are those folded so far. `trail` is where the machine stood
    before the first of them and after each, as it went; `facts` is the rest of what was known
    there, by the values now in force.

    Every step costs the same, however many came before it: what is summed up over them
    (`moved_before`: displacements by all changes but the last, to which a run may add) is carried.
    """

    def __init__(self, plan: Plan, book: Rulebook, course: Course | None = None) -> None:
        self.plan = plan
        self.book = book
        self.course = course or Course()
        self.good: tuple[GoodRun, ...] = ()
        self.last: RunStep | None = None
        self.settings: Mapping[Setting, float] = car_file.starting_settings(plan.car)
        self.past: tuple[Past, ...] = ()
        self.moved_before: Mapping[Setting, float] = {}
        self.pending: Candidate | None = None
        self.awaiting_outcome = False
        self.laps_run = 0
        self.left_open: frozenset[str] = frozenset()
        self.outcome: Outcome | None = None
        self.steps: list[Step] = []
        self.trail = [self._stand()]
        self.facts = [self._facts()]
        self.following = False
        self.reckoned: tuple[int, Posterior] | None = None  # by the last judging: of how many runs

    def day(self) -> Day:
        """Return where the day stands."""
        runs, known = self.reckoned or (0, None)
        return Day(
            plan=self.plan,
            book=self.book,
            stage=self.course.stage,
            due=self.course.due,
            round=self.course.round,
            good=self.good,
            last=self.last,
            settings=dict(self.settings),
            past=self.past,
            pending=self.pending,
            left_open=self.left_open,
            outcome=self.outcome,
            steps=tuple(self.steps),
            reckoned=known if runs == len(self.good) else None,
        )

    def evidence(self) -> Evidence:
        """Return all that the machine decides its next move on."""
        latest = self.good[-1] if self.good else None
        patterns = latest.patterns if latest else ()
        faults = {p.stage for p in patterns if p.holds and p.key not in self.left_open}
        return Evidence(
            fault=next((stage for stage in TUNING_ORDER if stage in faults), None),
            unchanged=len(self.good) < 2 or _same_pressures(self.good[-2].run, self.good[-1].run),
            offer=any(p.id == WEAR_UNEVEN for p in patterns),
            void=self.last is not None and bool(self.last.void),
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
        held = believed(plan, self.book, first)
        known = learned(plan, self.book, first, [*seen, new.seen], held)
        self.reckoned = len(seen) + 1, known
        patterns = showing.find(
            run,
            known,
            self.book,
            latest=new.figures,
            certainty=plan.certainty,
            window=plan.car.tires.window,
            earlier=[good.run for good in self.good],
            left_open=() if self.course.stage == "confirm" else self.left_open,
            system=plan.units,
        )
        patterns += pressures.findings(run, new.figures.averages(), self.settings)
        said = list(new.remarks)
        outcome, doubt = None, ""
        if self.awaiting_outcome and self.good:
            last = self.past[-1]
            before = learned(plan, self.book, first, seen, held)
            # By what was really made, which may differ from what was chosen.
            made = {change.setting: change.amount for change in last.made}
            aimed = last.candidate.aimed(self.book)
            expected = {name: before.estimate(name, moved=made).mean for name in aimed}
            same = _same_setup(self.good)
            outcome = outcomes.judge(
                last.step,
                last.candidate.aims(self.book),
                expected,
                figure.mean([good.figures for good in same]),
                new.figures,
                before.priors.noise,
                runs_before=len(same),
                system=plan.units,
            )
            doubt = beside.doubt(aimed, before, new.seen, plan.units)
        if self.good:
            said.append(beside.laps(self.good[-1].run, run, outcome))
        said.append(beside.driver(run, patterns, self.book))
        told = tuple(sentence for sentence in said if sentence)
        return attrs.evolve(
            step, patterns=patterns, beside=told, doubt=doubt, void="", outcome=outcome
        )

    def correct(self, step: RunStep) -> None:
        """Put right what the last change really was, where the run says so.

        A pressure that was read cold since the change stands as it was read.
        """
        if not step.really or not self.past:
            return
        last = self.past[-1]
        kept = {change.setting: change for change in last.made}
        kept |= {change.setting: change for change in step.really}
        read = {
            ("pressure", corner)
            for since in self.steps[last.step :]
            if isinstance(since, RunStep)
            for corner in since.run.cold
        }
        for setting in kept.keys() - read:
            was = next((c.amount for c in last.made if c.setting == setting), 0.0)
            self._move(setting, kept[setting].amount - was)
        self.past = (*self.past[:-1], attrs.evolve(last, made=tuple(kept.values())))

    def _move(self, setting: Setting, amount: float) -> None:
        """Turn a knob, where it is known where it stands."""
        if setting in self.settings:
            moved = changing.tidy(self.settings[setting] + amount)
            self.settings = {**self.settings, setting: moved}

    def good_run(self, step: RunStep, number: int) -> GoodRun:
        """Return a run with its figures and what the response model needs of it."""
        run = step.run
        settled = self.settled(run)
        figures = figure.compute(settled.tires, self.plan.turns)
        weather = {"track_temp": run.track_temp, "air_temp": run.air_temp}
        seen = Observation(
            figures.base,
            moved=moved_by(self.past[-1:], self.moved_before),
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
        from planner.run import cooling

        return cooling.settle(run, self.book.noise, system=self.plan.units)

    def apply(self, step: Step, number: int) -> None:
        """Lead one step more through the machine.

        Raises
        ------
        Unusable
            It cannot have happened there.
        """
        if isinstance(step, RunStep):
            self._apply_run(step, number)
        elif isinstance(step, ChoiceStep):
            self._apply_choice(step, number)
        elif isinstance(step, TakenBackStep):
            self._go("take_back", number, "a choice is taken back")
            self.pending = None
        elif isinstance(step, MadeStep):
            self._apply_made(step, number)
        self._done(step)

    def amended(self, amend: AmendStep, *, afresh: bool) -> tuple["Fold", AmendStep]:
        """Return the fold after an amendment, and the amendment with what was judged again.

        Parameters
        ----------
        afresh : judge the runs again; otherwise they stand as the amendment has them.

        Notes
        -----
        The steps from the amended one on are folded once more with the amended value in its
        place, so settings, figures, learning and outcomes are those of the right numbers. The
        machine is led along the trail it really went as far as the last run. From there on it
        goes by the last run as judged again: to another stage, or to the run being due again
        where that run is now void. Stages the crew left as they were since then stay left where
        they still show. But once a change has been chosen since the last run, or the crew has
        ended the day, the machine stays where it is: the right numbers tell in what is judged
        next.
        """
        steps = amendments.in_place(self.steps, amend)
        again = {} if afresh else {judged.step: judged for judged in amend.judged}
        leads = len(steps) + 1 if amendments.stage_stands(steps) else amendments.last_run(steps)
        fold = self._back_to(amend.amends - 1)
        judged: list[Judged] = []
        for number, step in enumerate(steps[amend.amends - 1 :], start=amend.amends):
            if isinstance(step, RunStep):
                step = _as_judged(step, again[number]) if number in again else fold.judged(step)
                judged.append(_judged_again(number, step))
            fold.following = number < leads
            if fold.following:
                fold.apply(step, number)
                fold._put(self.trail[number])
            elif isinstance(step, ChoiceStep):
                fold._leave_again(step, number)
            elif isinstance(step, TakenBackStep):  # gone together with its choice
                fold._done(step)
            else:
                fold.apply(step, number)
        fold.following = False
        fold._done(amend)
        fold.trail = [*self.trail, fold._stand()]
        return fold, attrs.evolve(amend, judged=tuple(judged))

    def _back_to(self, number: int) -> "Fold":
        """Return a fold over the first steps alone, by the values in force; it takes the machine.

        Another machine would do as well, but takes longer to make than most amendments to fold.
        """
        fold = Fold(self.plan, self.book, self.course)
        fold._stand_after(self.steps[:number], self.trail[: number + 1], self.facts[: number + 1])
        return fold

    def _stand_after(
        self, steps: Iterable[Step], trail: Iterable[_Stand], facts: Iterable[_Facts]
    ) -> None:
        """Stand where another fold stood, after these steps."""
        self.steps, self.trail, self.facts = list(steps), list(trail), list(facts)
        known = self.facts[-1]
        self.good, self.last, self.settings = known.good, known.last, known.settings
        self.past, self.moved_before, self.pending = known.past, known.moved_before, known.pending
        self.awaiting_outcome, self.laps_run = known.awaiting_outcome, known.laps_run
        self.outcome = known.outcome
        self._put(self.trail[-1])

    def _leave_again(self, step: ChoiceStep, number: int) -> None:
        """Leave a stage as it is once more, after the run it was left with was judged again.

        A change chosen here was taken back, or the stage would stand.
        """
        if self.course.due == "choice" and step.chosen is None:
            showing_now = {p.key for p in self.good[-1].patterns if p.holds}
            self.left_open |= set(step.left_open) & showing_now
            self._go("move_on", number, "the crew moves on")
        self._done(step)

    def _done(self, step: Step) -> None:
        self.steps.append(step)
        self.trail.append(self._stand())
        self.facts.append(self._facts())

    def _facts(self) -> _Facts:
        return _Facts(
            self.good,
            self.last,
            self.settings,
            self.past,
            self.moved_before,
            self.pending,
            self.awaiting_outcome,
            self.laps_run,
            self.outcome,
        )

    def _stand(self) -> _Stand:
        return _Stand(self.course.state, self.course.round, self.left_open)

    def _put(self, stand: _Stand) -> None:
        self.course.put(stand.state, stand.round)
        self.left_open = stand.left_open

    def _apply_run(self, step: RunStep, number: int) -> None:
        self.correct(step)
        cold: dict[Setting, float] = {("pressure", c): psi for c, psi in step.run.cold.items()}
        self.settings = {**self.settings, **cold}
        self.last = step
        if step.void:
            self.laps_run += self._laps(step.run)
            self._go("bad_run", number, "a run is recorded")
            return
        self.good = (*self.good, self.good_run(step, number))
        self.laps_run += self._laps(step.run)
        # What was left as it is stays left only while it is there, and only for this round.
        showing_now = {p.key for p in step.patterns if p.holds}
        self.left_open &= showing_now
        if self.course.stage == "confirm":
            self.left_open = frozenset()
        if step.outcome is not None:
            if not self.past:
                raise _out_of_order(number, "the outcome of a change", self.course)
            self.outcome = step.outcome
            last = attrs.evolve(self.past[-1], outcome=step.outcome)
            self.past = (*self.past[:-1], last)
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
        self.moved_before = moved_by(self.past[-1:], self.moved_before)
        self.past = (*self.past, Past(number, self.pending, step.changes))
        for change in step.changes:
            self._move(change.setting, change.amount)
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
        same.append(run)
    return same[::-1]


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


@attrs.frozen(eq=False)
class _Folded:
    """The latest plan that was folded, and the fold as it was after its last step.

    Attributes
    ----------
    given : the plan as it was asked for.
    plan : the same with its last step as judged.
    """

    given: Plan
    plan: Plan
    book: Rulebook
    steps: tuple[Step, ...]
    trail: tuple[_Stand, ...]
    facts: tuple[_Facts, ...]

    def leads_to(self, plan: Plan, book: Rulebook) -> bool:
        """Say whether a plan is this one, or this one with more steps."""
        if (book is not self.book and book != self.book) or attrs.evolve(
            plan, step=()
        ) != attrs.evolve(self.plan, step=()):
            return False
        return _begins_with(plan.step, self.plan.step) or (
            len(plan.step) == len(self.given.step) and _begins_with(plan.step, self.given.step)
        )


_latest: list[_Folded] = []


def _begins_with(steps: Sequence[Step], head: Sequence[Step]) -> bool:
    """Say whether steps begin with these very records; equal ones are read from a file anew."""
    return len(steps) >= len(head) and all(a is b for a, b in zip(steps, head, strict=False))


def fold(plan: Plan, book: Rulebook) -> Fold:
    """Return the fold over all steps of a plan; see `replay`.

    Notes
    -----
    The latest fold is remembered. Looking at a plan, making a move and looking at what came of it
    ask for the same steps over and over, with one more now and then; only those not yet folded
    are. Records are frozen, so nothing can have changed in those that are.
    """
    folded = Fold(plan, book)
    if _latest and _latest[0].leads_to(plan, book):
        folded.plan = _latest[0].plan
        folded._stand_after(_latest[0].steps, _latest[0].trail, _latest[0].facts)
    for number, step in enumerate(plan.step[len(folded.steps) :], start=len(folded.steps) + 1):
        last = number == len(plan.step)
        if isinstance(step, AmendStep):
            folded, step = folded.amended(step, afresh=last)
        else:
            if last and isinstance(step, RunStep):
                step = folded.judged(step)
            folded.apply(step, number)
        if last:  # what is saved next must hold what was decided on
            folded.plan = attrs.evolve(plan, step=(*plan.step[:-1], step))
            folded.steps[-1] = step
    steps, trail, facts = tuple(folded.steps), tuple(folded.trail), tuple(folded.facts)
    _latest[:] = [_Folded(plan, folded.plan, book, steps, trail, facts)]
    return folded
