"""How noisy the readings are, as repeated runs show it."""

import math
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.learning.observed import CONDITIONS, Observation
from planner.trade.corners import CORNERS, was_read
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, Noise

Array = npt.NDArray[np.float64]

AVERAGES = slice(0, 4)  # where they stand among the base figures

# Variance of a base figure as a share of the variance of one reading; see figures.standard_error.
SHARE: Array = np.repeat([1 / 3, 2.0, 2 / 3], 4)

# How many degrees of freedom the noise of the rules is worth beside repeated runs. From memory.
NOISE_WORTH = 12.0


def of_a_run(noise: Noise) -> Array:
    """Return the covariance of the twelve base figures of one run's readings [degF²]."""
    found = np.diag(noise.reading**2 * SHARE)
    found[AVERAGES, AVERAGES] += noise.run**2
    return found


def estimate_noise(
    observations: Sequence[Observation],
    prior: Noise,
    *,
    conditions: Mapping[str, Estimate] = CONDITIONS,
    worth: float = NOISE_WORTH,
) -> Noise:
    """Return the reading noise as repeated runs show it.

    Parameters
    ----------
    observations : all good runs; those with the same displacements repeat one another.
    prior : the noise believed so far, worth `worth` degrees of freedom.
    conditions : effects by which repeats are brought to the same conditions, where recorded.

    Notes
    -----
    See `pooled_noise`. Whatever drifts between repeats and is not recorded counts as run noise.
    """
    groups: dict[tuple[tuple[Setting, float], ...], list[Observation]] = {}
    for seen in observations:
        # A run of fewer laps, or with a reading that was not taken, repeats no other.
        if seen.common_variance or not all(map(was_read, seen.base.values())):
            continue
        groups.setdefault(seen.setup, []).append(seen)
    deviations = []
    freedom = 0
    repeated = [group for group in groups.values() if len(group) > 1]  # a single run tells nothing
    for group in repeated:
        values = np.array([[seen.base[name] for name in BASE_FIGURES] for seen in group])
        for name, effect in conditions.items():
            if all(name in seen.conditions for seen in group):
                recorded = np.array([seen.conditions[name] for seen in group])
                values[:, AVERAGES] -= effect.mean * recorded[:, None]
        # Readings known to be noisier count for as much less.
        extra = [[seen.extra_variance.get(corner, 0.0) for corner in CORNERS] for seen in group]
        level = [[seen.level_variance.get(corner, 0.0) for corner in CORNERS] for seen in group]
        deviation = values - values.mean(axis=0)
        expected = np.tile(prior.reading**2 + np.array(extra), (1, 3)) * SHARE
        expected[:, AVERAGES] += np.array(level)
        deviation *= np.sqrt(prior.reading**2 * SHARE / expected)
        deviations.append(deviation)
        freedom += len(group) - 1
    if not deviations:
        return prior
    return pooled_noise(np.vstack(deviations), freedom, prior, worth=worth)


def pooled_noise(
    deviations: Array, freedom: float, prior: Noise, *, worth: float = NOISE_WORTH
) -> Noise:
    """Return the noise from deviations of runs from what they should have read.

    Parameters
    ----------
    deviations : (runs, 12), in the order of `BASE_FIGURES` [degF]: of repeats from their mean,
        or residuals of a model.
    freedom : runs less the number of means (or parameters of each figure) taken from them.
    prior : the noise believed so far.
    worth : degrees of freedom the prior is worth.

    Notes
    -----
    Each of the eleven contrasts within a run (three between the averages, four splits, four
    crowns), scaled by its share, shows s² with `freedom` degrees; the mean of the four averages
    shows r² + s²/12. Both are pooled with the prior as scaled inverse chi-square variables, whose
    scale after the runs is (worth v0 + S)/(worth + degrees), S being the sum of squares ([1],
    sec. 2.6 there); r² is what is left of the second after s²/12, at least 0.

    References
    ----------
    .. [1] A. Gelman et al., *Bayesian Data Analysis*, 3rd ed., CRC Press, 2013.
    """
    averages = deviations[:, AVERAGES]
    middle = averages.mean(axis=1)
    contrasts = np.hstack([averages - middle[:, None], deviations[:, 4:]])
    within = float((contrasts**2 / SHARE).sum())
    between = float((middle**2).sum())
    reading = (worth * prior.reading**2 + within) / (worth + 11 * freedom)
    before = prior.run**2 + prior.reading**2 / 12
    run = (worth * before + between) / (worth + freedom) - reading / 12
    return Noise(math.sqrt(reading), math.sqrt(max(0.0, run)))
