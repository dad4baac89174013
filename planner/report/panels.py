"""The panels of the report: the figures of one stage with their bands."""

from typing import TYPE_CHECKING

import attrs

from planner.rulebook.rules import TUNING_ORDER, Rulebook, TuningStage
from planner.trade.corners import CORNERS
from planner.trade.figures import PER_CORNER

if TYPE_CHECKING:  # numpy comes with it
    pass

Band = tuple[float | None, float | None]


@attrs.frozen
class Panel:
    """Figures of one stage that are drawn together: one kind at four corners, or of one band."""

    stage: TuningStage
    kinds: tuple[str, ...]
    names: tuple[str, ...]
    band: Band


def panels(book: Rulebook) -> tuple[Panel, ...]:
    """Return what is drawn, in tuning order: every figure that can hold a stage."""
    found: list[Panel] = []
    for stage in TUNING_ORDER:
        kinds = dict.fromkeys(
            name for rule in book.pattern if rule.stage == stage for name in rule.figures
        )
        together: dict[Band, list[str]] = {}
        for kind in kinds:
            if kind in PER_CORNER:
                names = tuple(f"{kind}.{corner}" for corner in CORNERS)
                found.append(Panel(stage, (kind,), names, book.edges(kind)))
            else:
                together.setdefault(book.edges(kind), []).append(kind)
        found += [Panel(stage, tuple(each), tuple(each), band) for band, each in together.items()]
    return tuple(found)
