"""Why each change was made: the life of a setting, two runs, the day at a glance, the sources."""

import re
from pathlib import Path
from typing import Any

import pytest
from garage import RF_INNER_HOT, RR_OVER, TIGHT, Crew, run_command, tires

from planner.run.lap_times import compare
from planner.trade.figures import Noise, standard_error

SAMPLES = Path(__file__).parent.parent / "sample_plans"
FINISHED = SAMPLES / "finished.toml"
CAR = """
[settings]
camber = {RF = -3.0}
pressure = {LF = 18.0, RF = 28.0, LR = 18.0, RR = 26.0}
"""


@pytest.fixture
def crew_with_car(crew: Crew) -> Crew:
    car = crew.path.with_name("car.toml")
    car.write_text(CAR, "utf-8")
    crew.start("--car", car)
    return crew


def why(crew: Crew, *options: object) -> Any:
    answer = crew.tries("why", *options)
    assert answer.status == 0, answer.out
    return answer.data


@pytest.fixture
def with_trim(begun: Crew) -> Crew:
    """A crew that made a balance change with half a degree of RF camber riding along."""
    begun.record(tires(TIGHT, {"RF": 22.0}))
    begun.changed(1, "--amount", 1)
    begun.record(tires(TIGHT, {"RF": 6.0}))
    begun.choose(1, "--reason", "quick to do")
    begun.made()
    return begun


def test_a_way_offered_with_and_without_trims_is_once_among_those_not_taken(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose("--move-on", "--reason", "rain is coming")
    (step,) = why(begun, 2)["steps"]
    said = [each["says"] for each in step["details"] if each["about"] == "not taken"]
    assert said
    assert len(said) == len(set(said))


# --- one step -------------------------------------------------------------------------------


def test_a_choice_names_its_trims_and_what_they_are_for(with_trim: Crew) -> None:
    (step,) = why(with_trim, 5)["steps"]
    assert step["headline"].endswith("; riding along: RF camber +0.50 deg")
    said = [each["says"] for each in step["details"] if each["about"] == "riding along"]
    assert len(said) == 1
    assert said[0].startswith("RF camber +0.50 deg: RF split, expected ")
    assert said[0].endswith("; worth doing while the car is in")
    expected = [each["says"] for each in step["details"] if each["about"] == "expected"]
    assert [says.split()[0] for says in expected] == ["balance"]


def test_an_own_change_tells_what_the_tires_showed_and_the_reason_once(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose("--own", "camber:RF:2.5", "--reason", "felt it roll")
    shown = "RF: inner edge 20.0 °F hotter than the outer: too much negative camber"
    begun.made()
    for step in (2, 3):
        (told,) = begun.why(step)
        said = [(each["about"], each["says"]) for each in told["details"]]
        (because,) = [says for about, says in said if about == "shown then"]
        assert because.startswith(f"{shown}; RF camber by +2.50 deg: the rules allow")
        assert said.count(("reason", "felt it roll")) == 1
        assert sum("felt it roll" in says for _, says in said) == 1
    (event,) = why(begun, "--knob", "camber:RF")["events"]
    assert event["why"].startswith(shown)
    assert event["reason"] == "felt it roll"


def test_the_table_tells_what_an_own_change_moves_beside_what_it_is_judged_by(
    begun: Crew,
) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose("--own", "camber:RF:0.5", "--own", "cross:car:-1", "--reason", "both at once")
    before = {each["figure"]: each for each in why(begun, "--table")["rows"][0]["figures"]}
    begun.made()
    begun.record(tires(TIGHT, split={"RF": 14.0}))
    first, *beside = why(begun, "--table")["rows"][0]["figures"]
    assert (first["figure"], first["came"]) == ("split.RF", 14.0)
    assert [first["figure"], *(each["figure"] for each in beside)] == list(before)
    (balance,) = [each for each in beside if each["figure"] == "balance"]
    assert (balance["before"], balance["came"], balance["verdict"]) == (5.0, 17.0, None)
    assert balance["expected"] == pytest.approx(before["balance"]["expected"], abs=1e-3)


def test_a_change_made_tells_the_choice_behind_it(with_trim: Crew) -> None:
    (choice,), (made,) = (why(with_trim, step)["steps"] for step in (5, 6))
    assert made["headline"].endswith(", riding trim")
    told = {each["about"]: each["says"] for each in made["details"]}
    assert told["chosen"] == f"step 5: {choice['headline']}"
    assert {"about": "because", "says": told["because"]} in choice["details"]
    assert told["reason"] == "quick to do"


def learned(crew: Crew, step: int) -> list[str]:
    (told,) = why(crew, step)["steps"]
    return [each["says"] for each in told["details"] if each["about"] == "learned"]


def test_what_the_runs_did_not_teach_is_not_told_as_learned(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose("--own", "camber:RF:1", "--own", "spring:LR:25", "--reason", "both at once")
    begun.made()
    begun.record(tires(split={"RF": 8.0}))
    camber, *spring = learned(begun, 4)
    assert re.fullmatch(r"RF camber: RF split -1\d\.\d °F ± \d\.\d °F per deg", camber)
    assert not any("split" in said for said in spring)  # a spring moves none


@pytest.mark.parametrize(
    ("own", "per"),
    [
        ("ballast:rear:30", "10 lb"),
        ("spring:RR:25", "25 lb/in"),
        ("bar:front:-50", "25 lb/in"),
        ("cross:car:-0.5", "%"),
        ("stagger:rear:0.5", "0.50 in"),
    ],
)
def test_what_was_learned_is_told_per_an_amount_that_can_be_read(
    begun: Crew, own: str, per: str
) -> None:
    begun.record(tires(TIGHT))
    begun.choose("--own", own, "--reason", "ours")
    begun.made()
    begun.record(tires())
    (said,) = learned(begun, 4)
    assert said.endswith(f" per {per}")
    answer = float(re.search(r"balance ([+-]\d+\.\d) °F", said)[1])  # type: ignore[index]
    assert abs(answer) >= 0.5


# --- the life of one setting ----------------------------------------------------------------


def test_the_life_of_a_setting_tells_when_from_to_why_and_what_came(crew_with_car: Crew) -> None:
    crew = crew_with_car
    crew.record(RF_INNER_HOT)
    crew.choose(1, "--reason", "as last year")
    crew.made("--actual", "camber:RF:0.75")
    crew.record(tires(split={"RF": 8.0}))
    life = why(crew, "--knob", "camber:rf")
    assert (life["knob"], life["corner"], life["unit"]) == ("camber", "RF", "deg")
    assert (life["start"], life["now"]) == (-3.0, -2.25)
    (event,) = life["events"]
    assert (event["step"], event["from"], event["to"], event["amount"]) == (3, -3.0, -2.25, 0.75)
    assert "inner edge 20.0 °F hotter" in event["why"]
    assert (event["reason"], event["verdict"]) == ("as last year", "better")
    assert "RF split +20.0 °F → +8.0 °F" in event["came"]


def test_a_pressure_read_before_a_run_is_part_of_its_life(crew_with_car: Crew) -> None:
    crew = crew_with_car
    crew.record(RR_OVER, "--cold", "RR=26")
    crew.choose("--own", "pressure:RR:-1", "--reason", "it is over")
    crew.made()
    crew.record(tires(), "--cold", "RR=25.5")
    life = why(crew, "--knob", "pressure:RR")
    assert [event["kind"] for event in life["events"]] == ["moved", "set"]
    assert [event["to"] for event in life["events"]] == [25.0, 25.5]
    assert life["now"] == 25.5
    assert life["events"][0]["why"]


def test_a_setting_not_known_is_told_by_its_moves(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    life = why(begun, "--knob", "camber:RF")
    assert (life["start"], life["now"]) == (None, None)
    (event,) = life["events"]
    assert (event["from"], event["to"], event["amount"], event["verdict"]) == (
        None,
        None,
        1.5,
        None,
    )


def test_an_untouched_setting_has_no_events(crew_with_car: Crew) -> None:
    life = why(crew_with_car, "--knob", "pressure:LF")
    assert (life["start"], life["now"], life["events"]) == (18.0, 18.0, [])
    said = run_command("why", crew_with_car.path, "--knob", "pressure:LF").out
    assert "LF pressure: 18.0 psi → 18.0 psi" in said
    assert "Not touched so far." in said


def test_an_amended_change_is_told_with_its_mark(crew_with_car: Crew) -> None:
    crew = crew_with_car
    crew.record(RF_INNER_HOT)
    crew.changed()
    crew.tries("amend", 1, "--tire", "RF=220/215/210", "--reason", "misread")
    crew.tries("amend", 3, "--actual", "camber:RF:0.5", "--reason", "counted")
    (event,) = why(crew, "--knob", "camber:RF")["events"]
    assert (event["amount"], event["to"], event["amended_by"]) == (0.5, -2.5, [5])
    assert event["rested_on"] == [{"step": 1, "amended_by": 4, "as_of": None}]


def test_a_trim_is_told_by_its_own_aim_and_verdict(with_trim: Crew) -> None:
    with_trim.record(tires(TIGHT, {"RF": -1.0}))
    _, event = why(with_trim, "--knob", "camber:RF")["events"]
    assert (event["trim"], event["verdict"]) == (True, "better")
    assert event["why"].startswith("riding along for RF split, expected ")
    assert "target " in event["why"]
    assert event["came"].startswith("RF split +6.0 °F → -1.0 °F (expected ")
    assert "balance" not in event["why"] + event["came"]
    (spring,) = [row for row in why(with_trim, "--table")["rows"] if "riding" in row["change"]]
    assert spring["verdict"] != "better"


def test_the_life_of_a_setting_leaves_out_what_rode_along_or_went_with_it(
    with_trim: Crew,
) -> None:
    with_trim.record(tires(TIGHT, {"RF": -1.0}))
    table = why(with_trim, "--table")["rows"]
    (row,) = [row for row in table if "riding" in row["change"]]
    assert row["made"][0].startswith("rear ballast")
    (event,) = why(with_trim, "--knob", "ballast:rear")["events"]
    assert "balance" in event["came"]
    assert "split" not in event["came"]
    assert {each["figure"] for each in row["figures"]} == {"balance", "split.RF"}


def test_of_a_bundle_each_setting_tells_its_own_tire(begun: Crew) -> None:
    begun.record(tires(split={"LF": 14.0, "RF": 20.0}))
    begun.changed()
    begun.record(tires())
    (event,) = why(begun, "--knob", "camber:LF")["events"]
    assert event["came"].startswith("LF split +14.0 °F → +0.0 °F")
    assert "RF" not in event["came"]


@pytest.mark.parametrize(
    "knob", ["camber:RF", "camber.RF", "camber RF", "RF camber", "rf.camber", " Camber : rf "]
)
def test_a_setting_may_be_named_in_many_ways(crew_with_car: Crew, knob: str) -> None:
    life = why(crew_with_car, "--knob", knob)
    assert (life["knob"], life["corner"], life["start"]) == ("camber", "RF", -3.0)


def test_a_knob_that_is_there_once_needs_no_place(begun: Crew) -> None:
    assert [why(begun, "--knob", knob)["corner"] for knob in ("cross", "toe")] == ["car", "front"]


def test_a_knob_without_its_place_is_told_how_it_is_written(begun: Crew) -> None:
    error = begun.tries("why", "--knob", "camber").error
    assert error["message"] == "camber is there at LF, RF, LR, RR: which?"
    assert error["try"].startswith("--knob camber:LF or --knob camber:RF or ")


def test_no_such_knob_is_told_which_settings_the_plan_knows(crew_with_car: Crew) -> None:
    error = crew_with_car.tries("why", "--knob", "RF cmaber").error
    known = ["camber:RF", *(f"pressure:{corner}" for corner in ("LF", "RF", "LR", "RR"))]
    assert error["try"] == f"--knob {' or '.join(known)}"


@pytest.mark.parametrize(
    "knob",
    ["wing:RF", "camber:RF:1", "camber RF pressure", "pressure", "pressure:front", "toe:RF", ""],
)
def test_no_such_knob_is_refused(begun: Crew, knob: str) -> None:
    answer = begun.tries("why", "--knob", knob)
    assert (answer.status, answer.error["where"]) == (2, "--knob")


def test_a_trim_that_came_out_otherwise_is_named_beside_the_verdict(with_trim: Crew) -> None:
    status = with_trim.record(tires(TIGHT, {"RF": -1.0}))
    (row,) = [row for row in why(with_trim, "--table")["rows"] if "riding" in row["change"]]
    words = f"{row['verdict'].replace('-', ' ')}; RF camber trim: better"
    assert row["verdict"] == status["last_outcome"]["verdict"] != "better"
    assert row["verdict_words"] == status["last_outcome"]["verdict_words"] == words
    assert why(with_trim, 7)["steps"][0]["headline"].endswith(f": {words}")
    assert f"Last change (step 6): {words}" in run_command("status", with_trim.path, "--full").out
    with_trim.tries("amend", 6, "--actual", "camber:RF:0", "--reason", "left it out")
    assert "trim" not in with_trim.status()["last_outcome"]["verdict_words"]


def put_back(crew: Crew, *options: object) -> Any:
    """Let a change make it worse and put it back; return the row of that."""
    crew.record(tires(TIGHT))
    crew.choose("--own", "stagger:rear:-0.5", "--reason", "ours")
    crew.made()
    crew.record(tires(TIGHT | {"RF": 235.0}))
    offered = crew.status()["candidates"]
    back = next(each for each in offered if each["title"].startswith("Put back"))
    crew.choose(back["id"])
    crew.made(*options)
    crew.record(tires(TIGHT))
    return next(row for row in why(crew, "--table")["rows"] if "Put back" in row["change"])


def test_a_change_put_back_is_back_to_where_it_was_and_no_progress(begun: Crew) -> None:
    row = put_back(begun)
    assert (row["verdict"], row["verdict_words"]) == ("better", "back to where it was")
    assert why(begun, 7)["steps"][0]["headline"].endswith("step 6: back to where it was")
    said = run_command("why", begun.path, "--knob", "stagger:rear").out
    assert "back to where it was" in said
    assert "put back" in run_command("days", begun.path.parent).out


def test_a_change_put_back_further_than_it_was_is_judged_as_any(begun: Crew) -> None:
    assert put_back(begun, "--actual", "stagger:rear:1")["verdict_words"] == "better"


# --- the setup as it stands -----------------------------------------------------------------


def test_the_setup_is_told_as_the_day_began_and_as_it_stands(crew_with_car: Crew) -> None:
    crew = crew_with_car
    crew.record(RF_INNER_HOT, "--cold", "LF=18.4")
    crew.choose("--own", "camber:RF:1", "--own", "ballast:left:20", "--reason", "ours")
    crew.made("--actual", "camber:RF:0.75")
    crew.record(tires(split={"RF": 13.0}))
    crew.choose("--own", "camber:RF:0.25", "--reason", "a little more")
    status = crew.made()
    settings = {(each["knob"], each["corner"]): each for each in why(crew, "--setup")["settings"]}
    assert list(settings.values()) == status["settings"]
    assert settings["camber", "RF"] == {
        "knob": "camber",
        "corner": "RF",
        "unit": "deg",
        "begun": -3.0,
        "value": -2.0,
        "moved": 1.0,
        "times": 2,
    }
    assert settings["pressure", "LF"]["begun"] == settings["pressure", "LF"]["value"] == 18.4
    ballast = settings["ballast", "left"]
    assert (ballast["begun"], ballast["value"], ballast["moved"]) == (None, None, 20.0)
    assert ("camber", "LF") not in settings
    said = " ".join(run_command("why", crew.path, "--setup").out.split())
    assert "RF camber -3.00 deg → -2.00 deg moved twice" in said
    assert "left ballast not known moved once, +20 lb in all" in said
    assert "RR pressure 26.0 psi" in said


def test_the_setup_follows_what_was_put_right(crew_with_car: Crew) -> None:
    crew = crew_with_car
    crew.record(RF_INNER_HOT)
    crew.changed()
    crew.tries("amend", 3, "--actual", "camber:RF:0", "--reason", "never made")
    camber = next(e for e in why(crew, "--setup")["settings"] if e["knob"] == "camber")
    assert (camber["value"], camber["times"]) == (-3.0, 0)


def test_without_any_setting_known_the_setup_says_so(begun: Crew) -> None:
    assert why(begun, "--setup")["settings"] == []
    assert "No setting is known" in run_command("why", begun.path, "--setup").out


def test_settings_that_are_shown_alike_do_not_differ(crew: Crew) -> None:
    car = crew.path.with_name("car.toml")
    car.write_text("[scales]\nLF = 800\nRF = 750\nLR = 700\nRR = 550\n", "utf-8")
    crew.start("--car", car)
    crew.record(RF_INNER_HOT, "--cold", "RF=207kPa")
    crew.changed()
    crew.record(tires(), "--cold", "RF=30.0")
    (cross,) = [e for e in why(crew, "--setup")["settings"] if e["knob"] == "cross"]
    assert cross["value"] == 51.79
    parts = why(crew, "--run", 1, "--against", 2)["settings"]
    assert [each["name"] for each in parts] == ["RF camber"]
    assert len(why(crew, "--knob", "pressure:RF")["events"]) == 1
    crew.record(tires(), "--cold", "RF=206kPa")
    parted = {"name": "RF pressure", "one": 30.0, "other": 29.9, "unit": "psi"}
    assert parted in why(crew, "--run", 1, "--against", 3)["settings"]


# --- two runs side by side ------------------------------------------------------------------

LAPS = ("19.9,19.8,19.85,19.8", "19.6,19.5,19.55,19.5")


@pytest.fixture
def two_runs(crew_with_car: Crew) -> Crew:
    crew = crew_with_car
    crew.record(RF_INNER_HOT, "--lap-times", LAPS[0], "--track-temp", "80", "--feel", "tight")
    crew.changed()
    crew.record(tires(split={"RF": 4.0}), "--lap-times", LAPS[1], "--track-temp", "95")
    return crew


def test_two_runs_are_set_side_by_side(two_runs: Crew) -> None:
    data = why(two_runs, "--run", 1, "--against", 2)
    assert [run["step"] for run in data["runs"]] == [1, 4]
    assert data["readings"]["RF"] == {"one": [225.0, 215.0, 205.0], "other": [217.0, 215.0, 213.0]}
    split = data["figures"]["split.RF"]
    assert (split["one"], split["other"], split["difference"]) == (20.0, 4.0, -16.0)
    assert split["differs"] is True
    assert data["figures"]["balance"]["differs"] is False
    camber = {"name": "RF camber", "one": -3.0, "other": -1.5, "unit": "deg"}
    assert data["settings"] == [camber]
    conditions = {each["name"]: (each["one"], each["other"]) for each in data["conditions"]}
    assert conditions["track temperature"] == (80.0, 95.0)
    assert conditions["driver"] == ("tight", None)
    assert conditions["laps on the tires before"] == (0, 10)


@pytest.mark.parametrize(("one", "other"), [("run1", "run 2"), ("Run-1", "2")])
def test_runs_are_named_by_their_numbers_or_as_elsewhere(
    two_runs: Crew, one: str, other: str
) -> None:
    assert why(two_runs, "--run", one, "--against", other) == why(
        two_runs, "--run", 1, "--against", 2
    )


def test_the_error_of_a_difference_is_that_of_both_runs(begun: Crew) -> None:
    begun.record(tires(), "--flag", "lockup")
    begun.record(tires(), "--flag", "swerve")
    data = why(begun, "--run", 1, "--against", 2)  # nothing learned: the noise of the rules
    for name in ("split.RF", "crown.LR", "average.LF", "balance", "cross_vs_front"):
        wanted = 2**0.5 * standard_error(name, Noise())
        assert data["figures"][name]["error"] == pytest.approx(wanted, abs=1e-3)
    assert data["runs"][0]["void"] == "the brakes were locked"


def test_lap_times_are_compared_by_welch(two_runs: Crew) -> None:
    one, other = ([float(lap) for lap in laps.split(",")] for laps in LAPS)
    wanted = compare(one, other)
    laps = why(two_runs, "--run", 1, "--against", 2)["lap_times"]
    assert laps["difference"] == pytest.approx(wanted.difference, abs=1e-4)
    assert laps["error"] == pytest.approx(wanted.error, abs=1e-4)
    assert laps["verdict"] == "faster"
    assert why(two_runs, "--run", 2, "--against", 1)["lap_times"]["verdict"] == "slower"


def test_readings_taken_late_make_the_difference_less_sure(begun: Crew) -> None:
    begun.record(tires(), "--order", "LF,LR,RR,RF", "--delay", "120")
    begun.record(tires())
    data = why(begun, "--run", 1, "--against", 2)["figures"]
    assert data["average.RF"]["error"] > 2**0.5 * standard_error("average.RF", Noise()) * 0.99


def test_a_setting_not_known_is_told_by_how_far_it_was_moved(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    begun.record(tires())
    parted = {"name": "RF camber", "one": None, "other": "+1.5", "unit": "deg"}
    assert why(begun, "--run", 1, "--against", 2)["settings"] == [parted]
    said = run_command("why", begun.path, "--run", 1, "--against", 2).out
    assert re.search(r"RF camber +not known, moved \+1.5 deg", said)
    assert "± is one standard error" in said
    assert "less than 1 in 20" in said
    back = why(begun, "--run", 2, "--against", 1)["settings"]
    assert back == [parted | {"other": "-1.5"}]


@pytest.mark.parametrize(
    ("options", "where"),
    [
        (["--run", "1"], "--against"),
        (["--against", "1"], "--run"),
        (["--run", "1", "--against", "1"], "--against"),
        (["--run", "0", "--against", "1"], "--run"),
        (["--run", "1", "--against", "3"], "--against"),
        (["1", "--table"], "treadgate why"),
        (["--knob", "camber:RF", "--table"], "treadgate why"),
        (["--setup", "--table"], "treadgate why"),
        (["--run", "runner", "--against", "1"], "--run"),
        (["--run", "1", "--against", "run"], "--against"),
    ],
)
def test_what_cannot_be_told_is_refused(two_runs: Crew, options: list[str], where: str) -> None:
    answer = two_runs.tries("why", *options)
    assert (answer.status, answer.error["where"]) == (2, where)


def test_runs_in_words_use_the_unit_of_the_plan() -> None:
    said = run_command("why", SAMPLES / "metric-day.toml", "--run", 1, "--against", 2).out
    assert "Readings, °C" in said
    assert "106.0/102.0/96.0" in said
    assert "°F" not in said


# --- the day as a table ---------------------------------------------------------------------


def test_the_table_has_a_row_a_run_with_its_change_and_what_came(two_runs: Crew) -> None:
    first, second = why(two_runs, "--table")["rows"]
    assert (first["step"], first["run"], first["stage"]) == (1, 1, "camber")
    assert first["shown"] == ["camber.inner-hot:RF"]
    assert first["change"] == "RF camber +1.50 deg (more positive)"
    (answer,) = first["figures"]
    assert (answer["figure"], answer["before"], answer["came"]) == ("split.RF", 20.0, 4.0)
    assert answer["expected"] is not None
    assert first["verdict"] == "better"
    assert (second["run"], second["stage"], second["change"]) == (2, "confirm", "")
    assert second["verdict"] is None


def test_the_table_shows_what_is_really_on_the_car(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    begun.made("--actual", "camber:RF:0.75")
    said = run_command("why", begun.path, "--table").out
    assert "+0.75" in said
    assert "+1.50" not in said
    begun.tries("amend", 3, "--actual", "camber:RF:0.5", "--reason", "counted")
    assert "+0.50" in run_command("why", begun.path, "--table").out


def test_trims_are_marked_in_the_table(with_trim: Crew) -> None:
    said = " ".join(run_command("why", with_trim.path, "--table").out.split())
    assert "with 1 trim" in said
    row = why(with_trim, "--table")["rows"][1]
    made = row["made"]
    assert len(made) == 2  # one knob that moves load, and the trim
    assert made[1].startswith("RF camber")
    assert row["change"].endswith("; riding along: RF camber +0.50 deg")


def test_moving_on_and_amendments_have_their_rows(begun: Crew) -> None:
    begun.record(tires(split={"RF": 20.0}, crown={"RR": 6.0}))
    begun.choose("--move-on", "--reason", "no time")
    begun.choose(1, "--amount", "-1")
    begun.tries("amend", 1, "--tire", "RR=206/215/206", "--reason", "misread")
    begun.made()
    rows = why(begun, "--table")["rows"]
    assert [row["change"] for row in rows] == [
        "moved on: no time",
        "RR pressure -1.0 psi (less air)",
        "step 1 corrected: misread",
    ]
    assert [bool(row["rested_on"]) for row in rows] == [True, True, False]
    assert rows[1]["made"] == ["RR pressure -1.0 psi (less air)"]
    said = run_command("why", begun.path, "--table").out
    assert "! rested on step 1 as first recorded; step 4 has corrected it since" in said


def expected_of(crew: Crew, row: int = 0) -> Any:
    (answer,) = why(crew, "--table")["rows"][row]["figures"]
    return answer["expected"]


def test_the_table_expects_what_the_change_really_made_should_do(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    of_the_chosen = expected_of(begun)
    begun.made("--actual", "camber:RF:0.5")
    of_the_made = expected_of(begun)
    assert 20.0 - of_the_made == pytest.approx((20.0 - of_the_chosen) / 3, abs=1.0)
    begun.record(tires(split={"RF": 15.0}))
    (judged,) = begun.status()["last_outcome"]["figures"]
    assert expected_of(begun) == pytest.approx(of_the_made, abs=1e-3)
    assert judged["expected"] == pytest.approx(of_the_made, abs=1e-3)


@pytest.mark.parametrize("amended", [False, True])
def test_the_table_expects_what_a_change_told_later_should_do(begun: Crew, amended: bool) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    of_the_chosen = expected_of(begun)
    begun.made()
    begun.record(tires(split={"RF": 31.0}), *(() if amended else ("--really", "camber:RF:-1")))
    if amended:
        begun.tries("amend", 3, "--actual", "camber:RF:-1", "--reason", "turned the other way")
    (answer,) = why(begun, "--table")["rows"][0]["figures"]
    assert answer["expected"] > 20.0 > of_the_chosen
    assert (answer["before"], answer["came"]) == (20.0, 31.0)
    (judged,) = begun.status()["last_outcome"]["figures"]
    assert answer["expected"] == pytest.approx(judged["expected"], abs=1e-3)


def test_the_table_sets_nothing_beside_a_change_of_nothing(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    begun.made("--actual", "camber:RF:0")
    assert expected_of(begun) is None
    begun.record(RF_INNER_HOT)
    assert why(begun, "--table")["rows"][0]["verdict"] is None


def test_only_decisions_on_a_value_no_longer_in_force_carry_a_mark(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    begun.record(tires(split={"RF": 18.0}))
    begun.choose(1)
    begun.tries("amend", 3, "--actual", "camber:RF:0.25", "--reason", "counted")
    begun.made()
    begun.record(tires())
    rows = why(begun, "--table")["rows"]
    assert [row["step"] for row in rows if row["rested_on"]] == [4]  # decided on the old camber
    begun.tries("amend", 7, "--tire", "RF=220/215/210", "--reason", "misread")
    assert [row["step"] for row in why(begun, "--table")["rows"] if row["rested_on"]] == [4]


def test_every_row_shows_what_is_in_force_marked_where_a_choice_rested_on_other_numbers(
    begun: Crew,
) -> None:
    begun.record(RF_INNER_HOT)
    begun.tries("amend", 1, "--tire", "RR=206/218/206", "--reason", "misread")
    (run, _) = why(begun, "--table")["rows"]
    assert run["shown"] == ["camber.inner-hot:RF", "pressure.over:RR"]
    begun.choose(1)
    begun.tries("amend", 1, "--tire", "RR=210/210/210", "--reason", "right at first")
    (chosen,) = [row for row in why(begun, "--table")["rows"] if row["stage"]]
    assert chosen["shown"] == ["camber.inner-hot:RF"]
    assert chosen["stage"] == "camber"
    assert chosen["rested_on"]


def test_the_table_of_a_whole_day_fits_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    said = run_command("why", FINISHED, "--table").out
    assert max(map(len, said.splitlines())) <= 80
    for word in ("worse", "better", "judges", "back to where it was", "confirm"):
        assert word in said
    assert run_command("why", SAMPLES / "day-begun.toml", "--table").status == 0


def test_an_empty_day_has_an_empty_table(begun: Crew) -> None:
    assert why(begun, "--table")["rows"] == []
    assert "Nothing is recorded yet." in run_command("why", begun.path, "--table").out


# --- readings put back to one moment --------------------------------------------------------

COOL = "tires cool while others are read"


def test_figures_of_readings_put_back_to_one_moment_have_a_footnote(begun: Crew) -> None:
    begun.record(RF_INNER_HOT, "--order", "RF,RR,LR,LF")  # not read again: nothing is corrected
    begun.changed()
    again = ("--order", "RF,RR,LR,LF", "--again", "RF=213/212/211")
    begun.record(tires(), *again)
    assert begun.status()["figures"]["average"]["LF"] > 210.5
    shown = [(), ("--table",), ("--run", 1, "--against", 2), (4,)]
    for options in shown:
        said = " ".join(run_command("why", begun.path, *options).out.split())
        assert said.count(f"Run 2: {COOL}, so") == 1, options
    assert COOL not in run_command("why", begun.path, 1).out
    assert COOL in " ".join(run_command("status", begun.path, "--full").out.lower().split())
    begun.tries("amend", 4, "--again", "none", "--reason", "of another run")
    for options in shown:
        assert COOL not in run_command("why", begun.path, *options).out
    assert COOL not in run_command("status", begun.path, "--full").out.lower()


# --- sources --------------------------------------------------------------------------------


def test_the_whole_day_ends_with_the_sources_of_its_rules() -> None:
    answer = run_command("why", FINISHED, "--json")
    named = {each["rule"]: each["source"] for each in answer.data["sources"]}
    assert "common practice" in named["camber.inner-hot"]
    assert (
        "12 degF of split per degree is from memory"
        in (named["RF camber +1.25 deg (more positive)"])
    )
    assert all(named.values())
    said = run_command("why", FINISHED).out
    assert "camber.inner-hot" not in said
    assert said.index("Step 18") < said.index("Where the rules come from")


def test_a_choice_taken_back_used_no_rule(begun: Crew) -> None:
    def named() -> list[str]:
        data = begun.tries("why").data
        return [each["rule"] for each in data["sources"]]

    begun.record(RF_INNER_HOT)
    begun.choose(1)
    assert named() == ["camber.inner-hot", "RF camber +1.50 deg (more positive)"]
    begun.choose("--take-back")
    assert named() == ["camber.inner-hot"]
    begun.choose(1, "--amount", "0.5")
    assert named() == ["camber.inner-hot", "RF camber +0.50 deg (more positive)"]


def test_one_step_has_no_sources() -> None:
    assert "sources" not in run_command("why", FINISHED, 1, "--json").data
    assert "Where the rules come from" not in run_command("why", FINISHED, 1).out
