"""Figures that the last run alone and all runs together judge differently."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import attrs

from planner.rulebook.rules import Rulebook, is_out
from planner.trade.figures import Figures

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.posterior import Posterior


@attrs.frozen
class JudgedApart:
    """A figure in band by the one and out of it by the other.

    Attributes
    ----------
    latest, together : by the last run, and by all runs together [degF].
    is_out : whether it is out of band by all runs, which is what counts.
    edges : of its band, None where it has none [degF].
    """

    figure: str
    latest: float
    together: float
    is_out: bool
    edges: tuple[float | None, float | None]


def judged_apart(latest: Figures, known: "Posterior", book: Rulebook) -> Iterator[JudgedApart]:
    """Yield the figures that a stage rests on alone, where the two judge differently.

    A figure of a rule that looks at several is left out: it is not judged by itself.
    """
    alone = (b.figures[0] for b in book.bands if b.holds_stage and len(b.figures) == 1)
    for name in dict.fromkeys(alone):
        if latest.is_known(name):
            reads, together = round(latest[name], 9), round(known.estimate(name).mean, 9)
            edges = book.edges(name)
            out = is_out(together, edges)
            if out != is_out(reads, edges):
                yield JudgedApart(name, reads, together, out, edges)
