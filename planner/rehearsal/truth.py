"""The hidden truth of a simulated car: what its tires are like, and what the day does."""

import math

import attrs
import numpy as np
import numpy.typing as npt

from planner.chassis.grip import TireModel
from planner.rehearsal.heat import Tire

Array = npt.NDArray[np.float64]


def _four(lf: float, rf: float, lr: float, rr: float) -> Array:
    return np.array([lf, rf, lr, rr])


@attrs.frozen(eq=False, kw_only=True)
class Truth:
    """Parameters of the car and the day that no crew can look up; corners as LF RF LR RR.

    All nominal values are from memory, of the right size only, unless one says otherwise. The
    heat factors of the tires were set once so that an ordinary car on ordinary settings reads
    about what the trade calls good; nothing of it is known to the planner.

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
    per_degree : load shift across the tread per degree of camber [1/deg].
    roll_gain : camber gained per degree of roll [1]; a solid rear axle gains none.
    flex : load shift per unit of side force over load [1].
    per_toe : load shift per radian of toe [1/rad].
    per_pressure : load shift to the middle per relative excess of pressure [1].
    flat_at : load [lb] and the pressure [psi] under which a tread stands flat.
    flat_grows, flat_by : exponent over load, and factor of each tire.
    best : temperature of most grip [degF].
    fade : share of grip lost 100 degF from it [1].
    tread_depth : when new [1/32 in].
    wear : tread lost per joule of sliding heat on a strip at 200 degF [1/32 in per J].
    worn_grip : share of grip lost by the time the tread is gone [1].
    morning, sun, ripening : air at the start [degF], how far the track is above it by then and
        grows beyond it, how far the air climbs [degF].
    climb : time constant of that climb [min].
    per_tire : time to read one tire [s].
    delay : from the stop to the first reading [s].
    ballast_rear, ballast_left : how far lead is moved [share of wheelbase and of track].
    """

    tire: Tire = Tire()
    model: TireModel = TireModel()
    pace: float = 0.80
    heat: Array = attrs.field(factory=lambda: _four(2.46, 1.35, 1.90, 1.55))
    cooling: Array = attrs.field(factory=lambda: _four(0.8, 1.0, 0.8, 1.0))
    into_tire: float = 0.5
    rolling: float = 0.022
    in_tread: float = 0.6
    stiffening: float = 0.5
    drive: float = 2400.0
    brake: float = 1200.0
    per_degree: Array = attrs.field(factory=lambda: _four(0.062, 0.062, 0.062, 0.062))
    roll_gain: Array = attrs.field(factory=lambda: _four(0.6, 0.6, 0.0, 0.0))
    flex: Array = attrs.field(factory=lambda: _four(0.155, 0.165, 0.031, 0.031))
    per_toe: float = 10.0
    per_pressure: Array = attrs.field(factory=lambda: _four(0.83, 1.20, 0.83, 1.20))
    flat_at: tuple[float, float] = (900.0, 27.0)
    flat_grows: float = 0.55
    flat_by: Array = attrs.field(factory=lambda: _four(0.90, 0.96, 0.82, 0.98))
    best: float = 210.0
    fade: float = 0.06
    tread_depth: float = 8.0
    wear: float = 9e-7
    worn_grip: float = 0.10
    morning: float = 68.0
    sun: float = 22.0
    ripening: float = 14.0
    climb: float = 150.0
    per_tire: float = 12.0
    delay: float = 40.0
    ballast_rear: float = 0.5
    ballast_left: float = 0.5

    def weather(self, minutes: float) -> tuple[float, float]:
        """Return air and track temperature [degF] so long after the start of the day [min].

        Both climb as 1 − exp(−t / climb), the track by as much again as the air.
        """
        grown = 1 - math.exp(-minutes / self.climb)
        air = self.morning + self.ripening * grown
        return air, air + self.sun + self.ripening * grown


def draw(chance: np.random.Generator) -> Truth:
    """Draw the truth of one day around the nominal one.

    Spreads are from memory: what a compound does to heat and grip is known to a few percent,
    what the tread does with camber and pressure to a quarter, the weather to some degrees.
    """

    def near(value: float, share: float) -> float:
        return float(value * math.exp(chance.normal(0.0, share)))

    def each(values: Array, share: float, own: float) -> Array:
        common = math.exp(chance.normal(0.0, share))
        return np.asarray(values * common * np.exp(chance.normal(0.0, own, 4)), dtype=np.float64)

    nominal = Truth()
    heat = nominal.tire
    return Truth(
        tire=attrs.evolve(
            heat,
            to_carcass=near(heat.to_carcass, 0.1),
            between=near(heat.between, 0.2),
            track=near(heat.track, 0.2),
            moving=near(heat.moving, 0.04),
        ),
        model=TireModel(
            friction=near(1.3, 0.03),
            sensitivity=float(chance.uniform(0.10, 0.20)),
            longitudinal=near(6.0, 0.3),
            limit_slip=near(0.12, 0.08),
        ),
        pace=near(nominal.pace, 0.015),
        heat=each(nominal.heat, 0.02, 0.03),
        cooling=each(nominal.cooling, 0.02, 0.02),
        in_tread=near(nominal.in_tread, 0.08),
        stiffening=near(nominal.stiffening, 0.2),
        drive=near(nominal.drive, 0.15),
        brake=near(nominal.brake, 0.2),
        per_degree=each(nominal.per_degree, 0.20, 0.10),
        roll_gain=nominal.roll_gain * near(1.0, 0.1),
        flex=each(nominal.flex, 0.10, 0.08),
        per_toe=near(nominal.per_toe, 0.3),
        per_pressure=each(nominal.per_pressure, 0.20, 0.10),
        flat_by=each(nominal.flat_by, 0.03, 0.03),
        wear=near(nominal.wear, 0.3),
        fade=near(nominal.fade, 0.3),
        morning=float(chance.uniform(58.0, 76.0)),
        sun=float(chance.uniform(12.0, 28.0)),
        ripening=float(chance.uniform(6.0, 18.0)),
        climb=float(chance.uniform(110.0, 200.0)),
        per_tire=float(chance.uniform(11.0, 13.0)),
        delay=float(chance.uniform(30.0, 55.0)),
        ballast_rear=near(nominal.ballast_rear, 0.1),
        ballast_left=near(nominal.ballast_left, 0.1),
    )
