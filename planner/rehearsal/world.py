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
from planner.rehearsal.setups import beside
from planner.rehearsal.stance import stand
from planner.rehearsal.truth import Truth
from planner.trade import figures as figure
from planner.trade.corners import CORNERS, Corner
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
    scaled_with : pressures with which cross weight was set and stagger measured [psi], LF RF LR
        RR; None for those of each setup.
    """

    body: Body
    truth: Truth
    per_run: int
    scaled_with: Array | None = None

    def fresh(self) -> Conditions:
        """Return the conditions of the first run: new tires in the morning."""
        return Conditions(0.0, np.full((4, 3), self.truth.rubber.depth))

    def driven(
        self,
        setups: Sequence[Mapping[Setting, float]],
        at: Conditions,
    ) -> Driven:
        """Drive a run with each of some setups, beside one another."""
        on = beside(setups)
        effort = pace.effort(self.body, on, self.truth, self.scaled_with)
        return laps.drive(effort, on, self.truth, self.body.course, at, self.per_run)

    def measured(self, setup: Mapping[Setting, float]) -> tuple[dict[Corner, float], float]:
        """Return the scale loads [lb] and the stagger [in] of the car as it stands."""
        on = beside([setup])
        cold, casing = on.cold, self.truth.casing
        base = cold if self.scaled_with is None else self.scaled_with
        stance = stand(self.body, on, self.truth, self.scaled_with)
        gained = casing.radius_gained(cold, base)
        usual = self.body.tire_rate * self.truth.rate_off
        (loads,) = stance.at_rest(casing.rate(usual, cold, self.body.cold), gained)
        grown = 2 * np.pi * (gained[0, 3] - gained[0, 2])
        scales = dict(zip(CORNERS, map(float, loads), strict=True))
        return scales, float(on.stagger[0] + grown)

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
