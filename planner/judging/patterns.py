"""From figures to patterns: what the temperatures show, stage by stage."""

from collections.abc import Collection, Mapping, Sequence
from math import hypot, sqrt
from typing import TYPE_CHECKING, Literal

import attrs

from planner.judging import wear
from planner.judging.wear import Worn
from planner.learning.observed import chance_within
from planner.rulebook.rules import TUNING_ORDER, Band, PatternRule, Rulebook, TuningStage
from planner.run.readings import Run
from planner.trade import figures as figure
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
    numbers : what else is to be told of it: `first` and `second` of two figures, `latest` where
        the last run alone reads otherwise than all runs [degF]; `own`, the car's own figure in
        balance, where it is held against that [degF]; of pressures `cold`, `known`,
        `hot` and `expected` [psi].
    unheard : the driver felt the opposite, and so it holds nothing before another run.
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
    """

    judging = _Judging(run, known, book, latest, window or book.window, wear.worn(run, earlier))
    found = judging.shown(min(certainty, AS_LIKELY_AS_NOT))
    if certainty > AS_LIKELY_AS_NOT and not any(p.holds and p.key not in left_open for p in found):
        return judging.shown(certainty)
    return found


@attrs.frozen(eq=False)
class _Judging:
    """What patterns are found from; the attributes are the parameters of `find`."""

    run: Run
    known: "Posterior"
    book: Rulebook
    latest: Figures | None
    window: tuple[float, float]
    loss: Worn

    def shown(self, certainty: float) -> tuple[Pattern, ...]:
        """Return every pattern, each held against one certainty."""
        found: list[Pattern] = []
        averages = self._averages()
        for band in self.book.bands:
            pattern = self._match(band, certainty) if band.is_looked_at(averages) else None
            if pattern is not None:
                found.append(self._heard(pattern, band))
        found = list(masked(found, self.book, self.known.turns))
        fast = wear.fastest(self.loss, self.book.wear)
        if fast is not None and not any(pattern.holds for pattern in found):
            corner, times = fast
            found.append(Pattern(WEAR_UNEVEN, times, self.book.wear.uneven, corner=corner))
        return tuple(found)

    def _averages(self) -> dict[Corner, float]:
        """Return the average of each tire by all runs [degF]."""
        mean = self.known.joint([f"average.{corner}" for corner in CORNERS])[0]
        return dict(zip(CORNERS, mean.tolist(), strict=True))

    def _match(self, band: Band, certainty: float) -> Pattern | None:
        """Return the pattern of a rule at its place where the figures show it."""
        known, rule, names = self.known, band.rule, band.figures
        if rule.alike is not None and not band.is_alike(known.estimate("front_split_gap").mean):
            return None
        mean, covariance = known.joint(names)
        values = [round(float(each), 9) for each in mean]  # no dust at the edge of a band
        errors = [sqrt(max(0.0, float(covariance[i, i]))) for i in range(len(names))]
        beyond = _disagree(rule, values) if rule.disagree else self._beyond(rule, values, errors)
        if beyond is None:
            return None
        nearest, limit, chance = beyond
        out = chance > 0.5
        alone = standard_error(names[nearest], known.priors.noise, known.turns)
        clear = out
        if rule.stage is not None:
            clear = chance >= holds_at(errors[nearest], alone, certainty)
        if not (out or clear):
            return None
        if out and rule.between_cars and not rule.by_own:
            # Readings alone decide whether it holds; how sure that is rests on the band as well.
            wide = [hypot(error, rule.between_cars) for error in errors]
            *_, chance = self._beyond(rule, values, wide)
        numbers = {"first": values[0], "second": values[-1]} if rule.names_each else {}
        return Pattern(
            id=rule.id,
            stage=rule.stage,
            corner=band.corner,
            value=values[nearest],
            limit=limit,
            strength="clear" if clear else "borderline",
            error=errors[nearest],
            chance=chance,
            numbers={"own": rule.aim} if rule.by_own else numbers,
        )

    def _beyond(
        self, rule: PatternRule, values: list[float], errors: list[float]
    ) -> tuple[int, float, float]:
        """Return the figure that decides, the edge, and the chance that all are beyond it."""
        above = rule.above is not None or rule.window == "above"
        edge = rule.above if above else rule.below
        limit = self.window[1 if above else 0] if edge is None else edge
        # All figures must be beyond: the one least so decides.
        nearest = values.index(min(values) if above else max(values))
        chances = [
            chance_within(Estimate(v, e), limit if above else None, None if above else limit)
            for v, e in zip(values, errors, strict=True)
        ]
        return nearest, limit, min(chances)

    def _heard(self, pattern: Pattern, band: Band) -> Pattern:
        """Return a pattern with what the latest run alone reads where that differs.

        Where that run alone is in band and the driver felt the opposite of what all runs together
        show, nothing is changed on the strength of the older runs: another run is to settle it.
        """
        rule = band.rule
        if self.latest is None or rule.stage is None:
            return pattern
        reads = min(
            (self.latest[name] for name in band.figures), key=lambda at: abs(at - pattern.value)
        )
        if abs(reads - pattern.value) < NOTICED:
            return pattern
        pattern = attrs.evolve(pattern, numbers={**pattern.numbers, "latest": reads})
        in_band = reads <= pattern.limit if rule.above is not None else reads >= pattern.limit
        opposite = {"tight": "loose", "loose": "tight"}.get(rule.feel or "")
        if pattern.strength == "clear" and in_band and opposite and self.run.feel == opposite:
            return attrs.evolve(pattern, unheard=True, strength="borderline")
        return pattern


def _disagree(rule: PatternRule, values: list[float]) -> tuple[int, float, float] | None:
    """Return the figure that is out of band, or the first of two out on opposite sides."""
    assert rule.disagree is not None
    low, high = rule.disagree
    if len({(value > high) - (value < low) for value in values}) == 1:
        return None
    nearest = next(i for i, v in enumerate(values) if not low <= v <= high)
    return nearest, high if values[nearest] > high else low, 1.0


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


def masked(found: Sequence[Pattern], book: Rulebook, turns: Turns) -> tuple[Pattern, ...]:
    """Mark every later pattern that leans on the average of a tire with an earlier fault."""
    masks = [p for p in found if p.holds and p.stage in MASKING_STAGES and p.corner]
    marked = []
    for pattern in found:
        band = None if pattern.stage is None else book.band(pattern.key)
        if pattern.stage is not None and band is not None:
            uses = {
                corner for name in band.figures for corner in figure.corners_averaged(name, turns)
            }
            by = tuple(
                mask.key
                for mask in masks
                if mask.corner in uses
                and TUNING_ORDER.index(mask.stage or "camber") < TUNING_ORDER.index(pattern.stage)
            )
            if by:
                pattern = attrs.evolve(pattern, masked_by=by)
        marked.append(pattern)
    return tuple(marked)
