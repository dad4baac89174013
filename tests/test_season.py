"""A car over its days: which car it is, what each day was, where its settings ended."""

import csv
import io
import shutil
from pathlib import Path

import browser
import pytest
from garage import RF_INNER_HOT, Crew, run_command, tires
from pages import Page, asks_nothing_of_the_network

SAMPLES = Path(__file__).parent.parent / "sample_plans"
CAR = SAMPLES / "river-bend-car.toml"


def a_day(
    path: Path, *options: object, car: str = 'name = "Blue 17"', more: tuple[str, ...] = ()
) -> Crew:
    """Begin a day of a car, drive it, change it, drive it again."""
    file = path.with_name("car.toml")
    file.write_text(f"[car]\n{car}\n[settings]\ncamber = {{RF = -3.0}}\n", "utf-8")
    crew = Crew(path)
    crew.start("--car", file, *options)
    crew.record(RF_INNER_HOT, "--track-temp", "90", "--lap-times", "18.0,17.9,17.8,17.9")
    crew.changed()
    crew.record(tires(), "--track-temp", "96", *more)
    return crew


def cars_of(folder: Path) -> list[dict]:
    return run_command("season", folder, "--json").data["cars"]


def test_a_day_is_told_by_what_was_wrong_what_was_changed_and_how_it_ended(tmp_path) -> None:
    a_day(tmp_path / "one.toml", "--track", "Näsby", more=("--set", "2"))
    (car,) = cars_of(tmp_path)
    (day,) = car["days"]
    assert (car["car"], day["track"]) == ("Blue 17", "Näsby")
    assert day["tire_sets"] == ["1", "2"]
    assert (day["runs"], day["void_runs"], day["track_temp"]) == (2, 0, [90.0, 96.0])
    assert day["wrong"] == ["camber.inner-hot:RF"]
    (change,) = day["changes"]
    turned = change["changes"]["camber.RF"]
    assert change["verdict"] == "better"
    assert day["begun"]["camber.RF"] == -3.0
    assert day["ended"]["camber.RF"] == -3.0 + turned
    assert day["first_run"]["split"]["RF"] == pytest.approx(20.0)
    assert day["best_lap"] == 17.8
    (track,) = car["tracks"]
    assert track["settings"]["camber.RF"] == [-3.0 + turned]


@pytest.mark.parametrize(
    ("first", "second", "cars"),
    [
        ('name = "Blue 17"', 'name = "blue  17"', 1),
        ('name = "Blue 17"', 'name = "Red 4"', 2),
        ('name = "Blue 17"\nid = "K-9"', 'name = "Blue 17, new body"\nid = "k-9"', 1),
        ('name = "Blue 17"\nid = "K-9"', 'name = "Blue 17"\nid = "K-8"', 2),
    ],
)
def test_a_car_is_known_by_its_id_and_without_one_by_its_name(
    tmp_path, first, second, cars
) -> None:
    a_day(tmp_path / "one.toml", car=first)
    a_day(tmp_path / "two.toml", car=second)
    assert len(cars_of(tmp_path)) == cars


def test_what_cannot_be_used_is_skipped_with_a_word_and_left_as_it_is(tmp_path) -> None:
    a_day(tmp_path / "one.toml")
    crew = a_day(tmp_path / "amended.toml")
    crew.tries("amend", 1, "--note", "windy", "--reason", "forgot it")
    (tmp_path / "newer.toml").write_text("format = 99\n", "utf-8")
    (tmp_path / "torn.toml").write_text("format = 1\ncreated = ", "utf-8")
    before = {each: each.read_bytes() for each in tmp_path.iterdir()}
    found = run_command("season", tmp_path, "--json").data
    assert [len(car["days"]) for car in found["cars"]] == [2]
    assert {Path(each["plan"]).name for each in found["unusable"]} == {"newer.toml", "torn.toml"}
    said = run_command("season", tmp_path).out
    assert "newer.toml skipped: This plan is of format 99" in said
    assert {each: each.read_bytes() for each in tmp_path.iterdir()} == before


def test_by_track_it_says_where_the_setting_ended_and_what_the_first_run_showed(
    monkeypatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    said = run_command("season", SAMPLES).out
    lines = said.splitlines()
    assert max(map(len, lines)) <= 80
    assert "No. 47 sportsman: 3 days" in lines
    (camber,) = [line.split() for line in lines if line.strip().startswith("RF camber  ")][:1]
    assert camber == ["RF", "camber", "-3.25", "-2.00", "-1.75", "deg"]
    (first,) = [line.split() for line in lines if line.strip().startswith("17 May 25   ")]
    assert first[3:7] == ["196", "224", "201", "208"]
    assert "rear stagger -0.50 in: back to where it was" in " ".join(said.split())


def test_other_programs_get_a_row_a_day(tmp_path) -> None:
    shutil.copytree(SAMPLES, tmp_path / "plans")
    text = run_command("export", tmp_path / "plans" / "finished.toml", "--only", "season").out
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["plan"] for row in rows] == ["day-begun.toml", "finished.toml", "half-way.toml"]
    assert [row["ended_camber_RF"] for row in rows] == ["-3.25", "-2", "-1.75"]
    assert rows[1]["best_lap_s"] == "17.36"


def test_a_folder_without_plans_says_so(tmp_path) -> None:
    assert "There is no plan here." in run_command("season", tmp_path).out
    assert run_command("season", tmp_path / "none", "--json").error["code"] == "no-folder"


def test_two_days_side_by_side_say_what_the_setting_should_have_done(tmp_path) -> None:
    # Day two comes with a degree more of RF camber, by which day one's answers take the split down.
    one = a_day(tmp_path / "one.toml")
    car = tmp_path / "car.toml"
    car.write_text(car.read_text("utf-8").replace("RF = -3.0", "RF = -2.0"), "utf-8")
    two = Crew(tmp_path / "two.toml")
    two.start("--car", car)
    two.record(tires(split={"RF": 20.0}), "--track-temp", "90")
    found = run_command("why", one.path, "--against", two.path, "--json").data
    known = run_command("taught", one.path, "--json").data["lessons"]
    (answer,) = [
        row["learned"]["mean"]
        for row in known
        if (row["knob"], row["corner"], row["figure"]) == ("camber", "RF", "split.RF")
    ]
    split = found["figures"]["split.RF"]
    assert (split["one"]["first"], split["other"]["first"]) == (20.0, 20.0)
    here = found["figures"]["split.LF"]["expected"]["mean"]
    assert here == pytest.approx(0.0, abs=0.5)
    assert split["expected"]["mean"] == pytest.approx(20.0 + answer, abs=1.0)
    assert split["differs"]
    assert not found["figures"]["split.LF"]["differs"]
    assert found["settings"]["camber.RF"]["other"] == [-2.0, -2.0]
    said = run_command("why", one.path, "--against", two.path).out
    (row,) = [line.split() for line in said.splitlines() if line.strip().startswith("RF split")]
    assert row[2:4] == ["+20.0", "+20.0"]
    assert "*" in row


def test_days_without_a_run_and_runs_without_a_day_are_refused(tmp_path) -> None:
    one = a_day(tmp_path / "one.toml")
    Crew(tmp_path / "empty.toml").start()
    answer = one.tries("why", "--against", tmp_path / "empty.toml")
    assert (answer.status, answer.error["code"]) == (2, "no-run")
    answer = one.tries("why", "--against", tmp_path / "nowhere.toml")
    assert (answer.status, answer.error["code"]) == (2, "not-found")
    for wrong in (("--against", "1"), ("--run", "1", "--against", tmp_path / "empty.toml")):
        answer = one.tries("why", *wrong)
        assert (answer.status, answer.error["code"]) == (2, "usage")


@pytest.fixture
def page(tmp_path: Path) -> Page:
    """The page of the season of the sample plans' car."""
    file = tmp_path / "season.html"
    answer = run_command("season", SAMPLES, "--car", "no. 47 Sportsman", "-o", file, "--json")
    assert answer.status == 0, answer.out
    assert answer.data["page"] == str(file)
    return Page(file.read_text("utf-8"))


def test_the_page_holds_days_changes_settings_and_answers(page: Page) -> None:
    assert asks_nothing_of_the_network(page.source)
    for part in (
        "3 days",
        "2025-05-17",
        "RF camber, inner hot; RR pressure, over; balance, tight",
        "RR spring +50 lb/in: better",
        "cross: choice due",
    ):
        assert part in page.text
    # Every change ever made, riding trims aside: how often, and what came of it.
    assert "RF camber +1.25 to 1.50 deg (more positive) 2 better 2" in page.text
    assert "rear stagger +0.50 in (larger outside tire) 1 worse 1" in page.text
    assert "rear stagger -0.50 in (smaller outside tire) 1 put back 1" in page.text
    # Where the setting ended, a column a day.
    assert "26 Apr 25 17 May 25 14 Jun 25" in page.text
    assert "RF camber, deg -3.25 -2.00 -1.75" in page.text


def test_an_answer_is_drawn_from_what_was_believed_to_after_the_last_day(page: Page) -> None:
    headings = [piece for piece in page.pieces if " on " in piece]
    assert "RF camber on RF split" in headings
    assert "°F per deg: -12 ± 5 before the first day" in page.text
    assert "First runs by track temperature" in page.text
    assert "LF: 197 at 72 °F, 196 at 84 °F, 211 at 118 °F." in page.text


def test_a_page_is_of_one_car(tmp_path) -> None:
    file = tmp_path / "season.html"
    answer = run_command("season", SAMPLES, "-o", file, "--json")
    assert (answer.status, answer.error["code"]) == (2, "usage")
    assert "No. 12 hatch" in answer.error["message"]
    assert not file.exists()
    answer = run_command("season", SAMPLES, "--car", "Blue 17", "--json")
    assert (answer.status, answer.error["code"]) == (2, "no-car")
    file.write_text("mine", "utf-8")
    for force in ((), ("--force",)):
        answer = run_command(
            "season", SAMPLES, "--car", "No. 12 hatch", "-o", file, *force, "--json"
        )
        assert (answer.status, answer.error["code"]) == (2, "exists")
    assert file.read_text("utf-8") == "mine"


@pytest.mark.sweep
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_it_prints_on_two_pages_and_fits_a_phone(page: Page, tmp_path, paper: str) -> None:
    file = tmp_path / "season.html"
    assert page.text
    assert browser.printed_pages(file, tmp_path, paper) == 2
    assert browser.width_at(file, tmp_path, 390) <= 390


def test_a_rehearsal_is_no_day_of_the_real_car(tmp_path) -> None:
    rehearsed = run_command(
        "rehearse", "--auto", "--seed", "3", "--plan", tmp_path / "r.toml", "--json"
    )
    assert rehearsed.status == 0
    answer = run_command("start", tmp_path / "day.toml", "--car", CAR, "--json")
    assert answer.err == ""
    assert {car["id"] for car in cars_of(tmp_path)} == {"rehearsal 3", ""}
