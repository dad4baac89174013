"""From patterns to candidates: which changes are offered, how large, and in which order."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import attrs

from planner.advice import trims
from planner.advice.aims import Aim, answered_by, of_pattern
from planner.advice.outlook import MOST_TOGETHER, Outlook, moves_of
from planner.car import changes as changing
from planner.car.car_model import Model
from planner.car.changes import Change, Setting
from planner.judging import pressures, wear
from planner.judging.outcomes import Outcome, in_short
from planner.judging.patterns import WEAR_UNEVEN, Pattern
from planner.rulebook.rules import (
    TUNING_ORDER,
    Adjustment,
    Offer,
    PatternRule,
    Rulebook,
    TuningStage,
    figure_effect,
)
from planner.run.readings import Phase, Run
from planner.trade import units
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import Figures, in_words
from planner.trade.knobs import KNOBS, Limit, rounded, shown

# An adjustment that moves the figure by less than this in one move is not worth a run [degF].
LEAST_ANSWER = 0.5

MOST_TOLD = 3  # figures that a change of the crew's own moves beside those it aims at

FELT = 1.5  # weight of a candidate that acts where the driver felt it; from memory

# In these stages tires do not mask each other: one bundle may correct every corner at once.
BUNDLING_STAGES = ("camber", "pressure")


@attrs.frozen
class Candidate:
    """One way to go on, ready to be chosen.

    Attributes
    ----------
    id : what to type to choose it.
    pattern : the pattern it answers (the worst one, for a bundle).
    why, rests_on, source : the reason, what the size was made from, and who says so.
    predicted : figures after the change.
    chance : that the stage then shows nothing out of band; None where not computed.
    spoils : how much the chance falls that the figures of other stages, now in band, stay there.
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
    predicted: Mapping[str, Estimate] = attrs.field(factory=dict)
    chance: float | None = None
    spoils: float | None = None
    minutes: float | None = None
    cautions: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    puts_back: int | None = None

    @property
    def is_own(self) -> bool:
        """Whether it is a change of the crew's own."""
        return self.id == "own"

    @property
    def foretold(self) -> tuple[str, ...]:
        """The figures that say what is to be expected of it, riding trims aside.

        They are those it aims at, and of a change of the crew's own those that it moves most too.
        """
        aimed = dict.fromkeys(name for aim in self.aims if not aim.trim for name in aim.figures)
        if not self.is_own:
            return tuple(aimed)
        known = [name for name in self.predicted if not name.startswith("average.")]
        return (*aimed, *[name for name in known if name not in aimed][:MOST_TOLD])

    def trim_aims(self) -> dict[Setting, Aim]:
        """Return what each riding trim aims at; changes and aims are kept in the same order."""
        ride = [change.setting for change in self.changes if change.trim]
        return dict(zip(ride, (aim for aim in self.aims if aim.trim), strict=False))


@attrs.frozen
class Past:
    """A change made earlier in the day, and what came of it."""

    step: int
    candidate: Candidate
    made: tuple[Change, ...]
    outcome: Outcome | None = None

    @property
    def is_made(self) -> bool:
        """Whether anything of it was really changed on the car."""
        return any(change.amount for change in self.made)

    def otherwise(self, change: Change) -> str:
        """Say what was chosen where a part came out otherwise, else ``""``."""
        chosen = moves_of(self.candidate.changes)
        if change.setting not in chosen:
            return "not chosen"
        wanted = chosen[change.setting]
        if rounded(change.knob, wanted) == rounded(change.knob, change.amount):
            return ""
        return f"chosen {shown(change.knob, wanted)}"

    @property
    def left_out(self) -> tuple[Change, ...]:
        """The parts that were chosen and of which nothing was changed."""
        made = {change.setting for change in self.made if change.amount}
        return tuple(c for c in self.candidate.changes if c.amount and c.setting not in made)

    @property
    def is_undone(self) -> bool:
        """Whether it put an earlier change back, and the car answered.

        That the figures came nearer then is no progress: they are where they were.
        """
        made = {change.setting: change.amount for change in self.made if change.amount}
        return (
            self.candidate.puts_back is not None
            and self.outcome is not None
            and self.outcome.verdict == "better"
            and made == moves_of(self.candidate.changes)
        )

    @property
    def verdict(self) -> str:
        """What came of it in a few words, riding trims aside; ``""`` until a run has judged it."""
        if self.outcome is None:
            return ""
        return "back to where it was" if self.is_undone else in_short(self.outcome.verdict)

    @property
    def verdicts(self) -> str:
        """The same, with every riding trim that came out otherwise named beside it."""
        if self.outcome is None:
            return ""
        made = {change.setting for change in self.made if change.amount}
        found = {part.figure: part.verdict for part in self.outcome.figures}
        otherwise = [
            f"{corner} {knob} trim: {in_short(found[name])}"
            for (knob, corner), aim in self.candidate.trim_aims().items()
            for name in aim.figures
            if (knob, corner) in made
            and found.get(name, self.outcome.verdict) != self.outcome.verdict
        ]
        return "; ".join([self.verdict, *otherwise])


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
    outlook: Outlook
    past: tuple[Past, ...] = ()
    earlier: tuple[Run, ...] = ()
    system: units.System = "us"
    taught: frozenset[Setting] = frozenset()


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
    found = put_back(now, held_back)
    open_patterns = sorted(
        (p for p in now.patterns if p.holds and p.stage == now.stage),
        key=lambda p: -abs(p.value - p.limit),
    )
    singles = [
        candidate
        for pattern in open_patterns
        for candidate in _for_pattern(pattern, now, held_back)
    ]
    bundle = _bundle(singles, now)
    found += [_with_trims(candidate, now, others=True) for candidate in bundle]
    found += [_with_trims(candidate, now, others=not bundle) for candidate in singles]
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


def put_back(now: Situation, held_back: list[str]) -> list[Candidate]:
    """Return the undoing of the last change where it made things worse: a list of none or one.

    It leads no further than a limit, which the car may have stood past in the morning.
    """
    if not now.past or now.past[-1].outcome is None or now.past[-1].outcome.verdict != "worse":
        return []
    last = now.past[-1]
    assert last.outcome is not None
    undone, cuts = [], []
    for change in last.made:
        limit = now.limits.get(change.knob)
        at = now.settings.get(change.setting)
        amount, cut = changing.within(change.knob, -change.amount, at, limit, 1e-6)
        if amount:
            undone.append(changing.make(change.knob, change.corner, amount, now.settings))
        if cut:
            cuts.append(f"{change.corner} {change.knob} {cut}")
    if not undone:
        held_back += [f"putting back is not offered: {cut}" for cut in cuts]
        return []
    return [
        Candidate(
            id="",
            title="Put back: " + ", ".join(str(change) for change in undone),
            pattern=last.candidate.pattern,
            why="; ".join(
                [
                    f"step {last.step} made it worse: {last.outcome.says}",
                    *cuts,
                    *_no_nearer(last.candidate.aims, undone, now),
                ]
            ),
            source="common practice, no source",
            rests_on="the readings before and after the change",
            changes=tuple(undone),
            how=tuple(line for change in undone for line in now.model.how(change)),
            aims=last.candidate.aims,
            minutes=last.candidate.minutes,
            cautions=last.candidate.cautions,
            puts_back=last.step,
            **_foreseen(last.candidate.aims, undone, now),
        )
    ]


def _no_nearer(aims: Iterable[Aim], undone: Sequence[Change], now: Situation) -> Iterator[str]:
    """Say of what figures aimed at all runs together do not foresee that they come nearer."""
    for aim in aims:
        here, there = (now.outlook.after(aim.figures, moves) for moves in ({}, moves_of(undone)))
        names = [
            in_words(name)
            for name in aim.figures
            if abs(there[name].mean - aim.target) >= abs(here[name].mean - aim.target)
        ]
        if names:
            yield (
                f"yet by all runs together {' and '.join(names)} would come no nearer by it: look "
                "for something else that has changed"
            )


def own_change(wanted: Sequence[tuple[str, str, float]], now: Situation) -> Candidate:
    """Return the crew's own change as a candidate.

    Each part aims at the patterns of the stage that its knob is believed to move; one that moves
    none of them at what the rules turn its knob for. The whole aims at all of the stage when
    nothing is known of these knobs.
    """
    made = tuple(changing.make(*each, now.settings) for each in wanted)
    open_patterns = [p for p in now.patterns if p.holds and p.stage == now.stage]
    here = tuple(of_pattern(p, now.book) for p in open_patterns)
    parts = [
        tuple(aim for aim in here if _moves(aim, [change], now)) or _acted_on([change], now)
        for change in made
    ]
    aims = tuple(dict.fromkeys(aim for part in parts for aim in part)) or here
    shown = "; ".join(p.says for p in open_patterns) or "nothing that these rules know is open"
    entries = [e for c in made for e in now.book.adjustments_of(*c.setting)[:1]]
    return Candidate(
        id="own",
        title="Our own: " + ", ".join(str(change) for change in made),
        pattern=aims[0].pattern.partition(":")[0] if aims else "",
        why=f"{shown}{_more_than_most(made, now)}",
        source="the crew",
        rests_on="the crew's own judgement",
        changes=made,
        how=tuple(line for change in made for line in now.model.how(change)),
        aims=aims,
        minutes=sum(e.minutes for e in entries) if len(entries) == len(made) else None,
        cautions=_cautions(made, entries, now),
        **_foreseen(aims, made, now, beside=_moved_most(aims, made, now)),
    )


def _acted_on(made: Sequence[Change], now: Situation) -> tuple[Aim, ...]:
    """Return what the rules turn these knobs for and these would move, by the side it is on.

    What shows now comes before what does not; of that the earliest stage is taken.
    """
    found: list[tuple[TuningStage | None, Aim]] = []
    for rule, aim in answered_by(moves_of(made), now.book):
        at = now.outlook.after(aim.figures, {}).values()
        above = sum(each.mean for each in at) / len(aim.figures) > aim.target
        if above == (rule.above is not None) and _moves(aim, made, now):
            found.append((rule.stage, aim))
    showing = {pattern.key for pattern in now.patterns}
    shown = tuple(aim for _, aim in found if aim.pattern in showing)
    return shown or tuple(aim for stage, aim in found if stage == found[0][0])


def _moved_most(aims: Iterable[Aim], made: Sequence[Change], now: Situation) -> list[str]:
    """Return the figures that hold a stage and are moved most, those aimed at left aside."""
    aimed = {name for aim in aims for name in aim.figures}
    names = [name for name in now.book.figures_of(TUNING_ORDER) if name not in aimed]
    here, there = (now.outlook.after(names, moves) for moves in ({}, moves_of(made)))
    by = {name: abs(there[name].mean - here[name].mean) for name in names}
    found = [name for name in names if by[name] >= LEAST_ANSWER]
    return sorted(found, key=lambda name: -by[name])[:MOST_TOLD]


def beyond_most(
    made: Iterable[Change], book: Rulebook, limits: Mapping[str, Limit]
) -> tuple[str, ...]:
    """Say of every change that is larger than the rules would make it in one move.

    Parameters
    ----------
    limits : of the car file, whose steps may be larger.
    """
    return tuple(
        f"{change.corner} {change.knob} by {shown(change.knob, change.amount)}: the rules go "
        f"{shown(change.knob, most, signed=False)} at most in one move"
        for change in made
        for entry in book.adjustments_of(*change.setting)[:1]
        for most in [entry.most_on(limits.get(change.knob))]
        if abs(change.amount) > most + 1e-9
    )


def _more_than_most(made: Iterable[Change], now: Situation) -> str:
    beyond = beyond_most(made, now.book, now.limits)
    return f" ({'; '.join(beyond)})" if beyond else ""


def _moves(aim: Aim, made: Sequence[Change], now: Situation) -> bool:
    here = now.outlook.after(aim.figures, {})
    there = now.outlook.after(aim.figures, moves_of(made))
    return any(abs(there[name].mean - here[name].mean) > 1e-9 for name in aim.figures)


def rescaled(candidate: Candidate, amount: float, now: Situation) -> Candidate:
    """Return a single-change candidate with another amount; riding trims stay."""
    (old,) = (change for change in candidate.changes if not change.trim)
    change = changing.make(old.knob, old.corner, amount, now.settings)
    changes = (change, *(other for other in candidate.changes if other.trim))
    foreseen = _foreseen(candidate.aims, changes, now)
    per_cross = now.book.wear.per_cross
    if candidate.pattern == WEAR_UNEVEN and per_cross is not None:
        foreseen["predicted"] = _wear_after(amount, per_cross, wear.worn(now.run, now.earlier))
    return attrs.evolve(
        candidate,
        title=str(change),
        changes=changes,
        how=now.model.how(change),
        rests_on=f"{candidate.rests_on}; size set by the crew",
        why=f"{candidate.why}{_more_than_most((change,), now)}",
        **foreseen,
    )


def without_trims(candidate: Candidate, now: Situation) -> Candidate:
    """Return a candidate with its riding trims left out."""
    kept = tuple(change for change in candidate.changes if not change.trim)
    aims = tuple(aim for aim in candidate.aims if not aim.trim)
    ride = [change for change in candidate.changes if change.trim]
    saved = sum(now.book.adjustments_of(*change.setting)[0].minutes for change in ride)
    theirs, own = (
        {entry.caution for change in part for entry in now.book.adjustments_of(*change.setting)}
        for part in (ride, kept)
    )
    return attrs.evolve(
        candidate,
        changes=kept,
        aims=aims,
        cautions=tuple(key for key in candidate.cautions if key not in theirs - own),
        minutes=(candidate.minutes or 0.0) - saved,
        **_foreseen(aims, kept, now),
    )


def _foreseen(
    aims: Iterable[Aim], made: Sequence[Change], now: Situation, beside: Sequence[str] = ()
) -> dict[str, Any]:
    """Return `predicted`, `chance` and `spoils` of a candidate.

    Parameters
    ----------
    beside : further figures to predict, after those aimed at.
    """
    outlook, moves = now.outlook, moves_of(made)
    aimed = [name for aim in aims for name in aim.figures]
    touched = [name for change in made for name in _touched(change, now)]
    others = [
        name
        for name in now.book.figures_of(stage for stage in TUNING_ORDER if stage != now.stage)
        if name not in aimed and outlook.chance((name,), {}) >= 0.5
    ]
    before, after = (outlook.after(others, each) for each in ({}, moves))
    stirred = [name for name in others if abs(after[name].mean - before[name].mean) > 1e-6]
    together = stirred[:MOST_TOGETHER]
    spoils = max(0.0, outlook.chance(together, {}) - outlook.chance(together, moves))
    return {
        "predicted": outlook.after(tuple(dict.fromkeys([*aimed, *beside, *touched])), moves),
        "chance": outlook.stage_chance(now.stage, moves),
        "spoils": spoils,
    }


def _with_trims(candidate: Candidate, now: Situation, *, others: bool) -> Candidate:
    """Return a candidate with the trims that may ride along, at other tires in its stage too.

    Beside a bundle a single change is there to be made alone in its stage.
    """
    own = moves_of(candidate.changes)
    under_test = tuple(name for aim in candidate.aims for name in aim.figures)
    ride = trims.riding(
        now.stage, own, under_test, now.outlook, now.settings, now.limits, others=others
    )
    ride = tuple(trim for trim in ride if not _lets_out(trim.change, now))
    if not ride:
        return candidate
    changes = (*candidate.changes, *(trim.change for trim in ride))
    entries = [now.book.adjustments_of(*trim.change.setting)[0] for trim in ride]
    cautions = (*candidate.cautions, *(entry.caution for entry in entries if entry.caution))
    aims = (*candidate.aims, *(trim.aim for trim in ride))
    return attrs.evolve(
        candidate,
        changes=changes,
        aims=aims,
        cautions=tuple(dict.fromkeys(cautions)),
        minutes=(candidate.minutes or 0.0) + sum(trim.minutes for trim in ride),
        **_foreseen(aims, changes, now),
    )


def _lets_out(change: Change, now: Situation) -> bool:
    """Whether a change lets air out of a tire whose pressures do not add up."""
    less_air = change.knob == "pressure" and change.amount < 0
    return less_air and change.corner in pressures.losing(now.patterns)


def _touched(change: Change, now: Situation) -> Sequence[str]:
    return tuple(now.outlook.known.priors.effects.get(change.setting, {}))


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
    # The rules' own order, and what the driver felt, stand until the car is known well enough to
    # weigh the candidates; then the driver's word is one more weight.
    known = any(_is_known(candidate, now) for candidate in found)

    def place(candidate: Candidate) -> tuple[bool, float]:
        worth = 1.0
        if known:
            worth = now.outlook.worth(moves_of(candidate.changes), candidate.minutes or 0.0)
        felt = worth > 0 and _felt(candidate, rule, now.run.where)
        return _tried_in_vain(candidate, now), -worth * (FELT if felt else 1.0)

    return sorted(found, key=place)


def _is_known(candidate: Candidate, now: Situation) -> bool:
    """Whether a candidate's size rests on more than a rule of thumb."""
    (change,) = candidate.changes
    moved = any(change.setting == past.setting for each in now.past for past in each.made)
    return moved or now.model.effects(*change.setting) is not None


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
    aim = of_pattern(pattern, now.book)
    slope = now.outlook.slope(aim.figures, (entry.knob, _place(entry, pattern)))
    return (1.0 if rule.below is not None else -1.0) * slope


def _place(entry: Adjustment, pattern: Pattern) -> str:
    return pattern.corner if entry.corner == "same" and pattern.corner else entry.corner


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
    """Return the candidate for one offer, with the size that is expected to end nearest the aim."""
    place = _place(entry, pattern)
    setting = (entry.knob, place)
    aim = of_pattern(pattern, now.book)
    slope = now.outlook.slope(aim.figures, setting)
    if abs(slope) * entry.most < LEAST_ANSWER:
        held_back.append(f"{place} {entry.knob} is not offered: it would hardly move this car")
        return None
    limit = now.limits.get(entry.knob)
    step = entry.step_on(limit)
    wanted = now.outlook.best_amount(aim, setting, step, entry.most_on(limit))
    if offer.direction is not None and (wanted > 0) != (offer.direction == "+"):
        held_back.append(
            f"{place} {entry.knob} is not offered: by all that is known here it goes the other way"
        )
        return None
    amount, cut = changing.within(entry.knob, wanted, now.settings.get(setting), limit, step)
    if amount == 0:
        held_back.append(f"{place} {entry.knob} is not offered: {cut}")
        return None
    change = changing.make(entry.knob, place, amount, now.settings)
    if _lets_out(change, now):
        held_back.append(
            f"{place} pressure is not offered: no air is let out of a tire that may be losing it; "
            "check the tire first, and if it holds give the change as your own"
        )
        return None
    reasons = [pattern.says, *pattern.evidence]
    if cut:
        reasons.append(cut)
    reasons.append(_rule_of_thumb(aim, entry, place, change, now))
    return Candidate(
        id=offer.use,
        title=str(change),
        pattern=pattern.id,
        why="; ".join(reason for reason in reasons if reason),
        source=entry.source,
        rests_on=_basis(setting, aim, now),
        changes=(change,),
        how=now.model.how(change),
        aims=(aim,),
        minutes=entry.minutes,
        cautions=_cautions((change,), [entry], now),
        **_foreseen((aim,), (change,), now),
    )


def _rule_of_thumb(aim: Aim, entry: Adjustment, place: str, change: Change, now: Situation) -> str:
    """Say what the bare rule of thumb would have asked, where it differs."""
    effects = entry.effect_at(place)
    slopes = [figure_effect(name, effects, now.figures.turns).mean for name in aim.figures]
    slope = sum(slopes) / len(slopes)
    if slope == 0:
        return ""
    value = sum(now.figures[name] for name in aim.figures) / len(aim.figures)
    amount = round((aim.target - value) / slope / entry.step) * entry.step
    if amount == 0 or abs(amount - change.amount) < entry.step / 2:
        return ""
    if abs(amount) > entry.most and abs(change.amount) >= entry.most - entry.step / 2:
        return (
            f"the rule of thumb asks {shown(entry.knob, amount)}; "
            f"{shown(entry.knob, entry.most, signed=False)} is the most in one move"
        )
    return f"the bare rule of thumb asks {shown(entry.knob, amount)}"


def _basis(setting: Setting, aim: Aim, now: Situation) -> str:
    """Say what a size rests on: the car's own answer, the car file, or a rule of thumb."""
    knob, place = setting
    basis = now.model.basis(knob)
    if setting in now.taught:
        basis = "what an earlier day has taught of this car"
    moves = sum(any(c.setting == setting and c.amount for c in past.made) for past in now.past)
    if not moves:
        return basis
    name = aim.figures[0]
    answer = now.outlook.answer(name, setting)
    shift = units.difference(answer.mean, now.system)
    spread = units.difference(answer.sd, now.system, signed=False)
    times = "once" if moves == 1 else f"{moves} times"
    return (
        f"{basis}, set right by what this car has answered ({place} {knob} moved {times} today): "
        f"{in_words(name)} {shift} per {KNOBS[knob].unit}, give or take {spread}"
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
    changes = tuple(part.changes[0] for part in parts)
    aims = tuple(aim for part in parts for aim in part.aims)
    return [
        Candidate(
            id="",
            title="All at once: " + ", ".join(str(part.changes[0]) for part in parts),
            pattern=singles[0].pattern,
            why="; ".join(part.why for part in parts) + "; tires do not mask each other here",
            source="; ".join(dict.fromkeys(part.source for part in parts)),
            rests_on="; ".join(dict.fromkeys(part.rests_on for part in parts)),
            changes=changes,
            how=tuple(line for part in parts for line in part.how),
            aims=aims,
            minutes=sum(part.minutes or 0.0 for part in parts),
            cautions=tuple(dict.fromkeys(c for part in parts for c in part.cautions)),
            **_foreseen(aims, changes, now),
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
    step = entry.step_on(limit)
    at = now.settings.get(("cross", "car"))
    amount, cut = changing.within("cross", sign * step, at, limit, step)
    if amount == 0:
        held_back.append(f"car cross is not offered against the wear: {cut}")
        return []
    change = changing.make("cross", "car", amount, now.settings)
    loss = wear.worn(now.run, now.earlier)
    predicted = _wear_after(amount, per_cross, loss)
    unit = "% of tread" if loss.unit == "percent" else "/32 in"
    foreseen = ", ".join(
        f"{corner} {loss.mean(corner):.2f} → {predicted[f'wear.{corner}'].mean:.2f}"
        for corner in CORNERS
    )
    beside = _foreseen((), (change,), now)
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
            predicted=predicted,
            chance=beside["chance"],
            spoils=beside["spoils"],
            minutes=entry.minutes,
            cautions=_cautions((change,), [entry], now),
        )
    ]


def _wear_after(amount: float, per_cross: Estimate, loss: wear.Worn) -> dict[str, Estimate]:
    """Return the wear of all four tires after a move of cross weight [percent], by the rules."""
    predicted = {}
    for corner in CORNERS:
        share = (1.0 if corner in ("RF", "LR") else -1.0) * amount / 100
        now_lost = loss.mean(corner)
        predicted[f"wear.{corner}"] = Estimate(
            now_lost * (1 + share * per_cross.mean), abs(now_lost * share * per_cross.sd)
        )
    return predicted


def _cautions(
    made: Sequence[Change], entries: Iterable[Adjustment], now: Situation
) -> tuple[str, ...]:
    found = [entry.caution for entry in entries if entry.caution]
    balance = "front_vs_rear" if now.figures.turns == "both" else "balance"
    here, there = (now.outlook.after((balance,), m)[balance] for m in ({}, moves_of(made)))
    whole_car = any(change.knob not in ("camber", "pressure", "toe") for change in made)
    if there.mean < here.mean and whole_car:
        found.append("loosening")
    return tuple(dict.fromkeys(found))
