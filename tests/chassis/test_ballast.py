"""Moved ballast against balance of moments and compatibility of a rigid chassis."""

import math

import numpy as np
import pytest
from garage import bad_value, refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis import ballast
from planner.chassis.at_rest import EQUALLY_STIFF, AtRest, Suspension
from planner.chassis.ballast import BallastMove, lateral_transfer_per_g, load_shifts
from planner.chassis.weights import weigh
from planner.trade.corners import CORNERS, mirrored
from planner.trade.refusals import Refusal

LOADS = {"LF": 800.0, "RF": 600.0, "LR": 780.0, "RR": 620.0}  # invented
SIZE = {"wheelbase": 105.0, "track_front": 66.0, "track_rear": 64.0}
CAR = Suspension(
    spring_rates={"LF": 600.0, "RF": 700.0, "LR": 200.0, "RR": 225.0},
    motion_ratios={"LF": 0.55, "RF": 0.6, "LR": 0.9, "RR": 0.95},
    tire_rates={"LF": 1100.0, "RF": 1500.0, "LR": 1200.0, "RR": 1400.0},
)
WAYS = ("rearward", "leftward", "upward")


def move_ballast(loads, amount, *, suspension=EQUALLY_STIFF, **more) -> BallastMove:
    ways = {way: more.pop(way) for way in WAYS if way in more}
    return ballast.move_ballast(AtRest(loads=loads, suspension=suspension, **more), amount, **ways)


def reactions(amount, back, left, rates, base=105.0, front=66.0, rear=64.0):
    """Four loads and three movements of the body from seven equations (no bars).

    Whole weights about the left front tire, and each corner pressed by its load change.
    """
    order = list(CORNERS)
    scale = np.array([LOADS[c] for c in order])
    x = np.array([0.0, 0.0, base, base])  # rearward
    y = np.array([0.0, front, (front - rear) / 2, (front + rear) / 2])  # rightward
    equations, right = np.zeros((7, 7)), np.zeros(7)
    equations[0, :4], right[0] = 1.0, scale.sum()
    equations[1, :4], right[1] = x, scale @ x + amount * back
    equations[2, :4], right[2] = y, scale @ y - amount * left
    for i, corner in enumerate(order):
        # load - old load = rate * (how far the body sank at that corner)
        equations[3 + i, i] = 1.0
        equations[3 + i, 4:] = -rates[corner] * np.array([1.0, x[i], y[i]])
        right[3 + i] = scale[i]
    solved = np.linalg.solve(equations, right)
    sunk = [solved[4] + solved[5] * x[i] + solved[6] * y[i] for i in range(4)]
    return dict(zip(order, solved[:4], strict=True)), dict(zip(order, sunk, strict=True))


@pytest.mark.parametrize(("back", "left"), [(40.0, 0.0), (0.0, 30.0), (-25.0, 18.0)])
def test_moved_ballast_agrees_with_equilibrium_on_the_cars_own_rates(back, left):
    rates = {
        c: 1 / (1 / (CAR.spring_rates[c] * CAR.motion_ratios[c] ** 2) + 1 / CAR.tire_rates[c])
        for c in CORNERS
    }
    loads, sunk = reactions(50.0, back, left, rates)
    found = move_ballast(LOADS, 50.0, rearward=back, leftward=left, suspension=CAR, **SIZE)
    assert found.loads == pytest.approx(loads)
    assert found.ride_height == pytest.approx({c: -sunk[c] for c in CORNERS})
    assert found.split == weigh(found.loads)


@pytest.mark.parametrize(("back", "left"), [(40.0, 0.0), (0.0, 30.0), (-25.0, 18.0)])
def test_without_rates_the_corners_count_as_equally_stiff(back, left):
    loads, _ = reactions(50.0, back, left, dict.fromkeys(CORNERS, 321.0))
    found = move_ballast(LOADS, 50.0, rearward=back, leftward=left, **SIZE)
    assert found.loads == pytest.approx(loads)
    assert found.ride_height is None


def test_a_bar_takes_part_in_where_sideways_ballast_lands():
    barred = Suspension(CAR.spring_rates, CAR.motion_ratios, CAR.tire_rates, bar_front=400.0)
    plain, stiff = (
        move_ballast(LOADS, 50.0, leftward=30.0, suspension=s, **SIZE).loads for s in (CAR, barred)
    )
    assert stiff["LF"] > plain["LF"] + 1.0
    assert stiff["LR"] < plain["LR"] - 1.0


def test_rearward_leftward_and_negative_amounts_go_where_they_say():
    back = move_ballast(LOADS, 50.0, rearward=21.0, wheelbase=105.0)
    assert back.split.total * back.split.rear / 100 == pytest.approx(1400 + 50 * 21 / 105)
    left = move_ballast(LOADS, 50.0, leftward=33.0, track_front=66.0, track_rear=66.0)
    assert left.split.total * left.split.left / 100 == pytest.approx(1580 + 50 * 33 / 66)
    ahead = move_ballast(LOADS, -50.0, rearward=21.0, wheelbase=105.0)
    assert ahead.loads == pytest.approx(
        move_ballast(LOADS, 50.0, rearward=-21.0, wheelbase=105.0).loads
    )
    assert ahead.split.front > weigh(LOADS).front


def test_distances_may_be_shares_of_a_wheelbase_or_track_that_is_not_known():
    shares = move_ballast(LOADS, 50.0, rearward=0.2, leftward=0.5, suspension=CAR)
    inches = move_ballast(
        LOADS,
        50.0,
        rearward=21.0,
        leftward=32.0,
        suspension=CAR,
        wheelbase=105.0,
        track_front=64.0,
        track_rear=64.0,
    )
    assert shares.loads == pytest.approx(inches.loads)
    assert shares.ride_height == pytest.approx(inches.ride_height)


moves = st.tuples(st.floats(-60.0, 60.0), st.floats(-50.0, 50.0), st.floats(-40.0, 40.0))


@settings(max_examples=50)
@given(moves)
def test_total_and_moments_are_those_of_the_moved_weight_whatever_the_springs(move):
    amount, back, left = move
    found = move_ballast(LOADS, amount, rearward=back, leftward=left, suspension=CAR, **SIZE)
    change = {c: found.loads[c] - LOADS[c] for c in CORNERS}
    assert sum(change.values()) == pytest.approx(0, abs=1e-8)
    assert 105.0 * (change["LR"] + change["RR"]) == pytest.approx(amount * back, abs=1e-6)
    roll = 33.0 * (change["LF"] - change["RF"]) + 32.0 * (change["LR"] - change["RR"])
    assert roll == pytest.approx(amount * left, abs=1e-6)


@settings(max_examples=50)
@given(moves)
def test_without_rates_and_with_equal_tracks_the_diagonals_keep_their_weight(move):
    amount, back, left = move
    found = move_ballast(
        LOADS, amount, rearward=back, leftward=left, wheelbase=105, track_front=66, track_rear=66
    )
    assert found.split.cross == pytest.approx(weigh(LOADS).cross)


@settings(max_examples=50)
@given(moves, st.floats(-2.0, 2.0))
def test_the_answer_scales_with_the_amount_and_mirrors(move, factor):
    amount, back, left = move

    def change(amount, left, car=CAR, loads=LOADS):
        found = move_ballast(loads, amount, rearward=back, leftward=left, suspension=car, **SIZE)
        return {c: found.loads[c] - loads[c] for c in CORNERS}

    once = change(amount, left)
    assert change(factor * amount, left) == pytest.approx(
        {c: factor * v for c, v in once.items()}, abs=1e-8
    )

    def swap(values):
        return {c: values[mirrored(c)] for c in CORNERS}

    other = Suspension(*(swap(m) for m in (CAR.spring_rates, CAR.motion_ratios, CAR.tire_rates)))
    assert change(amount, -left, other, swap(LOADS)) == pytest.approx(swap(once), abs=1e-8)


@pytest.mark.parametrize(("amount", "distance"), [(0.0, 30.0), (50.0, 0.0)])
def test_no_amount_or_no_distance_is_no_effect(amount, distance):
    found = move_ballast(
        LOADS, amount, rearward=distance, leftward=distance, upward=distance, cg_height=18.0, **SIZE
    )
    assert found.loads == LOADS
    assert found.cg_height == 18.0
    assert found.transfer_after == found.transfer_before


def test_lowering_ballast_lowers_the_car_and_its_load_transfer():
    """By hand: 70 lb down 8 in on 2800 lb is 0.2 in; 2800 * 18 / 65 lb/g before."""
    found = move_ballast(LOADS, 70.0, upward=-8.0, cg_height=18.0, **SIZE)
    assert found.cg_height == pytest.approx(17.8)
    assert found.transfer_before == pytest.approx(2800 * 18 / 65)
    assert found.transfer_after == pytest.approx(2800 * 17.8 / 65)
    assert found.loads == LOADS


@pytest.mark.parametrize(
    ("mass", "height", "newtons"),
    [(0.54 * 1280, 0.07, 195), (0.46 * 1280, 0.32, 760), (140, 0.280, 158), (180, 0.300, 218)],
)
def test_load_transfer_agrees_with_published_parts(mass, height, newtons):
    """Barton and Fieldhouse, Automotive Chassis Engineering (Springer, 2018), p. 174: the parts
    through the roll centers and of the unsprung masses at 0.6 g, track 1.46 m.
    """
    per_g = lateral_transfer_per_g(mass * 9.81, height, 1.46)
    assert 0.6 * per_g == pytest.approx(newtons, abs=0.5)


def test_what_is_not_known_stays_unknown():
    no_height = move_ballast(LOADS, 50.0, upward=-5.0, **SIZE)
    assert (no_height.cg_height, no_height.transfer_before, no_height.transfer_after) == (None,) * 3
    no_track = move_ballast(LOADS, 50.0, upward=-5.6, cg_height=18.0)
    assert no_track.cg_height == pytest.approx(17.9)
    assert (no_track.transfer_before, no_track.transfer_after) == (None, None)


@pytest.mark.parametrize(
    ("call", "where"),
    [
        (lambda: move_ballast({**LOADS, "RF": 0.0}, 10.0), "loads.RF"),
        (lambda: move_ballast(LOADS, math.nan), "amount"),
        (lambda: move_ballast(LOADS, 2800.0), "amount"),
        (lambda: move_ballast(LOADS, -2800.0), "amount"),
        (lambda: move_ballast(LOADS, 2000.0, rearward=0.9), "amount"),
        (lambda: move_ballast(LOADS, 10.0, rearward=20.0), "rearward"),
        (lambda: move_ballast(LOADS, 10.0, leftward=-20.0), "leftward"),
        (lambda: move_ballast(LOADS, 10.0, rearward=math.nan, **SIZE), "rearward"),
        (lambda: move_ballast(LOADS, 10.0, upward=math.inf), "upward"),
        (lambda: move_ballast(LOADS, 1000.0, upward=-100.0, cg_height=18.0), "upward"),
        (lambda: move_ballast(LOADS, 10.0, cg_height=0.0), "cg_height"),
        (lambda: move_ballast(LOADS, 10.0, **{**SIZE, "wheelbase": -1.0}), "wheelbase"),
        (lambda: move_ballast(LOADS, 10.0, **{**SIZE, "track_front": 0.0}), "track_front"),
        (lambda: move_ballast(LOADS, 10.0, track_front=66.0), "track_rear"),
        (lambda: move_ballast(LOADS, 10.0, track_rear=66.0), "track_front"),
        (lambda: lateral_transfer_per_g(-1.0, 18.0, 65.0), "total"),
        (lambda: lateral_transfer_per_g(2800.0, 0.0, 65.0), "cg_height"),
        (lambda: lateral_transfer_per_g(2800.0, 18.0, 0.0), "track"),
    ],
)
def test_bad_values_are_refused_with_the_key_and_what_to_type(call, where):
    with pytest.raises(Refusal) as caught:
        call()
    assert caught.value.code == "bad-value"
    assert caught.value.where == where
    assert where in caught.value.message
    assert caught.value.hint


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: lateral_transfer_per_g(0, 18, 65), "total is 0 lb; it must be a number above 0."),
        (
            lambda: lateral_transfer_per_g(2800, 0, 65),
            "cg_height is 0 in; it must be a number above 0.",
        ),
        (
            lambda: lateral_transfer_per_g(2800, 18, 0),
            "track is 0 in; it must be a number above 0.",
        ),
        (
            lambda: move_ballast(LOADS, 2800),
            "amount is 2800 lb; it must be a number above -2800 and below 2800.",
        ),
        (
            lambda: move_ballast(LOADS, 10, rearward=math.nan),
            "rearward is nan in; it must be a finite number.",
        ),
        (
            lambda: move_ballast(LOADS, 10, leftward=math.nan),
            "leftward is nan in; it must be a finite number.",
        ),
        (
            lambda: move_ballast(LOADS, 10, upward=math.nan),
            "upward is nan in; it must be a finite number.",
        ),
        (
            lambda: move_ballast(LOADS, 10, cg_height=0),
            "cg_height is 0 in; it must be a number above 0.",
        ),
        (
            lambda: move_ballast(LOADS, 1400, upward=-36, cg_height=18),
            "upward is 0 in (the new cg height); it must be a number above 0.",
        ),
        (
            lambda: move_ballast(LOADS, 10, wheelbase=0),
            "wheelbase is 0 in; it must be a number above 0.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: move_ballast(LOADS, 10, rearward=20),
            "rearward",
            "rearward is 20, but without wheelbase it is a share of it, from -1 to 1.",
            "Give wheelbase in inches, or rearward as a share of it.",
        ),
        (
            lambda: move_ballast(LOADS, 10, leftward=-20),
            "leftward",
            "leftward is -20, but without track_front and track_rear it is a share of it, "
            "from -1 to 1.",
            "Give track_front and track_rear in inches, or leftward as a share of it.",
        ),
        (
            lambda: move_ballast(LOADS, 10, track_front=66),
            "track_rear",
            "Only one of track_front and track_rear is given.",
            "Give both tracks in inches, or neither.",
        ),
        (
            lambda: move_ballast(LOADS, 10, track_rear=66),
            "track_front",
            "Only one of track_front and track_rear is given.",
            "Give both tracks in inches, or neither.",
        ),
        (
            lambda: move_ballast(LOADS, 2000, rearward=1),
            "amount",
            "amount does not add up: LF would carry -200 lb.",
            "Check the numbers, or ask for less, so that all four tires carry weight.",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


def test_the_ends_of_every_range_are_let_through() -> None:
    # 0.5 lb at 0.5 in over a track of 0.25 in.
    assert lateral_transfer_per_g(0.5, 0.5, 0.25) == 1.0
    # A whole wheelbase or track, as a share: 20 lb, half to each side or end.
    for way, gains in (("rearward", ("LR", "RR")), ("leftward", ("LF", "LR"))):
        for share in (1.0, -1.0):
            found = move_ballast(LOADS, 20.0, **{way: share}).loads
            assert {c: found[c] - LOADS[c] for c in CORNERS} == pytest.approx(
                {c: share * (10 if c in gains else -10) for c in CORNERS}
            )
    # 2799 lb of 2800 lb can be named, moved nowhere.
    assert move_ballast(LOADS, 2799.0).loads == LOADS
    assert move_ballast(LOADS, -2799.0).loads == LOADS
    # 1400 lb, half the car, down 35 in: 17.5 in less than 18.
    assert move_ballast(LOADS, 1400.0, upward=-35.0, cg_height=18.0).cg_height == 0.5
    assert move_ballast(LOADS, 0.0, cg_height=0.5).cg_height == 0.5


def test_what_is_left_out_is_not_moved() -> None:
    plain = move_ballast(LOADS, 50.0, cg_height=18.0, **SIZE)
    assert plain == move_ballast(
        LOADS, 50.0, rearward=0.0, leftward=0.0, upward=0.0, cg_height=18.0, **SIZE
    )
    assert plain.loads == LOADS


def test_scales_that_are_not_known_move_as_balance_of_moments_says():
    """By hand: 50 lb 40 in back on 104 in puts 2000/104 lb on the rear, half on each tire."""
    size = {"wheelbase": 104.0, "track_front": 60.0, "track_rear": 60.0}
    back = load_shifts(50.0, rearward=40.0, **size)
    each = 50 * 40 / 104 / 2
    assert back == pytest.approx({"LF": -each, "RF": -each, "LR": each, "RR": each})
    left = load_shifts(50.0, leftward=20.0, **size)
    each = 50 * 20 / 60 / 2
    assert left == pytest.approx({"LF": each, "RF": -each, "LR": each, "RR": -each})
    assert load_shifts(-50.0, leftward=20.0, **size) == pytest.approx(
        {corner: -load for corner, load in left.items()}
    )


def test_known_scales_move_by_the_same():
    size = {"wheelbase": 104.0, "track_front": 62.0, "track_rear": 61.0}
    car = AtRest(loads=LOADS, suspension=CAR, **size)
    moved = ballast.move_ballast(car, 60.0, rearward=30.0, leftward=-12.0)
    shifts = load_shifts(60.0, rearward=30.0, leftward=-12.0, suspension=CAR, **size)
    assert {c: moved.loads[c] - LOADS[c] for c in CORNERS} == pytest.approx(shifts)
    for where, call in (
        ("amount", lambda: load_shifts(math.nan, **size)),
        ("rearward", lambda: load_shifts(1.0, rearward=math.inf, **size)),
        ("leftward", lambda: load_shifts(1.0, leftward=math.inf, **size)),
    ):
        assert refusal_of(call).where == where
