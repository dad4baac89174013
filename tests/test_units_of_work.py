"""The crew's own change as it counts it: turns of the jack, holes of the panhard bar."""

import re
from pathlib import Path

import pytest
from garage import TIGHT, TOO_MUCH_CROSS, Crew, run_command, tires
from test_guide import CHOICE, MADE, day_of

from planner.car import changes

CAR = Path(__file__).parents[1] / "sample_plans" / "river-bend-car.toml"


def chosen(crew: Crew, *own: str) -> float:
    crew.choose(*own, "--reason", "by hand")
    (change,) = crew.status()["pending"]["changes"]
    assert (change["knob"], change["corner"]) == ("cross", "car")
    return change["amount"]


def test_turns_come_to_the_cross_that_the_calculator_works_out(crew: Crew) -> None:
    crew.start("--car", CAR)
    crew.record(tires(TOO_MUCH_CROSS))
    amount = chosen(crew, "--own", "LR jack -3 turns")
    worked = run_command("work", "jack", "--car", CAR, "--turn", "LR=-3", "--json")
    assert worked.status == 0, worked.out
    numbers = [float(v) for v in _numbers(worked.data) if isinstance(v, float)]
    cross = crew.status()["pending"]["changes"][0]
    assert amount < 0
    assert any(cross["to"] == pytest.approx(each, abs=0.011) for each in numbers)
    # And back: what the plan says of turns for that cross are the turns that were typed.
    assert any("3 turns out of the LR jack" in said for said in crew.status()["pending"]["how"])


def _numbers(data):
    if isinstance(data, dict):
        for value in data.values():
            yield from _numbers(value)
    elif isinstance(data, list):
        for value in data:
            yield from _numbers(value)
    else:
        yield data


def test_opposite_corners_of_a_diagonal_add_up_and_neighbours_take_away(
    crew: Crew, tmp_path: Path
) -> None:
    found = {}
    for own in ("LR jack 1 turn", "RF 1 round", "RR jack 1 turn", "LF -1 round"):
        each = Crew(tmp_path / f"{len(found)}.toml")
        each.start("--car", CAR)
        each.record(tires(TOO_MUCH_CROSS))
        found[own] = chosen(each, "--own", own)
    assert found["LR jack 1 turn"] > 0
    assert found["RF 1 round"] > 0
    assert found["RR jack 1 turn"] < 0
    assert found["LF -1 round"] > 0
    crew.start("--car", CAR)
    crew.record(tires(TOO_MUCH_CROSS))
    both = chosen(crew, "--own", "LR jack 1 turn", "--own", "RF 1 round")
    assert both == pytest.approx(found["LR jack 1 turn"] + found["RF 1 round"], abs=0.011)


def test_without_scales_it_is_asked_for_by_the_scales(crew: Crew) -> None:
    crew.start()
    crew.record(tires(TOO_MUCH_CROSS))
    before = crew.path.read_bytes()
    error = crew.tries("choose", "--own", "LR jack 3 turns", "--reason", "x").error
    assert error["code"] == "not-computed"
    by_scales, in_words = error["try"].split("; or ")
    assert by_scales == "--own cross:car:+0.5, by the scales"
    # What it says to type instead is taken.
    own = in_words.partition('"')[2].partition('"')[0]
    assert crew.tries("choose", "--own", own, "--reason", "x").status == 0
    crew.choose("--take-back")
    before = crew.path.read_bytes()
    assert crew.path.read_bytes() == before


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("LR jack 3 turns", [("jack", "LR", 3.0)]),
        ("jack:LR:-1/2", [("jack", "LR", -0.5)]),
        ("RF 1 round", [("jack", "RF", 1.0)]),
        ("RF camber 0.5, LR jack +2 turns", [("camber", "RF", 0.5), ("jack", "LR", 2.0)]),
        ("1 round out of the LR", [("jack", "LR", -1.0)]),
        ("LR jack 3 turns in", [("jack", "LR", 3.0)]),
        ("panhard rear 1 hole up", [("panhard bar", "rear", 1.0)]),
        ("panhard bar down 2 holes", [("panhard bar", "rear", -2.0)]),
        ("track bar -1 hole", [("panhard bar", "rear", -1.0)]),
        ("panhard up 0.5in", [("panhard", "rear", 0.5)]),
        ("take 2 psi out of the RR", [("pressure", "RR", -2.0)]),
        ("RF 1 lb less air and toe out 1/8", [("pressure", "RF", -1.0), ("toe", "front", -0.125)]),
        ("RF camber 0.5 more negative", [("camber", "RF", -0.5)]),
        ("RF camber 0.5 less negative", [("camber", "RF", 0.5)]),
        ("RF camber -0.5 more negative", [("camber", "RF", -0.5)]),
    ],
)
def test_it_is_read_as_a_crew_says_it(typed: str, read: list) -> None:
    assert changes.parse_all(typed, "--own") == read


def test_the_guide_takes_turns_at_the_choice_and_at_made(guide_with, crew: Crew) -> None:
    crew.start("--car", CAR)
    crew.record(tires(TOO_MUCH_CROSS))
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("o LR jack -3 turns", "by hand", "")
    assert re.search(r"cross weight \(wedge\) 5\d\.\d+ → \d\d\.\d+ % \(-", guide.sees(MADE))
    guide.types("LR jack -2 turns", "")
    guide.sees(r"RF \(.*\)> ")
    guide.leaves("q")
    (made,) = day_of(crew.path).past[-1].made
    (wanted,) = day_of(crew.path).past[-1].candidate.changes
    assert made.setting == wanted.setting == ("cross", "car")
    assert made.amount == pytest.approx(wanted.amount * 2 / 3, abs=0.02)


def with_holes(folder: Path, spacing: str = "0.5") -> Path:
    """Return the car file with the holes of its panhard bar so far apart."""
    path = folder / "holes.toml"
    path.write_text(f"{CAR.read_text('utf-8')}\n[panhard]\nspacing = {spacing}\n", "utf-8")
    return path


def test_a_hole_at_one_end_raises_the_bar_by_half_the_spacing_and_is_told_in_holes(
    crew: Crew, tmp_path: Path
) -> None:
    """Plane geometry: the middle of a straight bar goes half as far as the one end moved."""
    crew.start("--car", with_holes(tmp_path))
    crew.record(tires(TIGHT))
    crew.choose("--own", "panhard rear 1 hole up", "--own", "RF pressure -1", "--reason", "tight")
    pending = crew.status()["pending"]
    amounts = {(each["knob"], each["corner"]): each["amount"] for each in pending["changes"]}
    assert amounts == {("panhard", "rear"): 0.25, ("pressure", "RF"): -1.0}
    assert "1 hole up at one end of the bar; holes 0.5 in apart" in pending["how"]
    crew.choose("--take-back")
    crew.choose("--own", "panhard bar 2 holes down", "--reason", "too far")
    assert (
        "2 holes down at one end of the bar, or 1 at each end; holes 0.5 in apart"
        in crew.status()["pending"]["how"]
    )
    crew.made("--actual", "panhard 1 hole down")
    (made,) = day_of(crew.path).past[-1].made
    assert (made.setting, made.amount) == (("panhard", "rear"), -0.25)


def test_an_offer_of_the_panhard_bar_goes_by_whole_holes(crew: Crew, tmp_path: Path) -> None:
    crew.start("--car", with_holes(tmp_path, "0.75"))
    crew.record(tires(TIGHT))
    room = day_of(crew.path).limits.room("panhard", "rear")
    assert room.step == 0.375
    offered = [
        change["amount"]
        for each in crew.status()["candidates"]
        for change in each["changes"]
        if change["knob"] == "panhard"
    ]
    assert all(amount / 0.375 == pytest.approx(round(amount / 0.375)) for amount in offered)


def test_holes_need_their_spacing_and_come_whole(crew: Crew) -> None:
    crew.start("--car", CAR)
    crew.record(tires(TIGHT))
    before = crew.path.read_bytes()
    error = crew.tries("choose", "--own", "panhard 1 hole up", "--reason", "x").error
    assert error["code"] == "not-computed"
    assert "panhard.spacing" in error["message"]
    error = crew.tries("choose", "--own", "panhard 3/2 hole up", "--reason", "x").error
    assert (error["code"], error["try"]) == ("bad-value", "--own panhard rear 1 hole up")
    error = crew.tries("choose", "--own", "panhard 1/2 hole up", "--reason", "x").error
    assert error["try"] == "at least 1 hole, either way; 0 is no change"
    error = crew.tries("choose", "--own", "RF camber 1/2 deg out", "--reason", "x").error
    assert error["message"] == "Of the top of the tire or of the bottom? Say camber by its sign."
    error = crew.tries("choose", "--own", "RF pressure +1 psi less", "--reason", "x").error
    assert "goes one way, the word beside it the other" in error["message"]
    assert crew.path.read_bytes() == before


def test_what_was_made_can_be_told_in_holes_and_by_its_way(
    guide_with, crew: Crew, tmp_path: Path
) -> None:
    crew.start("--car", with_holes(tmp_path))
    crew.record(tires(TIGHT))
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("o panhard bar 2 holes up", "tight off", "")
    assert "2 holes up at one end" in guide.sees(MADE)
    guide.types("1 hole", "")
    guide.sees(r"RF \(.*\)> ")
    guide.leaves("q")
    (made,) = day_of(crew.path).past[-1].made
    assert (made.setting, made.amount) == (("panhard", "rear"), 0.25)
