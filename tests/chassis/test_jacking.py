"""Weight jacks against a four-spring equilibrium solved from scratch."""

import itertools
import math

import attrs
import numpy as np
import pytest
from garage import bad_value, refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from planner.chassis import jacking
from planner.chassis.at_rest import AtRest, Jack, Suspension
from planner.chassis.jacking import JackPlan, jack_response, settle, turn_response
from planner.chassis.weights import loads_for_cross, weigh
from planner.trade.corners import CORNERS, mirrored, per_corner
from planner.trade.refusals import Refusal

LOADS = {"LF": 800.0, "RF": 600.0, "LR": 780.0, "RR": 620.0}  # invented
CAR = Suspension(
    spring_rates={"LF": 600.0, "RF": 700.0, "LR": 200.0, "RR": 225.0},
    motion_ratios={"LF": 0.55, "RF": 0.6, "LR": 0.9, "RR": 0.95},
    tire_rates={"LF": 1100.0, "RF": 1500.0, "LR": 1200.0, "RR": 1400.0},
    bar_front=250.0,
    bar_rear=40.0,
)
EQUAL = Suspension(per_corner(lambda _: 200.0))


def turns_for_cross(loads, cross, car, corners=CORNERS, track_ratio=1.0, **jack) -> JackPlan:
    at_rest = AtRest(loads=loads, suspension=car, track_front=track_ratio, track_rear=1.0)
    return jacking.turns_for_cross(at_rest, cross, corners, Jack(**jack))


def four(low, high):
    return st.fixed_dictionaries({c: st.floats(low, high) for c in CORNERS})


cars = st.builds(
    Suspension,
    spring_rates=four(100.0, 1500.0),
    motion_ratios=four(0.5, 1.0),
    tire_rates=st.none() | four(800.0, 3000.0),
    bar_front=st.floats(0.0, 500.0),
    bar_rear=st.floats(0.0, 300.0),
    base_front=st.just(1.0) | st.floats(0.4, 1.0),
    base_rear=st.floats(0.4, 1.0),
)


def standing(car, perch, base=105.0, front=66.0, rear=64.0, risen=None):
    """Loads and corner heights of the whole car, tires and hubs included, by root finding.

    Seven balances in absolute forces: three of the sprung weight about its own center of
    gravity, one for each hub. Written from the free-body diagrams, not from the module.
    """
    unsprung = np.array([55.0, 60.0, 90.0, 95.0])
    scale = np.array([LOADS[c] for c in CORNERS])
    spring, ratio, tire = (
        np.array([m[c] for c in CORNERS])
        for m in (car.spring_rates, car.motion_ratios, car.tire_rates)
    )
    screwed = np.array([perch.get(c, 0.0) for c in CORNERS])
    taller = np.array([(risen or {}).get(c, 0.0) for c in CORNERS])
    held = scale - unsprung
    bases = np.array([car.base_front, car.base_front, car.base_rear, car.base_rear])
    swap = held[[1, 0, 3, 2]]
    shared = (held + swap) / 2 + (held - swap) / 2 / bases  # load in each spring, as at a wheel
    x = np.array([0.0, 0.0, -base, -base])
    y = np.array([front, -front, rear, -rear]) / 2
    cg_x, cg_y = held @ x / held.sum(), held @ y / held.sum()

    def tire_force(hub):
        return scale - tire * (hub - taller)

    def balances(state):
        heave, pitch, roll, hub = state[0], state[1] / base, state[2] / front, state[3:]
        body = heave + pitch * x + roll * y
        travel = hub - body
        # A solid axle: its springs stand at ±base/2 of the track and follow it as it tilts.
        apart = np.array([car.base_front, car.base_front, car.base_rear, car.base_rear])
        other = travel[[1, 0, 3, 2]]
        moved = (travel + other) / 2 + apart * (travel - other) / 2
        at_spring = ratio * spring * (ratio * moved + screwed) + shared
        far = at_spring[[1, 0, 3, 2]]
        at_wheel = (at_spring + far) / 2 + apart * (at_spring - far) / 2
        twist_front = car.bar_front * (travel[0] - travel[1])
        twist_rear = car.bar_rear * (travel[2] - travel[3])
        at_wheel += np.array([twist_front, -twist_front, twist_rear, -twist_rear])
        return [
            at_wheel.sum() - held.sum(),
            at_wheel @ (x - cg_x) / base,
            at_wheel @ (y - cg_y) / front,
            *(tire_force(hub) - unsprung - at_wheel),
        ]

    found = root(balances, np.zeros(7))
    assert np.abs(found.fun).max() < 1e-6  # lb
    heave, pitch, roll = found.x[0], found.x[1] / base, found.x[2] / front
    return tire_force(found.x[3:]) - scale, heave + pitch * x + roll * y


@pytest.mark.parametrize("corner", CORNERS)
@pytest.mark.parametrize(("front", "rear"), [(66.0, 64.0), (60.0, 60.0), (58.0, 66.0)])
def test_one_jack_agrees_with_the_equilibrium_solved_from_scratch(corner, front, rear):
    load, height = standing(CAR, {corner: 0.5}, front=front, rear=rear)
    found = jack_response(CAR, {corner: 0.5}, track_ratio=front / rear)
    assert [found.load[c] for c in CORNERS] == pytest.approx(load, abs=1e-5)
    assert [found.ride_height[c] for c in CORNERS] == pytest.approx(height, abs=1e-7)
    assert abs(load).max() > 5.0  # the comparison is not between zeros


@settings(max_examples=50)
@given(cars.filter(lambda car: car.tire_rates is not None), four(-1.0, 1.0))
def test_any_four_jacks_agree_with_the_equilibrium_solved_from_scratch(car, perch):
    load, height = standing(car, perch)
    found = jack_response(car, perch, track_ratio=66.0 / 64.0)
    assert [found.load[c] for c in CORNERS] == pytest.approx(load, abs=1e-4)
    assert [found.ride_height[c] for c in CORNERS] == pytest.approx(height, abs=1e-6)


@settings(max_examples=50)
@given(cars.filter(lambda car: car.tire_rates is not None), four(-0.5, 0.5))
def test_taller_tires_agree_with_the_equilibrium_solved_from_scratch(car, risen):
    load, height = standing(car, {}, risen=risen)
    found = settle(car, {}, wheelbase=105.0, track_front=66.0, track_rear=64.0, risen=risen)
    assert [found.load[c] for c in CORNERS] == pytest.approx(load, abs=1e-4)
    assert [found.ride_height[c] for c in CORNERS] == pytest.approx(height, abs=1e-6)


def test_a_jack_on_four_equal_springs_moves_a_quarter_of_its_travel_into_each():
    """By hand: warp compliance 4/200 in/lb, so 1 in of jack is 50 lb on each corner."""
    found = jack_response(EQUAL, {"LR": 1.0})
    assert found.load == pytest.approx({"LF": -50, "RF": 50, "LR": 50, "RR": -50})
    assert found.ride_height == pytest.approx({"LF": 0.25, "RF": -0.25, "LR": 0.75, "RR": 0.25})


def test_springs_close_together_move_less_cross_by_hand():
    """Springs at half the track, rear only: the LR jack up an inch.

    In warp the front axle has a roll stiffness of 200 t²/2, the rear a quarter of it, 25 t².
    One spring an inch longer on a base of t/2 tilts a free rear axle by 2/t, so the two roll
    stiffnesses in series, 20 t², hold 40 t lb·in: 40 lb at every corner.
    """
    solid = Suspension(per_corner(lambda _: 200.0), base_rear=0.5)
    found = jack_response(solid, {"LR": 1.0})
    assert found.load == pytest.approx({"LF": -40, "RF": 40, "LR": 40, "RR": -40})


def test_a_tire_in_series_softens_the_jack_as_a_series_rate_says():
    soft = Suspension(per_corner(lambda _: 300.0), tire_rates=per_corner(lambda _: 600.0))
    assert jack_response(soft, {"LR": 1.0}).load["LR"] == pytest.approx(50.0)


def test_motion_ratio_counts_twice_for_rate_and_once_for_perch_travel():
    inboard = Suspension(per_corner(lambda _: 800.0), per_corner(lambda _: 0.5))
    assert jack_response(inboard, {"LR": 0.5}).load == pytest.approx(
        jack_response(EQUAL, {"LR": 1.0}).load
    )


def test_a_bar_makes_the_same_jack_move_more_load():
    with_bar = Suspension(per_corner(lambda _: 200.0), bar_front=300.0)
    assert jack_response(with_bar, {"LR": 1.0}).load["LR"] > 55.0


@pytest.mark.parametrize(("corner", "sign"), [("LF", -1), ("RF", 1), ("LR", 1), ("RR", -1)])
def test_a_jack_screwed_in_raises_its_corner_and_loads_its_diagonal(corner, sign):
    found = turn_response(CAR, {corner: 1.0})
    assert found.ride_height[corner] > 0
    assert found.load[corner] > 0
    assert sign * (found.load["RF"] + found.load["LR"]) > 0


def test_a_turn_is_its_pitch_of_perch_travel():
    assert turn_response(CAR, {"RF": 2.0}, pitch=0.1) == jack_response(CAR, {"RF": 0.2})
    assert turn_response(CAR, {"RF": 12.0}).load == pytest.approx(
        jack_response(CAR, {"RF": 1.0}).load
    )


@settings(max_examples=50)
@given(cars, four(-1.0, 1.0))
def test_jacks_change_neither_total_nor_front_nor_left(car, perch):
    load = jack_response(car, perch).load
    assert load["LF"] + load["RF"] == pytest.approx(0, abs=1e-7)
    assert load["LR"] + load["RR"] == pytest.approx(0, abs=1e-7)
    assert load["LF"] + load["LR"] == pytest.approx(0, abs=1e-7)


@settings(max_examples=50)
@given(cars, four(-1.0, 1.0), st.floats(0.9, 1.1))
def test_a_mirrored_car_answers_in_the_mirror(car, perch, ratio):
    def swap(values):
        return values and {c: values[mirrored(c)] for c in CORNERS}

    other = attrs.evolve(
        car,
        spring_rates=swap(car.spring_rates),
        motion_ratios=swap(car.motion_ratios),
        tire_rates=swap(car.tire_rates),
    )
    here = jack_response(car, perch, track_ratio=ratio)
    there = jack_response(other, swap(perch), track_ratio=ratio)
    assert there.load == pytest.approx(swap(here.load), abs=1e-7)
    assert there.ride_height == pytest.approx(swap(here.ride_height), abs=1e-9)


@settings(max_examples=50)
@given(cars, four(-1.0, 1.0), st.floats(-3.0, 3.0))
def test_no_turn_does_nothing_and_answers_scale_with_the_turns(car, perch, factor):
    assert set(jack_response(car, {}).load.values()) == {0.0}
    assert set(jack_response(car, {}).ride_height.values()) == {0.0}
    once, scaled = (jack_response(car, {c: n * p for c, p in perch.items()}) for n in (1, factor))
    assert scaled.load == pytest.approx({c: factor * v for c, v in once.load.items()}, abs=1e-7)


@settings(max_examples=50)
@given(cars, four(-1.0, 1.0))
def test_the_load_pattern_is_the_warp_that_weights_knows(car, perch):
    """Jacked loads and the loads worked back from the cross they give are the same."""
    found = jack_response(car, {c: p / 10 for c, p in perch.items()}, track_ratio=1.05)
    after = {c: LOADS[c] + found.load[c] for c in CORNERS}
    wanted = loads_for_cross(LOADS, weigh(after).cross, track_ratio=1.05)
    assert after == pytest.approx(wanted, abs=1e-6)


groups = st.lists(st.sampled_from(CORNERS), min_size=1, max_size=4, unique=True)


@settings(max_examples=50)
@given(cars, groups, st.floats(-2.0, 2.0), st.floats(0.95, 1.05))
def test_exact_turns_applied_give_the_wanted_cross(car, corners, more, ratio):
    wanted = weigh(LOADS).cross + more
    plan = turns_for_cross(LOADS, wanted, car, corners, track_ratio=ratio)
    found = turn_response(car, plan.exact_turns, track_ratio=ratio)
    after = {c: LOADS[c] + found.load[c] for c in CORNERS}
    assert weigh(after).cross == pytest.approx(wanted, abs=1e-8)
    assert all(plan.exact_turns[c] == 0 for c in CORNERS if c not in corners)


@settings(max_examples=50)
@given(cars, groups, st.floats(-2.0, 2.0), four(-1.0, 1.0))
def test_no_other_turns_with_the_same_cross_disturb_ride_height_less(car, corners, more, stray):
    plan = turns_for_cross(LOADS, weigh(LOADS).cross + more, car, corners)

    def disturbed(turns):
        return sum(h**2 for h in turn_response(car, turns).ride_height.values())

    def gain(turns):
        load = turn_response(car, turns).load
        return load["RF"] + load["LR"]

    # A stray change that leaves the cross alone: the last corner takes back what the rest did.
    *rest, last = corners
    other = {c: stray[c] for c in rest}
    other[last] = -gain(other) / gain({last: 1.0})
    strayed = {c: plan.exact_turns[c] + other.get(c, 0.0) for c in CORNERS}
    assert gain(strayed) == pytest.approx(gain(plan.exact_turns), abs=1e-6)
    assert disturbed(strayed) >= disturbed(plan.exact_turns) - 1e-10


def test_all_four_jacks_together_leave_the_ride_heights_alone():
    plan = turns_for_cross(LOADS, 51.0, CAR)
    exact = turn_response(CAR, plan.exact_turns)
    assert exact.ride_height == pytest.approx(per_corner(lambda _: 0.0), abs=1e-9)
    one = turns_for_cross(LOADS, 51.0, CAR, ["LR"])
    assert max(one.ride_height.values()) > 0.1


@settings(max_examples=50)
@given(cars, groups, st.floats(-2.0, 2.0), st.sampled_from([0.125, 0.25, 0.5, 1.0]))
def test_hand_turns_leave_the_smallest_remainder_of_all_neighbors(car, corners, more, step):
    wanted = weigh(LOADS).cross + more
    plan = turns_for_cross(LOADS, wanted, car, corners, step=step)
    choices = []
    for ups in itertools.product((math.floor, math.ceil), repeat=len(corners)):
        turns = {
            c: up(plan.exact_turns[c] / step) * step for c, up in zip(corners, ups, strict=True)
        }
        load = turn_response(car, turns).load
        cross = weigh({c: LOADS[c] + load[c] for c in CORNERS}).cross
        choices.append(abs(wanted - cross))
    assert abs(plan.residual) <= min(choices) + 2e-6
    for corner in CORNERS:
        assert plan.turns[corner] / step == pytest.approx(round(plan.turns[corner] / step))
        assert abs(plan.turns[corner] - plan.exact_turns[corner]) < step + 1e-9


def test_searching_neighbors_beats_rounding_each_corner_by_itself():
    plan = turns_for_cross(LOADS, 49.0, CAR, ["LF", "RF", "LR"], step=1.0)
    blind = {c: float(round(n)) for c, n in plan.exact_turns.items()}
    load = turn_response(CAR, blind).load
    cross = weigh({c: LOADS[c] + load[c] for c in CORNERS}).cross
    assert abs(plan.residual) < 0.8 * abs(49.0 - cross)


def test_among_equal_remainders_the_ride_heights_decide():
    """By hand: 6.25 lb a turn, so 15 lb is 2.4 turns, exactly 0.3, 0.3, 0.9 and 0.9.

    Any 2.5 turns in all leave the same cross; rounding the rear ones up is nearest.
    """
    car = Suspension({"LF": 600.0, "RF": 600.0, "LR": 200.0, "RR": 200.0})
    plan = turns_for_cross(LOADS, 100 * (1380 + 2 * 15) / 2800, car)
    assert plan.exact_turns == pytest.approx({"LF": -0.3, "RF": 0.3, "LR": 0.9, "RR": -0.9})
    assert plan.turns == {"LF": -0.25, "RF": 0.25, "LR": 1.0, "RR": -1.0}


def test_a_plan_reports_what_its_hand_turns_really_do():
    plan = turns_for_cross(LOADS, 50.6, CAR, ["LR", "RF"])
    found = turn_response(CAR, plan.turns)
    assert plan.loads == pytest.approx({c: LOADS[c] + found.load[c] for c in CORNERS})
    assert plan.ride_height == found.ride_height
    assert plan.cross == pytest.approx(weigh(plan.loads).cross)
    assert plan.cross + plan.residual == pytest.approx(50.6)


def test_the_present_cross_needs_no_turns():
    plan = turns_for_cross(LOADS, weigh(LOADS).cross, CAR)
    assert plan.turns == per_corner(lambda _: 0.0)
    assert plan.residual == pytest.approx(0.0, abs=1e-9)


def settled(**changed):
    return settle(
        CAR, **{"perch": {}, "wheelbase": 105.0, "track_front": 66, "track_rear": 64} | changed
    )


@pytest.mark.parametrize(
    ("call", "where"),
    [
        (lambda: Suspension({**LOADS, "LF": -200.0}), "spring_rates.LF"),
        (lambda: Suspension({"LF": 200.0}), "spring_rates"),
        (lambda: Suspension(LOADS, {**LOADS, "RR": 0.0}), "motion_ratios.RR"),
        (lambda: Suspension(LOADS, tire_rates={**LOADS, "LR": math.nan}), "tire_rates.LR"),
        (lambda: Suspension(LOADS, bar_front=-1.0), "bar_front"),
        (lambda: Suspension(LOADS, base_front=0.0), "base_front"),
        (lambda: Suspension(LOADS, base_rear=-0.5), "base_rear"),
        (lambda: Suspension(LOADS, bar_rear=math.nan), "bar_rear"),
        (lambda: settled(wheelbase=0.0), "wheelbase"),
        (lambda: settled(track_front=-1.0), "track_front"),
        (lambda: settled(track_rear=math.nan), "track_rear"),
        (lambda: jack_response(CAR, {"FL": 1.0}), "perch"),
        (lambda: jack_response(CAR, {"LF": math.nan}), "perch.LF"),
        (lambda: jack_response(CAR, {}, track_ratio=-1.0), "track_ratio"),
        (lambda: turn_response(CAR, {"LF": math.inf}), "turns.LF"),
        (lambda: turn_response(CAR, {"LF": 1.0}, pitch=0.0), "pitch"),
        (lambda: turns_for_cross(LOADS, 50.0, CAR, []), "corners"),
        (lambda: turns_for_cross(LOADS, 50.0, CAR, ["LF", "LF"]), "corners"),
        (lambda: turns_for_cross(LOADS, 50.0, CAR, ["FL"]), "corners"),
        (lambda: turns_for_cross(LOADS, 50.0, CAR, step=0.0), "step"),
        (lambda: turns_for_cross(LOADS, 95.0, CAR), "cross"),
        (lambda: turns_for_cross(LOADS, math.nan, CAR), "cross"),
        # The wanted cross leaves 2 lb on the RR, the nearest step lifts it.
        (lambda: turns_for_cross(LOADS, 49.2857 + 44.1, EQUAL, ["LR"], step=149.0), "cross"),
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
        (
            lambda: Suspension({**LOADS, "LF": 0.0}),
            "spring_rates.LF is 0 lb/in; it must be a number above 0.",
        ),
        (
            lambda: Suspension(LOADS, {**LOADS, "RR": 0.0}),
            "motion_ratios.RR is 0 spring over wheel travel; it must be a number above 0.",
        ),
        (
            lambda: Suspension(LOADS, tire_rates={**LOADS, "LR": 0.0}),
            "tire_rates.LR is 0 lb/in; it must be a number above 0.",
        ),
        (
            lambda: Suspension(LOADS, bar_front=-1),
            "bar_front is -1 lb/in; it must be a number at least 0.",
        ),
        (
            lambda: Suspension(LOADS, bar_rear=-1),
            "bar_rear is -1 lb/in; it must be a number at least 0.",
        ),
        (lambda: settled(wheelbase=0), "wheelbase is 0 in; it must be a number above 0."),
        (lambda: settled(track_front=0), "track_front is 0 in; it must be a number above 0."),
        (lambda: settled(track_rear=0), "track_rear is 0 in; it must be a number above 0."),
        (
            lambda: jack_response(CAR, {"LF": math.nan}),
            "perch.LF is nan in; it must be a finite number.",
        ),
        (
            lambda: jack_response(CAR, {}, track_ratio=0),
            "track_ratio is 0 front over rear track; it must be a number above 0.",
        ),
        (
            lambda: turn_response(CAR, {"LF": math.inf}),
            "turns.LF is inf turns; it must be a finite number.",
        ),
        (
            lambda: turn_response(CAR, {"LF": 1.0}, pitch=0),
            "pitch is 0 in/turn; it must be a number above 0.",
        ),
        (
            lambda: turns_for_cross(LOADS, 50.0, CAR, step=0),
            "step is 0 turns; it must be a number above 0.",
        ),
        (
            lambda: turns_for_cross(LOADS, 50.0, CAR, track_ratio=0),
            "track_front is 0 in; it must be a number above 0.",
        ),
        (
            lambda: turns_for_cross(LOADS, 50.0, CAR, pitch=0),
            "pitch is 0 in/turn; it must be a number above 0.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: Suspension({"LF": 200.0}),
            "spring_rates",
            "spring_rates names LF; it needs exactly LF, RF, LR, RR.",
            "Give one number in lb/in for each of LF, RF, LR, RR.",
        ),
        (
            lambda: Suspension(LOADS, {"LF": 1.0}),
            "motion_ratios",
            "motion_ratios names LF; it needs exactly LF, RF, LR, RR.",
            "Give one number in spring over wheel travel for each of LF, RF, LR, RR.",
        ),
        (
            lambda: Suspension(LOADS, tire_rates={"LF": 1.0}),
            "tire_rates",
            "tire_rates names LF; it needs exactly LF, RF, LR, RR.",
            "Give one number in lb/in for each of LF, RF, LR, RR.",
        ),
        (
            lambda: jack_response(CAR, {"FL": 1.0}),
            "perch",
            "perch names FL, which is not a corner.",
            "Use LF, RF, LR, RR.",
        ),
        (
            lambda: turns_for_cross(LOADS, 50.0, CAR, []),
            "corners",
            "corners is empty; it must name corners, each once.",
            "Name one to four of LF, RF, LR, RR.",
        ),
        (
            lambda: turns_for_cross(LOADS, 50.0, CAR, ["LF", "LF"]),
            "corners",
            "corners is LF, LF; it must name corners, each once.",
            "Name one to four of LF, RF, LR, RR.",
        ),
        (
            lambda: turns_for_cross(LOADS, 95.0, CAR),
            "cross",
            "cross does not add up: RR would carry -20 lb.",
            "Check the numbers, or ask for less, so that all four tires carry weight.",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


def test_rates_and_lengths_under_one_are_let_through() -> None:
    tiny = Suspension(*[per_corner(lambda _: 0.5)] * 3, bar_front=0.0, bar_rear=0.0)
    assert settle(tiny, {}, wheelbase=0.5, track_front=0.5, track_rear=0.5).load["LF"] == 0


def test_twelve_threads_a_quarter_turn_and_equal_tracks_unless_said_otherwise() -> None:
    one, other = jack_response(CAR, {"LR": 1.0}), jack_response(CAR, {"LR": 1.0}, track_ratio=1.0)
    assert one == other
    said = {"pitch": 1 / 12, "track_ratio": 1.0}
    assert turn_response(CAR, {"LR": 1.0}) == turn_response(CAR, {"LR": 1.0}, **said)
    plain, spelled = (
        turns_for_cross(LOADS, 51.0, CAR, *corners, **given)
        for corners, given in (((), {}), ((CORNERS,), {**said, "step": 0.25}))
    )
    assert plain == spelled
    assert Suspension(LOADS) == Suspension(
        LOADS, per_corner(lambda _: 1.0), None, 0.0, 0.0, 1.0, 1.0
    )


def test_pitch_and_tracks_reach_the_turns() -> None:
    """By hand: on four springs of 200 lb/in an inch of one jack is 50 lb a corner, 100 lb of the
    diagonal. From 1380 to 1408 lb that is 0.28 in, 2.8 turns of 0.1 in.
    """
    plan = turns_for_cross(LOADS, 100 * 1408 / 2800, EQUAL, ["LR"], pitch=0.1)
    assert plan.exact_turns["LR"] == pytest.approx(2.8)
    assert plan.turns["LR"] == 2.75
    assert plan.loads["LR"] == pytest.approx(780 + 2.75 * 5)
    wide = turns_for_cross(LOADS, 51.0, CAR, ["LR"], track_ratio=1.2)
    found = turn_response(CAR, wide.turns, track_ratio=1.2)
    assert wide.ride_height == found.ride_height
    assert wide.loads == pytest.approx({c: LOADS[c] + found.load[c] for c in CORNERS})


def test_a_moment_settles_the_car_as_statics_say() -> None:
    """By hand: 1050 lb in forward over a wheelbase of 105 in is 10 lb to the front, 5 lb a corner,
    0.025 in on 200 lb/in. 640 lb in to the left over two tracks of 64 in is 5 lb a corner.
    """
    size = {"wheelbase": 105.0, "track_front": 64.0, "track_rear": 64.0}
    ahead = settle(EQUAL, {}, fore_moment=1050.0, **size)
    assert ahead.load == pytest.approx({"LF": 5, "RF": 5, "LR": -5, "RR": -5})
    assert ahead.ride_height == pytest.approx(
        {"LF": -0.025, "RF": -0.025, "LR": 0.025, "RR": 0.025}
    )
    left = settle(EQUAL, {}, left_moment=640.0, **size)
    assert left.load == pytest.approx({"LF": 5, "RF": -5, "LR": 5, "RR": -5})
    assert settle(EQUAL, {}, **size) == settle(EQUAL, {}, fore_moment=0.0, left_moment=0.0, **size)
