"""What no run has read, and the stages that are not judged for it."""

from collections.abc import Sequence

import attrs

from planner.plan.day import Day, GoodRun
from planner.rulebook.rules import TUNING_ORDER, TuningStage
from planner.trade.corners import CORNERS, Corner
from planner.trade.figures import BASE_FIGURES, terms


@attrs.frozen
class Unjudged:
    """Tires that no run has read whole, and the stages with a rule that needs them."""

    corners: tuple[Corner, ...]
    stages: tuple[TuningStage, ...]


def unjudged(day: Day, runs: Sequence[GoodRun]) -> Unjudged | None:
    """Return what some runs leave unjudged; None where all is, or there is no run.

    A figure that an earlier run has read is judged by all runs together. Of one that none has,
    nothing is known: what is usual on a car is no reading.

    Parameters
    ----------
    runs : good runs of the day.
    """
    never = {name for name in BASE_FIGURES if not any(run.figures.is_known(name) for run in runs)}
    if not runs or not never:
        return None
    needed = {
        band.rule.stage
        for band in day.book.stage_bands
        if band.key not in day.left_open and not day.book.nothing_turns(band)
        for name in band.figures
        if not never.isdisjoint(terms(name, day.plan.turns))
    }
    corners = tuple(c for c in CORNERS if any(name.endswith(f".{c}") for name in never))
    return Unjudged(corners, tuple(stage for stage in TUNING_ORDER if stage in needed))
