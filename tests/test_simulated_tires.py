"""The tires of the simulated car: force against slip, air, and the contact with the track."""

import math

import attrs
import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from planner.rehearsal.gas import Casing
from planner.rehearsal.heat import Around, Tire
from planner.rehearsal.slip import REFERENCE_LB, Slip

TIRE, SLIP, CASING = Tire(), Slip(), Casing()
UPRIGHT = np.zeros(1)


def sideways(slip: float, load: float = REFERENCE_LB, lean: float = 0.0) -> float:
    force, _ = SLIP.forces(np.array([slip]), np.zeros(1), np.array([load]), np.array([lean]))
    return float(force[0])


@pytest.mark.parametrize("load", [300.0, 700.0, 1400.0])
def test_the_most_force_is_at_the_slip_of_the_peak(load: float) -> None:
    found = minimize_scalar(lambda slip: -sideways(slip, load), bounds=(0.01, 0.5))
    assert found.x == pytest.approx(SLIP.at_peak(np.array([load]))[0], rel=1e-3)
    assert -found.fun == pytest.approx(SLIP.most(np.array([load]), UPRIGHT)[0], rel=1e-6)


def test_friction_falls_with_load_and_force_grows() -> None:
    # Load sensitivity: W. F. and D. L. Milliken, Race Car Vehicle Dynamics, ch. 2.
    loads = np.array([300.0, 700.0, 1100.0, 1500.0])
    most = SLIP.most(loads, np.zeros(4))
    assert (np.diff(most) > 0).all()
    assert (np.diff(most / loads) < 0).all()


def test_a_tire_that_leans_into_the_turn_pushes_without_slip_and_holds_best_leaning_a_little() -> (
    None
):
    # Camber thrust: H. B. Pacejka, Tire and Vehicle Dynamics, ch. 1.
    assert sideways(0.0, lean=math.radians(3)) > 0
    assert sideways(0.0, lean=math.radians(-3)) < 0
    best = SLIP.most(np.full(3, 900.0), np.radians([-3.0, 2.0, 7.0]))
    assert best[1] > best[0]
    assert best[1] > best[2]


def test_force_goes_along_the_slip_and_never_beyond_the_most() -> None:
    across, along = np.meshgrid(np.linspace(-0.3, 0.3, 13), np.linspace(-0.3, 0.3, 13))
    load = np.full_like(across, 900.0)
    inward, forward = SLIP.forces(across, along, load, 0 * load)
    assert inward * along == pytest.approx(forward * across, abs=1e-4)
    assert np.hypot(inward, forward).max() <= SLIP.most(load, 0 * load).max() + 1e-9


def test_the_rise_of_the_curve_is_its_steepness() -> None:
    upright = attrs.evolve(SLIP, off_lean=0.0)
    force, _ = upright.forces(np.array([1e-5]), np.zeros(1), np.array([REFERENCE_LB]), UPRIGHT)
    steep = upright.steepness(np.array([REFERENCE_LB]))[0]
    assert force[0] / REFERENCE_LB / 1e-5 == pytest.approx(steep, rel=1e-3)


def test_a_tire_with_more_air_is_stiffer_and_larger() -> None:
    usual, psi = np.array([1300.0]), np.array([16.0])
    assert CASING.rate(usual, psi, psi)[0] == pytest.approx(1300.0)
    assert CASING.rate(usual, psi + 4, psi)[0] == pytest.approx(1300 * (0.2 + 0.8 * 20 / 16))
    assert CASING.radius_gained(psi + 4, psi)[0] == pytest.approx(4 * 0.08 / (2 * math.pi))


def test_what_a_patch_conducts_is_that_of_two_half_spaces_that_meet() -> None:
    # Carslaw and Jaeger: half-spaces of effusivity e1 and e2, dT apart, exchange
    # 2 dT sqrt(t / pi) e1 e2 / (e1 + e2) in the time t.
    perfect = attrs.evolve(TIRE, contact=1e12)
    area, speed = 0.02, 28.0
    patch = np.full((1, 1, 3), area / 3)
    found = perfect.on_track(patch, np.array([[speed]])).sum()
    seconds = area / TIRE.wide / speed
    both = TIRE.rubber * TIRE.asphalt / (TIRE.rubber + TIRE.asphalt)
    joules = 2 * math.sqrt(seconds / math.pi) * both * area
    assert found == pytest.approx(joules / seconds, rel=1e-6)
    # The contact itself is a resistance in series.
    real = TIRE.on_track(patch, np.array([[speed]])).sum()
    assert 1 / real == pytest.approx(1 / found + 1 / (TIRE.contact * area), rel=1e-6)
    assert TIRE.on_track(patch, np.zeros((1, 1))).sum() == 0


def test_a_surface_without_heat_capacity_lets_as_much_in_as_goes_out() -> None:
    patch, speed = np.full((1, 1, 3), 0.007), np.array([[28.0]])
    ways = TIRE.ways(Around(70.0, 110.0, speed, patch))
    rubber, power = 200.0, 500.0
    film = (TIRE.still + TIRE.moving * 28.0**0.8) * TIRE.strip_area
    track = TIRE.on_track(patch, speed)[0, 0, 0]
    # The surface by its own balance, in kelvin above an arbitrary zero.
    inside, air, ground = (t / 1.8 for t in (rubber, 70.0, 110.0))
    surface = (power + TIRE.to_surface * inside + film * air + track * ground) / (
        TIRE.to_surface + film + track
    )
    into = TIRE.to_surface * (surface - inside)
    kept, to_air, to_track = (x[0, 0, 0] for x in (ways.kept, ways.to_air, ways.to_track))
    assert kept * power - to_air * (inside - air) - to_track * (inside - ground) == pytest.approx(
        into
    )


def test_the_heat_of_sliding_is_shared() -> None:
    assert 0.25 < TIRE.shared < 0.4
    heats = TIRE.rubbed(np.array([1000.0]), np.array([0.4]))[0]
    assert heats == pytest.approx(1000 * (0.3 + 0.7 * TIRE.shared * 0.4))
