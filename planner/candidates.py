"""From patterns to candidates: which changes are offered, how large, and in which order."""

from collections.abc import Iterable, Mapping, Sequence
from math import erf, exp, inf, pi, sqrt

import attrs

from planner import changes as changing
from planner import figures as figure
from planner import units, wear
from planner.car import Limit
from planner.car_model import Model
from planner.changes import Change, Setting
from planner.corners import CORNERS, Corner
from planner.figures import Figures
from planner.outcome import Outcome
from planner.patterns import WEAR_UNEVEN, Pattern
from planner.readings import Phase, Run
from planner.rulebook import (
    Adjustment,
    Effect,
    Offer,
    PatternRule,
    Rulebook,
    TuningStage,
    figure_effect,
    figure_names,
)

# An adjustment that moves the figure by less than this in one move is not worth a run [degF].
LEAST_ANSWER = 0.5
RUN_MINUTES = 12.0  # a run and its readings, beside the work itself; from memory

# In these stages tires do not mask each other: one bundle may correct every corner at once.
BUNDLING_STAGES = ("camber", "pressure")


@attrs.frozen
class Prediction:
    """A figure after the change: mean and one standard deviation."""

    mean: float
    sd: float


@attrs.frozen
class Aim:
    """What a change is to mend: a pattern, its figures, where they should end, and the band."""

    pattern: str
    figures: tuple[str, ...]
    target: float
    low: float | None = None
    high: float | None = None
    corner: Corner | None = None


@attrs.frozen
class Candidate:
    """One way to go on, ready to be chosen.

    Attributes
    ----------
    id : what to type to choose it.
    pattern : the pattern it answers (the worst one, for a bundle).
    why, rests_on, source : the reason, what the size was made from, and who says so.
    predicted : figures after the change.
    chance : that all aimed-at figures end in their bands; None where not computed.
    minutes : working time.
    cautions : which cautions go with it.
    how : what the change means at the car, such as turns of the jack.
    puts_back : the step whose change it undoes.
    """

    id: str
    title: str
    pattern: str
    why: str
    source: str
    rests_on: str
    changes: tuple[Change, ...]
    aims: tuple[Aim, ...] = ()
    predicted: Mapping[str, Prediction] = attrs.field(factory=dict)
    chance: float | None = None
    minutes: float | None = None
    cautions: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    puts_back: int | None = None


@attrs.frozen
class Past:
    """A change made earlier in the day, and what came of it."""

    step: int
    candidate: Candidate
    made: tuple[Change, ...]
    outcome: Outcome | None = None


@attrs.frozen
class Situation:
    """Everything the candidates are worked out from."""

    stage: TuningStage
    figures: Figures
    patterns: tuple[Pattern, ...]
    book: Rulebook
    settings: Mapping[Setting, float]
    limits: Mapping[str, Limit]
    run: Run
    model: Model
    past: tuple[Past, ...] = ()
    earlier: tuple[Run, ...] = ()
    system: units.System = "us"


@attrs.frozen
class Table:
    """What lies on the table: the candidates, and what was not offered and why."""

    candidates: tuple[Candidate, ...] = ()
    held_back: tuple[str, ...] = ()


def lay_out(now: Situation) -> Table:
    """Return the candidates for the stage's open patterns, the best first.

    Putting back a change that made things worse comes first; then one bundle for all corners
    where the stage allows it; then single changes, the worst pattern first, in the order of the
    rules file, those that the driver's word points to before the others and those already tried
    in vain last.
    """
    held_back: list[str] = []
    found = put_back(now)
    open_patterns = sorted(
        (p for p in now.patterns if p.holds and p.stage == now.stage),
        key=lambda p: -abs(p.value - p.limit),
    )
    singles = [
        candidate
        for pattern in open_patterns
        for candidate in _for_pattern(pattern, now, held_back)
    ]
    found += _bundle(singles, now)
    found += singles
    if now.stage == "cross":
        found += even_wear(now, held_back)
    return Table(numbered(found), tuple(held_back))


def numbered(found: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """Give the candidates the ids they are chosen by, leaving out repeats of the same change."""
    unique: dict[tuple[object, ...], Candidate] = {}
    for candidate in found:
        key = tuple((change.setting, change.amount) for change in candidate.changes)
        unique.setdefault(key, candidate)
    return tuple(attrs.evolve(c, id=str(number)) for number, c in enumerate(unique.values(), 1))


def put_back(now: Situation) -> list[Candidate]:
    """Return the undoing of the last change where it made things worse: a list of none or one."""
    if not now.past or now.past[-1].outcome is None or now.past[-1].outcome.verdict != "worse":
        return []
    last = now.past[-1]
    assert last.outcome is not None
    undone = tuple(
        changing.make(change.knob, change.corner, -change.amount, now.settings)
        for change in last.made
        if change.amount
    )
    if not undone:
        return []
    predicted = {
        part.figure: Prediction(
            part.before, figure.standard_error(part.figure, now.book.noise, now.figures.turns)
        )
        for part in last.outcome.figures
    }
    return [
        Candidate(
            id="",
            title="Put back: " + ", ".join(str(change) for change in undone),
            pattern=last.candidate.pattern,
            why=f"step {last.step} made it worse: {last.outcome.says}",
            source="common practice, no source",
            rests_on="the readings before and after the change",
            changes=undone,
            how=tuple(line for change in undone for line in now.model.how(change)),
            aims=last.candidate.aims,
            predicted=predicted,
            minutes=last.candidate.minutes,
            cautions=last.candidate.cautions,
            puts_back=last.step,
        )
    ]


def aim_of(pattern: Pattern, book: Rulebook) -> Aim:
    """Return what mending a pattern means."""
    rule = book.rule(pattern.id)
    low, high = book.bands(rule.figures[0])
    names = figure_names(rule, pattern.corner or "")
    return Aim(pattern.key, names, rule.aim, low, high, pattern.corner)


def own_change(wanted: Sequence[tuple[str, str, float]], reason: str, now: Situation) -> Candidate:
    """Return the crew's own change as a candidate.

    It aims at the patterns of the stage that its knobs move by the rules, or at all of them when
    the rules know nothing of these knobs.
    """
    made = tuple(changing.make(*each, now.settings) for each in wanted)
    effects = _effects(made, now)
    open_patterns = [p for p in now.patterns if p.holds and p.stage == now.stage]
    turns = now.figures.turns
    moved = [
        p
        for p in open_patterns
        if any(figure_effect(name, effects, turns).mean for name in aim_of(p, now.book).figures)
    ]
    aims = tuple(aim_of(p, now.book) for p in moved or open_patterns)
    entries = [e for c in made for e in now.book.adjustments_of(*c.setting)[:1]]
    return Candidate(
        id="own",
        title="Our own: " + ", ".join(str(change) for change in made),
        pattern=(moved or open_patterns)[0].id if open_patterns else "",
        why=reason,
        source="the crew",
        rests_on="the crew's own judgement",
        changes=made,
        how=tuple(line for change in made for line in now.model.how(change)),
        aims=aims,
        predicted=_predicted(aims, effects, now) if effects else {},
        minutes=sum(e.minutes for e in entries) if len(entries) == len(made) else None,
        cautions=_cautions(made, effects, entries, now),
    )


def rescaled(candidate: Candidate, amount: float, now: Situation) -> Candidate:
    """Return a single-change candidate with another amount."""
    (old,) = candidate.changes
    change = changing.make(old.knob, old.corner, amount, now.settings)
    effects = _effects((change,), now)
    predicted = _predicted(candidate.aims, effects, now)
    return attrs.evolve(
        candidate,
        title=str(change),
        changes=(change,),
        how=now.model.how(change),
        predicted=predicted,
        chance=_chance(candidate.aims, predicted),
        rests_on=f"{candidate.rests_on}; size set by the crew",
    )


def _for_pattern(pattern: Pattern, now: Situation, held_back: list[str]) -> list[Candidate]:
    rule = now.book.rule(pattern.id)
    offers, remark = _due_offers(rule, pattern, now)
    found = []
    for offer in offers:
        entry = now.book.adjustment[offer.use]
        candidate = _sized(pattern, offer, entry, now, held_back)
        if candidate is not None:
            why = f"{candidate.why}; {remark}" if remark else candidate.why
            found.append(attrs.evolve(candidate, why=why))
    phase = now.run.where
    # The rules' own order stands unless the car is known well enough to weigh the candidates.
    computed = any(now.model.effects(*c.changes[0].setting) for c in found)
    worth = [_worth(candidate, now) if computed else 0.0 for candidate in found]
    order = sorted(
        range(len(found)),
        key=lambda i: (
            _tried_in_vain(found[i], now),
            not _felt(found[i], rule, phase),
            -worth[i],
        ),
    )
    return [found[i] for i in order]


def _worth(candidate: Candidate, now: Situation) -> float:
    """Return what a candidate is expected to mend on the whole car, per minute [degF/min]."""
    effects = _effects(candidate.changes, now)
    mended = _expected_excess({}, now) - _expected_excess(effects, now)
    return mended / (RUN_MINUTES + (candidate.minutes or 0.0))


def _expected_excess(effects: Mapping[str, Effect], now: Situation) -> float:
    """Return how far all figures are expected to be out of their bands, in sum [degF].

    For a figure with mean m and standard deviation s, the expected excess over an edge e is
    (m - e) P(z) + s p(z) with z = (m - e)/s, the loss of a normal variable beyond a threshold.
    """
    total = 0.0
    for rule in now.book.pattern:
        edge = rule.above if rule.above is not None else rule.below
        if rule.stage is None or edge is None:
            continue
        sign = 1.0 if rule.above is not None else -1.0
        for corner in CORNERS if rule.each != "car" else ("",):
            total += min(
                _excess(sign * (at.mean - edge), at.sd)
                for at in _at(figure_names(rule, corner), effects, now).values()
            )
    return total


def _excess(beyond: float, sd: float) -> float:
    z = beyond / sd
    return beyond * _normal_cdf(z) + sd * exp(-z * z / 2) / sqrt(2 * pi)


def _due_offers(
    rule: PatternRule, pattern: Pattern, now: Situation
) -> tuple[tuple[Offer, ...], str]:
    """Return the offers of a pattern, or those of the next cause once a knob has been piled up."""
    if rule.after_moves is None:
        return rule.offers, ""
    first = now.book.adjustment[rule.offers[0].use]
    moves = 0
    for past in reversed(now.past):
        if pattern.key not in {aim.pattern for aim in past.candidate.aims}:
            continue
        turned = [c for c in past.made if (c.knob, c.corner) == (first.knob, first.corner)]
        same_way = _direction(pattern, first, now)
        if not turned or turned[0].amount * same_way <= 0:
            break
        moves += 1
    if moves < rule.after_moves:
        return rule.offers, ""
    remark = (
        f"{first.knob} has been moved the same way {moves} times and it still shows, so the next "
        f"cause is looked at; then {first.knob} afresh"
    )
    return rule.next_cause, remark


def _direction(pattern: Pattern, entry: Adjustment, now: Situation) -> float:
    rule = now.book.rule(pattern.id)
    place = pattern.corner if entry.corner == "same" and pattern.corner else entry.corner
    slope = _slope(aim_of(pattern, now.book), entry, place, now)
    return (1.0 if rule.below is not None else -1.0) * slope


def _slope(aim: Aim, entry: Adjustment, place: str, now: Situation) -> float:
    """Return what one unit does to the mean of the aimed-at figures [degF per unit]."""
    effects = _effect_at(entry, place, now)
    parts = [figure_effect(name, effects, now.figures.turns).mean for name in aim.figures]
    return sum(parts) / len(parts)


def _effect_at(entry: Adjustment, place: str, now: Situation) -> Mapping[str, Effect]:
    """Return the effect per unit: computed from the car where it can be, else by the rules."""
    return now.model.effects(entry.knob, place) or entry.effect_at(place)


def _felt(candidate: Candidate, rule: PatternRule, phase: Phase | None) -> bool:
    if phase is None:
        return False
    keys = {offer.use for offer in rule.offers if offer.when == phase}
    return candidate.id in keys


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


def _sized(
    pattern: Pattern,
    offer: Offer,
    entry: Adjustment,
    now: Situation,
    held_back: list[str],
) -> Candidate | None:
    """Return the candidate for one offer, sized to bring the figure to its aim by the rule."""
    place = pattern.corner if entry.corner == "same" and pattern.corner else entry.corner
    aim = aim_of(pattern, now.book)
    slope = _slope(aim, entry, place, now)
    value = sum(now.figures[name] for name in aim.figures) / len(aim.figures)
    if abs(slope) * entry.most < LEAST_ANSWER:
        held_back.append(f"{place} {entry.knob} is not offered: it would hardly move this car")
        return None
    wanted = (aim.target - value) / slope
    if offer.direction is not None and (wanted > 0) != (offer.direction == "+"):
        held_back.append(
            f"{place} {entry.knob} is not offered: by this car's numbers it goes the other way"
        )
        return None
    limit = now.limits.get(entry.knob)
    step = limit.step if limit is not None and limit.step is not None else entry.step
    amount = changing.stepped(wanted, step, max(entry.most, step))
    amount, cut = changing.within(amount, now.settings.get((entry.knob, place)), limit, step)
    if amount == 0:
        held_back.append(f"{place} {entry.knob} is not offered: {cut}")
        return None
    change = changing.make(entry.knob, place, amount, now.settings)
    effects = _effects((change,), now)
    predicted = _predicted((aim,), effects, now)
    reasons = [pattern.says, *pattern.evidence]
    if cut:
        reasons.append(cut)
    elif abs(wanted) > abs(amount) + step / 2:
        reasons.append(
            f"{abs(wanted):.3g} {change.unit} would be wanted; this is the most in one move"
        )
    return Candidate(
        id=offer.use,
        title=str(change),
        pattern=pattern.id,
        why="; ".join(reasons),
        source=entry.source,
        rests_on=now.model.basis(entry.knob),
        changes=(change,),
        how=now.model.how(change),
        aims=(aim,),
        predicted=predicted,
        chance=_chance((aim,), predicted),
        minutes=entry.minutes,
        cautions=_cautions((change,), effects, [entry], now),
    )


def _bundle(singles: list[Candidate], now: Situation) -> list[Candidate]:
    """Return one bundle of the first change for every corner, as a list of none or one."""
    if now.stage not in BUNDLING_STAGES:
        return []
    firsts: dict[Setting, Candidate] = {}
    for single in singles:
        if single.aims[0].corner:
            firsts.setdefault(single.changes[0].setting, single)
    parts = sorted(firsts.values(), key=lambda c: CORNERS.index(c.aims[0].corner or "LF"))
    if len(parts) < 2:
        return []
    chances = [part.chance for part in parts]
    chance = None
    if all(each is not None for each in chances):
        chance = 1.0
        for each in chances:
            chance *= each or 0.0
    return [
        Candidate(
            id="",
            title="All at once: " + ", ".join(str(part.changes[0]) for part in parts),
            pattern=singles[0].pattern,
            why="; ".join(part.why for part in parts) + "; tires do not mask each other here",
            source="; ".join(dict.fromkeys(part.source for part in parts)),
            rests_on="; ".join(dict.fromkeys(part.rests_on for part in parts)),
            changes=tuple(part.changes[0] for part in parts),
            how=tuple(line for part in parts for line in part.how),
            aims=tuple(aim for part in parts for aim in part.aims),
            predicted={name: p for part in parts for name, p in part.predicted.items()},
            chance=chance,
            minutes=sum(part.minutes or 0.0 for part in parts),
            cautions=tuple(dict.fromkeys(c for part in parts for c in part.cautions)),
        )
    ]


def even_wear(now: Situation, held_back: list[str]) -> list[Candidate]:
    """Return a small move of cross weight off the diagonal of a tire that wears too fast.

    Only where the wear is uneven while the temperatures are in band. What it should do to the
    wear of all four comes from the rules' ``wear.per_cross``.
    """
    uneven = next((p for p in now.patterns if p.id == WEAR_UNEVEN), None)
    entry = next((a for a in now.book.adjustment.values() if a.knob == "cross"), None)
    per_cross = now.book.wear.per_cross
    if uneven is None or uneven.corner is None or entry is None or per_cross is None:
        return []
    sign = -1.0 if uneven.corner in ("RF", "LR") else 1.0
    limit = now.limits.get("cross")
    step = limit.step if limit is not None and limit.step is not None else entry.step
    amount, cut = changing.within(sign * step, now.settings.get(("cross", "car")), limit, step)
    if amount == 0:
        held_back.append(f"car cross is not offered against the wear: {cut}")
        return []
    change = changing.make("cross", "car", amount, now.settings)
    loss = wear.worn(now.run, now.earlier)
    predicted = {}
    for corner in CORNERS:
        share = (1.0 if corner in ("RF", "LR") else -1.0) * amount / 100
        now_lost = loss.mean(corner)
        predicted[f"wear.{corner}"] = Prediction(
            now_lost * (1 + share * per_cross.mean), abs(now_lost * share * per_cross.sd)
        )
    unit = "% of tread" if loss.unit == "percent" else "/32 in"
    foreseen = ", ".join(
        f"{corner} {loss.mean(corner):.2f} → {predicted[f'wear.{corner}'].mean:.2f}"
        for corner in CORNERS
    )
    effects = _effects((change,), now)
    return [
        Candidate(
            id="",
            title=str(change),
            pattern=WEAR_UNEVEN,
            why=f"{uneven.says}; expected wear a run ({unit}): {foreseen}",
            source="common practice, no source; size from memory",
            rests_on="rule of thumb",
            changes=(change,),
            how=now.model.how(change),
            aims=(),
            predicted=predicted,
            minutes=entry.minutes,
            cautions=_cautions((change,), effects, [entry], now),
        )
    ]


def _effects(made: Iterable[Change], now: Situation) -> dict[str, Effect]:
    """Return what the changes do to the base figures, in all, by the rules."""
    total: dict[str, Effect] = {}
    for change in made:
        for entry in now.book.adjustments_of(change.knob, change.corner)[:1]:
            for name, effect in _effect_at(entry, change.corner, now).items():
                old = total.get(name, Effect(0.0, 0.0))
                spread = sqrt(old.sd**2 + (change.amount * effect.sd) ** 2)
                total[name] = Effect(old.mean + change.amount * effect.mean, spread)
    return total


def _predicted(
    aims: Iterable[Aim], effects: Mapping[str, Effect], now: Situation
) -> dict[str, Prediction]:
    names = dict.fromkeys([*(name for aim in aims for name in aim.figures), *effects])
    return _at(names, effects, now)


def _at(
    names: Iterable[str], effects: Mapping[str, Effect], now: Situation
) -> dict[str, Prediction]:
    """Return the figures after a change with these effects."""
    predicted = {}
    for name in names:
        shift = figure_effect(name, effects, now.figures.turns)
        error = figure.standard_error(name, now.book.noise, now.figures.turns)
        predicted[name] = Prediction(now.figures[name] + shift.mean, sqrt(shift.sd**2 + error**2))
    return predicted


def _chance(aims: Iterable[Aim], predicted: Mapping[str, Prediction]) -> float | None:
    """Return the chance that every aimed-at figure lies in its band, taken as independent."""
    chance = 1.0
    for aim in aims:
        for name in aim.figures:
            if name not in predicted:
                return None
            at = predicted[name]
            below = _normal_cdf(((inf if aim.high is None else aim.high) - at.mean) / at.sd)
            above = _normal_cdf(((-inf if aim.low is None else aim.low) - at.mean) / at.sd)
            chance *= below - above
    return chance


def _normal_cdf(z: float) -> float:
    return 0.5 * (1 + erf(z / sqrt(2)))


def _cautions(
    made: Iterable[Change],
    effects: Mapping[str, Effect],
    entries: Iterable[Adjustment],
    now: Situation,
) -> tuple[str, ...]:
    found = [entry.caution for entry in entries if entry.caution]
    balance = "front_vs_rear" if now.figures.turns == "both" else "balance"
    loosens = figure_effect(balance, effects, now.figures.turns).mean < 0
    whole_car = any(change.knob not in ("camber", "pressure", "toe") for change in made)
    if loosens and whole_car:
        found.append("loosening")
    return tuple(dict.fromkeys(found))
