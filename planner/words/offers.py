"""A candidate in words: what it is, why, what that rests on, and how it is done at the car."""

from collections.abc import Callable, Iterable, Mapping

from planner.advice.another_run import AnotherRun
from planner.advice.candidate import Candidate, Kind
from planner.advice.reasons import (
    AgainstFeel,
    BeyondMost,
    CutShort,
    DoesNotPay,
    FlexHeat,
    HeldBack,
    Instead,
    MadeWorse,
    NextCause,
    NoNearer,
    OnSolidAxle,
    OtherCause,
    Reason,
    RuleOfThumb,
    Shown,
    Wear,
)
from planner.car.basis import Answered, Basis, BasisKind
from planner.car.car_model import FOR_EFFECTS
from planner.car.changes import BeyondRules, Change
from planner.car.rear_stagger import TurnWants
from planner.judging.patterns import Pattern
from planner.plan.steps import Offered
from planner.rulebook.rules import Rulebook
from planner.trade import knobs
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.knobs import shown
from planner.trade.units import System
from planner.words import changes as change_words
from planner.words import patterns as pattern_words
from planner.words import runs
from planner.words.figures import difference
from planner.words.figures import in_words as figure_in_words

_TITLES: Mapping[Kind, str] = {
    "single": "",
    "bundle": "All at once: ",
    "put-back": "Put back: ",
    "own": "Our own: ",
    "even-wear": "",
}
_SOURCES: Mapping[Kind, str] = {
    "put-back": "common practice, no source",
    "own": "the crew",
    "even-wear": "common practice, no source; size from memory",
}
_BASES: Mapping[BasisKind, str] = {
    "rule-of-thumb": "rule of thumb",
    "typical": "computed for typical cars",
    "computed": "computed from your scales, springs, dimensions and track (tire grip and heat: a "
    "simple model, from memory)",
    "taught": "learned from this car on an earlier day",
    "crew": "the crew's own judgement",
    "readings": "the readings before and after the change",
}


def title(offer: Candidate | Offered) -> str:
    """Say what is changed, riding trims aside."""
    return titled(offer, change_words.in_words)


def titled(offer: Candidate | Offered, said: Callable[[Change], str]) -> str:
    """Say the same, each change in the words of `said`."""
    own = (change for change in offer.changes if not change.trim)
    return _TITLES[offer.kind] + ", ".join(map(said, own))


def kind(offer: Candidate | Offered) -> str:
    """Say what kind of an offer it is, as its title begins; ``""`` of a single change."""
    return _TITLES[offer.kind]


def in_short(offer: Candidate, changes: Iterable[Change]) -> str:
    """Say in short what is changed, riding trims last.

    Parameters
    ----------
    changes : of the offer as chosen, or as really made.
    """
    told = [change for change in changes if change.amount]
    own = ", ".join(change_words.briefly(change) for change in told if not change.trim)
    return f"{_TITLES[offer.kind]}{own or 'nothing changed'}{change_words.riding(told)}"


def why(candidate: Candidate, patterns: Iterable[Pattern], book: Rulebook, system: System) -> str:
    """Say why a candidate is offered, and why it is of this size; see `reasons`."""
    return "; ".join(reasons(candidate, patterns, book, system))


def reasons(
    candidate: Candidate, patterns: Iterable[Pattern], book: Rulebook, system: System
) -> tuple[str, ...]:
    """Say each reason for a candidate and for its size.

    Parameters
    ----------
    patterns : that the run showed on which it is, or was, offered.
    """
    showed = {pattern.key: pattern for pattern in patterns}
    answered = candidate.answers if candidate.kind in ("single", "bundle") else ()
    if candidate.kind == "even-wear":
        answered = tuple(key for key, each in showed.items() if each.id == candidate.pattern)
    said = [
        _driver(reason, candidate, book)
        for reason in candidate.reasons
        if isinstance(reason, AgainstFeel | OtherCause)
    ]
    said += [line for key in answered for line in _tires_showed(showed.get(key), book, system)]
    for reason in candidate.reasons:
        if isinstance(reason, Shown):
            said += _tires_showed(showed.get(reason.pattern), book, system)
        elif not isinstance(reason, AgainstFeel | OtherCause):
            said.append(_reason(reason, candidate.predicted, system))
    if candidate.is_own and not any(isinstance(each, Shown) for each in candidate.reasons):
        said.insert(0, "no rule shows a fault here")
    if candidate.kind == "bundle":
        said.append("tires do not mask each other here")
    return tuple(said)


def _driver(reason: AgainstFeel | OtherCause, candidate: Candidate, book: Rulebook) -> str:
    """Say what the driver felt, and what follows for a change that acts with or against it."""
    felt = runs.felt({reason.where or "all": reason.feel})
    does = "frees the car up" if reason.feel == "loose" else "tightens the car"
    helps = "tightens the car" if reason.feel == "loose" else "frees the car up"
    if isinstance(reason, OtherCause):
        return (
            f"the driver said {felt}: this {helps}, and the heat may have another cause than the "
            "weight; one step, then ask the driver again"
        )
    rule = next((rule for rule in book.pattern if rule.id == candidate.pattern), None)
    others = None if rule is None else rule.other_causes
    first = "" if others is None or others.feel != reason.feel else f"{others.says}; or "
    return (
        f"the driver said {felt}, and this {does} further. First {first}run again on the same setup"
    )


def _tires_showed(pattern: Pattern | None, book: Rulebook, system: System) -> list[str]:
    """Say what the tires showed."""
    return [] if pattern is None else [pattern_words.says(pattern, book, system)]


def _reason(reason: Reason, predicted: Mapping[str, Estimate], system: System) -> str:
    if isinstance(reason, CutShort):
        cut = change_words.end_of_room(reason.cut)
        return f"{change_words.named(reason.setting)} cut by {cut}"
    if isinstance(reason, RuleOfThumb):
        return _rule_of_thumb(reason)
    if isinstance(reason, NextCause):
        return (
            f"{reason.knob} was moved the same way {reason.moves} times and the fault still shows: "
            f"try the next cause, then {reason.knob} again"
        )
    if isinstance(reason, MadeWorse):
        many = "s" if reason.beside else ""
        return f"step{many} {change_words.joined((*reason.beside, reason.step))} made it worse"
    if isinstance(reason, NoNearer):
        names = " and ".join(figure_in_words(name) for name in reason.figures)
        return (
            f"but by all runs together this would bring {names} no nearer the target: look for "
            "something else that changed"
        )
    if isinstance(reason, BeyondMost):
        return change_words.beyond_most(reason)
    if isinstance(reason, BeyondRules):
        return change_words.beyond_rules(reason)
    if isinstance(reason, FlexHeat):
        return change_words.flex_heat(reason, system)
    if isinstance(reason, OnSolidAxle):
        return change_words.on_solid_axle(reason.setting)
    if isinstance(reason, DoesNotPay):
        return "expected to bring less than its work is worth"
    if isinstance(reason, TurnWants):
        return _turn_wants(reason)
    assert isinstance(reason, Wear)
    unit = "% of tread" if reason.unit == "percent" else "/32 in"
    after = ", ".join(
        f"{corner} {reason.lost[corner]:.2f} → {predicted[f'wear.{corner}'].mean:.2f}"
        for corner in CORNERS
        if f"wear.{corner}" in predicted
    )
    return f"expected wear a run ({unit}): {after}"


def _turn_wants(reason: TurnWants) -> str:
    """Say what the turn wants of the stagger, and whether a change leads there."""
    if reason.stagger is None or reason.before is None or reason.after is None:
        lacks = f": give {', '.join(reason.missing)} in the car file" if reason.missing else ""
        return f"not checked against the stagger the turn wants{lacks}"
    wants = f"the turn wants {reason.stagger:.2f} in of stagger, {reason.before:.2f} is on the car"
    if not reason.away:
        return wants
    return (
        f"{wants}: this goes away from it, to {reason.after:.2f}; stagger is set for the turn, not "
        "to correct the handling"
    )


def _rule_of_thumb(reason: RuleOfThumb) -> str:
    knob, _ = reason.setting
    asks = shown(knob, reason.amount)
    if reason.most is None:
        return f"the rule of thumb alone says {asks}"
    most = shown(knob, reason.most, signed=False)
    return f"the rule of thumb says {asks}; {most} is the most in one move"


def source(candidate: Candidate, book: Rulebook) -> str:
    """Say where direction and size come from; ``""`` where the rules no longer say."""
    if candidate.kind in _SOURCES:
        return _SOURCES[candidate.kind]
    entries = (book.adjustment.get(use) for use in candidate.uses)
    return "; ".join(dict.fromkeys(entry.source for entry in entries if entry is not None))


def rests_on(candidate: Candidate, system: System) -> str:
    """Say what the size was made from."""
    said = dict.fromkeys(_basis(basis, system) for basis in candidate.basis)
    return "; ".join([*said, *(["size set by the crew"] if candidate.resized else [])])


def _basis(basis: Basis, system: System) -> str:
    said = _BASES[basis.kind]
    if basis.missing == FOR_EFFECTS:
        said += "; a car file with scales, springs, sizes and track computes it for this car"
    elif basis.missing:
        said += f"; give {', '.join(basis.missing)} in the car file to compute it for this car"
    elif basis.trouble:
        said += f"; cannot be computed from the car file: {basis.trouble}"
    return said if basis.answered is None else f"{said}, {_answered(basis.answered, system)}"


def _answered(answered: Answered, system: System) -> str:
    unit = knobs.of(answered.setting[0]).unit or "time"
    times = "once" if answered.times == 1 else f"{answered.times} times"
    mean = difference(answered.per_unit.mean, system)
    spread = difference(answered.per_unit.sd, system, signed=False)
    return (
        f"corrected by this car's own answer ({change_words.named(answered.setting)} moved "
        f"{times} today): {figure_in_words(answered.figure)} {mean} per {unit}, give "
        f"or take {spread}"
    )


def another_run(again: AnotherRun) -> str:
    """Say what the car run again as it is would take and settle."""
    said = [f"{figure_in_words(e.figure)} ({e.settles:.0%})" for e in again.settling]
    rest = [f"{figure_in_words(e.figure)} ({e.settles:.0%})" for e in again.unsettled]
    would = f"would settle {', '.join(said)}" if said else f"may settle {', '.join(rest[:2])}"
    if not rest:
        would = "nothing here is in doubt"
    return f"again, unchanged: {again.minutes:.0f} min, {would}"


def held_back(held: HeldBack) -> str:
    """Say that a change is not offered, and why."""
    name = change_words.named(held.setting)
    room = "" if held.cut is None else f"no room left to {change_words.end_of_room(held.cut)}"
    said = {
        "hardly-moves": f"{name} is not offered: it would hardly move this car",
        "other-way": f"{name} is not offered: what the car has shown says turn it the other way",
        "no-room": f"{name} is not offered: {room}",
        "turn-wants": f"{name} is not offered: the turn wants {held.turn_wants or 0.0:.2f} in",
        "no-way-back": f"putting {name} back is not offered: {room}",
        "wear": f"{name} is not offered against the wear: {room}",
        "losing-air": f"{name} is not offered: do not let air out of a tire that may be leaking; "
        "check it first, and if it holds air, make this your own change",
        "fixed": f"{name} is not offered: the car file says it cannot be turned",
        "solid-axle": f"{name} is not offered: the rear axle is solid and has no camber to turn; "
        "pressure and stagger act on it a little",
    }[held.why]
    return f"{said}; look at {_instead(held.instead)} instead" if held.instead else said


def _instead(others: Iterable[Instead]) -> str:
    """Name what else to look at, and which way."""
    said = [
        change_words.named(each.setting)
        + (f" ({knobs.words(*each.setting, float(each.way + '1'))})" if each.way else "")
        for each in others
    ]
    return ", ".join(said[:-1]) + (" or " if len(said) > 1 else "") + said[-1]


WHY_A_TRIM = "worth doing while the car is in"


def trim_reason(candidate: Candidate, change: Change, book: Rulebook, system: System) -> str:
    """Say what a riding trim is for: its figure, where that was expected and where it should be.

    The figures of trims are splits and crowns, which are differences.
    """
    aim = candidate.trim_aims(book).get(change.setting)
    if aim is None:
        return WHY_A_TRIM
    said = []
    for name in aim.figures:
        target = f"target {difference(aim.target, system)}"
        at = candidate.predicted.get(name)
        if at is not None:
            spread = difference(at.sd, system, signed=False)
            target = f"expected {difference(at.mean, system)}, give or take {spread} → {target}"
        said.append(f"{figure_in_words(name)}, {target}")
    return f"{', '.join(said)}; {WHY_A_TRIM}"
