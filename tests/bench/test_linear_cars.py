"""The second family of cars: sums, products and squares as they are written down, and fair days."""

from collections.abc import Sequence

import crews
import numpy as np
import pytest
from linear_cars import Hour, LinearCar
from scipy import stats
from scoreboard import begun

from planner.car.car_file import starting_settings
from planner.car.changes import Change
from planner.rehearsal.out_of_band import excesses
from planner.trade.corners import CORNERS

SEEDS = range(12)


@pytest.fixture(scope="module")
def cars() -> Sequence[LinearCar]:
    return [begun(seed, "linear", crews.book()) for seed in SEEDS]


def test_a_good_setup_is_there_and_the_morning_is_not_it(cars: Sequence[LinearCar]) -> None:
    for car in cars:
        assert not excesses(car.world.figures([car.good], Hour())[0], car.book)
        assert excesses(car.true_figures(), car.book)


def test_figures_are_the_sum_that_stands_in_the_text(cars: Sequence[LinearCar]) -> None:
    world = cars[0].world
    camber, air = ("camber", "RF"), ("pressure", "RF")
    setup = {**world.good, camber: world.good[camber] + 1.5, air: world.good[air] - 2.0}
    (shown,) = world.figures([setup], Hour())
    by_camber = 1.5 * world.effects[camber] * (1 + world.bend[camber] * 1.5 / 2.0)
    by_air = -2.0 * world.effects[air] * (1 - world.bend[air] * 2.0 / 4.0)
    both = world.together["RF"] * 1.5 * -2.0
    assert list(shown.base.values()) == pytest.approx(
        world.figures_of_good + by_camber + by_air + both
    )


def test_what_a_knob_is_turned_for_answers_the_way_crews_know_it(cars: Sequence[LinearCar]) -> None:
    # Common practice, no source: less air cools the middle, more cross works RF and LR harder.
    for car in cars:
        effects = car.world.effects
        for corner in CORNERS:
            assert effects["camber", corner][4 + CORNERS.index(corner)] < 0
            assert effects["pressure", corner][8 + CORNERS.index(corner)] > 0
        lf, rf, lr, rr = effects["cross", "car"][:4]
        assert lf < 0 < rf
        assert rr < 0 < lr


def test_the_file_says_what_is_on_the_car_this_morning(cars: Sequence[LinearCar]) -> None:
    for car in cars:
        told = starting_settings(car.file())
        assert {s: told[s] for s in told} == pytest.approx({s: car.begun[s] for s in told})


def test_a_change_goes_on_the_car_and_comes_off_again() -> None:
    car = begun(3, "linear", crews.book())
    car.apply([Change("camber", "RF", 0.5)])
    assert car.settings["camber", "RF"] == car.begun["camber", "RF"] + 0.5
    car.stand_at({})
    assert car.settings == car.begun


def test_readings_scatter_about_the_truth_as_they_are_said_to() -> None:
    car = begun(5, "linear", crews.book())
    drawn = np.array([car._read(car.true_figures(), "RF", 0.0) for _ in range(4000)])
    truly = car.true_figures()
    split = drawn[:, 0] - drawn[:, 2]
    # scipy.stats: of whole degrees each strip has the variance of rounding, 1/12, besides
    spread = np.sqrt(2 * (car._reading**2 + 1 / 12))
    assert abs(split.mean() - truly["split.RF"]) < 4 * spread / np.sqrt(len(split))
    assert split.std() == pytest.approx(spread, rel=0.06)
    assert stats.kurtosis(split) > 0.2  # heavier tails than the normal distribution


def test_the_crews_can_drive_it() -> None:
    best = crews.all_knowing(begun(7, "linear", crews.book()))
    assert best.excess == 0
    end = crews.as_shipped(begun(7, "linear", crews.book()), 0.8)
    assert end.excess < end.begun
