"""How this car answers its knobs: learned from the day's runs, one figure and one knob at a time.

`learn` turns runs and prior effects into a `Posterior`; that predicts figures after any further
move. `surprise` says when a change did not answer as expected, `estimate_noise`
what repeated runs say of the readings, and `chance_all_within` how likely figures end in band.
"""

import math
from collections.abc import Mapping, Sequence
from statistics import NormalDist

import attrs
import numpy as np
import numpy.typing as npt

from planner.changes import Setting
from planner.corners import CORNERS, Turns
from planner.figures import BASE_FIGURES, Noise, standard_error, terms
from planner.learning.observed import (
    CONDITIONS,
    Estimate,
    Observation,
    Priors,
    chance_within,
    two_sided,
)
from planner.rulebook import Effect

Array = npt.NDArray[np.float64]

_POSITION = {name: number for number, name in enumerate(BASE_FIGURES)}
_AVERAGES = slice(0, 4)
_IS_AVERAGE: Array = np.repeat([1.0, 0.0, 0.0], 4)

# Variance of a base figure as a share of the variance of one reading; see figures.standard_error.
_SHARE: Array = np.repeat([1 / 3, 2.0, 2 / 3], 4)

# How much a condition ordinarily wanders between runs of a day, worth one recorded value when the
# value of a run is missing [degF, degF, laps]. From memory.
ORDINARY_SPREAD: Mapping[str, float] = {"track_temp": 5.0, "air_temp": 3.0, "tire_laps": 10.0}

# What a move of a knob that the rules know nothing of may do to any base figure [degF]: one
# standard deviation, for the largest such move of the day. From memory, deliberately wide.
UNKNOWN_MOVE = 15.0

# How many degrees of freedom the noise of the rules is worth beside repeated runs. From memory.
NOISE_WORTH = 12.0


@attrs.frozen(eq=False)
class _Layout:
    """Which parameter stands where: twelve bases, then slopes, then conditions."""

    slopes: Mapping[tuple[Setting, str], int]
    effects: Mapping[Setting, Mapping[str, Effect]]
    conditions: tuple[str, ...]
    reference: Mapping[str, float]
    wander: Mapping[str, float]  # variance of a value that was not recorded

    @property
    def size(self) -> int:
        return len(BASE_FIGURES) + len(self.slopes) + len(self.conditions)

    def condition_at(self, name: str) -> int:
        return len(BASE_FIGURES) + len(self.slopes) + self.conditions.index(name)


@attrs.frozen(eq=False)
class Posterior:
    """What is known after the runs; made by `learn`.

    Attributes
    ----------
    parameters : name of each parameter: ``base average.LF``, ``pressure.RF crown.RF``,
        ``track_temp``. Base figures are those of the car as it was first run, at the mean of the
        recorded conditions.
    mean, covariance : of the parameters.
    runs : number of runs learned from.
    moved, conditions : displacements and recorded conditions of the latest run.
    priors, turns : as given.
    """

    parameters: tuple[str, ...]
    mean: Array
    covariance: Array
    runs: int
    moved: Mapping[Setting, float]
    conditions: Mapping[str, float]
    priors: Priors
    turns: Turns
    _layout: _Layout

    def estimate(
        self,
        name: str,
        *,
        moved: Mapping[Setting, float] | None = None,
        conditions: Mapping[str, float] | None = None,
    ) -> Estimate:
        """Return the true figure [degF], free of reading noise.

        Parameters
        ----------
        name : any figure of `figures.terms`.
        moved : further displacement from the present settings [unit of the knob].
        conditions : instead of those of the latest run.
        """
        mean, covariance = self.joint((name,), moved=moved, conditions=conditions)
        return Estimate(float(mean[0]), math.sqrt(max(0.0, float(covariance[0, 0]))))

    def joint(
        self,
        names: Sequence[str],
        *,
        moved: Mapping[Setting, float] | None = None,
        conditions: Mapping[str, float] | None = None,
    ) -> tuple[Array, Array]:
        """Return mean vector [degF] and covariance [degF²] of several true figures.

        Notes
        -----
        The slopes of a setting that was not moved in any run are independent of the data, so
        their prior is added here and they need no place among the parameters. A condition of the
        latest run that was not recorded is taken at the mean of those that were, with their
        spread as its error.
        """
        total = dict(self.moved)
        for setting, amount in (moved or {}).items():
            total[setting] = total.get(setting, 0.0) + amount
        return self._at(names, total, {**self.conditions, **(conditions or {})})

    def sensitivity(self, setting: Setting, figure: str) -> Estimate:
        """Return the change of a base figure per unit of a setting [degF per unit].

        Its prior where the setting has not been moved; 0 ± 0 where it does not act.
        """
        at = self._layout.slopes.get((setting, figure))
        if at is None:
            prior = self.prior_of(setting, figure)
            return Estimate(prior.mean, prior.sd)
        return Estimate(float(self.mean[at]), math.sqrt(max(0.0, float(self.covariance[at, at]))))

    def learned(self) -> tuple[tuple[Setting, str], ...]:
        """Return every (setting, base figure) that a run has said something about."""
        return tuple(self._layout.slopes)

    def prior_of(self, setting: Setting, figure: str) -> Effect:
        """Return the effect that was believed before the first run; 0 ± 0 for none."""
        effects = self._layout.effects.get(setting, self.priors.effects.get(setting, {}))
        return effects.get(figure, Effect(0.0, 0.0))

    def _at(
        self, names: Sequence[str], total: Mapping[Setting, float], conditions: Mapping[str, float]
    ) -> tuple[Array, Array]:
        """Return the figures at total displacements and at conditions; see `joint`."""
        layout = self._layout
        design = np.zeros((len(BASE_FIGURES), layout.size))
        design[:, : len(BASE_FIGURES)] = np.eye(len(BASE_FIGURES))
        offset = np.zeros(len(BASE_FIGURES))
        own = np.zeros(len(BASE_FIGURES))
        common = 0.0
        for setting, amount in total.items():
            if amount == 0:
                continue
            effects = layout.effects.get(setting) or self.priors.effects.get(setting)
            if effects is None:
                own += UNKNOWN_MOVE**2
                continue
            for figure, effect in effects.items():
                row = _POSITION[figure]
                column = layout.slopes.get((setting, figure))
                if column is not None:
                    design[row, column] = amount
                else:
                    offset[row] += amount * effect.mean
                    own[row] += (amount * effect.sd) ** 2
        for name, prior in self.priors.conditions.items():
            if name not in layout.reference:
                continue
            value = conditions.get(name)
            if name in layout.conditions:
                column = layout.condition_at(name)
                if value is None:
                    slope = self.mean[column] ** 2 + self.covariance[column, column]
                    common += float(slope) * layout.wander[name]
                else:
                    design[_AVERAGES, column] = value - layout.reference[name]
            elif value is not None:  # recorded once: the coefficient is still the prior's
                shift = value - layout.reference[name]
                offset[_AVERAGES] += shift * prior.mean
                common += (shift * prior.sd) ** 2
        weights = _weights(names, self.turns)
        rows = weights @ design
        mean = rows @ self.mean + weights @ offset
        covariance = rows @ self.covariance @ rows.T + (weights * own) @ weights.T
        shared = weights @ _IS_AVERAGE
        return mean, covariance + common * np.outer(shared, shared)


def _weights(names: Sequence[str], turns: Turns) -> Array:
    weights = np.zeros((len(names), len(BASE_FIGURES)))
    for row, name in enumerate(names):
        for term, weight in terms(name, turns).items():
            weights[row, _POSITION[term]] = weight
    return weights


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
    independent normals. Reading noise of variance s² gives e the variances s²/3 (average), 2 s²
    (split) and 2 s²/3 (crown), without correlation; run noise of variance r² is common to the
    four averages of a run. The posterior is the closed form for a linear normal model ([1],
    ch. 14), solved as least squares by QR: rows whitened by the noise, one row for each slope by
    its prior, slopes counted in prior standard deviations; so an effect of sd 0 stays as it is.

    A condition takes part when two runs or more recorded it. With n values of squared deviations
    S, a run without it gets the mean x0 and the common variance E[g²] v (1 + 1/n), where
    v = (s0² + S)/n and s0 is `ORDINARY_SPREAD`.

    A setting moved without any prior effect may act on every figure: `UNKNOWN_MOVE`.

    References
    ----------
    .. [1] A. Gelman et al., *Bayesian Data Analysis*, 3rd ed., CRC Press, 2013.
    """
    if not observations:
        raise ValueError("there is no run to learn from")
    layout = _laid_out(observations, priors)
    slope_priors = [layout.effects[setting][figure] for setting, figure in layout.slopes]
    slope_priors += [priors.conditions[name] for name in layout.conditions]
    first = len(BASE_FIGURES)
    runs, size = len(observations), layout.size

    design = np.zeros((runs, first, size))
    design[:, range(first), range(first)] = 1.0
    target = np.array([[seen.base[name] for name in BASE_FIGURES] for seen in observations])
    for setting, effects in layout.effects.items():
        moved = np.array([seen.moved.get(setting, 0.0) for seen in observations])
        for figure, effect in effects.items():
            row, column = _POSITION[figure], layout.slopes[setting, figure]
            target[:, row] -= moved * effect.mean
            design[:, row, column] = moved * effect.sd
    for name in layout.conditions:
        zero, effect = layout.reference[name], priors.conditions[name]
        shift = np.array([seen.conditions.get(name, zero) - zero for seen in observations])
        target[:, _AVERAGES] -= (shift * effect.mean)[:, None]
        design[:, _AVERAGES, layout.condition_at(name)] = (shift * effect.sd)[:, None]

    both = np.concatenate([design, target[:, :, None]], axis=2)
    stacked = _whitened(both, observations, priors, layout)
    prior_rows = np.zeros((size - first, size + 1))
    prior_rows[:, first:size] = np.eye(size - first)
    triangle: Array = np.asarray(np.linalg.qr(np.vstack([stacked, prior_rows]), mode="r"))
    root = np.linalg.inv(triangle[:size, :size])
    scale = np.array([1.0] * first + [effect.sd for effect in slope_priors])
    middle = np.array([0.0] * first + [effect.mean for effect in slope_priors])
    mean = middle + scale * (root @ triangle[:size, size])
    covariance = (scale[:, None] * (root @ root.T)) * scale
    mean.setflags(write=False)
    covariance.setflags(write=False)
    names = [f"base {name}" for name in BASE_FIGURES]
    names += [f"{knob}.{place} {figure}" for (knob, place), figure in layout.slopes]
    latest = observations[-1]
    return Posterior(
        parameters=(*names, *layout.conditions),
        mean=mean,
        covariance=covariance,
        runs=runs,
        moved=dict(latest.moved),
        conditions=dict(latest.conditions),
        priors=priors,
        turns=turns,
        layout=layout,
    )


def _laid_out(observations: Sequence[Observation], priors: Priors) -> _Layout:
    """Give every parameter its place."""
    largest: dict[Setting, float] = {}
    for seen in observations:
        for setting, amount in seen.moved.items():
            if amount:
                largest[setting] = max(largest.get(setting, 0.0), abs(amount))
    effects: dict[Setting, Mapping[str, Effect]] = {}
    slopes: dict[tuple[Setting, str], int] = {}
    for setting in sorted(largest):
        known = priors.effects.get(setting)
        if known is None:
            unknown = Effect(0.0, UNKNOWN_MOVE / largest[setting])
            known = dict.fromkeys(BASE_FIGURES, unknown)
        effects[setting] = known
        for figure in known:
            slopes[setting, figure] = len(BASE_FIGURES) + len(slopes)
    reference: dict[str, float] = {}
    wander: dict[str, float] = {}
    used = []
    for name in priors.conditions:
        values = [seen.conditions[name] for seen in observations if name in seen.conditions]
        if not values:
            continue
        count = len(values)
        reference[name] = math.fsum(values) / count
        squares = math.fsum((value - reference[name]) ** 2 for value in values)
        ordinary = ORDINARY_SPREAD.get(name, 0.0) ** 2
        wander[name] = (ordinary + squares) / count * (1 + 1 / count)
        if count >= 2:
            used.append(name)
    return _Layout(slopes, effects, tuple(used), reference, wander)


def _whitened(
    rows: Array, observations: Sequence[Observation], priors: Priors, layout: _Layout
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
        for name in layout.conditions:
            if name not in seen.conditions:
                effect = priors.conditions[name]
                common[number] += (effect.mean**2 + effect.sd**2) * layout.wander[name]
    variance = np.tile(reading**2 + extra, (1, 3)) * _SHARE
    variance[:, _AVERAGES] += level
    averages = common[:, None, None] + variance[:, _AVERAGES, None] * np.eye(4)
    root = np.linalg.cholesky(averages)
    white = rows / np.sqrt(variance)[:, :, None]
    white[:, _AVERAGES] = np.linalg.solve(root, rows[:, _AVERAGES])
    return white.reshape(runs * len(BASE_FIGURES), columns)


def estimate_noise(
    observations: Sequence[Observation],
    prior: Noise,
    *,
    conditions: Mapping[str, Effect] = CONDITIONS,
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
        groups.setdefault(seen.setup, []).append(seen)
    deviations = []
    freedom = 0
    repeated = [group for group in groups.values() if len(group) > 1]  # a single run tells nothing
    for group in repeated:
        values = np.array([[seen.base[name] for name in BASE_FIGURES] for seen in group])
        for name, effect in conditions.items():
            if all(name in seen.conditions for seen in group):
                recorded = np.array([seen.conditions[name] for seen in group])
                values[:, _AVERAGES] -= (effect.mean * (recorded - recorded.mean()))[:, None]
        # Readings known to be noisier count for as much less.
        extra = [[seen.extra_variance.get(corner, 0.0) for corner in CORNERS] for seen in group]
        level = [[seen.level_variance.get(corner, 0.0) for corner in CORNERS] for seen in group]
        deviation = values - values.mean(axis=0)
        expected = np.tile(prior.reading**2 + np.array(extra), (1, 3)) * _SHARE
        expected[:, _AVERAGES] += np.array(level)
        deviation *= np.sqrt(prior.reading**2 * _SHARE / expected)
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
    averages = deviations[:, _AVERAGES]
    middle = averages.mean(axis=1)
    contrasts = np.hstack([averages - middle[:, None], deviations[:, 4:]])
    within = float((contrasts**2 / _SHARE).sum())
    between = float((middle**2).sum())
    reading = (worth * prior.reading**2 + within) / (worth + 11 * freedom)
    before = prior.run**2 + prior.reading**2 / 12
    run = (worth * before + between) / (worth + freedom) - reading / 12
    return Noise(math.sqrt(reading), math.sqrt(max(0.0, run)))


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
    mean, covariance = before._at(figures, seen.moved, seen.conditions)
    noise = before.priors.noise
    found = []
    for name, middle, variance in zip(figures, mean, np.diag(covariance), strict=True):
        weights = terms(name, before.turns)
        observed = sum(weight * seen.base[term] for term, weight in weights.items())
        reading = standard_error(name, noise, before.turns) ** 2
        for term, weight in weights.items():
            corner = CORNERS[_POSITION[term] % 4]
            share = float(_SHARE[_POSITION[term]])
            reading += weight**2 * share * seen.extra_variance.get(corner, 0.0)
            if term.startswith("average."):
                reading += weight**2 * seen.level_variance.get(corner, 0.0)
        predicted = Estimate(float(middle), math.sqrt(float(variance) + reading))
        z = (observed - predicted.mean) / predicted.sd
        found.append(Surprise(name, predicted, observed, z, two_sided(z)))
    return tuple(found)


_POINTS = 1024
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53)


def chance_all_within(
    mean: Sequence[float] | Array,
    covariance: Sequence[Sequence[float]] | Array,
    lows: Sequence[float | None],
    highs: Sequence[float | None],
) -> float:
    """Return the probability that several figures lie in their bands together.

    Parameters
    ----------
    mean, covariance : as `Posterior.joint` returns them; up to 17 figures.
    lows, highs : edges of the bands; None leaves that side open.

    Notes
    -----
    Exact for one figure and for independent ones. Otherwise the separation of variables of
    Genz [1]_: with a Cholesky root of the correlations the probability becomes an integral over
    the unit cube, here taken at 1024 points of the sequence of square roots of primes, folded by
    |2 x - 1|; figures least likely in band come first. Always the same points, so always the same
    answer. Within 0.003 of the true value for up to eight figures (tested); within 0.01 where some
    figures are sums of others, the integrand then having jumps.

    References
    ----------
    .. [1] A. Genz, "Numerical Computation of Multivariate Normal Probabilities", *J. Comput.
       Graph. Stat.* 1 (1992), 141-149.
    """
    middle = np.asarray(mean, dtype=float)
    spread = np.asarray(covariance, dtype=float)
    sds = np.sqrt(np.maximum(np.diag(spread), 0.0)) if len(middle) else np.zeros(0)
    single = [
        chance_within(Estimate(float(m), float(sd)), low, high)
        for m, sd, low, high in zip(middle, sds, lows, highs, strict=True)
    ]
    if 0.0 in single:
        return 0.0
    below = np.array([-math.inf if low is None else low for low in lows], dtype=float) - middle
    above = np.array([math.inf if high is None else high for high in highs], dtype=float) - middle
    order = [int(i) for i in np.argsort(single, kind="stable")]
    chance = math.prod(single[i] for i in order if sds[i] == 0)
    for group in _tied([i for i in order if sds[i] > 0], spread):
        if len(group) == 1:
            chance *= single[group[0]]
            continue
        scale = sds[group]
        root = _semidefinite_root(spread[np.ix_(group, group)] / np.outer(scale, scale))
        chance *= _together(root, below[group] / scale, above[group] / scale)
    return min(1.0, max(0.0, chance))


def _tied(figures: Sequence[int], spread: Array) -> list[list[int]]:
    """Part the figures into groups that do not correlate with one another, each in order."""
    groups: list[list[int]] = []
    for i in figures:
        near = [g for g in groups if any(abs(spread[i, j]) > 1e-12 for j in g)]
        joined = sorted({i, *(j for g in near for j in g)}, key=figures.index)
        groups = [g for g in groups if g not in near] + [joined]
    return groups


def _together(root: Array, below: Array, above: Array) -> float:
    """Return the probability that correlated standard normals lie in their bands together."""
    size = len(root)
    steps = np.arange(1, _POINTS + 1)[:, None] * np.sqrt(_PRIMES[: size - 1])
    points = np.abs(2 * (steps % 1.0) - 1)
    drawn = np.zeros((_POINTS, size))
    chance = np.ones(_POINTS)
    for i in range(size):
        shift = drawn[:, :i] @ root[i, :i]
        if root[i, i] == 0:
            chance *= (below[i] - 1e-9 <= shift) & (shift <= above[i] + 1e-9)
            continue
        start = _normal((below[i] - shift) / root[i, i])
        end = _normal((above[i] - shift) / root[i, i])
        chance *= end - start
        if i + 1 < size:
            at = np.clip(start + points[:, i] * (end - start), 1e-15, 1 - 1e-15)
            drawn[:, i] = np.fromiter(map(NormalDist().inv_cdf, at.tolist()), float, _POINTS)
    return float(chance.mean())


def _semidefinite_root(correlation: Array) -> Array:
    """Return a lower triangular root; a figure that is a sum of those before it gets a pivot 0."""
    size = len(correlation)
    root = np.zeros((size, size))
    for i in range(size):
        for j in range(i):
            if root[j, j] > 0:
                root[i, j] = (correlation[i, j] - root[i, :j] @ root[j, :j]) / root[j, j]
        left = 1.0 - float(root[i, :i] @ root[i, :i])
        root[i, i] = math.sqrt(left) if left > 1e-9 else 0.0
    return root


def _normal(values: Array) -> Array:
    """Return the normal distribution function of every value."""
    scaled = (values * -math.sqrt(0.5)).tolist()
    return 0.5 * np.fromiter(map(math.erfc, scaled), float, len(scaled))
