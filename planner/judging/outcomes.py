"""What came of a change: the aimed-at figures before and after, against what was expected."""

from collections.abc import Iterable, Mapping
from math import sqrt
from statistics import NormalDist
from typing import Literal, Protocol

import attrs

from planner.trade import figures as figure
from planner.trade import units
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


@attrs.frozen
class Outcome:
    """The outcome of the change that step `step` put on the car.

    Attributes
    ----------
    chance : that the aimed-at figures truly came nearer, in sum; None where nothing was aimed at.
    """

    verdict: Verdict
    step: int
    says: str
    figures: tuple[FigureOutcome, ...] = ()
    chance: float | None = None


def in_short(verdict: Verdict) -> str:
    """Return a verdict as it is written."""
    return verdict.replace("-", " ")


class Aimed(Protocol):
    """What a change aimed at."""

    @property
    def figures(self) -> tuple[str, ...]:
        """Names of the figures aimed at."""

    @property
    def target(self) -> float:
        """What each of them should come to [degF]."""

    @property
    def low(self) -> float | None:
        """The lower end of the band [degF], if it has one."""

    @property
    def high(self) -> float | None:
        """The upper end of the band [degF], if it has one."""

    @property
    def trim(self) -> bool:
        """Whether it is the aim of a riding trim."""


def judge(
    step: int,
    aims: Iterable[Aimed],
    expected: Mapping[str, float],
    before: Figures,
    after: Figures,
    noise: Noise,
    *,
    runs_before: int = 1,
    system: units.System = "us",
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
    system : units the words are written in.

    Notes
    -----
    Let d be how much nearer to its aim a figure came (past it but in band is there) and s the
    standard error of d; the chance that it truly came nearer is P(d/s), P the standard normal
    distribution. It is *better* when that chance is above `SURE` and *worse* when it is below
    1 - `SURE`. Otherwise it is *no-change* when less than half of what was expected came, by half
    a standard error or more, and *unclear* when the readings cannot tell. A bundle is judged on
    the sum over its figures; what rides along is judged for itself only.
    """
    parts: list[FigureOutcome] = []
    gains: list[float] = []
    hopes: list[float] = []
    errors: list[float] = []
    known = True
    for aim in aims:
        for name in aim.figures:
            was, came = before[name], after[name]
            gain = _still_off(was, aim, was) - _still_off(came, aim, was)
            error = standard_error(name, noise, before.turns) * sqrt(1 + 1 / runs_before)
            end = expected.get(name)
            hope = 0.0 if end is None else _still_off(was, aim, was) - _still_off(end, aim, was)
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
        return Outcome("unclear", step, "nothing was aimed at that the temperatures can show")
    error = sqrt(sum(e**2 for e in errors))
    whole = _verdict(sum(gains), error, sum(hopes) if known else None)
    says = "; ".join(in_words(part, system) for part in parts)
    return Outcome(whole, step, says, tuple(parts), _NORMAL.cdf(sum(gains) / error))


def _still_off(value: float, aim: Aimed, before: float) -> float:
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


def in_words(part: FigureOutcome, system: units.System) -> str:
    """Tell of a figure before and after a change, what was expected, and the verdict."""

    def shown(value: float) -> str:
        if part.figure.startswith("average") or part.figure in ("front", "rear", "left", "right"):
            return units.temperature(value, system)
        return units.difference(value, system)

    text = f"{figure.in_words(part.figure)} {shown(part.before)} → {shown(part.after)}"
    if part.expected is not None:
        text += f" (expected {shown(part.expected)})"
    if part.chance is not None:
        text += f", nearer with {part.chance:.0%}"
    return f"{text}: {in_short(part.verdict)}"
