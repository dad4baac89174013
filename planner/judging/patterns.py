"""From figures to patterns: what the temperatures show, stage by stage."""

from collections.abc import Container, Iterator, Mapping, Sequence
from math import hypot, sqrt
from typing import TYPE_CHECKING, Literal

import attrs

from planner.judging import wear
from planner.learning.observed import chance_within
from planner.rulebook.rules import TUNING_ORDER, Band, PatternRule, Rulebook, TuningStage
from planner.run.readings import Run
from planner.trade import figures as figure
from planner.trade.corners import CORNERS, Corner, Turns
from planner.trade.estimate import Estimate
from planner.trade.figures import Figures

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.posterior import Posterior

Strength = Literal["clear", "borderline"]
WEAR_UNEVEN = "wear.uneven"

EVEN = 0.5  # a fault with this chance is as likely there as not
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
    strength : whether it holds the gate (clear) or not (borderline); what nothing on this car
        could put right holds nothing.
    error : standard error of the value [degF].
    chance : that the true figure is beyond the limit.
    masked_by : earlier faults, as ``id:corner``, that make this one doubtful.
    numbers : what else is to be told of it: `first` and `second` of two figures, `latest` where
        the last run alone reads otherwise than all runs [degF]; `own`, the car's own figure in
        balance, where it is held against that [degF]; of pressures `cold`, `known`,
        `hot` and `expected` [psi].
    unheard : the driver felt the opposite, and so it holds nothing before another run.
    unread : the latest run has no reading for it; earlier runs show it.
    """

    id: str
    value: float
    limit: float
    stage: TuningStage | None = None
    corner: Corner | None = None
    strength: Strength = "clear"
    error: float = 0.0
    chance: float = 1.0
    masked_by: tuple[str, ...] = ()
    numbers: Mapping[str, float] = attrs.field(factory=dict)
    unheard: bool = False
    unread: bool = False

    @property
    def key(self) -> str:
        """The pattern and its corner, as ``id:corner``, or the id alone."""
        return f"{self.id}:{self.corner}" if self.corner else self.id

    @property
    def holds(self) -> bool:
        """Whether it holds the gate of its stage."""
        return self.stage is not None and self.strength == "clear"


@attrs.frozen
class Gate:
    """What is expected of the faults, by key ``id:corner``; see `expected`.

    Attributes
    ----------
    chances : that each is there.
    holding : those that hold their stage.
    """

    chances: Mapping[str, float] = attrs.field(factory=dict)
    holding: Container[str] = ()


def find(
    run: Run,
    known: "Posterior",
    book: Rulebook,
    *,
    gate: Gate,
    latest: Figures | None = None,
    window: tuple[float, float] | None = None,
    earlier: Sequence[Run] = (),
) -> tuple[Pattern, ...]:
    """Return every pattern that all runs so far show, in the order of the rules file.

    Parameters
    ----------
    run : the latest run, for wear and the driver's word.
    known : what all runs so far say of the true figures.
    book : the rules, already turned the way the track turns.
    gate : what is expected of the faults, and which hold their stage.
    latest : figures of the latest run alone, where they are to be held beside those of all runs.
    window : working range of the tires [degF] when the car file has one.
    earlier : good runs before this one, for the tread they left and what they had read.
    """
    return _Judging(run, known, book, gate, latest, window or book.window, earlier).shown()


@attrs.frozen(eq=False)
class _Judging:
    """What patterns are found from; the attributes are the parameters of `find`."""

    run: Run
    known: "Posterior"
    book: Rulebook
    gate: Gate
    latest: Figures | None
    window: tuple[float, float]
    earlier: Sequence[Run]

    def shown(self) -> tuple[Pattern, ...]:
        """Return every pattern."""
        found: list[Pattern] = []
        averages = self._averages()
        for band in self.book.bands:
            pattern = self._match(band) if band.is_looked_at(averages) else None
            if pattern is not None:
                found.append(pattern)
        found = list(masked(found, self.book, self.known.turns))
        fast = wear.fastest(wear.worn(self.run, self.earlier), self.book.wear)
        if fast is not None and not any(pattern.holds for pattern in found):
            corner, times = fast
            found.append(Pattern(WEAR_UNEVEN, times, self.book.wear.uneven, corner=corner))
        return tuple(found)

    def _averages(self) -> dict[Corner, float]:
        """Return the average of each tire by all runs [degF]."""
        mean = self.known.joint([f"average.{corner}" for corner in CORNERS])[0]
        return {corner: float(mean[i]) for i, corner in enumerate(CORNERS)}

    def _match(self, band: Band) -> Pattern | None:
        """Return the pattern of a rule at its place where the figures show it."""
        known, rule, names = self.known, band.rule, band.figures
        unread = self.latest is not None and not all(map(self.latest.is_known, names))
        if unread and not self._read_before(names):
            return None
        if rule.alike is not None and not band.is_alike(known.estimate("front_split_gap").mean):
            return None
        mean, covariance = known.joint(names)
        found = [
            # no dust at the edge of a band
            Estimate(round(float(mean[i]), 9), sqrt(max(0.0, float(covariance[i, i]))))
            for i in range(len(names))
        ]
        beyond = _disagree(rule, found) if rule.disagree else self._beyond(rule, found)
        if beyond is None:
            return None
        nearest, limit, chance = beyond
        out = chance > EVEN
        clear = out if rule.stage is None else band.key in self.gate.holding
        if self.book.nothing_turns(band):
            clear = False  # it is told, and there is nothing to wait for
        if not (out or clear):
            return None
        chance = self.gate.chances.get(band.key, chance)
        if out and rule.between_cars and not rule.by_own:
            # Readings alone decide whether it holds; how sure that is rests on the band as well.
            wide = [Estimate(at.mean, hypot(at.sd, rule.between_cars)) for at in found]
            *_, chance = self._beyond(rule, wide)
        pattern = Pattern(
            id=rule.id,
            stage=rule.stage,
            corner=band.corner,
            value=found[nearest].mean,
            limit=limit,
            strength="clear" if clear else "borderline",
            error=found[nearest].sd,
            chance=chance,
            numbers=_numbers(rule, found),
            unread=unread,
        )
        return pattern if unread else self._heard(pattern, rule, names[nearest])

    def _read_before(self, names: Sequence[str]) -> bool:
        """Say whether an earlier run has read all that some figures need."""
        runs = (figure.compute(run.tires, self.known.turns) for run in self.earlier)
        return any(all(map(run.is_known, names)) for run in runs)

    def _beyond(self, rule: PatternRule, found: Sequence[Estimate]) -> tuple[int, float, float]:
        """Return the figure that decides, the edge, and the chance that all are beyond it."""
        above = rule.above is not None or rule.window == "above"
        edge = rule.above if above else rule.below
        limit = self.window[1 if above else 0] if edge is None else edge
        # All figures must be beyond: the one least so decides.
        values = [each.mean for each in found]
        nearest = values.index(min(values) if above else max(values))
        within = (limit, None) if above else (None, limit)
        return nearest, limit, min(chance_within(each, *within) for each in found)

    def _heard(self, pattern: Pattern, rule: PatternRule, decides: str) -> Pattern:
        """Return a pattern with what the latest run alone reads where that differs.

        Where that run alone is in band and the driver felt the opposite of what all runs together
        show, nothing is changed on the strength of the older runs: another run is to settle it.
        """
        if self.latest is None or rule.stage is None:
            return pattern
        reads = self.latest[decides]
        if abs(reads - pattern.value) < NOTICED:
            return pattern
        pattern = attrs.evolve(pattern, numbers={**pattern.numbers, "latest": reads})
        in_band = reads <= pattern.limit if rule.above is not None else reads >= pattern.limit
        opposite = {"tight": "loose", "loose": "tight"}.get(rule.feel or "")
        felt = set(self.run.felt.values())
        only_opposite = opposite in felt and rule.feel not in felt
        if pattern.strength == "clear" and in_band and only_opposite:
            return attrs.evolve(pattern, unheard=True, strength="borderline")
        return pattern


def _disagree(rule: PatternRule, found: Sequence[Estimate]) -> tuple[int, float, float] | None:
    """Return the figure that is out of band, or the first of two out on opposite sides."""
    assert rule.disagree is not None
    low, high = rule.disagree
    values = [each.mean for each in found]
    if len({(value > high) - (value < low) for value in values}) == 1:
        return None
    nearest = next(i for i, value in enumerate(values) if not low <= value <= high)
    return nearest, max(low, min(values[nearest], high)), 1.0


def _numbers(rule: PatternRule, found: Sequence[Estimate]) -> dict[str, float]:
    """Return what else is to be told of a pattern [degF]."""
    if rule.by_own:
        return {"own": rule.aim}
    return {"first": found[0].mean, "second": found[1].mean} if rule.names_each else {}


def masked(found: Sequence[Pattern], book: Rulebook, turns: Turns) -> tuple[Pattern, ...]:
    """Mark every later pattern that leans on the average of a tire with an earlier fault."""
    masks = [p for p in found if p.holds and p.stage in MASKING_STAGES and p.corner]
    return tuple(
        attrs.evolve(pattern, masked_by=tuple(_masking(pattern, masks, book, turns)))
        for pattern in found
    )


def _masking(
    pattern: Pattern, masks: Sequence[Pattern], book: Rulebook, turns: Turns
) -> Iterator[str]:
    """Yield the faults that make a pattern doubtful, as ``id:corner``."""
    band = book.band(pattern.key)
    if pattern.stage is None or band is None:
        return
    earlier = TUNING_ORDER[: TUNING_ORDER.index(pattern.stage)]
    uses = {corner for name in band.figures for corner in figure.corners_averaged(name, turns)}
    for mask in masks:
        if mask.stage in earlier and mask.corner in uses:
            yield mask.key
