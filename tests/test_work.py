"""The pit-wall calculator: published examples, car file and options, refusals, and its contract."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from garage import Answer, run_command

from planner.chassis.air import atmospheric_pressure
from planner.chassis.at_rest import Suspension
from planner.chassis.jacking import turn_response
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS

SAMPLE = Path(__file__).parent.parent / "sample_plans" / "river-bend-car.toml"
CAR = ("--car", SAMPLE)
# The sample car as it is typed.
SCALES = ("--scales", "LF=765,RF=678,LR=772,RR=585")
SPRINGS = ("--spring", "LF=750,RF=800,LR=200,RR=225")
TRACKS = ("--track-front", "62", "--track-rear", "61")
SIZE = ("--wheelbase", "104", *TRACKS)
TURN = ("--radius", "180", "--banking", "10", "--speed", "62")
# One good line of each kind, with no car at hand.
WITHOUT_CAR = {
    "weights": (*SCALES, "--total", "2810", "--cross", "53", "--even-front"),
    "turn": (*SCALES, *SPRINGS, "--turn", "LR=1", "--perch", "RF=0.125"),
    "ride height": (*SPRINGS, "--ride-height", "RF=0.25"),
    "cross": (*SCALES, *SPRINGS, "--cross", "53"),
    "spring": (*SCALES, *SPRINGS, "--spring-change", "RF=850"),
    "ballast": (*SCALES, *SIZE, "--move", "50", "--rearward", "40", "--leftward", "-5"),
    "loads": (*SCALES, *SPRINGS, *SIZE, *TURN),
    "hot": ("--cold", "20", "--cold-temp", "70", "--hot-temp", "130"),
    "cold": ("--hot", "28", "--cold-temp", "70", "--hot-temp", "LF=130,RF=190"),
    "read": ("--read", "22", "--tire-temp", "95", "--reference-temp", "70", "--cold", "20"),
    "stagger": ("--outer", "86", "--inner", "83.5", "--track", "61", "--radius", "180"),
    "growth": ("--pressure-pair", "18=85", "--pressure-pair", "26=86", "--at-pressure", "20"),
}
WORK = {
    "turn": "jack",
    "ride height": "jack",
    "cross": "jack",
    "spring": "jack",
    "hot": "pressure",
    "cold": "pressure",
    "read": "pressure",
    "growth": "stagger",
}
LINES = {name: (WORK.get(name, name), *line) for name, line in WITHOUT_CAR.items()}


def tried(*arguments: object) -> Answer:
    return run_command("work", *arguments, "--json")


def worked(*arguments: object) -> dict:
    answer = tried(*arguments)
    assert answer.status == 0, answer.out + answer.err
    assert answer.err == ""
    return answer.data


def results(*arguments: object) -> dict:
    return worked(*arguments)["results"]


def refused(*arguments: object) -> dict[str, str]:
    answer = tried(*arguments)
    assert answer.status == 2, answer.out
    assert answer.error["message"]
    assert answer.error["try"]
    return answer.error


# --- published examples --------------------------------------------------------------------------


def test_ground_control_equal_front_share() -> None:
    # Ground Control, "The Hows and Whys of Cornerweights": left 1364 lb with 52.8 % on its front,
    # right 1191 lb with 49.0 %; at 50.9 % on both LF 694, LR 670, RF 606, RR 585.
    scales = ("--scales", "LF=720.2,LR=643.8", "--scales", "RF=583.6", "--scales", "RR=607.4")
    found = results("weights", *scales, "--front-share", "50.9")
    assert found["front_of_left"] == pytest.approx(52.8, abs=0.05)
    assert found["front_of_right"] == pytest.approx(49.0, abs=0.05)
    published = {"LF": 694, "LR": 670, "RF": 606, "RR": 585}
    assert found["even_front"]["loads"] == pytest.approx(published, abs=0.6)
    diagonals = found["even_front"]["diagonals"]
    assert diagonals == pytest.approx({"LF+RR": 1279, "RF+LR": 1276}, abs=1)
    words = run_command("work", "weights", *scales, "--even-front").out
    assert "mean of the two sides' shares is 50.9 %" in " ".join(words.split())


def test_western_racing_turning_radius() -> None:
    # Western Racing, "Natural turning radius": 27.91 and 29.38 in diameter, track 60 in; 1139 in.
    line = ("stagger", "--outer", "29.38", "--inner", "27.91", "--track", "60", "--diameter")
    found = results(*line)
    assert found["radius_inner"] == pytest.approx(1139, abs=0.5)
    assert found["radius_inner"] == pytest.approx(60 * 27.91 / 1.47)
    assert found["radius_middle_ft"] == pytest.approx((found["radius_inner"] + 30) / 12)


def test_circle_track_stagger() -> None:
    # Circle Track, "Racing Tire Technology", May 2004.
    assert results("stagger", "--outer", "86", "--inner", "83.5")["stagger"] == 2.5


@pytest.mark.parametrize(("hot", "published"), [("50", 18.69), ("130", 23.93)])
def test_fot_list_pressures(hot: str, published: float) -> None:
    # fot list, July 2002: 20 psi at 70 °F; recomputed with 14.7 psi and -460 °F.
    found = results("pressure", "--cold", "20", "--cold-temp", "70", "--hot-temp", hot)
    assert found["hot"] == pytest.approx(published, abs=0.01)
    assert found["build_up"] == pytest.approx(found["hot"] - 20)
    back = ("--hot", f"{found['hot']:.6f}", "--cold-temp", "70", "--hot-temp", hot)
    assert results("pressure", *back)["cold"] == pytest.approx(20, abs=1e-5)


def test_crowell_ratio() -> None:
    # B. Crowell, Light and Matter: 10 to 35 °C, absolute pressure ratio 308/283 = 1.09.
    found = results("pressure", "--cold", "28", "--cold-temp", "10C", "--hot-temp", "35 C")
    assert found["ratio"] == pytest.approx(1.09, abs=0.005)
    assert found["ratio"] == pytest.approx(308.15 / 283.15)
    assert found["atmosphere"] == pytest.approx(atmospheric_pressure(0))


# --- what the answers mean -----------------------------------------------------------------------


def test_weights_at_a_cross_keep_the_axle_sums() -> None:
    found = results("weights", *SCALES, "--cross", "53")
    assert found["total"] == 2800
    assert found["cross"] == pytest.approx(100 * 1450 / 2800)
    assert found["wedge"] == 187
    loads = found["at_cross"]["loads"]
    assert 100 * (loads["RF"] + loads["LR"]) / 2800 == pytest.approx(53)
    assert loads["LF"] + loads["RF"] == pytest.approx(1443)
    assert loads["LF"] + loads["LR"] == pytest.approx(1537)
    assert found["at_cross"]["change"]["RF"] == pytest.approx(loads["RF"] - 678)


def test_turns_agree_with_four_springs_solved_from_scratch() -> None:
    # Equal tracks, no tires, no bars: rigid plate on four springs, one perch raised by p.
    rates = np.array([750.0, 800.0, 200.0, 225.0])
    rigid = np.array([[1.0, 1, 1], [1, 1, -1], [1, -1, 1], [1, -1, -1]])
    raised = np.array([0, 0, 1.5 / 12, 0])
    pose = np.linalg.solve(rigid.T @ np.diag(rates) @ rigid, rigid.T @ (rates * raised))
    change = rates * (raised - rigid @ pose)
    found = results("jack", *SCALES, *SPRINGS, "--turn", "LR=1.5")
    assert list(found["load_change"].values()) == pytest.approx(list(change))
    assert list(found["ride_height"].values()) == pytest.approx(list(rigid @ pose))
    assert found["loads"]["LR"] == pytest.approx(772 + change[2])
    assert found["cross_after"] == pytest.approx(
        found["cross_before"] + (change[1] + change[2]) / 28
    )


def test_perch_is_turns_times_pitch() -> None:
    turned = results("jack", *CAR, "--turn", "LR=1.2")
    perched = results("jack", *CAR, "--perch", "LR=0.09996")
    assert turned["loads"] == pytest.approx(perched["loads"])
    both = results("jack", *CAR, "--turn", "LR=1.2", "--perch", "LR=-0.09996")
    assert both["load_change"] == pytest.approx(dict.fromkeys(CORNERS, 0), abs=1e-6)


def test_ride_height_by_one_jack() -> None:
    found = results("jack", *CAR, "--ride-height", "RF=0.25")
    assert found["turns"] == 3
    assert found["exact_turns"] * found["per_turn"] == pytest.approx(0.25)
    assert found["ride_height"]["RF"] + found["remains"] == pytest.approx(0.25)
    assert found["turns"] == pytest.approx(found["exact_turns"], abs=0.125)


def test_cross_by_one_jack_and_by_all_four() -> None:
    found = results("jack", *CAR, "--cross", "53")
    assert set(found["one_jack"]["turns"]) == {"LR"}
    assert set(found["all_four"]["turns"]) == set(CORNERS)
    for way in ("one_jack", "all_four"):
        assert found[way]["cross"] + found[way]["remains"] == pytest.approx(53)
        assert all(turns % 0.25 == 0 for turns in found[way]["turns"].values())
    assert max(map(abs, found["all_four"]["ride_height"].values())) < 0.02
    # A finer step leaves no more than the coarse one did.
    fine = results("jack", *CAR, "--cross", "53", "--step", "0.01")
    assert abs(fine["one_jack"]["remains"]) < abs(found["one_jack"]["remains"])
    two = results("jack", *CAR, "--cross", "53", "--at", "LR", "--at", "RF")
    assert set(two["at"]["turns"]) == {"LR", "RF"}
    right = results("jack", *CAR, "--cross", "53", "--turns", "right")
    assert set(right["one_jack"]["turns"]) == {"RR"}


def test_turns_made_as_planned_reach_the_cross_planned() -> None:
    plan = results("jack", *CAR, "--cross", "53")["all_four"]
    turns = ",".join(f"{corner}={turn:g}" for corner, turn in plan["turns"].items())
    made = results("jack", *CAR, "--turn", turns)
    assert made["cross_after"] == pytest.approx(plan["cross"])
    assert made["loads"] == pytest.approx(plan["loads"])


def test_changed_spring_and_the_turns_that_restore_the_cross() -> None:
    line = ("jack", *CAR, "--spring-change", "RF=850", "--unsprung", "98")
    found = results(*line)
    assert found["cross_after"] > found["cross_before"]
    # N (1/old - 1/new), N through the motion ratio.
    assert found["perch"] == pytest.approx((678 - 98) / 0.65 * (1 / 800 - 1 / 850))
    assert found["exact_turns"] == pytest.approx(-found["perch"] / 0.0833)
    assert found["turns"] == -0.75
    assert found["cross_restored"] == pytest.approx(found["cross_before"], abs=0.05)
    longer = results(*line, "--free-length", "0.25")
    assert longer["perch"] == pytest.approx(found["perch"] + 0.25)


def test_ballast_moments() -> None:
    line = ("ballast", *SCALES, *SIZE, "--move", "50", "--rearward", "40", "--up", "-6")
    found = results(*line, "--cg-height", "16.5")
    loads = found["loads"]
    assert loads["LR"] + loads["RR"] == pytest.approx(1357 + 50 * 40 / 104)
    assert found["after"]["left"] == pytest.approx(found["before"]["left"], abs=0.02)
    assert found["cg_height"] == pytest.approx(16.5 - 50 * 6 / 2800)
    assert found["transfer_before"] == pytest.approx(2800 * 16.5 / 61.5)
    assert found["transfer_change"] == pytest.approx(-50 * 6 / 61.5)
    without = worked(*line)
    assert "transfer_before" not in without["results"]
    assert without["results"]["cg_height_change"] == pytest.approx(-50 * 6 / 2800)
    assert any("--cg-height" in remark for remark in without["remarks"])


def test_loads_in_the_turn() -> None:
    found = results("loads", *CAR)
    centripetal = (62 * 5280 / 3600) ** 2 / (32.17405 * 180)
    slope = np.radians(10)
    assert found["lateral_g"] == pytest.approx(centripetal * np.cos(slope) - np.sin(slope))
    assert found["normal_g"] == pytest.approx(centripetal * np.sin(slope) + np.cos(slope))
    assert found["banking_load"] == pytest.approx(2800 * (found["normal_g"] - 1))
    assert sum(found["loads"].values()) == pytest.approx(2800 * found["normal_g"])
    for axle in ("transfer_front", "transfer_rear"):
        parts = [found[axle][part] for part in ("elastic", "geometric", "unsprung")]
        assert sum(parts) == pytest.approx(found[axle]["total"])
    front, rear = found["transfer_front"]["total"], found["transfer_rear"]["total"]
    assert found["front_share"] == pytest.approx(100 * front / (front + rear))
    assert found["index"] == pytest.approx(found["usage_front"] - found["usage_rear"])
    assert found["balance"] == "tight"
    assert found["lifted"] == []


def test_stiffer_rear_frees_the_car_and_stagger_too() -> None:
    index = results("loads", *CAR)["index"]
    assert results("loads", *CAR, "--bar", "rear=200")["index"] < index
    assert results("loads", *CAR, "--stagger", "3.5")["index"] < index
    loose = results("loads", *CAR, "--bar", "front=0,rear=400", "--stagger", "4")
    assert loose["balance"] == "loose"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), "tight by 3.0 points: front 82.0 %, rear 79.0 % of the grip"),
        (
            ("--bar", "rear=60", "--stagger", "3"),
            "neutral, 0.4 points toward tight: front 80.7 %, rear 80.3 % of the grip",
        ),
    ],
)
def test_the_words_of_the_balance_say_how_near_it_is(options, said: str) -> None:
    assert said in " ".join(run_command("work", "loads", *CAR, *options).out.split())


def test_a_share_typed_as_a_fraction_is_told_in_percent() -> None:
    for option in ("--front-share", "--cross"):
        hint = refused("weights", *SCALES, option, "0.515")["try"]
        assert hint == f"in percent, not as a fraction: {option} 51.5"


def test_loads_say_cross_front_share_and_lift_off_in_the_turn() -> None:
    tippy = (*CAR, "--cg-height", "20", "--bar", "front=900", "--banking", "0")
    found = results("loads", *tippy, "--speed", "55")
    loads = found["loads"]
    assert found["dynamic_cross"] == pytest.approx(
        100 * (loads["RF"] + loads["LR"]) / sum(loads.values())
    )
    assert found["front_share"] > 50
    # Above the lateral force at which the LF lifts it is off the ground, below it is down.
    lifts = found["lift_off"]["LF"]
    assert found["lateral_g"] < lifts
    for lateral, lifted in ((lifts - 0.01, []), (lifts + 0.01, ["LF"])):
        mph = (lateral * 32.17405 * 180) ** 0.5 * 3600 / 5280
        assert results("loads", *tippy, "--speed", f"{mph:.6f}")["lifted"] == lifted
    assert results("loads", *CAR)["lift_off"] == {}
    assert "LF above 2.5 g" in run_command("work", "loads", *CAR).out


def test_a_car_that_goes_over_is_refused_with_what_to_check() -> None:
    line = ("loads", *CAR, "--cg-height", "40", "--speed", "74")
    assert "the car goes over" in refused(*line)["message"]


def test_a_narrow_spring_base_makes_a_turn_of_the_jack_worth_less() -> None:
    line = ("jack", *CAR, "--turn", "LR=2")
    usual, narrow = (results(*line, *more) for more in ((), ("--spring-base-rear", "40")))
    assert 0 < narrow["load_change"]["LR"] < usual["load_change"]["LR"]
    refusal = refused("jack", *SCALES, *SPRINGS, "--turn", "LR=2", "--spring-base-rear", "40")
    assert refusal["where"].startswith("--track-rear")


def test_a_narrow_spring_base_rolls_the_car_further() -> None:
    wide, narrow = (
        results("loads", *CAR, "--spring-base-rear", base)["roll"] for base in ("61", "40")
    )
    assert wide == results("loads", *CAR)["roll"]
    assert narrow > wide


def test_lifted_wheel_is_named() -> None:
    data = worked("loads", *CAR, "--bar", "front=3000", "--cg-height", "24")
    assert data["results"]["lifted"] == ["LF"]
    assert data["results"]["loads"]["LF"] == 0
    assert any("LF off the ground" in remark for remark in data["remarks"])


def test_banking_that_holds_the_car_leaves_balance_out() -> None:
    data = worked("loads", *CAR, "--speed", "15")
    assert data["results"]["lateral_g"] < 0
    assert "index" not in data["results"]
    assert any("banking holds the car" in remark for remark in data["remarks"])


def test_track_turning_the_other_way_mirrors_the_stagger() -> None:
    left = worked("loads", *CAR)["inputs"]["stagger"]
    assert worked("loads", *CAR, "--turns", "right")["inputs"]["stagger"] == -left
    typed = ("--circumference", "LR=84,RR=86")
    assert worked("loads", *CAR, *typed)["inputs"]["stagger"] == 2
    assert worked("loads", *CAR, *typed, "--turns", "right")["inputs"]["stagger"] == -2


def test_sun_warmed_reading_and_what_it_should_read() -> None:
    found = results("pressure", *LINES["read"][1:])
    outside = atmospheric_pressure(0)
    cool, warm = 70 + 459.67, 95 + 459.67
    assert found["corrected"] == pytest.approx((22 + outside) * cool / warm - outside)
    assert found["set_to"] == pytest.approx((20 + outside) * warm / cool - outside)
    assert found["add"] == pytest.approx(found["set_to"] - 22)


def test_altitude_and_water_change_the_build_up() -> None:
    line = ("pressure", "--cold", "20", "--cold-temp", "70", "--hot-temp", "190")
    plain = results(*line)
    assert results(*line, "--altitude", "5000")["build_up"] < plain["build_up"]
    assert results(*line, "--wet")["build_up"] > plain["build_up"] + 1
    assert results(*line, "--humidity", "60")["build_up"] == pytest.approx(plain["build_up"])
    assert worked(*line, "--wet")["inputs"]["wet"] is True
    assert "percent" in str(worked(*line, "--humidity", "0.6")["remarks"])


def test_tread_temperatures_are_not_those_of_the_gas() -> None:
    line = ("pressure", "--cold", "20", "--cold-temp", "70", "--hot-temp", "190")
    found = results(*line, "--from-tread")
    assert found["gas_temp"] == pytest.approx(70 + 0.7 * 120)
    assert found["hot"] < results(*line)["hot"]


def test_pressure_of_each_tire_of_the_car_and_its_limits() -> None:
    found = results(
        "pressure", *CAR, "--cold-temp", "70", "--hot-temp", "LF=140,RF=190,LR=140,RR=180"
    )
    assert set(found["hot"]) == set(CORNERS)
    assert found["build_up"]["RF"] > found["build_up"]["RR"] > found["build_up"]["LF"]
    low = worked("pressure", *CAR, "--hot", "14", "--cold-temp", "70", "--hot-temp", "190")
    assert any("below the 12 psi of limits.pressure" in remark for remark in low["remarks"])
    read = results(
        "pressure", *CAR, "--read", "RF=27", "--tire-temp", "90", "--reference-temp", "70"
    )
    assert set(read["set_to"]) == {"RF"}
    one = results("pressure", *CAR, "--read", "27", "--tire-temp", "90", "--reference-temp", "70")
    assert "set_to" not in one


def test_pressures_in_other_units() -> None:
    bar = results("pressure", "--cold", "150kPa", "--cold-temp", "70", "--hot-temp", "130")
    psi = results("pressure", "--cold", "21.7557", "--cold-temp", "70", "--hot-temp", "130")
    assert bar["hot"] == pytest.approx(psi["hot"], abs=1e-3)


def test_stagger_for_the_turn() -> None:
    found = results("stagger", *CAR)
    rho = 180 * 12 / np.cos(np.radians(10))
    assert found["wanted"] == pytest.approx(61 * 84.25 / rho)
    assert found["difference"] == pytest.approx(1.5 - found["wanted"])
    assert "toward tight" in str(worked("stagger", *CAR)["remarks"])
    one = results("stagger", "--inner", "83.5", "--track", "61", "--radius", "180")
    assert one["wanted"] == pytest.approx(61 * 83.5 / (180 * 12 - 30.5))
    assert "stagger" not in one


def test_equal_tires_roll_straight() -> None:
    line = ("stagger", "--outer", "85", "--inner", "85", "--track", "61")
    assert results(*line)["radius_middle"] is None
    assert "rolls straight" in run_command("work", *line).out


def test_circumference_at_pressure() -> None:
    data = worked(*LINES["growth"])
    assert data["results"]["circumference"] == pytest.approx(85.25)
    assert data["results"]["per_psi"] == pytest.approx(0.125)


# --- car file and options ------------------------------------------------------------------------


def test_sample_car_typed_gives_what_its_file_gives() -> None:
    typed = (
        *SCALES,
        *SPRINGS,
        *SIZE,
        *TURN,
        *("--motion-ratio", "LF=0.65,RF=0.65,LR=0.9,RR=0.9"),
        *("--tire-rate", "LF=1300,RF=1500,LR=1300,RR=1500"),
        *("--bar", "front=250", "--bar", "rear=0"),
        *("--cg-height", "16.5", "--roll-center-front", "3", "--roll-center-rear", "9"),
        *("--stagger", "1.5", "--circumference", "LF=81.5,RF=84,LR=83.5,RR=85"),
    )
    by_hand, from_file = worked("loads", *typed, "--turns", "left"), worked("loads", *CAR)
    assert by_hand["results"] == from_file["results"]
    assert by_hand["inputs"] == from_file["inputs"]
    assert set(from_file["sources"].values()) == {"car file", "taken"}
    assert set(by_hand["sources"].values()) == {"typed", "taken"}


@pytest.mark.parametrize("typed", [("LF=765,RF=678,LR=772,RR=585",), tuple(SCALES[1].split(","))])
def test_a_list_or_one_option_each(typed: tuple[str, ...]) -> None:
    options = [part for text in typed for part in ("--scales", text)]
    assert results("weights", *options)["total"] == 2800


def test_decimal_commas_in_a_list() -> None:
    assert results("weights", "--scales", "lf=765,5, RF=678,LR=772;RR=585")["total"] == 2800.5


def test_what_is_typed_wins_over_the_car_file() -> None:
    data = worked("weights", *CAR, "--scales", "RF=690")
    assert data["inputs"]["scales"] == {"LF": 765, "RF": 690, "LR": 772, "RR": 585}
    assert data["sources"]["scales"] == "typed in part"
    data = worked("jack", *CAR, "--cross", "53", "--pitch", "0.1", "--bar", "front=0")
    assert data["inputs"]["pitch"] == 0.1
    assert data["inputs"]["bar"] == {"front": 0, "rear": 0}
    assert data["sources"]["pitch"] == "typed"
    assert data["sources"]["step"] == "taken"
    data = worked("stagger", *CAR, "--outer", "86")
    assert data["results"]["stagger"] == pytest.approx(2.5)


def test_what_is_taken_is_said() -> None:
    data = worked("loads", *LINES["loads"][1:])
    assert data["sources"]["cg_height"] == data["sources"]["motion_ratio"] == "taken"
    assert data["inputs"]["cg_height"] == 16
    assert any("from memory" in remark for remark in data["remarks"])
    assert "Assumed" in run_command("work", *LINES["loads"]).out


def test_without_scales_the_jack_still_says_the_change() -> None:
    found = results("jack", *SPRINGS, "--turn", "LR=1")
    spring = Suspension({"LF": 750.0, "RF": 800.0, "LR": 200.0, "RR": 225.0})
    assert found["load_change"] == pytest.approx(turn_response(spring, {"LR": 1.0}).load)
    assert found["loads"] is None


def test_half_known_tables_of_the_car_file_are_said_and_left_out(tmp_path: Path) -> None:
    text = SAMPLE.read_text("utf-8").replace("rate = { LF = 1300, ", "rate = { ")
    text = text.replace("track_rear = 61.0\n", "").replace("LF = 0.65\n", "")
    file = tmp_path / "car.toml"
    file.write_text(text, "utf-8")
    data = worked("jack", "--car", file, "--cross", "53")
    said = " ".join(data["remarks"])
    assert "tire_rate" not in data["inputs"]
    assert "track_front" not in data["inputs"]
    assert "tires.rate names only" in said
    assert "Only the front track" in said
    assert "[motion_ratio] names only" in said
    assert data["inputs"]["motion_ratio"]["LF"] == 1


# --- refusals ------------------------------------------------------------------------------------

LOADS = LINES["loads"]
MISSING = [
    (("weights",), "--scales or [scales]"),
    (("weights", "--scales", "LF=765,RF=678"), "--scales or [scales]"),
    (
        ("weights", *SCALES, "--cross", "53", "--track-front", "62"),
        "--track-rear or dimensions.track_rear",
    ),
    (("jack", "--turn", "LR=1"), "--spring or settings.spring"),
    (("jack", *SPRINGS, "--cross", "53"), "--scales or [scales]"),
    (("jack", *SPRINGS, "--spring-change", "LR=225"), "--scales or [scales]"),
    (("jack", *SPRINGS, "--turn", "LR=1", "--tire-rate", "LF=1200"), "--tire-rate or tires.rate"),
    (("ballast", *SCALES, "--rearward", "40"), "--move"),
    (("ballast", *SCALES, "--move", "40"), "--rearward, --leftward or --up"),
    (
        ("ballast", *SCALES, "--move", "40", "--rearward", "9"),
        "--wheelbase or dimensions.wheelbase",
    ),
    (
        ("ballast", *SCALES, "--move", "40", "--leftward", "9"),
        "--track-front or dimensions.track_front",
    ),
    (("loads", *SPRINGS, *SIZE, *TURN), "--scales or [scales]"),
    (("loads", *SCALES, *SIZE, *TURN), "--spring or settings.spring"),
    (("loads", *SCALES, *SPRINGS, *TRACKS, *TURN), "--wheelbase or dimensions.wheelbase"),
    (("loads", *SCALES, *SPRINGS, *SIZE, "--speed", "62"), "--radius or track.radius"),
    (("loads", *SCALES, *SPRINGS, *SIZE, "--radius", "180"), "--speed or track.corner_speed"),
    (("pressure",), "--cold or settings.pressure, --hot, or --read"),
    (("pressure", "--cold", "20", "--hot-temp", "180"), "--cold-temp"),
    (("pressure", "--cold", "20", "--cold-temp", "70"), "--hot-temp"),
    (("pressure", "--read", "20", "--tire-temp", "90"), "--reference-temp"),
    (("pressure", "--read", "20", "--reference-temp", "70"), "--tire-temp"),
    (("pressure", *CAR, "--cold-temp", "70", "--hot-temp", "RF=190"), "--hot-temp"),
    (("stagger",), "--outer or tires.circumference.RR"),
    (("stagger", "--outer", "86"), "--inner or tires.circumference.LR"),
    (("stagger", "--outer", "86", "--turns", "right"), "--inner or tires.circumference.RR"),
    (
        ("stagger", "--outer", "86", "--inner", "83", "--radius", "180"),
        "--track or dimensions.track_rear",
    ),
    (("stagger", "--outer", "86", "--inner", "83", "--banking", "9"), "--radius or track.radius"),
    (("stagger", "--pressure-pair", "18=85", "--at-pressure", "20"), "--pressure-pair"),
    (("stagger", "--pressure-pair", "18=85", "--pressure-pair", "26=86"), "--at-pressure"),
]


@pytest.mark.parametrize(("line", "where"), MISSING)
def test_missing_input_names_option_and_key(line: tuple[object, ...], where: str) -> None:
    error = refused(*line)
    assert (error["code"], error["where"]) == ("missing", where)


def test_missing_corners_are_named() -> None:
    assert "LR, RR" in refused("weights", "--scales", "LF=765,RF=678")["message"]


BAD = [
    (("weights", *SCALES, "--total", "2900"), "--total", "2900"),
    (("weights", "--scales", "LF=-3,RF=678,LR=772,RR=585"), "--scales LF", "-3 lb"),
    (("weights", "--scales", "LF=1,LF=2"), "--scales", "LF is given twice"),
    (("weights", "--scales", "FL=700"), "--scales", "FL"),
    (("weights", "--scales", "700"), "--scales", "700"),
    (("weights", "--scales", "LF="), "--scales", "LF="),
    (("weights", "--scales", ""), "--scales", ""),
    (("weights", *SCALES, "--cross", "nan"), "--cross", "nan"),
    (("weights", *SCALES, "--cross", "100"), "--cross", "100"),
    (("weights", *SCALES, "--cross", "99"), "--cross", "RR would carry"),
    (("weights", *SCALES, "--front-share", "0"), "--front-share", "0"),
    (("weights", *SCALES, "--front-share", "0.5"), "--front-share", "0.5 percent"),
    (("weights", *SCALES, "--cross", "0.53"), "--cross", "0.53 percent"),
    (("jack", *CAR, "--cross", "0.53"), "--cross", "0.53 percent"),
    (("jack", *CAR, "--turn", "LR=1", "--spring", "LR=-200"), "--spring LR", "-200 lb/in"),
    (("jack", *CAR, "--turn", "LR=1", "--motion-ratio", "LR=0"), "--motion-ratio LR", "0"),
    (("jack", *CAR, "--turn", "LR=1", "--bar", "middle=20"), "--bar", "middle"),
    (("jack", *CAR, "--turn", "LR=1", "--bar", "250"), "--bar", "PLACE=VALUE"),
    (("jack", *CAR, "--turn", "LR=199"), "--turn", "would carry"),
    (("jack", *CAR, "--perch", "LR=15"), "--perch", "would carry"),
    (("jack", *CAR, "--ride-height", "LR=9"), "--ride-height", "would carry"),
    (("jack", *CAR, "--ride-height", "LR=1,RR=1"), "--ride-height", "LR, RR"),
    (("jack", *CAR, "--cross", "53", "--step", "0"), "--step", "0 turns"),
    (("jack", *CAR, "--cross", "53", "--pitch", "-1"), "--pitch", "-1 in/turn"),
    (("jack", *CAR, "--cross", "53", "--at", "XX"), "--at", "XX"),
    (("jack", *CAR, "--cross", "53", "--at", "LR", "--at", "LR"), "--at", "LR is given twice"),
    (("jack", *CAR, "--cross", "97"), "--cross", "would carry"),
    (("jack", *CAR, "--spring-change", "LR=0"), "--spring-change LR", "0 lb/in"),
    (
        ("jack", *CAR, "--spring-change", "RF=850", "--free-length", "20"),
        "--spring-change",
        "would carry",
    ),
    (("jack", *CAR, "--spring-change", "RF=850", "--unsprung", "700"), "--unsprung", "700"),
    (("ballast", *CAR, "--move", "3000", "--up", "1"), "--move", "3000"),
    (("ballast", *CAR, "--move", "2000", "--rearward", "90"), "--move", "would carry"),
    (("ballast", *CAR, "--move", "900", "--up", "-90"), "--up", "height"),
    (
        ("loads", *CAR, "--speed", "140"),
        "--speed or track.corner_speed, --radius or track.radius",
        "140 mph",
    ),
    (("loads", *CAR, "--speed", "-62"), "--speed", "-62 mph"),
    (("loads", *CAR, "--banking", "60"), "--banking", "60 deg"),
    (("loads", *CAR, "--unsprung-rear", "1400"), "--unsprung-rear", "1400"),
    (
        ("loads", *CAR, "--bar", "front=0", "--spring", "LF=9,RF=9,LR=9,RR=9"),
        "--spring or settings.spring",
        "stiffness",
    ),
    (("pressure", "--cold", "x", "--cold-temp", "70", "--hot-temp", "180"), "--cold", "'x'"),
    (
        ("pressure", "--cold", "20", "--cold-temp", "-500", "--hot-temp", "90"),
        "--cold-temp",
        "-500",
    ),
    (("pressure", "--cold", "20", "--cold", "RF=26"), "--cold", "all"),
    (("pressure", "--cold", "20", "--cold", "21"), "--cold", "Two values"),
    (("pressure", *LINES["hot"][1:], "--humidity", "160"), "--humidity", "160"),
    (("pressure", *LINES["hot"][1:], "--altitude", "99999"), "--altitude", "99999"),
    (
        ("pressure", "--hot", "5", "--cold-temp", "70", "--hot-temp", "300", "--wet"),
        "the pressure given",
        "vapour",
    ),
    (
        ("stagger", "--outer", "83", "--inner", "86", "--track", "61"),
        "--outer and --inner, or tires.circumference",
        "83",
    ),
    (("stagger", "--outer", "0", "--inner", "86"), "--outer", "0 in"),
    (
        ("stagger", "--outer", "86", "--inner", "84", "--track", "61", "--radius", "2"),
        "--radius or track.radius",
        "2 ft",
    ),
    (("stagger", "--pressure-pair", "18", "--pressure-pair", "26=86"), "--pressure-pair", "'18'"),
    (
        ("stagger", "--pressure-pair", "18=85", "--pressure-pair", "18=86", "--at-pressure", "20"),
        "--outer and --inner, or tires.circumference",
        "18 psi",
    ),
    (("stagger", *LINES["growth"][1:5], "--at-pressure", "60"), "the pressure given", "60 psi"),
]


@pytest.mark.parametrize(("line", "where", "value"), BAD)
def test_bad_input_names_the_value(line: tuple[object, ...], where: str, value: str) -> None:
    error = refused(*line)
    assert (error["code"], error["where"]) == ("bad-value", where)
    assert value in error["message"]
    # In words it goes to standard error, and nothing to standard output.
    said = run_command("work", *line)
    assert (said.status, said.out) == (2, "")
    assert value in said.err


@pytest.mark.parametrize(
    "line",
    [
        ("jack", *CAR),
        ("jack", *CAR, "--turn", "LR=1", "--cross", "53"),
        ("jack", *CAR, "--turn", "LR=1", "--at", "LR"),
        ("jack", *CAR, "--turn", "LR=1", "--unsprung", "90"),
        ("pressure", "--cold", "20", "--hot", "28"),
        ("pressure", "--read", "20", "--hot", "28"),
        ("pressure", "--read", "20", "--from-tread"),
        ("pressure", "--cold", "20", "--tire-temp", "90"),
        ("pressure", "--cold", "20", "--wet", "--humidity", "50"),
        ("stagger", *CAR, "--diameter"),
        ("stagger", "--outer", "86", "--pressure-pair", "18=85"),
        ("stagger", "--nonsense"),
        ("weights", "--turns", "both"),
        ("nonsense",),
    ],
)
def test_lines_that_ask_nothing_or_two_things(line: tuple[object, ...]) -> None:
    assert refused(*line)["code"] == "usage"


def test_car_file_that_is_missing_wrong_or_turns_both_ways(tmp_path: Path) -> None:
    assert refused("loads", "--car", tmp_path / "none.toml")["code"] == "not-found"
    file = tmp_path / "car.toml"
    file.write_text("[settings]\nspring = {LF = -1}\n", "utf-8")
    assert "settings.spring.LF" in refused("loads", "--car", file)["message"]
    file.write_text("[scales]\nLF=1e300\nRF=1e300\nLR=1e300\nRR=1e300\n", "utf-8")
    assert "scales.LF" in refused("weights", "--car", file)["message"]
    text = SAMPLE.read_text("utf-8").replace('turns = "left"', 'turns = "both"')
    file.write_text(text, "utf-8")
    assert refused("loads", "--car", file)["where"] == "--turns or car.turns"
    assert results("loads", "--car", file, "--turns", "right")["loads"]


# --- the contract --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LINES)
def test_json_contract(name: str) -> None:
    data = worked(*LINES[name])
    assert data["work"] == LINES[name][0]
    assert {"units", "inputs", "equation", "results", "remarks", "cautions"} <= set(data)
    for key in ("equation", "remarks", "cautions"):
        assert all(isinstance(said, str) for said in data[key])
    assert data["equation"]
    assert set(data["sources"]) <= set(data["inputs"])

    def has_units(values: dict, units: dict) -> None:
        for key, value in values.items():
            if isinstance(value, dict) and isinstance(units.get(key), dict):
                has_units(value, units[key])
            elif isinstance(value, int | float) and not isinstance(value, bool):
                assert units[key], key

    has_units(data["inputs"], data["units"]["inputs"])
    has_units(data["results"], data["units"]["results"])


@pytest.mark.parametrize("name", LINES)
def test_text_fits_the_screen_and_shows_every_input(name: str) -> None:
    answer = run_command("work", *LINES[name])
    assert (answer.status, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert max(map(len, lines)) <= 80
    assert all(line == line.rstrip() for line in lines)
    assert any(line.startswith("Equation") for line in lines)
    assert lines[0].lower().startswith(LINES[name][0])


@pytest.mark.parametrize(
    ("name", "caution"),
    [
        ("turn", "stands"),
        ("ride height", "stands"),
        ("cross", "stands"),
        ("spring", "stands"),
        ("ballast", "ballast"),
        ("hot", "inflation"),
        ("cold", "inflation"),
        ("read", "inflation"),
        ("stagger", "inflation"),
        ("growth", "inflation"),
    ],
)
def test_cautions(name: str, caution: str) -> None:
    assert CAUTIONS[caution] in worked(*LINES[name])["cautions"]


def test_more_turns_than_a_jack_has_are_asked_about() -> None:
    assert "more than most have" in str(worked("jack", *CAR, "--spring-change", "RF=100")["doubts"])
    assert "more than most have" not in str(worked("jack", *CAR, "--cross", "53"))


def test_less_cross_is_said_to_free_the_car() -> None:
    assert CAUTIONS["loosening"] in worked("jack", *CAR, "--cross", "50")["cautions"]
    assert CAUTIONS["loosening"] not in worked("jack", *CAR, "--cross", "53")["cautions"]


def test_long_values_still_fit() -> None:
    line = ("--scales", "LF=19999.123,RF=19999.456,LR=19999.789,RR=19999.5", "--even-front")
    assert max(map(len, run_command("work", "weights", *line).out.splitlines())) <= 80


@pytest.mark.parametrize("name", ["weights", "loads", "hot", "stagger"])
def test_numpy_is_not_loaded_where_it_is_not_needed(name: str) -> None:
    code = (
        "import sys\n"
        "from planner.commands import main\n"
        "try:\n    main(sys.argv[1:])\n"
        "except SystemExit as done:\n    assert done.code == 0, done.code\n"
        "assert 'numpy' not in sys.modules\n"
        "assert 'rich' not in sys.modules\n"
    )
    line = ["work", *map(str, LINES[name]), "--json"]
    done = subprocess.run(
        [sys.executable, "-c", code, *line], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["work"] == LINES[name][0]


def test_help_names_every_worksheet() -> None:
    shown = run_command("work", "--help").out
    for work in ("weights", "jack", "ballast", "loads", "pressure", "stagger"):
        assert work in shown
        assert run_command("work", work, "--help").status == 0
    assert "pit-wall calculator" in run_command("--help").out


def test_what_looks_wrong_in_a_car_file_is_said_on_its_worksheet_too(cli, tmp_path: Path) -> None:
    car = tmp_path / "car.toml"
    scales = "LF = 750\nRF = 660\nLR = 755\nRR = 585"
    car.write_text(f"[settings]\ncross = {{car = 55.0}}\n[scales]\n{scales}\n", "utf-8")
    answer = cli("work", "weights", "--car", str(car))
    assert answer.status == 0
    said = " ".join(answer.out.split())
    assert "settings.cross says 55 %, [scales] make it 51.5 %: the scales are used." in said


# --- what looks like a slip, or cannot be done on most cars ----------------------------------

HOOKED = (*SCALES, *SPRINGS, "--bar", "front=250,rear=0")
PSI = ("--cold-temp", "70", "--hot-temp", "180")


def doubts_of(*asked: object) -> list[str]:
    """Return what a worksheet asks about; text and JSON ask the same."""
    answer = run_command("work", *asked, "--json")
    assert answer.status == 0, answer.err
    found = answer.data["doubts"]
    shown = " ".join(run_command("work", *asked).out.split())
    assert ("Look again" in shown) == bool(found)
    assert all(each in shown for each in found)
    return found


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("pressure", "--cold", "60", *PSI), "--cold: 60 psi is unusual, 5 to 50 is common"),
        (("pressure", "--cold", "LF=3,RF=22", *PSI), "3 psi is unusual"),
        (("pressure", "--hot", "78", *PSI), "Cold setting: 62.06 psi is unusual"),
        (("jack", *HOOKED, "--turn", "LF=-10"), "Is the front bar hooked?"),
        (("jack", *HOOKED, "--turn", "LF=-10"), "10 turns at once are many (from memory)"),
        (("jack", *HOOKED, "--turn", "LR=50"), "50 turns are 4.2 in of jack travel"),
        (("jack", *HOOKED, "--spring-change", "LR=70"), "in of jack travel, more than most have"),
        (("jack", *HOOKED, "--spring-change", "LR=70"), "is there travel left?"),
        (("jack", *HOOKED, "--cross", "62"), "Is the front bar hooked?"),
        (("jack", *HOOKED, "--ride-height", "RF=4"), "Is the front bar hooked?"),
    ],
)
def test_a_number_that_no_crew_means_is_asked_about(asked, says: str) -> None:
    assert [each for each in doubts_of(*asked) if says in each]


@pytest.mark.parametrize(
    "asked",
    [
        ("pressure", "--cold", "22", *PSI),
        ("pressure", "--hot", "28", *PSI),
        ("jack", *HOOKED, "--turn", "LF=-2"),
        ("jack", *HOOKED, "--spring-change", "RF=850"),
        ("jack", *HOOKED, "--cross", "53"),
    ],
)
def test_an_ordinary_number_is_not(asked) -> None:
    assert doubts_of(*asked) == []


def test_a_bar_that_is_unhooked_is_not_asked_about() -> None:
    asked = ("jack", *SCALES, *SPRINGS, "--bar", "front=0,rear=0", "--turn", "LF=-10")
    assert not [each for each in doubts_of(*asked) if "hooked" in each]


def test_what_is_typed_in_another_unit_is_asked_about_everywhere() -> None:
    (said,) = doubts_of("jack", "--spring", "LF=7,RF=8,LR=2,RR=2", "--ride-height", "RF=0.25")
    assert said.startswith("--spring: LF 7, RF 8, LR 2, RR 2 lb/in are unusual")
