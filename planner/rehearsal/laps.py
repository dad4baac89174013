"""The laps: sliding and hysteresis heat the tires, lap by lap, and wear them."""

from collections.abc import Sequence

import attrs
import numpy as np
import numpy.typing as npt

from planner.chassis.air import ABSOLUTE_ZERO_F, atmospheric_pressure
from planner.rehearsal import heat, tread
from planner.rehearsal.heat import Account, Around
from planner.rehearsal.pace import (
    FASTER_ON_STRAIGHTS,
    METER_PER_FOOT,
    NEWTON_PER_LB,
    Course,
    Effort,
)
from planner.rehearsal.truth import Truth

Array = npt.NDArray[np.float64]

STEPS_TURN, STEPS_STRAIGHT = 4, 3  # of half a lap's turn and straight: near 1.5 s and 1 s
HALVES = 2
STANDING_STEP = 2.0  # s, of a tire that stands in the pits
TOE_RADIUS_IN = 13.5  # in, at which toe is measured: the tread of an 85 in tire
HOTTER_WEARS = 100.0  # degF that make rubber wear e times as fast; from memory


@attrs.frozen(eq=False)
class Settings:
    """What acts at the tires themselves, for a batch of setups: corners as LF RF LR RR.

    Attributes
    ----------
    camber : [deg], shape (setups, 4).
    cold : pressure set cold [psi], shape (setups, 4).
    toe : total, positive in [in], shape (setups,).
    """

    camber: Array
    cold: Array
    toe: Array


@attrs.frozen(eq=False)
class Driven:
    """Tires after the last lap.

    Attributes
    ----------
    temperatures : of the nodes, shape (setups, 4, 5) [degF].
    tread : left on every strip, shape (setups, 4, 3) [1/32 in].
    hot : pressure [psi].
    lap_times : shape (setups, laps) [s].
    account : heat in and out.
    """

    temperatures: Array
    tread: Array
    hot: Array
    lap_times: Array
    account: Account


def gas_law(cold_psi: Array, cold_f: float, hot_f: Array) -> Array:
    """Return the pressure at a gas temperature [psi].

    The dry case of `planner.chassis.pressure.hot_from_cold`, for whole arrays.
    """
    outside = atmospheric_pressure(0.0)
    ratio = (hot_f - ABSOLUTE_ZERO_F) / (cold_f - ABSOLUTE_ZERO_F)
    hot: Array = (cold_psi + outside) * ratio - outside
    return hot


def drive(
    efforts: Sequence[Effort],
    settings: Settings,
    truth: Truth,
    course: Course,
    weather: tuple[float, float],
    depth: Array,
    laps: int,
) -> Driven:
    """Drive laps from cold, several setups beside one another.

    Parameters
    ----------
    efforts, settings : of each setup.
    truth : the hidden parameters.
    course : the track.
    weather : air and track temperature [degF]; tires start at that of the air.
    depth : tread on every strip, shape (4, 3) [1/32 in].
    laps : how many.

    Notes
    -----
    Sliding: P = work · speed · m**1.5, m being what heat and wear leave of the grip, since force
    goes as m and speed as its root; `into_tire` of it stays in the rubber, spread over the strips
    as the load is. Toe turns the slip of a front tire by its angle: P (1 ± toe / slip).
    Hysteresis: rolling · load · speed · (p_flat / p) ** stiffening, less of it with worn tread.
    Wear goes as the sliding heat of the strip, faster on hot rubber (Archard's law with an
    exponential; common practice, no source).
    """
    air, track = weather
    count = len(efforts)
    speed = np.array([each.speed for each in efforts])
    roll = np.array([each.roll for each in efforts])[:, None]
    slip = np.stack([each.slip for each in efforts])
    sliding = np.stack([each.sliding for each in efforts])
    load_turn = np.stack([each.load_turn for each in efforts])
    load_straight = np.stack([each.load_straight for each in efforts])
    toe = np.zeros((count, 4))
    toe[:, :2] = settings.toe[:, None] / (4 * TOE_RADIUS_IN)  # of each wheel
    force = np.stack([each.side_force for each in efforts])

    def shifted(leaning: Array, pushed: Array) -> Array:
        return tread.edge_shift(
            settings.camber,
            leaning,
            pushed,
            toe,
            per_degree=truth.per_degree,
            roll_gain=truth.roll_gain,
            flex=truth.flex,
            per_toe=truth.per_toe,
        )

    in_turn, ahead = shifted(roll, force), shifted(0 * roll, 0 * force)
    # A right front that points inward slips more in a left turn, a left front less.
    sliding = sliding * np.maximum(0.2, 1 + tread.SIDE * toe / np.maximum(slip, 1e-3))
    mean_load = 0.65 * load_turn + 0.35 * load_straight  # by time; from memory
    flat = tread.flat_pressure(mean_load, truth.flat_at, truth.flat_grows, truth.flat_by)
    rear = load_straight[:, 2:] / load_straight[:, 2:].sum(axis=1, keepdims=True)
    straight_slide = np.concatenate(
        [np.full((count, 2), truth.brake / 2), truth.drive * rear], axis=1
    )

    now = np.full((count, 4, heat.NODES), air)
    left = np.broadcast_to(depth, (count, 4, 3)).copy()
    account = Account(np.zeros((count, 4)), np.zeros((count, 4)))
    straight_ft = course.length * 5280 - course.turns_ft
    times = np.zeros((count, laps))
    hot = settings.cold
    for lap in range(laps):
        thickness = left / truth.tread_depth
        capacity = heat.capacities(truth.tire, thickness)
        grip = _grip(now, thickness, truth)
        hot = gas_law(settings.cold, air, now[..., heat.GAS])
        crown = tread.crown_shift(hot, flat, truth.per_pressure)
        softness = (flat / hot) ** truth.stiffening * (0.7 + 0.3 * thickness.mean(axis=-1))
        paces = speed * np.sqrt(grip)
        for shift, slide, load, fts, feet, steps in (
            (
                in_turn,
                sliding * grip[:, None] ** 1.5,
                load_turn,
                paces,
                course.turns_ft,
                STEPS_TURN,
            ),
            (
                ahead,
                straight_slide,
                load_straight,
                paces * FASTER_ON_STRAIGHTS,
                straight_ft,
                STEPS_STRAIGHT,
            ),
        ):
            meters = fts * METER_PER_FOOT
            rolling = truth.rolling * load * NEWTON_PER_LB * meters[:, None] * softness
            rubbed = truth.into_tire * slide * truth.heat
            flexed = rolling * truth.heat
            share = tread.shares(shift, crown)
            power = np.zeros((count, 4, heat.NODES))
            power[..., heat.STRIPS] = share * (rubbed + truth.in_tread * flexed)[..., None]
            power[..., heat.CARCASS] = (1 - truth.in_tread) * flexed
            seconds = (feet / fts)[:, None]
            now = heat.advance(
                now,
                power,
                truth.tire,
                Around(air, track, meters[:, None]),
                truth.cooling,
                capacity,
                seconds,
                steps * HALVES,
                account,
            )
            joules = share * rubbed[..., None] * seconds[..., None]
            rate = np.exp((now[..., heat.STRIPS] - 200.0) / HOTTER_WEARS)
            left = np.maximum(left - truth.wear * joules * rate, 0.0)
            times[:, lap] += seconds[:, 0]
    hot = gas_law(settings.cold, air, now[..., heat.GAS])
    return Driven(now, left, hot, times, account)


def stand(temperatures: Array, truth: Truth, air: float, depth: Array, seconds: float) -> Array:
    """Return the temperatures of tires that have stood in the pits [degF]."""
    if seconds <= 0:
        return temperatures
    steps = max(1, round(seconds / STANDING_STEP))
    return heat.advance(
        temperatures,
        np.zeros_like(temperatures),
        truth.tire,
        Around(air, air, np.zeros((temperatures.shape[0], 1))),
        truth.cooling,
        heat.capacities(truth.tire, depth / truth.tread_depth),
        np.full((temperatures.shape[0], 1), seconds),
        steps,
    )


def _grip(temperatures: Array, thickness: Array, truth: Truth) -> Array:
    """Return what heat and wear leave of the grip of the car [1], a mean over its tires.

    m = (1 − fade ((T − best)/100)²)(1 − worn_grip · worn), never below a half.
    """
    average = temperatures[..., heat.STRIPS].mean(axis=-1)
    warm = np.maximum(1 - truth.fade * ((average - truth.best) / 100) ** 2, 0.5)
    worn = 1 - truth.worn_grip * (1 - thickness.mean(axis=-1))
    mean: Array = (warm * worn).mean(axis=-1)
    return mean
