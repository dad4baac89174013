"""The fold: where a day stands after one more step.

`begin` is the day before its first step, `advance` the day after one more step, `replay` all steps
of a plan in turn. All of them are pure: a `Day` is frozen, and an earlier `Day` stays as it was.
"""

from collections.abc import Container, Iterable, Mapping
from datetime import datetime

import attrs

from planner.advice.past import Past
from planner.car import car_file, limits
from planner.car import changes as changing
from planner.car.changes import Change, Setting
from planner.judging.in_balance import with_run
from planner.judging.outcomes import Outcome
from planner.judging.patterns import WEAR_UNEVEN, masked
from planner.plan import amendments, baseline, machine
from planner.plan.day import Day, Stand, moved_by
from planner.plan.drift import part_at
from planner.plan.judge import judged, seen_run
from planner.plan.machine import Evidence, Place, Trigger
from planner.plan.steps import (
    AmendStep,
    CarStep,
    ChoiceStep,
    Judged,
    MadeStep,
    NoteStep,
    Plan,
    RunStep,
    Step,
)
from planner.rulebook.own_bands import Own, held_against
from planner.rulebook.rules import TUNING_ORDER, Rulebook
from planner.run.readings import Run, why_void
from planner.trade.numbers import enough
from planner.trade.refusals import Unusable

# Cold pressures set this close to each other count as the same setting; gauges read to half of it.
SAME_PRESSURE = 0.5  # psi; from memory


def begin(plan: Plan, book: Rulebook) -> Day:
    """Return the day before its first step.

    Parameters
    ----------
    plan : the plan; its steps are not looked at.
    book : its rules, turned the way its track turns.
    """
    rules = attrs.evolve(book, fixed=limits.cannot_turn(plan.car))
    return Day(
        plan=attrs.evolve(plan, step=()),
        rules=rules,
        book=held_against(rules, plan.in_balance),
        settings=car_file.starting_settings(plan.car),
        trail=(Stand(Place()),),
        own=plan.in_balance,
    )


def replay(plan: Plan, book: Rulebook, *, afresh: bool = True) -> Day:
    """Return where a plan stands.

    Earlier runs stay as they were judged when the crew decided on them.

    Parameters
    ----------
    book : its rules, turned the way its track turns.
    afresh : judge the last run, on which nothing rests yet, by the readings and rules as they are
        now, so that a reading corrected in the file counts. If the last step is an amendment, the
        same goes for the runs it judged again.

    Raises
    ------
    Unusable
        The steps could not have happened in this order; names the step.
    """
    day = begin(plan, book)
    for number, step in enumerate(plan.step, start=1):
        day = advance(day, step, afresh=afresh and number == len(plan.step))
    return day


def advance(day: Day, step: Step, *, afresh: bool = False) -> Day:
    """Return the day after one more step.

    Parameters
    ----------
    afresh : judge a run by what is known now, and so with the runs an amendment affects;
        otherwise they stay as the step has them.

    Raises
    ------
    Unusable
        The step cannot have happened there.
    """
    day = by_now(day, step.time)
    if isinstance(step, AmendStep):
        after, step = _amended(day, step, afresh=afresh)
        trail = (*day.trail, after.stand)
    else:
        after = _after(day, step, afresh=afresh)
        step, trail = after.steps[-1], after.trail
    return attrs.evolve(
        after, plan=attrs.evolve(day.plan, step=(*day.plan.step, step)), trail=trail
    )


def by_now(day: Day, at: datetime) -> Day:
    """Return where a day stands at a time: a run is due first where a choice may be overtaken.

    Nothing is recorded; see `baseline`.
    """
    waits, stands = None, day.stand.place
    if stands.due == "choice" and baseline.overtaken(day, at):
        waits = machine.go(stands, "later", attrs.evolve(evidence(day), overtaken=True))
    return day if waits == day.waits else attrs.evolve(day, waits=waits)


def can(day: Day, trigger: Trigger) -> bool:
    """Say whether a move is legal where a day stands."""
    return machine.go(day.place, trigger, evidence(day)) is not None


def evidence(day: Day) -> Evidence:
    """Return all that decides the next move of the machine."""
    patterns = day.good[-1].patterns if day.good else ()
    faults = {p.stage for p in patterns if p.holds and p.key not in day.left_open}
    return Evidence(
        fault=next((stage for stage in TUNING_ORDER if stage in faults), None),
        enough=_is_enough(day),
        as_set=day.as_set,
        offer=any(p.id == WEAR_UNEVEN for p in patterns),
        void=day.last is not None and day.last.void is not None and not _is_judged(day),
        judged=_is_judged(day),
    )


def _is_enough(day: Day) -> bool:
    """Say whether so little is expected to be out of band that the day may end."""
    expected = day.last.expected_out if day.last is not None else None
    return expected is not None and expected <= enough(day.plan.certainty)


def _is_judged(day: Day) -> bool:
    """Say whether a run judges the car as it stands since the last change."""
    return bool(day.good) and (not day.past or day.good[-1].step > day.past[-1].step)


def _after(day: Day, step: Step, *, afresh: bool = False, led: Stand | None = None) -> Day:
    """Return the day after a step that amends nothing.

    Parameters
    ----------
    led : where the machine stood after the step when it was recorded, if an amendment is folding
        it again; None lets the machine decide.
    """
    if isinstance(step, NoteStep):
        tires = day.tires.put_on(step) if step.set else day.tires
        after = attrs.evolve(day, steps=(*day.steps, step), tires=tires)
        return _done(day, after, led or day.stand)
    if isinstance(step, CarStep):
        return _done(day, _with_car(day, step), led or day.stand)
    after, trigger = _moved(day, step, afresh=afresh, led=led is not None)
    if led is not None:
        return _done(day, after, led)
    place = machine.go(day.place, trigger, evidence(after))
    if place is None:
        raise _out_of_order(len(day.steps) + 1, _WHAT[trigger], day)
    return _done(day, after, Stand(place, after.stand.left))


def _with_car(day: Day, step: CarStep) -> Day:
    """Return the day with another car file: its settings are those of this moment."""
    return attrs.evolve(
        day,
        steps=(*day.steps, step),
        given=step,
        rules=attrs.evolve(day.rules, fixed=limits.cannot_turn(step.car)),
        book=attrs.evolve(day.book, fixed=limits.cannot_turn(step.car)),
        settings={**day.settings, **car_file.starting_settings(step.car)},
        held=None,  # what is believed of the car is worked out anew
        learned_last=None,
    )


def _done(before: Day, after: Day, stand: Stand) -> Day:
    return attrs.evolve(after, before=before, trail=(*before.trail, stand), waits=None)


def _moved(day: Day, step: Step, *, afresh: bool, led: bool) -> tuple[Day, Trigger]:
    """Return the day with the step added but the machine not yet moved, and the move due then."""
    if isinstance(step, RunStep):
        return _with_run(day, step, afresh=afresh)
    step = _with_settings(step, day)
    day = attrs.evolve(day, steps=(*day.steps, step))
    if isinstance(step, ChoiceStep):
        if step.stage != day.stage and not led:
            raise _out_of_order(len(day.steps), f"a choice in the {step.stage} stage", day)
        if step.chosen is None:
            return _left(day, step), "move_on"
        told = day.due == "run" and step.chosen.is_own
        return attrs.evolve(day, pending=step.chosen), "tell" if told else "take"
    if isinstance(step, MadeStep):
        return _with_change(day, step), "made"
    return attrs.evolve(day, pending=None), "take_back"


def _with_settings(step: Step, day: Day) -> Step:
    """Return a choice or a change with what follows from the steps before it."""
    if isinstance(step, ChoiceStep) and step.chosen is not None:
        changes = _known(step.chosen.changes, step.chosen.trims, day)
        return attrs.evolve(step, chosen=attrs.evolve(step.chosen, changes=changes))
    if isinstance(step, MadeStep) and day.pending is not None:
        return attrs.evolve(step, changes=_known(step.changes, day.pending.trims, day))
    return step


def _known(changes: Iterable[Change], trims: Container[Setting], day: Day) -> tuple[Change, ...]:
    """Return changes with the settings before and after, where known, and what rides along."""
    return tuple(
        changing.make(*each.setting, each.amount, day.settings, trim=each.setting in trims)
        for each in changes
    )


def _left(day: Day, step: ChoiceStep) -> Day:
    """Return the day with patterns left as they are, as the last good run has them."""
    patterns, day = step.left_open, attrs.evolve(day, trusted=baseline.level(day, step.time))
    at = day.good[-1].step if day.good else 0  # an amendment may leave no run that judges
    left = {**day.stand.left, **dict.fromkeys(patterns, at)}
    return day.standing(attrs.evolve(day.stand, left=left))


def _with_run(day: Day, step: RunStep, *, afresh: bool) -> tuple[Day, Trigger]:
    """Return the day with a run."""
    day = _begun(_corrected(day, step), step)
    void = why_void(step.run, day.plan.laps, day.plan.least_laps)
    if void is None:
        day = _with_history(day)
    step = attrs.evolve(
        step,
        void=void,
        patterns=masked(step.patterns, day.book, day.plan.turns),
    )
    seen, known = seen_run(day, step.run), None
    if afresh:
        step, known = judged(day, step, seen)
        if known is not None:
            day = attrs.evolve(day, held=known.priors.effects)
    laps = day.plan.laps if step.run.laps is None else step.run.laps
    cold: dict[Setting, float] = {("pressure", c): psi for c, psi in step.run.cold.items()}
    day = attrs.evolve(
        day,
        as_set=_as_set(step.run, day.settings),
        last=step,
        steps=(*day.steps, step),
        settings={**day.settings, **cold},
        tires=day.tires.driven(laps),
    )
    if step.void is not None:
        return day, "bad_run"
    past, outcome = day.past, day.outcome
    if step.outcome is not None:
        if not past:
            raise _out_of_order(len(day.steps), "the outcome of a change", day)
        outcome = step.outcome
        past = _with_outcome(day, outcome)
    # What was left as it is rests, until it is gone or a run shows it clearly worse.
    rests = {p.key for p in step.patterns} - set(step.worse)
    left = {key: at for key, at in day.stand.left.items() if key in rests}
    day = attrs.evolve(
        day,
        good=(*day.good, attrs.evolve(seen, step=len(day.steps), patterns=step.patterns)),
        past=past,
        outcome=outcome,
        learned_last=known,
    )
    return day.standing(attrs.evolve(day.stand, left=left)), "good_run"


def _begun(day: Day, step: RunStep) -> Day:
    """Return the day with the set of tires of a run on the car, in the part of the day it is in."""
    part = part_at(day, step.time)
    tires = day.tires.put_on(step.run)
    if (tires, part) == (day.tires, day.part):
        return day  # what is known of it by now stays at hand
    return attrs.evolve(day, tires=tires, part=part)


def _with_outcome(day: Day, outcome: Outcome) -> tuple[Past, ...]:
    """Return the changes made, with what came of those that the run has judged together."""
    steps = [past.step for past in day.on_trial] or [day.past[-1].step]
    return tuple(
        attrs.evolve(
            past, outcome=outcome, beside=tuple(step for step in steps if step != past.step)
        )
        if past.step in steps
        else past
        for past in day.past
    )


def own_by_now(day: Day) -> Mapping[str, Own]:
    """Return the car's own figures in balance, the last good run counted among them."""
    if not day.good:
        return day.own
    last = day.good[-1]
    return with_run(day.own, last.run, last.figures, last.patterns, day.book, day.left_open)


def _with_history(day: Day) -> Day:
    """Return the day judging by the car's own figures as they are known by now."""
    own = own_by_now(day)
    if own == day.own:
        return day
    return attrs.evolve(day, own=own, book=held_against(day.rules, own))


def _with_change(day: Day, step: MadeStep) -> Day:
    """Return the day with the chosen change on the car."""
    if day.pending is None:
        raise _out_of_order(len(day.steps), _WHAT["made"], day)
    return attrs.evolve(
        day,
        past=(*day.past, Past(len(day.steps), day.pending, step.changes)),
        moved_before=moved_by(day.past[-1:], day.moved_before),
        settings=_turned(day.settings, {c.setting: c.amount for c in step.changes}),
        pending=None,
    )


def _corrected(day: Day, step: RunStep) -> Day:
    """Correct what the last change really was, where the run says so.

    A pressure read cold since the change stays as read, and what a car file gave since as given.
    """
    if not step.really or not day.past:
        return day
    last = day.past[-1]
    was = {change.setting: change for change in last.made}
    now = was | {change.setting: change for change in step.really}
    known: set[Setting] = set()
    for since in day.steps[last.step :]:
        if isinstance(since, RunStep):
            known |= {("pressure", corner) for corner in since.run.cold}
        elif isinstance(since, CarStep):
            known |= car_file.starting_settings(since.car).keys()
    by = {
        setting: now[setting].amount - (was[setting].amount if setting in was else 0.0)
        for setting in now.keys() - known
    }
    return attrs.evolve(
        day,
        settings=_turned(day.settings, by),
        past=(*day.past[:-1], attrs.evolve(last, made=tuple(now.values()))),
    )


def _turned(settings: Mapping[Setting, float], by: Mapping[Setting, float]) -> dict[Setting, float]:
    """Return the settings with knobs turned, for knobs whose setting is known."""
    turned = {s: changing.tidy(settings[s] + amount) for s, amount in by.items() if s in settings}
    return {**settings, **turned}


def _amended(day: Day, amend: AmendStep, *, afresh: bool) -> tuple[Day, AmendStep]:
    """Return the day after an amendment, and the amendment with what was judged again.

    Notes
    -----
    The steps from the amended one on are folded again with the amended value in its place, so that
    settings, figures, learning and outcomes follow from the right numbers. Up to the last run the
    machine follows the trail it really took. From there the last run as judged again decides: to
    another stage, or to the same run again where it is now void. Stages the crew has left since
    then stay left while their faults still show. If a change has been chosen since the last run, or
    the crew has ended the day, the machine stays where it is, and the right numbers count from the
    next judgement on. A note judges nothing again, and of the runs judged again the amendment keeps
    those that come out otherwise.
    """
    steps = amendments.in_place(day.steps, amend)
    again = {each.step: each for each in amend.judged}
    afresh = afresh and amendments.weighs(day.plan.step, amend)
    leads = len(steps) + 1 if amendments.stage_stands(steps) else amendments.last_run(steps)
    after = day.at(amend.amends - 1)
    told: list[Judged] = []
    for number, step in enumerate(steps[amend.amends - 1 :], start=amend.amends):
        led = day.trail[number] if number < leads else None
        if isinstance(step, RunStep):
            if number in again and not afresh:
                step = again[number].of(step)
            after = _after(after, step, afresh=afresh, led=led)
            was = day.steps[number - 1]
            assert after.last is not None
            assert isinstance(was, RunStep)
            now = Judged.of_run(number, after.last)
            if not now.is_like(Judged.of_run(number, was)):
                told.append(now)
        elif isinstance(step, AmendStep):  # its value is in place already
            after = _done(
                after, attrs.evolve(after, steps=(*after.steps, step)), led or after.stand
            )
        elif led is not None or isinstance(step, MadeStep | NoteStep | CarStep):
            after = _after(after, step, led=led)
        else:
            after = _decided_again(after, step)
    amend = attrs.evolve(amend, judged=tuple(told))
    return (
        _done(after, attrs.evolve(after, steps=(*after.steps, amend)), after.stand),
        amend,
    )


def _decided_again(day: Day, step: Step) -> Day:
    """Leave a stage as it is once more, after its run was judged again.

    A change chosen here was taken back (or the stage would stay), so neither changes anything.
    """
    after = attrs.evolve(day, steps=(*day.steps, step))
    if not (day.due == "choice" and isinstance(step, ChoiceStep) and step.chosen is None):
        return _done(day, after, day.stand)
    showing = {p.key for p in day.good[-1].patterns if p.holds}
    left = tuple(key for key in step.left_open if key in showing)
    after = _left(after, attrs.evolve(step, left_open=left))
    place = machine.go(day.place, "move_on", evidence(after))
    if place is None:
        raise _out_of_order(len(day.steps) + 1, _WHAT["move_on"], day)
    return _done(day, after, Stand(place, after.stand.left))


_WHAT: dict[Trigger, str] = {
    "good_run": "a run is recorded",
    "bad_run": "a run is recorded",
    "take": "a change is chosen",
    "tell": "a change is chosen",
    "take_back": "a choice is taken back",
    "move_on": "the crew moves on",
    "made": "a change is made",
    "later": "the car is run as it stands",
}


def _out_of_order(number: int, what: str, day: Day) -> Unusable:
    stands = f"in the {day.stage} stage a {day.due} is due"
    if day.due == "nothing":
        stands = "the day is complete"
    return Unusable(
        "out-of-order",
        f"Step {number} cannot have happened there: {what}, but {stands}.",
        where=f"step {number}",
        hint="put the steps back as they were (the previous version is kept beside the plan)",
    )


def _as_set(run: Run, settings: Mapping[Setting, float]) -> bool:
    """Say whether the cold pressures of a run are those the tires were set to."""
    set_to = {corner: settings.get(("pressure", corner)) for corner in run.cold}
    return all(
        wanted is None or abs(run.cold[corner] - wanted) <= SAME_PRESSURE
        for corner, wanted in set_to.items()
    )
