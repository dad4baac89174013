"""The physics of one car on one day, without its state: what any setup truly shows."""

from collections.abc import Mapping, Sequence

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.rehearsal import laps, pace
from planner.rehearsal.body import Body
from planner.rehearsal.heat import STRIPS
from planner.rehearsal.laps import Conditions, Driven
from planner.rehearsal.truth import Truth
from planner.trade import figures as figure
from planner.trade.corners import CORNERS
from planner.trade.figures import Figures

Array = npt.NDArray[np.float64]

RUN_MINUTES = 12.0  # laps, reading, writing down; from memory
CHANGE_MINUTES = 8.0  # a change, on the average; from memory


@attrs.frozen(eq=False)
class World:
    """The physics of one car on one day, without its state; the same for whoever asks.

    Attributes
    ----------
    body : what is bolted together.
    truth : what is hidden.
    per_run : laps a run has.
    """

    body: Body
    truth: Truth
    per_run: int

    def fresh(self) -> Conditions:
        """Return the conditions of the first run: new tires in the morning."""
        return Conditions(0.0, np.full((4, 3), self.truth.rubber.depth))

    def driven(
        self,
        setups: Sequence[Mapping[Setting, float]],
        at: Conditions,
    ) -> Driven:
        """Drive a run with each of some setups, beside one another."""
        body, truth = self.body, self.truth
        effort = pace.together(
            pace.effort(body.in_turn(setup, truth), body.course, truth, body.guess)
            for setup in setups
        )
        on_tires = laps.at_tires(setups)
        return laps.drive(effort, on_tires, truth, body.course, at, self.per_run)

    def figures(
        self, setups: Sequence[Mapping[Setting, float]], at: Conditions
    ) -> tuple[Figures, ...]:
        """Return the true figures of each setup as the first tire is read, free of noise."""
        return self.as_read(self.driven(setups, at), at)

    def as_read(self, driven: Driven, at: Conditions) -> tuple[Figures, ...]:
        """Return the true figures of each setup driven, as the first tire is read."""
        air, _ = self.truth.weather.at(at.minutes)
        stood = laps.stand(driven.tires, self.truth, air, self.truth.delay)
        return tuple(true_figures(each) for each in stood.temperatures)

    def after_run(self, driven: Driven, at: Conditions) -> Conditions:
        """Return the conditions after a run, on the tires of the first setup driven."""
        return Conditions(at.minutes + RUN_MINUTES, driven.tires.tread[0])

    def after_change(self, at: Conditions) -> Conditions:
        """Return the conditions after a change."""
        return attrs.evolve(at, minutes=at.minutes + CHANGE_MINUTES)


def true_figures(temperatures: Array) -> Figures:
    """Return the figures of four tires, from the temperatures of their nodes (4, 5) [degF]."""
    strips = {
        corner: (float(inner), float(middle), float(outer))
        for corner, (inner, middle, outer) in zip(CORNERS, temperatures[:, STRIPS], strict=True)
    }
    return figure.compute(strips)
