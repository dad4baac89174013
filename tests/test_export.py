"""The day for other programs: tidy tables, and JSON of a published schema."""

import copy
import csv
import io
import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from garage import RF_INNER_HOT, TIGHT, TOO_MUCH_CROSS, Crew, run_command, tires
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.car import car_file
from planner.chassis import weights
from planner.export import plan_schema, spreadsheet
from planner.files import records
from planner.storage import plans
from planner.trade import knobs, plain_text
from planner.trade.corners import CORNERS

SAMPLES = Path(__file__).parent.parent / "sample_plans"
PLANS = ("day-begun.toml", "half-way.toml", "finished.toml", "metric-day.toml")
SCHEMA = json.loads(plan_schema.published())
TABLES = {f"{name}.csv" for name in spreadsheet.TABLES}


def rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))


def exported(crew: Crew) -> dict[str, list[dict[str, str]]]:
    folder = crew.path.with_name("out")
    answer = crew.tries("export", "-o", folder, "--force")
    assert answer.status == 0, answer.out
    assert {Path(name).name for name in answer.data["files"]} == TABLES
    return {path.stem: rows(path) for path in folder.iterdir()}


@pytest.fixture
def worked(crew: Crew) -> Crew:
    """A crew with a void run, a change made and a run that judged it."""
    crew.start()
    crew.record(tires(), "--flag", "lockup")
    crew.record(RF_INNER_HOT, "--note", "=1+1")
    crew.choose(1, "--reason", "-2 looks right")
    crew.made("--actual", "camber:RF:0.75")
    crew.record(tires(split={"RF": 8.0}))
    return crew


# --- tidy tables ----------------------------------------------------------------------------


def test_readings_have_a_row_a_reading(worked: Crew) -> None:
    table = exported(worked)["readings"]
    assert list(table[0])[:4] == ["run", "corner", "position", "temperature"]
    assert len(table) == 3 * 12
    (found,) = [
        row for row in table if (row["run"], row["corner"], row["position"]) == ("2", "RF", "inner")
    ]
    assert (found["temperature"], found["unit"], found["judges"]) == ("225", "degF", "yes")
    assert {row["judges"] for row in table if row["run"] == "1"} == {"no"}


def test_runs_have_a_row_a_run_with_all_that_was_written_down(crew: Crew) -> None:
    crew.start()
    crew.record(
        RF_INNER_HOT,
        *("--laps", "4", "--lap-times", "21.5,19.9,19.8,19.85", "--note", "=windy"),
        *("--cold", "LF=18", "--hot", "RF=34.5", "--track-temp", "84", "--air-temp", "66"),
        *("--feel", "tight", "--where", "entry", "--flag", "lockup", "--flag", "traffic"),
        *("--delay", "50", "--order", "RF,RR,LR,LF"),
    )
    crew.record(tires())
    crew.tries("amend", 1, "--laps", "5", "--reason", "counted")
    first, second = exported(crew)["runs"]
    assert list(first) == list(spreadsheet.RUNS)
    assert {k: v for k, v in first.items() if v and k != "time"} == {
        "run": "1",
        "step": "1",
        "judges": "no",
        "void": first["void"],
        "laps": "5",
        "laps_on_tires_before": "0",
        "set": "1",
        "heat_cycles_before": "0",
        "track_temp": "84",
        "air_temp": "66",
        "unit": "degF",
        "feel": "tight",
        "where": "entry",
        "flags": "lockup, traffic",
        "feel_entry": "tight",
        "note": "'=windy",
        "cold_psi_LF": "18",
        "hot_psi_RF": "34.5",
        "delay_s": "50",
        "order": "RF, RR, LR, LF",
        "best_lap_s": "19.8",
        "mean_lap_s": "19.85",
        "falloff_s_per_lap": "-0.025",
        "amended_by": "3",
    }
    assert "the brakes were locked" in first["void"]
    assert (second["judges"], second["laps"], second["laps_on_tires_before"]) == ("yes", "10", "5")


def test_laps_have_a_row_a_lap(crew: Crew) -> None:
    crew.start()
    crew.record(tires(), "--lap-times", "21.5,19.9,19.8,19.85")
    table = exported(crew)["laps"]
    assert [(row["run"], row["lap"], row["time_s"], row["counted"]) for row in table] == [
        ("1", "1", "21.5", "no"),
        ("1", "2", "19.9", "yes"),
        ("1", "3", "19.8", "yes"),
        ("1", "4", "19.85", "yes"),
    ]


def test_tread_and_a_tire_read_again_stand_beside_their_readings(crew: Crew) -> None:
    crew.start()
    crew.record(
        tires(),
        *("--tread", "RF=7.5/7/6.5", "--tread-before", "RF=8/8/8"),
        *("--order", "RF,RR,LR,LF", "--again", "RF=212/211/210"),
    )
    by_place = {(r["corner"], r["position"]): r for r in exported(crew)["readings"]}
    outer = by_place["RF", "outer"]
    assert (outer["tread_before"], outer["tread"], outer["tread_unit"]) == ("8", "6.5", "1/32 in")
    assert outer["read_again"] == "210"
    assert {by_place["LF", "outer"][k] for k in ("tread", "tread_unit", "read_again")} == {""}


def test_figures_have_their_error_and_band(worked: Crew) -> None:
    table = {(row["run"], row["figure"]): row for row in exported(worked)["figures"]}
    split = table["2", "split.RF"]
    assert (split["value"], split["band_low"], split["band_high"]) == ("20", "-10", "10")
    assert float(split["standard_error"]) > 1
    assert table["2", "balance"]["value"] == "5"
    assert not [key for key in table if key[0] == "1"]  # void


def test_changes_and_outcomes_tell_what_was_made_and_what_came(worked: Crew) -> None:
    tables = exported(worked)
    (change,) = tables["changes"]
    assert (change["step"], change["stage"], change["knob"], change["corner"]) == (
        *("4", "camber", "camber", "RF"),
    )
    assert (change["amount"], change["chosen"], change["trim"]) == ("0.75", "1.5", "no")
    (outcome,) = tables["outcomes"]
    assert (outcome["change_step"], outcome["run"], outcome["figure"]) == ("4", "3", "split.RF")
    assert (outcome["before"], outcome["after"], outcome["verdict"]) == ("20", "8", "better")


def test_settings_have_the_decimals_of_their_knob(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", SAMPLES / "river-bend-car.toml")
    crew.record(tires(TOO_MUCH_CROSS))
    crew.choose("--own", "cross:car:-0.5", "--reason", "ours")
    crew.made()
    (change,) = exported(crew)["changes"]
    assert (change["from"], change["to"]) == ("51.79", "51.29")  # the scales say 51.785714
    assert (change["amount"], change["chosen"]) == ("-0.5", "-0.5")


def test_formulas_in_text_are_made_harmless_and_numbers_left_alone(worked: Crew) -> None:
    tables = exported(worked)
    assert {row["note"] for row in tables["readings"] if row["run"] == "2"} == {"'=1+1"}
    assert tables["changes"][0]["reason"] == "'-2 looks right"
    assert float(next(r for r in tables["figures"] if r["figure"] == "cross_vs_front")["value"]) < 0


@given(text=st.text(max_size=20))
@settings(max_examples=100, deadline=None)
def test_no_text_is_ever_a_formula(text: str) -> None:
    content = spreadsheet.text(("note", "value"), [(text, -1.5)])
    _, row = csv.reader(io.StringIO(content, newline=""))
    assert not row[0].startswith(("=", "+", "-", "@", "\t", "\r"))
    kept = plain_text.lines(text.replace("\r\n", "\n").replace("\r", "\n"))
    assert row[0].replace("'", "") == kept.replace("'", "")
    assert row[1] == "-1.5"


def test_a_metric_plan_is_exported_in_celsius(tmp_path: Path) -> None:
    assert run_command("export", SAMPLES / "metric-day.toml", "-o", tmp_path).status == 0
    first = rows(tmp_path / "readings.csv")[0]
    assert (first["temperature"], first["unit"]) == ("106", "degC")
    figures = {row["figure"]: row for row in rows(tmp_path / "figures.csv") if row["run"] == "1"}
    assert float(figures["split.LF"]["value"]) == pytest.approx(10.0, abs=1e-3)
    assert float(figures["average.LF"]["value"]) == pytest.approx(304 / 3, abs=1e-3)
    assert float(figures["front"]["value"]) == pytest.approx((304 + 275) / 6, abs=1e-3)
    assert float(figures["split.LF"]["band_high"]) == pytest.approx(10 * 5 / 9, abs=1e-3)


def test_what_was_put_right_stands_beside_what_was_recorded_first(worked: Crew) -> None:
    worked.tries("amend", 2, "--tire", "RF=219/215/211", "--reason", "misread")
    tables = exported(worked)
    found = {
        row["position"]: row
        for row in tables["readings"]
        if (row["run"], row["corner"]) == ("2", "RF")
    }
    assert (found["inner"]["temperature"], found["inner"]["first_recorded"]) == ("219", "225")
    assert (found["middle"]["temperature"], found["middle"]["first_recorded"]) == ("215", "")
    assert "rested on step 2 as first recorded" in tables["changes"][0]["rested_on"]
    assert tables["outcomes"][0]["before"] == "8"


def test_exported_readings_can_be_recorded_again(worked: Crew) -> None:
    exported(worked)
    other = Crew(worked.path.with_name("other.toml"))
    other.start()
    table = worked.path.with_name("out") / "readings.csv"
    answer = other.tries("record", "--from", table, "--row", 2)
    assert answer.data["readings"] == {c: list(t) for c, t in RF_INNER_HOT.items()}


def test_one_table_goes_to_a_file_or_to_standard_output(worked: Crew, tmp_path: Path) -> None:
    target = tmp_path / "r.csv"
    answer = worked.tries("export", "--only", "readings", "-o", target)
    assert answer.data["files"] == [str(target)]
    said = run_command("export", worked.path, "--only", "readings")
    assert said.out == target.read_text("utf-8")
    data = worked.tries("export", "--only", "readings").data
    assert data["csv"] == said.out


def test_nothing_is_written_over(worked: Crew, tmp_path: Path) -> None:
    (tmp_path / "figures.csv").write_text("mine", "utf-8")
    answer = worked.tries("export", "-o", tmp_path)
    assert (answer.status, answer.error["code"]) == (2, "exists")
    assert [path.name for path in tmp_path.glob("*.csv")] == ["figures.csv"]
    assert worked.tries("export", "-o", tmp_path, "--force").status == 0
    assert (tmp_path / "figures.csv").read_text("utf-8") != "mine"


@pytest.mark.parametrize(
    "options",
    [[], ["--as", "json", "--only", "readings"], ["--as", "xml"], ["-o", "/dev/null/x"]],
)
def test_what_cannot_be_exported_is_refused(worked: Crew, options: list[str]) -> None:
    answer = worked.tries("export", *options)
    assert answer.status == 2
    assert answer.error["where"]


def test_every_table_can_be_asked_for_alone(worked: Crew) -> None:
    for name in spreadsheet.TABLES:
        assert worked.tries("export", "--only", name).data["table"] == name
    assert "6 tables need a folder" in worked.tries("export").error["message"]


def test_a_plan_must_be_named(cli: Any) -> None:
    assert cli("export", "--json").error["where"] == "treadgate export, PLAN"
    assert cli("export", "none.toml", "-o", "x", "--json").error["code"] == "not-found"


# --- the car file for another day ------------------------------------------------------------

RIVER_BEND = SAMPLES / "river-bend-car.toml"


def next_car(plan: Path, folder: Path) -> tuple[Any, str]:
    """Return the car file made from a plan, which must be one to start with, and its text."""
    target = folder / "next.toml"
    answer = run_command("export", plan, "--as", "car", "-o", target)
    assert answer.status == 0, answer.err
    again = run_command("start", folder / "next-day.toml", "--car", target, "--from-scratch")
    assert (again.status, again.err) == (0, "")
    text = target.read_text("utf-8")
    return tomllib.loads(text), text


@pytest.mark.parametrize("name", PLANS)
def test_the_next_car_file_holds_what_is_on_the_car(tmp_path: Path, name: str) -> None:
    made, _ = next_car(SAMPLES / name, tmp_path)
    day = plans.open_plan(SAMPLES / name).day
    again = car_file.starting_settings(car_file.load(tmp_path / "next.toml"))
    assert set(again) == set(day.settings)
    for (knob, place), value in day.settings.items():
        nearest = 0.05 if knob == "cross" else 0.5 * 10 ** -knobs.KNOBS[knob].decimals
        assert again[knob, place] == pytest.approx(value, abs=nearest)
    untouched = records.plain().unstructure(day.plan.car)
    for table in ("car", "dimensions", "motion_ratio", "jack", "track", "limits"):
        assert made.get(table) == untouched.get(table)


def test_a_car_nobody_touched_comes_back_as_it_was(tmp_path: Path) -> None:
    made, text = next_car(SAMPLES / "day-begun.toml", tmp_path)
    assert made == tomllib.loads(RIVER_BEND.read_text("utf-8"))
    assert text.count("#") == 1 + 6  # what it is, and six units


def test_a_moved_cross_weight_is_put_into_the_scales(tmp_path: Path) -> None:
    made, text = next_car(SAMPLES / "half-way.toml", tmp_path)
    was = tomllib.loads(RIVER_BEND.read_text("utf-8"))["scales"]
    now = made["scales"]
    assert "cross" not in made["settings"]
    assert weights.weigh(now).cross == pytest.approx(weights.weigh(was).cross - 2.0, abs=0.01)
    assert sum(now.values()) == pytest.approx(sum(was.values()), abs=0.2)
    assert now["LF"] + now["RF"] == pytest.approx(was["LF"] + was["RF"], abs=0.2)
    assert "# [scales] computed for 49.79 % cross, not weighed." in text


def test_scales_that_moved_ballast_made_untrue_are_left_out(crew: Crew) -> None:
    crew.start("--car", RIVER_BEND)
    crew.record(tires(TIGHT))
    crew.choose("--own", "ballast:rear:30", "--own", "cross:car:-2", "--reason", "to learn")
    crew.made()
    made, text = next_car(crew.path, crew.path.parent)
    assert "scales" not in made
    assert made["settings"]["cross"] == {"car": 49.79}
    assert "# [scales] left out: ballast was moved; weigh the car again." in text


def test_what_a_moved_stagger_and_a_new_spring_leave_open_is_said(crew: Crew) -> None:
    crew.start("--car", RIVER_BEND)
    crew.record(tires(TIGHT))
    crew.choose("--own", "stagger:rear:0.25", "--own", "spring:RR:25", "--reason", "to learn")
    crew.made()
    made, text = next_car(crew.path, crew.path.parent)
    assert made["settings"]["stagger"] == {"rear": 1.75}
    assert made["settings"]["spring"]["RR"] == 250
    assert set(made["tires"]["circumference"]) == {"LF", "RF"}
    assert "Rear circumferences left out: the stagger was changed" in text
    assert "Springs were changed: [scales] hold if" in text
    assert "scales" in made


def test_the_rear_roll_centre_goes_with_the_panhard_bar(crew: Crew) -> None:
    crew.start("--car", RIVER_BEND)
    crew.record(tires(TIGHT))
    crew.choose("--own", "panhard:rear:1.5", "--reason", "to learn")
    crew.made()
    made, text = next_car(crew.path, crew.path.parent)
    assert made["dimensions"]["roll_center_rear"] == 10.5
    assert "# dimensions.roll_center_rear moved with the panhard bar." in text


def test_a_setting_nobody_has_told_is_not_made_up(worked: Crew) -> None:
    made, text = next_car(worked.path, worked.path.parent)
    assert made == {}
    assert "# Not known: RF camber was moved +0.75 deg from a setting that was not given." in text


def test_a_setting_that_cannot_be_is_left_out(crew: Crew) -> None:
    car = crew.path.with_name("car.toml")
    car.write_text("[settings]\ncamber = {RF = 10.0}\n", "utf-8")
    crew.start("--car", car)
    for amount in (3, 6):
        crew.record(RF_INNER_HOT)
        crew.choose("--own", f"camber:RF:{amount}", "--reason", "to learn")
        crew.made()
    assert crew.tries("amend", 3, "--actual", "camber:RF:5", "--reason", "read again").status == 0
    made, text = next_car(crew.path, crew.path.parent)
    assert made == {}
    assert "# Left out: RF camber would stand at 21.00 deg, which is impossible." in text


def test_hostile_names_come_back_as_they_were(crew: Crew) -> None:
    name = 'a "b" \\ [x] # \x7f\u202e\n=1'
    car = crew.path.with_name("car.toml")
    car.write_text(f"[car]\nname = {json.dumps(name)}\n".replace("\x7f", "\\u007f"), "utf-8")
    crew.start("--car", car)
    made, _ = next_car(crew.path, crew.path.parent)
    assert made["car"]["name"] == name


def test_the_next_car_file_goes_to_standard_output_and_never_over_the_plan(worked: Crew) -> None:
    told = worked.tries("export", "--as", "car").data["car"]
    assert run_command("export", worked.path, "--as", "car").out == told
    before = worked.text()
    answer = worked.tries("export", "--as", "car", "-o", worked.path, "--force")
    assert (answer.status, answer.error["code"]) == (2, "exists")
    assert worked.text() == before


# --- JSON and its schema --------------------------------------------------------------------


def as_json(path: Path) -> dict[str, Any]:
    answer = run_command("export", path, "--as", "json")
    assert answer.status == 0, answer.err
    return answer.data


def test_the_published_schema_is_that_of_the_records() -> None:
    assert plan_schema.published() == plan_schema.as_text()
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert json.loads(run_command("export", "--schema").out) == SCHEMA


@pytest.mark.parametrize("name", PLANS)
def test_the_sample_plans_are_of_the_schema(name: str) -> None:
    data = as_json(SAMPLES / name)
    jsonschema.validate(data, SCHEMA)
    assert data["units"]["temperature"] == "degF"


def test_every_kind_of_step_is_of_the_schema(worked: Crew) -> None:
    worked.tries("amend", 2, "--tire", "RF=219/215/211", "--reason", "misread")
    worked.tries("amend", 4, "--actual", "camber:RF:1", "--reason", "counted again")
    data = as_json(worked.path)
    jsonschema.validate(data, SCHEMA)
    assert {step["kind"] for step in data["step"]} == {"run", "choice", "made", "amend"}


def test_json_is_in_fahrenheit_whatever_the_plan_is_kept_in() -> None:
    data = as_json(SAMPLES / "metric-day.toml")
    assert (data["plan_units"], data["step"][0]["run"]["tires"]["LF"][0]) == ("metric", 222.8)


def test_json_goes_to_a_file_or_into_a_folder(worked: Crew, tmp_path: Path) -> None:
    for target in (tmp_path / "x.json", tmp_path):
        answer = worked.tries("export", "--as", "json", "-o", target)
        (written,) = answer.data["files"]
        assert json.loads(Path(written).read_text("utf-8")) == as_json(worked.path)


FINISHED = as_json(SAMPLES / "finished.toml")


def _broken(path: str, value: Any) -> dict[str, Any]:
    data: Any = copy.deepcopy(FINISHED)
    *way, last = (int(part) if part.isdigit() else part for part in path.split("/"))
    at = data
    for part in way:
        at = at[part]
    if value is ...:
        del at[last]
    else:
        at[last] = value
    return data


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("format", 2),
        ("format", ...),
        ("units/temperature", "degC"),
        ("plan_units", "imperial"),
        ("created", "yesterday"),
        ("turns", ...),
        ("laps", 0),
        ("laps", 10.5),
        ("rules", "paved-oval"),
        ("surprise", 1),
        ("car/settings/camber/LF", "three"),
        ("step/0/kind", "guess"),
        ("step/0/kind", "choice"),
        ("step/0/run/tires/LF/0", 2000),
        ("step/0/run/tires/LF/0", "-"),
        ("step/0/run/tires/LF/0", ...),
        ("step/0/run/tires/FL", [200, 200, 200]),
        ("step/0/run/tires/LF", ...),
        ("step/0/run/cold/LF", -1),
        ("step/0/run/cold/XX", 20),
        ("step/0/run/lap_times/0", 0.1),
        ("step/0/run/felt/exit", "odd"),
        ("step/0/patterns/0/chance", "high"),
        ("step/1/stage", "brakes"),
        ("step/2/changes/wing.LF", 1.0),
        ("step/2/changes", ...),
    ],
)
def test_wrong_data_is_not_of_the_schema(path: str, value: Any) -> None:
    jsonschema.validate(FINISHED, SCHEMA)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(_broken(path, value), SCHEMA)


def test_every_corner_is_in_the_schema() -> None:
    assert list(SCHEMA["$defs"]["Run"]["properties"]["tires"]["properties"]) == list(CORNERS)
