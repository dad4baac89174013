"""The bench of seasons: cars that wander by what is stated, other tracks, a table that counts."""

import crews
import numpy as np
import pytest
from season import ELSEWHERE, WANDER, Driven, on_day, table, wandered

from planner.car import car_file
from planner.rehearsal.car import SimulatedCar
from planner.rehearsal.out_of_band import excesses
from planner.rehearsal.truth import Truth, draw


def test_hidden_values_wander_by_the_stated_share_of_what_cars_differ_by() -> None:
    usual = Truth()
    cars = [draw(np.random.default_rng(seed)) for seed in range(2 * 200)]
    pairs = list(zip(cars[::2], cars[1::2], strict=True))
    later = [wandered(usual, car, day) for car, day in pairs]
    for value in (lambda truth: truth.rolling, lambda truth: truth.by_pressure):
        between_cars = np.std([np.log(value(car)) for car in cars])
        moved = [
            np.log(value(is_) / value(was)) for (was, _), is_ in zip(pairs, later, strict=True)
        ]
        assert np.std(moved) == pytest.approx(WANDER * between_cars, rel=0.15)


def test_a_later_day_is_the_same_car_elsewhere_with_faults_of_its_own() -> None:
    car = SimulatedCar(0, car=car_file.load(crews.SAMPLE), book=crews.book())
    first, second = on_day(car, 1), on_day(car, 2)
    assert first.begun == car.begun
    assert second.file().track.name == ELSEWHERE["name"]
    assert second.faults != car.faults
    assert not excesses(second.world.figures([second.good], second.world.fresh())[0], car.book)
    assert excesses(second.true_figures(), car.book)
    assert second.world.truth.tread != car.world.truth.tread


def test_the_table_counts_runs_near_ends_and_intervals() -> None:
    found = [
        Driven(1, 1, "scratch", 6, 0.0),
        Driven(1, 2, "own", 4, 0.5, False, {"a": 0.1, "b": -2.0}),
        Driven(2, 3, "own", 6, 3.0, True, {"a": 1.2, "b": 1.3}),
    ]
    text = table(found)
    assert "| 1 | scratch | 6.00 | 100.0% |  |" in text
    assert "| 2 to 5 | own | 5.00 | 50.0% | 50% of 4 |" in text
    assert "First runs called out of character: 1 of 2." in text
