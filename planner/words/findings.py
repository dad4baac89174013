"""What counts now, a line a finding: which tire, what of it, by how much, and what to do."""

from collections.abc import Iterator

import attrs

from planner.advice.candidate import Candidate
from planner.judging.evidence import DriverSays
from planner.judging.judged_apart import JudgedApart, judged_apart
from planner.judging.patterns import EVEN, Pattern
from planner.plan.day import Day
from planner.rulebook.rules import TUNING_ORDER, Band
from planner.trade.corners import outside_corners
from planner.trade.units import System
from planner.words import changes, patterns
from planner.words.figures import beside_band, difference, in_words, number

# What a figure above and below its band says of the car; {at} is the corner, {by} the size.
_SAYS = {
    "split": ("{at} inner edge {by}hot", "{at} outer edge {by}hot"),
    "front_split": ("both fronts {by}hot on the inner edge", "both fronts {by}hot outside"),
    "crown": ("{at} middle {by}hot", "{at} middle {by}cool"),
    "versus_others": ("{at} {by}hotter than the rest", "{at} {by}cooler than the rest"),
    "balance": ("{front} {by}hotter than {rear}", "{rear} {by}hotter than {front}"),
    "front_vs_rear": ("fronts {by}hotter than rears", "rears {by}hotter than fronts"),
    "left_vs_right": ("left side {by}hotter", "right side {by}hotter"),
}
_DIAGONAL = ("diagonal {by}too hot", "diagonal {by}too cool")  # by how much past its band
_DRIVER = {"tight": "push", "loose": "loose"}


@attrs.frozen
class Finding:
    """One finding in words.

    Attributes
    ----------
    stage : that it holds; ``also`` of one that holds none.
    """

    stage: str
    says: str


def found(day: Day) -> Iterator[Finding]:
    """Yield what the runs so far show and nothing masks: what is due first, then in tuning order.

    The heat of a tire stands beside its average, and figures that disagree move nothing: neither is
    told here.
    """
    shown = day.good[-1].patterns if day.good else ()
    order = (day.stage, *(stage for stage in (*TUNING_ORDER, None) if stage != day.stage))
    told = [p for p in shown if not p.masked_by and not _is_aside(p, day)]
    for pattern in sorted(told, key=lambda each: (not each.holds, order.index(each.stage))):
        yield Finding(pattern.stage or "also", _says(pattern, day))
        latest = day.good[-1]
        for each in day.evidence_for(pattern, latest.step, latest.run):
            if isinstance(each, DriverSays) and not each.agrees:
                yield Finding("", patterns.beside(each))


def named(key: str, day: Day) -> str:
    """Name a finding by its key, ``id:corner``, without its size, e.g. ``RF inner edge hot``."""
    band = day.book.band(key)
    shape = None if band is None else _shape(band)
    if band is None or shape is None:
        return patterns.named(key)
    if band.rule.feel:
        return _DRIVER[band.rule.feel]
    return _filled(shape, band, "", day)


def masked(day: Day) -> int:
    """Return how many findings wait behind those that mask them."""
    return sum(bool(pattern.masked_by) for pattern in (day.good[-1].patterns if day.good else ()))


def apart(day: Day) -> Iterator[str]:
    """Yield the figures that the last run and all runs judge differently, where none holds."""
    shown = {pattern.key for pattern in day.good[-1].patterns}
    keys = {band.figures[0]: band.key for band in day.book.bands if len(band.figures) == 1}
    for each in judged_apart(day.good[-1].figures, day.known, day.book):
        if keys.get(each.figure) not in shown:
            yield both(each, day.plan.units)


def both(each: JudgedApart, system: System) -> str:
    """Say a figure by the last run and by all runs, and which way it counts.

    Such as ``LF crown -4.7 this run, -2.1 all runs: counts as in band``.
    """
    latest, together = (
        beside_band(each.figure, at, each.edges, system) for at in (each.latest, each.together)
    )
    counts = "out of band" if each.is_out else "in band"
    return f"{in_words(each.figure)} {latest} this run, {together} all runs: counts as {counts}"


def _is_aside(pattern: Pattern, day: Day) -> bool:
    """Whether a pattern is told elsewhere, or moves nothing."""
    rule = next((rule for rule in day.book.pattern if rule.id == pattern.id), None)
    return rule is not None and (rule.window is not None or rule.disagree is not None)


def _says(pattern: Pattern, day: Day) -> str:
    """Say a finding in one line."""
    reads = _reads(pattern, day)
    if reads is None:
        return patterns.says(pattern, day.book, day.plan.units)
    rule = day.book.rule(pattern.id)
    if pattern.unheard:
        felt = "loose" if rule.feel == "tight" else "tight"
        return f"{reads}, but the driver felt {felt}: run again first"
    if pattern.key in day.left_open:
        return f"{reads}: left as it is"
    if not pattern.holds:
        return f"{reads}: too close to call, {pattern.chance:.0%} likely out"
    means = _DRIVER.get(rule.feel or "", rule.means)
    cure = _cure(pattern, day)
    if cure:
        means = f"{means}, {cure}" if rule.feel else cure
    if pattern.chance <= EVEN:
        means = f"in band, but {pattern.chance:.0%} likely out; {means}"
    return f"{reads}: {means}"


def _reads(pattern: Pattern, day: Day) -> str | None:
    """Say what is read, by all runs and by the last where that differs; None of other readings."""
    band, system = day.book.band(pattern.key), day.plan.units
    if band is None:
        return None
    shape, kind = _shape(band), band.figures[0].partition(".")[0]
    if shape is None:
        return None
    off = pattern.value - pattern.limit if shape is _DIAGONAL else pattern.value
    text = _filled(shape, band, f"{_size(off, system)} ", day)
    if off * band.rule.sign < 0:  # in band, or the band lies on one side of nothing
        text = f"{in_words(band.figures[0])} {number(kind, pattern.value, system)}"
    latest = pattern.numbers.get("latest")
    if latest is None:
        return text
    edges = day.book.edges(band.figures[0])
    reads, together = (beside_band(kind, at, edges, system) for at in (latest, pattern.value))
    return f"{text} ({reads} this run, {together} all runs)"


def _shape(band: Band) -> tuple[str, str] | None:
    """Return what the figure of a band says, above it and below; None of one without words."""
    kind = band.figures[0].partition(".")[0]
    return _SAYS.get(kind, _DIAGONAL if kind.startswith("cross_") else None)


def _filled(shape: tuple[str, str], band: Band, size: str, day: Day) -> str:
    front, rear, *_ = outside_corners(day.plan.turns)
    says = shape[0 if band.rule.sign > 0 else 1]
    return says.format(at=band.corner, by=size, front=front, rear=rear)


def _size(degrees: float, system: System) -> str:
    """Write the size of a difference [degF] as short as it goes, without its unit."""
    return difference(abs(degrees), system, signed=False).split()[0].removesuffix(".0")


def _cure(pattern: Pattern, day: Day) -> str:
    """Say what the first offer does for a pattern, in the trade's words; ``""`` if it does nothing.

    What rides along is told with what it is for; an offer for several faults does for each what it
    turns at that corner.
    """
    first: Candidate | None = next(iter(day.table().candidates), None)
    if first is None:
        return ""
    here = [c for c in first.own_changes if pattern.corner in (None, c.corner)]
    if pattern.key in first.trims_answer:
        trims = [change for change in first.changes if change.trim]
        here = [trims[first.trims_answer.index(pattern.key)]]
    elif pattern.key not in first.answers:
        return ""
    return changes.to_do(here[0]) if here else ""
