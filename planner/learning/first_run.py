"""What the first run of a day should read, learned from earlier days at the same track."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from planner.learning.earlier import Usual
from planner.learning.reading_noise import AVERAGES
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES

Array = npt.NDArray[np.float64]

# How far the same setup reads apart on two days in the same weather [degF]: all tires together,
# and each figure for itself. From memory; how much of it there is, the days themselves say.
ALL_TIRES = 8.0
OWN: Array = np.repeat([4.0, 4.0, 1.2], 4)
# By how many times that may be wrong, with how likely it is beforehand: half or double is common.
TIMES: Mapping[float, float] = {0.35: 0.08, 0.5: 0.16, 0.7: 0.26, 1.0: 0.26, 1.4: 0.16, 2.0: 0.08}


def usual(days: Sequence[tuple[Array, Array]], conditions: Mapping[str, float]) -> Usual | None:
    """Return what the first run should read; None where there is no earlier day.

    Parameters
    ----------
    days : of each earlier day, mean and covariance of the base figures as it predicts them for
        today's setup at `conditions` [degF, degF²].
    conditions : as in `Usual`.

    Notes
    -----
    Day j predicts y_j ~ N(m, C_j + T), T = k² times what `ALL_TIRES` and `OWN` say, m flat. With
    weights W = sum (C_j + T)^-1, today is normal about W^-1 sum (C_j + T)^-1 y_j with covariance
    W^-1 + T; over `TIMES`, k is weighed by its marginal likelihood, m integrated out ([1], ch. 5).

    References
    ----------
    .. [1] A. Gelman et al., *Bayesian Data Analysis*, 3rd ed., CRC Press, 2013.
    """
    if not days:
        return None
    apart = np.diag(OWN**2)
    apart[AVERAGES, AVERAGES] += ALL_TIRES**2
    fits = [_fit(days, times**2 * apart) for times in TIMES]
    likely = np.log(list(TIMES.values())) + [fit for _, _, fit in fits]
    weight = np.exp(likely - likely.max())
    weight /= weight.sum()
    means = np.array([mean for mean, _, _ in fits])
    mean = weight @ means
    variance = weight @ np.array([np.diag(spread) for _, spread, _ in fits])
    variance += weight @ (means - mean) ** 2
    figures = {
        name: Estimate(float(at), float(np.sqrt(spread)))
        for name, at, spread in zip(BASE_FIGURES, mean, variance, strict=True)
    }
    return Usual(len(days), figures, dict(conditions))


def _fit(days: Sequence[tuple[Array, Array]], apart: Array) -> tuple[Array, Array, float]:
    """Return mean and covariance of a day to come, and the logarithm of the likelihood."""
    weights = [np.linalg.inv(covariance + apart) for _, covariance in days]
    total = sum(weights, np.zeros_like(apart))
    pulled = sum((w @ at for w, (at, _) in zip(weights, days, strict=True)), np.zeros(len(apart)))
    mean = np.linalg.solve(total, pulled)
    fit = -float(np.linalg.slogdet(total)[1])
    for weight, (at, _) in zip(weights, days, strict=True):
        fit += float(np.linalg.slogdet(weight)[1] - (at - mean) @ weight @ (at - mean))
    return mean, np.linalg.inv(total) + apart, fit / 2
