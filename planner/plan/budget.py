"""The rest of the day against the budget: does it fit, and what to leave out if not."""

import math

import attrs

from planner.advice.ahead import DayAhead, Forecast, leave_out
from planner.advice.outlook import Outlook
from planner.plan.day import Day, moved_since_last_good
from planner.plan.steps import RunStep
from planner.rulebook.rules import TUNING_ORDER, TuningStage

CERTAINTIES = (0.5, 0.6, 0.7, 0.8, 0.9)


@attrs.frozen
class Fitting:
    """The forecast, the runs that are left, and what follows.

    Attributes
    ----------
    expected : how the rest of the day may go.
    runs_left : by runs, minutes or tire sets, whichever is shortest; None without a budget.
    fits : whether the expected runs fit; None without a budget.
    leave_out : the stage to leave out where they do not.
    """

    expected: Forecast
    runs_left: int | None
    fits: bool | None
    leave_out: TuningStage | None

    @property
    def whole_runs(self) -> int:
        """The expected runs to the nearest whole one."""
        return math.floor(self.expected.runs + 0.5)


def forecast(day: Day) -> Fitting | None:
    """Return how the rest of the day may go; None before the first good run and when complete."""
    ahead = _ahead(day)
    if ahead is None:
        return None
    expected = ahead.forecast()
    left = runs_left(day, expected)
    fits = None if left is None else math.floor(expected.runs + 0.5) <= left
    out = leave_out(ahead, left) if left is not None and not fits else None
    return Fitting(expected, left, fits, out)


def trade_off(day: Day) -> tuple[tuple[float, Forecast], ...]:
    """Return forecasts for several certainties: more certainty costs runs."""
    ahead = _ahead(day)
    if ahead is None:
        return ()
    return tuple((sure, ahead.forecast(certainty=sure)) for sure in CERTAINTIES)


def runs_left(day: Day, expected: Forecast) -> int | None:
    """Return how many runs the day has left, or None where the crew has not said."""
    budget = day.plan.budget
    steps = [step for step in day.plan.step if isinstance(step, RunStep)]
    left: list[float] = []
    if budget.runs is not None:
        left.append(budget.runs - len(steps))
    if budget.sets is not None:
        left.append(_on_tires(day, budget.sets, len(steps)))
    if budget.minutes is not None:
        gone = (steps[-1].time - day.plan.created).total_seconds() / 60 if steps else 0.0
        each = expected.minutes / expected.runs if expected.runs else 1.0
        left.append((budget.minutes - gone) / each)
    return max(0, math.floor(min(left))) if left else None


def _on_tires(day: Day, sets: int, runs: int) -> int:
    """Return how many runs the sets of tires have left.

    What one set is run beyond its share is not taken from the others; where the crew names no set,
    the runs are taken from all of them.
    """
    each = day.plan.budget.runs_per_set
    if not day.tires.several:
        return sets * each - runs
    begun = sum(max(0, each - one.cycles) for one in day.tires.sets.values())
    return begun + max(0, sets - len(day.tires.sets)) * each


def _working(day: Day) -> TuningStage | None:
    """Return the stage whose change is chosen or made and not yet judged by a run."""
    under_way = day.pending is not None or bool(day.on_trial)
    return next((each for each in TUNING_ORDER if each == day.stage), None) if under_way else None


def _ahead(day: Day) -> DayAhead | None:
    if not day.good or day.stage == "complete":
        return None
    ahead = DayAhead(
        Outlook(day.known, day.book, day.left_open),
        day.plan.certainty,
        choosing=day.due == "choice",
        unseen=tuple(moved_since_last_good(day).items()),
        working=_working(day),
        one_change=day.plan.one_change,
    )
    if day.pending is None:
        return ahead
    chosen = tuple((change.setting, change.amount) for change in day.pending.changes)
    return attrs.evolve(ahead, unseen=(*ahead.unseen, *chosen), minutes=day.pending.minutes or 0.0)
