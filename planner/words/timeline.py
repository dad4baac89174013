"""Runs and changes looked back on, in words."""

from collections.abc import Sequence

from planner.review.timeline import RunSeen


def footnote(corrected: Sequence[RunSeen]) -> str:
    """Say which runs were corrected for cooling, or ``""``."""
    if not corrected:
        return ""
    numbers = ", ".join(str(run.number) for run in corrected)
    return (
        f"Run{'' if len(corrected) == 1 else 's'} {numbers}: tires cool while others are read, so "
        "the figures are corrected to one moment and differ from the readings shown."
    )
