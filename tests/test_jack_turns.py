"""The crew's own change in turns of the jack: the cross weight that comes of them."""

from pathlib import Path

import pytest
from garage import TOO_MUCH_CROSS, Crew, run_command, tires
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
    assert (error["code"], error["try"]) == ("not-computed", "--own cross:car:+0.5, by the scales")
    assert crew.path.read_bytes() == before


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("LR jack 3 turns", [("jack", "LR", 3.0)]),
        ("jack:LR:-1/2", [("jack", "LR", -0.5)]),
        ("RF 1 round", [("jack", "RF", 1.0)]),
        ("RF camber 0.5, LR jack +2 turns", [("camber", "RF", 0.5), ("jack", "LR", 2.0)]),
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
    assert "cross weight (wedge) -" in guide.sees(MADE)
    guide.types("LR jack -2 turns", "")
    guide.sees(r"RF \(.*\)> ")
    guide.leaves("q")
    (made,) = day_of(crew.path).past[-1].made
    (wanted,) = day_of(crew.path).past[-1].candidate.changes
    assert made.setting == wanted.setting == ("cross", "car")
    assert made.amount == pytest.approx(wanted.amount * 2 / 3, abs=0.02)
