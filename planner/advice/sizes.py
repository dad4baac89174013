"""The size of an offer: what is expected to end best, within the limits of rules and car."""

from collections.abc import Iterable
from typing import cast

from planner.advice.basis import basis_of
from planner.advice.candidate import Candidate
from planner.advice.choices import amounts
from planner.advice.outlook import TIRE_KNOBS
from planner.advice.reasons import CutShort, FlexHeat, HeldBack, Instead, Reason, RuleOfThumb
from planner.advice.situation import Situation, cautions, foretold
from planner.car import changes as changing
from planner.car import rear_stagger
from planner.car.changes import Change, Cut
from planner.judging import pressures
from planner.judging.patterns import Pattern
from planner.rulebook import aims
from planner.rulebook.aims import Aim
from planner.rulebook.rules import Adjustment, Offer, Way, figure_effect

# An adjustment that moves the figure by less than this in one move is not worth a run [degF].
LEAST_ANSWER = 0.5


def sized(pattern: Pattern, offer: Offer, now: Situation) -> Candidate | HeldBack:
    """Return the candidate for one offer of a pattern, or why it is held back."""
    entry = now.book.adjustment[offer.use]
    place = place_of(entry, pattern)
    setting = (entry.knob, place)
    aim = aims.of_key(pattern.key, now.book)
    assert aim is not None
    room = now.limits.room(*setting)
    if room.fixed:
        return HeldBack(setting, room.fixed, instead=_instead(pattern, now))
    if abs(now.outlook.slope(aim.figures, setting)) * entry.most < LEAST_ANSWER:
        return HeldBack(setting, "hardly-moves")
    step = entry.step_on(room)
    way = nearer(pattern, entry, now)
    if offer.direction not in (None, way):
        return HeldBack(setting, "other-way")
    that_way = [each for each in amounts(entry, room) if (each > 0) == (way == "+")]
    wanted = now.outlook.best_amount(setting, that_way)
    amount, cut = changing.within(entry.knob, wanted, now.stands(setting, wanted), room, step)
    if amount == 0:
        return HeldBack(setting, "no-room", cut, instead=_instead(pattern, now))
    change = changing.make(entry.knob, place, amount, now.settings)
    if lets_air_out(change, now):
        return HeldBack(setting, "losing-air")
    candidate = Candidate(
        id="",
        kind="single",
        pattern=pattern.id,
        changes=(change,),
        answers=(pattern.key,),
        uses=(offer.use,),
        reasons=explained(change, aim, entry, cut, now),
        basis=(basis_of(setting, aim.figures[0], now),),
        minutes=entry.minutes,
        cautions=cautions((change,), [entry], now),
    )
    return foretold(candidate, now)


def explained(
    change: Change, aim: Aim, entry: Adjustment, cut: Cut | None, now: Situation
) -> tuple[Reason, ...]:
    """Return why a change is of its size, and what to know of it.

    Parameters
    ----------
    cut : the limit it was cut short by, if any.
    """
    found: list[Reason | None] = [None if cut is None else CutShort(change.setting, cut)]
    found.append(_rule_of_thumb(aim, entry, change, now))
    found += flex_heat((change,), now)
    found.append(rear_stagger.wanted(now.model.car, change))
    return tuple(reason for reason in found if reason is not None)


def place_of(entry: Adjustment, pattern: Pattern) -> str:
    """Return where an adjustment is made for a pattern."""
    return pattern.corner if entry.corner == "same" and pattern.corner else entry.corner


def nearer(pattern: Pattern, entry: Adjustment, now: Situation) -> Way:
    """Return which way of a knob brings the figures of a pattern nearer, as the car answers."""
    aim = aims.of_key(pattern.key, now.book)
    assert aim is not None
    slope = now.outlook.slope(aim.figures, (entry.knob, place_of(entry, pattern)))
    return "+" if (slope > 0) == (now.book.rule(pattern.id).below is not None) else "-"


def lets_air_out(change: Change, now: Situation) -> bool:
    """Whether a change lets air out of a tire whose pressures do not add up."""
    less_air = change.knob == "pressure" and change.amount < 0
    return less_air and change.corner in pressures.losing(now.patterns)


def flex_heat(made: Iterable[Change], now: Situation) -> tuple[FlexHeat, ...]:
    """Return the tires above their working range that changes let air out of."""
    hot = {
        pattern.corner: pattern
        for pattern in now.patterns
        if pattern.id in now.book.too_warm and pattern.corner is not None
    }
    return tuple(
        FlexHeat(corner, pattern.value, pattern.limit)
        for change in made
        if change.knob == "pressure" and change.amount < 0
        for corner, pattern in hot.items()
        if corner == change.corner
    )


def _instead(pattern: Pattern, now: Situation) -> tuple[Instead, ...]:
    """Return what else the rules look at for a pattern whose first offer has no room.

    A tire whose middle runs hot though it has little air carries little load, and one whose
    middle stays cool though it has much air carries much (common practice, no source): what moves
    load is told with the way that puts it right.
    """
    found, rule = [], now.book.rule(pattern.id)
    for offer in rule.at_limit:
        entry = now.book.adjustment[offer.use]
        setting, way = (entry.knob, place_of(entry, pattern)), offer.direction
        if setting in now.book.fixed:
            continue
        if way is None and pattern.corner is not None and setting[0] not in TIRE_KNOBS:
            slope = now.outlook.slope((f"average.{pattern.corner}",), setting)
            more_load = "+" if slope > 0 else "-"
            less_load = "-" if slope > 0 else "+"
            if slope and rule.figures == ("crown",):
                way = cast(Way, more_load if rule.above is not None else less_load)
        found.append(Instead(setting, way))
    return tuple(found)


def _rule_of_thumb(
    aim: Aim, entry: Adjustment, change: Change, now: Situation
) -> RuleOfThumb | None:
    """Return what the bare rule of thumb would have asked, where it differs."""
    effects = entry.effect_at(change.corner)
    slopes = [figure_effect(name, effects, now.figures.turns).mean for name in aim.figures]
    slope = sum(slopes) / len(slopes)
    if slope == 0 or not all(map(now.figures.is_known, aim.figures)):
        return None
    value = sum(now.figures[name] for name in aim.figures) / len(aim.figures)
    amount = round((aim.target - value) / slope / entry.step) * entry.step
    if amount == 0 or abs(amount - change.amount) < entry.step / 2:
        return None
    at_most = abs(amount) > entry.most and abs(change.amount) >= entry.most - entry.step / 2
    return RuleOfThumb(change.setting, amount, entry.most if at_most else None)
