"""What a crew asks of the car in the middle of the turn."""

import attrs
import pytest
from seven_degrees import least_energy

from planner.chassis.axle import AxleTransfer, LoadTransfer
from planner.chassis.changed import with_bar, with_cross, with_panhard
from planner.chassis.loads import TurnCar, turn_loads
from planner.chassis.mid_turn import mid_turn, seen_in
from planner.chassis.turn import Turn
from planner.trade.corners import CORNERS

CAR = TurnCar(  # invented
    scales={"LF": 765.0, "RF": 678.0, "LR": 772.0, "RR": 585.0},
    wheel_rate={"LF": 317.0, "RF": 338.0, "LR": 162.0, "RR": 182.0},
    wheelbase=104.0,
    track_front=62.0,
    track_rear=61.0,
    bar_front=250.0,
    tire_rate={"LF": 1300.0, "RF": 1500.0, "LR": 1300.0, "RR": 1500.0},
    cg_height=16.5,
)
TURN = Turn(radius_ft=180, banking_deg=10, speed_mph=62)


def test_figures_are_those_of_the_loads_of_least_energy() -> None:
    seen, loads = mid_turn(CAR, TURN), least_energy(CAR, TURN).loads
    total = sum(loads.values())
    assert seen.loads == pytest.approx(loads, abs=1e-3)
    assert seen.cross == pytest.approx(100 * (loads["RF"] + loads["LR"]) / total, abs=1e-6)
    # From the scales to the turn each axle moves half of what its difference has changed, less
    # the half that banking adds to each side.
    front = (loads["RF"] - loads["LF"] - 678 + 765) / 2
    rear = (loads["RR"] - loads["LR"] - 585 + 772) / 2
    assert seen.front_share == pytest.approx(100 * front / (front + rear), abs=1e-6)
    assert seen.lifted == ()
    assert seen.lift_off == {"LF": None, "LR": None}


def test_what_a_change_does_is_the_difference_of_two() -> None:
    # Common practice, no source: cross, a stiffer front bar and a lower rear roll centre all
    # load the RF and LR diagonal in a left turn.
    now = mid_turn(CAR, TURN)
    for change in (with_cross(CAR, 1), with_bar(CAR, "front", 50), with_panhard(CAR, -1)):
        after = mid_turn(change, TURN)
        assert after.cross > now.cross
        assert sum(after.loads.values()) == pytest.approx(sum(now.loads.values()))
    # Cross moves load before the turn, not in it: the front share of what moves stays.
    assert mid_turn(with_cross(CAR, 1), TURN).front_share == pytest.approx(
        now.front_share, abs=0.05
    )
    assert mid_turn(with_bar(CAR, "front", 50), TURN).front_share > now.front_share


def test_a_wheel_that_lifts_is_named_with_where_it_lifts() -> None:
    car = attrs.evolve(CAR, cg_height=20, bar_front=900)
    seen = mid_turn(car, attrs.evolve(TURN, banking_deg=0, speed_mph=60))
    assert seen.lifted == ("LF",)
    assert seen.lift_off["LF"] < seen.lateral_g < seen.lift_off["LR"]
    assert set(seen.loads) == set(CORNERS)


def test_where_nothing_moves_there_is_no_front_share() -> None:
    state = turn_loads(CAR, TURN)
    still = LoadTransfer(AxleTransfer(0, 0, 0), AxleTransfer(0, 0, 0), 0.0)
    assert seen_in(CAR, TURN, attrs.evolve(state, transfer=still)).front_share is None
