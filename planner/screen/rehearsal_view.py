"""A rehearsal that is only watched: step by step, with the place in the tuning order."""

from collections.abc import Iterator

from rich.console import Console, RenderableType
from rich.text import Text

from planner.plan.day import Day
from planner.plan.steps import ChoiceStep, RunStep
from planner.screen import day_view, paper
from planner.words import changes as change_words
from planner.words import offers
from planner.words import patterns as pattern_words
from planner.words import runs as run_words

_LABEL = 8


def watch(day: Day, runs: int, console: Console) -> None:
    """Print what the last step was."""
    step = day.plan.step[-1]
    if isinstance(step, RunStep):
        paper.put(console, [Text(""), day_view.progress(day), *_shown(step, f"run {runs}", day)])
    elif isinstance(step, ChoiceStep):
        what = "moved on"
        if step.chosen is not None:
            what = f"{offers.title(step.chosen)}{change_words.riding(step.chosen.changes)}"
        paper.put(console, [paper.hanging("change", what, _LABEL)])


def _shown(step: RunStep, label: str, day: Day) -> Iterator[RenderableType]:
    """Yield what came of the change before the run, and what its readings show."""
    said = []
    if step.outcome is not None:
        said.append(f"the last change: {step.outcome.verdict.replace('-', ' ')}")
    held = [p for p in step.patterns if p.holds]
    says = (pattern_words.says(p, day.book, day.plan.units) for p in held if not p.masked_by)
    said += says
    masked = sum(bool(p.masked_by) for p in held)
    if masked:
        said.append(f"{masked} more {'is' if masked == 1 else 'are'} masked by that")
    if not held:
        said.append(
            f"judges nothing: {run_words.void(step.void)}"
            if step.void
            else "no stage shows a fault"
        )
    for number, sentence in enumerate(said):
        yield paper.hanging("" if number else label, sentence, _LABEL)
