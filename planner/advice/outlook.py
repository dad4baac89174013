"""What a change is expected to do: figures after it, chances, its worth, and its best size.

All of it is read off the posterior (`response`): what all runs so far say of the present figures
and of the car's answer, with their uncertainty.
"""

from collections.abc import Mapping, Sequence
from math import exp, inf, pi, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

import attrs

from planner.car.changes import Setting, tidy
from planner.rulebook.aims import Aim
from planner.rulebook.rules import Rulebook, TuningStage
from planner.trade.estimate import Estimate

if TYPE_CHECKING:  # numpy comes with it, and is loaded only when there is something to learn from
    from planner.learning.response import Posterior

# Joint chances are worked out for this many figures at most (see `response`).
MOST_TOGETHER = 16
# What acts on the tire it is turned at, and hardly elsewhere, by the stage it belongs to.
TIRE_KNOBS: Mapping[TuningStage, str] = {"camber": "camber", "pressure": "pressure"}
PULL = 0.1  # degF of expected excess that a degree nearer the aim is worth; from memory
RUN_MINUTES = 12.0  # a run and its readings, beside the work itself; from memory

_STANDARD = NormalDist()


@attrs.frozen(eq=False)
class Outlook:
    """The posterior, asked the questions that candidates ask.

    Attributes
    ----------
    known : what all runs so far say.
    book : the rules, for the bands of all figures.
    """

    known: "Posterior"
    book: Rulebook

    def after(self, names: Sequence[str], moves: Mapping[Setting, float]) -> dict[str, Estimate]:
        """Return the true figures after further moves."""
        if not names:
            return {}
        mean, covariance = self.known.joint(tuple(names), moved=moves)
        return {
            name: Estimate(float(mean[i]), sqrt(max(0.0, float(covariance[i, i]))))
            for i, name in enumerate(names)
        }

    def slope(self, names: Sequence[str], setting: Setting) -> float:
        """Return what one unit of a setting does to the mean of some figures [degF per unit]."""
        here, there = self.after(names, {}), self.after(names, {setting: 1.0})
        return sum(there[name].mean - here[name].mean for name in names) / len(names)

    def answer(self, name: str, setting: Setting) -> Estimate:
        """Return what one unit of a setting does to one figure, with its spread [degF per unit]."""
        return self.known.answer(setting, name)

    def believed(self, name: str, setting: Setting) -> Estimate:
        """Return what was believed of that before the first run [degF per unit]."""
        return self.known.believed(setting, name)

    def best_amount(self, aim: Aim, setting: Setting, step: float, most: float) -> float:
        """Return the amount, in whole steps, that is expected to end best.

        For a knob that acts on its own tire, nearest the aim: the expected squared distance
        E[(x - aim)²] = (m - aim)² + s² is smallest; an answer that is little known makes s grow
        with the amount, and so the first move more careful. A knob of the whole car moves what
        other stages look at too, and what one of them asks for the next would take back: there
        `expected_excess` over all bands decides, and the distance from the aim by `PULL`.
        """
        here = self._distance(aim, {})
        towards = (aim.target - here[0]) * self.slope(aim.figures, setting)
        sign = 1.0 if towards > 0 else -1.0
        amounts = [sign * tidy(step * n) for n in range(1, int(most / step + 1e-9) + 1)]
        own_tire = setting[0] in TIRE_KNOBS.values()

        def cost(amount: float) -> float:
            squared = self._distance(aim, {setting: amount})[1]
            if own_tire:
                return squared
            return self.expected_excess({setting: amount}) + PULL * sqrt(squared)

        return min(amounts or [sign * step], key=cost)

    def _distance(self, aim: Aim, moves: Mapping[Setting, float]) -> tuple[float, float]:
        """Return the mean of the aimed-at figures and their expected squared distance from it."""
        at = self.after(aim.figures, moves).values()
        mean = sum(each.mean for each in at) / len(aim.figures)
        squared = sum((each.mean - aim.target) ** 2 + each.sd**2 for each in at)
        return mean, squared

    def chance(self, names: Sequence[str], moves: Mapping[Setting, float]) -> float:
        """Return the chance that all of some figures lie in their bands after the moves."""
        if not names:
            return 1.0
        from planner.learning.joint_chance import chance_all_within

        mean, covariance = self.known.joint(tuple(names), moved=moves)
        bands = [self.book.edges(name) for name in names]
        lows = [-inf if low is None else low for low, _ in bands]
        highs = [inf if high is None else high for _, high in bands]
        return float(chance_all_within(mean, covariance, lows, highs))

    def stage_chance(self, stage: TuningStage, moves: Mapping[Setting, float]) -> float:
        """Return the chance that no fault of a stage is truly there after the moves.

        A pattern of several figures is a fault only where all of them are beyond the edge; such
        patterns and the figures that stand alone are taken as independent of one another.
        """
        from planner.learning.joint_chance import chance_all_within

        alone = self.book.figures_of((stage,), most_figures=1)
        chance = self.chance(alone[:MOST_TOGETHER], moves)
        for band in self.book.stage_bands:
            size = len(band.figures)
            if band.rule.stage != stage or size < 2:
                continue
            mean, covariance = self.known.joint(band.figures, moved=moves)
            lows, highs = [band.rule.above] * size, [band.rule.below] * size
            chance *= 1 - chance_all_within(mean, covariance, lows, highs)
        return chance

    def worth(self, moves: Mapping[Setting, float], minutes: float) -> float:
        """Return how much the moves are expected to fix on the whole car, per minute [degF/min]."""
        fixed = self.expected_excess({}) - self.expected_excess(moves)
        return fixed / (RUN_MINUTES + minutes)

    def expected_excess(
        self, moves: Mapping[Setting, float], stage: TuningStage | None = None
    ) -> float:
        """Return how far all figures are expected to be out of their bands, in sum [degF].

        Parameters
        ----------
        stage : only those of one stage.

        Notes
        -----
        For a figure with mean m and standard deviation s, the expected excess over an edge e is
        (m - e) P(z) + s p(z) with z = (m - e)/s, the loss of a normal variable beyond a threshold.
        """
        apart = self.known.estimate("front_split_gap").mean
        bands = [band for band in self.book.stage_bands if band.is_alike(apart)]
        if stage is not None:
            bands = [band for band in bands if band.rule.stage == stage]
        at = self.after(tuple(dict.fromkeys(n for band in bands for n in band.figures)), moves)
        return sum(
            min(_excess(band.beyond(at[name].mean), at[name].sd) for name in band.figures)
            for band in bands
        )


def _excess(beyond: float, sd: float) -> float:
    if sd == 0:
        return max(0.0, beyond)
    z = beyond / sd
    return beyond * _STANDARD.cdf(z) + sd * exp(-z * z / 2) / sqrt(2 * pi)
