"""A driver and tires that point to opposite ends, and stagger held against the turn.

A wheel that spins runs hot without carrying more, and a loose car is not helped by less cross
weight: common practice, no source. Stagger follows the turn and is not for correcting handling:
*Circle Track*, "Racing Tire Technology", May 2004. All readings are invented.
"""

import math
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from garage import Crew, day_of, laid_out, run, run_command, table_of, tires
from test_rulebook import mistakes, pattern, tables

from planner.advice import driver
from planner.advice.reasons import AgainstFeel, OtherCause
from planner.car import car_file
from planner.car.car_file import Car, Dimensions, Tires, Track
from planner.car.changes import moves_of
from planner.car.rear_stagger import TurnWants
from planner.words import offers

RIVER_BEND = Path(__file__).parent.parent / "sample_plans" / "river-bend-car.toml"
# The inside rear tire heated by wheelspin: the diagonal reads far too hot, the balance in band.
LR_SPINS = {"LF": 195.0, "RF": 215.0, "LR": 212.0, "RR": 208.0}
# Too cold a diagonal with the balance in band.
NOT_ENOUGH = {"LF": 220.0, "RF": 215.0, "LR": 186.0, "RR": 211.0}
TIGHT = {"LF": 205.0, "RF": 230.0, "LR": 198.0, "RR": 211.0}
LOOSE = {"LF": 205.0, "RF": 203.0, "LR": 190.0, "RR": 216.0}
MIRROR = {"LF": "RF", "RF": "LF", "LR": "RR", "RR": "LR"}


def mirrored(averages: dict[str, float]) -> dict[str, float]:
    return {MIRROR[corner]: value for corner, value in averages.items()}


def settings_of(candidates: Any) -> list[tuple[str, str]]:
    return [(each["changes"][0]["knob"], each["changes"][0]["corner"]) for each in candidates]


@pytest.mark.parametrize("turns", ["left", "right"])
def test_less_cross_never_stands_alone_before_a_driver_who_says_loose(
    crew: Crew, turns: str
) -> None:
    crew.start("--turns", turns)
    readings = tires(LR_SPINS if turns == "left" else mirrored(LR_SPINS))
    status = crew.record(readings, "--feel", "loose", "--where", "exit")
    assert status["stage"] == "cross"
    *others, cross = status["candidates"]
    assert settings_of([cross]) == [("cross", "car")]
    assert cross["why"].startswith(
        "the driver said loose at exit, and this frees the car up further. First ask how early"
    )
    for cause in ("throttle", "measure the stagger", "run again on the same setup"):
        assert cause in cross["why"]
    outside, inside = ("RR", "LR") if turns == "left" else ("LR", "RR")
    assert settings_of(others) == [("spring", outside), ("spring", inside), ("stagger", "rear")]
    for other in others:  # each tightens the car: the loaded front tire gains on the rear one
        assert other["why"].startswith("the driver said loose at exit: this tightens the car")
        assert other["predicted"]["balance"]["mean"] > status["figures"]["balance"]
        # A tire that spins is in no load model: nothing is made up of what its heat will do.
        assert other["chance"] is None
        assert list(other["predicted"]) == ["balance"]
    assert others[2]["changes"][0]["amount"] < 0  # the outside tire smaller: less stagger


@pytest.mark.parametrize("feel", [None, "neutral", "tight"])
def test_a_driver_who_does_not_contradict_changes_nothing(feel: str | None) -> None:
    told = {} if feel is None else {"feel": feel}
    (cross,) = laid_out(tires(LR_SPINS), "cross", **told)
    assert cross.changes[0].knob == "cross"
    assert not any(isinstance(reason, AgainstFeel | OtherCause) for reason in cross.reasons)


def test_more_cross_never_stands_alone_before_a_driver_who_says_tight() -> None:
    *others, cross = laid_out(tires(NOT_ENOUGH), "cross", feel="tight", where="entry")
    assert cross.changes[0].amount > 0
    assert cross.reasons[0] == AgainstFeel("tight", "entry")
    assert [each.changes[0].setting for each in others] == [
        ("spring", "RR"),
        ("spring", "LR"),
        ("stagger", "rear"),
    ]
    assert all(each.reasons[0] == OtherCause("tight", "entry") for each in others)


@pytest.mark.parametrize(
    ("name", "turns", "averages", "feel", "does"),
    [
        ("paved-oval", "left", TIGHT, "loose", "frees the car up"),
        ("paved-oval", "left", LOOSE, "tight", "tightens the car"),
        ("paved-oval", "right", mirrored(TIGHT), "loose", "frees the car up"),
        (
            "road-course",
            "both",
            {"LF": 220.0, "RF": 220.0, "LR": 195.0, "RR": 195.0},
            "loose",
            "frees the car up",
        ),
        (
            "road-course",
            "both",
            {"LF": 190.0, "RF": 190.0, "LR": 215.0, "RR": 215.0},
            "tight",
            "tightens the car",
        ),
    ],
)
def test_every_balance_offer_against_the_driver_says_so_first(
    name: str, turns: str, averages: dict[str, float], feel: str, does: str
) -> None:
    day = day_of(tires(averages), name=name, turns=turns, feel=feel, where="middle")
    assert day.table().candidates
    for each in day.table().candidates:
        first, *_ = offers.reasons(each, day.good[-1].patterns, day.book, "us")
        assert first.startswith(f"the driver said {feel} in the middle, and this {does} further. ")
        assert first.endswith("or run again on the same setup")


def test_rules_of_the_crew_without_other_causes_still_ask_for_another_run(
    crew: Crew, tmp_path: Path
) -> None:
    data = tables()
    del pattern(data, "cross.too-much")["other_causes"]
    ours = tmp_path / "ours.toml"
    ours.write_text(tomli_w.dumps(data), "utf-8")
    crew.start("--rules", ours)
    status = crew.record(tires(LR_SPINS), "--feel", "loose")
    (cross,) = status["candidates"]
    assert cross["why"].startswith(
        "the driver said loose, and this frees the car up further. First run again on the same "
        "setup; "
    )


def test_another_cause_is_taken_made_judged_and_told(begun: Crew) -> None:
    begun.record(tires(LR_SPINS), "--feel", "loose", "--where", "exit")
    begun.choose(1, "--amount", "-50")
    begun.made()
    # The tire no longer spins.
    status = begun.record(tires(LR_SPINS | {"LR": 200.0}), "--feel", "neutral")
    assert status["last_outcome"]["verdict"] == "better"
    chosen = next(step for step in begun.why() if step["kind"] == "choice")
    (because,) = (each["says"] for each in chosen["details"] if each["about"] == "because")
    assert because.startswith("the driver said loose at exit: this tightens the car")


# --- the rules file --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (lambda o: o.update(feel="neutral"), "other_causes.feel"),
        (lambda o: o.update(feel="odd"), "other_causes.feel"),
        (lambda o: o.pop("says"), "other_causes.says"),
        (lambda o: o.update(says="x" * 3000), "other_causes.says"),
        (lambda o: o["offers"][0].update(use="hammer"), "other_causes.offers[1].use"),
        (lambda o: o["offers"][2].update(direction="up"), "other_causes.offers[3].direction"),
        (lambda o: o.update(offers=o["offers"] * 9), "other_causes.offers"),
    ],
)
def test_a_mistake_in_other_causes_is_named_by_its_key(change: Any, key: str) -> None:
    data = tables()
    change(pattern(data, "cross.too-much")["other_causes"])
    found = mistakes(data)
    assert any(line.startswith(f"pattern[7].{key}: ") for line in found), found


def test_information_has_no_other_causes() -> None:
    data = tables()
    pattern(data, "cross.disagree")["other_causes"] = {"feel": "loose", "says": "look"}
    assert any(line.startswith("pattern[9].other_causes: ") for line in mistakes(data))


# --- stagger ---------------------------------------------------------------------------------


def with_stagger(stagger: float, *, turns: str = "left", radius: float = 180.0) -> Car:
    inside, outside = ("LR", "RR") if turns == "left" else ("RR", "LR")
    return Car(
        settings={"stagger": {"rear": stagger}},
        dimensions=Dimensions(track_rear=61.0),
        tires=Tires(circumference={inside: 83.5, outside: 85.0}),
        track=Track(radius=radius, banking=10.0),
    )


def told_of_stagger(readings: dict[str, float], car: Car, turns: str = "left") -> TurnWants:
    last = laid_out(tires(readings), "balance", car=car, turns=turns)[-1]
    assert last.changes[0].knob == "stagger"  # last among the balance offers
    (found,) = (reason for reason in last.reasons if isinstance(reason, TurnWants))
    return found


def test_stagger_is_held_against_what_the_turn_wants() -> None:
    # By similar triangles (Western Racing, "Natural turning radius"), the axle laid on a banking
    # of 10 degrees: 61 * 84.25 * cos(10 deg) / (180 * 12) = 2.343 in.
    wants = 61.0 * 84.25 * math.cos(math.radians(10.0)) / (180.0 * 12.0)
    there = told_of_stagger(TIGHT, with_stagger(1.5))
    assert there.stagger == pytest.approx(wants)
    assert (there.before, there.after) == (1.5, 2.0)
    assert not there.away
    away = told_of_stagger(TIGHT, with_stagger(2.25))
    assert away.away
    assert told_of_stagger(LOOSE, with_stagger(1.5)).away
    assert not told_of_stagger(LOOSE, with_stagger(3.5)).away


def test_the_same_holds_on_a_track_that_turns_right() -> None:
    left, right = (
        told_of_stagger(averages, with_stagger(2.25, turns=turns), turns)
        for averages, turns in ((TIGHT, "left"), (mirrored(TIGHT), "right"))
    )
    assert left == right


def test_the_calculator_says_the_same(crew: Crew) -> None:
    crew.start("--car", RIVER_BEND)
    status = crew.record(tires(TIGHT))
    stagger = status["candidates"][-1]
    assert settings_of([stagger]) == [("stagger", "rear")]
    sheet = run_command("work", "stagger", "--car", RIVER_BEND, "--json").data
    wants = sheet["results"]["wanted"]
    said = f"the turn wants {wants:.2f} in of stagger, 1.50 is on the car"
    assert said in stagger["why"]


def test_without_the_numbers_the_offer_says_what_is_lacking() -> None:
    none = told_of_stagger(TIGHT, Car())
    assert none.stagger is None
    assert none.missing == (
        "track.radius",
        "dimensions.track_rear",
        "tires.circumference.RR",
        "settings.stagger",
    )
    # A turn inside the car's own track is a slip in the car file, and nothing is said of it here.
    assert told_of_stagger(TIGHT, with_stagger(1.5, radius=2.0)) == TurnWants()


def test_stagger_stands_last_however_well_the_car_is_known() -> None:
    day = day_of(tires(TIGHT), car=car_file.load(RIVER_BEND))
    found = day.table().candidates
    assert {basis.kind for each in found for basis in each.basis} == {"computed"}
    assert found[-1].changes[0].knob == "stagger"
    # By what it mends, its work counted, it would not.
    outlook = day.situation("balance").outlook
    gains = [outlook.gain(moves_of(each.changes), [each.minutes or 0.0]) for each in found]
    assert gains[-1] > min(gains)


def test_a_cause_that_leads_away_from_the_turn_is_not_offered() -> None:
    # The turn wants 2.34 in; 1.5 is on the car, so there is not too much of it.
    table = table_of(tires(LR_SPINS), "cross", feel="loose", where="exit", car=with_stagger(1.5))
    assert "stagger" not in {each.changes[0].knob for each in table.candidates}
    (held,) = (each for each in table.held_back if each.setting == ("stagger", "rear"))
    assert offers.held_back(held) == "rear stagger is not offered: the turn wants 2.34 in"
    much = table_of(tires(LR_SPINS), "cross", feel="loose", where="exit", car=with_stagger(3.0))
    assert "stagger" in {each.changes[0].knob for each in much.candidates}


def test_a_driver_who_felt_both_speaks_against_no_change() -> None:
    """Loose in and tight off: whatever frees the car helps one end of the corner."""
    both = laid_out(tires(NOT_ENOUGH), "cross", felt={"entry": "loose", "exit": "tight"})
    neither = laid_out(tires(NOT_ENOUGH), "cross")
    assert [each.changes for each in both] == [each.changes for each in neither]
    assert not any(driver.is_against(each) for each in both)
    one = run(tires(), felt={"entry": "neutral", "exit": "loose"})
    assert (one.felt_alone, one.where_felt("loose")) == ("loose", "exit")
