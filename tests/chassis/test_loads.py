"""Loads in the turn: a published example, a free body solved from scratch, and what must hold."""

import math

import attrs
import pint
import pytest
from garage import bad_value, refusal_of
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from seven_degrees import least_energy

from planner.chassis.axle import Axle, AxleRates, LoadTransfer, load_transfer
from planner.chassis.checks import checked
from planner.chassis.loads import (
    CG_HEIGHT,
    LIFT_WITHIN,
    ROLL_CENTER_FRONT,
    ROLL_CENTER_REAR,
    UNSPRUNG_HEIGHT,
    TurnCar,
    TurnLoads,
    lift_off,
    turn_loads,
    usual_unsprung,
)
from planner.chassis.turn import (
    CEILING_G,
    GRAVITY_FT,
    MPH_TO_FT_PER_S,
    Turn,
    TurnForce,
    force_at,
    turn_force,
)
from planner.trade.corners import CORNERS, mirrored
from planner.trade.refusals import Refusal

UNITS = pint.UnitRegistry()
CAR = TurnCar(  # invented
    scales={"LF": 742.0, "RF": 658.0, "LR": 798.0, "RR": 602.0},
    wheel_rate={"LF": 240.0, "RF": 280.0, "LR": 180.0, "RR": 200.0},
    wheelbase=104.0,
    track_front=62.0,
    track_rear=61.0,
    bar_front=150.0,
    cg_height=16.5,
)
TURN = Turn(radius_ft=180, banking_deg=10, speed_mph=62)


def asked(radius: float, banking: float, speed: float) -> TurnForce:
    return turn_force(Turn(radius_ft=radius, banking_deg=banking, speed_mph=speed))


def unit(value: float, source: str, target: str) -> float:
    return float(UNITS.Quantity(value, source).to(target).magnitude)


# --- units and the turn ------------------------------------------------------------------------


def test_unit_factors_are_those_of_nist_sp_811() -> None:
    assert pytest.approx(unit(9.80665, "m/s^2", "ft/s^2"), rel=1e-6) == GRAVITY_FT
    assert pytest.approx(unit(1, "mile/hour", "ft/s"), rel=1e-9) == MPH_TO_FT_PER_S


def test_flat_turn_in_si() -> None:
    # v² / (g R), worked in SI with pint.
    speed, radius = unit(60, "mile/hour", "m/s"), unit(200, "ft", "m")
    force = asked(200, 0, 60)
    assert force.lateral_g == pytest.approx(speed**2 / 9.80665 / radius, rel=1e-6)
    assert force.normal_g == pytest.approx(1)


@settings(max_examples=50)
@given(radius=st.floats(80, 1000), banking=st.floats(0, 35))
def test_ideally_banked_turn_needs_no_side_force(radius: float, banking: float) -> None:
    # OpenStax, College Physics, "Centripetal Force": tan(b) = v² / (r g); n cos(b) = weight.
    slope = math.radians(banking + 0.5)
    speed = math.sqrt(GRAVITY_FT * radius * math.tan(slope)) / MPH_TO_FT_PER_S
    force = asked(radius, banking + 0.5, speed)
    assert force.lateral_g == pytest.approx(0, abs=1e-9)
    assert force.normal_g == pytest.approx(1 / math.cos(slope))


# --- Barton and Fieldhouse, Automotive Chassis Engineering (2018), ch. 3, p. 174 -----------------


def barton(share: float = 0.5, *, gravity_roll: bool = True) -> LoadTransfer:
    """Return the load transfer of the example with a front share of roll stiffness.

    The share is not printed; it only follows from the elastic loads, which are the answer.
    """
    stiffness = unit(28650, "N*m", "lbf*inch")

    def pounds(kilograms: float) -> float:
        return unit(kilograms * 9.81, "N", "lbf")

    def inches(metres: float) -> float:
        return unit(metres, "m", "inch")

    front = Axle(
        sprung=pounds(0.54 * 1280),
        unsprung=pounds(140),
        unsprung_height=inches(0.280),
        track=inches(1.46),
        roll_center=inches(0.07),
        roll_stiffness=share * stiffness,
    )
    rear = Axle(
        sprung=pounds(0.46 * 1280),
        unsprung=pounds(180),
        unsprung_height=inches(0.300),
        track=inches(1.46),
        roll_center=inches(0.32),
        roll_stiffness=(1 - share) * stiffness,
    )
    force = TurnForce(lateral_g=0.6, normal_g=1.0)
    return load_transfer(front, rear, force, inches(0.365), gravity_roll=gravity_roll)


@pytest.mark.parametrize(
    ("end", "part", "newtons"),
    [
        ("front", "geometric", 195),
        ("rear", "geometric", 760),
        ("front", "unsprung", 158),
        ("rear", "unsprung", 218),
    ],
)
def test_barton_fieldhouse_rigid_parts(end: str, part: str, newtons: float) -> None:
    assert unit(getattr(getattr(barton(), end), part), "lbf", "N") == pytest.approx(
        newtons, abs=0.6
    )


def test_barton_fieldhouse_roll_gradient() -> None:
    roll = barton().roll_deg
    assert math.radians(roll) / (0.6 * 9.81) == pytest.approx(0.0194, abs=5e-5)
    assert roll / 0.6 == pytest.approx(10.9, abs=0.05)
    # Without the gravity of the rolling body: 1280 × 0.365 / 28650 = 0.01631 rad per m/s².
    rigid = barton(gravity_roll=False).roll_deg
    assert math.radians(rigid) / (0.6 * 9.81) == pytest.approx(1280 * 0.365 / 28650, rel=1e-6)


@settings(max_examples=50)
@given(share=st.floats(0.01, 0.99))
def test_barton_fieldhouse_elastic_parts_together(share: float) -> None:
    # Both axles have one track, so what the springs move in all does not depend on their shares:
    # 1556 + 671 N. Within 0.8 %: 6.54 deg of roll rounded to 6.5 deg gives the printed newtons.
    # How it divides is held by `least_energy`, and by hand below.
    result = barton(share)
    together = unit(result.front.elastic + result.rear.elastic, "lbf", "N")
    assert together == pytest.approx(1556 + 671, rel=8e-3)
    assert together * 6.5 / result.roll_deg == pytest.approx(1556 + 671, abs=1)
    assert result.roll_deg == pytest.approx(barton().roll_deg)
    # The front is printed as 1919 N, but its parts 1556 + 195 + 158 make 1909 N.
    total = unit(result.front.total + result.rear.total, "lbf", "N")
    assert total == pytest.approx(1909 + 1649, rel=6e-3)


def test_elastic_load_divides_as_the_roll_stiffness_by_hand() -> None:
    # Through the springs each axle moves K phi / t: three times the stiffness at the front moves
    # three times the load; on tracks of 60 and 50 in the same stiffness moves 50 : 60.
    three = moved(roll_stiffness_front=9e5, roll_stiffness_rear=3e5)
    assert three.front.elastic == pytest.approx(3 * three.rear.elastic)
    tracks = moved(roll_stiffness_front=4e5, roll_stiffness_rear=4e5, track_rear=50.0)
    assert tracks.front.elastic / tracks.rear.elastic == pytest.approx(50 / 60)
    # 2000 lb with an arm of 11 in at 0.5 g against 1.2e6 lb·in/rad, less 2000 × 11 for the
    # weight that shifts: 11 000 / 1 178 000 rad; 9e5 of it over 60 in.
    assert three.roll_deg == pytest.approx(math.degrees(11_000 / 1_178_000))
    assert three.front.elastic == pytest.approx(9e5 * 11_000 / 1_178_000 / 60)


# --- stiffness -----------------------------------------------------------------------------------


def test_equal_springs_give_the_textbook_roll_stiffness() -> None:
    assert AxleRates(200, 200).roll_stiffness(60) == pytest.approx(200 * 60**2 / 2)
    assert AxleRates(200, 200, 50).roll_stiffness(60) == pytest.approx((100 + 50) * 60**2)


def test_one_side_alone_gives_no_roll_stiffness() -> None:
    assert AxleRates(200, 1e-9).roll_stiffness(60) == pytest.approx(0, abs=1e-3)


def test_a_narrow_spring_base_counts_by_its_square() -> None:
    # Springs s apart on a solid axle give k s² / 2, as they would on a track of s; the bar is
    # rated at the wheels and does not change.
    assert AxleRates(200, 200).roll_stiffness(60, 40) == AxleRates(200, 200).roll_stiffness(40)
    assert AxleRates(200, 200).roll_stiffness(60, 60) == AxleRates(200, 200).roll_stiffness(60)
    assert AxleRates(200, 200, 50).roll_stiffness(60, 40) == pytest.approx(
        200 * 40**2 / 2 + 50 * 60**2
    )


# --- four tires ----------------------------------------------------------------------------------


rates = st.floats(100, 700)
cars = st.builds(
    lambda lf, rf, lr, rr, kf, kg, kr, ks, bar, rear_bar, tf, tr, height: TurnCar(
        scales={"LF": lf, "RF": rf, "LR": lr, "RR": rr},
        wheel_rate={"LF": kf, "RF": kg, "LR": kr, "RR": ks},
        wheelbase=104,
        track_front=tf,
        track_rear=tr,
        bar_front=bar,
        bar_rear=rear_bar,
        cg_height=height,
    ),
    *[st.floats(500, 900)] * 4,
    *[rates] * 4,
    st.floats(0, 500),
    st.floats(0, 200),
    st.floats(56, 68),
    st.floats(56, 68),
    st.floats(12, 22),
)
turns = st.builds(
    Turn,
    radius_ft=st.floats(120, 500),
    banking_deg=st.floats(0, 20),
    speed_mph=st.floats(30, 60),
    direction=st.sampled_from(["left", "right"]),
)


# Cars that lift wheels and go over among them, on tires that give.
any_cars = st.builds(
    lambda car, tires, light, high, base, front_base: attrs.evolve(
        car,
        tire_rate=dict(zip(CORNERS, tires, strict=True)),
        bar_front=3 * car.bar_front,
        cg_height=1.3 * car.cg_height,
        unsprung_front=light[0],
        unsprung_rear=light[1],
        roll_center_front=high[0],
        roll_center_rear=high[1],
        spring_base_rear=base,
        spring_base_front=front_base,
    ),
    cars,
    st.tuples(*[st.floats(800, 3000)] * 4),
    st.tuples(st.floats(0, 300), st.floats(0, 500)),
    st.tuples(st.floats(-2, 8), st.floats(2, 18)),
    st.none() | st.floats(35, 60),
    st.none() | st.floats(35, 60),
)
fast_turns = st.builds(
    Turn,
    radius_ft=st.floats(120, 500),
    banking_deg=st.floats(0, 20),
    speed_mph=st.floats(30, 75),
    direction=st.sampled_from(["left", "right"]),
)


@pytest.mark.parametrize("gravity", [True, False])
@settings(max_examples=100)
@given(car=any_cars, turn=fast_turns)
def test_loads_are_those_of_least_energy(gravity: bool, car: TurnCar, turn: Turn) -> None:
    """Hold the four loads against a car of seven degrees of freedom, with and without lift."""
    try:
        result = turn_loads(car, turn, gravity_roll=gravity)
    except Refusal as refusal:
        assume("none holds more" not in refusal.message)
        assert not least_energy(car, turn, gravity=gravity).stands
        return
    expected = least_energy(car, turn, gravity=gravity)
    assert expected.stands
    assert result.loads == pytest.approx(expected.loads, rel=1e-6, abs=1e-3)
    assert result.lifted == tuple(c for c in CORNERS if expected.loads[c] < 1e-9)


TIPPY = attrs.evolve(  # lifts its LF first, and goes over not much later
    CAR, tire_rate=dict.fromkeys(CORNERS, 1500.0), bar_front=800, cg_height=24
)


@pytest.mark.parametrize(
    ("car", "speed", "lifted"),
    [
        (TIPPY, 50, ()),
        (TIPPY, 64, ("LF",)),
        (attrs.evolve(TIPPY, bar_front=0, bar_rear=600), 64, ("LR",)),
        (
            attrs.evolve(TIPPY, scales={"LF": 300.0, "RF": 1100.0, "LR": 1350.0, "RR": 50.0}),
            1,  # at a crawl on the banking the outside is the light side
            ("RR",),
        ),
        (attrs.evolve(TIPPY, spring_base_rear=40.0), 64, ("LF",)),
    ],
)
def test_loads_of_least_energy_wheel_by_wheel(car: TurnCar, speed: float, lifted: object) -> None:
    turn = attrs.evolve(TURN, speed_mph=speed)
    result, expected = turn_loads(car, turn), least_energy(car, turn)
    assert result.lifted == lifted
    assert expected.stands
    assert result.loads == pytest.approx(expected.loads, rel=1e-6, abs=1e-3)


def test_a_car_that_goes_over_is_refused_and_has_no_least_energy() -> None:
    turn = attrs.evolve(TURN, speed_mph=78)
    with pytest.raises(Refusal, match="both wheels of one side leave the ground") as caught:
        turn_loads(TIPPY, turn)
    assert caught.value.where == "speed, radius"
    assert not least_energy(TIPPY, turn).stands


def test_sample_car_on_its_tires_against_the_tires_taken_as_stiff_past_the_springs() -> None:
    # Reckoned with the tire in series behind the springs alone, this car had 1359 lb on RF and
    # 1135 lb on RR. The roll centre's and the wheels' own load bends the tires too: an
    # independent energy model gave RF +14 and RR -12; the weight that shifts with the axles as
    # they roll on their tires, which it left out, makes that +16 and -10.
    car = TurnCar(
        scales={"LF": 765.0, "RF": 678.0, "LR": 772.0, "RR": 585.0},
        wheel_rate={"LF": 750 * 0.65**2, "RF": 800 * 0.65**2, "LR": 162.0, "RR": 225 * 0.81},
        wheelbase=104.0,
        track_front=62.0,
        track_rear=61.0,
        bar_front=250.0,
        tire_rate={"LF": 1300.0, "RF": 1500.0, "LR": 1300.0, "RR": 1500.0},
        cg_height=16.5,
    )
    loads = turn_loads(car, TURN).loads
    assert loads["RF"] - 1359.36 == pytest.approx(15.6, abs=0.1)
    assert loads["RR"] - 1134.96 == pytest.approx(-9.9, abs=0.1)


# --- what is taken where nothing was measured ----------------------------------------------------


def test_hub_height_is_the_radius_of_a_rear_tire() -> None:
    # Circle Track, "Racing Tire Technology", May 2004: 86 in and 83.5 in around. 2 pi r = 84.75.
    assert pytest.approx((86 + 83.5) / 2 / (2 * math.pi), abs=0.25) == UNSPRUNG_HEIGHT
    assert CAR.rear_circumference == pytest.approx((86 + 83.5) / 2)


def test_stand_ins_are_those_of_a_stock_car() -> None:
    # From memory: a 2800 lb car has 170 to 230 lb unsprung in front and 270 to 350 lb with its
    # solid rear axle; its centre of gravity 15 to 18 in high; the front roll centre 1 to 4 in
    # high, the rear one, at a panhard bar just below the axle, 8 to 11 in.
    assert 170 <= 2 * usual_unsprung(2800, "LF") <= 230
    assert 270 <= 2 * usual_unsprung(2800, "RR") <= 350
    assert 15 <= CG_HEIGHT <= 18
    assert 2 <= ROLL_CENTER_FRONT <= 4
    assert 8 <= ROLL_CENTER_REAR <= 11
    assert ROLL_CENTER_REAR < UNSPRUNG_HEIGHT


# --- lift-off ------------------------------------------------------------------------------------


@pytest.mark.parametrize("direction", ["left", "right"])
def test_wheel_lifts_where_the_energy_model_lets_go(direction) -> None:
    turn = attrs.evolve(TURN, direction=direction, banking_deg=0)
    car = (
        TIPPY
        if direction == "left"
        else attrs.evolve(
            TIPPY,
            scales={c: TIPPY.scales[mirrored(c)] for c in CORNERS},
        )
    )
    lifts = lift_off(car, turn)
    assert list(lifts) == (["LF", "LR"] if direction == "left" else ["RF", "RR"])
    front, rear = lifts.values()
    assert 0.5 < front < rear < CEILING_G
    for corner, lateral in lifts.items():
        # On the flat, a = v² / (g R).
        below, above = (
            attrs.evolve(turn, speed_mph=math.sqrt(a * 32.17405 * 180) * 3600 / 5280)
            for a in (lateral - 2e-3, lateral + 2e-3)
        )
        assert least_energy(car, below).loads[corner] > 0
        beyond = least_energy(car, above)
        assert beyond.loads[corner] == 0 or not beyond.stands


def test_lift_off_of_one_rigid_axle_by_hand() -> None:
    # Everything alike front and rear and no roll gravity in it: with the c.g. on the roll axis
    # nothing goes through the springs. Then each axle moves W a h / t, and half its weight is
    # gone at a = t / 2h: 60 / 40 = 1.5 g.
    car = TurnCar(
        scales=dict.fromkeys(CORNERS, 700.0),
        wheel_rate=dict.fromkeys(CORNERS, 250.0),
        wheelbase=104,
        track_front=60,
        track_rear=60,
        cg_height=20,
        roll_center_front=20,
        roll_center_rear=20,
        unsprung_front=0,
        unsprung_rear=0,
    )
    flat = attrs.evolve(TURN, banking_deg=0)
    lifts = lift_off(car, flat)
    assert lifts["LF"] == pytest.approx(1.5, abs=2 * LIFT_WITHIN)
    assert lifts["LR"] == pytest.approx(1.5, abs=2 * LIFT_WITHIN)
    low = attrs.evolve(car, cg_height=10, roll_center_front=10, roll_center_rear=10)
    assert lift_off(low, flat) == {"LF": None, "LR": None}


def test_banking_keeps_the_wheel_down_longer() -> None:
    flat, banked = (lift_off(TIPPY, attrs.evolve(TURN, banking_deg=b)) for b in (0, 12))
    assert flat["LF"] < banked["LF"]


@settings(max_examples=50)
@given(radius=st.floats(100, 1000), banking=st.floats(0, 35), speed=st.floats(20, 60))
def test_force_from_its_lateral_part_is_the_force_of_the_turn(
    radius: float, banking: float, speed: float
) -> None:
    force = asked(radius, banking, speed)
    again = force_at(force.lateral_g, banking)
    assert (again.lateral_g, again.normal_g) == pytest.approx((force.lateral_g, force.normal_g))


def standing(car: TurnCar, turn: Turn, *, gravity_roll: bool = True) -> TurnLoads:
    """Return the loads of a car that does not go over."""
    try:
        return turn_loads(car, turn, gravity_roll=gravity_roll)
    except Refusal as refusal:
        assume("goes over" not in refusal.message)
        raise


@settings(max_examples=50)
@given(car=cars, turn=turns)
def test_whole_car_balances_moments_about_the_centreline(car: TurnCar, turn: Turn) -> None:
    # However roll centres and springs share it, the tires must hold W a h and the banked weight.
    result = standing(car, turn, gravity_roll=False)
    total = sum(result.loads.values())
    force = result.force
    assert total == pytest.approx(car.weight * force.normal_g)
    assert result.loads["LF"] + result.loads["RF"] == pytest.approx(
        (car.scales["LF"] + car.scales["RF"]) * force.normal_g
    )
    sign = 1 if turn.direction == "left" else -1

    def moment(loads: dict[str, float]) -> float:
        front = (loads["RF"] - loads["LF"]) * car.track_front / 2
        return front + (loads["RR"] - loads["LR"]) * car.track_rear / 2

    wanted = moment(dict(car.scales)) * force.normal_g
    wanted += sign * car.weight * force.lateral_g * car.cg_height
    assert moment(dict(result.loads)) == pytest.approx(wanted, rel=1e-9, abs=1e-4)


@settings(max_examples=50)
@given(car=cars, turn=turns)
def test_mirrored_car_in_the_mirrored_turn(car: TurnCar, turn: Turn) -> None:
    other = attrs.evolve(
        car,
        scales={c: car.scales[mirrored(c)] for c in CORNERS},
        wheel_rate={c: car.wheel_rate[mirrored(c)] for c in CORNERS},
    )
    back = attrs.evolve(turn, direction="right" if turn.direction == "left" else "left")
    here, there = standing(car, turn), turn_loads(other, back)
    assert {c: there.loads[mirrored(c)] for c in CORNERS} == pytest.approx(here.loads)
    assert there.transfer.roll_deg == pytest.approx(here.transfer.roll_deg)


def test_outside_gains_and_stiffer_end_takes_more() -> None:
    left = turn_loads(CAR, TURN)
    right = turn_loads(CAR, attrs.evolve(TURN, direction="right"))
    assert left.loads["RF"] > right.loads["RF"]
    assert left.loads["LR"] < right.loads["LR"]
    stiffer = turn_loads(attrs.evolve(CAR, bar_front=300), TURN)
    assert stiffer.transfer.front_share > left.transfer.front_share
    assert stiffer.transfer.roll_deg < left.transfer.roll_deg


def test_soft_tires_let_the_car_roll_more() -> None:
    rigid = turn_loads(CAR, TURN)
    stiff = turn_loads(attrs.evolve(CAR, tire_rate=dict.fromkeys(CORNERS, 1e9)), TURN)
    soft = turn_loads(attrs.evolve(CAR, tire_rate=dict.fromkeys(CORNERS, 1500.0)), TURN)
    assert stiff.loads == pytest.approx(rigid.loads, rel=1e-5)
    assert soft.transfer.roll_deg > rigid.transfer.roll_deg * 1.1


def test_standing_on_flat_ground_would_be_the_scale_loads() -> None:
    crawl = Turn(radius_ft=1e6, banking_deg=0, speed_mph=0.1)
    assert turn_loads(CAR, crawl).loads == pytest.approx(CAR.scales, abs=1e-3)
    still = moved(lateral_g=0)
    assert still.front.total == 0
    assert math.isnan(still.front_share)


def test_lifted_wheel_is_reported_and_the_other_axle_takes_the_rest() -> None:
    heavy_right = {"LF": 500.0, "RF": 900.0, "LR": 750.0, "RR": 650.0}
    car = attrs.evolve(CAR, scales=heavy_right, bar_front=1500, cg_height=22)
    result = turn_loads(car, TURN)
    assert result.lifted == ("LF",)
    assert result.transfer.front.lifted == "inside"
    assert result.transfer.rear.lifted is None
    assert result.loads["LF"] == 0
    assert result.loads["RF"] == pytest.approx(1400 * result.force.normal_g)
    assert sum(result.loads.values()) == pytest.approx(2800 * result.force.normal_g)
    # A stiffer front bar can do no more at the front: the loads stay, but for the roll.
    stiffer = turn_loads(attrs.evolve(car, bar_front=3000), TURN)
    assert stiffer.loads["RR"] == pytest.approx(result.loads["RR"], rel=0.01)


# --- refusals ------------------------------------------------------------------------------------

PLAIN = {
    "sprung": 1000.0,
    "unsprung_height": 13.0,
    "track": 60.0,
}
FRONT_AXLE = PLAIN | {"unsprung": 200.0, "roll_center": 3.0, "roll_stiffness": 6e5}
REAR_AXLE = PLAIN | {"unsprung": 300.0, "roll_center": 9.0, "roll_stiffness": 3e5}


def moved(**changed: float) -> LoadTransfer:
    """Return the load transfer of a plain car, changed as ``track_rear=…`` or ``lateral_g=…``."""
    ends = {"front": dict(FRONT_AXLE), "rear": dict(REAR_AXLE)}
    rest = {"lateral_g": 0.5, "normal_g": 1.0, "cg_above_roll_axis": 11.0}
    for name, value in changed.items():
        part, _, end = name.rpartition("_")
        if end in ends:
            ends[end][part] = value
        else:
            rest[name] = value
    force = TurnForce(rest.pop("lateral_g"), rest.pop("normal_g"))
    return load_transfer(Axle(**ends["front"]), Axle(**ends["rear"]), force, **rest)


@pytest.mark.parametrize(
    ("key", "value", "where"),
    [
        ("lateral_g", math.nan, "lateral_g"),
        ("sprung_front", 0.0, "sprung"),
        ("unsprung_rear", -1.0, "unsprung"),
        ("unsprung_height_front", math.inf, "unsprung_height"),
        ("track_rear", 0.0, "track"),
        ("roll_center_rear", math.nan, "roll_center"),
        ("roll_stiffness_front", -1.0, "roll_stiffness"),
        ("cg_above_roll_axis", 500.0, "spring"),  # falls over on its springs
    ],
)
def test_load_transfer_refuses(key: str, value: float, where: str) -> None:
    with pytest.raises(Refusal) as caught:
        moved(**{key: value})
    assert (caught.value.code, caught.value.where) == ("bad-value", where)
    assert caught.value.hint


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"scales": {**CAR.scales, "RF": 0.0}}, "scales.RF"),
        ({"scales": {**CAR.scales, "RF": math.nan}}, "scales.RF"),
        ({"scales": {"LF": 700.0}}, "scales"),
        ({"wheel_rate": {**CAR.wheel_rate, "LR": -1.0}}, "wheel_rate.LR"),
        ({"tire_rate": dict.fromkeys(CORNERS, 0.0)}, "tire_rate.LF"),
        ({"bar_front": -1.0}, "bar_front"),
        ({"bar_rear": -1.0}, "bar_rear"),
        ({"wheelbase": 0.0}, "wheelbase"),
        ({"track_front": -60.0}, "track_front"),
        ({"cg_height": 0.0}, "cg_height"),
        ({"roll_center_front": math.inf}, "roll_center_front"),
        ({"unsprung_height": -1.0}, "unsprung_height"),
        ({"unsprung_rear": 1400.0}, "unsprung_rear"),
        ({"unsprung_front": -5.0}, "unsprung_front"),
        ({"rear_circumference": 0.0}, "rear_circumference"),
        ({"stagger": math.nan}, "stagger"),
    ],
)
def test_car_refuses(change: dict[str, object], where: str) -> None:
    with pytest.raises(Refusal) as caught:
        attrs.evolve(CAR, **change)
    assert (caught.value.code, caught.value.where) == ("bad-value", where)


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"radius_ft": 0.0}, "radius"),
        ({"banking_deg": 90.0}, "banking"),
        ({"speed_mph": -3.0}, "speed"),
        ({"direction": "both"}, "turns"),
    ],
)
def test_turn_refuses(change: dict[str, object], where: str) -> None:
    with pytest.raises(Refusal) as caught:
        attrs.evolve(TURN, **change)
    assert caught.value.where == where


def test_speed_no_tire_could_hold_names_speed_and_radius() -> None:
    with pytest.raises(Refusal, match=r"120 mph on a radius of 180 ft") as caught:
        turn_loads(CAR, attrs.evolve(TURN, speed_mph=120))
    assert caught.value.where == "speed, radius"


def test_refusal_says_value_and_wanted_range() -> None:
    with pytest.raises(Refusal) as caught:
        checked(-3, "track.corner_speed", "mph", above=0, high=300)
    assert caught.value.message.startswith("track.corner_speed is -3 mph")
    assert caught.value.hint == "give a number above 0 and at most 300, in mph"


def test_refusals_of_the_load_transfer_name_value_unit_and_limits() -> None:
    above, low, finite = "a number above 0", "a number at least 0", "a finite number"
    for key, name, unit, wanted in (
        ("sprung_front", "sprung", "lb", above),
        ("sprung_rear", "sprung", "lb", above),
        ("normal_g", "normal_g", "g", above),
        ("track_front", "track", "in", above),
        ("track_rear", "track", "in", above),
        ("roll_stiffness_front", "roll_stiffness", "lb·in/rad", above),
        ("roll_stiffness_rear", "roll_stiffness", "lb·in/rad", above),
        ("unsprung_front", "unsprung", "lb", low),
        ("unsprung_rear", "unsprung", "lb", low),
        ("unsprung_height_front", "unsprung_height", "in", low),
        ("unsprung_height_rear", "unsprung_height", "in", low),
        ("lateral_g", "lateral_g", "g", finite),
        ("roll_center_front", "roll_center", "in", finite),
        ("roll_center_rear", "roll_center", "in", finite),
        ("cg_above_roll_axis", "cg_above_roll_axis", "in", finite),
        ("added_moment", "added_moment", "lb·in", finite),
        ("uneven_front", "uneven", "lb·in", finite),
        ("uneven_rear", "uneven", "lb·in", finite),
    ):
        value = {above: 0.0, low: -1.0, finite: math.inf}[wanted]
        with pytest.raises(Refusal) as caught:
            moved(**{key: value})
        assert caught.value.message == f"{name} is {value:g} {unit}; it must be {wanted}."


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: attrs.evolve(TURN, radius_ft=0),
            "radius is 0 ft; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(TURN, banking_deg=90),
            "banking is 90 deg; it must be a number above -90 and below 90.",
        ),
        (
            lambda: attrs.evolve(TURN, speed_mph=0),
            "speed is 0 mph; it must be a number above 0.",
        ),
        (
            lambda: AxleRates(0, 200),
            "spring.left is 0 lb/in at the wheel; it must be a number above 0.",
        ),
        (
            lambda: AxleRates(200, 0),
            "spring.right is 0 lb/in at the wheel; it must be a number above 0.",
        ),
        (
            lambda: AxleRates(200, 200, -1),
            "bar is -1 lb/in at the wheel; it must be a number at least 0.",
        ),
        (
            lambda: attrs.evolve(CAR, scales={**CAR.scales, "RF": 0.0}),
            "scales.RF is 0 lb; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, wheel_rate={**CAR.wheel_rate, "RF": 0.0}),
            "wheel_rate.RF is 0 lb/in at the wheel; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, tire_rate=dict.fromkeys(CORNERS, 0.0)),
            "tire_rate.LF is 0 lb/in; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, bar_front=-1),
            "bar_front is -1 lb/in at the wheel; it must be a number at least 0.",
        ),
        (
            lambda: attrs.evolve(CAR, bar_rear=-1),
            "bar_rear is -1 lb/in at the wheel; it must be a number at least 0.",
        ),
        (
            lambda: attrs.evolve(CAR, wheelbase=0),
            "wheelbase is 0 in; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, track_front=0),
            "track_front is 0 in; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, track_rear=0),
            "track_rear is 0 in; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, cg_height=0),
            "cg_height is 0 in; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, roll_center_front=math.inf),
            "roll_center_front is inf in; it must be a finite number.",
        ),
        (
            lambda: attrs.evolve(CAR, roll_center_rear=math.inf),
            "roll_center_rear is inf in; it must be a finite number.",
        ),
        (
            lambda: attrs.evolve(CAR, unsprung_height=-1),
            "unsprung_height is -1 in; it must be a number at least 0.",
        ),
        (
            lambda: attrs.evolve(CAR, rear_circumference=0),
            "rear_circumference is 0 in; it must be a number above 0.",
        ),
        (
            lambda: attrs.evolve(CAR, stagger=math.nan),
            "stagger is nan in; it must be a finite number.",
        ),
        (
            lambda: attrs.evolve(CAR, unsprung_front=-1),
            "unsprung_front is -1 lb; it must be a number at least 0.",
        ),
        (
            lambda: attrs.evolve(CAR, unsprung_rear=-1),
            "unsprung_rear is -1 lb; it must be a number at least 0.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: attrs.evolve(TURN, direction="both"),
            "turns",
            "A turn cannot go 'both'.",
            "Give left or right; a track that turns both ways is two turns.",
        ),
        (
            lambda: asked(180, 0, 120),
            "speed, radius",
            "120 mph on a radius of 180 ft needs 5.35 g of the tires; none holds more than 2.5 g.",
            "Check the speed in the middle of the turn [mph] and the radius [ft].",
        ),
        (
            lambda: moved(cg_above_roll_axis=450.0),
            "spring",
            "Springs with 900000 lb·in/rad of roll stiffness cannot hold up 2000 lb of body.",
            "Check the spring rates [lb/in], motion ratios and heights [in].",
        ),
        (
            lambda: moved(roll_center_front=1000.0, tire_stiffness_front=1e5),
            "spring",
            "Springs with 700000 lb·in/rad of roll stiffness cannot hold up 1200 lb of body.",
            "Check the spring rates [lb/in], motion ratios and heights [in].",
        ),
        (
            lambda: moved(room_front=(-1e3, 1e3), room_rear=(-1e3, 1e3)),
            "speed, radius",
            "At 0.50 g both wheels of one side leave the ground: the car goes over.",
            "Check the speed [mph], the radius [ft], the height of the centre of gravity [in] and "
            "the scales [lb].",
        ),
        (
            lambda: moved(room_front=(-1e3, 1e3), room_rear=(-1e3, 1e3), lateral_g=-0.5),
            "speed, radius",
            "At 0.50 g both wheels of one side leave the ground: the car goes over.",
            "Check the speed [mph], the radius [ft], the height of the centre of gravity [in] and "
            "the scales [lb].",
        ),
        (
            lambda: attrs.evolve(CAR, scales={"LF": 700.0}),
            "scales",
            "scales names LF; it needs exactly LF, RF, LR, RR.",
            "Give one number in lb for each of LF, RF, LR, RR.",
        ),
        (
            lambda: attrs.evolve(CAR, wheel_rate={"LF": 200.0}),
            "wheel_rate",
            "wheel_rate names LF; it needs exactly LF, RF, LR, RR.",
            "Give one number in lb/in at the wheel for each of LF, RF, LR, RR.",
        ),
        (
            lambda: attrs.evolve(CAR, tire_rate={"LF": 200.0}),
            "tire_rate",
            "tire_rate names LF; it needs exactly LF, RF, LR, RR.",
            "Give one number in lb/in for each of LF, RF, LR, RR.",
        ),
        (
            lambda: attrs.evolve(CAR, unsprung_front=1400),
            "unsprung_front",
            "unsprung_front is 1400 lb, but that axle scales only 1400 lb.",
            "Check the scale loads [lb], or give the unsprung weight [lb].",
        ),
        (
            lambda: attrs.evolve(CAR, unsprung_rear=1500),
            "unsprung_rear",
            "unsprung_rear is 1500 lb, but that axle scales only 1400 lb.",
            "Check the scale loads [lb], or give the unsprung weight [lb].",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


def test_values_under_one_and_the_ends_of_every_range_are_let_through() -> None:
    for banking in (-89.9, 89.9):
        assert Turn(radius_ft=0.5, banking_deg=banking, speed_mph=0.5).banking_deg == banking
    small = dict.fromkeys(CORNERS, 0.5)
    sizes = dict.fromkeys(("wheelbase", "track_front", "track_rear", "cg_height"), 0.5)
    least = {"unsprung_front": 0.0, "unsprung_rear": 0.0, "unsprung_height": 0.0, "stagger": 0.0}
    car = TurnCar(
        scales=small, wheel_rate=small, tire_rate=small, rear_circumference=0.5, **sizes, **least
    )
    assert car.weight == 2.0
    assert AxleRates(0.5, 0.5).roll_stiffness(2.0) == 1.0  # 0.5 × 2² / 2
    # On 1 ft, 1 mph asks (22/15)² / 32.174 = 0.0669 g.
    assert asked(1, 0, 1).lateral_g == pytest.approx(0.0669, abs=5e-5)
    assert asked(180, 0, 82).lateral_g == pytest.approx(CEILING_G, abs=0.005)


def test_banking_moments_are_left_out_unless_given() -> None:
    said = {"normal_g": 1.0, "added_moment": 0.0, "uneven_front": 0.0, "uneven_rear": 0.0}
    assert moved() == moved(gravity_roll=True, **said)
    assert moved() != moved(gravity_roll=False)
    assert turn_loads(CAR, TURN) == turn_loads(CAR, TURN, gravity_roll=True)
    assert AxleRates(200, 300) == AxleRates(200, 300, 0.0)
