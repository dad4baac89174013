"""Where the plan goes from a step, in words."""

from planner.plan.way import Way
from planner.words import patterns, runs
from planner.words.changes import joined
from planner.words.due import stands
from planner.words.left_open import not_read

_NOT_AS_SET = "cold pressures differed from the run before"


def says(way: Way) -> str:
    """Say where the plan went, and why, as a part of a sentence."""
    stage, shown = way.place.stage, patterns.listed(way.shown)
    left = f"what was left as it is ({patterns.listed(way.left)})" if way.left else ""
    none_shows = f"no stage shows a fault{left and f' other than {left}'}"
    unsure = _unsure(way)
    said = {
        "same-run-due": f"the run is due again: {runs.void(way.void)}",
        "same-choice-due": f"the choice is still due, on the run before: {runs.void(way.void)}",
        "complete": f"complete, but for {left}" if left else "complete",
        "new-round": f"a new round begins in the {stage} stage: {shown}",
        "confirm-again": f"confirm once more: {unsure or _NOT_AS_SET}",
        "to-confirm": f"to confirm: {none_shows}{unsure and f', but {unsure}'}",
        "same-stage": f"still in the {stage} stage: {shown}",
        "back": f"back to the {stage} stage: {shown} shows",
        "on": f"on to the {stage} stage: {shown}",
        "as-before-the-choice": f"{stands(way.place)}, as before the choice",
        "stands": f"the plan stays where it was: {stands(way.place)}",
        "moved": stands(way.place),
    }[way.kind]
    if way.unjudged is not None:
        said += (
            f"; {not_read(way.unjudged)}, so {joined(way.unjudged.stages)} cannot be called done"
        )
        said += "" if way.place.due == "nothing" else ": read it, or move on with a reason"
    if way.worse:
        said += f"; clearly worse than when it was left: {patterns.listed(way.worse)}"
    return said


def _unsure(way: Way) -> str:
    """Say how much may still be out of band, where it is too much to end the day; else nothing."""
    if way.expected_out is None or way.expected_out <= way.enough:
        return ""
    digits = 2 if round(way.expected_out, 2) > round(way.enough, 2) else 3
    return f"{way.expected_out:.{digits}f} of a fault expected; the day ends at {way.enough:.3g}"
