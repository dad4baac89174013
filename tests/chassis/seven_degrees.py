"""A car of seven degrees of freedom at its least energy: the check on loads in the turn.

Assembled from coordinates and energies alone; it shares no equation with `planner.chassis`. The
body heaves, pitches and rolls on springs, four wheels travel on tires that push and cannot pull.
The body rolls about an axis through the roll centres, which ride on the axles. Newton's steps go
down to the least energy. Downward, forward and to the right are positive; travel is counted from
the car on the scales. Rates must be given for all tires.
"""

import contextlib
import math
from collections.abc import Callable, Mapping

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from planner.chassis.loads import TurnCar
from planner.chassis.turn import Turn
from planner.trade.corners import CORNERS

Vector = NDArray[np.float64]
HEAVE, PITCH, ROLL, WHEELS = 0, 1, 2, 3
MOST_STEPS = 200
OVER = 1.0  # rad


@attrs.frozen
class Pose:
    """The car at its least energy: load per tire [lb], and whether it stands at all."""

    loads: Mapping[str, float]
    stands: bool


def _forces(turn: Turn) -> tuple[float, float]:
    """Lateral (to the right in a left turn) and normal force [g]."""
    centripetal = (turn.speed_mph * 5280 / 3600) ** 2 / 32.17405 / turn.radius_ft
    tilt = math.radians(turn.banking_deg)
    lateral = centripetal * math.cos(tilt) - math.sin(tilt)
    normal = centripetal * math.sin(tilt) + math.cos(tilt)
    return lateral * (1 if turn.direction == "left" else -1), normal


def _body(x: float, y: float) -> Vector:
    """Row: how far a point of the body moves down."""
    row = np.zeros(7)
    row[HEAVE], row[PITCH], row[ROLL] = 1.0, x, y
    return row


def _wheel(number: int) -> Vector:
    row = np.zeros(7)
    row[WHEELS + number] = 1.0
    return row


def least_energy(car: TurnCar, turn: Turn, *, gravity: bool = True) -> Pose:
    """Find where the car settles in the turn."""
    assert car.tire_rate is not None
    lateral, normal = _forces(turn)
    ends = (
        (0, car.wheelbase, car.track_front, car.spring_base_front, car.bar_front),
        (2, 0.0, car.track_rear, car.spring_base_rear, car.bar_rear),
    )
    centers = (car.roll_center_front, car.roll_center_rear)
    quadratic, linear = np.zeros((7, 7)), np.zeros(7)
    weight = moment_x = moment_y = high = 0.0
    axis = 0.0
    for (first, x, track, base, bar), light, center in zip(
        ends, car.unsprung, centers, strict=True
    ):
        left, right = CORNERS[first], CORNERS[first + 1]
        tilt = (_wheel(first + 1) - _wheel(first)) / track
        middle = (_wheel(first + 1) + _wheel(first)) / 2
        sprung = np.array([car.scales[left] - light / 2, car.scales[right] - light / 2])
        apart = track if base is None else base
        # Loads in two springs `apart`: their sum, and their moment about the centreline.
        across = (sprung[1] - sprung[0]) * track / apart
        preload = (sprung.sum() + np.array([-across, across])) / 2
        for side, (corner, load) in enumerate(zip((left, right), preload, strict=True)):
            y = (side - 0.5) * apart
            pressed = _body(x, y) - (middle + y * tilt)
            linear += load * pressed
            quadratic += car.wheel_rate[corner] * np.outer(pressed, pressed)
        twist = _body(x, track / 2) - _body(x, -track / 2) - track * tilt
        quadratic += bar * np.outer(twist, twist)
        linear -= normal * light * middle
        sideways = (sprung.sum() * center + light * car.unsprung_height) * tilt
        linear -= lateral * sideways
        if gravity:  # what shifts sideways by h·tilt drops by h·tilt²/2
            quadratic -= normal * np.outer(sideways, tilt)
        weight += sprung.sum()
        moment_x += sprung.sum() * x
        moment_y += (sprung[1] - sprung[0]) * track / 2
        axis += sprung.sum() * center
        high += light * car.unsprung_height
    arm = (car.weight * car.cg_height - high - axis) / weight
    linear -= normal * weight * _body(moment_x / weight, moment_y / weight)
    linear[ROLL] -= lateral * weight * arm
    if gravity:
        quadratic[ROLL, ROLL] -= normal * weight * arm

    rates = np.array([car.tire_rate[c] for c in CORNERS])
    pressed = np.array([car.scales[c] for c in CORNERS]) / rates
    stands, travel = _settled(quadratic, linear, rates, pressed)
    loads = rates * np.maximum(pressed + travel[WHEELS:], 0.0)
    return Pose(dict(zip(CORNERS, loads.tolist(), strict=True)), stands)


def _settled(
    quadratic: NDArray[np.float64], linear: Vector, rates: Vector, pressed: Vector
) -> tuple[bool, Vector]:
    """Go down the energy until it is least; say whether it is, and where."""

    def down(q: Vector) -> Vector:
        return np.maximum(pressed + q[WHEELS:], 0.0)

    def energy(q: Vector) -> float:
        return float(q @ quadratic @ q / 2 + linear @ q + (rates * down(q) ** 2).sum() / 2)

    q = np.zeros(7)
    for _ in range(MOST_STEPS):
        slope, curve = quadratic @ q + linear, quadratic.copy()
        slope[WHEELS:] += rates * down(q)
        curve[WHEELS:, WHEELS:] += np.diag(rates * (down(q) > 0))
        if np.abs(slope).max() < 1e-6:
            return bool(linalg.eigvalsh(curve).min() > 0), q
        q = q + _step(curve, slope, lambda by, q=q: energy(q + by) <= energy(q) + 1e-9)
        if abs(q[ROLL]) > OVER:
            break
    return False, q


def _step(curve: NDArray[np.float64], slope: Vector, goes_down: Callable[[Vector], bool]) -> Vector:
    """Return a Newton step, shortened (Levenberg) until the energy falls along it."""
    scale, shift = np.diag(np.abs(np.diag(curve)) + 1.0), 0.0
    while True:
        with contextlib.suppress(linalg.LinAlgError):
            step = -linalg.cho_solve(linalg.cho_factor(curve + shift * scale), slope)
            if goes_down(step):
                return np.asarray(step)
        shift = max(4 * shift, 1e-3)
