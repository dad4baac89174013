"""Scale readings, percentages, and loads worked back from them."""

import math

import pytest
from garage import bad_value, refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis.checks import checked, checked_corners
from planner.chassis.weights import (
    check_on_ground,
    loads_for_cross,
    loads_for_equal_front_share,
    weigh,
)
from planner.trade.corners import CORNERS, mirrored
from planner.trade.refusals import Refusal

LATE_MODEL = {"LF": 800.0, "RF": 600.0, "LR": 780.0, "RR": 620.0}  # invented
some_loads = st.fixed_dictionaries({c: st.floats(200.0, 1500.0) for c in CORNERS})

# Ground Control, "The Hows and Whys of Cornerweights": the car before and after.
LEFT_SIDE, RIGHT_SIDE = 1364.0, 1191.0
BEFORE = {
    "LF": LEFT_SIDE * 0.528,
    "LR": LEFT_SIDE * (1 - 0.528),
    "RF": RIGHT_SIDE * 0.490,
    "RR": RIGHT_SIDE * (1 - 0.490),
}
PUBLISHED = {"LF": 694.0, "LR": 670.0, "RF": 606.0, "RR": 585.0}


def test_side_shares_are_read_as_ground_control_reads_them():
    split = weigh(BEFORE)
    assert split.front_of_left == pytest.approx(52.8)
    assert split.front_of_right == pytest.approx(49.0)


def test_equal_front_share_gives_the_published_corner_loads():
    share = (52.8 + 49.0) / 2
    assert share == pytest.approx(50.9)
    loads = loads_for_equal_front_share(BEFORE, share)
    assert loads == pytest.approx(PUBLISHED, abs=0.5)
    split = weigh(loads)
    assert split.front_of_left == pytest.approx(split.front_of_right)
    assert split.total * split.cross / 100 == pytest.approx(1276, abs=0.5)
    assert split.diagonal_difference == pytest.approx(1276 - 1279, abs=0.5)


def test_jacks_alone_come_within_three_pounds_of_the_published_loads_and_keep_the_front():
    loads = loads_for_equal_front_share(BEFORE)
    assert loads == pytest.approx(PUBLISHED, abs=3.0)
    assert weigh(loads).front == pytest.approx(weigh(BEFORE).front)
    assert loads == pytest.approx(loads_for_cross(BEFORE, weigh(loads).cross))


def test_percentages_follow_the_definitions_of_alexander():
    """D. Alexander, "Understanding Corner Weights", Grassroots Motorsports."""
    split = weigh(LATE_MODEL)
    assert split.total == 2800
    assert split.left == pytest.approx(100 * (800 + 780) / 2800)
    assert split.right == pytest.approx(100 * (600 + 620) / 2800)
    assert split.front == pytest.approx(100 * (800 + 600) / 2800)
    assert split.rear == pytest.approx(100 * (780 + 620) / 2800)
    assert split.cross == pytest.approx(100 * (600 + 780) / 2800)
    assert split.wedge == 780 - 620
    assert split.diagonal_difference == pytest.approx((600 + 780) - (800 + 620))


@settings(max_examples=50)
@given(some_loads)
def test_a_mirrored_car_has_the_other_diagonal(loads):
    split, other = weigh(loads), weigh({c: loads[mirrored(c)] for c in CORNERS})
    assert other.cross == pytest.approx(100 - split.cross)
    assert other.left == pytest.approx(split.right)
    assert other.front == pytest.approx(split.front)
    assert other.wedge == pytest.approx(-split.wedge)


@settings(max_examples=50)
@given(some_loads, st.floats(-3.0, 3.0))
def test_wanted_cross_is_met_and_front_and_left_stay(loads, more):
    before = weigh(loads)
    after = weigh(loads_for_cross(loads, before.cross + more))
    assert after.cross == pytest.approx(before.cross + more)
    assert after.total == pytest.approx(before.total)
    assert after.front == pytest.approx(before.front)
    assert after.left == pytest.approx(before.left)


@settings(max_examples=50)
@given(some_loads, st.floats(-3.0, 3.0), st.floats(0.9, 1.1))
def test_unequal_tracks_leave_no_roll_moment(loads, more, ratio):
    wanted = weigh(loads).cross + more
    moved = loads_for_cross(loads, wanted, track_ratio=ratio)
    assert weigh(moved).cross == pytest.approx(wanted)
    change = {c: moved[c] - loads[c] for c in CORNERS}
    assert change["LF"] + change["RF"] == pytest.approx(0, abs=1e-9)
    roll = ratio * (change["LF"] - change["RF"]) + (change["LR"] - change["RR"])
    assert roll == pytest.approx(0, abs=1e-9)


def test_asking_for_the_present_cross_changes_nothing():
    assert loads_for_cross(LATE_MODEL, weigh(LATE_MODEL).cross) == pytest.approx(LATE_MODEL)


@pytest.mark.parametrize(
    ("call", "where"),
    [
        (lambda: weigh({**LATE_MODEL, "RF": 0.0}), "loads.RF"),
        (lambda: weigh({**LATE_MODEL, "RF": -10.0}), "loads.RF"),
        (lambda: weigh({**LATE_MODEL, "LR": math.nan}), "loads.LR"),
        (lambda: weigh({**LATE_MODEL, "LR": math.inf}), "loads.LR"),
        (lambda: weigh({"LF": 700.0}), "loads"),
        (lambda: weigh({}), "loads"),
        (lambda: weigh({**LATE_MODEL, "XX": 1.0}), "loads"),
        (lambda: loads_for_cross(LATE_MODEL, 120), "cross"),
        (lambda: loads_for_cross(LATE_MODEL, 99), "cross"),
        (lambda: loads_for_cross(LATE_MODEL, 52, track_ratio=0.0), "track_ratio"),
        (lambda: loads_for_equal_front_share(LATE_MODEL, 101), "front_share"),
        (lambda: checked(1.0, "x", "lb", above=1.0), "x"),
        (lambda: checked(1.0, "x", "lb", below=1.0), "x"),
        (lambda: checked(0.9, "x", "lb", low=1.0), "x"),
        (lambda: checked_corners({**LATE_MODEL, "RR": 5.0}, "x", "lb", above=5.0), "x.RR"),
    ],
)
def test_bad_weights_are_refused_with_the_key_and_what_to_type(call, where):
    with pytest.raises(Refusal) as caught:
        call()
    assert caught.value.code == "bad-value"
    assert caught.value.where == where
    assert where in caught.value.message
    assert caught.value.hint


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: weigh({**LATE_MODEL, "RF": 0.0}),
            "loads.RF is 0 lb; it must be a number above 0.",
        ),
        (
            lambda: loads_for_cross(LATE_MODEL, 0),
            "cross is 0 percent; it must be a number above 0 and below 100.",
        ),
        (
            lambda: loads_for_cross(LATE_MODEL, 52, track_ratio=0),
            "track_ratio is 0 front over rear track; it must be a number above 0.",
        ),
        (
            lambda: loads_for_equal_front_share(LATE_MODEL, 0),
            "front_share is 0 percent; it must be a number above 0 and below 100.",
        ),
        (
            lambda: loads_for_equal_front_share(LATE_MODEL, 100),
            "front_share is 100 percent; it must be a number above 0 and below 100.",
        ),
        (
            lambda: checked_corners({**LATE_MODEL, "RR": 5.0}, "x", "lb", above=5),
            "x.RR is 5 lb; it must be a number above 5.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: checked(math.nan, "x", "lb"),
            "x",
            "x is nan lb; it must be a finite number.",
            "give a finite number, in lb",
        ),
        (
            lambda: checked(-math.inf, "x", "lb"),
            "x",
            "x is -inf lb; it must be a finite number.",
            "give a finite number, in lb",
        ),
        (
            lambda: checked(9, "x", "lb", above=1, below=9, low=2, high=8),
            "x",
            "x is 9 lb; it must be a number above 1 and below 9 and at least 2 and at most 8.",
            "give a number above 1 and below 9 and at least 2 and at most 8, in lb",
        ),
        (
            lambda: weigh({}),
            "loads",
            "loads names no corner; it needs exactly LF, RF, LR, RR.",
            "Give one number in lb for each of LF, RF, LR, RR.",
        ),
        (
            lambda: weigh({"RF": 1.0, "LF": 1.0}),
            "loads",
            "loads names LF, RF; it needs exactly LF, RF, LR, RR.",
            "Give one number in lb for each of LF, RF, LR, RR.",
        ),
        (
            lambda: check_on_ground({**LATE_MODEL, "LR": 0.0}, "cross"),
            "cross",
            "cross does not add up: LR would carry 0 lb.",
            "Check the numbers, or ask for less, so that all four tires carry weight.",
        ),
        # 99 % of 2800 lb is 2772 lb, 1392 lb more on the diagonal, 696 lb a corner: 620 − 696.
        (
            lambda: loads_for_cross(LATE_MODEL, 99),
            "cross",
            "cross does not add up: RR would carry -76 lb.",
            "Check the numbers, or ask for less, so that all four tires carry weight.",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


@pytest.mark.parametrize(
    ("just_allowed", "just_refused", "limit"),
    [
        (math.nextafter(5, 6), 5.0, {"above": 5}),
        (math.nextafter(5, 4), 5.0, {"below": 5}),
        (5.0, math.nextafter(5, 4), {"low": 5}),
        (5.0, math.nextafter(5, 6), {"high": 5}),
    ],
)
def test_a_limit_is_kept_to_the_last_digit(just_allowed, just_refused, limit) -> None:
    assert checked(just_allowed, "x", "lb", **limit) == just_allowed
    with pytest.raises(Refusal):
        checked(just_refused, "x", "lb", **limit)


def test_whole_numbers_come_back_as_floats_and_corners_in_order() -> None:
    assert type(checked(3, "x", "lb")) is float
    turned = checked_corners({"RR": 4, "LR": 3, "RF": 2, "LF": 1}, "x", "lb")
    assert list(turned.items()) == [("LF", 1.0), ("RF", 2.0), ("LR", 3.0), ("RR", 4.0)]
    with pytest.raises(Refusal):
        checked_corners({**LATE_MODEL, "RR": 0.0}, "x", "lb")
    assert checked_corners({**LATE_MODEL, "RR": 0.5}, "x", "lb")["RR"] == 0.5


def test_a_light_car_and_shares_near_the_ends_are_let_through() -> None:
    # 0.5 % of 1580 and 1220 lb.
    share = loads_for_equal_front_share(LATE_MODEL, 0.5)
    assert (share["LF"], share["RF"]) == pytest.approx((7.9, 6.1))
    assert loads_for_cross(LATE_MODEL, 51) == loads_for_cross(LATE_MODEL, 51, track_ratio=1.0)


def test_tires_that_carry_half_a_pound_stand_on_the_ground() -> None:
    light = {**LATE_MODEL, "RR": 0.5}
    assert check_on_ground(light, "cross") == light
