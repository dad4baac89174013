"""Air and tape: size and rate of a tire, and the cross weight and ride heights they move."""

import math

import attrs
import pytest
from garage import refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis.at_rest import AtRest, Suspension
from planner.chassis.changed import with_pressure
from planner.chassis.loads import TurnCar
from planner.chassis.mid_turn import mid_turn
from planner.chassis.stagger import circumference_at
from planner.chassis.tire_size import (
    AIR_SHARE,
    GROWTH_PER_PSI,
    change_air,
    change_size,
    growth,
    rate_with_air,
    rise,
)
from planner.chassis.turn import Turn
from planner.trade.corners import CORNERS, per_corner

CAR = AtRest(  # invented
    loads={"LF": 765.0, "RF": 678.0, "LR": 772.0, "RR": 585.0},
    suspension=Suspension(
        {"LF": 750.0, "RF": 800.0, "LR": 200.0, "RR": 225.0},
        {"LF": 0.65, "RF": 0.65, "LR": 0.9, "RR": 0.9},
        tire_rates={"LF": 1300.0, "RF": 1500.0, "LR": 1300.0, "RR": 1500.0},
        bar_front=250.0,
    ),
    track_front=62.0,
    track_rear=61.0,
)
EQUAL = AtRest(
    loads=per_corner(lambda _: 700.0), suspension=Suspension(per_corner(lambda _: 200.0))
)
PRESSURE = {"LF": 16.0, "RF": 26.0, "LR": 16.0, "RR": 24.0}


def test_a_tire_an_inch_taller_is_a_jack_of_an_inch_by_hand() -> None:
    # Warp compliance 4/200 in/lb: 50 lb on each corner; the corner itself rises 3/4 in.
    found = change_size(EQUAL, {"RR": 2 * math.pi})
    assert found.loads == pytest.approx({"LF": 750, "RF": 650, "LR": 650, "RR": 750})
    assert found.ride_height == pytest.approx({"LF": -0.25, "RF": 0.25, "LR": 0.25, "RR": 0.75})
    assert (found.cross_before, found.cross_after) == pytest.approx((50.0, 100 * 1300 / 2800))


@pytest.mark.parametrize("around", [{"RR": 0.5}, {"LR": -0.5}, {"RR": 0.25, "LR": -0.25}])
def test_half_an_inch_of_stagger_takes_a_third_of_a_percent_of_cross(around) -> None:
    # An independent energy model gave 0.28 to 0.34 % for half an inch on this car, whichever
    # rear tire it is on; only the ride heights tell them apart.
    found = change_size(CAR, around)
    assert 0.28 <= found.cross_before - found.cross_after <= 0.34
    # The middle of the axle rises by half of what both tires rise together.
    middle = sum(rise(inches) for inches in around.values()) / 2
    rear = (found.ride_height["LR"] + found.ride_height["RR"]) / 2
    assert rear == pytest.approx(middle, abs=0.002)


def test_a_circle_rises_by_its_radius() -> None:
    assert rise(math.pi) == pytest.approx(0.5)


def test_air_makes_a_tire_larger_and_stiffer() -> None:
    # From memory: a short-track tire grows 1/20 to 1/5 in around a psi, and a rear one of
    # 1500 lb/in at 24 psi gains 35 to 60 lb/in a psi.
    assert 0.05 <= GROWTH_PER_PSI <= 0.2
    assert growth(-3) == pytest.approx(-3 * GROWTH_PER_PSI)
    assert 35 < rate_with_air(1500, 24, 1) - 1500 < 60
    # Your own two readings say it better, by the same straight line.
    grown = 85 + growth(2)
    assert circumference_at(23, (24, 85.0), (26, grown)) == pytest.approx(85 + growth(-1))


@settings(max_examples=50)
@given(rate=st.floats(800, 3000), pressure=st.floats(8, 40), part=st.floats(-0.9, 1))
def test_a_tire_lies_between_a_membrane_and_a_solid_one(rate, pressure, part) -> None:
    # Without casing the rate would go as the pressure, without air it would stay.
    found = rate_with_air(rate, pressure, part * pressure)
    low, high = sorted((rate, rate * (1 + part)))
    assert low <= found <= high
    assert found == pytest.approx(rate * (1 + AIR_SHARE * part))


def test_air_out_of_the_rr_lowers_it_and_adds_cross() -> None:
    # Common practice, no source: a lower RR corner puts weight on LR and RF.
    found = change_air(CAR, PRESSURE, {"RR": -3.0})
    assert found.cross_after > found.cross_before
    assert found.ride_height["RR"] < found.ride_height["LR"] < 0
    assert sum(found.loads.values()) == pytest.approx(2800)
    # By hand: it stands 0.3/2 pi lower for its size, and 585/1359.4 - 585/1500 for its rate.
    softer = 1500 * (1 - AIR_SHARE / 8)
    lower = 3 * GROWTH_PER_PSI / (2 * math.pi) + 585 / softer - 585 / 1500
    suspension = attrs.evolve(
        CAR.suspension, tire_rates={**CAR.suspension.tire_rates, "RR": softer}
    )
    other = change_size(attrs.evolve(CAR, suspension=suspension), {"RR": -2 * math.pi * lower})
    assert found.loads == pytest.approx(other.loads)


def test_a_softer_rr_tire_lets_the_front_take_more_of_the_roll() -> None:
    car = TurnCar(
        scales=CAR.loads,
        wheel_rate={"LF": 317.0, "RF": 338.0, "LR": 162.0, "RR": 182.0},
        wheelbase=104.0,
        track_front=62.0,
        track_rear=61.0,
        bar_front=250.0,
        tire_rate=CAR.suspension.tire_rates,
    )
    turn = Turn(radius_ft=180, banking_deg=10, speed_mph=62)
    softer = with_pressure(car, "RR", 24.0, -3.0)
    assert softer.tire_rate["RR"] == pytest.approx(rate_with_air(1500, 24, -3))
    assert {c: softer.tire_rate[c] for c in CORNERS if c != "RR"} == {
        c: car.tire_rate[c] for c in CORNERS if c != "RR"
    }
    assert mid_turn(softer, turn).front_share > mid_turn(car, turn).front_share


def test_refusals() -> None:
    rigid = attrs.evolve(CAR, suspension=attrs.evolve(CAR.suspension, tire_rates=None))
    bare = TurnCar(
        scales=CAR.loads,
        wheel_rate=CAR.loads,
        wheelbase=104.0,
        track_front=62.0,
        track_rear=61.0,
    )
    for where, call in (
        ("tire_rate", lambda: rate_with_air(0, 24, 1)),
        ("pressure", lambda: rate_with_air(1500, 0, 1)),
        ("change", lambda: rate_with_air(1500, 24, -24)),
        ("change", lambda: growth(math.nan)),
        ("circumference", lambda: rise(math.inf)),
        ("tires", lambda: change_size(CAR, {"RR": 200.0})),
        ("tires.rate", lambda: change_air(rigid, PRESSURE, {"RR": 1.0})),
        ("tires.rate", lambda: with_pressure(bare, "RR", 24.0, 1.0)),
        ("perch", lambda: change_size(CAR, {"XX": 1.0})),
    ):
        refusal = refusal_of(call)
        assert (refusal.code, refusal.where) == ("bad-value", where)
        assert refusal.hint
