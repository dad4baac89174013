"""Tires cool while they are read: correct the readings to one moment, or widen their error."""

import math

import attrs
import numpy as np
import numpy.typing as npt

from planner.run.readings import Again, NotPutBack, ReadLate, Run, Settled
from planner.trade.corners import CORNERS, Corner, Three, average_read, was_read
from planner.trade.estimate import Estimate
from planner.trade.figures import Noise

Array = npt.NDArray[np.float64]

SECONDS_PER_TIRE = 12.0  # s from one tire to the next, three readings each; from memory
AIR_TEMPERATURE = 75.0  # degF, where the crew did not measure it; from memory

# Time constant of a tire's tread standing in the pits [s]: the middle of the prior, and its
# spread in logarithms (0.7: a factor of two either way). From memory, wide.
TIME_CONSTANT = 600.0
LOG_SPREAD = 0.7

# Time constant in which the three strips of a tread even out with what lies beneath [s]; the same
# spread of its logarithm. The slowest mode of a slab with one face held takes 4 h²/(π² a) [1]:
# 90 to 240 s for 5 to 8 mm of rubber of a = 1.1e-7 m²/s (sizes from memory); longer here,
# because the belts beneath share a part of the pattern.
EVENING_OUT = 300.0

# How much the rate differs between the tires of a car and from run to run, as a share of it;
# what is left uncertain when nothing was measured. From memory.
RATE_DIFFERS = 0.2

PATIENCE = 60.0  # s from stop to first reading that the noise of the rules allows for; from memory

LEAST_ABOVE_AIR = 20.0  # degF; a tire nearer to the air says nothing about its rate; from memory
FASTEST = 1 / 60  # 1/s; nothing that rolls cools faster; from memory
IMPOSSIBLE = 2.0  # standard errors that the second reading may be hotter than the first

# Two differences of three strips that do not correlate, each with the variance of one reading.
_DIFFERENCES: Array = np.array([[1.0, 0.0, -1.0], [-1.0, 2.0, -1.0]]) / np.sqrt([[2.0], [6.0]])


def cooled(temperature: float, air: float, seconds: float, rate: float) -> float:
    """Return the temperature [degF] of a tire that has stood for a while.

    Parameters
    ----------
    temperature : at the start [degF].
    air : of the air [degF].
    seconds : time stood [s].
    rate : cooling rate [1/s].

    Notes
    -----
    Newton's law of cooling: T(t) = T_air + (T0 - T_air) exp(-t/tau), with rate = 1/tau.
    """
    return air + (temperature - air) * math.exp(-rate * seconds)


def settle(run: Run, noise: Noise, *, seconds_per_tire: float = SECONDS_PER_TIRE) -> Settled:
    """Correct the readings of a run to the moment of the first one.

    Parameters
    ----------
    run : a run; `order`, `again`, `delay` and `air_temp` are looked at.
    noise : reading noise.
    seconds_per_tire : from one tire to the next [s].

    Notes
    -----
    Readings are corrected to the first reading, not to the stop: the delay before it is the same
    for all four tires and seldom well known, and correcting over it magnifies the noise.

    With `order` and `again`, tire j (from 0) was read at t = j · `seconds_per_tire` and the first
    again at t_loop = 4 · `seconds_per_tire`. Its two averages A1 and A2 show the cooling rate,
    -log((A2 - T_air)/(A1 - T_air))/t_loop, with the standard error that reading noise of variance
    s²/3 gives each of them. The strips' differences from the average decay at a rate of
    their own, as the tread evens out with the carcass; the first tire's differences, read twice,
    show that rate. A normal likelihood of the second values times a log-normal prior about
    1/`TIME_CONSTANT`, or 1/`EVENING_OUT`, gives the posterior of each rate, on a grid.

    Then a reading T of a tire of average A becomes T_air + (A - T_air) G + (T - A) E, G and E
    being the means of exp(rate t) by the two posteriors. Variances: s² (E² - 1) more in each
    reading, which the factor magnifies, and half the summed square of the differences times
    Var(exp(rate t)), which spreads the doubt about them evenly over split and crown; and
    (A - T_air)² (Var(exp(rate t)) + (d G rate (t + t_over))²) common to the tire, d being
    `RATE_DIFFERS` and t_over the part of the delay beyond `PATIENCE`, before which tires cooled
    unseen. Tires read late share the error of the rates. Here it counts for each tire separately,
    so differences between tires come out a little too uncertain.

    Without `again` nothing is corrected. The level variance is then (d r (A - T_air)(t + t_over))²
    with r = 1/`TIME_CONSTANT`, t being 0 where the order is not known, and each reading has half
    the summed square of the differences times E[(exp(rate t) - 1)²] by the prior more. What all
    tires lose alike from run to run is already in the noise and cancels in differences.

    The model, like the constants, is common practice, no source.

    References
    ----------
    [1] H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., 1959, section 3.4
        (the formula from memory).
    """
    late: tuple[ReadLate, ...] = ()
    if _over(run):
        late = (ReadLate(run.order[0] if run.order else None, run.delay or 0.0),)
    if run.again is None:
        return attrs.evolve(_uncorrected(run, seconds_per_tire), remarks=late)
    unusable = _unusable(run, run.again, noise, seconds_per_tire)
    if unusable is not None:
        return attrs.evolve(_uncorrected(run, seconds_per_tire), remarks=(*late, unusable))
    return attrs.evolve(_closed(run, run.again, noise, seconds_per_tire), remarks=late)


def _air(run: Run) -> float:
    return AIR_TEMPERATURE if run.air_temp is None else run.air_temp


def _average(tire: Three) -> float:
    return average_read(tire)


def _read_at(run: Run, seconds_per_tire: float) -> dict[Corner, float]:
    """Return when each tire was read [s after the first]; tires not in the order come last."""
    rest = tuple(corner for corner in CORNERS if corner not in run.order)
    times = {corner: number * seconds_per_tire for number, corner in enumerate(run.order)}
    # Of the tires that the order does not name only their mean place is known.
    late = (len(run.order) + (len(rest) - 1) / 2) * seconds_per_tire
    return times | dict.fromkeys(rest, late)


def _over(run: Run) -> float:
    """Return the delay before the first reading beyond what the noise allows for [s]."""
    return max(0.0, (run.delay or 0.0) - PATIENCE)


def _uncorrected(run: Run, seconds_per_tire: float) -> Settled:
    """Leave the readings as they are and widen their error."""
    since_first = _read_at(run, seconds_per_tire) if run.order else dict.fromkeys(CORNERS, 0.0)
    extra, level = {}, {}
    for corner in CORNERS:
        seconds = since_first[corner]
        above = max(0.0, _average(run.tires[corner]) - _air(run))
        spread = RATE_DIFFERS / TIME_CONSTANT * above * (seconds + _over(run))
        if spread > 0:
            level[corner] = spread**2
        if seconds > 0:
            missed = EVENING_PRIOR.mean_of((np.exp(EVENING_PRIOR.rates * seconds) - 1) ** 2)
            extra[corner] = missed * unlike(run.tires[corner])
    return Settled(dict(run.tires), extra, level)


def _closed(run: Run, again: Again, noise: Noise, seconds_per_tire: float) -> Settled:
    """Correct by the first tire, read again at the end."""
    air = _air(run)
    first, second = run.tires[again.corner], again.tire
    read_at = _read_at(run, seconds_per_tire)
    loop = len(CORNERS) * seconds_per_tire
    falling = _posterior(
        COOLING_PRIOR,
        np.array([_average(first) - air]),
        np.array([_average(second) - air]),
        noise.reading / math.sqrt(3),
        loop,
    )
    evening = _posterior(
        EVENING_PRIOR, _DIFFERENCES @ first, _DIFFERENCES @ second, noise.reading, loop
    )
    mean = falling.mean_of(falling.rates)
    rate = Estimate(mean, math.sqrt(falling.mean_of((falling.rates - mean) ** 2)))

    tires: dict[Corner, Three] = {}
    extra: dict[Corner, float] = {}
    level: dict[Corner, float] = {}
    for place in CORNERS:
        seconds = read_at[place]
        factor, unsure = falling.growth(seconds)
        wider, doubted = evening.growth(seconds)
        average = _average(run.tires[place])
        above = max(0.0, average - air)
        then = average + above * (factor - 1)
        tires[place] = run.tires[place]
        if seconds > 0:
            inner, middle, outer = (then + (t - average) * wider for t in run.tires[place])
            tires[place] = (inner, middle, outer)
            magnified = noise.reading**2 * (wider**2 - 1)
            extra[place] = magnified + doubted * unlike(run.tires[place])
        if seconds + _over(run) > 0:
            differs = RATE_DIFFERS * mean * (seconds + _over(run)) * factor
            level[place] = above**2 * (unsure + differs**2)
    return Settled(tires, extra, level, rate=rate)


def unlike(tire: Three) -> float:
    """Return half the sum of squares of the strips' differences from their average [degF²]."""
    average = _average(tire)
    return sum((t - average) ** 2 for t in tire if was_read(t)) / 2


def _unusable(run: Run, again: Again, noise: Noise, seconds_per_tire: float) -> NotPutBack | None:
    """Return why the second reading of the first tire cannot be used; None where it can."""
    corner, air = again.corner, _air(run)
    first, second = _average(run.tires[corner]), _average(again.tire)
    beyond_noise = IMPOSSIBLE * noise.reading * math.sqrt(2 / 3)
    loop = len(CORNERS) * seconds_per_tire
    if not run.order:
        return NotPutBack(corner, "order-not-known", second - first, loop)
    if not all(map(was_read, run.tires[corner])):
        return NotPutBack(corner, "not-read", 0.0, loop)
    if first - air < LEAST_ABOVE_AIR:
        return NotPutBack(corner, "near-air", second - first, loop)
    if second - first > beyond_noise:
        return NotPutBack(corner, "heats-up", second - first, loop)
    if second < cooled(first, air, loop, FASTEST) - beyond_noise:
        return NotPutBack(corner, "too-fast", second - first, loop)
    return None


@attrs.frozen(eq=False)
class _Rates:
    """What is known of a rate: a grid of rates [1/s] and the probability of each."""

    rates: Array
    weights: Array

    def mean_of(self, values: Array) -> float:
        """Return the mean of something worked out at every rate."""
        return float(self.weights @ values)

    def growth(self, seconds: float) -> tuple[float, float]:
        """Return mean and variance of exp(rate t)."""
        factors = np.exp(self.rates * seconds)
        mean = self.mean_of(factors)
        return mean, self.mean_of((factors - mean) ** 2)


def _prior(time_constant: float) -> _Rates:
    logs = np.linspace(-4.5, 4.5, 3601)
    weights = np.exp(-0.5 * logs**2)
    return _Rates(np.exp(logs * LOG_SPREAD) / time_constant, weights / weights.sum())


COOLING_PRIOR = _prior(TIME_CONSTANT)
EVENING_PRIOR = _prior(EVENING_OUT)


def _posterior(prior: _Rates, first: Array, second: Array, error: float, loop: float) -> _Rates:
    """Return what is known of a rate once something that decays was read twice.

    Parameters
    ----------
    first, second : one or more values that decay to 0 at the rate [degF], `loop` seconds apart.
    error : standard error of each [degF].
    """
    kept = np.exp(-prior.rates * loop)
    # The true first value is not known either: flat, it leaves second - first·kept with this sd.
    variance = error**2 * (1 + kept**2)
    misfit = ((second - np.outer(kept, first)) ** 2).sum(axis=1)
    score = -0.5 * misfit / variance - 0.5 * len(first) * np.log(variance)
    weights = prior.weights * np.exp(score - score.max())
    return _Rates(prior.rates, weights / weights.sum())
