"""The laps: sliding and hysteresis heat the tires, lap by lap, and wear them."""

from collections.abc import Iterator, Mapping, Sequence

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.chassis.air import ABSOLUTE_ZERO_F, atmospheric_pressure
from planner.rehearsal import heat, tread
from planner.rehearsal.body import Course
from planner.rehearsal.heat import Around
from planner.rehearsal.pace import Effort
from planner.rehearsal.truth import Truth
from planner.trade.corners import CORNERS

Array = npt.NDArray[np.float64]

METER_PER_FOOT = 0.3048  # exact; NIST SP 811, appendix B.8
NEWTON_PER_LB = 4.4482216  # NIST SP 811, appendix B.8

FASTER_ON_STRAIGHTS = 1.22  # mean speed there over that in the turns; from memory
STEPS_TURN, STEPS_STRAIGHT = 8, 6  # of a lap's turns and straights: near 1.5 s and 1 s each
STANDING_STEP = 2.0  # s, of a tire that stands in the pits
TOE_RADIUS_IN = 13.5  # in, at which toe is measured: the tread of an 85 in tire
IN_TURNS = 0.65  # share of the time; from memory


@attrs.frozen
class Conditions:
    """When and on what a run is driven: minutes since the start, tread on every strip [1/32 in]."""

    minutes: float
    tread: Array


@attrs.frozen(eq=False)
class Tires:
    """The tires of several setups at one moment; corners as LF RF LR RR.

    Attributes
    ----------
    temperatures : of the nodes, shape (setups, 4, 5) [degF].
    tread : left on every strip, shape (setups, 4, 3) [1/32 in].
    """

    temperatures: Array
    tread: Array


@attrs.frozen(eq=False)
class Settings:
    """What acts at the tires themselves, for several setups; corners as LF RF LR RR.

    Attributes
    ----------
    camber : [deg], shape (setups, 4).
    cold : pressure set cold [psi], shape (setups, 4).
    toe : angle by which each tire points towards the centreline [rad], shape (setups, 4).
    """

    camber: Array
    cold: Array
    toe: Array


@attrs.frozen(eq=False)
class Driven:
    """What there is after the last lap, for several setups.

    Attributes
    ----------
    tires : as they come in.
    hot : their pressure, shape (setups, 4) [psi].
    lap_times : shape (setups, laps) [s].
    usage : share of grip used in the turns, front and rear, shape (setups, 2) [1].
    """

    tires: Tires
    hot: Array
    lap_times: Array
    usage: Array


@attrs.frozen(eq=False)
class Stretch:
    """The turns of a lap, or its straights, as they work the tires of several setups.

    Attributes
    ----------
    edge : load shift towards the outer edge [1].
    sliding : power of sliding with all grip there [W].
    by_grip : exponent with which that power goes as the grip.
    load : on each tire [lb].
    faster : mean speed over that in the turns [1].
    feet : its length [ft].
    steps : that the heat takes it in.
    """

    edge: Array
    sliding: Array
    by_grip: float
    load: Array
    faster: float
    feet: float
    steps: int


@attrs.frozen(eq=False)
class Lap:
    """What holds through one lap, as the tires were when it began.

    Attributes
    ----------
    left : tread on every strip, as a share of the new one [1].
    grip : what heat and wear leave of the grip of the car [1].
    speed : in the turns with that grip [ft/s].
    crown : load shift towards the middle [1].
    softness : factor of pressure and tread on the rolling loss [1].
    air, track : temperatures [degF].
    """

    left: Array
    grip: Array
    speed: Array
    crown: Array
    softness: Array
    air: float
    track: float


def at_tires(setups: Sequence[Mapping[Setting, float]]) -> Settings:
    """Return what acts at the tires themselves; half of the toe is at each front wheel."""
    camber, cold = (
        np.array([[setup[knob, corner] for corner in CORNERS] for setup in setups])
        for knob in ("camber", "pressure")
    )
    toe = np.zeros_like(camber)
    toe[:, :2] = np.array([setup["toe", "front"] for setup in setups])[:, None]
    return Settings(camber, cold, toe / (4 * TOE_RADIUS_IN))


def gas_law(cold_psi: Array, cold_f: float, hot_f: Array) -> Array:
    """Return the pressure at a gas temperature [psi].

    The dry case of `planner.chassis.pressure.hot_from_cold`, for whole arrays.
    """
    outside = atmospheric_pressure(0.0)
    ratio = (hot_f - ABSOLUTE_ZERO_F) / (cold_f - ABSOLUTE_ZERO_F)
    hot: Array = (cold_psi + outside) * ratio - outside
    return hot


def drive(
    effort: Effort,
    settings: Settings,
    truth: Truth,
    course: Course,
    at: Conditions,
    laps: int,
) -> Driven:
    """Drive laps from cold, several setups beside one another.

    Parameters
    ----------
    effort, settings : of each setup.
    truth : the hidden parameters.
    course : the track.
    at : time of day and tread; tires start at the temperature of the air.
    laps : how many.
    """
    air, track = truth.weather.at(at.minutes)
    count = len(effort.speed)
    stretches = tuple(_stretches(effort, settings, truth, course))
    mean_load = IN_TURNS * effort.load_turn + (1 - IN_TURNS) * effort.load_straight
    flat = truth.tread.flat_pressure(mean_load)
    tires = Tires(np.full((count, 4, heat.NODES), air), np.stack([at.tread] * count))
    times = np.zeros((count, laps))
    for number in range(laps):
        hot = gas_law(settings.cold, air, tires.temperatures[..., heat.GAS])
        left = tires.tread / truth.rubber.depth
        grip = truth.rubber.grip(tires.temperatures[..., heat.STRIPS], left)
        lap = Lap(
            left=left,
            grip=grip,
            speed=effort.speed * np.sqrt(grip),
            crown=truth.tread.crown_shift(hot, flat),
            softness=(flat / hot) ** truth.stiffening * (0.7 + 0.3 * left.mean(axis=-1)),
            air=air,
            track=track,
        )
        for stretch in stretches:
            tires, seconds = _through(stretch, tires, lap, truth)
            times[:, number] += seconds
    hot = gas_law(settings.cold, air, tires.temperatures[..., heat.GAS])
    return Driven(tires, hot, times, effort.usage)


def _stretches(
    effort: Effort, settings: Settings, truth: Truth, course: Course
) -> Iterator[Stretch]:
    """Yield the turns and the straights of a lap.

    Sliding in the turns: P = work · speed · m**1.5, m being what heat and wear leave of the grip,
    since force goes as m and speed as its root. Toe turns the slip of a front tire by its angle,
    P (1 ± toe / slip): a right front that points inward slips more in a left turn, a left front
    less. On the straights the rear tires share the drive as their loads, the front the brakes.
    """
    roll = effort.roll[:, None]
    by_toe = np.maximum(0.2, 1 + tread.SIDE * settings.toe / np.maximum(effort.slip, 1e-3))
    yield Stretch(
        edge=truth.tread.edge_shift(settings.camber, roll, effort.side_force, settings.toe),
        sliding=effort.sliding * by_toe,
        by_grip=1.5,
        load=effort.load_turn,
        faster=1.0,
        feet=course.turns_ft,
        steps=STEPS_TURN,
    )
    load = effort.load_straight
    brake = np.full_like(load[:, :2], truth.brake / 2)
    drive = truth.drive * (load[:, 2:] / load[:, 2:].sum(axis=1, keepdims=True))
    yield Stretch(
        edge=truth.tread.edge_shift(settings.camber, 0 * roll, 0 * load, settings.toe),
        sliding=np.concatenate([brake, drive], axis=1),
        by_grip=0.0,
        load=load,
        faster=FASTER_ON_STRAIGHTS,
        feet=course.straights_ft,
        steps=STEPS_STRAIGHT,
    )


def _through(stretch: Stretch, tires: Tires, lap: Lap, truth: Truth) -> tuple[Tires, Array]:
    """Return the tires after one stretch, and how long it took [s].

    `into_tire` of the sliding heat stays in the rubber, spread over the strips as the load is.
    Hysteresis makes rolling · load · speed · (p_flat / p) ** stiffening, less with worn tread.
    """
    feet_per_second = lap.speed * stretch.faster
    speed = (feet_per_second * METER_PER_FOOT)[:, None]
    seconds = (stretch.feet / feet_per_second)[:, None]
    sliding = stretch.sliding * lap.grip[:, None] ** stretch.by_grip
    rolling = truth.rolling * stretch.load * NEWTON_PER_LB * speed * lap.softness
    rubbed, flexed = truth.into_tire * sliding * truth.heat, rolling * truth.heat
    share = tread.shares(stretch.edge, lap.crown)
    power = np.zeros_like(tires.temperatures)
    power[..., heat.STRIPS] = share * (rubbed + truth.in_tread * flexed)[..., None]
    power[..., heat.CARCASS] = (1 - truth.in_tread) * flexed
    around = Around(lap.air, lap.track, speed, truth.cooling)
    now = truth.tire.advance(tires.temperatures, power, lap.left, around, seconds, stretch.steps)
    joules = share * rubbed[..., None] * seconds[..., None]
    worn = truth.rubber.worn(joules, now[..., heat.STRIPS])
    return Tires(now, np.maximum(tires.tread - worn, 0.0)), seconds[:, 0]


def stand(tires: Tires, truth: Truth, air: float, seconds: float) -> Tires:
    """Return the tires after they have stood in the pits so long [s], in air so warm [degF]."""
    if seconds <= 0:
        return tires
    count = len(tires.tread)
    now = truth.tire.advance(
        tires.temperatures,
        power=np.zeros_like(tires.temperatures),
        left=tires.tread / truth.rubber.depth,
        around=Around(air, air, np.zeros((count, 1)), truth.cooling),
        seconds=np.full((count, 1), seconds),
        steps=max(1, round(seconds / STANDING_STEP)),
    )
    return attrs.evolve(tires, temperatures=now)
