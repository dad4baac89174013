"""A run of fewer laps than planned: its tires are less warm, so its readings count for less."""

import math

import attrs
import numpy as np

from planner.run.cooling import AIR_TEMPERATURE, LOG_SPREAD, RATE_DIFFERS, unlike
from planner.run.readings import FewLaps, Run, Settled
from planner.trade.corners import average_read, was_read


def shortfall(laps: int, asked: int, warming: float) -> float:
    """Return by how much of its rise above the air a tire is likely to be short, root mean square.

    Parameters
    ----------
    laps, asked : laps run, fewer than planned, and laps planned.
    warming : laps in which a tire comes about two thirds of the way to where it ends.

    Notes
    -----
    A tire that warms as T_air + R (1 - exp(-n/w)) and has risen by r after n laps would have
    risen by r (1 - exp(-N/w))/(1 - exp(-n/w)) after N: it is short of r times that ratio less 1,
    which is N/n - 1 at most, for the slowest tire. The root mean square is over a log-normal w
    about `warming`, as wide as that of cooling (`cooling.LOG_SPREAD`). The exponential is that of
    one heat capacity heated evenly; w is from memory.
    """
    logs = np.linspace(-4.5, 4.5, 361)
    weights = np.exp(-0.5 * logs**2)
    times = warming * np.exp(logs * LOG_SPREAD)
    ratio = np.expm1(-asked / times) / np.expm1(-laps / times)
    return math.sqrt(float(weights @ (ratio - 1) ** 2 / weights.sum()))


def settle(settled: Settled, run: Run, asked: int, warming: float) -> Settled:
    """Widen the error of a run's readings by what its tires may be short of warmth.

    The readings stay as they are: no crew knows how fast its tires warm.

    Parameters
    ----------
    settled : its readings, put back to one moment.
    run : the run.
    asked, warming : as for `shortfall`.

    Notes
    -----
    With s the shortfall and r the rise of a tire: (s r)² with the mean r common to all tires;
    (d s r)² more to each tire, d being `cooling.RATE_DIFFERS`; and s² of half the summed square of
    what its strips differ by in each reading, as the pattern across a tire grows with its heat.
    """
    laps = asked if run.laps is None else run.laps
    if laps >= asked:
        return settled
    short = shortfall(laps, asked, warming)
    air = AIR_TEMPERATURE if run.air_temp is None else run.air_temp
    read = {c: at for c, tire in settled.tires.items() if was_read(at := average_read(tire))}
    rise = {c: max(0.0, at - air) for c, at in read.items()}
    extra, level = settled.extra_variance, settled.level_variance
    return attrs.evolve(
        settled,
        extra_variance={
            c: extra.get(c, 0.0) + short**2 * unlike(tire) for c, tire in settled.tires.items()
        },
        level_variance={
            c: level.get(c, 0.0) + (RATE_DIFFERS * short * above) ** 2 for c, above in rise.items()
        },
        common_variance=(short * sum(rise.values()) / len(rise)) ** 2,
        remarks=(*settled.remarks, FewLaps(laps, asked)),
    )
