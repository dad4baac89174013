"""Heat that is looked at before anything else."""

import attrs

from planner.run.readings import Run
from planner.trade.corners import STRIPS, Corner, Strip


@attrs.frozen
class TooHot:
    """A tire to be looked at first, by its hottest strip [degF].

    Attributes
    ----------
    limit : at which a tire is looked at, by the rules.
    """

    corner: Corner
    strip: Strip
    reads: float
    limit: float


def too_hot(run: Run, limit: float) -> tuple[TooHot, ...]:
    """Return the tires to be looked at before anything else, the hottest first.

    By the readings themselves, whether or not the run judges the setup: rubber that has been so
    hot may come apart whatever the run was for.

    Parameters
    ----------
    limit : of the rules file [degF]; so much or more.
    """
    found = []
    for corner, tire in run.tires.items():
        reads, strip = max(zip(tire, STRIPS, strict=True), key=lambda each: each[0])
        if reads >= limit:
            found.append(TooHot(corner, strip, reads, limit))
    return tuple(sorted(found, key=lambda each: -each.reads))
