"""Several knobs sized together: what is expected to leave least out of band, for the work it takes.

One search serves them all: a single change is the search over one knob, a stage's own change with
what rides along the search over all of those.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import attrs
import numpy as np
import numpy.typing as npt

from planner.advice.choices import Choices, cost_of
from planner.car.changes import Setting
from planner.judging.expected import Bands, Faults

if TYPE_CHECKING:
    from planner.learning.posterior import Posterior

Array = npt.NDArray[np.float64]

ROUNDS = 6  # of the search; it seldom needs more than three


@attrs.frozen(eq=False)
class Sized:
    """The moves found, and what is expected after them.

    Attributes
    ----------
    moves : by setting [unit of the knob]; a knob that is best left alone is not among them.
    faults : after them.
    cost : of their work, in units of the loss.
    """

    moves: Mapping[Setting, float]
    faults: Faults
    cost: float

    @property
    def total(self) -> float:
        """Loss and cost."""
        return float(self.faults.loss) + self.cost


class Search:
    """The figures of the bands along any move, in closed form, and the moves that do best."""

    def __init__(self, known: "Posterior", bands: Bands) -> None:
        """Begin at the car as it stands.

        Parameters
        ----------
        known : what all runs say.
        bands : what is counted.
        """
        self._known, self._bands = known, bands
        self._pull: dict[Setting, tuple[Array, Array, Array]] = {}
        self._sized: dict[frozenset[tuple[Setting, Choices]], Sized] = {}
        design, offset, own = known.figures_here()
        self._here = bands.weights @ design, bands.weights @ offset, own

    def size(self, choices: Mapping[Setting, Choices]) -> Sized:
        """Return the moves that leave least out of band.

        Parameters
        ----------
        choices : what each knob may be turned by.

        Notes
        -----
        Coordinate descent over whole steps: one knob after another takes the amount of least loss
        and cost, the others standing where they are, until none moves. The knob that gains most, or
        loses least, when it alone is turned goes first, so that a car and its mirror image are
        sized alike. Along one knob the mean of every figure is linear in the amount and its
        variance a square, so all amounts of a knob are weighed at once. A knob is weighed again
        only after another has moved.
        """
        asked = frozenset(choices.items())
        if asked not in self._sized:
            self._sized[asked] = self._searched(choices)
        return self._sized[asked]

    def _searched(self, choices: Mapping[Setting, Choices]) -> Sized:
        at: dict[Setting, float] = dict.fromkeys(choices, 0.0)
        turned = {knob: self._losses(knob, at, choice)[1:] for knob, choice in choices.items()}
        order = sorted(choices, key=lambda knob: float(min(turned[knob], default=np.inf)))
        to_weigh = set(choices)
        for setting in order * ROUNDS:
            if setting in to_weigh:
                amount, _ = self._best_of(setting, at, choices[setting])
                to_weigh = to_weigh if amount == at[setting] else set(choices)
                to_weigh.discard(setting)
                at[setting] = amount
        moves = {setting: amount for setting, amount in at.items() if amount}
        cost = cost_of(choices[setting].minutes for setting in moves)
        return Sized(moves, self.after(moves), cost)

    def _best_of(
        self, setting: Setting, at: Mapping[Setting, float], choice: Choices
    ) -> tuple[float, float]:
        """Return the best amount of one knob, the others as they are, and loss and cost then."""
        loss = self._losses(setting, at, choice)
        best = int(np.argmin(loss))
        return (0.0, *choice.amounts)[best], float(loss[best])

    def _losses(self, setting: Setting, at: Mapping[Setting, float], choice: Choices) -> Array:
        """Return loss and cost with one knob left alone, then at each of its amounts."""
        amounts = np.array((0.0, *choice.amounts))
        loss = self.along(setting, at, amounts).loss
        return np.where(amounts == 0, loss, loss + cost_of((choice.minutes,)))

    def best_amount(self, setting: Setting, amounts: Sequence[float]) -> float:
        """Return which of some amounts of one knob leaves least out of band."""
        loss = self.along(setting, {}, np.array(amounts)).loss
        return float(amounts[int(np.argmin(loss))])

    def with_one(
        self, one_of: Mapping[Setting, Choices], beside: Mapping[Setting, Choices]
    ) -> Sized:
        """Return the moves that leave least, of which at most one is of the first knobs.

        Parameters
        ----------
        one_of : of these one is turned: two at a time would not tell what each did.
        beside : all of these may be.

        Notes
        -----
        Which one is told with the others sized without it; then all are sized together.
        """
        alone = self.size(beside)
        best, least = None, float(alone.faults.loss)
        for setting, choice in one_of.items():
            amount, left = self._best_of(setting, alone.moves, choice)
            if amount and left < least:
                best, least = setting, left
        return alone if best is None else self.size({best: one_of[best], **beside})

    def after(self, moves: Mapping[Setting, float]) -> Faults:
        """Return what is expected after some moves."""
        design, offset, own = self._at(moves)
        covariance = design @ self._known.covariance @ design.T
        covariance += (self._bands.weights * own) @ self._bands.weights.T
        first, second = self._bands.pairs.T
        mean = design @ self._known.mean + offset
        return self._bands.faults_of(mean, np.diag(covariance), covariance[first, second])

    def along(self, setting: Setting, at: Mapping[Setting, float], amounts: Array) -> Faults:
        """Return what is expected with one knob at each of some amounts, the others as they are."""
        others = {other: amount for other, amount in at.items() if other != setting}
        design, offset, own = self._at(others)
        pull, shift, blur = self._of(setting)
        weights, spread = self._bands.weights, self._known.covariance
        first, second = self._bands.pairs.T
        a = amounts[:, None]
        mean = design @ self._known.mean + offset + a * (pull @ self._known.mean + shift)

        here, there = design @ spread, pull @ spread
        squares, products = weights**2, weights[first] * weights[second]
        variance = _rows(here, design) + squares @ own + a * 2 * _rows(here, pull)
        variance = variance + a**2 * (_rows(there, pull) + squares @ blur)
        shared = _rows(here[first], design[second]) + products @ own
        cross = _rows(here[first], pull[second]) + _rows(here[second], pull[first])
        shared = shared + a * cross
        shared = shared + a**2 * (_rows(there[first], pull[second]) + products @ blur)
        return self._bands.faults_of(mean, variance, shared)

    def _at(self, moves: Mapping[Setting, float]) -> tuple[Array, Array, Array]:
        design, offset, own = (each.copy() for each in self._here)
        for setting, amount in moves.items():
            if amount:
                pull, shift, blur = self._of(setting)
                design += amount * pull
                offset += amount * shift
                own += amount**2 * blur
        return design, offset, own

    def _of(self, setting: Setting) -> tuple[Array, Array, Array]:
        """Return what one unit of a setting does: to the design, the offset, the own variance."""
        if setting not in self._pull:
            design, offset, own = self._known.figures_along(setting)
            weights = self._bands.weights
            self._pull[setting] = weights @ design, weights @ offset, own
        return self._pull[setting]


def _rows(one: Array, other: Array) -> Array:
    """Return the product of the rows of two arrays, row by row."""
    return np.asarray(np.einsum("ij,ij->i", one, other))
