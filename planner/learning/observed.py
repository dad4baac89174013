"""What the response model is given and gives: runs, beliefs, estimates, and plain chances."""

import math
from collections.abc import Mapping
from functools import cached_property

import attrs

from planner.car.changes import Setting
from planner.learning.families import ALIKE
from planner.trade import knobs
from planner.trade.corners import Corner
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, Noise

# What conditions do to all four averages alike, per degF, degF and lap. From memory, wide.
CONDITIONS: Mapping[str, Estimate] = {
    "track_temp": Estimate(0.5, 0.3),
    "air_temp": Estimate(0.2, 0.3),
    "tire_laps": Estimate(-0.02, 0.1),
}


@attrs.frozen
class Observation:
    """One good run as the regression sees it.

    Attributes
    ----------
    base : the twelve base figures [degF], corrections applied.
    moved : total displacement of each setting since the day's first run [unit of its knob], and of
        the set of tires and the part of the day; see `levels`.
    conditions : what was recorded of ``track_temp`` [degF], ``air_temp`` [degF] and
        ``tire_laps`` (laps on the tires before the run).
    extra_variance : variance of each single reading at a corner, beyond the noise's [degF²].
    level_variance : variance common to the three readings of a tire [degF²]: it is in the
        average and cancels in split and crown.
    common_variance : variance common to all tires, beyond the noise's [degF²].
    """

    base: Mapping[str, float]
    moved: Mapping[Setting, float] = attrs.field(factory=dict)
    conditions: Mapping[str, float] = attrs.field(factory=dict)
    extra_variance: Mapping[Corner, float] = attrs.field(factory=dict)
    level_variance: Mapping[Corner, float] = attrs.field(factory=dict)
    common_variance: float = 0.0

    @cached_property
    def setup(self) -> tuple[tuple[Setting, float], ...]:
        """What is moved, and how far, free of rounding: runs of equal setup repeat one another."""
        return tuple(sorted((s, round(a, 6)) for s, a in self.moved.items() if round(a, 6)))


@attrs.frozen
class Told:
    """What is known of some answers beyond what was believed of them anyway.

    The surprise of an answer is how far it lies from its believed mean, in believed standard
    deviations; so it can be taken to another track, where the same knob does more or less.

    Attributes
    ----------
    answers : named as the parameters of a `Posterior`: ``camber.RF split.RF``.
    rows : each a weight for every answer's surprise, and what the weighted sum is, give or take 1.
    """

    answers: tuple[str, ...] = ()
    rows: tuple[tuple[float, ...], ...] = ()

    @property
    def settings(self) -> tuple[Setting, ...]:
        """The settings whose answers these are."""
        return tuple(dict.fromkeys(setting for setting, _ in map(answer_of, self.answers)))


MOST_ANSWERS = 1000
_MOST = 1e6  # of a number in a row: far beyond any car


def mistakes(told: Told) -> list[str]:
    """Return what cannot be in a file's ``told`` whose keys and types are right, by its path."""
    if len(told.answers) > MOST_ANSWERS:
        return [f"answers: {len(told.answers)} of them; at most {MOST_ANSWERS} are taken"]
    if len(told.rows) > len(told.answers):
        return [f"rows: {len(told.rows)} of them for {len(told.answers)} answers"]
    problems = []
    for number, name in enumerate(told.answers, 1):
        (knob, place), figure = answer_of(name)
        if not knobs.is_place(knob, place) or figure not in BASE_FIGURES:
            problems.append(
                f"answers[{number}]: {name[:60]!r} is no answer; 'camber.RF split.RF' is"
            )
        if name in told.answers[: number - 1]:
            problems.append(f"answers[{number}]: {name[:60]!r} is there twice")
    for number, row in enumerate(told.rows, 1):
        if len(row) != len(told.answers) + 1:
            wanted = len(told.answers) + 1
            problems.append(f"rows[{number}]: {len(row)} numbers; {wanted} are wanted")
        elif not all(abs(value) <= _MOST for value in row):
            problems.append(f"rows[{number}]: a number beyond {_MOST:g} cannot be")
    return problems


def answer_of(name: str) -> tuple[Setting, str]:
    """Return the setting and the base figure that an answer is named after."""
    setting, _, figure = name.partition(" ")
    knob, _, place = setting.partition(".")
    return (knob, place), figure


def name_of(setting: Setting, figure: str) -> str:
    """Return the name of an answer."""
    return f"{setting[0]}.{setting[1]} {figure}"


@attrs.frozen
class Priors:
    """What is believed before the first run.

    Attributes
    ----------
    effects : change of base figures per unit of each setting; a figure not named does not move.
    conditions : change of the four averages per unit of each condition.
    noise : reading noise.
    alike : correlation of the relative surprises within a family of answers; see `families`.
    told : what earlier days of the car say of its answers, over `effects`.
    """

    effects: Mapping[Setting, Mapping[str, Estimate]]
    conditions: Mapping[str, Estimate] = attrs.field(factory=lambda: CONDITIONS)
    noise: Noise = Noise()
    alike: float = ALIKE
    told: Told = Told()


def two_sided(z: float) -> float:
    """Return the probability that a standard normal variable is farther from 0 than z."""
    return math.erfc(abs(z) / math.sqrt(2))


def chance_within(estimate: Estimate, low: float | None, high: float | None) -> float:
    """Return the probability that a figure lies in a band; None leaves that side open."""
    below = -math.inf if low is None else low - estimate.mean
    above = math.inf if high is None else high - estimate.mean
    if below > above:
        return 0.0
    if estimate.sd == 0:
        return 1.0 if below <= 0.0 <= above else 0.0
    if below > 0:  # the same from the other side, where the tail is not lost in rounding
        below, above = -above, -below
    scale = estimate.sd * math.sqrt(2)
    return 0.5 * (math.erfc(-above / scale) - math.erfc(-below / scale))
