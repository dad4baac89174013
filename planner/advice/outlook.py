"""What a change is expected to do: figures after it, what is out of band then, and its worth.

All of it is read off the posterior (`response`): what all runs so far say of the present figures
and of the car's answer, with their uncertainty.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cached_property
from math import sqrt
from typing import TYPE_CHECKING

import attrs

from planner.advice.choices import Choices, cost_of
from planner.car.changes import Setting
from planner.judging.patterns import EVEN
from planner.rulebook.rules import Rulebook, TuningStage
from planner.trade.estimate import Estimate

if TYPE_CHECKING:  # numpy comes with it, and is loaded only when there is something to learn from
    from planner.advice.together import Search, Sized
    from planner.judging.expected import Bands, Faults
    from planner.learning.posterior import Posterior

# What acts on the tire it is turned at, and hardly elsewhere.
TIRE_KNOBS = ("camber", "pressure", "toe")


@attrs.frozen(eq=False)
class Outlook:
    """The posterior, asked the questions that candidates ask.

    Attributes
    ----------
    known : what all runs so far say.
    book : the rules, for the bands of all figures.
    left_open : patterns that the crew has left as they are; they count no more.
    """

    known: "Posterior"
    book: Rulebook
    left_open: Collection[str] = ()

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

    @cached_property
    def bands(self) -> "Bands":
        """The bands that count."""
        from planner.judging.expected import Bands

        return Bands.of(self.book, self.known.turns, self.left_open)

    @cached_property
    def _search(self) -> "Search":
        from planner.advice.together import Search

        return Search(self.known, self.bands)

    @cached_property
    def faults(self) -> "Faults":
        """What is expected to be out of band now."""
        return self._search.after({})

    @cached_property
    def chances(self) -> dict[str, float]:
        """The chance of every fault that counts, by its key ``id:corner``."""
        keys = (band.key for band in self.bands.bands)
        return dict(zip(keys, self.faults.chance.tolist(), strict=True))

    @property
    def unseen_after_another_run(self) -> float:
        """How many faults are expected there and still unseen after one more run, unchanged."""
        return self.bands.unseen(*self.known.base_after_another_run())

    def faults_after(self, moves: Mapping[Setting, float]) -> "Faults":
        """Return what is expected to be out of band after further moves."""
        return self._search.after(moves)

    def best_with_one(
        self, one_of: Mapping[Setting, Choices], beside: Mapping[Setting, Choices]
    ) -> "Sized":
        """Return the moves that leave least out of band; see `together.Search.with_one`."""
        return self._search.with_one(one_of, beside)

    def best_amount(self, setting: Setting, amounts: Sequence[float]) -> float:
        """Return which of some amounts of one knob leaves least out of band."""
        return self._search.best_amount(setting, amounts)

    def gain(self, moves: Mapping[Setting, float], minutes: Iterable[float]) -> float:
        """Return by how much moves lessen what is out of band, their work counted.

        Parameters
        ----------
        minutes : of work, of each knob turned.
        """
        left = float(self._search.after(moves).loss) + cost_of(minutes)
        return float(self.faults.loss) - left

    def loss_of(self, stage: TuningStage, moves: Mapping[Setting, float]) -> float:
        """Return what of the loss is of one stage, after further moves."""
        faults, of_stage = self.faults_after(moves), self.bands.of_stage(stage)
        return float(type(faults)(faults.chance[of_stage], faults.excess[of_stage]).loss)

    def stage_chance(self, stage: TuningStage, moves: Mapping[Setting, float]) -> float:
        """Return the chance that no fault of a stage is there after the moves.

        Faults are taken as independent of one another, as in all that is expected of them.
        """
        chance = self.faults_after(moves).chance
        return float((1 - chance[self.bands.of_stage(stage)]).prod())

    def upset(self, stage: TuningStage, moves: Mapping[Setting, float]) -> float:
        """Return how much the chance falls that what is in band in other stages stays there."""
        here, there = self.faults.chance, self.faults_after(moves).chance
        others = (self.bands.of_stage(stage) == 0) & (here < EVEN)
        return max(0.0, float((1 - here[others]).prod() - (1 - there[others]).prod()))
