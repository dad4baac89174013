"""A change in words: what is turned, and what came of it."""

from collections.abc import Iterable

from planner.advice.past import Past
from planner.advice.reasons import BeyondMost
from planner.car.changes import BetweenSteps, Change, Cut, Setting
from planner.judging.outcomes import Verdict
from planner.rulebook.rules import Rulebook
from planner.trade import knobs
from planner.trade.knobs import shown


def named(setting: Setting) -> str:
    """Name a setting, e.g. ``RF camber``."""
    knob, place = setting
    if knob == knobs.OTHER:
        return place
    return "cross weight (wedge)" if knob == "cross" else f"{place} {knob}"


def in_words(change: Change) -> str:
    """Say what is turned and which way, e.g. ``RF camber +0.50 deg (more positive)``."""
    if change.is_other:
        return briefly(change)
    return f"{briefly(change)} ({knobs.words(change.knob, change.corner, change.amount)})"


def briefly(change: Change) -> str:
    """Say what is turned, e.g. ``RF camber +0.50 deg``."""
    if change.is_other:
        way = (
            knobs.words(change.knob, change.corner, change.amount) if change.amount else "not done"
        )
        return f"{named(change.setting)}{f' ({way})' if way else ''}"
    return f"{named(change.setting)} {shown(change.knob, change.amount)}"


def listed(changes: Iterable[Change]) -> str:
    """Say what is turned, one change after the other; ``""`` where nothing is."""
    return ", ".join(in_words(change) for change in changes if change.amount)


def riding(changes: Iterable[Change]) -> str:
    """Return the riding trims among some changes as the end of a headline, or ``""``."""
    ride = ", ".join(briefly(change) for change in changes if change.trim and change.amount)
    return f"; riding along: {ride}" if ride else ""


def from_to(change: Change) -> str:
    """Say from where to where a setting goes."""
    if change.is_other:
        return "no knob of the rules: nothing is known of what it does"
    if change.before is None or change.after is None:
        return f"{named(change.setting)}: present setting not known"
    before, after = (shown(change.knob, at, signed=False) for at in (change.before, change.after))
    return f"{named(change.setting)} from {before} to {after}"


def end_of_room(cut: Cut) -> str:
    """Say what a setting cannot pass."""
    whose = "the car file's limit" if cut.by_file else "the end of its range"
    return f"{whose} ({'highest' if cut.highest else 'lowest'} {cut.edge:g})"


def beyond_most(change: BeyondMost) -> str:
    """Say that a change is larger than the rules would make it."""
    knob, _ = change.setting
    return (
        f"{named(change.setting)} by {shown(knob, change.amount)}: the rules allow "
        f"{shown(knob, change.most, signed=False)} in one move"
    )


def between_steps(change: BetweenSteps) -> str:
    """Say that a change is not a whole number of steps."""
    knob, _ = change.setting
    return (
        f"{named(change.setting)} by {shown(knob, change.amount)}: the car file goes in steps of "
        f"{change.step:g} {knobs.KNOBS[knob].unit}"
    )


def otherwise(past: Past, change: Change) -> str:
    """Say what was chosen if a part came out different, or ``""``."""
    instead = past.chosen_instead(change)
    if instead is None:
        return ""
    return f"chosen {shown(change.knob, instead)}" if instead else "not chosen"


def verdict(past: Past) -> str:
    """Say what came of a change, riding trims aside; ``""`` until a run has judged it."""
    if past.outcome is None:
        return ""
    return "back to where it was" if past.is_undone else _in_short(past.outcome.verdict)


def verdicts(past: Past, book: Rulebook) -> str:
    """Say the same, and what came of every riding trim that came out different."""
    apart = (
        f"{named(setting)} trim: {_in_short(came)}" for setting, came in past.trims_apart(book)
    )
    return "; ".join(part for part in (verdict(past), *apart) if part)


def _in_short(came: Verdict) -> str:
    return came.replace("-", " ")
