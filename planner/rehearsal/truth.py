"""The hidden truth of a simulated car: what its tires are like, and what the day does."""

import math

import attrs
import numpy as np
import numpy.typing as npt

from planner.chassis.grip import TireModel
from planner.rehearsal import spread
from planner.rehearsal.heat import Tire
from planner.rehearsal.rubber import Rubber
from planner.rehearsal.tread import Tread

Array = npt.NDArray[np.float64]


@attrs.frozen
class Weather:
    """The weather of a day.

    Attributes
    ----------
    morning : air at the start [degF].
    sun : how far the track is above the air by then [degF].
    ripening : how far the air climbs, and the track beyond it [degF].
    climb : time constant of that climb [min].
    """

    morning: float = spread.between(68.0, 58.0, 76.0)
    sun: float = spread.between(22.0, 12.0, 28.0)
    ripening: float = spread.between(14.0, 6.0, 18.0)
    climb: float = spread.between(150.0, 110.0, 200.0)

    def at(self, minutes: float) -> tuple[float, float]:
        """Return air and track temperature [degF] so long after the start of the day [min].

        Both climb as 1 − exp(−t / climb), the track by as much again as the air.
        """
        grown = 1 - math.exp(-minutes / self.climb)
        air = self.morning + self.ripening * grown
        return air, air + self.sun + self.ripening * grown


def _tire_model(chance: np.random.Generator) -> TireModel:
    """Draw how grip grows with load, around the usual tire of the chassis formulas."""
    usual = TireModel()
    return TireModel(
        friction=usual.friction * math.exp(chance.normal(0.0, 0.03)),
        sensitivity=float(chance.uniform(0.10, 0.20)),
        longitudinal=usual.longitudinal * math.exp(chance.normal(0.0, 0.3)),
        limit_slip=usual.limit_slip * math.exp(chance.normal(0.0, 0.08)),
    )


@attrs.frozen(eq=False, kw_only=True)
class Truth:
    """Parameters of the car and the day that no crew can look up; corners as LF RF LR RR.

    All values are from memory, of the right size only, and so are their spreads: what a compound
    does to heat and grip is known to a few percent, what the tread does with camber and pressure
    to a quarter, the weather to some degrees. The heat factors of the tires were set once so that
    an ordinary car on ordinary settings reads about what the trade calls good. The planner knows
    none of them.

    Attributes
    ----------
    tire : heat capacities and conductances.
    model : grip against load and slip, as `planner.chassis.grip` has it.
    pace : share of the car's grip that the driver uses [1].
    heat : factor on the heat each tire makes [1]: compound and build. Left tires are of a softer
        compound and carry a taller share of the heat for their load.
    cooling : factor on the air's cooling of each tire [1].
    into_tire : share of the sliding heat that stays in the rubber [1].
    rolling : rolling loss over load, hysteresis [1].
    in_tread : share of the hysteresis that heats the tread, the rest heats the carcass [1].
    stiffening : exponent with which the rolling loss falls as pressure grows [1].
    drive, brake : sliding power on the straights by drive on the rear and brakes on the front,
        both tires of the axle together [W].
    tread : how the tread takes its load.
    rubber : grip and wear.
    weather : of the day.
    per_tire : time to read one tire [s].
    delay : from the stop to the first reading [s].
    ballast_rear, ballast_left : how far lead is moved [share of wheelbase and of track].
    """

    tire: Tire = spread.part(Tire)
    model: TireModel = spread.given(TireModel, _tire_model)
    pace: float = spread.near(0.80, 0.015)
    heat: Array = spread.four(2.46, 1.35, 1.90, 1.55, share=0.02, own=0.03)
    cooling: Array = spread.four(0.8, 1.0, 0.8, 1.0, share=0.02, own=0.02)
    into_tire: float = 0.5
    rolling: float = 0.022
    in_tread: float = spread.near(0.6, 0.08)
    stiffening: float = spread.near(0.5, 0.2)
    drive: float = spread.near(2400.0, 0.15)
    brake: float = spread.near(1200.0, 0.2)
    tread: Tread = spread.part(Tread)
    rubber: Rubber = spread.part(Rubber)
    weather: Weather = spread.part(Weather)
    per_tire: float = spread.between(12.0, 11.0, 13.0)
    delay: float = spread.between(40.0, 30.0, 55.0)
    ballast_rear: float = spread.near(0.5, 0.1)
    ballast_left: float = spread.near(0.5, 0.1)


def draw(chance: np.random.Generator) -> Truth:
    """Draw the truth of one day around what is usual."""
    return spread.draw(Truth, chance)
