"""Tight or loose: the signs the trade knows, and what must hold for any car."""

import math
from collections.abc import Callable

import attrs
import pytest
from garage import bad_value, refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis.changed import (
    with_ballast,
    with_bar,
    with_cross,
    with_panhard,
    with_spring,
    with_stagger,
)
from planner.chassis.grip import AIR_F, Balance, TireModel, balance, slip_of, temperature_shift
from planner.chassis.loads import TurnCar
from planner.chassis.stagger import stagger_for_turn
from planner.chassis.turn import Turn
from planner.trade.corners import CORNERS, LEFT, mirrored
from planner.trade.refusals import Refusal

# Invented: 2800 lb, 55 % left, 50 % rear, 52 % cross, on a 3/8 mile track.
CAR = TurnCar(
    scales={"LF": 742.0, "RF": 658.0, "LR": 798.0, "RR": 602.0},
    wheel_rate={"LF": 240.0, "RF": 280.0, "LR": 180.0, "RR": 200.0},
    wheelbase=104.0,
    track_front=62.0,
    track_rear=61.0,
    bar_front=150.0,
    cg_height=16.5,
    stagger=2.0,
)
TURN = Turn(radius_ft=180, banking_deg=10, speed_mph=62)
DEFAULT = TireModel()
AVERAGES = {"LF": 185.0, "RF": 215.0, "LR": 190.0, "RR": 205.0}


@attrs.frozen
class Told:
    """What a change does: balances without and with it, and what the tires then show."""

    before: Balance
    after: Balance
    temperatures: dict[str, float]

    @property
    def index(self) -> float:
        return self.after.index - self.before.index

    @property
    def outside(self) -> float:
        """Shift of the RF less that of the RR [degF]."""
        return self.temperatures["RF"] - self.temperatures["RR"]


def effect(car: TurnCar, changed: TurnCar, turn: Turn = TURN, tire: TireModel = DEFAULT) -> Told:
    before, after = balance(car, turn, tire), balance(changed, turn, tire)
    return Told(before, after, temperature_shift(before, after, AVERAGES))


TIGHTER: dict[str, Callable[[TurnCar], TurnCar]] = {
    "stiffer RF spring": lambda car: with_spring(car, "RF", 40),
    "both front springs": lambda car: with_spring(with_spring(car, "LF", 40), "RF", 40),
    "stiffer front bar": lambda car: with_bar(car, "front", 50),
    "more cross": lambda car: with_cross(car, 1),
    "higher front roll centre": lambda car: attrs.evolve(
        car, roll_center_front=car.roll_center_front + 1
    ),
}
LOOSER: dict[str, Callable[[TurnCar], TurnCar]] = {
    "stiffer RR spring": lambda car: with_spring(car, "RR", 25),
    "both rear springs": lambda car: with_spring(with_spring(car, "LR", 25), "RR", 25),
    "rear bar": lambda car: with_bar(car, "rear", 25),
    "higher panhard bar": lambda car: with_panhard(car, 1),
    "ballast rearward": lambda car: with_ballast(car, 50, rearward_in=40),
    "more stagger": lambda car: with_stagger(car, 0.5),
}


@pytest.mark.parametrize("name", TIGHTER)
def test_tighter(name: str) -> None:
    # Common practice, no source; the size is only bounded to what a crew would call one change.
    found = effect(CAR, TIGHTER[name](CAR))
    assert found.index > 0
    assert 0.3 < found.outside < 20
    assert found.temperatures["RF"] > 0 > found.temperatures["RR"]


@pytest.mark.parametrize("name", LOOSER)
def test_looser(name: str) -> None:
    found = effect(CAR, LOOSER[name](CAR))
    assert found.index < 0
    assert -20 < found.outside < -0.3
    assert found.temperatures["RF"] < 0 < found.temperatures["RR"]


def test_left_ballast_adds_grip_and_cools_the_right() -> None:
    found = effect(CAR, with_ballast(CAR, 50, leftward_in=20))

    before, after = found.before, found.after
    assert after.grip_front + after.grip_rear > before.grip_front + before.grip_rear + 1
    assert found.after.usage_front < found.before.usage_front
    assert found.after.usage_rear < found.before.usage_rear
    assert found.temperatures["RF"] < 0
    assert found.temperatures["RR"] < 0
    assert found.temperatures["LF"] > 0


def test_cross_loosens_a_right_turn() -> None:
    right = attrs.evolve(TURN, direction="right")
    assert effect(CAR, with_cross(CAR, 1), right).index < 0


def test_without_load_sensitivity_load_transfer_changes_nothing() -> None:
    plain = TireModel(sensitivity=0)
    car = attrs.evolve(CAR, stagger=None)
    for change in (TIGHTER["stiffer RF spring"], TIGHTER["more cross"], LOOSER["rear bar"]):
        assert effect(car, change(car), tire=plain).index == pytest.approx(0, abs=1e-12)
    state = balance(car, TURN, plain)
    # Friction 1.3 against lateral over normal force, at both ends alike.
    wanted = state.state.force.lateral_g / state.state.force.normal_g / 1.3
    assert (state.usage_front, state.usage_rear) == pytest.approx((wanted, wanted))


def test_even_car_is_balanced() -> None:
    even = TurnCar(
        scales=dict.fromkeys(CORNERS, 700.0),
        wheel_rate=dict.fromkeys(CORNERS, 250.0),
        wheelbase=104,
        track_front=60,
        track_rear=60,
        roll_center_front=4,
        roll_center_rear=4,
        unsprung_front=250,
        unsprung_rear=250,
    )
    state = balance(even, TURN)
    assert state.index == pytest.approx(0, abs=1e-12)
    assert state.loads["RF"] == pytest.approx(state.loads["RR"])


def test_free_rolling_stagger_pushes_nothing() -> None:
    free = stagger_for_turn(180, 61, CAR.rear_circumference, 10)
    rolling = balance(attrs.evolve(CAR, stagger=free), TURN)
    assert rolling.stagger_force == pytest.approx(0, abs=1e-9)
    assert rolling.index == pytest.approx(balance(attrs.evolve(CAR, stagger=None), TURN).index)
    assert balance(attrs.evolve(CAR, stagger=free + 0.5), TURN).stagger_force > 0
    assert balance(attrs.evolve(CAR, stagger=free - 0.5), TURN).stagger_force < 0


def test_stagger_push_stays_within_the_weaker_tire() -> None:
    wild = balance(attrs.evolve(CAR, stagger=40.0), TURN)
    tire = TireModel()
    assert 0 < wild.stagger_force <= min(tire.grip(wild.loads["LR"]), tire.grip(wild.loads["RR"]))


def test_push_and_side_force_share_one_grip() -> None:
    tire = TireModel()
    state = balance(attrs.evolve(CAR, stagger=5.0), TURN, tire)
    whole = [tire.grip(state.loads["LR"]), tire.grip(state.loads["RR"])]
    left = [math.sqrt(grip**2 - state.stagger_force**2) for grip in whole]
    assert state.stagger_force > 50
    assert state.grip_rear == pytest.approx(sum(left))


def test_lifted_front_is_seen_and_gives_no_temperature() -> None:
    heavy_right = {"LF": 500.0, "RF": 900.0, "LR": 750.0, "RR": 650.0}
    car = attrs.evolve(CAR, scales=heavy_right, bar_front=1500, cg_height=22)
    found = effect(car, with_bar(car, "front", 50))
    assert found.before.state.lifted == ("LF",)
    assert found.before.lateral["LF"] == 0
    assert set(found.temperatures) == {"RF", "LR", "RR"}


# --- tire and slip -------------------------------------------------------------------------------


@settings(max_examples=50)
@given(load=st.floats(1, 3000), more=st.floats(1.01, 2))
def test_grip_grows_less_than_load(load: float, more: float) -> None:
    tire = TireModel()
    assert tire.grip(load) < tire.grip(load * more) < more * tire.grip(load)


def test_reference_friction() -> None:
    assert TireModel(friction=1.2, reference_load=650).grip(650) == pytest.approx(1.2 * 650)


@pytest.mark.parametrize("usage", [0.0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.99, 1.0])
def test_slip_follows_the_brush_model(usage: float) -> None:
    # Brush model with parabolic pressure: F / Fmax = 1 − (1 − sigma)³. H. B. Pacejka, Tire and
    # Vehicle Dynamics, ch. 3.
    assert slip_of(usage) == pytest.approx(1 - (1 - usage) ** (1 / 3), abs=0.16)


def test_slip_starts_with_the_slope_of_the_brush_model_and_ends_at_the_limit() -> None:
    # d/du of 1 − (1 − u)^(1/3) at 0 is 1/3: the linear cornering stiffness of the brush model is
    # three times its limit force over its limit slip (Pacejka, ch. 3). At the limit both are 1.
    assert slip_of(1e-4) / 1e-4 == pytest.approx(1 / 3, rel=1e-6)
    assert slip_of(1.0) == pytest.approx(1.0)


def test_friction_falls_with_load_as_tires_do() -> None:
    # Grip goes as load to the power of 0.8 to 0.9 (tires in general: 0.7 to 0.9; from memory).
    tire = TireModel()
    doubled = tire.grip(2 * tire.reference_load) / tire.grip(tire.reference_load)
    assert 2**0.8 < doubled < 2**0.9


def test_an_axle_loses_what_load_sensitivity_takes() -> None:
    # Physical consequence, by hand: 700 lb on each tire against 300 and 1100. With
    # F = k N^0.85 that is 2 × 700^0.85 against 300^0.85 + 1100^0.85: 2.2 % less.
    tire = TireModel()
    even, moved = 2 * tire.grip(700), tire.grip(300) + tire.grip(1100)
    assert moved / even == pytest.approx(0.9775, abs=5e-4)


def test_the_tire_taken_is_one_that_short_track_cars_run_on() -> None:
    # Ranges from memory: slicks hold 1.1 to 1.5 at 700 lb and peak at 5 to 8 deg of slip angle
    # (tangent 0.087 to 0.14); 6 lies amid the 3 to 15 of the docstring.
    tire = TireModel()
    assert 1.2 <= tire.friction <= 1.4
    assert math.tan(math.radians(6)) < tire.limit_slip < math.tan(math.radians(8))
    assert 4 <= tire.longitudinal <= 9
    assert 65 <= AIR_F <= 85


@settings(max_examples=50)
@given(usage=st.floats(0, 2), step=st.floats(0.001, 0.5))
def test_slip_always_rises(usage: float, step: float) -> None:
    assert slip_of(usage + step) > slip_of(usage)


# --- what must hold for any car ------------------------------------------------------------------

cars = st.builds(
    lambda scales, rates, bar, stagger: attrs.evolve(
        CAR,
        scales=dict(zip(CORNERS, scales, strict=True)),
        wheel_rate=dict(zip(CORNERS, rates, strict=True)),
        bar_front=bar,
        stagger=stagger,
    ),
    st.tuples(*[st.floats(550, 850)] * 4),
    st.tuples(*[st.floats(150, 500)] * 4),
    st.floats(0, 300),
    st.floats(0, 4),
)
knobs: dict[str, Callable[[TurnCar, float], TurnCar]] = {
    "spring": lambda car, x: with_spring(car, "RF", 20 * x),
    "bar": lambda car, x: with_bar(car, "front", 20 * x),
    "rear bar": lambda car, x: with_bar(car, "rear", 5 * x),
    "cross": with_cross,
    "rear": lambda car, x: with_ballast(car, 40 * x, rearward_in=30),
    "left": lambda car, x: with_ballast(car, 40 * x, leftward_in=30),
    "panhard": with_panhard,
    "stagger": with_stagger,
}


@settings(max_examples=50)
@given(car=cars)
def test_forces_add_up(car: TurnCar) -> None:
    state = balance(car, TURN)
    assert sum(state.lateral.values()) == pytest.approx(car.weight * state.state.force.lateral_g)
    # Moments about the rear axle: front lateral force, less what stagger turns in.
    front = state.lateral["LF"] + state.lateral["RF"]
    wanted = (car.scales["LF"] + car.scales["RF"]) * state.state.force.lateral_g
    turned = front * car.wheelbase + state.stagger_force * car.track_rear
    assert turned == pytest.approx(wanted * car.wheelbase)


@settings(max_examples=50)
@given(car=cars)
def test_mirror(car: TurnCar) -> None:
    other = attrs.evolve(
        car,
        scales={c: car.scales[mirrored(c)] for c in CORNERS},
        wheel_rate={c: car.wheel_rate[mirrored(c)] for c in CORNERS},
    )
    here, there = balance(car, TURN), balance(other, attrs.evolve(TURN, direction="right"))
    assert there.index == pytest.approx(here.index, abs=1e-12)
    assert {c: there.work[mirrored(c)] for c in CORNERS} == pytest.approx(here.work)


def test_rise_over_the_air_goes_as_the_work() -> None:
    before = balance(CAR, TURN)
    after = attrs.evolve(before, work={c: 1.1 * before.work[c] for c in CORNERS})
    shifts = temperature_shift(before, after, AVERAGES, 75)
    assert shifts == pytest.approx({c: 0.1 * (AVERAGES[c] - 75) for c in CORNERS})


def test_stagger_off_the_turn_heats_both_rear_tires() -> None:
    # The push and its own slip are friction work too: without sideways slip only they are left.
    tire = TireModel(limit_slip=1e-15)
    state = balance(attrs.evolve(CAR, stagger=1.0), TURN, tire)
    free = stagger_for_turn(180, 61, CAR.rear_circumference, 10)
    slip = (1.0 - free) / CAR.rear_circumference
    assert state.work["LR"] + state.work["RR"] == pytest.approx(state.stagger_force * slip)
    assert state.work["LR"] > state.work["RR"] > 0


@pytest.mark.parametrize("knob", knobs)
@settings(max_examples=50)
@given(car=cars)
def test_no_change_no_effect(knob: str, car: TurnCar) -> None:
    found = effect(car, knobs[knob](car, 0.0))
    assert found.index == pytest.approx(0, abs=1e-12)
    on_the_ground = [corner for corner in CORNERS if corner not in found.before.state.lifted]
    assert found.temperatures == pytest.approx(dict.fromkeys(on_the_ground, 0.0), abs=1e-9)


@pytest.mark.parametrize("knob", knobs)
def test_small_changes_are_linear(knob: str) -> None:
    once, twice = (effect(CAR, knobs[knob](CAR, x)) for x in (0.02, 0.04))
    assert once.index != 0
    # 3e-7 of curvature is let through for left ballast, which hardly moves the index.
    assert twice.index == pytest.approx(2 * once.index, rel=0.02, abs=3e-7)
    for corner in CORNERS:
        assert once.temperatures[corner] != 0
        assert twice.temperatures[corner] == pytest.approx(2 * once.temperatures[corner], rel=0.03)


@settings(max_examples=50)
@given(car=cars, percent=st.floats(-3, 3))
def test_cross_is_the_warp_mode(car: TurnCar, percent: float) -> None:
    after = with_cross(car, percent).scales
    before = car.scales
    assert after["LF"] + after["RF"] == pytest.approx(before["LF"] + before["RF"])
    assert after["LR"] + after["RR"] == pytest.approx(before["LR"] + before["RR"])
    cross = (after["RF"] + after["LR"] - before["RF"] - before["LR"]) / car.weight * 100
    assert cross == pytest.approx(percent, abs=1e-9)
    turned = (after["RF"] - before["RF"]) * 62 + (after["RR"] - before["RR"]) * 61
    assert turned == pytest.approx(0, abs=1e-6)  # no moment about the centreline
    even = attrs.evolve(car, track_rear=car.track_front)
    moved = with_cross(even, percent).scales["RF"] - before["RF"]
    assert moved == pytest.approx(car.weight * percent / 200, abs=1e-9)


@settings(max_examples=50)
@given(car=cars, pounds=st.floats(0, 100), back=st.floats(-60, 60), left=st.floats(-30, 30))
def test_ballast_keeps_weight_and_cross_and_moves_moments(
    car: TurnCar, pounds: float, back: float, left: float
) -> None:
    after = with_ballast(car, pounds, rearward_in=back, leftward_in=left)
    assert after.weight == pytest.approx(car.weight)
    assert after.scales["RF"] + after.scales["LR"] == pytest.approx(
        car.scales["RF"] + car.scales["LR"]
    )
    rear = after.scales["LR"] + after.scales["RR"] - car.scales["LR"] - car.scales["RR"]
    assert rear * car.wheelbase == pytest.approx(pounds * back, abs=1e-6)
    moved = {c: after.scales[c] - car.scales[c] for c in CORNERS}
    tracks = {"LF": 31.0, "RF": -31.0, "LR": 30.5, "RR": -30.5}  # half tracks, left positive
    turned = sum(moved[c] * tracks[c] for c in CORNERS)
    # Rearward load goes half to each side, so it makes no moment about the centreline.
    assert turned == pytest.approx(pounds * left, abs=1e-6)
    assert sum(moved[c] for c in LEFT) == pytest.approx(2 * pounds * left / 123, abs=1e-6)


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "change",
    [
        {"friction": 0.0},
        {"reference_load": -1.0},
        {"sensitivity": 1.0},
        {"longitudinal": math.nan},
        {"limit_slip": 0.0},
    ],
)
def test_tire_refuses(change: dict[str, float]) -> None:
    with pytest.raises(Refusal) as caught:
        TireModel(**change)
    assert caught.value.where == next(iter(change))


def test_other_refusals() -> None:
    state = balance(CAR, TURN)
    cases: list[tuple[str, Callable[[], object]]] = [
        ("speed", lambda: balance(CAR, attrs.evolve(TURN, speed_mph=15))),
        (
            "speed, radius",
            lambda: balance(CAR, attrs.evolve(TURN, speed_mph=130)),
        ),
        ("load", lambda: TireModel().grip(-1)),
        ("usage", lambda: slip_of(math.nan)),
        ("wheel_rate.RF", lambda: with_spring(CAR, "RF", -280)),
        ("bar_front", lambda: with_bar(CAR, "front", -151)),
        ("bar_rear", lambda: with_bar(CAR, "rear", -1)),
        ("stagger", lambda: with_stagger(attrs.evolve(CAR, stagger=None), 0.5)),
        ("cross", lambda: with_cross(CAR, math.inf)),
        ("panhard", lambda: with_panhard(CAR, math.nan)),
        ("scales.RR", lambda: with_cross(CAR, 50)),
        ("ballast", lambda: with_ballast(CAR, -1, rearward_in=3)),
        ("rearward_in", lambda: with_ballast(CAR, 1, rearward_in=math.nan)),
        ("leftward_in", lambda: with_ballast(CAR, 1, leftward_in=math.nan)),
        ("average.LR", lambda: temperature_shift(state, state, {"LF": 180.0, "RF": 190.0})),
        ("average.LF", lambda: temperature_shift(state, state, {**AVERAGES, "LF": 60.0}, 75)),
        ("air_temp", lambda: temperature_shift(state, state, AVERAGES, math.nan)),
    ]
    for where, call in cases:
        with pytest.raises(Refusal) as caught:
            call()
        assert (caught.value.code, caught.value.where) == ("bad-value", where)
        assert caught.value.hint


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: TireModel(friction=0), "friction is 0 (ratio); it must be a number above 0."),
        (
            lambda: TireModel(reference_load=0),
            "reference_load is 0 lb; it must be a number above 0.",
        ),
        (
            lambda: TireModel(sensitivity=1),
            "sensitivity is 1 (exponent); it must be a number at least 0 and at most 0.9.",
        ),
        (
            lambda: TireModel(longitudinal=-1),
            "longitudinal is -1 (ratio); it must be a number at least 0.",
        ),
        (
            lambda: TireModel(limit_slip=0),
            "limit_slip is 0 (ratio); it must be a number above 0.",
        ),
        (lambda: TireModel().grip(-1), "load is -1 lb; it must be a number at least 0."),
        (lambda: slip_of(math.nan), "usage is nan (ratio); it must be a finite number."),
        (lambda: with_cross(CAR, math.inf), "cross is inf %; it must be a finite number."),
        (lambda: with_ballast(CAR, -1), "ballast is -1 lb; it must be a number at least 0."),
        (
            lambda: with_ballast(CAR, 1, rearward_in=math.nan),
            "rearward_in is nan in; it must be a finite number.",
        ),
        (
            lambda: with_ballast(CAR, 1, leftward_in=math.nan),
            "leftward_in is nan in; it must be a finite number.",
        ),
        (
            lambda: temperature_shift(*[balance(CAR, TURN)] * 2, AVERAGES, -500),
            "air_temp is -500 degF; it must be a number above -459.67.",
        ),
        (
            lambda: temperature_shift(*[balance(CAR, TURN)] * 2, {**AVERAGES, "LF": 75.0}),
            "average.LF is 75 degF; it must be a number above 75.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: balance(CAR, attrs.evolve(TURN, speed_mph=15)),
            "speed",
            "At 15 mph the banking of 10 deg holds the car by itself.",
            "Check the speed [mph], radius [ft] and banking [deg].",
        ),
        (
            lambda: with_stagger(attrs.evolve(CAR, stagger=None), 0.5),
            "stagger",
            "The present stagger is not known.",
            "Give the stagger that is on the car [in].",
        ),
        (
            lambda: temperature_shift(*[balance(CAR, TURN)] * 2, {"LF": 180.0}),
            "average.RF",
            "The average of RF is missing.",
            "Give the averages of all four tires [degF].",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


def test_values_under_one_and_the_ends_of_every_range_are_let_through() -> None:
    # At its reference load of 0.5 lb a tire of friction 0.5 holds 0.25 lb, whatever the exponent.
    for exponent in (0, 0.9):
        low = {"friction": 0.5, "reference_load": 0.5, "longitudinal": 0, "limit_slip": 0.05}
        assert TireModel(sensitivity=exponent, **low).grip(0.5) == 0.25
    assert TireModel().grip(0) == 0
    assert with_ballast(CAR, 0) == CAR


def test_every_default_is_what_it_says() -> None:
    state, after = balance(CAR, TURN), balance(with_cross(CAR, 1), TURN)
    assert state == balance(CAR, TURN, TireModel())
    assert balance(CAR, attrs.evolve(TURN, speed_mph=80)).usage_front > 1
    shifts = temperature_shift(state, after, AVERAGES)
    assert shifts == temperature_shift(state, after, AVERAGES, 75.0)
