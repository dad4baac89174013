"""The rules: each temperature pattern, the adjustments it calls for, and the bands it leaves."""

from collections.abc import Iterable, Mapping
from functools import cached_property
from string import Template
from typing import Literal

import attrs

from planner.car.car_file import Car
from planner.run.readings import Feel, Phase
from planner.trade.corners import CORNERS, Corner, Turns, outside_corners
from planner.trade.estimate import Estimate
from planner.trade.figures import Noise, terms
from planner.trade.knobs import CannotTurn, Limit
from planner.trade.numbers import USUAL_LEAST_LAPS

FORMAT = 1
TOO_HOT = 300.0  # degF, where a rules file says nothing; from memory

# The tuning order: one fault masks another, so they are fixed in this order.
TuningStage = Literal["camber", "pressure", "cross", "balance", "corners"]
TUNING_ORDER: tuple[TuningStage, ...] = ("camber", "pressure", "cross", "balance", "corners")

Each = Literal["corner", "hottest", "coldest", "car"]
Tread = Literal["inner", "outer", "middle", "edges"]


@attrs.frozen
class Adjustment:
    """One knob as the rules know it.

    Attributes
    ----------
    knob, corner : what is changed and where; ``same`` is the corner the pattern was found at.
    step, most : smallest change, and the most in one move, in the knob's unit.
    minutes : working time.
    effect : per unit of the knob, on the base figures (``split.same``, ``average.RF``); left out
        for a knob that moves load, whose effect is computed for the typical cars.
    source : where direction and size come from.
    caution : which caution goes with the work.
    """

    knob: str
    corner: str
    step: float
    most: float
    minutes: float
    source: str
    effect: Mapping[str, Estimate] = attrs.field(factory=dict)
    caution: str = ""

    def effect_at(self, corner: str) -> dict[str, Estimate]:
        """Return the effects with ``same`` replaced by the corner."""
        return {name.replace(".same", f".{corner}"): effect for name, effect in self.effect.items()}

    def step_on(self, limit: Limit | None) -> float:
        """Return the smallest change: that of the car file where it says one, or of the rules."""
        return self.step if limit is None or limit.step is None else limit.step

    def most_on(self, limit: Limit | None) -> float:
        """Return the most in one move, which is never less than a step."""
        return max(self.most, self.step_on(limit))


Way = Literal["+", "-"]  # a knob is turned


@attrs.frozen
class Offer:
    """An adjustment that a pattern calls for; see the rules file for the keys."""

    use: str
    direction: Way | None = None
    when: Phase | None = None


@attrs.frozen
class OtherCauses:
    """What else may show a pattern, where the driver felt what its own offers would make worse.

    Attributes
    ----------
    feel : the driver's word.
    says : what to look at or ask first; nothing of it need be a knob.
    offers : changes that go with the driver's word.
    """

    feel: Feel
    says: str
    offers: tuple[Offer, ...] = ()


@attrs.frozen
class OwnBand:
    """How a car with a history of its own is judged instead; see `own_bands.held_against`.

    Attributes
    ----------
    figure : that is held against its own mean in balance.
    says : what was read then; takes ``$own`` beside the other placeholders.
    """

    figure: str
    says: str = ""


@attrs.frozen
class PatternRule:
    """How a pattern is recognised, what it says, and what it calls for.

    Attributes
    ----------
    other_causes : what else may show it, for a driver who felt the opposite.
    at_limit : what else to look at where the first offer cannot be turned any further.
    between_cars : how far what is right for one car differs from another's [degF]; makes a reading
        out of band weaker evidence, until the car is judged by its own.
    own : how a car with a history is judged.
    """

    id: str
    each: Each
    figures: tuple[str, ...]
    says: str
    source: str
    means: str = ""
    stage: TuningStage | None = None
    above: float | None = None
    below: float | None = None
    window: Literal["above", "below"] | None = None
    disagree: tuple[float, float] | None = None
    aim: float = 0.0
    alike: float | None = None
    tread: Tread | None = None
    wears: Literal["more", "less"] | None = None
    feel: Feel | None = None
    offers: tuple[Offer, ...] = ()
    after_moves: int | None = None
    next_cause: tuple[Offer, ...] = ()
    at_limit: tuple[Offer, ...] = ()
    other_causes: OtherCauses | None = None
    between_cars: float = 0.0
    own: OwnBand | None = None

    @property
    def by_own(self) -> bool:
        """Whether it is held against the car's own figure."""
        return self.own is not None and self.figures == (self.own.figure,)

    @property
    def all_offers(self) -> tuple[Offer, ...]:
        """What it calls for at first, as the next cause, and where the driver felt otherwise."""
        others = () if self.other_causes is None else self.other_causes.offers
        return (*self.offers, *self.next_cause, *others)

    @property
    def names_each(self) -> bool:
        """Whether its text names figures beside the one that decides."""
        asked = Template(self.says).get_identifiers()
        return len(self.figures) > 1 and not {"first", "second", "average"}.isdisjoint(asked)

    @property
    def edge(self) -> float | None:
        """Where its band ends; None where that is no single number."""
        return self.above if self.above is not None else self.below

    @property
    def sign(self) -> float:
        """+1 where figures are too high beyond the edge, -1 where they are too low."""
        return -1.0 if self.above is None else 1.0


@attrs.frozen
class WearRule:
    """When worn tread says something, and what cross weight does to wear (percent per percent)."""

    edge: float = 1.25
    uneven: float = 1.5
    least: float = 0.5
    least_percent: float = 5.0
    per_cross: Estimate | None = None


@attrs.frozen
class ColdPressure:
    """Lowest and highest cold pressure of a tire inside and outside the turns [psi].

    They count where the car file has none. Where a track turns both ways every tire is an outside
    tire in some turn.
    """

    inside: tuple[float, float] | None = None
    outside: tuple[float, float] | None = None
    source: str = ""


@attrs.frozen
class Band:
    """A rule at one place: the figures it looks at there, and the edge they may not all pass.

    Attributes
    ----------
    rule : it is a band of.
    corner : it is at; None for the whole car.
    figures : full names, such as ``split.RF``.
    """

    rule: PatternRule
    corner: Corner | None
    figures: tuple[str, ...]

    @classmethod
    def of(cls, rule: PatternRule, corner: Corner | None) -> "Band":
        """Return the band of a rule at a corner, or on the whole car."""
        bare = corner is None or rule.each == "car"
        names = rule.figures if bare else tuple(f"{name}.{corner}" for name in rule.figures)
        return cls(rule, corner, names)

    @property
    def key(self) -> str:
        """``id:corner``, or the id alone where the pattern is of the whole car."""
        return self.rule.id if self.corner is None else f"{self.rule.id}:{self.corner}"

    @property
    def holds_stage(self) -> bool:
        """Whether figures beyond a single edge hold a stage."""
        return self.rule.stage is not None and self.rule.edge is not None

    def is_looked_at(self, averages: Mapping[Corner, float]) -> bool:
        """Say whether the pattern is looked for here, when the tires average so much."""
        if self.rule.each == "hottest":
            return self.corner == max(CORNERS, key=averages.__getitem__)
        if self.rule.each == "coldest":
            return self.corner == min(CORNERS, key=averages.__getitem__)
        return True

    def is_alike(self, gap: float) -> bool:
        """Say whether both front splits are as alike as the rule asks, which are so far apart."""
        return self.rule.alike is None or abs(gap) <= self.rule.alike

    def beyond(self, value: float) -> float:
        """Return how far a figure [degF] is beyond the edge; negative in band."""
        assert self.rule.edge is not None
        return self.rule.sign * (value - self.rule.edge)

    def setting(self, entry: Adjustment) -> tuple[str, str]:
        """Return what an adjustment turns here: knob and place."""
        return entry.knob, (self.corner or "") if entry.corner == "same" else entry.corner

    def slope(self, entry: Adjustment, turns: Turns = "left") -> float:
        """Return what one unit of an adjustment does to the mean of the figures."""
        effects = entry.effect_at(self.corner or "")
        slopes = [figure_effect(name, effects, turns).mean for name in self.figures]
        return sum(slopes) / len(slopes)


@attrs.frozen
class Rulebook:
    """A rules file, read and checked.

    `laps` are asked of every run; after `least_laps` a tire has come about two thirds of the way
    to where it ends, and a run of fewer judges nothing.

    Attributes
    ----------
    typical : cars of the class, as car files, for what a knob that moves load does on a car of
        which nothing is known.
    too_hot : a tire that reads so much anywhere is looked at before anything else [degF].
    fixed : settings that cannot be turned on the car at hand, and why; no part of the file.
    """

    id: str
    title: str
    turns: tuple[Turns, ...]
    laps: int
    window: tuple[float, float]
    source: str
    adjustment: Mapping[str, Adjustment]
    pattern: tuple[PatternRule, ...]
    typical: tuple[Car, ...] = ()
    noise: Noise = Noise()
    wear: WearRule = WearRule()
    least_laps: int = USUAL_LEAST_LAPS
    cold_pressure: ColdPressure = ColdPressure()
    too_hot: float = TOO_HOT
    format: int = FORMAT
    fingerprint: str = ""
    fixed: Mapping[tuple[str, str], CannotTurn] = attrs.field(factory=dict)

    def cold_ends(self, turns: Turns) -> dict[Corner, tuple[float, float]]:
        """Return the lowest and highest cold pressure of each tire that has them [psi]."""
        loaded, air = outside_corners(turns), self.cold_pressure
        ends = {corner: air.outside if corner in loaded else air.inside for corner in CORNERS}
        return {corner: pair for corner, pair in ends.items() if pair is not None}

    @cached_property
    def bands(self) -> tuple[Band, ...]:
        """Every rule at every place it may show, rule by rule."""
        return tuple(
            Band.of(rule, corner)
            for rule in self.pattern
            for corner in (CORNERS if rule.each != "car" else (None,))
        )

    @cached_property
    def stage_bands(self) -> tuple[Band, ...]:
        """The bands beyond whose single edge a stage is held."""
        return tuple(
            band for band in self.bands if band.holds_stage and not self.nothing_turns(band)
        )

    def nothing_turns(self, band: Band) -> bool:
        """Say whether all that answers a rule at its place cannot be turned on the car at hand."""
        return self.why_not(band) is not None

    def why_not(self, band: Band) -> CannotTurn | None:
        """Return why nothing that answers a rule at its place can be turned; None if it can."""
        settings = self.settings(band, next_cause=True) if self.fixed else ()
        found = [self.fixed.get(setting) for setting in settings]
        return found[0] if found and None not in found else None

    @cached_property
    def _edges(self) -> Mapping[str, tuple[float | None, float | None]]:
        found: dict[str, tuple[float | None, float | None]] = {}
        for rule in self.pattern:
            for kind in rule.figures if rule.stage is not None else ():
                low, high = found.get(kind, (None, None))
                found[kind] = (
                    low if rule.below is None else rule.below,
                    high if rule.above is None else rule.above,
                )
        return found

    def edges(self, figure: str) -> tuple[float | None, float | None]:
        """Return the band of a figure: (lowest, highest) that shows no pattern, None where open."""
        return self._edges.get(figure.partition(".")[0], (None, None))

    def half_width(self, band: Band) -> float:
        """Return half the width of the band of a fault's figures [degF].

        Of a band open on one side, how far its edge is from the aim.
        """
        low, high = self.edges(band.figures[0])
        if low is not None and high is not None:
            return (high - low) / 2
        return abs((band.rule.edge or 0.0) - band.rule.aim) or 1.0

    @cached_property
    def too_warm(self) -> frozenset[str]:
        """The patterns of a tire above its working range."""
        return frozenset(rule.id for rule in self.pattern if rule.window == "above")

    def rule(self, pattern_id: str) -> PatternRule:
        """Return the rule of a pattern."""
        return next(rule for rule in self.pattern if rule.id == pattern_id)

    def knows(self, pattern_id: str, stage: TuningStage | None) -> bool:
        """Say whether the rules (still) have a stored pattern; information always stands."""
        return stage is None or any(rule.id == pattern_id for rule in self.pattern)

    def band(self, key: str) -> Band | None:
        """Return the band of a pattern, ``id:corner`` or the id alone; None where there is none."""
        pattern, _, place = key.partition(":")
        rule = next((rule for rule in self.pattern if rule.id == pattern), None)
        corner = next((corner for corner in CORNERS if corner == place), None)
        return None if rule is None else Band.of(rule, corner)

    def settings(self, band: Band, *, next_cause: bool = False) -> tuple[tuple[str, str], ...]:
        """Return what the offers of a rule turn at the place of a band.

        Parameters
        ----------
        next_cause : those for the next cause too.
        """
        offers = (*band.rule.offers, *(band.rule.next_cause if next_cause else ()))
        return tuple(band.setting(self.adjustment[offer.use]) for offer in offers)

    def figures_of(self, stages: Iterable[TuningStage]) -> tuple[str, ...]:
        """Return the full names of all figures that can hold one of the stages."""
        wanted = set(stages)
        names = (
            name
            for band in self.bands
            if band.rule.stage in wanted and not self.nothing_turns(band)
            for name in band.figures
        )
        return tuple(dict.fromkeys(names))

    def goes_by_typical_cars(self, setting: tuple[str, str]) -> bool:
        """Say whether no rule of thumb tells what a setting does, and typical cars stand for it."""
        entries = self.adjustments_of(*setting)
        return bool(self.typical) and not any(entry.effect for entry in entries)

    def adjustments_of(self, knob: str, place: str) -> list[Adjustment]:
        """Return the adjustments that turn a knob at a place, most specific first."""
        exact = [a for a in self.adjustment.values() if (a.knob, a.corner) == (knob, place)]
        same = [
            a
            for a in self.adjustment.values()
            if (a.knob, a.corner) == (knob, "same") and place in CORNERS
        ]
        return exact + same


def is_out(degrees: float, edges: tuple[float | None, float | None]) -> bool:
    """Say whether a figure [degF] is outside the edges of a band; None leaves a side open."""
    low, high = edges
    degrees = round(degrees, 9)  # a mean of thirds may lie a hair past an edge it is on
    return (low is not None and degrees < low) or (high is not None and degrees > high)


def figure_effect(name: str, effects: Mapping[str, Estimate], turns: Turns = "left") -> Estimate:
    """Return the effect on one figure, from the effects on the base figures it is made of."""
    mean = variance = 0.0
    for term, weight in terms(name, turns).items():
        if term in effects:
            mean += weight * effects[term].mean
            variance += (weight * effects[term].sd) ** 2
    return Estimate(mean, variance**0.5)
