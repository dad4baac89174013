"""What the tires show, in words: a pattern, what supports it, and what masks it."""

from collections.abc import Iterable, Iterator, Mapping
from string import Template

from planner.judging.evidence import DriverSays, Evidence
from planner.judging.patterns import EVEN, WEAR_UNEVEN, Pattern
from planner.judging.pressures import HIGH_HOT, LOST, LOST_HOT, LOW_HOT, ODD
from planner.judging.wear import Part, WearSays
from planner.rulebook.rules import PatternRule, Rulebook
from planner.trade.corners import CORNERS
from planner.trade.knobs import CannotTurn
from planner.trade.units import System
from planner.words import runs
from planner.words.figures import difference, temperature

# The pressures that a pattern of no rule is told with.
_TOLD_WITH = {
    ODD: {"cold"},
    LOST_HOT: {"cold"},
    LOST: {"cold", "known"},
    LOW_HOT: {"cold", "hot", "expected"},
    HIGH_HOT: {"cold", "hot", "expected"},
}
_CANNOT_TURN: Mapping[CannotTurn, str] = {
    "fixed": "the car file says that nothing turns it here",
    # Common practice, no source.
    "solid-axle": "a solid axle has no camber to turn, pressure and stagger act on it a little",
}


def says(pattern: Pattern, book: Rulebook, system: System) -> str:
    """Say what a pattern shows, how sure that is, and what masks it."""
    reads, means = _shows(pattern, book, system)
    text = f"{reads}: {means}" if means else reads
    band = book.band(pattern.key)
    why_not = None if band is None else book.why_not(band)
    if why_not is not None and not pattern.holds:
        text += f" ({_CANNOT_TURN[why_not]}, so it holds nothing)"
    elif pattern.strength == "borderline" and not pattern.unheard:
        text += (
            f" (borderline: {pattern.chance:.0%} that it is out of band; another run, or reading "
            "again, would settle it)"
        )
    elif pattern.holds and not _is_likely(pattern):
        odds = f"{pattern.chance:.0%} likely to be"
        is_out = band is not None and band.rule.sign * (pattern.value - pattern.limit) > 0
        how = f"hardly out of band, {odds} a fault" if is_out else f"in band, but {odds} out"
        text = f"{reads}: {how} ({means})"
    text += _weak(pattern, book, system)
    if "latest" in pattern.numbers:
        latest = difference(pattern.numbers["latest"], system)
        text += f" (all runs together; this run alone reads {latest})"
    if pattern.unread:
        text += " (by earlier runs; this one has no reading for it)"
    if pattern.unheard:
        felt = next(("loose" if r.feel == "tight" else "tight" for r in _rules(pattern, book)), "")
        text += f"; the driver felt {felt}, so make another run before any change"
    if pattern.masked_by:
        text += f" (masked: fix {faults(pattern.masked_by)} first, then look again)"
    return text


def _is_likely(pattern: Pattern) -> bool:
    """Whether a fault is more likely there than not, by the decimals that a plan file keeps."""
    return round(pattern.chance, 3) > EVEN


def _weak(pattern: Pattern, book: Rulebook, system: System) -> str:
    """Say how weak evidence is that rests on a band which differs from car to car."""
    between = next((rule.between_cars for rule in _rules(pattern, book)), 0.0)
    told = pattern.strength == "borderline" or pattern.masked_by or not _is_likely(pattern)
    if not between or "own" in pattern.numbers or told:
        return ""
    return (
        f" (weak evidence, {pattern.chance:.0%}: what is right differs from car to car by some "
        f"{difference(between, system, signed=False)})"
    )


def _rules(pattern: Pattern, book: Rulebook) -> Iterator[PatternRule]:
    """Yield the rule of a pattern; nothing where the rules no longer have it."""
    return (rule for rule in book.pattern if rule.id == pattern.id)


def _shows(pattern: Pattern, book: Rulebook, system: System) -> tuple[str, str]:
    """Say what the readings of a pattern are, and what that means."""
    for rule in _rules(pattern, book):
        own = rule.own if "own" in pattern.numbers else None
        return _by_rule((own or rule).says, pattern, system), rule.means
    numbers, corner = pattern.numbers, pattern.corner
    if not _TOLD_WITH.get(pattern.id, set()) <= numbers.keys():  # a plan file edited by hand
        return f"{named(pattern.key)}: {pattern.value:+.1f}", ""
    if pattern.id == WEAR_UNEVEN:
        return (
            f"{corner}: wears {pattern.value:.1f} times as fast as the mean of the other three, "
            "though the temperatures are in band",
            "",
        )
    if pattern.id == ODD:
        return (
            f"{corner}: {pattern.value:.1f} psi hot from {numbers['cold']:.1f} cold is impossible",
            "a slip, or two tires exchanged; read it again, and if it is true and low, the tire is "
            "flat",
        )
    if pattern.id == LOST_HOT:
        return (
            f"{corner}: {pattern.value:.1f} psi hot, less than its {numbers['cold']:.1f} cold",
            "it is losing air, or one of the two is a slip",
        )
    if pattern.id == LOST:
        return (
            f"{corner}: {numbers['cold']:.1f} psi cold, but {numbers['known']:.1f} was set",
            "a slow leak, a colder tire, or another setting than the plan knows",
        )
    if pattern.id in (LOW_HOT, HIGH_HOT):
        return (
            f"{corner}: {numbers['hot']:.1f} psi hot, {numbers['expected']:.1f} expected by the "
            f"gas law from {numbers['cold']:.1f} cold",
            "suspect a slow leak"
            if pattern.id == LOW_HOT
            else "damp air in the tire, or the pressure was set on a warm or cold tire",
        )
    return f"{named(pattern.key)}: {pattern.value:+.1f}", "a pattern the rules no longer have"


def _by_rule(template: str, pattern: Pattern, system: System) -> str:
    value, limit = pattern.value, pattern.limit
    first, second = (pattern.numbers.get(name, value) for name in ("first", "second"))
    words = {
        "value": difference(value, system, signed=value < 0),
        "size": difference(abs(value), system, signed=False),
        "limit": difference(limit, system, signed=limit < 0),
        "average": temperature(first, system),
        "first": difference(first, system),
        "second": difference(second, system),
        "own": difference(pattern.numbers.get("own", value), system),
        "corner": pattern.corner or "",
    }
    text = Template(template).safe_substitute(words)
    return f"{pattern.corner}: {text}" if pattern.corner else text


def named(key: str) -> str:
    """Name a pattern by its key in people's words, e.g. ``RF camber, inner hot``."""
    pattern, _, corner = key.partition(":")
    kind, _, what = pattern.partition(".")
    name = f"{kind}, {what.replace('-', ' ')}" if what else kind
    return f"{corner} {name}" if corner else name


def listed(keys: Iterable[str]) -> str:
    """Name several patterns, one after the other."""
    return "; ".join(map(named, keys))


def faults(keys: Iterable[str]) -> str:
    """Name the faults that mask, e.g. ``RF camber and LR pressure``."""
    named_by = ((key.partition(":")[2], key.partition(".")[0]) for key in keys)
    return " and ".join(f"{corner} {knob}" for corner, knob in dict.fromkeys(named_by))


def beside(evidence: Evidence) -> str:
    """Say what wear or the driver says of a pattern."""
    if isinstance(evidence, DriverSays):
        felt = runs.felt(evidence.felt)
        if evidence.agrees and {"tight", "loose"}.issubset(evidence.felt.values()):
            return f"the driver says so of a part of the corner: {felt}"
        if evidence.agrees:
            return f"the driver says the same: {felt}"
        return f"the driver says {felt}: the tires and the driver do not agree"
    return _wear(evidence)


def _wear(wear: WearSays) -> str:
    unit = "%" if wear.unit == "percent" else "/32 in"
    more, less = _parts(wear.more), _parts(wear.less)
    if wear.agrees:
        return f"wear agrees: {more} lost {wear.lost_more:.1f}{unit}, {less} {wear.lost_less:.1f}"
    return (
        f"wear contradicts: {more} lost {wear.lost_more:.1f}{unit}, {less} only "
        f"{wear.lost_less:.1f}"
    )


def _parts(parts: tuple[Part, ...]) -> str:
    if parts[0] not in CORNERS:
        return {
            "inner": "the inner edge",
            "outer": "the outer edge",
            "middle": "the middle",
            "edges": "the edges",
        }[parts[0]]
    return "the others" if len(parts) == 3 else "/".join(parts)
