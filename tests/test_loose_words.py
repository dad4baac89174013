"""What a tired crew types in the guide, and what it is told where that cannot be taken."""

import shutil
from pathlib import Path

import pytest
from test_guide import (
    ANYTHING,
    CAMBERED,
    CHOICE,
    FIRST_TIRE,
    IN_BAND,
    MADE,
    STORE,
    asks,
    day_of,
    flat,
    kinds,
    plan_at_change,
    plan_at_choice,
    plan_new,
)

from planner.car import changes
from planner.guide import tires
from planner.run import driver
from planner.storage import starting
from planner.storage.starting import NewPlan
from planner.trade.corners import CORNERS

WHY = "why> "
SAMPLES = Path(__file__).parents[1] / "sample_plans"


def test_a_half_typed_run_taken_up_again_outlives_a_change_told_then(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*IN_BAND[:2])
    guide.sees(asks("LR"))
    guide.leaves("q")
    guide = guide_with("day.toml")
    guide.sees("Go on with it")
    guide.types("", "changed 1 psi out of the LR", "it leaks")
    guide.sees("Stored as step 2")
    guide.sees(asks("LR"))  # not the first tire anew
    guide.types(*IN_BAND[2:], "", "")
    guide.sees("Stored as step 3")
    last = day_of(path).last
    assert last is not None
    assert last.run.tires["RF"] == (215.0, 215.0, 215.0)


@pytest.mark.parametrize(
    ("said", "corner"),
    [
        ("right front 210 211 212", "RF"),
        ("Front Left 210 211 212", "LF"),
        ("left-rear: 210 211 212", "LR"),
        ("rear right 210 211 212", "RR"),
    ],
)
def test_a_corner_may_be_said_in_words(said: str, corner: str) -> None:
    assert tires.read(said, CORNERS, CORNERS, "imo", "us") == {corner: (210.0, 211.0, 212.0)}


def test_what_is_no_number_is_named(guide_with, tmp_path) -> None:
    plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(FIRST_TIRE)
    guide.types("right front 210 212 2O6")
    assert "'2O6' is not a number" in guide.sees(FIRST_TIRE)


def test_a_change_typed_at_a_tire_is_told_as_one(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(FIRST_TIRE)
    guide.types("let 1 lb out of the LR")
    shown = flat(guide.sees(FIRST_TIRE))
    assert "This is a change, not a reading." in shown
    assert "changed let 1 lb out of the LR" in shown
    guide.types("changed let 1 lb out of the LR", "it leaks")
    guide.sees("Stored as step 2")
    (made,) = day_of(path).past[-1].made
    assert (made.setting, made.amount) == (("pressure", "LR"), -1.0)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("lr 26 lf 27", "hot lr 26 lf 27, or cold lr 26 lf 27"),
        ("press 34 31 26 27", "hot 34 31 26 27, or cold 34 31 26 27"),
        ("rain came at lap seven", "note rain came at lap seven"),
        ("loose somewhere", "not one of entry, middle, exit"),
    ],
)
def test_what_is_no_word_here_is_answered_with_the_word_that_is(
    guide_with, tmp_path, typed: str, told: str
) -> None:
    plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*IN_BAND, typed)
    guide.sees(ANYTHING)
    assert told in flat(guide.sees(ANYTHING))


def test_a_tire_found_meanwhile_is_taken_where_anything_else_is(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*IN_BAND[:2], "-", "", IN_BAND[3])
    guide.sees(ANYTHING)
    guide.types("left rear 196 195 194", "laps 9", "", "")
    guide.sees("Stored as step 1")
    last = day_of(path).last
    assert last is not None
    assert last.run.tires["LR"] == (196.0, 195.0, 194.0)


def test_examples_are_in_the_unit_of_the_plan(guide_with, tmp_path) -> None:
    starting.start(tmp_path / "day.toml", NewPlan(units="metric"))
    guide = guide_with("day.toml")
    guide.sees(FIRST_TIRE)
    guide.types("?", "1 2")
    shown = guide.sees(FIRST_TIRE) + guide.sees(FIRST_TIRE)
    assert "LF 96 100 98" in shown
    assert "205" not in shown


def test_a_car_file_given_later_tells_what_is_known_with_it(guide_with, tmp_path) -> None:
    plan_at_choice(tmp_path)
    shutil.copy(SAMPLES / "river-bend-car.toml", tmp_path / "noon.toml")
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("car noon.toml")
    shown = flat(guide.sees("Stored as step 2"))
    assert "Known of the car: 2800 lb: front 51.5 %" in shown
    assert "Computed for this car: the turns of the weight jacks" in shown


@pytest.mark.parametrize(
    ("said", "felt"),
    [
        ("loose off now", {"exit": "loose"}),
        ("he says its loose going in and pushes off", {"entry": "loose", "exit": "tight"}),
        ("still really tight in the middle", {"middle": "tight"}),
    ],
)
def test_a_driver_uses_more_words_than_two(said: str, felt: dict) -> None:
    assert driver.felt(said, "--feel") == felt


@pytest.mark.parametrize("said", ["not loose", "loose in turn three", "he says nothing"])
def test_what_turns_the_drivers_word_round_is_not_passed_over(said: str) -> None:
    assert not driver.is_felt(said)


@pytest.mark.parametrize(
    ("typed", "amount"), [("RF camber +0.5", 0.5), ("take RF camber 1 deg up", 1.0)]
)
def test_a_change_of_our_own_needs_no_letter_at_the_choice(
    guide_with, tmp_path: Path, typed: str, amount: float
) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types(typed, "a try", "")
    guide.sees(MADE)
    (change,) = day_of(path).pending.changes  # type: ignore[union-attr]
    assert (change.setting, change.amount) == (("camber", "RF"), amount)


@pytest.mark.parametrize("typed", ["take 1", "#1", "1 1 deg", "1 +0.75"])
def test_an_offer_may_be_taken_by_more_than_its_number(guide_with, tmp_path, typed: str) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types(typed)
    guide.sees(r"Take this\? \[Y/n\]> ")
    guide.types("")
    guide.sees(MADE)
    assert kinds(path) == ["run", "choice"]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("wedge", "'wedge', by how much?"),
        ("push off", "amend feel push off"),
        ("25 lb RF", "of what, air or spring?"),
        ("o half a round out of the lr", "needs [scales] and settings.spring"),
    ],
)
def test_what_cannot_be_chosen_is_said_before_anybody_is_asked_why(
    guide_with, tmp_path, typed: str, told: str
) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types(typed)
    shown = flat(guide.sees(CHOICE))
    assert told in shown
    assert WHY not in shown
    assert kinds(path) == ["run"]


def test_the_drivers_word_is_put_to_the_run_as_the_guide_says(guide_with, tmp_path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("amend feel push off", "he said it later", "")
    guide.sees("Stored as step 2")
    last = day_of(path).last
    assert last is not None
    assert last.run.felt == {"exit": "tight"}


@pytest.mark.parametrize("prompt", ["made", "store"])
def test_a_line_that_is_no_answer_changes_nothing(guide_with, tmp_path, prompt: str) -> None:
    path = plan_at_change(tmp_path) if prompt == "made" else plan_new(tmp_path)
    guide = guide_with("day.toml")
    if prompt == "made":
        guide.sees(MADE)
    else:
        guide.types(*CAMBERED, "")
        guide.sees(STORE)
    before = path.read_bytes()
    guide.types("what now")
    guide.sees(MADE if prompt == "made" else STORE)
    assert path.read_bytes() == before


def test_the_car_pushes_is_the_drivers_word_and_no_file(guide_with, tmp_path) -> None:
    plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "car pushes in the middle")
    assert "so far: feel tight middle" in flat(guide.sees("so far: .*" + ANYTHING))
    guide.types("car river.toml")
    assert "There is no car file here" in flat(guide.sees(ANYTHING))


def test_another_amount_may_come_behind_the_number_of_the_way(guide_with, tmp_path) -> None:
    plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types("246 229 214", "209 217 204", "203 201 199", "192 194 199", "", "")
    guide.sees(CHOICE)
    guide.types("a")
    guide.sees("which one> ")
    guide.types("2 1.25")
    assert "- RF camber +1.25 deg (more positive)" in flat(guide.sees("Take this.*> "))


@pytest.mark.parametrize(
    "typed", ["RF camber 1.25, no RR camber", "RF camber 1.25; RR camber not done"]
)
def test_a_part_that_was_left_out_is_said_in_words(typed: str) -> None:
    read = changes.parse_all(typed, "")
    assert read == [("camber", "RF", 1.25), ("camber", "RR", 0.0)]
