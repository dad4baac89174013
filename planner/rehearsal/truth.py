"""The hidden truth of a simulated car: what its tires are like, and what the day does."""

import math

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import spread
from planner.rehearsal.gas import Casing
from planner.rehearsal.heat import Tire
from planner.rehearsal.rubber import Rubber
from planner.rehearsal.slip import Slip
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

    morning: float = spread.between(75.0, 65.0, 83.0)
    sun: float = spread.between(32.0, 22.0, 40.0)
    ripening: float = spread.between(14.0, 6.0, 18.0)
    climb: float = spread.between(150.0, 110.0, 200.0)

    def at(self, minutes: float) -> tuple[float, float]:
        """Return air and track temperature [degF] so long after the start of the day [min].

        Both climb as 1 − exp(−t / climb), the track by as much again as the air.
        """
        grown = 1 - math.exp(-minutes / self.climb)
        air = self.morning + self.ripening * grown
        return air, air + self.sun + self.ripening * grown


@attrs.frozen(eq=False, kw_only=True)
class Truth:
    """Parameters of the car and the day that no crew can look up; corners as LF RF LR RR.

    All values are from memory, of the right size only, and so are their spreads: what a compound
    does to heat and grip is known to a few percent, what the tread does with camber and pressure
    to a quarter, the weather to some degrees. The planner knows none of them.

    Attributes
    ----------
    tire : heat capacities and conductances.
    slip : force against slip.
    casing : what air does to the tires.
    pace : slip that the driver takes the end that slides more to, over that of the most force [1].
    heat : factor on the heat each tire makes [1]: left tires are of a softer compound. None is
        beyond 0.85 to 1.15.
    rolling : rolling loss over load at `rolling_load` and `rolling_psi`, hysteresis [1].
    by_load, by_pressure : exponents of that loss, which grows with load and falls with pressure
        [1]; of the form of SAE J2452, values from memory.
    patch_grows : exponent with which the contact area grows with load over pressure [1].
    in_tread : share of the hysteresis that heats the tread, the rest heats the carcass [1].
    drive, brake : force on the straights over the car's weight, by drive on the rear and brakes on
        the front [1].
    drive_share, brake_share : share of the straights for which they act [1].
    tread : how the tread takes its load.
    rubber : grip and wear.
    weather : of the day.
    per_tire : time to read one tire [s].
    delay : from the stop to the first reading [s].
    way_in : from the last turn to the stop, rolling slowly [s].
    ballast_rear, ballast_left : how far lead is moved [share of wheelbase and of track].
    unsprung : weight of each wheel over that of the car [1].
    hub : height of the hubs [in].
    cg_off : true height of the centre of gravity over that in the car file [1].
    rate_off : true vertical rate of each tire over that in the car file [1].
    """

    tire: Tire = spread.part(Tire)
    slip: Slip = spread.part(Slip)
    casing: Casing = spread.part(Casing)
    pace: float = spread.near(0.65, 0.03)
    heat: Array = spread.four_between((1.05, 0.88, 1.05, 0.88), (1.15, 0.98, 1.15, 0.98))
    rolling: float = spread.near(0.033, 0.04)
    rolling_load: float = 900.0
    rolling_psi: float = 27.0
    by_load: float = 0.85
    by_pressure: float = spread.near(0.55, 0.15)
    patch_grows: float = 0.7
    in_tread: float = spread.near(0.6, 0.08)
    drive: float = spread.near(0.22, 0.1)
    drive_share: float = 0.6
    brake: float = spread.near(0.22, 0.15)
    brake_share: float = 0.25
    tread: Tread = spread.part(Tread)
    rubber: Rubber = spread.part(Rubber)
    weather: Weather = spread.part(Weather)
    per_tire: float = spread.between(12.0, 11.0, 13.0)
    delay: float = spread.between(40.0, 30.0, 55.0)
    way_in: float = spread.between(20.0, 15.0, 25.0)
    ballast_rear: float = spread.near(0.5, 0.1)
    ballast_left: float = spread.near(0.5, 0.1)
    unsprung: Array = spread.four(0.035, 0.035, 0.055, 0.055, share=0.1)
    hub: float = 13.5
    cg_off: float = spread.near(1.0, 0.03)
    rate_off: Array = spread.four(1.0, 1.0, 1.0, 1.0, share=0.05, own=0.03)

    def rolled(self, load: Array, psi: Array) -> Array:
        """Return the rolling loss over way [lb] under loads [lb] at pressures [psi].

        r N (N / N0) ** (b − 1) (p0 / p) ** c, of the form of SAE J2452.
        """
        by_load = (np.maximum(load, 1.0) / self.rolling_load) ** (self.by_load - 1)
        lost: Array = self.rolling * load * by_load * (self.rolling_psi / psi) ** self.by_pressure
        return lost

    def patch(self, load: Array, psi: Array) -> Array:
        """Return the contact areas [in²] under loads [lb] at pressures [psi].

        A = N0/p0 (N p0 / (N0 p)) ** m: with m = 1 the pressure alone would carry the load; the
        casing bears a part, and a wide tread grows longer only (from memory).
        """
        base = self.rolling_load / self.rolling_psi
        area: Array = base * (load / psi / base) ** self.patch_grows
        return area


def draw(chance: np.random.Generator) -> Truth:
    """Draw the truth of one day around what is usual."""
    return spread.draw(Truth, chance)
