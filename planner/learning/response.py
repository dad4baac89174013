"""How this car answers its knobs: learned from the day's runs, one figure and one knob at a time.

`learn` turns runs and prior effects into a `Posterior`; that predicts figures after any further
move.
"""

import math
from collections.abc import Mapping, Sequence
from functools import cached_property
from statistics import fmean

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.learning import levels
from planner.learning.families import Shared, shared
from planner.learning.observed import Observation, Priors, Told, answer_of, name_of
from planner.learning.reading_noise import AVERAGES, SHARE
from planner.trade.corners import CORNERS, Turns
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, terms

Array = npt.NDArray[np.float64]
Equations = tuple[Array, Array, Array]  # design, offset, own variance

_POSITION = {name: number for number, name in enumerate(BASE_FIGURES)}
_IS_AVERAGE: Array = np.repeat([1.0, 0.0, 0.0], 4)

# How much a condition ordinarily wanders between runs of a day, worth one recorded value when the
# value of a run is missing [degF, degF, laps]. From memory.
ORDINARY_SPREAD: Mapping[str, float] = {"track_temp": 5.0, "air_temp": 3.0, "tire_laps": 10.0}

# What a move of a knob that the rules know nothing of may do to any base figure [degF]: one
# standard deviation, for the largest such move of the day. From memory, deliberately wide.
UNKNOWN_MOVE = 15.0

# How far a figure that no run of the day has read may be from what is ordinary [degF]: an average
# from those of the other tires, a split or a crown from 0. From memory, wide.
NEVER_READ: Mapping[str, float] = {"average": 25.0, "split": 15.0, "crown": 6.0}


@attrs.frozen(eq=False)
class _Layout:
    """Which parameter stands where: twelve bases, slopes, conditions, families of answers."""

    slopes: Mapping[tuple[Setting, str], int]
    effects: Mapping[Setting, Mapping[str, Estimate]]  # of what was moved
    shared: Mapping[tuple[Setting, str], Shared]  # of every answer, moved or not
    conditions: tuple[str, ...]
    families: tuple[str, ...]
    reference: Mapping[str, float]
    wander: Mapping[str, float]  # variance of a value that was not recorded

    @property
    def size(self) -> int:
        return len(BASE_FIGURES) + len(self.slopes) + len(self.conditions) + len(self.families)

    @property
    def names(self) -> tuple[str, ...]:
        """What each parameter is called; see `Posterior`."""
        bases = (f"base {name}" for name in BASE_FIGURES)
        slopes = (name_of(*answer) for answer in self.slopes)
        return (*bases, *slopes, *self.conditions, *(f"family.{name}" for name in self.families))

    def condition_at(self, name: str) -> int:
        return len(BASE_FIGURES) + len(self.slopes) + self.conditions.index(name)

    def family_at(self, name: str) -> int:
        return self.size - len(self.families) + self.families.index(name)


@attrs.frozen(eq=False)
class Posterior:
    """What is known after the runs; made by `learn`.

    Attributes
    ----------
    parameters : name of each parameter: ``base average.LF``, ``pressure.RF crown.RF``,
        ``track_temp``, ``family.camber split``. Base figures are those of the car as it was
        first run, at the mean of the recorded conditions.
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
        The slopes of a setting that was not moved in any run depend on the data by their family
        alone, so what is their own is added here and needs no place among the parameters. A
        condition of the latest run that was not recorded is taken at the mean of those that were,
        with their spread as its error.
        """
        total = dict(self.moved)
        for setting, amount in (moved or {}).items():
            total[setting] = total.get(setting, 0.0) + amount
        return self.at(names, total, {**self.conditions, **(conditions or {})})

    def after_another_run(self, names: Sequence[str]) -> tuple[list[Estimate], list[float]]:
        """Return figures as known now, and their spread after one more run of the same car [degF].

        Parameters
        ----------
        names : of figures.

        """
        weights = _weights(names, self.turns)
        mean, now, after = self.base_after_another_run()
        spreads = [
            np.sqrt(np.maximum(0.0, np.diag(weights @ each @ weights.T))) for each in (now, after)
        ]
        known = [
            Estimate(float(at), float(sd))
            for at, sd in zip(weights @ mean, spreads[0], strict=True)
        ]
        return known, spreads[1].tolist()

    def base_after_another_run(self) -> Equations:
        """Return the base figures as known now: mean, covariance, and that after one more run.

        Notes
        -----
        For the twelve base figures with covariance C and a run whose readings have covariance N,
        what is left after the run is C - C (C + N)^-1 C (as in `learn`), whatever it reads.
        """
        mean, now = self.joint(BASE_FIGURES)
        return mean, now, now - now @ np.linalg.solve(now + self._noise_of_a_run(), now)

    def _noise_of_a_run(self) -> Array:
        """Return the covariance of the twelve base figures of one run's readings [degF²]."""
        noise = self.priors.noise
        shared = np.outer(_IS_AVERAGE, _IS_AVERAGE) * noise.run**2
        return np.asarray(np.diag(noise.reading**2 * SHARE) + shared)

    def sensitivity(self, setting: Setting, figure: str) -> Estimate:
        """Return the change of a base figure per unit of a setting [degF per unit].

        What its family has taught where the setting has not been moved; 0 ± 0 where it does not
        act.
        """
        at = self._layout.slopes.get((setting, figure))
        if at is not None:
            return Estimate(
                float(self.mean[at]), math.sqrt(max(0.0, float(self.covariance[at, at])))
            )
        prior, common = self.prior_of(setting, figure), self._layout.shared.get((setting, figure))
        if common is None or not common.size:
            return prior
        at = self._layout.family_at(common.family)
        variance = common.size**2 * float(self.covariance[at, at]) + common.own**2
        return Estimate(prior.mean + common.size * float(self.mean[at]), math.sqrt(variance))

    def answer(self, setting: Setting, name: str) -> Estimate:
        """Return the change of any figure per unit of a setting [degF per unit]."""
        if setting in self._layout.effects or setting in self.priors.effects:
            return self.difference({setting: 1.0}, name)
        return Estimate(0.0, 0.0)

    def believed(self, setting: Setting, name: str) -> Estimate:
        """Return what was believed of that before the first run [degF per unit]."""
        if setting in self._layout.effects or setting in self.priors.effects:
            return self._difference({setting: 1.0}, name, *self.before)
        return Estimate(0.0, 0.0)

    @cached_property
    def before(self) -> tuple[Array, Array]:
        """Mean and covariance of the parameters before the first run; 0 for base figures.

        Earlier days count, the runs of this one do not.
        """
        first = len(BASE_FIGURES)
        answers = self._layout.size - first
        told = _told_rows(self.priors, self._layout)[:, first:]
        stacked = np.vstack([np.eye(answers, answers + 1), told])
        triangle: Array = np.asarray(np.linalg.qr(stacked, mode="r"))
        middle, scale = _scaled(self._layout, self.priors)
        spread = scale[:, first:] @ np.linalg.inv(triangle[:answers, :answers])
        return middle + spread @ triangle[:answers, answers], spread @ spread.T

    def difference(self, moved: Mapping[Setting, float], name: str) -> Estimate:
        """Return what some displacements together do to a figure [degF]."""
        return self._difference(moved, name, self.mean, self.covariance)

    def _difference(
        self, moved: Mapping[Setting, float], name: str, mean: Array, covariance: Array
    ) -> Estimate:
        size = len(BASE_FIGURES)
        design, offset, own = np.zeros((size, self._layout.size)), np.zeros(size), np.zeros(size)
        common = 0.0
        for setting, amount in moved.items():
            common += self._move(setting, amount, design, offset, own)
        weights = _weights((name,), self.turns)[0]
        row = weights @ design
        variance = float(row @ covariance @ row + weights**2 @ own)
        variance += common * float(weights @ _IS_AVERAGE) ** 2
        return Estimate(float(row @ mean + weights @ offset), math.sqrt(max(0.0, variance)))

    def learned(self) -> tuple[tuple[Setting, str], ...]:
        """Return every (setting, base figure) that a run has said something about."""
        return tuple(each for each in self._layout.slopes if each[0] in self._layout.effects)

    def prior_of(self, setting: Setting, figure: str) -> Estimate:
        """Return the effect that is believed of any car like this one; 0 ± 0 for none."""
        effects = self._layout.effects.get(setting, self.priors.effects.get(setting, {}))
        return effects.get(figure, Estimate(0.0, 0.0))

    def at(
        self, names: Sequence[str], total: Mapping[Setting, float], conditions: Mapping[str, float]
    ) -> tuple[Array, Array]:
        """Return the figures at total displacements and at conditions; see `joint`.

        Parameters
        ----------
        total : since the day's first run [unit of the knob].
        """
        design, offset, own, common = self._equations(total, conditions)
        weights = _weights(names, self.turns)
        rows = weights @ design
        mean = rows @ self.mean + weights @ offset
        covariance = rows @ self.covariance @ rows.T + (weights * own) @ weights.T
        shared = weights @ _IS_AVERAGE
        return mean, covariance + common * np.outer(shared, shared)

    def figures_here(self) -> Equations:
        """Return the base figures of the car as it stands, as equations; see `_equations`."""
        design, offset, own, _ = self._equations(self.moved, self.conditions)
        return design, offset, own

    def figures_along(self, setting: Setting) -> Equations:
        """Return what one unit of a setting adds to `figures_here`.

        Its own variance goes by the square of the amount.
        """
        size = len(BASE_FIGURES)
        design, offset, own = np.zeros((size, self._layout.size)), np.zeros(size), np.zeros(size)
        self._move(setting, 1.0, design, offset, own)
        return design, offset, own

    def _equations(
        self, total: Mapping[Setting, float], conditions: Mapping[str, float]
    ) -> tuple[Array, Array, Array, float]:
        """Return the base figures as design @ parameters + offset.

        Returns
        -------
        tuple
            Design (12, parameters), offset (12,) [degF], a variance of each figure's own (12,)
            and one common to the averages [degF²].
        """
        size = len(BASE_FIGURES)
        design, offset, own = np.zeros((size, self._layout.size)), np.zeros(size), np.zeros(size)
        design[:, :size] = np.eye(size)
        common = 0.0
        for setting, amount in total.items():
            if amount:
                common += self._move(setting, amount, design, offset, own)
        return design, offset, own, common + self._weather(conditions, design, offset)

    def _move(
        self, setting: Setting, amount: float, design: Array, offset: Array, own: Array
    ) -> float:
        """Put what a setting does into the equations: its parameters, or family and rest.

        Returns
        -------
        float
            A variance common to the averages [degF²]: that of a level which no run has shown.
        """
        effects = self._layout.effects.get(setting) or self.priors.effects.get(setting)
        if effects is None and levels.is_level(setting):
            return self._unseen(setting, own)
        if effects is None:
            own += UNKNOWN_MOVE**2
            return 0.0
        for figure, effect in effects.items():
            row = _POSITION[figure]
            column = self._layout.slopes.get((setting, figure))
            if column is not None:
                design[row, column] = amount
                continue
            common = self._layout.shared[setting, figure]
            offset[row] += amount * effect.mean
            own[row] += (amount * common.own) ** 2
            if common.size:
                design[row, self._layout.family_at(common.family)] += amount * common.size
        return 0.0

    def _unseen(self, level: Setting, own: Array) -> float:
        """Add the variance of a level that no run has shown; return what its averages share."""
        untracked = "track_temp" not in self._layout.reference
        track = self.priors.conditions.get("track_temp") if untracked else None
        alone = np.array([levels.own(level, name) for name in BASE_FIGURES], dtype=np.float64) ** 2
        own += alone
        spread = levels.prior(level, track)[BASE_FIGURES[0]].sd
        return float(spread**2 - alone[0])

    def _weather(self, conditions: Mapping[str, float], design: Array, offset: Array) -> float:
        """Put conditions into the equations; return the variance common to the averages."""
        layout, common = self._layout, 0.0
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
                    design[AVERAGES, column] = value - layout.reference[name]
            elif value is not None:  # recorded once: the coefficient is still the prior's
                shift = value - layout.reference[name]
                offset[AVERAGES] += shift * prior.mean
                common += (shift * prior.sd) ** 2
        return common


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
    layout = _laid_out(observations, priors)
    first, size = len(BASE_FIGURES), layout.size
    whitened = _whitened(_rows(observations, priors, layout), observations, priors, layout)
    told = _told_rows(priors, layout)
    rows = np.vstack([whitened, _never_read(observations, size), told])
    prior_rows = np.zeros((size - first, size + 1))
    prior_rows[:, first:size] = np.eye(size - first)
    triangle: Array = np.asarray(np.linalg.qr(np.vstack([rows, prior_rows]), mode="r"))
    root = np.linalg.inv(triangle[:size, :size])
    middle, scale = _scaled(layout, priors)
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


def _scaled(layout: _Layout, priors: Priors) -> tuple[Array, Array]:
    """Return prior means, and the matrix that turns what is solved for into the parameters."""
    middle, scale = np.zeros(layout.size), np.eye(layout.size)
    for (setting, figure), at in layout.slopes.items():
        common = layout.shared[setting, figure]
        middle[at] = (layout.effects.get(setting) or priors.effects[setting])[figure].mean
        scale[at, at] = common.own
        if common.size:
            scale[at, layout.family_at(common.family)] = common.size
    for name in layout.conditions:
        at = layout.condition_at(name)
        middle[at], scale[at, at] = priors.conditions[name].mean, priors.conditions[name].sd
    return middle, scale


def _rows(observations: Sequence[Observation], priors: Priors, layout: _Layout) -> Array:
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
            row = _POSITION[figure]
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


def _laid_out(observations: Sequence[Observation], priors: Priors) -> _Layout:
    """Give every parameter its place."""
    largest: dict[Setting, float] = {}
    for seen in observations:
        for setting, amount in seen.moved.items():
            if amount:
                largest[setting] = max(largest.get(setting, 0.0), abs(amount))
    effects: dict[Setting, Mapping[str, Estimate]] = {}
    slopes: dict[tuple[Setting, str], int] = {}
    for setting in sorted(largest):
        known = priors.effects.get(setting)
        if known is None and levels.is_level(setting):
            known = levels.prior(setting, _untracked(setting, observations, priors))
        if known is None:
            unknown = Estimate(0.0, UNKNOWN_MOVE / largest[setting])
            known = dict.fromkeys(BASE_FIGURES, unknown)
        effects[setting] = known
        for figure in known:
            slopes[setting, figure] = len(BASE_FIGURES) + len(slopes)
    for setting, figure in map(answer_of, priors.told.answers):
        effect = priors.effects.get(setting, {}).get(figure)
        if effect is not None and effect.sd > 0:
            slopes.setdefault((setting, figure), len(BASE_FIGURES) + len(slopes))
    reference: dict[str, float] = {}
    wander: dict[str, float] = {}
    used = []
    for name in priors.conditions:
        values = [seen.conditions[name] for seen in observations if name in seen.conditions]
        if not values:
            continue
        count = len(values)
        reference[name] = fmean(values)
        squares = math.fsum((value - reference[name]) ** 2 for value in values)
        ordinary = ORDINARY_SPREAD.get(name, 0.0) ** 2
        wander[name] = (ordinary + squares) / count * (1 + 1 / count)
        if count >= 2:
            used.append(name)
    answers = shared({**priors.effects, **effects}, priors.alike)
    families = dict.fromkeys(each.family for each in answers.values() if each.size)
    return _Layout(slopes, effects, answers, tuple(used), tuple(families), reference, wander)


def _told_rows(priors: Priors, layout: _Layout) -> Array:
    """Return what earlier days say, as rows of the same equations."""
    answers = [name for name in priors.told.answers if answer_of(name) in layout.slopes]
    _, scale = _scaled(layout, priors)
    surprises = scale[[layout.slopes[answer_of(name)] for name in answers]]
    surprises /= np.linalg.norm(surprises, axis=1, keepdims=True)
    design, comes_to = rows_over(priors.told, answers)
    return np.column_stack([design @ surprises, comes_to])


def rows_over(told: Told, answers: Sequence[str]) -> tuple[Array, Array]:
    """Return the rows of what is told over some answers, and what they come to.

    An answer that is not among them is anything it was believed to be: it widens its rows.
    """
    rows = np.array(told.rows, dtype=float).reshape(len(told.rows), len(told.answers) + 1)
    place = {name: number for number, name in enumerate(answers)}
    design, left = np.zeros((len(rows), len(answers))), np.zeros(len(rows))
    for column, name in enumerate(told.answers):
        if name in place:
            design[:, place[name]] = rows[:, column]
        else:
            left += rows[:, column] ** 2
    scale = np.sqrt(1 + left)
    return design / scale[:, None], rows[:, -1] / scale


def believed_together(priors: Priors, answers: Sequence[tuple[Setting, str]]) -> Array:
    """Return how the surprises of answers correlate before anything is known; see `families`."""
    of = shared(priors.effects, priors.alike)
    parts = [of[answer] for answer in answers]
    spread = [math.hypot(each.own, each.size) for each in parts]
    size = np.array([each.size / at for each, at in zip(parts, spread, strict=True)])
    families = np.array([each.family for each in parts])
    found = np.outer(size, size) * (families[:, None] == families)
    np.fill_diagonal(found, 1.0)
    return np.asarray(found, dtype=np.float64)


def _untracked(
    level: Setting, observations: Sequence[Observation], priors: Priors
) -> Estimate | None:
    """Return what the track does to the averages, if no run at a level recorded its temperature."""
    amounts = [seen.moved.get(level, 0.0) for seen in observations]
    there = (seen for seen, at in zip(observations, amounts, strict=True) if at == max(amounts))
    recorded = any("track_temp" in seen.conditions for seen in there)
    return None if recorded else priors.conditions.get("track_temp")


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
