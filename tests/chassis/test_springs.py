"""Spring changes against the minimum of the potential energy of the whole car."""

import math

import attrs
import numpy as np
import pytest
from garage import bad_value, refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis import springs
from planner.chassis.at_rest import AtRest, Jack, Suspension
from planner.chassis.jacking import jack_response
from planner.chassis.springs import SpringChange, spring_compression
from planner.chassis.weights import weigh
from planner.trade.corners import CORNERS, mirrored, per_corner
from planner.trade.refusals import Refusal

LOADS = {"LF": 800.0, "RF": 600.0, "LR": 780.0, "RR": 620.0}  # invented
UNSPRUNG = {"LF": 55.0, "RF": 60.0, "LR": 90.0, "RR": 95.0}
CAR = Suspension(
    spring_rates={"LF": 600.0, "RF": 700.0, "LR": 200.0, "RR": 225.0},
    motion_ratios={"LF": 0.55, "RF": 0.6, "LR": 0.9, "RR": 0.95},
    tire_rates={"LF": 1100.0, "RF": 1500.0, "LR": 1200.0, "RR": 1400.0},
    bar_front=250.0,
)


def spring_change(loads, car, corner, rate, *, track_ratio=1.0, **more) -> SpringChange:
    at_rest = AtRest(loads=loads, suspension=car, track_front=track_ratio, track_rear=1.0)
    jack = Jack(**{name: more.pop(name) for name in ("pitch", "step") if name in more})
    return springs.spring_change(at_rest, corner, rate, jack=jack, **more)


def at_rest(corner, new_rate, perch=0.0, longer=0.0, base=105.0, front=66.0, rear=64.0):
    """Load changes and corner heights at the least potential energy, new spring fitted.

    Strain of springs, tires and bar plus weight times height, in absolute deflections. It is
    quadratic, so central differences over one inch are exact and one Newton step finds it.
    """
    order = list(CORNERS)
    scale, unsprung, old, ratio, tire = (
        np.array([m[c] for c in order])
        for m in (LOADS, UNSPRUNG, CAR.spring_rates, CAR.motion_ratios, CAR.tire_rates)
    )
    held = scale - unsprung
    pressed = held / ratio / old
    rate = old.copy()
    rate[order.index(corner)] = new_rate
    pressed[order.index(corner)] += perch + longer
    x = np.array([0.5, 0.5, -0.5, -0.5]) * base
    y = np.array([0.5 * front, -0.5 * front, 0.5 * rear, -0.5 * rear])

    def body(q):
        return q[0] + q[1] * x / base + q[2] * y / front

    def energy(q):
        hub = q[3:]
        spring = 0.5 * rate @ (pressed + ratio * (hub - body(q))) ** 2
        squash = 0.5 * tire @ (scale / tire - hub) ** 2
        travel = hub - body(q)
        bar = 0.5 * CAR.bar_front * (travel[0] - travel[1]) ** 2
        # Weight held at each corner stands for the sprung weight at its center of gravity.
        return spring + squash + bar + held @ body(q) + unsprung @ hub

    unit = np.eye(7)
    slope = np.array([(energy(u) - energy(-u)) / 2 for u in unit])
    curve = np.array(
        [
            [(energy(a + b) - energy(a - b) - energy(b - a) + energy(-a - b)) / 4 for b in unit]
            for a in unit
        ]
    )
    q = -np.linalg.solve(curve, slope)
    return -tire * q[3:], body(q)


@pytest.mark.parametrize(
    ("corner", "new_rate", "longer"),
    [("RF", 750.0, 0.0), ("LF", 500.0, 0.0), ("LR", 225.0, 0.25), ("RR", 200.0, -0.5)],
)
def test_a_spring_change_agrees_with_the_least_energy_found_from_scratch(corner, new_rate, longer):
    load, height = at_rest(corner, new_rate, longer=longer)
    found = spring_change(
        LOADS,
        CAR,
        corner,
        new_rate,
        unsprung=UNSPRUNG[corner],
        free_length_change=longer,
        track_ratio=66.0 / 64.0,
    )
    change = [found.loads[c] - LOADS[c] for c in CORNERS]
    assert change == pytest.approx(load, abs=1e-5)
    assert [found.ride_height[c] for c in CORNERS] == pytest.approx(height, abs=1e-7)
    assert max(map(abs, change)) > 2.0  # the comparison is not between zeros


@pytest.mark.parametrize(
    ("corner", "new_rate", "longer"), [("RF", 750.0, 0.0), ("LR", 175.0, 0.0), ("LR", 225.0, 0.5)]
)
def test_the_turns_bring_loads_and_ride_heights_back(corner, new_rate, longer):
    found = spring_change(
        LOADS,
        CAR,
        corner,
        new_rate,
        unsprung=UNSPRUNG[corner],
        free_length_change=longer,
        pitch=0.1,
    )
    load, height = at_rest(corner, new_rate, perch=found.turns * 0.1, longer=longer)
    assert load == pytest.approx(np.zeros(4), abs=1e-5)
    assert height == pytest.approx(np.zeros(4), abs=1e-7)
    assert abs(found.turns) > 0.5


def test_perch_travel_is_the_difference_of_static_compressions():
    """By hand: 500 lb at the wheel, ratio 0.5, is 1000 lb in the spring: 2 in against 1 in."""
    assert spring_compression(560.0, 500.0, 0.5, 60.0) == pytest.approx(2.0)
    assert spring_compression(560.0, 1000.0, 0.5, 60.0) == pytest.approx(1.0)
    car = Suspension(per_corner(lambda _: 500.0), per_corner(lambda _: 0.5))
    found = spring_change(
        per_corner(lambda _: 560.0), car, "RF", 1000.0, unsprung=60.0, pitch=0.125
    )
    assert found.perch == pytest.approx(1.0)
    assert found.turns == pytest.approx(-8.0)


def test_the_springs_of_a_solid_axle_carry_more_of_the_difference():
    """By hand: 700 and 500 lb on a spring base of half the track is 800 and 400 lb in the springs.

    Their moment about the middle is the same: 200 lb on the track, 400 lb on half of it.
    """
    loads = {"LF": 600.0, "RF": 600.0, "LR": 760.0, "RR": 560.0}
    car = Suspension(per_corner(lambda _: 200.0), base_rear=0.5)
    found = spring_change(loads, car, "LR", 250.0, unsprung=60.0, pitch=0.1)
    assert found.perch == pytest.approx(800 / 200 - 800 / 250)
    found = spring_change(loads, car, "RR", 250.0, unsprung=60.0, pitch=0.1)
    assert found.perch == pytest.approx(400 / 200 - 400 / 250)
    found = spring_change(loads, car, "RF", 250.0, unsprung=60.0, pitch=0.1)
    assert found.perch == pytest.approx(540 / 200 - 540 / 250)


def test_a_stiffer_right_front_with_the_jack_left_alone_adds_cross():
    found = spring_change(LOADS, CAR, "RF", 725.0)
    assert found.cross_before == pytest.approx(weigh(LOADS).cross)
    assert found.cross_after > found.cross_before + 0.1
    assert found.cross_after == pytest.approx(weigh(found.loads).cross)
    assert found.ride_height["RF"] > 0
    assert found.turns < 0


@settings(max_examples=50)
@given(st.sampled_from(CORNERS), st.floats(0.85, 1.15))
def test_the_same_spring_is_no_change_and_any_other_is_undone_by_its_turns(corner, factor):
    same = spring_change(LOADS, CAR, corner, CAR.spring_rates[corner])
    assert same.turns == same.hand_turns == same.perch == 0.0
    assert same.loads == LOADS
    found = spring_change(LOADS, CAR, corner, factor * CAR.spring_rates[corner])
    rates = {**CAR.spring_rates, corner: factor * CAR.spring_rates[corner]}
    changed = attrs.evolve(CAR, spring_rates=rates)
    undone = jack_response(changed, {corner: found.turns / 12})
    assert undone.load == pytest.approx({c: LOADS[c] - found.loads[c] for c in CORNERS}, abs=1e-7)
    by_hand = jack_response(changed, {corner: found.hand_turns / 12})
    left = {c: found.loads[c] + by_hand.load[c] for c in CORNERS}
    assert found.hand_cross == pytest.approx(weigh(left).cross)
    assert abs(found.hand_turns - found.turns) <= 0.125 + 1e-9
    assert found.hand_turns % 0.25 == 0


@settings(max_examples=50)
@given(st.sampled_from(CORNERS), st.floats(0.85, 1.15))
def test_front_and_left_stay_and_a_mirrored_car_answers_in_the_mirror(corner, factor):
    found = spring_change(LOADS, CAR, corner, factor * CAR.spring_rates[corner])
    before, after = weigh(LOADS), weigh(found.loads)
    assert after.total == pytest.approx(before.total)
    assert after.front == pytest.approx(before.front)
    assert after.left == pytest.approx(before.left)

    def swap(values):
        return {c: values[mirrored(c)] for c in CORNERS}

    other = Suspension(
        swap(CAR.spring_rates), swap(CAR.motion_ratios), swap(CAR.tire_rates), CAR.bar_front
    )
    there = spring_change(swap(LOADS), other, mirrored(corner), factor * CAR.spring_rates[corner])
    assert there.loads == pytest.approx(swap(found.loads))
    assert there.turns == pytest.approx(found.turns)


def test_small_changes_of_rate_act_in_proportion():
    one, two = (spring_change(LOADS, CAR, "LR", 200.0 + d) for d in (0.01, 0.02))
    assert (two.cross_after - two.cross_before) / (
        one.cross_after - one.cross_before
    ) == pytest.approx(2.0, rel=1e-3)


def test_unsprung_weight_left_out_asks_for_more_turns():
    without = spring_change(LOADS, CAR, "LR", 225.0)
    with_it = spring_change(LOADS, CAR, "LR", 225.0, unsprung=90.0)
    assert with_it.turns / without.turns == pytest.approx((780 - 90) / 780)


@pytest.mark.parametrize(
    ("call", "where"),
    [
        (lambda: spring_change(LOADS, CAR, "FR", 700.0), "corner"),
        (lambda: spring_change(LOADS, CAR, "RF", 0.0), "new_rate"),
        (lambda: spring_change(LOADS, CAR, "RF", math.nan), "new_rate"),
        (lambda: spring_change(LOADS, CAR, "RF", 700.0, free_length_change=40.0), "new_rate"),
        (lambda: spring_change({**LOADS, "LF": -1.0}, CAR, "RF", 700.0), "loads.LF"),
        (lambda: spring_change(LOADS, CAR, "RF", 725.0, unsprung=600.0), "unsprung"),
        (lambda: spring_change(LOADS, CAR, "RF", 725.0, unsprung=-1.0), "unsprung"),
        (
            lambda: spring_change(LOADS, CAR, "RF", 725.0, free_length_change=math.nan),
            "free_length_change",
        ),
        (lambda: spring_change(LOADS, CAR, "RF", 725.0, pitch=-0.1), "pitch"),
        (lambda: spring_change(LOADS, CAR, "RF", 725.0, step=0.0), "step"),
        (lambda: spring_change(LOADS, CAR, "RF", 725.0, track_ratio=0.0), "track_front"),
        (lambda: spring_compression(0.0, 200.0), "load"),
        (lambda: spring_compression(700.0, -200.0), "spring_rate"),
        (lambda: spring_compression(700.0, 200.0, 0.0), "motion_ratio"),
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
        (lambda: spring_compression(0, 200), "load is 0 lb; it must be a number above 0."),
        (
            lambda: spring_compression(700, 0),
            "spring_rate is 0 lb/in; it must be a number above 0.",
        ),
        (
            lambda: spring_compression(700, 200, 0),
            "motion_ratio is 0 spring over wheel travel; it must be a number above 0.",
        ),
        (
            lambda: spring_compression(700, 200, 1, 700),
            "unsprung is 700 lb; it must be a number below 700 and at least 0.",
        ),
        (
            lambda: spring_change(LOADS, CAR, "RF", 0),
            "new_rate is 0 lb/in; it must be a number above 0.",
        ),
        (
            lambda: spring_change(LOADS, CAR, "RF", 725, free_length_change=math.nan),
            "free_length_change is nan in; it must be a finite number.",
        ),
        (
            lambda: spring_change(LOADS, CAR, "RF", 725, pitch=0),
            "pitch is 0 in/turn; it must be a number above 0.",
        ),
        (
            lambda: spring_change(LOADS, CAR, "RF", 725, step=0),
            "step is 0 turns; it must be a number above 0.",
        ),
        (
            lambda: spring_change(LOADS, CAR, "RF", 725, track_ratio=0),
            "track_front is 0 in; it must be a number above 0.",
        ),
        (
            lambda: spring_change(LOADS, CAR, "RF", 725, unsprung=600),
            "unsprung is 600 lb; it must be a number below 600 and at least 0.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: spring_change(LOADS, CAR, "FR", 700),
            "corner",
            "corner is FR, which is not a corner.",
            "Use one of LF, RF, LR, RR.",
        ),
        (
            lambda: spring_change(
                LOADS, Suspension(per_corner(lambda _: 200.0)), "RF", 200, free_length_change=14
            ),
            "new_rate",
            "new_rate does not add up: RR would carry -80 lb.",
            "Check the numbers, or ask for less, so that all four tires carry weight.",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


def test_values_under_one_are_let_through() -> None:
    assert spring_compression(0.5, 0.5, 0.5) == 2.0  # 0.5 lb / 0.5 / 0.5 lb/in
    soft = Suspension(per_corner(lambda _: 0.5))
    light = per_corner(lambda _: 0.5)
    same = spring_change(light, soft, "RF", 0.5, pitch=0.5, step=0.5, track_ratio=0.5)
    assert (same.turns, same.loads) == (0.0, light)


def test_what_is_left_out_is_what_the_trade_takes_as_usual() -> None:
    assert spring_compression(700, 200) == spring_compression(700, 200, 1.0, 0.0) == 3.5
    said = {"unsprung": 0.0, "free_length_change": 0.0, "pitch": 1 / 12, "step": 0.25}
    plain = spring_change(LOADS, CAR, "RF", 750)
    assert plain == spring_change(LOADS, CAR, "RF", 750, track_ratio=1.0, **said)
    assert spring_change(LOADS, CAR, "RF", 750, step=0.5).hand_turns % 0.5 == 0
    assert plain.hand_cross != spring_change(LOADS, CAR, "RF", 750, step=2.0).hand_cross
