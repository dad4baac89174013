"""From figures to patterns: what the temperatures show, stage by stage."""

from collections.abc import Collection, Sequence
from math import sqrt
from string import Template
from typing import TYPE_CHECKING, Literal

import attrs

from planner.judging import wear
from planner.judging.wear import Worn
from planner.learning.observed import chance_within
from planner.rulebook.rules import TUNING_ORDER, PatternRule, Rulebook, TuningStage, figure_names
from planner.run.readings import Run
from planner.trade import figures as figure
from planner.trade import units
from planner.trade.corners import CORNERS, Corner, Turns
from planner.trade.estimate import Estimate
from planner.trade.figures import Figures, standard_error

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.response import Posterior

Strength = Literal["clear", "borderline"]
WEAR_UNEVEN = "wear.uneven"

# What one run alone shows is clear only when it is out of band with this chance; once other runs
# have told too (its error is this much smaller than that of one run), the certainty decides.
AT_FIRST_SIGHT = 0.65
SETTLED = 0.85

# On the way through the tuning order a figure that other runs have told of too holds its stage
# only when it is likelier out than in; the certainty asked for counts where nothing else holds.
AS_LIKELY_AS_NOT = 0.5

NOTICED = 1.0  # degF between the latest run and all runs together that is worth a word

# Faults of these stages make a tire's average unfit to judge anything later by.
MASKING_STAGES = ("camber", "pressure")


@attrs.frozen
class Pattern:
    """One thing the readings show.

    Attributes
    ----------
    id, stage, corner : which pattern, the stage it holds (None: information), and where.
    value, limit : the figure that shows it and the edge of its band [degF].
    strength : whether it holds the gate (clear) or not (borderline).
    error : standard error of the value [degF].
    chance : that the true figure is beyond the limit.
    masked_by : earlier faults, as ``id:corner``, that make this one doubtful.
    says : in words.
    evidence : what wear and the driver say beside it.
    """

    id: str
    value: float
    limit: float
    says: str
    stage: TuningStage | None = None
    corner: Corner | None = None
    strength: Strength = "clear"
    error: float = 0.0
    chance: float = 1.0
    masked_by: tuple[str, ...] = ()
    evidence: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """The pattern and its corner, as ``id:corner``, or the id alone."""
        return f"{self.id}:{self.corner}" if self.corner else self.id

    @property
    def holds(self) -> bool:
        """Whether it holds the gate of its stage."""
        return self.stage is not None and self.strength == "clear"


def find(
    run: Run,
    known: "Posterior",
    book: Rulebook,
    *,
    latest: Figures | None = None,
    certainty: float = 0.5,
    window: tuple[float, float] | None = None,
    earlier: Sequence[Run] = (),
    left_open: Collection[str] = (),
    system: units.System = "us",
) -> tuple[Pattern, ...]:
    """Return every pattern that all runs so far show, in the order of the rules file.

    While a figure that is likelier out of band than in holds a stage, no other does. When none is
    left, every figure has to be in band with the certainty asked for: a whole run for one that
    leans the right way already is better spent at the end, where all of them are mended together.

    Parameters
    ----------
    run : the latest run, for wear and the driver's word.
    known : what all runs so far say of the true figures.
    book : the rules, already turned the way the track turns.
    latest : figures of the latest run alone, where they are to be held beside those of all runs.
    certainty : chance of being in band that is asked of every figure in the end: a pattern is
        then clear when the chance that the figure is out is above one minus this.
    window : working range of the tires [degF] when the car file has one.
    earlier : good runs before this one, for the tread they left.
    left_open : patterns that the crew left open, as ``id:corner``; they hold nothing.
    system : units the words are written in.
    """

    loss = wear.worn(run, earlier)

    def shown(asked: float) -> tuple[Pattern, ...]:
        return _shown(run, known, book, latest, asked, window or book.window, loss, system)

    found = shown(min(certainty, AS_LIKELY_AS_NOT))
    if certainty > AS_LIKELY_AS_NOT and not any(p.holds and p.key not in left_open for p in found):
        return shown(certainty)
    return found


def _shown(
    run: Run,
    known: "Posterior",
    book: Rulebook,
    latest: Figures | None,
    certainty: float,
    window: tuple[float, float],
    loss: Worn,
    system: units.System,
) -> tuple[Pattern, ...]:
    """Return every pattern, each held against one certainty; see `find`."""
    found: list[Pattern] = []
    for rule in book.pattern:
        for corner in _where(rule, known):
            pattern = _match(rule, corner, known, window, certainty, system)
            if pattern is not None:
                if latest is not None and rule.stage is not None:
                    pattern = _beside_latest(pattern, rule, latest, run, system)
                evidence = _evidence(rule, corner, run, known.turns, loss, book)
                found.append(attrs.evolve(pattern, evidence=evidence))
    found = _masked(found, book, known.turns)
    fast = wear.fastest(loss, book.wear)
    if fast is not None and not any(pattern.holds for pattern in found):
        found.append(_uneven(*fast, book.wear.uneven))
    return tuple(found)


def holds_at(error: float, alone: float, certainty: float) -> float:
    """Return the chance of being out of band from which a figure holds its stage.

    Parameters
    ----------
    error : its standard error by all runs [degF].
    alone : that of one run alone [degF].
    certainty : chance of being in band at which it stops holding.
    """
    settled = error < SETTLED * alone
    return 1 - certainty if settled else max(AT_FIRST_SIGHT, 1 - certainty)


def _where(rule: PatternRule, known: "Posterior") -> tuple[Corner | None, ...]:
    if rule.each == "car":
        return (None,)
    if rule.each == "corner":
        return CORNERS
    averages = known.joint([f"average.{corner}" for corner in CORNERS])[0].tolist()
    most = max(averages) if rule.each == "hottest" else min(averages)
    return (CORNERS[averages.index(most)],)


def _match(
    rule: PatternRule,
    corner: Corner | None,
    known: "Posterior",
    window: tuple[float, float],
    certainty: float,
    system: units.System,
) -> Pattern | None:
    if rule.alike is not None and abs(known.estimate("front_split_gap").mean) > rule.alike:
        return None
    names = figure_names(rule, corner or "")
    mean, covariance = known.joint(names)
    values = [round(float(each), 9) for each in mean]  # no dust at the edge of a band
    errors = [sqrt(max(0.0, float(covariance[i, i]))) for i in range(len(names))]
    if rule.disagree is not None:
        low, high = rule.disagree
        sides = {(value > high) - (value < low) for value in values}
        if len(sides) == 1:
            return None
        # The figure that is out of band, or the first of two that are out on opposite sides.
        nearest = next(i for i, v in enumerate(values) if not low <= v <= high)
        limit = high if values[nearest] > high else low
        chance = 1.0
    else:
        above = rule.above is not None or rule.window == "above"
        edge = rule.above if above else rule.below
        limit = window[1 if above else 0] if edge is None else edge
        # All figures must be beyond: the one least so decides.
        nearest = values.index(min(values) if above else max(values))
        beyond = [
            chance_within(Estimate(v, e), limit if above else None, None if above else limit)
            for v, e in zip(values, errors, strict=True)
        ]
        chance = min(beyond)
    alone = standard_error(names[nearest], known.priors.noise, known.turns)
    out = chance > 0.5
    clear = out if rule.stage is None else chance >= holds_at(errors[nearest], alone, certainty)
    if not (out or clear):
        return None
    says = _words(rule, corner, values, values[nearest], limit, system)
    if not clear:
        says += (
            f" (borderline: {chance:.0%} that it is out of band; another run, or reading again, "
            "would settle it)"
        )
    elif not out:
        says = _not_yet_certain(says, chance)
    return Pattern(
        id=rule.id,
        stage=rule.stage,
        corner=corner,
        value=values[nearest],
        limit=limit,
        strength="clear" if clear else "borderline",
        error=errors[nearest],
        chance=chance,
        says=says,
    )


def _not_yet_certain(says: str, chance: float) -> str:
    """Say of a figure in its band what may yet be wrong, and not that it is.

    What comes last after a colon in the words of a rule is what the figure means.
    """
    reads, _, means = says.rpartition(": ")
    return f"{reads}: in band, but {chance:.0%} likely to be out of it ({means})"


def _beside_latest(
    pattern: Pattern, rule: PatternRule, latest: Figures, run: Run, system: units.System
) -> Pattern:
    """Say what the latest run alone reads where that differs, and let it be heard.

    Where that run alone is in band and the driver felt the opposite of what all runs together
    show, nothing is changed on the strength of the older runs: another run is to settle it.
    """
    names = figure_names(rule, pattern.corner or "")
    nearest = min(names, key=lambda name: abs(latest[name] - pattern.value))
    reads = latest[nearest]
    if abs(reads - pattern.value) < NOTICED:
        return pattern
    says = (
        f"{pattern.says} (by all runs together; this run alone reads "
        f"{units.difference(reads, system)})"
    )
    in_band = reads <= pattern.limit if rule.above is not None else reads >= pattern.limit
    opposite = {"tight": "loose", "loose": "tight"}.get(rule.feel or "")
    if pattern.strength == "clear" and in_band and opposite and run.feel == opposite:
        says += f"; the driver felt {run.feel}, so nothing is changed before another run"
        return attrs.evolve(pattern, says=says, strength="borderline")
    return attrs.evolve(pattern, says=says)


def _words(
    rule: PatternRule,
    corner: Corner | None,
    values: list[float],
    value: float,
    limit: float,
    system: units.System,
) -> str:
    words = {
        "value": units.difference(value, system, signed=value < 0),
        "size": units.difference(abs(value), system, signed=False),
        "limit": units.difference(limit, system, signed=limit < 0),
        "average": units.temperature(values[0], system),
        "first": units.difference(values[0], system),
        "second": units.difference(values[-1], system),
        "corner": corner or "",
    }
    says = Template(rule.says).safe_substitute(words)
    return f"{corner}: {says}" if corner else says


def _evidence(
    rule: PatternRule,
    corner: Corner | None,
    run: Run,
    turns: Turns,
    loss: Worn,
    book: Rulebook,
) -> tuple[str, ...]:
    said: list[str] = []
    if rule.tread is not None and corner is not None:
        said.append(wear.across_tire(corner, rule.tread, loss, book.wear))
    if rule.wears is not None and corner is not None:
        others = tuple(other for other in CORNERS if other != corner)
        more, less = ((corner,), others) if rule.wears == "more" else (others, (corner,))
        said.append(wear.between(more, less, loss, book.wear))
    if rule.feel is not None:
        hot, cool = _hot_and_cool(rule, turns)
        said.append(wear.between(hot, cool, loss, book.wear))
        said.append(_driver(rule, run))
    return tuple(sentence for sentence in said if sentence)


def _hot_and_cool(rule: PatternRule, turns: Turns) -> tuple[tuple[Corner, ...], tuple[Corner, ...]]:
    """Return the corners a balance figure holds against each other, the hotter side first."""
    sides = figure.terms(rule.figures[0], turns)
    plus = tuple(c for c in CORNERS if sides.get(f"average.{c}", 0) > 0)
    minus = tuple(c for c in CORNERS if sides.get(f"average.{c}", 0) < 0)
    return (plus, minus) if rule.above is not None else (minus, plus)


def _driver(rule: PatternRule, run: Run) -> str:
    if run.feel is None:
        return ""
    place = (
        f" in the {run.where}" if run.where == "middle" else f" at {run.where}" if run.where else ""
    )
    if run.feel == rule.feel:
        return f"the driver says the same: {run.feel}{place}"
    return f"the driver says {run.feel}{place}: the tires and the driver do not agree"


def _masked(found: list[Pattern], book: Rulebook, turns: Turns) -> list[Pattern]:
    """Mark every later pattern that leans on the average of a tire with an earlier fault."""
    masks = [p for p in found if p.holds and p.stage in MASKING_STAGES and p.corner]
    marked = []
    for pattern in found:
        if pattern.stage is not None:
            rule = book.rule(pattern.id)
            uses = {
                corner
                for name in figure_names(rule, pattern.corner or "")
                for corner in figure.corners_averaged(name, turns)
            }
            by = tuple(
                mask.key
                for mask in masks
                if mask.corner in uses
                and TUNING_ORDER.index(mask.stage or "camber") < TUNING_ORDER.index(pattern.stage)
            )
            if by:
                first = f"{_faults(by)} first, then look again"
                says = f"{pattern.says} (masked by {', '.join(by)}: {first})"
                pattern = attrs.evolve(pattern, masked_by=by, says=says)
        marked.append(pattern)
    return marked


def _faults(keys: tuple[str, ...]) -> str:
    """Name the faults that mask, e.g. ``mend the RF camber and the LR pressure``."""
    named = [(key.partition(":")[2], key.partition(".")[0]) for key in keys]
    return "mend " + " and ".join(f"the {corner} {knob}" for corner, knob in dict.fromkeys(named))


def _uneven(corner: Corner, times: float, limit: float) -> Pattern:
    says = (
        f"{corner}: wears {times:.1f} times as fast as the mean of the other three, "
        "though the temperatures are in band"
    )
    return Pattern(id=WEAR_UNEVEN, corner=corner, value=times, limit=limit, says=says)
