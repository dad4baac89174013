"""What is to be learned of a car, laid out: which parameter stands where, and its prior.

The parameters are the twelve base figures of the car as it was first run, the answers of the
settings that were moved or told of, the effects of the weather, and what families of answers share.
"""

import math
from collections.abc import Mapping, Sequence
from statistics import fmean

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.learning import levels
from planner.learning.families import Shared, shared
from planner.learning.observed import Observation, Priors, Told, answer_of, name_of
from planner.trade.corners import Turns
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, terms

Array = npt.NDArray[np.float64]

POSITION = {name: number for number, name in enumerate(BASE_FIGURES)}

# How much a condition ordinarily wanders between runs of a day, worth one recorded value when the
# value of a run is missing [degF, degF, laps]. From memory.
ORDINARY_SPREAD: Mapping[str, float] = {"track_temp": 5.0, "air_temp": 3.0, "tire_laps": 10.0}

# What a move of a knob that the rules know nothing of may do to any base figure [degF]: one
# standard deviation, for the largest such move of the day. From memory, deliberately wide.
UNKNOWN_MOVE = 15.0


@attrs.frozen(eq=False)
class Layout:
    """Which parameter stands where: twelve bases, slopes, conditions, families of answers.

    Attributes
    ----------
    slopes : where every answer stands that was moved or told of.
    effects : what was believed of the settings that were moved.
    shared : what every answer has of its family, moved or not.
    conditions, families : in their order.
    reference : mean of each recorded condition.
    wander : variance of a condition that was not recorded.
    """

    slopes: Mapping[tuple[Setting, str], int]
    effects: Mapping[Setting, Mapping[str, Estimate]]
    shared: Mapping[tuple[Setting, str], Shared]
    conditions: tuple[str, ...]
    families: tuple[str, ...]
    reference: Mapping[str, float]
    wander: Mapping[str, float]

    @property
    def size(self) -> int:
        """How many parameters there are."""
        return len(BASE_FIGURES) + len(self.slopes) + len(self.conditions) + len(self.families)

    @property
    def names(self) -> tuple[str, ...]:
        """What each parameter is called; see `Posterior`."""
        bases = (f"base {name}" for name in BASE_FIGURES)
        slopes = (name_of(*answer) for answer in self.slopes)
        return (*bases, *slopes, *self.conditions, *(f"family.{name}" for name in self.families))

    def condition_at(self, name: str) -> int:
        """Return where the effect of a condition stands."""
        return len(BASE_FIGURES) + len(self.slopes) + self.conditions.index(name)

    def family_at(self, name: str) -> int:
        """Return where what a family shares stands."""
        return self.size - len(self.families) + self.families.index(name)


def laid_out(observations: Sequence[Observation], priors: Priors) -> Layout:
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
    return Layout(slopes, effects, answers, tuple(used), tuple(families), reference, wander)


def _untracked(
    level: Setting, observations: Sequence[Observation], priors: Priors
) -> Estimate | None:
    """Return what the track does to the averages, if no run at a level recorded its temperature."""
    amounts = [seen.moved.get(level, 0.0) for seen in observations]
    there = (seen for seen, at in zip(observations, amounts, strict=True) if at == max(amounts))
    recorded = any("track_temp" in seen.conditions for seen in there)
    return None if recorded else priors.conditions.get("track_temp")


def scaled(layout: Layout, priors: Priors) -> tuple[Array, Array]:
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


def told_rows(priors: Priors, layout: Layout, scale: Array) -> Array:
    """Return what earlier days say, as rows of the same equations.

    Parameters
    ----------
    scale : as `scaled` returns it.
    """
    answers = [name for name in priors.told.answers if answer_of(name) in layout.slopes]
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


def weights_of(names: Sequence[str], turns: Turns) -> Array:
    """Return figures as weights on the base figures, (figures, 12)."""
    weights = np.zeros((len(names), len(BASE_FIGURES)))
    for row, name in enumerate(names):
        for term, weight in terms(name, turns).items():
            weights[row, POSITION[term]] = weight
    return weights
