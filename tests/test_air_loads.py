"""What a pound of air does through the loads, beside the heat of the tire itself."""

import attrs
import pytest
from garage import GOOD, run, tires

from planner.car import air_loads
from planner.car import car_file as cars
from planner.car.car_model import HEAT_SHARE, CarModel
from planner.chassis import grip, tire_size
from planner.files import bundled
from planner.trade.corners import CORNERS, mirrored
from planner.trade.figures import terms

CAR = cars.load(bundled.folder("sample_plans") / "river-bend-car.toml")


def model_of(car: cars.Car, turns: str = "left", **rest) -> CarModel:
    return CarModel(car, cars.starting_settings(car), {}, run(tires(GOOD), **rest), GOOD, turns)


def balance(effects) -> float:
    weights = terms("balance", "left")
    return sum(w * effects[name].mean for name, w in weights.items() if name in effects)


def test_air_out_of_the_rr_tightens_and_out_of_the_rf_loosens() -> None:
    # Common practice, no source: a softer, smaller tire takes load off its own corner's axle.
    # 3 psi out of the RR tighten this car by about 3 °F of balance (an independent energy model
    # with tire rates of its own: 2.9), where its own heat reads 3 °F looser.
    found = {corner: balance(air_loads.effects(model_of(CAR), corner)) for corner in CORNERS}
    assert 2 < -3 * found["RR"] < 5
    assert found["RF"] > 0 > found["RR"]
    assert abs(found["RR"]) > abs(found["RF"])  # stagger goes with it


def test_the_rear_part_is_rate_size_and_stagger_together() -> None:
    # By hand from the three formulas: scales, tire rate and stagger 1 psi up, at once.
    model = model_of(CAR)
    car, turn, rest = model._turn_car(), model._turn(), model.at_rest()
    psi = CAR.settings["pressure"]["RR"]

    def warmed(amount: float) -> dict[str, float]:
        changed = attrs.evolve(
            car,
            scales=tire_size.change_air(rest, {"RR": psi}, {"RR": amount}).loads,
            tire_rate={**car.tire_rate, "RR": tire_size.rate_with_air(1500, psi, amount)},
            stagger=car.stagger + tire_size.growth(amount),
        )
        now = grip.balance(car, turn)
        return grip.temperature_shift(now, grip.balance(changed, turn), GOOD, grip.AIR_F)

    up, down = warmed(0.1), warmed(-0.1)
    for corner, effect in air_loads.effects(model, "RR").items():
        place = corner.removeprefix("average.")
        slope = HEAT_SHARE * (up[place] - down[place]) / 0.2
        assert effect.mean == pytest.approx(slope, rel=0.02, abs=0.01)
        assert effect.sd >= 0.5 * abs(effect.mean)


def test_without_tire_rates_usual_ones_are_taken() -> None:
    bare = attrs.evolve(CAR, tires=attrs.evolve(CAR.tires, rate={}))
    usual = attrs.evolve(
        CAR, tires=attrs.evolve(CAR.tires, rate=dict.fromkeys(CORNERS, air_loads.TIRE_RATE))
    )
    for corner in CORNERS:
        assert air_loads.effects(model_of(bare), corner) == air_loads.effects(
            model_of(usual), corner
        )


def test_a_pressure_that_was_read_stands_for_one_that_was_not_set() -> None:
    bare = attrs.evolve(
        CAR, settings={knob: at for knob, at in CAR.settings.items() if knob != "pressure"}
    )
    assert air_loads.effects(model_of(bare), "RR") is None
    read = model_of(bare, cold={"RR": CAR.settings["pressure"]["RR"]})
    assert air_loads.effects(read, "RR") == air_loads.effects(model_of(CAR), "RR")


def test_where_the_loads_are_not_known_there_is_none() -> None:
    assert air_loads.effects(model_of(CAR, "both"), "RR") is None
    assert air_loads.effects(model_of(attrs.evolve(CAR, scales={})), "RR") is None
    fast = attrs.evolve(CAR, track=attrs.evolve(CAR.track, corner_speed=190.0))
    assert air_loads.effects(model_of(fast), "RR") is None


def test_without_stagger_it_goes_by_the_rest() -> None:
    bare = attrs.evolve(
        CAR,
        settings={knob: at for knob, at in CAR.settings.items() if knob != "stagger"},
        tires=attrs.evolve(CAR.tires, circumference={}),
    )
    with_it, without = (balance(air_loads.effects(model_of(car), "RR")) for car in (CAR, bare))
    assert with_it < without < 0


def test_the_mirrored_car_answers_in_the_mirror() -> None:
    def swapped(values):
        return {mirrored(place): value for place, value in values.items()}

    mirror = attrs.evolve(
        CAR,
        car=attrs.evolve(CAR.car, turns="right"),
        settings={knob: swapped(places) for knob, places in CAR.settings.items()},
        scales=swapped(CAR.scales),
        motion_ratio=swapped(CAR.motion_ratio),
        tires=attrs.evolve(
            CAR.tires,
            circumference=swapped(CAR.tires.circumference),
            rate=swapped(CAR.tires.rate),
        ),
    )
    settings = cars.starting_settings(mirror)
    there = CarModel(mirror, settings, {}, run(tires(GOOD)), swapped(GOOD), "right")
    for corner in CORNERS:
        left = air_loads.effects(model_of(CAR), corner)
        right = air_loads.effects(there, mirrored(corner))
        for each in CORNERS:
            assert right[f"average.{mirrored(each)}"].mean == pytest.approx(
                left[f"average.{each}"].mean, rel=1e-6, abs=1e-9
            )
