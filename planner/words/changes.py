"""A change in words: what is turned, and what came of it."""

from collections.abc import Iterable, Sequence

from planner.advice.past import Past
from planner.advice.reasons import BeyondMost, FlexHeat
from planner.car.changes import BetweenSteps, BeyondRules, Change, Cut, Setting
from planner.judging.outcomes import Verdict
from planner.rulebook.rules import Rulebook
from planner.trade import knobs
from planner.trade.knobs import shown
from planner.trade.plain_text import counted
from planner.trade.units import System
from planner.words import figures


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


def to_do(change: Change) -> str:
    """Say in the trade's words what to do, e.g. ``take out negative camber``."""
    more = change.amount > 0
    if change.knob == "camber":
        # Where the setting is not known, less negative and more positive are the same.
        negative = change.before is None or change.before < 0 or (change.before == 0 and not more)
        way = "take out" if more == negative else "put in"
        return f"{way} {'negative' if negative else 'positive'} camber"
    if change.knob in ("pressure", "cross"):
        put, take = {
            "pressure": ("put air in", "let air out"),
            "cross": ("put wedge in", "take wedge out"),
        }[change.knob]
        return put if more else take
    if change.is_other:
        return briefly(change)
    return f"{named(change.setting)} {knobs.words(change.knob, change.corner, change.amount)}"


def sized(change: Change) -> str:
    """Say what is turned, from where to where, or which way where that is not known."""
    if change.is_other or change.before is None or change.after is None:
        return in_words(change)
    before, by = (
        knobs.number(change.knob, at, signed=signed)
        for at, signed in ((change.before, False), (change.amount, True))
    )
    after = shown(change.knob, change.after, signed=False)
    return f"{named(change.setting)} {before} → {after} ({by})"


def listed(changes: Iterable[Change]) -> str:
    """Say what is turned, one change after the other; ``""`` where nothing is."""
    return ", ".join(in_words(change) for change in changes if change.amount)


def with_trims(own: Iterable[Change], trims: int) -> str:
    """Say in short what is turned, and how many trims ride along."""
    said = ", ".join(map(briefly, own)) or "nothing changed"
    return f"{said} with {counted(trims, 'trim')}" if trims else said


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
    end = f"{'highest' if cut.highest else 'lowest'} {cut.edge:g}"
    return {
        "car-file": f"the car file's limit ({end})",
        "rules": f"the cold pressures of the rules file ({end}; the tire maker's own count)",
        "any-car": f"the end of its range ({end})",
    }[cut.whose]


def beyond_rules(change: BeyondRules) -> str:
    """Say that a pressure leads past an end of the rules file."""
    knob, _ = change.setting
    to, edge = (shown(knob, at, signed=False) for at in (change.after, change.edge))
    side, end = ("above", "highest") if change.highest else ("below", "lowest")
    return (
        f"{named(change.setting)} to {to} is {side} the {end} cold pressure of the rules file, "
        f"{edge}; ask the tire maker first, or give limits.{knob} in the car file"
    )


def stands_past_rules(found: BeyondRules) -> str:
    """Say that a pressure stands past an end of the rules file."""
    knob, _ = found.setting
    at, edge = (shown(knob, each, signed=False) for each in (found.after, found.edge))
    side, end = ("above", "highest") if found.highest else ("below", "lowest")
    hot = "it is less cold" if found.highest else "it is less still when cold"
    return (
        f"{named(found.setting)} is {at}, {side} the {end} cold pressure of the rules file, {edge} "
        f"(if it was read hot, {hot}): hold it against what the tire maker allows"
    )


def on_solid_axle(setting: Setting) -> str:
    """Say that a solid axle has no camber to turn."""
    return (
        f"{named(setting)}: the rear axle is solid and has no camber to turn, only other snouts or "
        "a bent tube do it"
    )


def flex_heat(found: FlexHeat, system: System) -> str:
    """Say that less air heats a tire that is too warm already."""
    average, highest = (figures.temperature(t, system) for t in (found.average, found.highest))
    return (
        f"{found.corner} averages {average}, above its working range ({highest}): less air makes "
        "a tire flex more, and flexing heats it"
    )


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
        f"{shown(knob, change.step, signed=False)}"
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
    return "; ".join(part for part in (came(past), *apart) if part)


def came(past: Past) -> str:
    """Say what came of a change, and with which others the same run judged it."""
    return "; ".join(part for part in (verdict(past), together(past)) if part)


def together(past: Past) -> str:
    """Say with which other changes the same run judged it, or ``""``."""
    if not past.beside:
        return ""
    return f"judged together with step{'s' * (len(past.beside) > 1)} {joined(past.beside)}"


def joined(each: Sequence[object]) -> str:
    """Write several as ``3``, ``3 and 5``, ``3, 5 and 7``."""
    *most, last = map(str, each)
    return f"{', '.join(most)} and {last}" if most else last


def _in_short(came: Verdict) -> str:
    return came.replace("-", " ")
