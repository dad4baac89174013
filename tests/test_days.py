"""All plans of a folder and where they stand."""

from pathlib import Path

import pytest
from garage import RF_INNER_HOT, Crew, run_command, tires

SAMPLES = Path(__file__).parent.parent / "sample_plans"


def test_every_plan_is_listed_with_where_it_stands(tmp_path: Path) -> None:
    one, other = Crew(tmp_path / "b.toml"), Crew(tmp_path / "a.toml")
    one.start("--track", "Näsby")
    one.record(RF_INNER_HOT)
    one.changed()
    one.record(tires())
    other.start()
    data = run_command("days", tmp_path, "--json").data
    assert data["unusable"] == []
    assert {Path(plan["plan"]).name for plan in data["plans"]} == {"a.toml", "b.toml"}
    (found,) = [plan for plan in data["plans"] if plan["plan"] == str(one.path)]
    assert (found["track"], found["stage"], found["due"]) == ("Näsby", "confirm", "run")
    assert (found["runs"], found["steps"], found["last_outcome"]) == (2, 4, "better")
    assert len(found["date"]) == len("2025-05-17")


def test_the_oldest_day_comes_first() -> None:
    data = run_command("days", SAMPLES, "--json").data
    dates = [plan["date"] for plan in data["plans"]]
    assert dates == sorted(dates)
    assert len(dates) == 4


def test_what_cannot_be_used_is_listed_with_the_reason(tmp_path: Path) -> None:
    Crew(tmp_path / "good.toml").start()
    (tmp_path / "lost.toml").write_text("created = 2025-05-17T09:00:00\n", "utf-8")
    (tmp_path / "empty.toml").write_text("", "utf-8")
    (tmp_path / "torn.toml").write_text("format = 1\ncreated = ", "utf-8")
    (tmp_path / "newer.toml").write_text("format = 99\n", "utf-8")
    (tmp_path / "binary.toml").write_bytes(b"\xff\x00")
    (tmp_path / "notes.txt").write_text("not looked at", "utf-8")
    answer = run_command("days", tmp_path, "--json")
    assert answer.status == 0
    assert [Path(plan["plan"]).name for plan in answer.data["plans"]] == ["good.toml"]
    found = {Path(each["plan"]).name: each["code"] for each in answer.data["unusable"]}
    assert found == {
        "lost.toml": "not-a-plan",
        "empty.toml": "not-a-plan",
        "torn.toml": "not-toml",
        "newer.toml": "newer-format",
        "binary.toml": "encoding",
    }
    assert all(each["message"] for each in answer.data["unusable"])


def test_toml_of_other_kinds_is_passed_over(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", SAMPLES / "river-bend-car.toml")
    crew.record(RF_INNER_HOT)
    crew.changed()
    crew.record(tires())
    (tmp_path / "car.toml").write_bytes((SAMPLES / "river-bend-car.toml").read_bytes())
    shown = run_command("rules", "show", "paved-oval").out
    (tmp_path / "ours.toml").write_text(shown, "utf-8")
    assert run_command("taught", crew.path, tmp_path / "taught.toml").status == 0
    (tmp_path / "run.toml").write_text("laps = 9\n[tire]\nLF = [200, 201, 202]\n", "utf-8")
    data = run_command("days", tmp_path, "--json").data
    assert data["unusable"] == []
    others = {"car.toml", "ours.toml", "taught.toml", "run.toml"}
    assert {Path(path).name for path in data["others"]} == others
    said = run_command("days", tmp_path).out
    assert "Skipped, not plans: car.toml, ours.toml, run.toml, taught.toml" in said
    assert "cannot be used" not in said


def test_unfinished_and_amended_days_are_marked(tmp_path: Path) -> None:
    for name, runs in (("half.toml", [RF_INNER_HOT]), ("whole.toml", [tires(), tires()])):
        crew = Crew(tmp_path / name)
        crew.start()
        for readings in runs:
            crew.record(readings)
    assert "~" not in run_command("days", tmp_path).out
    crew.tries("amend", 1, "--note", "windy", "--reason", "forgot it")
    found = {Path(p["plan"]).name: p for p in run_command("days", tmp_path, "--json").data["plans"]}
    assert (found["half.toml"]["complete"], found["half.toml"]["amended"]) == (False, 0)
    assert (found["whole.toml"]["complete"], found["whole.toml"]["amended"]) == (True, 1)
    said = run_command("days", tmp_path).out
    assert "camber: choice*" in said
    assert "complete~" in said
    assert "* unfinished" in said
    assert "~ amended" in said


@pytest.mark.parametrize("columns", ["80", "64"])
def test_long_names_leave_the_outcome_to_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    crew = Crew(tmp_path / "the-second-saturday-of-the-month-of-may.toml")
    crew.start("--track", "River Bend Oval and Motor Sports Park")
    crew.record(tires(crown={"RR": 6.0}))
    crew.changed()
    crew.record(tires(crown={"RR": 6.0}))
    said = run_command("days", tmp_path).out
    assert "no change" in said
    assert max(map(len, said.splitlines())) <= int(columns)


@pytest.mark.parametrize("columns", ["80", "100"])
def test_a_name_is_not_broken_while_a_track_can_be_folded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    for name in ("day.toml", "club-night-may.toml"):
        crew = Crew(tmp_path / name)
        crew.start("--track", "River Bend Oval and Motor Sports Park at the Lake")
        crew.record(tires(crown={"RR": 6.0}))
    said = run_command("days", tmp_path).out
    assert "club-night-may.toml" in said
    assert "last change" in said
    assert max(map(len, said.splitlines())) <= int(columns)


def test_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    Crew(tmp_path / "day.toml").start("--track", "River Bend")
    (tmp_path / "car.toml").write_text("[car]\n", "utf-8")
    said = run_command("days", tmp_path).out
    assert "River Bend" in said
    assert "car.toml" in said


def test_without_a_folder_it_is_this_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert "There is no plan here." in run_command("days").out
    assert run_command("days", "--json").data == {
        "folder": ".",
        "plans": [],
        "unusable": [],
        "others": [],
    }


def test_no_such_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    for name in ("none", "file"):
        answer = run_command("days", tmp_path / name, "--json")
        assert (answer.status, answer.error["code"]) == (2, "no-folder")
        assert str(tmp_path / name) in answer.error["where"]


def test_a_plan_stands_in_the_list_where_it_stands_by_itself(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT)

    def stands() -> list[str]:
        (listed,) = run_command("days", tmp_path, "--json").data["plans"]
        status = crew.status()
        assert [listed[key] for key in ("stage", "due")] == [status["stage"], status["due"]]
        return [status["stage"], status["due"]]

    assert stands() == ["camber", "choice"]
    # A reading corrected in the file is judged again, in the list too.
    was = crew.text()
    crew.path.write_text(was.replace("RF = [225, 215, 205]", "RF = [215, 215, 215]"), "utf-8")
    assert crew.text() != was
    assert stands() == ["confirm", "run"]


def test_many_days_are_told_from_the_latest(tmp_path: Path) -> None:
    for number in range(10):
        crew = Crew(tmp_path / f"{number}.toml")
        crew.start("--track", f"Track {number}")
        crew.record(tires())
    said = run_command("season", tmp_path).out
    assert "2 earlier: treadgate season FOLDER -o PAGE.html" in said
    assert len(run_command("season", tmp_path, "--json").data["cars"][0]["days"]) == 10
