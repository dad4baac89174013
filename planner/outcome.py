"""What came of a change: the aimed-at figures before and after, against what was expected."""

from collections.abc import Iterable, Mapping
from math import sqrt
from typing import Literal, Protocol

import attrs

from planner import units
from planner.figures import Figures, Noise, standard_error

Verdict = Literal["better", "no-change", "worse", "unclear"]


@attrs.frozen
class FigureOutcome:
    """One aimed-at figure: before, after, what was expected, and the verdict on it [degF]."""

    figure: str
    before: float
    after: float
    target: float
    verdict: Verdict
    expected: float | None = None


@attrs.frozen
class Outcome:
    """The outcome of the change that step `step` put on the car."""

    verdict: Verdict
    step: int
    says: str
    figures: tuple[FigureOutcome, ...] = ()


class Aimed(Protocol):
    """What a change aimed at."""

    @property
    def figures(self) -> tuple[str, ...]: ...
    @property
    def target(self) -> float: ...
    @property
    def low(self) -> float | None: ...
    @property
    def high(self) -> float | None: ...
    @property
    def trim(self) -> bool: ...


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
    standard error of d. It is *better* when d > s and *worse* when d < -s (about five to one).
    Otherwise it is *no-change*
    when less than half of what was expected came, by half a standard error or more, and
    *unclear* when the readings cannot tell. A bundle is judged on the sum over its figures.
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
            parts.append(FigureOutcome(name, was, came, aim.target, verdict, end))
            if aim.trim:
                continue  # judged for itself, but not what the step is judged by
            gains.append(gain)
            hopes.append(hope)
            errors.append(error)
    if not parts:
        return Outcome("unclear", step, "nothing was aimed at that the temperatures can show")
    whole = _verdict(sum(gains), sqrt(sum(e**2 for e in errors)), sum(hopes) if known else None)
    says = "; ".join(_words(part, system) for part in parts)
    return Outcome(whole, step, says, tuple(parts))


def _still_off(value: float, aim: Aimed, before: float) -> float:
    """Return how far a figure is from its aim; past the aim but within the band counts as there."""
    there = (aim.low, aim.target) if before > aim.target else (aim.target, aim.high)
    low, high = there
    if (low is None or low <= value) and (high is None or value <= high):
        return 0.0
    return abs(value - aim.target)


def _verdict(gain: float, error: float, hope: float | None) -> Verdict:
    if gain > error:
        return "better"
    if gain < -error:
        return "worse"
    if hope is None:
        return "no-change" if abs(gain) < error / 2 else "unclear"
    return "no-change" if hope / 2 - gain >= error / 2 else "unclear"


def _words(part: FigureOutcome, system: units.System) -> str:
    def shown(value: float) -> str:
        if part.figure.startswith("average") or part.figure in ("front", "rear", "left", "right"):
            return units.temperature(value, system)
        return units.difference(value, system)

    text = f"{part.figure} {shown(part.before)} → {shown(part.after)}"
    if part.expected is not None:
        text += f" (expected {shown(part.expected)})"
    return f"{text}: {part.verdict.replace('-', ' ')}"
