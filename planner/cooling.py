"""Tires cool while they are read: put the readings back to one moment, or widen their error."""

import math

import numpy as np
import numpy.typing as npt

from planner import units
from planner.corners import CORNERS, Corner
from planner.figures import Noise
from planner.readings import Again, Rate, Run, Settled, Three

Array = npt.NDArray[np.float64]

SECONDS_PER_TIRE = 12.0  # s from one tire to the next, three readings each; from memory
AIR_TEMPERATURE = 75.0  # degF, where the crew did not measure it; from memory

# Time constant of a tire's tread standing in the pits [s]: the middle of the prior, and its
# spread in logarithms (0.7: a factor of two either way). From memory, wide.
TIME_CONSTANT = 600.0
LOG_SPREAD = 0.7

# How much the rate differs between the tires of a car and from run to run, as a share of it;
# what is left uncertain when nothing was measured. From memory.
RATE_DIFFERS = 0.2

PATIENCE = 60.0  # s from stop to first reading that the noise of the rules allows for; from memory

LEAST_ABOVE_AIR = 20.0  # degF; a tire nearer to the air says nothing about its rate; from memory
FASTEST = 1 / 60  # 1/s; nothing that rolls cools faster; from memory
IMPOSSIBLE = 2.0  # standard errors that the second reading may be hotter than the first


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


def settle(
    run: Run,
    noise: Noise,
    *,
    seconds_per_tire: float = SECONDS_PER_TIRE,
    system: units.System = "us",
) -> Settled:
    """Put the readings of a run back to the moment of the first one.

    Parameters
    ----------
    run : a run; `order`, `again`, `delay` and `air_temp` are looked at.
    noise : reading noise.
    seconds_per_tire : from one tire to the next [s].
    system : units the remarks are written in.

    Notes
    -----
    All is put back to the first reading and not to the stop: the delay before it is common to
    the four tires, is seldom well known, and putting back over it magnifies the noise.

    With `order` and `again`, tire j (from 0) was read at t = j · `seconds_per_tire` and the first
    again at t_loop = 4 · `seconds_per_tire`. Its two averages A1 and A2 show
    rate = -log((A2 - T_air)/(A1 - T_air))/t_loop, with the standard error that reading noise of
    variance s²/3 gives each of them. Normal likelihood in A2 times the log-normal prior about
    1/`TIME_CONSTANT` gives the posterior of the rate, on a grid. Then every reading above the air
    becomes T_air + (T - T_air) G, G being the mean of exp(rate t). Variances: s² (G² - 1) more in
    each reading, which the factor magnifies; and (A - T_air)² (Var(exp(rate t)) + (d G rate
    (t + t_over))²) common to the tire, d being `RATE_DIFFERS` and t_over the part of the delay
    beyond `PATIENCE`, before which tires cooled unseen. Tires read late share the error of the
    rate; here it counts for each on its own: differences between them come a little too wide.

    Without `again` nothing is corrected. The level variance is then (d r (A - T_air)(t + t_over))²
    with r = 1/`TIME_CONSTANT`, t being 0 where the order is not known. What all tires lose alike
    from run to run is in the noise already and is no matter for differences.

    The model, like the constants, is common practice, no source.
    """
    corner = run.order[0] if run.order else "the first tire"
    remarks = []
    if _over(run):
        remarks.append(
            f"{corner} was read {run.delay:.0f} s after the stop: the readings count for less"
        )
    if run.again is None:
        return _uncorrected(run, seconds_per_tire, remarks)
    doubt = _doubt(run, run.again, noise, seconds_per_tire, system)
    if doubt:
        return _uncorrected(run, seconds_per_tire, [*remarks, f"{doubt}: nothing is corrected"])
    return _closed(run, run.again, noise, seconds_per_tire, remarks)


def _air(run: Run) -> float:
    return AIR_TEMPERATURE if run.air_temp is None else run.air_temp


def _average(tire: Three) -> float:
    return sum(tire) / 3


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


def _uncorrected(run: Run, seconds_per_tire: float, remarks: list[str]) -> Settled:
    """Leave the readings as they are and widen their error."""
    since_first = _read_at(run, seconds_per_tire) if run.order else dict.fromkeys(CORNERS, 0.0)
    level = {}
    for corner in CORNERS:
        above = max(0.0, _average(run.tires[corner]) - _air(run))
        spread = RATE_DIFFERS / TIME_CONSTANT * above * (since_first[corner] + _over(run))
        if spread > 0:
            level[corner] = spread**2
    return Settled(dict(run.tires), {}, level, None, tuple(remarks))


def _closed(
    run: Run, again: Again, noise: Noise, seconds_per_tire: float, remarks: list[str]
) -> Settled:
    """Correct by the first tire, read again at the end."""
    air = _air(run)
    first, second = _average(run.tires[again.corner]), _average(again.tire)
    error = noise.reading / math.sqrt(3)  # of either average
    read_at = _read_at(run, seconds_per_tire)
    rates, weights = _posterior(first - air, second - air, error, len(CORNERS) * seconds_per_tire)
    mean = float(weights @ rates)
    rate = Rate(mean, math.sqrt(float(weights @ (rates - mean) ** 2)))

    tires: dict[Corner, Three] = {}
    extra: dict[Corner, float] = {}
    level: dict[Corner, float] = {}
    for place in CORNERS:
        seconds = read_at[place]
        factors = np.exp(rates * seconds)
        factor = float(weights @ factors)
        unsure = float(weights @ (factors - factor) ** 2)
        inner, middle, outer = (
            air + (t - air) * factor if t > air else t for t in run.tires[place]
        )
        tires[place] = (inner, middle, outer)
        if seconds > 0:
            extra[place] = noise.reading**2 * (factor**2 - 1)
        if seconds + _over(run) > 0:
            above = max(0.0, _average(run.tires[place]) - air)
            differs = RATE_DIFFERS * mean * (seconds + _over(run)) * factor
            level[place] = above**2 * (unsure + differs**2)
    return Settled(tires, extra, level, rate, tuple(remarks))


def _doubt(
    run: Run, again: Again, noise: Noise, seconds_per_tire: float, system: units.System
) -> str:
    """Say why the second reading of the first tire cannot be used, or ``""``."""
    corner, air = again.corner, _air(run)
    first, second = _average(run.tires[corner]), _average(again.tire)
    beyond_noise = IMPOSSIBLE * noise.reading * math.sqrt(2 / 3)
    loop = len(CORNERS) * seconds_per_tire
    if not run.order:
        return f"{corner} was read again, but the order of reading is not known"
    if first - air < LEAST_ABOVE_AIR:
        return f"{corner} is too near the air's temperature to show how fast the tires cool"
    change = units.difference(second - first, system)
    if second - first > beyond_noise:
        return f"{corner} read {change} the second time, and a standing tire does not heat up"
    if second < cooled(first, air, loop, FASTEST) - beyond_noise:
        return f"{corner} read {change} within {loop:.0f} s, faster than a tire cools"
    return ""


def _posterior(first: float, second: float, error: float, loop: float) -> tuple[Array, Array]:
    """Return a grid of rates [1/s] and their probabilities.

    Parameters
    ----------
    first, second : average of the tire above the air [degF], `loop` seconds apart.
    error : standard error of each [degF].
    """
    logs = np.linspace(-4.5, 4.5, 3601)
    rates = np.exp(logs * LOG_SPREAD) / TIME_CONSTANT
    kept = np.exp(-rates * loop)
    # The true first average is not known either: flat, it leaves second - first·kept with this sd.
    variance = error**2 * (1 + kept**2)
    likelihood = -0.5 * (second - first * kept) ** 2 / variance - 0.5 * np.log(variance)
    score = likelihood - 0.5 * logs**2
    weights = np.exp(score - score.max())
    return rates, weights / weights.sum()
