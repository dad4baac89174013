"""Cars drawn from what is known, taken through the rest of the day beside one another.

Each is a car that the posterior thinks possible. A crew takes it through the day by the planner's
rule, in short: change what holds the stage, let the tires' trims ride along, run, and stop when
little enough is expected to be out of band. Every figure and every answer is followed by itself.
"""

from collections.abc import Iterable
from functools import cached_property

import attrs
import numpy as np
import numpy.typing as npt

from planner.advice.choices import RUN_MINUTES, cost_of
from planner.advice.do_now import WORTH
from planner.advice.outlook import TIRE_KNOBS, Outlook
from planner.car.changes import Setting
from planner.judging.expected import Bands, Faults
from planner.judging.patterns import EVEN
from planner.rulebook.rules import TUNING_ORDER, Adjustment, Band, TuningStage
from planner.trade.figures import BASE_FIGURES, standard_error

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]

MOST_RUNS = 30
MOST_TRIES = 4  # at one fault that does not answer, before a crew leaves it as it is; from memory


@attrs.define
class _Cars:
    """Where the drawn cars stand, and what is believed of each; the first axis is that of the cars.

    Each base figure is followed by a Kalman filter of its own: a change widens the belief by what
    is not known of the answer, and the reading after it draws both towards the truth. (That the
    two then lean on each other is left out; `response` does it in full.)

    Attributes
    ----------
    truth, belief, variance : base figures (cars, 12) [degF].
    answers, believed, doubt : what a unit of each knob does, truly, as believed, and the variance
        of that, (cars, knobs, 12).
    moved : since the last reading, (cars, knobs).
    """

    truth: Array
    belief: Array
    variance: Array
    answers: Array
    believed: Array
    doubt: Array
    moved: Array

    def only(self, kept: Mask) -> "_Cars":
        """Return some of the cars."""
        return _Cars(*(each[kept] for each in attrs.astuple(self, recurse=False)))

    def turn(self, amounts: Array) -> None:
        """Turn knobs by (cars, knobs)."""
        by = amounts[:, :, None]
        self.truth += (by * self.answers).sum(axis=1)
        self.belief += (by * self.believed).sum(axis=1)
        self.variance += (by**2 * self.doubt).sum(axis=1)
        self.moved += amounts

    def read(self, noise: Array, chance: np.random.Generator) -> None:
        """Run, and read the tires; noise as variances (12,)."""
        off = self.truth + chance.normal(0.0, np.sqrt(noise), self.truth.shape) - self.belief
        total = self.variance + noise
        taught = self.moved[:, :, None] * self.doubt
        self.believed += taught * (off / total)[:, None]
        self.doubt -= taught**2 / total[:, None]
        self.belief += self.variance / total * off
        self.variance *= noise / total
        self.moved[:] = 0.0


@attrs.frozen(eq=False)
class DrawnCars:
    """The cars, the bands they are held against, and the knobs that are turned for them.

    Attributes
    ----------
    outlook : what is known.
    bands : that count.
    draws : how many cars.
    """

    outlook: Outlook
    bands: Bands
    draws: int

    @classmethod
    def of(cls, outlook: Outlook, without: TuningStage | None, draws: int) -> "DrawnCars":
        """Return cars for a day that leaves one stage out, or none."""
        left = {b.key for b in outlook.bands.bands if b.rule.stage == without}
        known = outlook.known
        bands = Bands.of(outlook.book, known.turns, {*outlook.left_open, *left})
        return cls(outlook, bands, draws)

    def driven(
        self,
        enough: float,
        unseen: Iterable[tuple[Setting, float]],
        *,
        choosing: bool,
        one_change: bool,
    ) -> tuple[Indices, Array, Array]:
        """Return how the day goes with them: runs, minutes, how far the worst ends out [degF].

        Parameters
        ----------
        enough : faults expected with which a day may end.
        unseen : what was moved since the last reading, or is to be moved, as (setting, amount).
        choosing : whether a choice is due now, on readings already taken.
        one_change : no trims ride along.
        """
        chance = np.random.default_rng(20)  # fixed: a screen drawn twice shows the same
        cars, noise = self._drawn(chance), self._noise
        moved = np.zeros(cars.moved.shape)
        for setting, amount in unseen:
            if setting in self.knobs:
                moved[:, self.knobs.index(setting)] += amount
        cars.turn(moved)
        runs, minutes = np.zeros(self.draws, int), np.zeros(self.draws)
        out = np.zeros(self.draws)
        going, tries = np.arange(self.draws), np.zeros((self.draws, len(self.bands.bands)))
        read = not choosing  # readings are due before anything can be judged
        while going.size:
            if read:
                runs[going] += 1
                minutes[going] += RUN_MINUTES
                cars.read(noise, chance)
            read = True
            chances = self._faults(cars.belief, cars.variance).chance
            left = np.where(tries < MOST_TRIES, chances, 0.0)
            on = (left.sum(axis=1) > enough) & (runs[going] < MOST_RUNS)
            out[going[~on]] = self._out(cars.truth[~on])
            cars, going, tries, left = cars.only(on), going[on], tries[on], left[on]
            amounts, worst = self._changes(cars, left, one_change=one_change)
            at = np.arange(going.size), worst
            tries[at] += left[at] > EVEN
            minutes[going] += (amounts != 0) @ self._minutes
            cars.turn(amounts)
        return runs, minutes, out

    @cached_property
    def knobs(self) -> tuple[Setting, ...]:
        """All that may be turned."""
        turned = (setting for band in self.outlook.bands.bands for setting in self._turning(band))
        return tuple(dict.fromkeys(turned))

    def _turning(self, band: Band) -> tuple[Setting, ...]:
        return tuple(self.outlook.book.settings(band))

    @cached_property
    def _minutes(self) -> Array:
        """Working time of each knob [min]."""
        return np.array([entry.minutes for entry in self._entries])

    @cached_property
    def _entries(self) -> tuple[Adjustment, ...]:
        return tuple(self.outlook.book.adjustments_of(*setting)[0] for setting in self.knobs)

    @cached_property
    def _noise(self) -> Array:
        """Variance of each base figure as read; what all averages share cancels in every band."""
        noise = attrs.evolve(self.outlook.known.priors.noise, run=0.0)
        return np.array([standard_error(name, noise) ** 2 for name in BASE_FIGURES])

    def _drawn(self, chance: np.random.Generator) -> _Cars:
        """Draw cars; the base figures free of what all averages share, which cancels."""
        known, count = self.outlook.known, self.draws
        mean, covariance = known.joint(BASE_FIGURES)
        averages = [name.startswith("average.") for name in BASE_FIGURES]
        among = covariance[np.ix_(averages, averages)]
        shared = among[~np.eye(len(among), dtype=bool)].min()
        variance = np.maximum(np.diag(covariance) - shared * np.array(averages), 1e-9)
        each = [known.figures_along(setting) for setting in self.knobs]
        believed = np.array([design @ known.mean + offset for design, offset, _ in each])
        doubt = np.array([np.diag(d @ known.covariance @ d.T) + own for d, _, own in each])
        return _Cars(
            truth=chance.normal(mean, np.sqrt(variance), (count, len(mean))),
            belief=np.tile(mean, (count, 1)),
            variance=np.tile(variance, (count, 1)),
            answers=chance.normal(believed, np.sqrt(doubt), (count, *believed.shape)),
            believed=np.tile(believed, (count, 1, 1)),
            doubt=np.tile(doubt, (count, 1, 1)),
            moved=np.zeros((count, len(self.knobs))),
        )

    def _faults(self, belief: Array, variance: Array) -> Faults:
        """Return what is expected of the bands, from base figures (cars, 12)."""
        weights, (first, second) = self.bands.weights, self.bands.pairs.T
        both = weights[first] * weights[second]
        return self.bands.faults_of(
            belief @ weights.T, variance @ (weights**2).T, variance @ both.T
        )

    def _out(self, truth: Array) -> Array:
        """Return how far the figures worst out of band are out [degF]; negative in band."""
        figures = truth @ self.bands.weights.T
        beyond = [
            np.min(
                [band.rule.sign * (figures[:, n] - (band.rule.edge or 0.0)) for n in pair], axis=0
            )
            for band, pair in zip(self.bands.bands, self.bands.pairs, strict=True)
            if band.rule.alike is None
        ]
        return np.max(beyond, axis=0, initial=-np.inf) if beyond else np.full(len(truth), -np.inf)

    def _changes(self, cars: _Cars, left: Array, *, one_change: bool) -> tuple[Array, Indices]:
        """Return what is turned on each car, (cars, knobs), and the band it is turned for.

        Parameters
        ----------
        left : chance of every fault that is not left as it is, (cars, bands).
        """
        stages = np.array([TUNING_ORDER.index(b.rule.stage or "camber") for b in self.bands.bands])
        by_stage = np.stack([left[:, stages == n].sum(axis=1) for n in range(len(TUNING_ORDER))])
        likely = np.where(left > EVEN, stages, len(TUNING_ORDER)).min(axis=1, initial=9)
        stage = np.where(likely < len(TUNING_ORDER), likely, by_stage.argmax(axis=0))
        worst = np.where(stages == stage[:, None], left, -1.0).argmax(axis=1)
        amounts = np.zeros(cars.moved.shape)
        stops = left[np.arange(len(left)), worst] >= WORTH
        for number, band in enumerate(self.bands.bands):
            here = stops & (worst == number)
            settings = self._turning(band)
            if settings[0][0] in TIRE_KNOBS:
                knob = self.knobs.index(settings[0])
                cost = cost_of((self._minutes[knob],))
                rides = stops & (left[:, number] > cost) & (settings[0][0] != "toe")
                turned = here if one_change else here | rides
                if turned.any():
                    sized = self._sized(cars.only(turned), band, knob, at_least=here[turned])
                    amounts[turned, knob] = sized
            elif here.any():
                self._load_knob(cars, here, band, amounts)
        return amounts, worst

    def _load_knob(self, cars: _Cars, here: Mask, band: Band, amounts: Array) -> None:
        """Turn the knob that is believed to leave least out of band, on some of the cars."""
        knobs = [self.knobs.index(setting) for setting in self._turning(band)]
        some = cars.only(here)
        sized = np.array([self._sized(some, band, k, at_least=here[here]) for k in knobs])
        by = sized[:, :, None]
        belief = some.belief + by * some.believed[:, knobs].swapaxes(0, 1)
        variance = some.variance + by**2 * some.doubt[:, knobs].swapaxes(0, 1)
        work = [cost_of((self._minutes[knob],)) for knob in knobs]
        best = np.argmin(self._faults(belief, variance).loss + np.array(work)[:, None], axis=0)
        amounts[np.flatnonzero(here), np.array(knobs)[best]] = sized[best, np.arange(len(best))]

    def _sized(self, cars: _Cars, band: Band, knob: int, at_least: Mask) -> Array:
        """Return the whole steps of a knob that are expected to end nearest the aim.

        Parameters
        ----------
        at_least : where a step is made however little is asked.

        Notes
        -----
        With an answer N(m, s²) the amount that makes E[(off + a b)²] least is -off m / (m² + s²).
        """
        names = [self.bands.names.index(name) for name in band.figures]
        weights = self.bands.weights[names].mean(axis=0)
        slope = cars.believed[:, knob] @ weights
        doubt = cars.doubt[:, knob] @ weights**2
        asked = (band.rule.aim - cars.belief @ weights) * slope / (slope**2 + doubt + 1e-12)
        entry = self._entries[knob]
        most = np.floor(entry.most / entry.step + 1e-9)
        steps = np.clip(np.round(asked / entry.step), -most, most)
        steps = np.where((steps == 0) & at_least, np.sign(asked), steps)
        return np.asarray(steps * entry.step)
