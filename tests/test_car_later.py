"""A car file given in the course of the day: the scales came at noon."""

from pathlib import Path

import pytest
from garage import RF_INNER_HOT, TOO_MUCH_CROSS, Crew, run_command, stand, tires
from test_guide import CHOICE, day_of, kinds, plan_at_choice

CAR = Path(__file__).parents[1] / "sample_plans" / "river-bend-car.toml"


def test_what_it_tells_counts_from_there_on_and_what_was_decided_stays(crew: Crew) -> None:
    crew.start()
    crew.record(tires(TOO_MUCH_CROSS))
    before = crew.status()
    assert "computed for typical cars; a car file" in before["candidates"][0]["rests_on"]
    after = crew.tries("car", CAR).data
    assert stand(after) == stand(before)
    assert after["step"] == 2
    assert "computed from your scales" in after["candidates"][0]["rests_on"]
    assert after["candidates"][0]["changes"][0]["from"] is not None
    assert after["patterns"] == before["patterns"]
    assert near(crew.status(), after)  # read afresh from the file


def near(one, other) -> bool:
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(near(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(near, one, other))
    return one == (pytest.approx(other, abs=2e-3) if isinstance(one, float) else other)


def test_given_later_it_is_believed_as_one_given_in_the_morning(crew: Crew, tmp_path: Path) -> None:
    """With nothing changed meanwhile both know the same of the car."""
    morning = Crew(tmp_path / "morning.toml")
    morning.start("--car", CAR)
    crew.start()
    for each in (morning, crew):
        each.record(tires(TOO_MUCH_CROSS))
    crew.tries("car", CAR)
    early, late = day_of(morning.path), day_of(crew.path)
    assert early.settings == late.settings
    assert early.known.priors.effects == late.known.priors.effects
    offered = [each.status()["candidates"] for each in (morning, crew)]
    assert near(*offered)


def test_settings_are_those_of_that_moment(crew: Crew, tmp_path: Path) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--reason", "a try")
    crew.made()
    file = tmp_path / "car.toml"
    file.write_text("[settings]\ncamber = {RF = -2.0}\n", "utf-8")
    crew.tries("car", file)
    day = day_of(crew.path)
    assert day.settings["camber", "RF"] == -2.0
    assert day.begun["camber", "RF"] == -3.0
    crew.record(tires(split={"RF": 16.0}))
    offer = crew.status()["candidates"][0]["changes"][0]
    assert offer["from"] == -2.0


def test_it_is_told_and_a_report_and_an_export_follow(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.tries("car", CAR)
    (told,) = crew.why(2)
    assert told["headline"] == "a car file was given"
    assert any("RF camber" in each["says"] for each in told["details"])
    assert run_command("report", crew.path).status == 0
    assert run_command("export", crew.path, "--as", "car").status == 0
    assert run_command("why", crew.path, "--table").status == 0
    error = crew.tries("amend", "2", "--note", "x", "--reason", "y").error
    assert error["code"] == "not-amendable"


def test_a_run_before_it_can_be_amended(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.tries("car", CAR)
    settings = day_of(crew.path).settings
    after = crew.tries("amend", "1", "--tire", "RF=215/215/215", "--reason", "misread").data
    assert stand(after) == ("confirm", "run")
    assert day_of(crew.path).settings == settings


def test_what_it_gave_stays_where_the_change_before_it_is_corrected(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--reason", "by hand")
    crew.made()
    crew.tries("car", CAR)
    given = day_of(crew.path).settings["camber", "RF"]
    crew.record(tires(), "--really", "camber:RF:0.5")
    assert day_of(crew.path).settings["camber", "RF"] == given


def test_one_of_a_track_the_other_way_round_is_refused(crew: Crew, tmp_path: Path) -> None:
    crew.start("--turns", "left")
    file = tmp_path / "car.toml"
    file.write_text('[car]\nturns = "right"\n', "utf-8")
    before = crew.path.read_bytes()
    assert crew.tries("car", file).error["where"] == "car.turns"
    assert crew.tries("car", tmp_path / "none.toml").status == 2
    assert crew.path.read_bytes() == before


def test_the_guide_takes_it_at_the_choice(guide_with, tmp_path: Path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("car nowhere.toml", f"car {CAR}")
    guide.sees("Stored as step 2")
    guide.sees(CHOICE)
    guide.leaves("killed")
    assert kinds(path) == ["run", "car"]


# A street stock has a solid rear axle and no car file: its rear camber cannot be turned.
WITH_TRIMS = {"RF": (232, 225, 215), "RR": (210, 212, 206), "LR": (190, 195, 198), "LF": (195,) * 3}


def turned(status) -> set[tuple[str, str]]:
    return {(c["knob"], c["corner"]) for each in status["candidates"] for c in each["changes"]}


def test_what_nothing_turns_is_offered_no_more(crew: Crew) -> None:
    crew.start()
    before = crew.record(WITH_TRIMS)
    assert ("camber", "LR") in turned(before)
    after = crew.tries("car", "--fixed", "left rear camber and RR camber").data
    assert stand(after) == stand(before)
    assert ("camber", "RF") in turned(after)
    assert not {("camber", "LR"), ("camber", "RR")} & turned(after)
    assert near(crew.status(), after)
    error = crew.tries("choose", "--own", "camber:LR:1", "--reason", "x").error
    assert error["code"] == "beyond-limit"
    assert crew.why(2)[0]["headline"] == "a car file was given"


def test_settings_stay_where_they_are_when_something_is_told_as_fixed(crew: Crew) -> None:
    crew.start("--car", CAR)
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--own", "cross:car:0.5", "--reason", "a try")
    crew.made()
    before = day_of(crew.path).settings
    assert crew.tries("car", "--fixed", "LR camber").status == 0
    after = day_of(crew.path).settings
    assert after == pytest.approx(before, abs=0.01)


@pytest.mark.parametrize(
    "arguments", [(), (str(CAR), "--fixed", "LR camber"), ("--fixed", "wing"), ("--fixed", "cross")]
)
def test_what_cannot_be_told_as_fixed_changes_nothing(crew: Crew, arguments: tuple) -> None:
    crew.start()
    before = crew.path.read_bytes()
    assert crew.tries("car", *arguments).status == 2
    assert crew.path.read_bytes() == before


def test_the_guide_takes_what_is_fixed_at_the_choice(guide_with, tmp_path: Path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("fixed", "fixed LR camber, RR camber")
    guide.sees("Stored as step 2")
    guide.sees(CHOICE)
    guide.leaves("q")
    assert kinds(path) == ["run", "car"]
