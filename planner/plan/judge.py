"""A run judged: what its readings and all runs before it show, and what came of the change."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import attrs

from planner.advice.do_now import holding
from planner.advice.outlook import Outlook
from planner.judging import outcomes, pressures, resting
from planner.judging import patterns as showing
from planner.judging.doubt import doubt
from planner.judging.patterns import Gate
from planner.learning import levels
from planner.learning.observed import Observation
from planner.plan.day import Day, GoodRun, learned, moved_by, moved_since_last_good
from planner.plan.steps import RunStep
from planner.rulebook.aims import Aim
from planner.run.readings import Run, Settled, not_read
from planner.trade import figures as figure
from planner.trade.estimate import Estimate
from planner.trade.numbers import enough

if TYPE_CHECKING:  # numpy comes with it, and is loaded only when there is something to learn from
    from planner.learning.posterior import Posterior


def seen_run(day: Day, run: Run) -> GoodRun:
    """Return a run with its figures and what the response model needs of it, not yet judged.

    Parameters
    ----------
    day : the day before the run, with the change before it as it really was and the run's set
        of tires on the car.
    """
    settled = _settled(day, run)
    figures = figure.compute(settled.tires, day.plan.turns)
    weather = {"track_temp": run.track_temp, "air_temp": run.air_temp}
    level = day.level
    first = day.good[0].level if day.good else level
    seen = Observation(
        figures.base,
        moved=moved_by(day.past[-1:], day.moved_before) | levels.displaced(level, first),
        conditions={
            "tire_laps": float(day.tires.now.laps),
            **{name: value for name, value in weather.items() if value is not None},
        },
        extra_variance=settled.extra_variance,
        level_variance=settled.level_variance,
        common_variance=settled.common_variance,
    )
    remarks = (*not_read(run.tires), *settled.remarks)
    run = attrs.evolve(run, set_state=day.tires.now.state)
    return GoodRun(len(day.steps) + 1, run, figures, (), seen, level, remarks)


def _settled(day: Day, run: Run) -> Settled:
    """Return the readings corrected to one moment, and how much they count for."""
    plan, settled = day.plan, Settled(run.tires)
    if run.again is not None or run.delay is not None or run.order:
        from planner.run import cooling

        settled = cooling.settle(run, day.book.noise)
    if run.laps is not None and 0 < run.laps < plan.laps:
        from planner.run import warm_up

        settled = warm_up.settle(settled, run, plan.laps, plan.least_laps)
    return settled


def judged(day: Day, step: RunStep, new: GoodRun) -> "tuple[RunStep, Posterior | None]":
    """Return a run step with everything worked out from its readings, and what is known then.

    Parameters
    ----------
    day : the day before the run, with the change before it as it really was.
    new : the run, as `seen_run` gives it.
    """
    run, plan = new.run, day.plan
    if step.void is not None:
        nothing = attrs.evolve(step, patterns=(), doubt=None, outcome=None)
        return attrs.evolve(nothing, worse=(), expected_out=None), None
    good = (*day.good, new)
    worse = _worse(day, new)
    held = day.held_from(new)
    known = learned(plan, day.book, good, held)
    left_open = day.left_open - set(worse)
    outlook = Outlook(known, day.book, left_open)
    chances = (Outlook(known, day.book) if left_open else outlook).chances
    settings = {**day.settings, **{("pressure", str(c)): psi for c, psi in run.cold.items()}}
    # What the crew has left as it is stays told for as long as it is likely there.
    left = {key for key in left_open if chances.get(key, 0.0) > showing.EVEN}
    holds = left | holding(
        outlook,
        day.limits,
        lambda setting, _: settings.get(setting),
        enough(plan.certainty),
        one_change=plan.one_change,
    )
    patterns = showing.find(
        run,
        known,
        day.book,
        gate=Gate(chances, holds),
        latest=new.figures,
        window=day.car.tires.window,
        earlier=day.same_tires(new.step),
    )
    patterns += pressures.findings(run, new.figures.averages(), day.settings)
    outcome, hard = None, None
    if day.on_trial and day.good:
        before = day.known
        # By what was really made, which may differ from what was chosen.
        made = moved_since_last_good(day)
        level = levels.displaced(new.level, day.good[-1].level)
        aimed, aims = _aimed(day)
        same = _same_setup(day.good)
        outcome = outcomes.judge(
            day.on_trial[-1].step,
            aims,
            {name: before.estimate(name, moved=made | level).mean for name in aimed},
            figure.mean([each.figures for each in same]),
            new.figures,
            before.priors.noise,
            runs_before=len(same),
            level=_level(day, day.good[-1], new, aimed),
        )
        hard = doubt([name for name in aimed if new.figures.is_known(name)], before, new.seen)
    step = attrs.evolve(
        step,
        patterns=patterns,
        doubt=hard,
        outcome=outcome,
        worse=worse,
        expected_out=round(float(outlook.faults.count), 3),
    )
    return step, known


def _aimed(day: Day) -> tuple[tuple[str, ...], tuple[Aim, ...]]:
    """Return the figures and the aims of all changes that a run judges together."""
    on_trial = [past.candidate for past in day.on_trial]
    figures = (name for each in on_trial for name in each.aimed(day.book))
    aims: dict[tuple[str, ...], Aim] = {}
    for aim in sorted((a for each in on_trial for a in each.aims(day.book)), key=lambda a: a.trim):
        # What one change is for counts, though another rides for it.
        aims.setdefault(aim.figures, aim)
    return tuple(dict.fromkeys(figures)), tuple(aims.values())


def _worse(day: Day, new: GoodRun) -> tuple[str, ...]:
    """Return which patterns left as they were are clearly worse in a run than when they were."""
    good = {run.step: run for run in day.good}
    worse = []
    for key, at in day.stand.left.items():
        band = day.book.band(key)
        if band is None or at not in good:
            continue
        then = good[at]
        level = _level(day, then, new, band.figures)
        if resting.is_clearly_worse(band, then.figures, new.figures, day.book.noise, level):
            worse.append(key)
    return tuple(worse)


def _level(day: Day, then: GoodRun, now: GoodRun, names: Iterable[str]) -> dict[str, Estimate]:
    """Return what another set of tires or part of the day did to figures from run to run [degF]."""
    moved = levels.displaced(now.level, then.level)
    return {name: day.known.difference(moved, name) for name in names} if moved else {}


def _same_setup(good: tuple[GoodRun, ...]) -> list[GoodRun]:
    """Return the latest good runs between which nothing was moved, oldest first."""
    latest = good[-1].seen.moved
    same: list[GoodRun] = []
    for run in reversed(good):
        if run.seen.moved != latest:
            break
        same.append(run)
    return same[::-1]
