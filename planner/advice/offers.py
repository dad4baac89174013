"""From patterns to candidates: which changes are offered, and in which order."""

from collections.abc import Iterable, Iterator

import attrs

from planner.advice import driver
from planner.advice.candidate import Candidate, Table, numbered
from planner.advice.choices import cost_of
from planner.advice.do_now import do_now
from planner.advice.even_wear import even_wear
from planner.advice.put_back import put_back
from planner.advice.reasons import DoesNotPay, HeldBack, NextCause
from planner.advice.situation import Situation
from planner.advice.sizes import nearer, sized
from planner.car.changes import moves_of
from planner.judging.patterns import Pattern
from planner.rulebook.rules import Offer, PatternRule

# Weight of what a candidate mends where the driver felt it; its work weighs the same. From memory.
FELT = 1.5


def lay_out(now: Situation) -> Table:
    """Return the candidates for the stage's open patterns, the best first.

    All are placed by what they are expected to take off what is out of band, their work counted:
    the stage's change with what rides along, the putting back of a change that made things worse,
    and the single changes that the rules offer. What acts where the driver felt it weighs more;
    what goes against the driver's word, was tried in vain, or is stagger comes after.
    """
    found = [each for pattern in now.open_patterns for each in _for_pattern(pattern, now)]
    found += [each for pattern in now.patterns for each in _not_to_be_turned(pattern, now)]
    singles = [each for each in found if isinstance(each, Candidate)]
    sized_alone = [each for each in singles if _may_be_part(each)]
    back = put_back(now)
    ways = [
        *(driver.heard(each, now) for each in do_now(sized_alone, now)),
        *(driver.heard(each, now) for each in back if isinstance(each, Candidate)),
        *singles,
    ]
    return _table(
        [
            *_best_first(ways, now),
            *(each for each in (*back, *found) if isinstance(each, HeldBack)),
            *(even_wear(now) if now.stage == "cross" else ()),
        ]
    )


def _may_be_part(single: Candidate) -> bool:
    """Whether a single change may be a part of what is done now."""
    is_stagger = single.changes[0].knob == "stagger"  # set for the turn, not for the handling
    return not (is_stagger or driver.is_against(single) or driver.is_other_cause(single))


def _best_first(ways: Iterable[Candidate], now: Situation) -> list[Candidate]:
    """Return candidates in their order; a single change that does not pay says so."""
    found = sorted(((_place(each, now), n, each) for n, each in enumerate(ways)))
    return [
        attrs.evolve(each, reasons=(*each.reasons, DoesNotPay()))
        if cost > 0 and each.kind == "single"
        else each
        for (*_, cost), _, each in found
    ]


def _place(candidate: Candidate, now: Situation) -> tuple[bool, bool, bool, float]:
    """Return what candidates are sorted by; the last is work less what they mend."""
    entries = [now.book.adjustments_of(*change.setting) for change in candidate.changes]
    work = cost_of(entry[0].minutes if entry else 0.0 for entry in entries)
    mends = now.outlook.gain(moves_of(candidate.changes), ())
    if driver.is_other_cause(candidate):  # no temperature sizes it, so none places it
        mends = work = 0.0
    elif mends > 0 and _felt(candidate, now):
        mends *= FELT
    stagger = candidate.changes[0].knob == "stagger" and not driver.is_other_cause(candidate)
    return stagger, _tried_in_vain(candidate, now), driver.is_against(candidate), work - mends


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
    """Return what a pattern calls for, and what of it is held back."""
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
    return [*candidates, *(each for each in found if isinstance(each, HeldBack))]


def _not_to_be_turned(pattern: Pattern, now: Situation) -> Iterator[HeldBack]:
    """Yield what would answer a pattern of the stage that nothing on this car can put right."""
    band = None if pattern.holds or pattern.stage != now.stage else now.book.band(pattern.key)
    if band is not None and now.book.nothing_turns(band):
        for offer in band.rule.offers:
            held = sized(pattern, offer, now)
            if isinstance(held, HeldBack):
                yield held


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
        same_way = nearer(pattern, first, now) == "+"
        if not turned or (turned[0].amount > 0) != same_way:
            break
        moves += 1
    if moves < rule.after_moves:
        return rule.offers, None
    return rule.next_cause, NextCause(first.knob, moves)


def _felt(candidate: Candidate, now: Situation) -> bool:
    """Whether a part of it acts in a part of the corner where the driver felt what the tires show.

    As far as the rules tell where in the corner an offer acts.
    """
    return any(
        offer.use in candidate.uses and feel in (rule.feel or feel, None)
        for rule in (now.book.rule(pattern.id) for pattern in now.open_patterns)
        for offer in rule.offers
        for part, feel in now.run.felt.items()
        if offer.when == part
    )


def _tried_in_vain(candidate: Candidate, now: Situation) -> bool:
    """Whether this knob was moved this way before, for this pattern, and it did harm or nothing."""
    if len(candidate.own_changes) > 1:
        return False
    (change,) = candidate.own_changes
    return any(
        past.outcome is not None
        and past.outcome.verdict in ("worse", "no-change")
        and candidate.pattern == past.candidate.pattern
        and any(c.setting == change.setting and c.amount * change.amount > 0 for c in past.made)
        for past in now.past
    )
