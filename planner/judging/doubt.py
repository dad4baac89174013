"""An answer to a change that is hard to believe."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import attrs

from planner.learning.observed import Observation
from planner.trade.estimate import Estimate

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.posterior import Posterior

# An answer this unlikely by all that was known is questioned before it is believed.
DOUBTFUL = 0.01


@attrs.frozen
class Doubt:
    """A figure that did not answer as it should have.

    Attributes
    ----------
    reads : by the run [degF].
    expected : of the reading, its noise included [degF].
    """

    figure: str
    reads: float
    expected: Estimate


def doubt(figures: Sequence[str], before: "Posterior", seen: Observation) -> Doubt | None:
    """Question a change that did not answer as it should have; None where it did.

    Parameters
    ----------
    figures : that the change aimed at.
    before : what was known without the run.
    seen : the run.
    """
    if not figures:
        return None
    from planner.learning.surprise import surprise

    most = min(surprise(before, seen, figures), key=lambda each: each.probability)
    # Several figures were looked at, so the least likely of them must be less likely still.
    if most.probability * len(figures) > DOUBTFUL:
        return None
    return Doubt(most.figure, most.observed, most.predicted)
