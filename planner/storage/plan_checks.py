"""Values that are impossible in a plan although its keys and types are right."""

from collections.abc import Iterable, Iterator, Sequence

from planner.car import car_file
from planner.car.changes import Change
from planner.learning import observed
from planner.plan.steps import (
    AmendStep,
    CarStep,
    ChoiceStep,
    MadeStep,
    NoteStep,
    Plan,
    RunStep,
    Step,
)
from planner.run import readings
from planner.trade import knobs
from planner.trade.cautions import CAUTIONS
from planner.trade.figures import SHARE, is_figure
from planner.trade.numbers import CERTAINTY, LAPS, MINUTES, RUNS, RUNS_PER_SET, TIRE_SETS
from planner.trade.refusals import Refusal


def mistakes(plan: Plan) -> list[str]:
    """Return what is impossible in a plan, a line each under a heading; nothing if it is sound."""
    of_car = [f"car.{problem}" for problem in car_file.mistakes(plan.car)]
    if of_car:
        return ["The plan's copy of the car file has mistakes:", *of_car]
    found = list(_impossible(plan))
    return ["The plan file has mistakes:", *found] if found else []


def _impossible(plan: Plan) -> list[str]:
    """Return what has the right shape but is impossible, with the path of its key."""
    found = list(_head_mistakes(plan))
    for number, step in enumerate(plan.step, 1):
        at = f"step[{number}]"
        if isinstance(step, AmendStep):
            earlier = plan.step[: number - 1]
            found += [f"{at}.{problem}" for problem in _amend_mistakes(step, earlier)]
        if isinstance(step, NoteStep) and step.about is not None and not 1 <= step.about < number:
            found.append(f"{at}.about: there is no step {step.about} before it")
        found += [f"{at}.{problem}" for problem in by_itself(step)]
    return found


def by_itself(step: Step) -> Iterator[str]:
    """Yield what is impossible in a step whatever stands before it, with the path from it."""
    if isinstance(step, RunStep | AmendStep) and step.run is not None:
        try:
            readings.check(step.run)
        except Refusal as refusal:
            yield f"run: {refusal.message} ({refusal.where})"
    if isinstance(step, CarStep):
        yield from (f"car.{problem}" for problem in car_file.mistakes(step.car))
    if isinstance(step, ChoiceStep):
        yield from _choice_mistakes(step)
    if isinstance(step, MadeStep | AmendStep):
        yield from (f"changes: {problem}" for problem in _change_mistakes(step.changes))


def _head_mistakes(plan: Plan) -> Iterator[str]:
    """Yield what is impossible in what stands above the steps."""
    laps = {"laps": plan.laps, "least_laps": plan.least_laps}
    for key, count in laps.items():
        if not LAPS.holds(count):
            yield f"{key}: {count} laps is not possible"
    there = plan.budget
    for key, value, number in (
        ("certainty", plan.certainty, CERTAINTY),
        ("budget.runs", there.runs, RUNS),
        ("budget.minutes", there.minutes, MINUTES),
        ("budget.sets", there.sets, TIRE_SETS),
        ("budget.runs_per_set", there.runs_per_set, RUNS_PER_SET),
    ):
        if value is not None and not number.holds(value):
            yield f"{key}: {value:g} is out of range; use {number.low:g} to {number.high:g}"
    yield from (f"taught.{problem}" for problem in observed.mistakes(plan.taught))
    if plan.usual is not None and plan.usual.figures.keys() != SHARE.keys():
        yield f"usual.figures: these are wanted: {', '.join(SHARE)}"
    for figure, own in plan.in_balance.items():
        if own.runs < 1:
            yield f"in_balance.{figure}.runs: {own.runs} runs is not possible"


def _choice_mistakes(step: ChoiceStep) -> Iterator[str]:
    """Yield what is impossible in a choice, with the path from its step."""
    for number, offer in enumerate(step.offered, 1):
        for problem in _change_mistakes(offer.changes):
            yield f"offered[{number}].changes: {problem}"
    chosen = step.chosen
    if chosen is None:
        return
    for problem in _change_mistakes(chosen.changes):
        yield f"chosen.changes: {problem}"
    for key in chosen.cautions:
        if key not in CAUTIONS:
            yield f"chosen.cautions: unknown caution {key!r}"
    for name in chosen.predicted:
        if not (is_figure(name) or name.startswith("wear.")):
            yield f"chosen.predicted: there is no figure {name!r}"
    answered = [each.answered for each in chosen.basis if each.answered is not None]
    settings = [each.setting for each in answered]
    settings += [reason.setting for reason in chosen.reasons if hasattr(reason, "setting")]
    for knob, place in settings:
        if not knobs.is_change(knob, place):
            yield f"chosen: there is no {knob} at {place!r}"


def _change_mistakes(changes: Iterable[Change]) -> Iterator[str]:
    for change in changes:
        if not knobs.is_change(change.knob, change.corner):
            yield f"there is no {change.knob} at {change.corner!r}"
        elif not abs(change.amount) <= knobs.of(change.knob).largest:
            yield f"{change.knob} is not changed by {change.amount:g}"


def _amend_mistakes(step: AmendStep, before: Sequence[Step]) -> list[str]:
    """Return what is impossible in an amendment, given the steps before it."""
    amended = before[step.amends - 1] if 1 <= step.amends <= len(before) else None
    if not isinstance(amended, RunStep | MadeStep):
        return [f"amends: step {step.amends} is no run or change made before"]
    found = []
    if isinstance(amended, RunStep) != (step.run is not None):
        found.append("run: a run is amended by a run, a change made by changes")
    if isinstance(amended, MadeStep) != bool(step.changes):
        found.append("changes: a change made is amended by changes, a run by a run")
    if not step.reason.strip():
        found.append("reason: a reason is required")
    for judged in step.judged:
        in_reach = 1 <= judged.step <= len(before) and judged.step >= step.amends
        if not in_reach or not isinstance(before[judged.step - 1], RunStep):
            found.append(f"judged: step {judged.step} is no run it bears on")
    return found
