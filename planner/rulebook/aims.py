"""What a change is to mend: the figures that show a pattern, and where they should end."""

from collections.abc import Container, Iterable, Iterator

import attrs

from planner.rulebook.rules import Band, PatternRule, Rulebook
from planner.trade.corners import Corner


@attrs.frozen
class Aim:
    """One aim of a change.

    Attributes
    ----------
    pattern : the pattern, as ``id:corner``; a plan keeps an aim as this key alone.
    figures : the figures that show it.
    target, low, high : where they should end, and their band [degF].
    trim : aimed at by a riding trim, not by the stage's own change.
    """

    pattern: str
    figures: tuple[str, ...]
    target: float
    low: float | None = None
    high: float | None = None
    corner: Corner | None = None
    trim: bool = False


def of_key(key: str, book: Rulebook, *, trim: bool = False) -> Aim | None:
    """Return what mending a pattern means; None where the rules no longer have the pattern.

    Parameters
    ----------
    key : the pattern, as ``id:corner`` or the id alone.
    """
    band = book.band(key)
    return None if band is None else attrs.evolve(_aim(band, book), trim=trim)


def of_keys(keys: Iterable[str], book: Rulebook, *, trim: bool = False) -> tuple[Aim, ...]:
    """Return the aims of patterns, leaving out those the rules no longer have."""
    found = (of_key(key, book, trim=trim) for key in keys)
    return tuple(aim for aim in found if aim is not None)


def answered_by(
    settings: Container[tuple[str, str]], book: Rulebook
) -> Iterator[tuple[PatternRule, Aim]]:
    """Yield the rules of every stage that are answered by one of some settings, and their aims."""
    for band in (band for band in book.bands if band.holds_stage):
        if any(setting in settings for setting in book.settings(band, next_cause=True)):
            yield band.rule, _aim(band, book)


def _aim(band: Band, book: Rulebook) -> Aim:
    low, high = book.edges(band.figures[0])
    return Aim(band.key, band.figures, band.rule.aim, low, high, band.corner)
