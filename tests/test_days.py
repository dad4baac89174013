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
    (tmp_path / "car.toml").write_text("[car]\nname = 'x'\n", "utf-8")
    (tmp_path / "torn.toml").write_text("format = 1\ncreated = ", "utf-8")
    (tmp_path / "newer.toml").write_text("format = 99\n", "utf-8")
    (tmp_path / "binary.toml").write_bytes(b"\xff\x00")
    (tmp_path / "notes.txt").write_text("not looked at", "utf-8")
    answer = run_command("days", tmp_path, "--json")
    assert answer.status == 0
    assert [Path(plan["plan"]).name for plan in answer.data["plans"]] == ["good.toml"]
    found = {Path(each["plan"]).name: each["code"] for each in answer.data["unusable"]}
    assert found == {
        "car.toml": "not-a-plan",
        "torn.toml": "not-toml",
        "newer.toml": "newer-format",
        "binary.toml": "encoding",
    }
    assert all(each["message"] for each in answer.data["unusable"])


def test_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    Crew(tmp_path / "day.toml").start("--track", "River Bend")
    (tmp_path / "car.toml").write_text("[car]\n", "utf-8")
    said = run_command("days", tmp_path).out
    assert "River Bend" in said
    assert "car.toml cannot be used: This is not a plan file." in said


def test_without_a_folder_it_is_this_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert "There is no plan here." in run_command("days").out
    assert run_command("days", "--json").data == {"folder": ".", "plans": [], "unusable": []}


def test_no_such_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    for name in ("none", "file"):
        answer = run_command("days", tmp_path / name, "--json")
        assert (answer.status, answer.error["code"]) == (2, "no-folder")
        assert str(tmp_path / name) in answer.error["where"]
