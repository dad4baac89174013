"""Answers learned over days: what the car gives, and what each day adds to it.

A hierarchical linear normal model in closed form. How much days differ, and how fast a car becomes
another, is learned from the days there are.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import product

import attrs
import numpy as np
import numpy.typing as npt

from planner.learning.layout import believed_together, rows_over
from planner.learning.observed import Priors, Told, answer_of, name_of
from planner.learning.posterior import Posterior
from planner.trade import knobs
from planner.trade.estimate import Estimate

Array = npt.NDArray[np.float64]

# The share of a surprise that is the day's and not the car's, with how likely it is beforehand:
# about a tenth, give or take a factor of 2.5 (log-normal). From memory.
DAYS_SHARE: Mapping[float, float] = {
    0.02: 0.06,
    0.05: 0.23,
    0.1: 0.3,
    0.2: 0.23,
    0.35: 0.12,
    0.6: 0.04,
    0.9: 0.02,
}
# After so many days what a car gave says half as much, with how likely that is beforehand: cars
# are rebuilt, but nobody knows how often it shows. From memory.
FORGOTTEN: Mapping[float, float] = {np.inf: 0.4, 1000.0: 0.3, 300.0: 0.2, 70.0: 0.1}

# What is known of a combination of answers is kept where it takes off at least this share of its
# variance; less is not worth a line in the plan. From memory.
WORTH_KEEPING = 0.02
_NOTHING = 1e-6  # of a variance: rounding


@attrs.frozen
class DayTold:
    """What one day alone says of the answers."""

    on: date
    told: Told


def of_day(posterior: Posterior) -> Told:
    """Return what the runs of a day say of the answers, apart from what was believed.

    Parameters
    ----------
    posterior : learned without anything told by earlier days.

    Notes
    -----
    With the surprises z normal by C0 before the runs and by mean m and C1 after them, the
    likelihood of z is that of rows A z = x ± 1: with C0 = L L', and eigenvalues u of
    L^-1 C1 L^-T with eigenvectors e, A = sqrt(1/u - 1) e' L^-1 and x = e' L^-1 m / sqrt(u (1 - u)).
    Whatever else the day has (base figures, weather, settings done once) is integrated out.
    """
    before, covariance_before = posterior.before
    spread = np.sqrt(np.diag(covariance_before))
    names = [name_of(*answer) for answer in posterior.learned()]
    kept = [
        (name, at)
        for name in names
        for at in [posterior.parameters.index(name)]
        if knobs.is_place(*answer_of(name)[0]) and spread[at] > 0
    ]
    if not kept:
        return Told()
    at = [place for _, place in kept]
    scale = np.outer(spread[at], spread[at])
    both = np.ix_(at, at)
    return _as_rows(
        [name for name, _ in kept],
        covariance_before[both] / scale,
        (posterior.mean[at] - before[at]) / spread[at],
        posterior.covariance[both] / scale,
        _NOTHING,
    )


def today(days: Sequence[DayTold], priors: Priors, on: date) -> Told:
    """Return what earlier days say of the answers on another day.

    Parameters
    ----------
    days : in any order.
    priors : what is believed of the answers without them; answers that are not among those are
        left aside.
    on : the day; one before the last of `days` counts as that.

    Notes
    -----
    The surprises of day j are z_j = sqrt(1 - w) c(t_j) + sqrt(w) d_j: c is the car's, which
    becomes another in time, with correlation exp(-|t - s|/T) from day t to day s; d_j is the
    day's. Both are normal with the correlations R that hold within a day (`families`), so that a
    single day is believed as ever. A filter runs through the days ([1], sec. 4.3): with rows
    A z = x ± 1 the day's row covariance is I + w A R A' + (1 - w) A P A'. It gives the marginal
    likelihood of w and T, too; what is told is the mean and covariance over a grid of both,
    weighted by it and by `DAYS_SHARE` and `FORGOTTEN`.

    References
    ----------
    .. [1] S. Särkkä, *Bayesian Filtering and Smoothing*, CUP, 2013.
    """
    answers = _known_answers(days, priors)
    if not answers:
        return Told()
    together = believed_together(priors, [answer_of(name) for name in answers])
    grid = list(product(DAYS_SHARE.items(), FORGOTTEN.items()))
    share = np.array([w for (w, _), _ in grid])
    rate = np.array([0.0 if t == np.inf else np.log(2) / t for _, (t, _) in grid])
    likely = np.log([a * b for (_, a), (_, b) in grid])
    mean = np.zeros((len(grid), len(answers)))
    covariance = np.repeat(together[None], len(grid), axis=0)
    in_order = sorted(days, key=lambda day: day.on)
    now = in_order[0].on
    for day in in_order:
        mean, covariance = _later(mean, covariance, together, rate * (day.on - now).days)
        now = day.on
        mean, covariance, gained = _with_day(
            mean, covariance, together, share, *rows_over(day.told, answers)
        )
        likely = likely + gained
    mean, covariance = _later(mean, covariance, together, rate * max(0, (on - now).days))
    mean = np.sqrt(1 - share)[:, None] * mean
    covariance = (1 - share)[:, None, None] * covariance + share[:, None, None] * together
    weight = np.exp(likely - likely.max())
    weight /= weight.sum()
    middle = weight @ mean
    apart = mean - middle
    spread = np.tensordot(weight, covariance, 1) + np.einsum("g,gi,gj->ij", weight, apart, apart)
    return _as_rows(answers, together, middle, spread, WORTH_KEEPING)


def answers(told: Told, priors: Priors) -> dict[str, Estimate]:
    """Return the answers that something is told of, as they are known then [degF per unit]."""
    names = _known_answers([DayTold(date.min, told)], priors)
    if not names:
        return {}
    together = believed_together(priors, [answer_of(name) for name in names])
    design, seen = rows_over(told, names)
    cross = together @ design.T
    gain = np.linalg.solve(np.eye(len(seen)) + design @ cross, cross.T).T
    mean, variance = gain @ seen, np.diag(together - gain @ cross.T)
    found = {}
    for name, at, left in zip(names, mean, variance, strict=True):
        setting, figure = answer_of(name)
        believed = priors.effects[setting][figure]
        spread = believed.sd * float(np.sqrt(max(0.0, left)))
        found[name] = Estimate(believed.mean + believed.sd * float(at), spread)
    return found


def _known_answers(days: Sequence[DayTold], priors: Priors) -> list[str]:
    """Return the answers of all days that are believed in today."""
    named = dict.fromkeys(name for day in days for name in day.told.answers)
    found = []
    for name in named:
        setting, figure = answer_of(name)
        effect = priors.effects.get(setting, {}).get(figure)
        if effect is not None and effect.sd > 0:
            found.append(name)
    return found


def _later(mean: Array, covariance: Array, together: Array, decay: Array) -> tuple[Array, Array]:
    """Return what is known of the car after some time."""
    kept = np.exp(-decay)
    return (
        kept[:, None] * mean,
        (kept**2)[:, None, None] * covariance + (1 - kept**2)[:, None, None] * together,
    )


def _with_day(
    mean: Array, covariance: Array, together: Array, share: Array, design: Array, seen: Array
) -> tuple[Array, Array, Array]:
    """Return what is known of the car after a day, and the logarithm of the day's likelihood."""
    if not len(design):
        return mean, covariance, np.zeros(len(share))
    the_cars = np.sqrt(1 - share)
    cross = the_cars[:, None, None] * (covariance @ design.T)
    own = np.eye(len(design)) + share[:, None, None] * (design @ together @ design.T)
    total = own + the_cars[:, None, None] * (design @ cross)
    off = seen - the_cars[:, None] * (mean @ design.T)
    gain = np.linalg.solve(total, np.swapaxes(cross, 1, 2))
    mean = mean + np.einsum("grn,gr->gn", gain, off)
    covariance = covariance - cross @ gain
    distance = np.einsum("gr,gr->g", off, np.linalg.solve(total, off[:, :, None])[:, :, 0])
    return mean, covariance, -0.5 * (distance + np.linalg.slogdet(total)[1])


def _as_rows(
    answers: Sequence[str], before: Array, mean: Array, after: Array, least: float
) -> Told:
    """Return rows that lead from one belief to another; see `of_day`.

    Parameters
    ----------
    before : covariance, the mean being 0.
    mean, after : of the other belief.
    least : share of its variance that a row must take off to be kept.
    """
    root = np.linalg.cholesky(before)
    turned = np.linalg.solve(root, np.linalg.solve(root, after).T)
    left, directions = np.linalg.eigh((turned + turned.T) / 2)
    where = directions.T @ np.linalg.solve(root, mean)
    rows = []
    for size, direction, at in zip(left, directions.T, where, strict=True):
        if size < 1 - least:
            size = max(float(size), _NOTHING)
            weights = np.linalg.solve(root.T, direction) * np.sqrt(1 / size - 1)
            rows.append((*weights.tolist(), float(at / np.sqrt(size * (1 - size)))))
    return Told(tuple(answers), tuple(rows)) if rows else Told()
