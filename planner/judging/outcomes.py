"""What came of a change: the aimed-at figures before and after, against what was expected."""

from collections.abc import Iterable, Mapping
from math import hypot, sqrt
from statistics import NormalDist
from types import MappingProxyType
from typing import Literal

import attrs

from planner.rulebook.aims import Aim
from planner.trade.estimate import Estimate
from planner.trade.figures import Figures, Noise, standard_error

Verdict = Literal["better", "no-change", "worse", "unclear"]

SURE = 0.84  # chance above which a change counts as better: one standard error, five to one

_NORMAL = NormalDist()


@attrs.frozen
class FigureOutcome:
    """One aimed-at figure: before, after, what was expected [degF], and the verdict on it.

    Attributes
    ----------
    chance : that it truly came nearer to its aim.
    """

    figure: str
    before: float
    after: float
    target: float
    verdict: Verdict
    expected: float | None = None
    chance: float | None = None


def _of_one(figures: tuple[FigureOutcome, ...]) -> float | None:
    """Return the chance of the one figure that was aimed at, where it was one."""
    return figures[0].chance if len(figures) == 1 else None


@attrs.frozen
class Outcome:
    """The outcome of the change that step `step` put on the car.

    Attributes
    ----------
    chance : that the aimed-at figures truly came nearer, in sum; None where nothing was aimed at.
    """

    verdict: Verdict
    step: int
    figures: tuple[FigureOutcome, ...] = ()
    chance: float | None = attrs.field(
        default=attrs.Factory(lambda self: _of_one(self.figures), takes_self=True)
    )


def judge(
    step: int,
    aims: Iterable[Aim],
    expected: Mapping[str, float],
    before: Figures,
    after: Figures,
    noise: Noise,
    *,
    runs_before: int = 1,
    level: Mapping[str, Estimate] = MappingProxyType({}),
) -> Outcome:
    """Judge a change by what its figures did.

    Parameters
    ----------
    step : the step that made the change.
    aims : what it was meant to mend.
    expected : where each figure was expected to end [degF], where that is known.
    before, after : figures of the last good run before and the first after.
    noise : reading noise, for the error of a difference of two runs.
    runs_before : runs averaged in `before`.
    level : what another set of tires or part of the day did to each figure meanwhile [degF].

    Notes
    -----
    Let d be how much nearer to its aim a figure came (past it but in band is there) and s the
    standard error of d; the chance that it truly came nearer is P(d/s), P the standard normal
    distribution. It is *better* when that chance is above `SURE` and *worse* when it is below
    1 - `SURE`. Otherwise it is *no-change* when less than half of what was expected came, by half
    a standard error or more, and *unclear* when the readings cannot tell. A bundle is judged on
    the sum over its figures; what rides along is judged for itself only. What the level did is
    taken off the figure after, and its spread is in s.
    """
    parts: list[FigureOutcome] = []
    gains: list[float] = []
    hopes: list[float] = []
    errors: list[float] = []
    known = True
    for aim in aims:
        for name in aim.figures:
            if not (before.is_known(name) and after.is_known(name)):
                continue
            was, came, by = before[name], after[name], level.get(name, Estimate(0.0, 0.0))
            gain = _still_off(was, aim, was) - _still_off(came - by.mean, aim, was)
            error = hypot(standard_error(name, noise) * sqrt(1 + 1 / runs_before), by.sd)
            end = expected.get(name)
            still = 0.0 if end is None else _still_off(end - by.mean, aim, was)
            hope = 0.0 if end is None else _still_off(was, aim, was) - still
            known = known and (aim.trim or end is not None)
            verdict = _verdict(gain, error, hope if end is not None else None)
            nearer = _NORMAL.cdf(gain / error)
            parts.append(FigureOutcome(name, was, came, aim.target, verdict, end, nearer))
            if aim.trim:
                continue  # judged for itself, but not what the step is judged by
            gains.append(gain)
            hopes.append(hope)
            errors.append(error)
    if not gains:
        return Outcome("unclear", step)
    error = sqrt(sum(e**2 for e in errors))
    whole = _verdict(sum(gains), error, sum(hopes) if known else None)
    return Outcome(whole, step, tuple(parts), _NORMAL.cdf(sum(gains) / error))


def _still_off(value: float, aim: Aim, before: float) -> float:
    """Return how far a figure is from its aim; past the aim but within the band counts as there."""
    there = (aim.low, aim.target) if before > aim.target else (aim.target, aim.high)
    low, high = there
    if (low is None or low <= value) and (high is None or value <= high):
        return 0.0
    return abs(value - aim.target)


def _verdict(gain: float, error: float, hope: float | None) -> Verdict:
    chance = _NORMAL.cdf(gain / error)
    if chance > SURE:
        return "better"
    if chance < 1 - SURE:
        return "worse"
    if hope is None:
        return "no-change" if abs(gain) < error / 2 else "unclear"
    return "no-change" if hope / 2 - gain >= error / 2 else "unclear"
