"""What came of a change, in words."""

from planner.judging.outcomes import FigureOutcome, Outcome, Verdict
from planner.trade.units import System
from planner.words import figures
from planner.words.figures import in_words


def says(outcome: Outcome, system: System) -> str:
    """Say what came of every figure the change aimed at."""
    if not outcome.figures:
        return "the temperatures cannot show what this change aimed at"
    return "; ".join(figure(part, system) for part in outcome.figures)


def figure(part: FigureOutcome, system: System) -> str:
    """Say what a figure was before and after a change, what was expected, and the verdict."""
    before, after = (figures.value(part.figure, at, system) for at in (part.before, part.after))
    text = f"{in_words(part.figure)} {before} → {after}"
    if part.expected is not None:
        text += f" (expected {figures.value(part.figure, part.expected, system)})"
    if part.chance is not None:
        text += f", {part.chance:.0%} likely nearer"
    return f"{text}: {in_short(part.verdict)}"


def in_short(verdict: Verdict) -> str:
    """Return a verdict as it is written."""
    return verdict.replace("-", " ")
