"""From patterns to candidates: which changes are offered, and in which order."""

from collections.abc import Iterable, Iterator

import attrs

from planner.advice import driver
from planner.advice.bundles import bundle, with_trims
from planner.advice.candidate import Candidate, Table, numbered
from planner.advice.even_wear import even_wear
from planner.advice.put_back import put_back
from planner.advice.reasons import HeldBack, NextCause
from planner.advice.situation import Situation
from planner.advice.sizes import place_of, sized
from planner.car.changes import moves_of
from planner.judging.patterns import Pattern
from planner.rulebook import aims
from planner.rulebook.rules import Adjustment, Offer, PatternRule
from planner.run.readings import Run

FELT = 1.5  # weight of a candidate that acts where the driver felt it; from memory


def lay_out(now: Situation) -> Table:
    """Return the candidates for the stage's open patterns, the best first.

    Putting back a change that made things worse comes first; then one bundle for all corners
    where the stage allows it; then single changes, the worst pattern first, in the order of the
    rules file, those that the driver's word points to before the others and those already tried
    in vain last.
    """
    worst_first = sorted(now.open_patterns, key=lambda p: -abs(p.value - p.limit))
    found = [each for pattern in worst_first for each in _for_pattern(pattern, now)]
    found += [each for pattern in now.patterns for each in _not_to_be_turned(pattern, now)]
    singles = [each for each in found if isinstance(each, Candidate)]
    together = bundle(singles, now)
    return _table(
        [
            *(
                driver.heard(each, now) if isinstance(each, Candidate) else each
                for each in put_back(now)
            ),
            *(with_trims(candidate, now, others=True) for candidate in together),
            *(with_trims(candidate, now, others=not together) for candidate in singles),
            *(each for each in found if isinstance(each, HeldBack)),
            *(even_wear(now) if now.stage == "cross" else ()),
        ]
    )


def against_wear(now: Situation) -> Table:
    """Return what may be changed against uneven wear though no temperature is out of band."""
    return _table(even_wear(now))


def _table(found: Iterable[Candidate | HeldBack]) -> Table:
    each = tuple(found)
    return Table(
        numbered(one for one in each if isinstance(one, Candidate)),
        tuple(one for one in each if isinstance(one, HeldBack)),
    )


def _for_pattern(pattern: Pattern, now: Situation) -> list[Candidate | HeldBack]:
    """Return what a pattern calls for, the best first, and what of it is held back."""
    rule = now.book.rule(pattern.id)
    offers, next_cause = _due_offers(rule, pattern, now)
    found = [sized(pattern, offer, now) for offer in offers]
    candidates = [driver.heard(each, now) for each in found if isinstance(each, Candidate)]
    if any(driver.is_against(candidate) for candidate in candidates):
        others = driver.other_causes(pattern, rule, now)
        found += others
        candidates += [each for each in others if isinstance(each, Candidate)]
    if next_cause is not None:
        candidates = [attrs.evolve(c, reasons=(*c.reasons, next_cause)) for c in candidates]
    # The rules' own order, and what the driver felt, stand until the car is known well enough to
    # weigh the candidates; then the driver's word is one more weight.
    known = any(_is_known(candidate, now) for candidate in candidates)

    def place(candidate: Candidate) -> tuple[bool, bool, bool, float]:
        worth = 1.0
        if known:
            worth = now.outlook.worth(moves_of(candidate.changes), candidate.minutes or 0.0)
        felt = worth > 0 and _felt(candidate, rule, now.run)
        against = driver.is_against(candidate)
        # Stagger is set for the turn: last of what may correct the handling.
        stagger = candidate.changes[0].knob == "stagger" and not driver.is_other_cause(candidate)
        in_vain = _tried_in_vain(candidate, now)
        return stagger, in_vain, against, -worth * (FELT if felt else 1.0)

    held_back = [each for each in found if isinstance(each, HeldBack)]
    return [*sorted(candidates, key=place), *held_back]


def _not_to_be_turned(pattern: Pattern, now: Situation) -> Iterator[HeldBack]:
    """Yield what would answer a pattern of the stage that nothing on this car can put right."""
    band = None if pattern.holds or pattern.stage != now.stage else now.book.band(pattern.key)
    if band is not None and now.book.nothing_turns(band):
        for offer in band.rule.offers:
            held = sized(pattern, offer, now)
            if isinstance(held, HeldBack):
                yield held


def _is_known(candidate: Candidate, now: Situation) -> bool:
    """Whether a candidate's size rests on more than a rule of thumb."""
    (change,) = candidate.changes
    moved = any(change.setting == past.setting for each in now.past for past in each.made)
    return moved or now.model.effects(*change.setting) is not None


def _due_offers(
    rule: PatternRule, pattern: Pattern, now: Situation
) -> tuple[tuple[Offer, ...], NextCause | None]:
    """Return the offers of a pattern, or those of the next cause once a knob has been piled up."""
    if rule.after_moves is None:
        return rule.offers, None
    first = now.book.adjustment[rule.offers[0].use]
    moves = 0
    for past in reversed(now.past):
        if pattern.key not in (*past.candidate.answers, *past.candidate.trims_answer):
            continue
        turned = [c for c in past.made if (c.knob, c.corner) == (first.knob, first.corner)]
        same_way = _direction(pattern, first, now)
        if not turned or turned[0].amount * same_way <= 0:
            break
        moves += 1
    if moves < rule.after_moves:
        return rule.offers, None
    return rule.next_cause, NextCause(first.knob, moves)


def _direction(pattern: Pattern, entry: Adjustment, now: Situation) -> float:
    rule = now.book.rule(pattern.id)
    figures = [name for aim in aims.of_keys((pattern.key,), now.book) for name in aim.figures]
    slope = now.outlook.slope(figures, (entry.knob, place_of(entry, pattern)))
    return (1.0 if rule.below is not None else -1.0) * slope


def _felt(candidate: Candidate, rule: PatternRule, run: Run) -> bool:
    """Whether it acts in a part of the corner where the driver felt what the tires show."""
    felt = {part for part, feel in run.felt.items() if rule.feel in (feel, None)}
    return candidate.uses[0] in {offer.use for offer in rule.offers if offer.when in felt}


def _tried_in_vain(candidate: Candidate, now: Situation) -> bool:
    """Whether this knob was moved this way before, for this pattern, and it did harm or nothing."""
    (change,) = candidate.changes
    return any(
        past.outcome is not None
        and past.outcome.verdict in ("worse", "no-change")
        and candidate.pattern == past.candidate.pattern
        and any(c.setting == change.setting and c.amount * change.amount > 0 for c in past.made)
        for past in now.past
    )
