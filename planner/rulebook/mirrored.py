"""The rules for a track that turns right: everything sees itself in a mirror."""

import attrs

from planner.car.car_file import in_mirror
from planner.rulebook.rules import Adjustment, Offer, Rulebook, Way
from planner.trade import knobs
from planner.trade.corners import Turns, mirrored
from planner.trade.estimate import Estimate


def for_turns(book: Rulebook, turns: Turns) -> Rulebook:
    """Return the rules for a track that turns this way."""
    if turns != "right":
        return book
    flips = {
        name
        for name, entry in book.adjustment.items()
        if entry.corner in knobs.KNOBS[entry.knob].mirrors
    }
    return attrs.evolve(
        book,
        typical=tuple(in_mirror(car) for car in book.typical),
        adjustment={name: _mirrored(entry) for name, entry in book.adjustment.items()},
        pattern=tuple(
            attrs.evolve(
                rule,
                offers=_flipped(rule.offers, flips),
                next_cause=_flipped(rule.next_cause, flips),
                at_limit=_flipped(rule.at_limit, flips),
                other_causes=rule.other_causes
                and attrs.evolve(
                    rule.other_causes, offers=_flipped(rule.other_causes.offers, flips)
                ),
            )
            for rule in book.pattern
        ),
    )


def _mirrored(entry: Adjustment) -> Adjustment:
    sign = -1.0 if entry.corner in knobs.KNOBS[entry.knob].mirrors else 1.0
    effects = {}
    for name, effect in entry.effect.items():
        kind, _, corner = name.partition(".")
        effects[f"{kind}.{mirrored(corner)}"] = Estimate(sign * effect.mean, effect.sd)
    return attrs.evolve(entry, corner=mirrored(entry.corner), effect=effects)


def _flipped(offers: tuple[Offer, ...], flips: set[str]) -> tuple[Offer, ...]:
    opposite: dict[str | None, Way | None] = {"+": "-", "-": "+", None: None}
    return tuple(
        attrs.evolve(offer, direction=opposite[offer.direction]) if offer.use in flips else offer
        for offer in offers
    )
