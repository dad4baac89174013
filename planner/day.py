"""The day: where a plan stands, replayed from its steps, and the moves that add one.

Nothing here reads a file, a clock or a terminal. `replay` turns a plan into a `Day`; `record`,
`choose`, `choose_own`, `move_on`, `made`, `amend_run` and `amend_made` each return the plan with
one step more, or refuse.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING

import attrs

from planner import amends, beliefs, beside, on_car, pressures, readings
from planner import candidates as offering
from planner import car as car_file
from planner import changes as changing
from planner import figures as figure
from planner import outcome as outcomes
from planner import patterns as showing
from planner.candidates import Candidate, Past, Situation, Table
from planner.car_model import CarModel
from planner.changes import Setting
from planner.errors import Refusal, Unusable
from planner.figures import Figures
from planner.observed import Observation, Priors
from planner.outcome import Outcome
from planner.outlook import Outlook
from planner.patterns import WEAR_UNEVEN, Pattern
from planner.plan import AmendStep, ChoiceStep, Judged, MadeStep, Offered, Plan, RunStep, Step
from planner.readings import Run, Settled
from planner.rulebook import TUNING_ORDER, Effect, Rulebook, TuningStage
from planner.stages import Course, Due, Evidence, Stage, Trigger

if TYPE_CHECKING:  # numpy comes with it, and is loaded only when there is something to learn from
    from planner.response import Posterior

# Cold pressures set this close to each other count as the same setting; gauges read to half of it.
SAME_PRESSURE = 0.5  # psi; from memory


@attrs.frozen
class GoodRun:
    """A run that judges the setup.

    Attributes
    ----------
    figures : of its readings.
    patterns : what all runs up to it showed.
    seen : the run as the response model sees it.
    remarks : what should be known of how it was read.
    """

    step: int
    run: Run
    figures: Figures
    patterns: tuple[Pattern, ...]
    seen: Observation
    remarks: tuple[str, ...] = ()


@attrs.frozen
class Day:
    """Where a plan stands; everything here is derived from its steps.

    Attributes
    ----------
    stage, due, round : the state of the machine.
    good : runs that judge the setup, oldest first.
    last : the last run recorded, good or not.
    settings : what is on the car, where known.
    past : changes made so far.
    pending : the candidate chosen and not yet made.
    left_open : patterns the crew has left as they are.
    outcome : what came of the last change judged.
    steps : the steps of the plan with amended values in their place.
    """

    plan: Plan
    book: Rulebook
    stage: Stage
    due: Due
    round: int
    good: tuple[GoodRun, ...]
    last: RunStep | None
    settings: Mapping[Setting, float]
    past: tuple[Past, ...]
    pending: Candidate | None
    left_open: frozenset[str]
    outcome: Outcome | None
    steps: tuple[Step, ...] = ()

    @cached_property
    def known(self) -> "Posterior":
        """What all good runs so far say of the car; there must be one."""
        return learned(self.plan, self.book, self.good[0], [good.seen for good in self.good])

    @property
    def open_patterns(self) -> tuple[Pattern, ...]:
        """Clear patterns of the stage whose turn it is."""
        patterns = self.good[-1].patterns if self.good else ()
        return tuple(p for p in patterns if p.holds and p.stage == self.stage)

    def table(self) -> Table:
        """Return the candidates on the table now; empty unless a choice may be made."""
        return self._table

    @cached_property
    def _table(self) -> Table:
        if not self.good:
            return Table()
        held_back: list[str] = []
        if self.due == "choice" and self.stage in TUNING_ORDER:
            return offering.lay_out(self.situation(self.stage))
        if self.stage == "confirm" and self.due == "run":
            found = offering.even_wear(self.situation("cross"), held_back)
            return Table(offering.numbered(found), tuple(held_back))
        return Table()

    def situation(self, stage: TuningStage) -> Situation:
        """Return what the candidates of a stage are worked out from."""
        latest = self.good[-1]
        return Situation(
            stage=stage,
            figures=latest.figures,
            patterns=tuple(p for p in latest.patterns if self.book.knows(p.id, p.stage)),
            book=self.book,
            settings=self.settings,
            limits=self.plan.car.limits,
            run=latest.run,
            model=CarModel(
                self.plan.car,
                self.settings,
                moved_by(self.past),
                latest.run,
                latest.figures.averages(),
                self.plan.turns,
            ),
            outlook=Outlook(self.known, self.book),
            past=self.past,
            earlier=tuple(good.run for good in self.good[:-1]),
            system=self.plan.units,
        )


def moved_by(past: Iterable[Past]) -> dict[Setting, float]:
    """Return how far every setting has been moved in all, by what was really made."""
    total: dict[Setting, float] = {}
    for each in past:
        for change in each.made:
            total[change.setting] = total.get(change.setting, 0.0) + change.amount
    return total


def learned(plan: Plan, book: Rulebook, first: GoodRun, seen: Sequence[Observation]) -> "Posterior":
    """Return what the runs of a day say of the car, from beliefs held before its first run."""
    from planner.response import estimate_noise, learn

    model = CarModel(
        plan.car,
        car_file.starting_settings(plan.car),
        {},
        first.run,
        first.figures.averages(),
        plan.turns,
    )
    taught: dict[Setting, Mapping[str, Effect]] = {}
    for key, learned_before in plan.taught.items():
        knob, _, place = key.partition(".")
        taught[knob, place] = learned_before
    believed = beliefs.effects(book, model, taught)
    noise = estimate_noise(seen, book.noise)
    return learn(seen, Priors(believed, noise=noise), plan.turns)


@attrs.frozen
class _Stand:
    """Where the machine stood after a step."""

    state: str
    round: int
    left_open: frozenset[str]


class _Replay:
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
            expected = {name: at.mean for name, at in last.candidate.predicted.items()}
            before = learned(plan, self.book, first, seen)
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

    def amended(self, amend: AmendStep, *, afresh: bool) -> tuple["_Replay", AmendStep]:
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
        fold = _Replay(self.plan, self.book)
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
        f"{_due_words(course.due)}.",
        where=f"step {number}",
        hint="put the steps back as they were (the previous version is kept beside the plan)",
    )


def _due_words(due: Due) -> str:
    return {
        "run": "a run is due",
        "choice": "a choice is due",
        "change": "the chosen change is to be made",
        "nothing": "nothing is due: the day is complete",
    }[due]


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
    fold = _fold(plan, book)
    return fold.day()


def _fold(plan: Plan, book: Rulebook) -> _Replay:
    fold = _Replay(plan, book)
    for number, step in enumerate(plan.step, start=1):
        last = number == len(plan.step)
        if isinstance(step, AmendStep):
            fold, step = fold.amended(step, afresh=last)
        else:
            if last and isinstance(step, RunStep):
                step = fold.judged(step)
            fold.apply(step, number)
        if last:  # what is saved next must hold what was decided on
            fold.plan = attrs.evolve(plan, step=(*plan.step[:-1], step))
    return fold


def record(day: Day, run: Run, at: datetime, really: Sequence[tuple[str, str, float]] = ()) -> Day:
    """Record a run.

    Parameters
    ----------
    really : (knob, place, amount) where the change before it was not what `made` was told.

    Raises
    ------
    Refusal
        No run is due, a value cannot be true, or there is no change to correct.
    """
    _need(day, "run", "record a run")
    readings.check(run, day.plan.units)
    fold = _fold(day.plan, day.book)
    if really and not fold.awaiting_outcome:
        raise Refusal(
            "nothing-made",
            "No change was made since the last run, so there is none to correct.",
            where="--really",
            hint="leave --really away",
        )
    corrections = tuple(changing.make(*each, {}) for each in really)
    step = fold.judged(RunStep(at, run, really=corrections))
    before = day
    fold.apply(step, len(day.plan.step) + 1)
    after = fold.day()
    return _with_step(after, attrs.evolve(step, went=_way(before, after, step)))


def choose(
    day: Day,
    candidate_id: str,
    at: datetime,
    *,
    amount: float | None = None,
    trims: bool = True,
    reason: str = "",
) -> Day:
    """Take a candidate, perhaps with another amount, perhaps without its riding trims.

    Raises
    ------
    Refusal
        No choice is due, there is no such candidate, or the amount does not do.
    """
    table = day.table()
    if not (day.stage == "confirm" and table.candidates):
        _need(day, "choice", "choose")
    chosen = next((c for c in table.candidates if c.id == candidate_id), None)
    if chosen is None:
        ids = ", ".join(c.id for c in table.candidates) or "none"
        raise Refusal(
            "no-candidate",
            f"There is no candidate {candidate_id!r}; on the table: {ids}.",
            where="ID",
            hint="treadgate status PLAN shows them; --own KNOB:CORNER:AMOUNT is for your own",
        )
    if not trims:
        chosen = offering.without_trims(chosen, day.situation(_tuning(day)))
    if amount is not None:
        chosen = _with_amount(day, chosen, amount)
    return _take(day, chosen, reason, at)


def choose_own(
    day: Day, wanted: Sequence[tuple[str, str, float]], reason: str, at: datetime
) -> Day:
    """Take the crew's own change.

    Parameters
    ----------
    wanted : (knob, place, amount) of every part.
    reason : why; must not be empty.

    Raises
    ------
    Refusal
        No choice is due, no reason is given, an amount is 0, or a limit would be crossed.
    """
    _need(day, "choice", "choose")
    _need_reason(reason, "a change of your own")
    for knob, place, amount in wanted:
        if amount == 0:
            raise Refusal(
                "bad-value",
                f"{knob} at {place} by 0 is no change.",
                where="--own",
                hint="give the amount, or --move-on to leave the stage as it is",
            )
    if len({(knob, place) for knob, place, _ in wanted}) != len(wanted):
        raise Refusal("bad-value", "The same knob is there twice.", where="--own", hint="once each")
    own = offering.own_change(wanted, reason, day.situation(_tuning(day)))
    changing.refuse_beyond_limits(own.changes, day.plan.car.limits, "--own")
    return _take(day, own, reason, at)


def move_on(day: Day, reason: str, at: datetime) -> Day:
    """Leave the stage as it is and go on; in `confirm`, end the day without the confirming run.

    Raises
    ------
    Refusal
        There is nothing to move on from, or no reason is given.
    """
    if not (day.stage == "confirm" and day.due == "run"):
        _need(day, "choice", "move on")
    _need_reason(reason, "moving on")
    left = tuple(p.key for p in day.open_patterns)
    step = ChoiceStep(at, day.stage, _offered(day.table()), left_open=left, reason=reason)
    after = _stepped(day, step)
    return _with_step(after, attrs.evolve(step, went=_way(day, after, step)))


def made(day: Day, at: datetime, actual: Sequence[tuple[str, str, float]] = ()) -> Day:
    """Say that the chosen change is on the car, as chosen or as it really came out.

    Parameters
    ----------
    actual : (knob, place, amount) where it differs from what was chosen, or came on top.

    Raises
    ------
    Refusal
        No change is due, or a limit would be crossed.
    """
    _need(day, "change", "make a change")
    assert day.pending is not None
    amounts = {change.setting: change.amount for change in day.pending.changes}
    trims = {change.setting for change in day.pending.changes if change.trim}
    for knob, place, amount in actual:
        amounts[knob, place] = amount
    changes = tuple(
        changing.make(*setting, amount, day.settings, trim=setting in trims)
        for setting, amount in amounts.items()
    )
    changing.refuse_beyond_limits(changes, day.plan.car.limits, "--actual")
    step = MadeStep(at, changes)
    return _with_step(_stepped(day, step), step)


def amend_run(day: Day, number: int, mend: Callable[[Run], Run], reason: str, at: datetime) -> Day:
    """Put a recorded run right; see `amends` for what that means for the steps after it.

    Parameters
    ----------
    number : of the step that recorded it.
    mend : makes the run as it should have been recorded from the one in force.
    reason : how the mistake came to light; must not be empty.

    Raises
    ------
    Refusal
        There is no such run, nothing is changed, no reason is given, or a value cannot be true.
    """
    amended = amends.amendable(day.steps, number)
    if not isinstance(amended, RunStep):
        raise Refusal(
            "not-a-run",
            f"Step {number} is a change made, not a run.",
            where="STEP",
            hint="--actual KNOB:CORNER:AMOUNT says what was really made",
        )
    _need_reason(reason, "putting an entry right")
    run = mend(amended.run)
    if run == amended.run:
        raise _nothing_changed(number, "--tire RF=205/212/209")
    readings.check(run, day.plan.units)
    return _amend(day, AmendStep(at, number, reason, run=run))


def amend_made(
    day: Day, number: int, actual: Sequence[tuple[str, str, float]], reason: str, at: datetime
) -> Day:
    """Put right what a change really was; see `amends` for what that means for the steps after it.

    Parameters
    ----------
    number : of the step that said it was made.
    actual : (knob, place, amount) of every part that was otherwise.
    reason : how the mistake came to light; must not be empty.

    Raises
    ------
    Refusal
        There is no such step, nothing is changed, no reason is given, or a limit would be crossed.
    """
    amended = amends.amendable(day.steps, number)
    if not isinstance(amended, MadeStep):
        raise Refusal(
            "not-a-change",
            f"Step {number} is a run, not a change made.",
            where="STEP",
            hint="--tire, --cold, --flag and the other options of record put a run right",
        )
    _need_reason(reason, "putting an entry right")
    if len({(knob, place) for knob, place, _ in actual}) != len(actual):
        raise Refusal(
            "bad-value", "The same knob is there twice.", where="--actual", hint="once each"
        )
    past = next(each for each in day.past if each.step == number)
    made_so_far = {change.setting: change for change in past.made}
    start = car_file.starting_settings(day.plan.car)
    settings = on_car.after_each(start, day.steps, day.past)[number - 1]
    really = {
        (knob, place): changing.make(
            knob,
            place,
            amount,
            settings,
            trim=(knob, place) in made_so_far and made_so_far[knob, place].trim,
        )
        for knob, place, amount in actual
    }
    changed = made_so_far | really
    if {s: c.amount for s, c in changed.items()} == {s: c.amount for s, c in made_so_far.items()}:
        raise _nothing_changed(number, "--actual pressure:RF:-1.0")
    changing.refuse_beyond_limits(really.values(), day.plan.car.limits, "--actual")
    return _amend(day, AmendStep(at, number, reason, changes=tuple(changed.values())))


def _amend(day: Day, amend: AmendStep) -> Day:
    fold, amend = _fold(day.plan, day.book).amended(amend, afresh=True)
    after = fold.day()
    moved = (day.stage, day.due, day.round) != (after.stage, after.due, after.round)
    went = _stands(after) if moved else f"the plan stands where it stood: {_stands(after)}"
    return _with_step(after, attrs.evolve(amend, went=went))


def _stands(day: Day) -> str:
    return f"in the {day.stage} stage {_due_words(day.due)}" if day.due != "nothing" else "complete"


def _nothing_changed(number: int, example: str) -> Refusal:
    return Refusal(
        "nothing-changed",
        f"Nothing is given that differs from what step {number} holds already.",
        where=f"step {number}",
        hint=f"give what it should have been, such as {example}",
    )


def _take(day: Day, chosen: Candidate, reason: str, at: datetime) -> Day:
    step = ChoiceStep(at, day.stage, _offered(day.table()), chosen=chosen, reason=reason)
    return _with_step(_stepped(day, step), step)


def _with_amount(day: Day, chosen: Candidate, amount: float) -> Candidate:
    own = [change for change in chosen.changes if not change.trim]
    if len(own) != 1:
        raise Refusal(
            "bad-value",
            f"Only a single change can be given another amount; this one has {len(own)} parts.",
            where="--amount",
            hint="choose it as it is, or give each part with --own",
        )
    (change,) = own
    if amount * change.amount <= 0:
        raise Refusal(
            "bad-value",
            f"{amount:g} does not go the same way as this candidate ({change.amount:+g}).",
            where="--amount",
            hint=f"--amount {change.amount:g}, more or less of it; --own for the other way",
        )
    rescaled = offering.rescaled(chosen, amount, day.situation(_tuning(day)))
    changing.refuse_beyond_limits(rescaled.changes, day.plan.car.limits, "--amount")
    return rescaled


def _tuning(day: Day) -> TuningStage:
    """Return the stage a change belongs to; one taken at `confirm` is against uneven wear."""
    return "cross" if day.stage == "confirm" or day.stage == "complete" else day.stage


def _stepped(day: Day, step: Step) -> Day:
    fold = _fold(day.plan, day.book)
    fold.apply(step, len(day.plan.step) + 1)
    return fold.day()


def _with_step(day: Day, step: Step) -> Day:
    return attrs.evolve(
        day,
        plan=attrs.evolve(day.plan, step=(*day.plan.step, step)),
        steps=(*day.steps[:-1], step),
    )


def _offered(table: Table) -> tuple[Offered, ...]:
    return tuple(Offered(c.id, c.title, c.pattern, c.why) for c in table.candidates)


def _need(day: Day, due: Due, what: str) -> None:
    if day.due != due:
        raise Refusal(
            "not-due",
            f"It is not the time to {what}: in the {day.stage} stage {_due_words(day.due)}.",
            where="PLAN",
            hint=next_command(day),
        )


def _need_reason(reason: str, what: str) -> None:
    if not reason.strip():
        raise Refusal(
            "no-reason",
            f"For {what} a reason is wanted: next month somebody will ask.",
            where="--reason",
            hint='--reason "why"',
        )


def next_command(day: Day) -> str:
    """Return what to type next."""
    if day.due == "choice" and not day.table().candidates:
        return (
            "treadgate choose PLAN --own KNOB:CORNER:AMOUNT --reason TEXT, or --move-on "
            "--reason TEXT: nothing that is known would mend this"
        )
    return {
        "run": f"run {day.plan.laps} laps, then: treadgate record PLAN --tire LF=… --tire RF=… "
        "--tire LR=… --tire RR=…",
        "choice": "treadgate choose PLAN ID (treadgate status PLAN shows the candidates)",
        "change": "make the change, then: treadgate made PLAN",
        "nothing": "treadgate why PLAN tells the day; treadgate start begins another",
    }[day.due]


def _way(before: Day, after: Day, step: RunStep | ChoiceStep) -> str:
    """Say where the plan went from a step, and why."""
    if isinstance(step, RunStep) and step.void:
        return f"the run is due again: {step.void}"
    if after.stage == "complete":
        return "complete"
    order = [*TUNING_ORDER, "confirm"]
    shown = ", ".join(p.key for p in after.open_patterns)
    if after.round > before.round:
        return f"a new round begins in the {after.stage} stage: {shown}"
    if after.stage == "confirm":
        if before.stage == "confirm":
            return "confirm once more: cold pressures were not those of the run before"
        return "to confirm: no stage shows a fault"
    if after.stage == before.stage:
        return f"still in the {after.stage} stage: {shown}"
    if order.index(after.stage) < order.index(before.stage):
        return f"back to the {after.stage} stage: {shown} shows"
    return f"on to the {after.stage} stage: {shown}"
