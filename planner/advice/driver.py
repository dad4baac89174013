"""The driver's word beside the tires': offers that act against it, and other causes to look at."""

import attrs

from planner.advice.basis import basis_of
from planner.advice.candidate import Candidate
from planner.advice.reasons import AgainstFeel, HeldBack, OtherCause
from planner.advice.situation import Situation, balance_figure, cautions, foretold, turns_balance
from planner.advice.sizes import LEAST_ANSWER, place_of
from planner.car import changes as changing
from planner.car import rear_stagger
from planner.judging.patterns import Pattern
from planner.rulebook.rules import Offer, PatternRule


def heard(candidate: Candidate, now: Situation) -> Candidate:
    """Return a candidate, with a reason more where it makes worse what the driver felt."""
    feel = now.run.felt_alone
    shift = turns_balance(candidate.own_changes, now)
    worse = (feel == "loose" and shift <= -LEAST_ANSWER) or (
        feel == "tight" and shift >= LEAST_ANSWER
    )
    if feel is None or not worse:
        return candidate
    return attrs.evolve(
        candidate, reasons=(AgainstFeel(feel, now.run.where_felt(feel)), *candidate.reasons)
    )


def is_against(candidate: Candidate) -> bool:
    """Say whether a candidate acts against the driver's word."""
    return any(isinstance(reason, AgainstFeel) for reason in candidate.reasons)


def is_other_cause(candidate: Candidate) -> bool:
    """Say whether a candidate is offered against another cause than its pattern's own."""
    return any(isinstance(reason, OtherCause) for reason in candidate.reasons)


def other_causes(pattern: Pattern, rule: PatternRule, now: Situation) -> list[Candidate | HeldBack]:
    """Return what the rules name as other causes of a pattern, where the driver felt those."""
    others = rule.other_causes
    if others is None or others.feel != now.run.felt_alone:
        return []
    return [_other_cause(pattern, offer, now) for offer in others.offers]


def _other_cause(pattern: Pattern, offer: Offer, now: Situation) -> Candidate | HeldBack:
    """Return one step of a knob, the way that goes with the driver: no temperature sizes it."""
    feel = now.run.felt_alone
    assert feel is not None
    entry = now.book.adjustment[offer.use]
    setting = (entry.knob, place_of(entry, pattern))
    slope = now.outlook.slope((balance_figure(now),), setting)
    if abs(slope) * entry.most < LEAST_ANSWER:
        return HeldBack(setting, "hardly-moves")
    way = 1.0 if (slope > 0) == (feel == "loose") else -1.0
    if offer.direction is not None and (way > 0) != (offer.direction == "+"):
        return HeldBack(setting, "other-way")
    room = now.limits.room(*setting)
    if room.fixed:
        return HeldBack(setting, room.fixed)
    step = entry.step_on(room)
    amount, cut = changing.within(entry.knob, way * step, now.settings.get(setting), room, step)
    if amount == 0:
        return HeldBack(setting, "no-room", cut)
    change = changing.make(*setting, amount, now.settings)
    wants = rear_stagger.wanted(now.model.car, change)
    if wants is not None and wants.away:
        return HeldBack(setting, "turn-wants", turn_wants=wants.stagger)
    candidate = Candidate(
        id="",
        pattern=pattern.id,
        changes=(change,),
        answers=(pattern.key,),
        uses=(offer.use,),
        reasons=(OtherCause(feel, now.run.where_felt(feel)), *filter(None, [wants])),
        basis=(basis_of(setting, balance_figure(now), now),),
        minutes=entry.minutes,
        cautions=cautions((change,), [entry], now),
    )
    return foretold(candidate, now)
