"""What a change is to mend: the figures that show a pattern, and where they should end."""

from collections.abc import Container, Iterable, Iterator

import attrs

from planner.rulebook.rules import PatternRule, Rulebook, TuningStage, Way, figure_names
from planner.trade.corners import CORNERS, Corner


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
    pattern, _, place = key.partition(":")
    rule = next((rule for rule in book.pattern if rule.id == pattern), None)
    if rule is None:
        return None
    corner = next((corner for corner in CORNERS if corner == place), None)
    return attrs.evolve(_aim(rule, corner, book), trim=trim)


def of_keys(keys: Iterable[str], book: Rulebook, *, trim: bool = False) -> tuple[Aim, ...]:
    """Return the aims of patterns, leaving out those the rules no longer have."""
    found = (of_key(key, book, trim=trim) for key in keys)
    return tuple(aim for aim in found if aim is not None)


def at_corners(
    stage: TuningStage, knob: str, book: Rulebook, way: Way | None = None
) -> dict[Corner, Aim]:
    """Return what a knob at each corner is for in a stage, whether or not it is out of band.

    Parameters
    ----------
    way : it is turned, where only patterns that ask for that are meant.
    """
    for rule in book.pattern:
        uses = [
            book.adjustment[offer.use]
            for offer in rule.offers
            if way is None or offer.direction in (None, way)
        ]
        if rule.stage == stage and any((a.knob, a.corner) == (knob, "same") for a in uses):
            return {corner: _aim(rule, corner, book) for corner in CORNERS}
    return {}


def answered_by(
    settings: Container[tuple[str, str]], book: Rulebook
) -> Iterator[tuple[PatternRule, Aim]]:
    """Yield the rules of every stage that are answered by one of some settings, and their aims."""
    for rule in book.pattern:
        if rule.stage is None or (rule.above is None and rule.below is None):
            continue
        uses = [book.adjustment[offer.use] for offer in (*rule.offers, *rule.next_cause)]
        for corner in CORNERS if rule.each != "car" else (None,):
            places = {
                (use.knob, (corner or "") if use.corner == "same" else use.corner) for use in uses
            }
            if any(place in settings for place in places):
                yield rule, _aim(rule, corner, book)


def _aim(rule: PatternRule, corner: Corner | None, book: Rulebook) -> Aim:
    low, high = book.bands(rule.figures[0])
    names = figure_names(rule, corner or "")
    key = f"{rule.id}:{corner}" if corner else rule.id
    return Aim(key, names, rule.aim, low, high, corner)
