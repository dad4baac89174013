"""The day ahead: how many runs it may still take, tried out on cars drawn from what is known.

Each draw is a car the posterior thinks possible. A crew takes it through the day by the planner's
rule, in short: change what holds the stage, let the tires' trims ride along, run, and stop when
little enough is expected to be out of band. Figures are followed one by one, knobs are sized one by
one.
"""

import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from math import sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

import attrs

from planner.advice.choices import RUN_MINUTES, cost_of
from planner.advice.do_now import WORTH
from planner.advice.outlook import TIRE_KNOBS, Outlook
from planner.car.changes import Setting, stepped
from planner.judging.patterns import EVEN
from planner.rulebook.rules import TUNING_ORDER, Band, Rulebook, TuningStage
from planner.trade.corners import Turns
from planner.trade.figures import BASE_FIGURES, standard_error, terms
from planner.trade.numbers import enough

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.response import Posterior

DRAWS = 80
MOST_RUNS = 30
MOST_TRIES = 4  # at one fault that does not answer, before a crew leaves it as it is; from memory
NEARLY = 1.0  # degF out of band that still counts as in

_STANDARD = NormalDist()

Weights = tuple[tuple[str, float], ...]  # a figure on the base figures


@attrs.frozen
class Forecast:
    """How the rest of the day may go.

    Attributes
    ----------
    runs : mean number of runs still to come; low, high hold 80 % of the draws.
    minutes : mean working and running time [min].
    in_band : share of draws that end truly in band, or within a degree of it.
    """

    runs: float
    low: int
    high: int
    minutes: float
    in_band: float


@attrs.frozen(eq=False)
class _Band:
    """One edge that can hold a stage, spelled out on the base figures."""

    stage: int
    sign: float
    edge: float
    figures: tuple[Weights, ...]
    target: float
    moved_by: tuple[Setting, ...]
    trim_cost: float | None

    def is_trim(self, chance: float) -> bool:
        """Whether a trim rides along for it, when its fault has this chance."""
        return self.trim_cost is not None and chance > self.trim_cost


@attrs.define
class _Car:
    """A car that may be: its true base figures and answers, and what a crew believes of them.

    Each base figure is followed by a Kalman filter of its own: a change widens the belief by what
    is not known of the answer, and the reading after it draws both towards the truth. (That the
    two then lean on each other is left out; `response` does it in full.)
    """

    truth: dict[str, float]
    belief: dict[str, float]
    variance: dict[str, float]
    answers: dict[tuple[Setting, str], float] = attrs.field(factory=dict)
    believed: dict[tuple[Setting, str], tuple[float, float]] = attrs.field(factory=dict)
    moved: list[tuple[Setting, str, float]] = attrs.field(factory=list)

    def answer(self, setting: Setting, name: str, known: "Posterior") -> tuple[float, float]:
        """Return mean and variance of what is believed of one answer."""
        if (setting, name) not in self.believed:
            at = known.sensitivity(setting, name)
            self.believed[setting, name] = at.mean, at.sd**2
        return self.believed[setting, name]

    def turn(
        self, setting: Setting, amount: float, known: "Posterior", chance: random.Random
    ) -> None:
        """Turn a knob."""
        for name in known.priors.effects[setting]:
            mean, variance = self.answer(setting, name, known)
            if (setting, name) not in self.answers:
                self.answers[setting, name] = chance.gauss(mean, sqrt(variance))
            self.truth[name] += amount * self.answers[setting, name]
            self.belief[name] += amount * mean
            self.variance[name] += amount**2 * variance
            self.moved.append((setting, name, amount))

    def read(self, noise: Mapping[str, float], chance: random.Random) -> None:
        """Run, and read the tires."""
        off = {
            name: self.truth[name] + chance.gauss(0.0, sqrt(variance)) - self.belief[name]
            for name, variance in noise.items()
        }
        for setting, name, amount in self.moved:
            mean, variance = self.believed[setting, name]
            total = self.variance[name] + noise[name]
            self.believed[setting, name] = (
                mean + amount * variance / total * off[name],
                variance - (amount * variance) ** 2 / total,
            )
        self.moved.clear()
        for name, variance in noise.items():
            gain = self.variance[name] / (self.variance[name] + variance)
            self.belief[name] += gain * off[name]
            self.variance[name] *= 1 - gain

    def chance(self, band: "_Band") -> float:
        """Return the chance that the fault of a band is there."""
        return min(
            _STANDARD.cdf(
                (band.sign * (_value(figure, self.belief) - band.edge) - NEARLY)
                / sqrt(max(1e-9, sum(w * w * self.variance[t] for t, w in figure)))
            )
            for figure in band.figures
        )


@attrs.frozen(eq=False)
class DayAhead:
    """The car and the day as they stand, ready to be tried out.

    Attributes
    ----------
    outlook : what is known of the car.
    turns : which way the track turns.
    certainty : how sure to be that nothing is out of band in the end.
    choosing : whether a choice is due now, on readings already taken.
    unseen : what was moved since the last reading, or is to be moved, as (setting, amount).
    minutes : of work that is chosen and not yet done [min].
    working : the stage whose change is chosen or made, and not yet judged.
    one_change : no trims ride along.
    """

    outlook: Outlook
    turns: Turns
    certainty: float
    choosing: bool
    unseen: tuple[tuple[Setting, float], ...] = ()
    minutes: float = 0.0
    working: TuningStage | None = None
    one_change: bool = False

    def forecast(
        self, *, certainty: float | None = None, without: TuningStage | None = None
    ) -> Forecast:
        """Try the rest of the day out; the same question always gets the same answer.

        Parameters
        ----------
        certainty : instead of the plan's own.
        without : a stage to leave out.
        """
        sure = self.certainty if certainty is None else certainty
        skipped = -1 if without is None else TUNING_ORDER.index(without)
        noise = attrs.evolve(self.outlook.known.priors.noise, run=0.0)
        every = _bands(self.outlook, self.turns)
        bands = [band for band in every if band.stage != skipped]
        reading = {name: standard_error(name, noise) ** 2 for name in BASE_FIGURES}
        believed, variance = self._believed()
        chance = random.Random(20)  # fixed, so that a screen drawn twice shows the same
        ends = []
        for _ in range(DRAWS):
            car = _Car(
                truth={f: chance.gauss(believed[f], sqrt(variance[f])) for f in BASE_FIGURES},
                belief=dict(believed),
                variance=dict(variance),
            )
            ends.append(self._one_day(car, bands, sure, reading, chance))
        runs = sorted(end[0] for end in ends)
        return Forecast(
            runs=sum(runs) / DRAWS,
            low=runs[DRAWS // 10],
            high=runs[-1 - DRAWS // 10],
            minutes=sum(end[1] for end in ends) / DRAWS,
            in_band=sum(end[2] <= NEARLY for end in ends) / DRAWS,
        )

    def _believed(self) -> tuple[dict[str, float], dict[str, float]]:
        """Return mean and variance of the base figures, free of what all averages share.

        Every band looks at differences between tires, where it cancels.
        """
        mean, covariance = self.outlook.known.joint(BASE_FIGURES)
        averages = [i for i, name in enumerate(BASE_FIGURES) if name.startswith("average.")]
        pairs = [(i, j) for i in averages for j in averages if i < j]
        shared = min(float(covariance[i, j]) for i, j in pairs)
        variance = {
            name: max(1e-9, float(covariance[i, i]) - (shared if i in averages else 0.0))
            for i, name in enumerate(BASE_FIGURES)
        }
        return {name: float(mean[i]) for i, name in enumerate(BASE_FIGURES)}, variance

    def _one_day(
        self,
        car: _Car,
        bands: Sequence[_Band],
        certainty: float,
        reading: Mapping[str, float],
        chance: random.Random,
    ) -> tuple[int, float, float]:
        """Return runs, minutes, and how far out of band the car truly ends."""
        runs, minutes = 0, self.minutes
        for setting, amount in self.unseen:
            if setting in self.outlook.known.priors.effects:
                car.turn(setting, amount, self.outlook.known, chance)
        read = not self.choosing  # readings are due before anything can be judged
        tries: Counter[_Band] = Counter()
        while runs < MOST_RUNS:
            if read:
                runs, minutes = runs + 1, minutes + RUN_MINUTES
                car.read(reading, chance)
            read = True
            left = {band: car.chance(band) for band in bands if tries[band] < MOST_TRIES}
            if sum(left.values()) <= enough(certainty):
                break
            turned = _turned_for(left)
            for band in turned[:1] if self.one_change else turned:
                tries[band] += left[band] > EVEN
                minutes += self._change(band, car, bands, chance)
        out = max((_beyond(band, car.truth) for band in bands), default=0.0)
        return runs, minutes, out

    def _change(
        self, band: _Band, car: _Car, bands: Sequence[_Band], chance: random.Random
    ) -> float:
        """Turn the knob that is believed to leave least out of band; return the minutes."""
        known = self.outlook.known
        believed = sum(_value(f, car.belief) for f in band.figures) / len(band.figures)
        best: tuple[float, Setting, float, float] | None = None
        for setting in band.moved_by:
            (entry, *_) = self.outlook.book.adjustments_of(*setting)
            slopes = {t: car.answer(setting, t, known)[0] for t in known.priors.effects[setting]}
            slope = sum(_value(f, slopes) for f in band.figures) / len(band.figures)
            if not slope:
                continue
            amount = stepped((band.target - believed) / slope, entry.step, entry.most)
            left = abs(band.target - believed - amount * slope) / 100  # of equals, nearest the aim
            if len(band.moved_by) > 1:
                after = car.belief | {t: car.belief[t] + amount * s for t, s in slopes.items()}
                left += sum(max(0.0, _beyond(each, after)) for each in bands)
            if best is None or left < best[0] - 1e-9:
                best = left, setting, amount, entry.minutes
        if best is None:
            return 0.0
        _, setting, amount, minutes = best
        car.turn(setting, amount, known, chance)
        return minutes


def _bands(outlook: Outlook, turns: Turns) -> Iterator[_Band]:
    book = outlook.book
    for band in outlook.bands.bands:
        rule = band.rule
        if rule.stage is None or rule.edge is None or rule.alike is not None:
            continue
        yield _Band(
            stage=TUNING_ORDER.index(rule.stage),
            sign=rule.sign,
            edge=rule.edge,
            figures=tuple(tuple(terms(name, turns).items()) for name in band.figures),
            target=rule.aim,
            moved_by=book.settings(band),
            trim_cost=_trim_cost(band, book),
        )


def _trim_cost(band: Band, book: Rulebook) -> float | None:
    """Return what turning the tire's own knob for a band costs; None where load is moved for it."""
    ((knob, place), *_) = book.settings(band)
    if knob not in TIRE_KNOBS:
        return None
    return cost_of((book.adjustments_of(knob, place)[0].minutes,))


def _turned_for(left: Mapping[_Band, float]) -> list[_Band]:
    """Return the bands that something is turned for: of the stage in turn, and by tires' trims."""
    likely = [band.stage for band, chance in left.items() if chance > EVEN]
    by_stage = dict.fromkeys((band.stage for band in left), 0.0)
    for band, chance in left.items():
        by_stage[band.stage] += chance
    stage = min(likely) if likely else max(by_stage, key=lambda each: by_stage[each])
    worst = max((band for band in left if band.stage == stage), key=lambda band: left[band])
    if left[worst] < WORTH:
        return []
    return [worst, *(b for b, chance in left.items() if b is not worst and b.is_trim(chance))]


def _value(figure: Weights, values: Mapping[str, float]) -> float:
    total = 0.0
    for term, weight in figure:  # most of the time of a forecast goes by here
        total += weight * values.get(term, 0.0)
    return total


def _beyond(band: _Band, base: Mapping[str, float]) -> float:
    """Return how far the figure least beyond the edge is beyond it (negative: in band)."""
    return min(band.sign * (_value(figure, base) - band.edge) for figure in band.figures)


def leave_out(ahead: DayAhead, runs_left: float) -> TuningStage | None:
    """Return the stage to leave out where the day will not fit; None where it fits, or none helps.

    Of those whose omission brings the expected number of runs within those left, it is the one
    that leaves least out of band; where none does, the one that saves most. Never
    one that is being worked on: its change is made or chosen already.
    """
    whole = ahead.forecast()
    if whole.runs <= runs_left:
        return None
    free = [stage for stage in reversed(TUNING_ORDER) if stage != ahead.working]
    runs = {stage: ahead.forecast(without=stage).runs for stage in free}
    fitting = [stage for stage in free if runs[stage] <= runs_left]
    if fitting:
        there = dict(ahead.unseen)
        return min(fitting, key=lambda stage: ahead.outlook.loss_of(stage, there))
    best = min(free, key=lambda stage: runs[stage])
    return best if whole.runs - runs[best] > 0.1 else None
