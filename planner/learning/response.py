"""How this car answers its knobs: learned from the day's runs, one figure and one knob at a time.

`learn` turns runs and prior effects into a `Posterior`; that predicts figures after any further
move.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from planner.learning.layout import POSITION, Layout, laid_out, scaled, told_rows
from planner.learning.observed import Observation, Priors
from planner.learning.posterior import Posterior
from planner.learning.reading_noise import AVERAGES, SHARE
from planner.trade.corners import CORNERS, Turns
from planner.trade.figures import BASE_FIGURES

Array = npt.NDArray[np.float64]

# How far a figure that no run of the day has read may be from what is ordinary [degF]: an average
# from those of the other tires, a split or a crown from 0. From memory, wide.
NEVER_READ: Mapping[str, float] = {"average": 25.0, "split": 15.0, "crown": 6.0}


def learn(observations: Sequence[Observation], priors: Priors, turns: Turns = "left") -> Posterior:
    """Learn how the car answers.

    Parameters
    ----------
    observations : the good runs, oldest first. Their order decides only which is the latest.
    priors : prior effects and reading noise.
    turns : which way the track turns.

    Raises
    ------
    ValueError
        There is no run.

    Notes
    -----
    For run t and base figure f, with d the displacement of setting k since the first run and
    x the conditions::

        y[t, f] = base[f] + sum_k d[t, k] b[k, f] + [f is an average] sum_c g[c] (x[t, c] - x0[c])
                  + e[t, f]

    The base is flat a priori, so after one run the estimates are its readings; b and g are
    normal. An answer of mean m and standard deviation s is b = m + q u + sqrt(s² - q²) v, with u
    common to its family (`families`) and v its own, both standard normal. Every u is a parameter,
    and by it alone do answers of settings that were never moved hang on the data.

    Reading noise of variance s² gives e the variances s²/3 (average), 2 s² (split) and 2 s²/3
    (crown), without correlation; run noise of variance r² is common to the four averages of a
    run. The posterior is the closed form for a linear normal model ([1], ch. 14), solved as least
    squares by QR: rows whitened by the noise, one row for each u, v and g by its prior, counted
    in standard deviations; so an effect of sd 0 stays as it is.

    A condition takes part when two runs or more recorded it. With n values of squared deviations
    S, a run without it gets the mean x0 and the common variance E[g²] v (1 + 1/n), where
    v = (s0² + S)/n and s0 is `ORDINARY_SPREAD`.

    A setting moved without any prior effect may act on every figure: `UNKNOWN_MOVE`. Another set of
    tires and another part of the day are such settings with the prior of `levels`: each set and
    part has a d of its own, 1 on the runs that have it and -1 on those away from that of the
    first run, and its b are the level. Without a run that has moved there is no parameter.

    What earlier days told (`Told`) stands beside as rows of its own, each with an error of 1.

    A figure that a run does not know has no row there. One that no run knows has the prior of
    `NEVER_READ` instead of a flat one: about the mean of the averages that are known, or about 0.

    References
    ----------
    .. [1] A. Gelman et al., *Bayesian Data Analysis*, 3rd ed., CRC Press, 2013.
    """
    if not observations:
        raise ValueError("there is no run to learn from")
    layout = laid_out(observations, priors)
    first, size = len(BASE_FIGURES), layout.size
    whitened = _whitened(_rows(observations, priors, layout), observations, priors, layout)
    middle, scale = scaled(layout, priors)
    told = told_rows(priors, layout, scale)
    rows = np.vstack([whitened, _never_read(observations, size), told])
    prior_rows = np.zeros((size - first, size + 1))
    prior_rows[:, first:size] = np.eye(size - first)
    triangle: Array = np.asarray(np.linalg.qr(np.vstack([rows, prior_rows]), mode="r"))
    root = np.linalg.inv(triangle[:size, :size])
    spread = scale @ root
    mean = middle + spread @ triangle[:size, size]
    covariance = spread @ spread.T
    mean.setflags(write=False)
    covariance.setflags(write=False)
    latest = observations[-1]
    return Posterior(
        parameters=layout.names,
        mean=mean,
        covariance=covariance,
        runs=len(observations),
        moved=dict(latest.moved),
        conditions=dict(latest.conditions),
        priors=priors,
        turns=turns,
        layout=layout,
    )


def _rows(observations: Sequence[Observation], priors: Priors, layout: Layout) -> Array:
    """Return the equations of all runs: what each parameter does to each figure, and the reading.

    Returns
    -------
    array
        (runs, 12, parameters + 1); of a slope only what is its own, in standard deviations from
        the prior mean.
    """
    rows = np.zeros((len(observations), len(BASE_FIGURES), layout.size + 1))
    rows[:, range(len(BASE_FIGURES)), range(len(BASE_FIGURES))] = 1.0
    rows[:, :, -1] = [[seen.base[name] for name in BASE_FIGURES] for seen in observations]
    for setting, effects in layout.effects.items():
        moved = np.array([seen.moved.get(setting, 0.0) for seen in observations])
        for figure, effect in effects.items():
            row = POSITION[figure]
            rows[:, row, -1] -= moved * effect.mean
            common = layout.shared[setting, figure]
            rows[:, row, layout.slopes[setting, figure]] = moved * common.own
            if common.size:
                rows[:, row, layout.family_at(common.family)] += moved * common.size
    for name in layout.conditions:
        zero, effect = layout.reference[name], priors.conditions[name]
        shift = np.array([seen.conditions.get(name, zero) - zero for seen in observations])
        rows[:, AVERAGES, -1] -= (shift * effect.mean)[:, None]
        rows[:, AVERAGES, layout.condition_at(name)] = (shift * effect.sd)[:, None]
    return rows


def _whitened(
    rows: Array, observations: Sequence[Observation], priors: Priors, layout: Layout
) -> Array:
    """Return the rows of all runs, scaled and turned so that their noise is independent, size 1.

    Parameters
    ----------
    rows : (runs, 12, columns).

    Returns
    -------
    array
        (12 runs, columns).
    """
    runs, _, columns = rows.shape
    reading, run = priors.noise.reading, priors.noise.run
    extra, level = np.zeros((runs, 4)), np.zeros((runs, 4))
    common = np.full(runs, run**2)
    for number, seen in enumerate(observations):
        if seen.extra_variance or seen.level_variance:
            extra[number] = [seen.extra_variance.get(corner, 0.0) for corner in CORNERS]
            level[number] = [seen.level_variance.get(corner, 0.0) for corner in CORNERS]
        common[number] += seen.common_variance
        for name in layout.conditions:
            if name not in seen.conditions:
                effect = priors.conditions[name]
                common[number] += (effect.mean**2 + effect.sd**2) * layout.wander[name]
    variance = np.tile(reading**2 + extra, (1, 3)) * SHARE
    variance[:, AVERAGES] += level
    missing = np.isnan(rows[:, :, -1])
    rows = np.where(missing[:, :, None], 0.0, rows)  # a row of nothing is no row
    averages = common[:, None, None] + variance[:, AVERAGES, None] * np.eye(4)
    apart = missing[:, AVERAGES, None] | missing[:, None, AVERAGES]
    averages = np.where(apart, np.eye(4), averages)
    root = np.linalg.cholesky(averages)
    white = rows / np.sqrt(variance)[:, :, None]
    white[:, AVERAGES] = np.linalg.solve(root, rows[:, AVERAGES])
    return white.reshape(runs * len(BASE_FIGURES), columns)


def _never_read(observations: Sequence[Observation], size: int) -> Array:
    """Return a row for each figure that no run has read: its prior."""
    read = np.array([[seen.base[name] for name in BASE_FIGURES] for seen in observations])
    unseen = np.flatnonzero(np.isnan(read).all(axis=0))
    rows = np.zeros((len(unseen), size + 1))
    for row, at in zip(rows, unseen, strict=True):
        kind = BASE_FIGURES[at].partition(".")[0]
        known = read[:, AVERAGES][~np.isnan(read[:, AVERAGES])]
        usual = float(known.mean()) if kind == "average" and known.size else 0.0
        row[at], row[-1] = 1.0 / NEVER_READ[kind], usual / NEVER_READ[kind]
    return rows
