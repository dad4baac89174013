"""What is known of a car after its runs: its figures after any further move, and its answers."""

import math
from collections.abc import Mapping, Sequence
from functools import cached_property

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.learning import levels
from planner.learning.layout import POSITION, UNKNOWN_MOVE, Layout, scaled, told_rows, weights_of
from planner.learning.observed import Priors
from planner.learning.reading_noise import AVERAGES, of_a_run
from planner.trade.corners import Turns
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES

Array = npt.NDArray[np.float64]
Equations = tuple[Array, Array, Array]  # design, offset, own variance

IS_AVERAGE: Array = np.repeat([1.0, 0.0, 0.0], 4)


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
    _layout: Layout

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
        weights = weights_of(names, self.turns)
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
        return mean, now, now - now @ np.linalg.solve(now + of_a_run(self.priors.noise), now)

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
        middle, scale = scaled(self._layout, self.priors)
        told = told_rows(self.priors, self._layout, scale)[:, first:]
        stacked = np.vstack([np.eye(answers, answers + 1), told])
        triangle: Array = np.asarray(np.linalg.qr(stacked, mode="r"))
        spread = scale[:, first:] @ np.linalg.inv(triangle[:answers, :answers])
        return middle + spread @ triangle[:answers, answers], spread @ spread.T

    def difference(self, moved: Mapping[Setting, float], name: str) -> Estimate:
        """Return what some displacements together do to a figure [degF]."""
        return self._difference(moved, name, self.mean, self.covariance)

    def _difference(
        self, moved: Mapping[Setting, float], name: str, mean: Array, covariance: Array
    ) -> Estimate:
        design, offset, own = self._nothing()
        common = 0.0
        for setting, amount in moved.items():
            common += self._move(setting, amount, design, offset, own)
        weights = weights_of((name,), self.turns)[0]
        row = weights @ design
        variance = float(row @ covariance @ row + weights**2 @ own)
        variance += common * float(weights @ IS_AVERAGE) ** 2
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
        weights = weights_of(names, self.turns)
        rows = weights @ design
        mean = rows @ self.mean + weights @ offset
        covariance = rows @ self.covariance @ rows.T + (weights * own) @ weights.T
        shared = weights @ IS_AVERAGE
        return mean, covariance + common * np.outer(shared, shared)

    def figures_here(self) -> Equations:
        """Return the base figures of the car as it stands, as equations; see `_equations`."""
        design, offset, own, _ = self._equations(self.moved, self.conditions)
        return design, offset, own

    def figures_along(self, setting: Setting) -> Equations:
        """Return what one unit of a setting adds to `figures_here`.

        Its own variance goes by the square of the amount.
        """
        design, offset, own = self._nothing()
        self._move(setting, 1.0, design, offset, own)
        return design, offset, own

    def _nothing(self) -> Equations:
        """Return equations that say nothing yet."""
        size = len(BASE_FIGURES)
        return np.zeros((size, self._layout.size)), np.zeros(size), np.zeros(size)

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
        design, offset, own = self._nothing()
        design[:, : len(BASE_FIGURES)] = np.eye(len(BASE_FIGURES))
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
            row = POSITION[figure]
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
        return levels.common(level, track) ** 2

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
