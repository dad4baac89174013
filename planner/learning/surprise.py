"""Whether a change answered as it was expected to."""

import math
from collections.abc import Sequence

import attrs
import numpy as np

from planner.learning.observed import Observation, two_sided
from planner.learning.posterior import Posterior
from planner.learning.reading_noise import SHARE
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, standard_error, terms


@attrs.frozen
class Surprise:
    """A figure as it was predicted and as it was read.

    Attributes
    ----------
    predicted : of the reading [degF], its noise included.
    observed : [degF].
    z : (observed - predicted)/sd.
    probability : of a reading at least as far off, either way.
    """

    figure: str
    predicted: Estimate
    observed: float
    z: float
    probability: float


def surprise(before: Posterior, seen: Observation, figures: Sequence[str]) -> tuple[Surprise, ...]:
    """Compare a run with what was predicted of it from the runs before.

    Parameters
    ----------
    before : learned from the runs before this one.
    seen : the run; its displacements count from the day's first run, as always.
    figures : the figures aimed at.

    Notes
    -----
    Noise of the run itself is as in `learn`, with the extra variances of its corners.
    """
    mean, covariance = before.at(figures, seen.moved, seen.conditions)
    noise = before.priors.noise
    found = []
    for name, middle, variance in zip(figures, mean, np.diag(covariance), strict=True):
        weights = terms(name, before.turns)
        observed = sum(weight * seen.base[term] for term, weight in weights.items())
        reading = standard_error(name, noise) ** 2
        level = sum(w for term, w in weights.items() if term.startswith("average."))
        reading += level**2 * seen.common_variance
        for term, weight in weights.items():
            corner = CORNERS[BASE_FIGURES.index(term) % 4]
            share = float(SHARE[BASE_FIGURES.index(term)])
            reading += weight**2 * share * seen.extra_variance.get(corner, 0.0)
            if term.startswith("average."):
                reading += weight**2 * seen.level_variance.get(corner, 0.0)
        predicted = Estimate(float(middle), math.sqrt(float(variance) + reading))
        z = (observed - predicted.mean) / predicted.sd
        found.append(Surprise(name, predicted, observed, z, two_sided(z)))
    return tuple(found)
