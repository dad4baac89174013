"""A rehearsal that is only watched: one line a step, with the place in the tuning order."""

from rich.console import Console
from rich.text import Text

from planner.day import Day
from planner.plan import ChoiceStep, RunStep
from planner.screen import paper, standing


def watch(day: Day, runs: int, console: Console) -> None:
    """Print what the last step was."""
    step = day.plan.step[-1]
    if isinstance(step, RunStep):
        shown = ", ".join(p.key for p in step.patterns if p.holds) or "no stage shows a fault"
        paper.put(console, [Text(""), standing.progress(day)])
        paper.put(console, [paper.hanging(f"run {runs}", shown, 8)])
    elif isinstance(step, ChoiceStep):
        what = "moved on" if step.chosen is None else step.chosen.title
        paper.put(console, [paper.hanging("change", what, 8)])
