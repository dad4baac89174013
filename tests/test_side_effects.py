"""What goes with a change: stagger and cross with air, cross with stagger, scales with ballast.

Checked against moments about the axles, the circle, and the four-spring solver of the chassis
room, which is checked against scipy in its own tests. How much a tire grows with air is from
memory (`chassis.tire_size`).
"""

import math
from pathlib import Path
from typing import Any

import pytest
from garage import Crew, day_of, run_command, tires
from test_car_model import CAR, in_mirror, made, model_of, without

from planner.car.at_the_car import (
    BallastMoved,
    CrossFollows,
    NotComputed,
    StaggerFollows,
    at_the_car,
    in_turn,
)
from planner.car.car_file import Car, Dimensions
from planner.chassis import jacking, tire_size, weights
from planner.chassis.mid_turn import mid_turn
from planner.trade.corners import CORNERS

RIVER_BEND = Path(__file__).parent.parent / "sample_plans" / "river-bend-car.toml"
TIGHT = {"LF": 205.0, "RF": 230.0, "LR": 198.0, "RR": 211.0}
CROSS = weights.weigh(CAR.scales).cross


def line(kind: type, change: Any, model: Any) -> Any:
    (found,) = (each for each in at_the_car(change, model) if isinstance(each, kind))
    return found


def test_half_an_inch_of_stagger_moves_the_cross_and_asks_for_it_back() -> None:
    told = line(CrossFollows, made("stagger", "rear", 0.5), model_of(CAR))
    # The whole half inch on the outside tire: 0.34 %; half of it on each: 0.28 %.
    assert told.before - told.after == pytest.approx(0.34, abs=0.01)
    assert told.frees
    assert (told.corner, told.jack) == ("RR", "LR")
    # The hub rises by 0.5 / 2 pi, and the car settles on its springs by a part of that.
    assert 0.3 * 0.5 / (2 * math.pi) < told.height < 0.5 / (2 * math.pi)
    # The turns it asks for bring the cross weight back on the four-spring car.
    model = model_of(CAR)
    moved = tire_size.change_size(model.at_rest(), {"RR": 0.5}).loads
    back = jacking.turn_response(
        model.at_rest().suspension,
        {"LR": told.exact},
        pitch=CAR.jack.pitch,
        track_ratio=model.at_rest().track_ratio,
    )
    after = {c: moved[c] + back.load[c] for c in CORNERS}
    assert weights.weigh(after).cross == pytest.approx(CROSS, abs=1e-6)


def test_less_stagger_and_a_right_turn_are_the_same_in_a_mirror() -> None:
    less = line(CrossFollows, made("stagger", "rear", -0.5), model_of(CAR))
    assert less.after > CROSS
    assert not less.frees
    other = in_mirror(CAR)
    right = line(CrossFollows, made("stagger", "rear", 0.5, other), model_of(other, "right"))
    left = line(CrossFollows, made("stagger", "rear", 0.5), model_of(CAR))
    assert right.frees
    assert (right.corner, right.jack) == ("LR", "RR")
    assert right.turns == left.turns
    # Cross weight is RF + LR whichever way the track turns: there it goes up.
    assert right.after - right.before == pytest.approx(left.before - left.after)


@pytest.mark.parametrize(("corner", "way"), [("RR", 1.0), ("LR", -1.0)])
def test_air_in_a_rear_tire_moves_the_stagger(corner: str, way: float) -> None:
    told = line(StaggerFollows, made("pressure", corner, -2.0), model_of(CAR))
    assert told.by == pytest.approx(-2.0 * way * tire_size.GROWTH_PER_PSI)
    assert told.after == pytest.approx(1.5 + told.by)
    unknown = line(StaggerFollows, made("pressure", corner, -2.0), model_of(Car()))
    assert (unknown.by, unknown.after) == (told.by, None)
    front = at_the_car(made("pressure", "RF", -2.0), model_of(CAR))
    assert not any(isinstance(each, StaggerFollows) for each in front)


@pytest.mark.parametrize(
    ("corner", "frees"), [("LF", False), ("RF", True), ("LR", True), ("RR", False)]
)
def test_less_air_lowers_its_corner_and_takes_weight_off_its_diagonal(corner, frees) -> None:
    told = line(CrossFollows, made("pressure", corner, -3.0), model_of(CAR))
    assert (told.after < told.before) == (corner in ("RF", "LR"))
    assert told.frees is frees
    assert (told.corner, told.height < 0) == (corner, True)


@pytest.mark.parametrize("key", ["[scales]", "settings.spring", "settings.pressure"])
def test_where_the_file_says_too_little_the_cross_is_left_unsaid(key: str) -> None:
    bare = without(CAR, key)
    air = at_the_car(made("pressure", "RR", -3.0, bare), model_of(bare))
    assert not any(isinstance(each, CrossFollows) for each in air)
    if key != "settings.pressure":
        stagger = at_the_car(made("stagger", "rear", 0.5, bare), model_of(bare))
        assert stagger == (NotComputed("stagger"),)


def test_ballast_moves_all_four_scales_where_they_are_not_known() -> None:
    told = line(BallastMoved, made("ballast", "rear", 50.0), model_of(Car()))
    # Half the wheelbase: half of it goes from the front axle to the rear, half to each side.
    assert told.scales == pytest.approx({"LF": -12.5, "RF": -12.5, "LR": 12.5, "RR": 12.5})
    assert (told.distance, told.cross) == (None, None)
    left = line(BallastMoved, made("ballast", "left", -40.0), model_of(Car()))
    assert left.scales == pytest.approx({"LF": -10.0, "RF": 10.0, "LR": -10.0, "RR": 10.0})
    sized = Car(dimensions=Dimensions(wheelbase=104.0, track_front=62.0, track_rear=61.0))
    assert line(BallastMoved, made("ballast", "rear", 50.0), model_of(sized)).distance == 52.0


def test_in_the_prediction_less_air_at_the_outside_rear_no_longer_loosens() -> None:
    # Three psi less: a softer tire, less stagger and more cross weight tighten by some 3 to 4 degF;
    # the tire itself runs 3 degF hotter by the rule of thumb, which alone reads as looser.
    day = day_of(tires({"LF": 205.0, "RF": 215.0, "LR": 198.0, "RR": 212.0}), car=CAR)
    before, after = (
        day.situation("pressure").outlook.after(("balance",), moves)["balance"].mean
        for moves in ({}, {("pressure", "RR"): -3.0})
    )
    assert 0.0 < after - before < 2.5


# --- in the turn ------------------------------------------------------------------------------


def test_the_turn_is_told_now_and_after_a_change() -> None:
    model = model_of(CAR)
    found = in_turn((made("cross", "car", -1.0),), model)
    assert found is not None
    assert found.now == model.mid_turn()
    assert found.after == mid_turn(
        model._changed(model._turn_car(), "cross", "car", -1.0), model._turn()
    )
    # A percent less on the scales is a percent less in the turn, near enough; the sum stays.
    assert found.after.cross - found.now.cross == pytest.approx(-1.0, abs=0.2)
    assert sum(found.after.loads.values()) == pytest.approx(sum(found.now.loads.values()))


def test_what_moves_no_load_tells_nothing_of_the_turn() -> None:
    model = model_of(CAR)
    assert in_turn((made("camber", "RF", 1.0),), model) is None
    assert in_turn((made("cross", "car", 0.0),), model) is None
    assert in_turn((made("cross", "car", 1.0),), model_of(Car())) is None
    assert in_turn((made("cross", "car", 1.0),), model_of(CAR, "both")) is None


def test_why_tells_the_turn_of_one_step_as_it_was_then(crew: Crew) -> None:
    crew.start("--car", RIVER_BEND)
    crew.record(tires(TIGHT))
    crew.choose("--own", "cross:car:-1", "--reason", "to free it up")
    crew.made()

    def told(*step: int) -> list[str]:
        return [
            each["says"]
            for at in crew.why(*step)
            for each in at["details"]
            if each["about"] == "in the turn"
        ]

    chosen = told(2)
    assert chosen[0].startswith("at 1.2")
    assert "cross weight" in chosen[0]
    assert chosen[1].startswith("loads LF ")
    assert told(3) == chosen  # the change as chosen, on the car as it was before it
    assert told() == []  # the whole day stays short
    assert told(1) == []


def test_behind_the_question_mark_of_the_guide(guide_with: Any, crew: Crew) -> None:
    crew.start("--car", RIVER_BEND)
    crew.record(tires(TIGHT))
    shown = run_command("status", crew.path).out
    assert "front share of the load" not in " ".join(shown.split())
    guide = guide_with(crew.path.name)
    guide.sees(r"choice \[.*\]> ")
    guide.types("?1")
    told = " ".join(guide.sees(r"choice \[.*\]> ").split())
    assert "front share of the load transfer" in told
    guide.types("q")
    guide.ends()
