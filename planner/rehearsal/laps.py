"""The laps: sliding and hysteresis heat the tires, lap by lap, and wear them."""

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import gas, heat, tread
from planner.rehearsal.body import Course
from planner.rehearsal.heat import Around
from planner.rehearsal.pace import Effort
from planner.rehearsal.setups import Setups
from planner.rehearsal.truth import Truth

Array = npt.NDArray[np.float64]

METER_PER_FOOT = 0.3048  # exact; NIST SP 811, appendix B.8
NEWTON_PER_LB = 4.4482216  # NIST SP 811, appendix B.8

SQUARE_METER_PER_SQUARE_INCH = 0.0254**2  # exact; NIST SP 811, appendix B.8

FASTER_ON_STRAIGHTS = 1.22  # mean speed there over that in the turns; from memory
STEPS_TURN, STEPS_STRAIGHT = 8, 6  # of a lap's turns and straights: near 1.5 s and 1 s each
STEPS_WAY_IN = 12
STANDING_STEP = 2.0  # s, of a tire that stands in the pits
WAY_IN_FT_PER_S = 44.0  # 30 mph, rolling in after the last lap; from memory
SUN_WARMED = 0.5  # of the way from air to track, a tire that has waited; from memory
IN_TURNS = 0.65  # share of the time; from memory
LEAST_LOAD = 50.0  # lb, on the average of a lap


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
class Driven:
    """What there is after the last lap, for several setups.

    Attributes
    ----------
    tires : as they come in.
    hot : their pressure, shape (setups, 4) [psi].
    lap_times : shape (setups, laps) [s].
    slips : tangents of the slip angles in the turns, front and rear, shape (setups, 2) [1].
    """

    tires: Tires
    hot: Array
    lap_times: Array
    slips: Array


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
    hot : pressure [psi].
    air, track : temperatures [degF].
    """

    left: Array
    grip: Array
    speed: Array
    crown: Array
    hot: Array
    air: float
    track: float


def drive(
    effort: Effort,
    on: Setups,
    truth: Truth,
    course: Course,
    at: Conditions,
    laps: int,
) -> Driven:
    """Drive laps from cold and roll in, several setups beside one another.

    Parameters
    ----------
    effort, on : of each setup.
    truth : the hidden parameters.
    course : the track.
    at : time of day and tread; tires start warmed by the sun.
    laps : how many.
    """
    air, track = truth.weather.at(at.minutes)
    count = len(effort.speed)
    turns, straights = _stretches(effort, on, truth, course)
    mean_load = IN_TURNS * effort.load_turn + (1 - IN_TURNS) * effort.load_straight
    flat = truth.tread.flat_pressure(np.maximum(mean_load, LEAST_LOAD))
    warm = air + SUN_WARMED * (track - air)
    tires = Tires(np.full((count, 4, heat.NODES), warm), np.stack([at.tread] * count))
    times = np.zeros((count, laps))

    def lap_now() -> Lap:
        hot = gas.warmed(on.cold, air, tires.temperatures[..., heat.GAS])
        left = tires.tread / truth.rubber.depth
        grip = truth.rubber.grip(tires.temperatures[..., heat.STRIPS], left)
        return Lap(
            left=left,
            grip=grip,
            speed=effort.speed * np.sqrt(grip),
            crown=truth.tread.crown_shift(hot, flat),
            hot=hot,
            air=air,
            track=track,
        )

    for number in range(laps):
        lap = lap_now()
        for stretch in (turns, straights):
            tires, seconds = _through(stretch, tires, lap, truth)
            times[:, number] += seconds
    lap = lap_now()
    hot = lap.hot
    slow = np.full(count, WAY_IN_FT_PER_S)
    way_in = attrs.evolve(straights, sliding=0 * straights.sliding, faster=1.0)
    way_in = attrs.evolve(way_in, feet=WAY_IN_FT_PER_S * truth.way_in, steps=STEPS_WAY_IN)
    tires, _ = _through(way_in, tires, attrs.evolve(lap, speed=slow), truth)
    return Driven(tires, hot, times, effort.slips)


def _stretches(effort: Effort, on: Setups, truth: Truth, course: Course) -> tuple[Stretch, Stretch]:
    """Return the turns and the straights of a lap.

    Sliding in the turns: P = work · speed · m**1.5, m being what heat and wear leave of the grip,
    since force goes as m and speed as its root.
    """
    roll = effort.roll[:, None]
    shift = truth.tread.edge_shift
    turns = Stretch(
        edge=shift(on.camber, roll, effort.side_turn, effort.deflection_turn),
        sliding=effort.sliding_turn,
        by_grip=1.5,
        load=effort.load_turn,
        faster=1.0,
        feet=course.turns_ft,
        steps=STEPS_TURN,
    )
    straights = Stretch(
        edge=shift(on.camber, 0 * roll, effort.side_straight, effort.deflection_straight),
        sliding=effort.sliding_straight * FASTER_ON_STRAIGHTS,
        by_grip=0.5,
        load=effort.load_straight,
        faster=FASTER_ON_STRAIGHTS,
        feet=course.straights_ft,
        steps=STEPS_STRAIGHT,
    )
    return turns, straights


def _through(stretch: Stretch, tires: Tires, lap: Lap, truth: Truth) -> tuple[Tires, Array]:
    """Return the tires after one stretch, and how long it took [s].

    The heat of sliding is shared between tire and track, spread over the strips as the load is,
    and made on the surface. Hysteresis makes r N v (N / N0) ** (b − 1) (p0 / p) ** c in the
    rubber, less with worn tread.
    """
    feet_per_second = lap.speed * stretch.faster
    speed = (feet_per_second * METER_PER_FOOT)[:, None]
    seconds = (stretch.feet / feet_per_second)[:, None]
    sliding = truth.heat * stretch.sliding * lap.grip[:, None] ** stretch.by_grip
    flexed = truth.heat * truth.rolled(stretch.load, lap.hot) * NEWTON_PER_LB * speed
    flexed = flexed * (0.7 + 0.3 * lap.left.mean(axis=-1))
    share = tread.shares(stretch.edge, lap.crown)
    area = truth.patch(stretch.load, lap.hot) * SQUARE_METER_PER_SQUARE_INCH
    patch = share * area[..., None]
    around = Around(lap.air, lap.track, speed, patch)
    power = np.zeros_like(tires.temperatures)
    kept = truth.tire.ways(around).kept
    rubbed = truth.tire.rubbed(sliding[..., None], kept)
    power[..., heat.STRIPS] = share * (rubbed + truth.in_tread * flexed[..., None])
    power[..., heat.CARCASS] = (1 - truth.in_tread) * flexed
    now = truth.tire.advance(tires.temperatures, power, lap.left, around, seconds, stretch.steps)
    joules = share * sliding[..., None] * seconds[..., None]
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
        around=Around(air, air, np.zeros((count, 1)), np.zeros((count, 4, 3))),
        seconds=np.full((count, 1), seconds),
        steps=max(1, round(seconds / STANDING_STEP)),
    )
    return attrs.evolve(tires, temperatures=now)
