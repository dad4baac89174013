"""A second day that begins with what the first one taught."""

import tomllib
from datetime import date, timedelta
from pathlib import Path

import attrs
import pytest
import tomli_w
from garage import Crew, run_command, tires

from planner.storage import plans, saving

SAMPLES = Path(__file__).parent.parent / "sample_plans"

CAMBER = ("camber", "RF")
FAULT = tires(split={"RF": 12.0})


@pytest.fixture
def lesson(tmp_path: Path) -> Path:
    """What a car taught whose camber answers at 6 degF a degree, half the rule of thumb."""
    first = Crew(tmp_path / "first.toml")
    first.start()
    split = 30.0
    for _ in range(3):
        first.record(tires(split={"RF": split}))
        first.choose("--own", "camber:RF:1", "--reason", "to learn")
        first.made()
        split -= 6.0
    first.record(tires(split={"RF": split}))
    file = tmp_path / "taught.toml"
    answer = first.tries("taught", file)
    assert answer.data == {"plan": str(first.path), "file": str(file), "knobs": 1}
    return file


def test_what_is_kept_is_counted_in_words(lesson: Path) -> None:
    said = run_command("taught", lesson.with_name("first.toml"), lesson.with_name("b.toml")).out
    assert "what 1 knob did. To begin from it:" in said


def second_day(tmp_path: Path, *options: object) -> Crew:
    crew = Crew(tmp_path / "second.toml")
    crew.start(*options)
    return crew


def believed(crew: Crew):
    """Return what is believed of the camber after one run, nothing being moved yet."""
    return plans.open_plan(crew.path).day.known.sensitivity(CAMBER, "split.RF")


def aged(file: Path, days: int) -> Path:
    """Return the same lesson, learned so many days ago."""
    was = tomllib.loads(file.read_text("utf-8"))["date"]
    then = date.today() - timedelta(days=days)
    old = file.with_name(f"{days}.toml")
    old.write_text(file.read_text("utf-8").replace(str(was), str(then)), "utf-8")
    return old


def test_the_first_candidate_goes_by_what_was_learned(tmp_path, lesson) -> None:
    fresh, taught = (tmp_path / "a", tmp_path / "b")
    fresh.mkdir()
    taught.mkdir()
    (without,) = second_day(fresh).record(FAULT)["candidates"]
    (with_lesson,) = second_day(taught, "--taught", lesson).record(FAULT)["candidates"]
    assert without["changes"][0]["amount"] == 0.75
    amount = with_lesson["changes"][0]["amount"]
    assert amount > 0.75  # it takes more of a knob that answers less
    # On another day the knob answers between what it did and what the rules believe.
    per_degree = (with_lesson["predicted"]["split.RF"]["mean"] - 12.0) / amount
    assert -9.0 < per_degree < -6.0
    assert without["rests_on"] == "rule of thumb"
    assert with_lesson["rests_on"] == "learned from this car on an earlier day"


def test_what_an_earlier_day_has_taught_is_said_before_the_first_run(tmp_path, lesson) -> None:
    crew = second_day(tmp_path, "--taught", lesson)
    shown = run_command("status", crew.path).out
    assert "Learned on earlier days, and used first: RF camber." in " ".join(shown.split())


def test_what_was_learned_widens_with_age_toward_the_rules(tmp_path, lesson) -> None:
    spreads, means = [], []
    for age in (0, 100, 1000, 20_000):
        folder = tmp_path / str(age)
        folder.mkdir()
        crew = second_day(folder, "--taught", aged(lesson, age))
        crew.record(FAULT)
        at = believed(crew)
        spreads.append(at.sd)
        means.append(at.mean)
    assert spreads == sorted(spreads)
    assert means == sorted(means, reverse=True)
    assert spreads[0] < 3.5
    assert -9.0 < means[0] < -6.0


def test_settings_the_rules_do_not_know_are_dropped(tmp_path, lesson) -> None:
    found = tomllib.loads(lesson.read_text("utf-8"))
    found["told"]["answers"].append("bar.rear average.RR")
    found["told"]["rows"] = [[*row[:-1], 0.0, row[-1]] for row in found["told"]["rows"]]
    found["told"]["rows"].append([0.0] * (len(found["told"]["answers"]) - 1) + [8.0, 3.0])
    file = tmp_path / "strange.toml"
    file.write_text(tomli_w.dumps(found), "utf-8")
    crew = second_day(tmp_path, "--taught", file)
    assert plans.open_plan(crew.path).day.plan.taught.settings == (CAMBER,)


def test_the_plan_is_whole_without_the_file(tmp_path, lesson) -> None:
    crew = second_day(tmp_path, "--taught", lesson)
    before = crew.record(FAULT)
    learned = believed(crew)
    lesson.unlink()
    assert crew.status() == before
    assert believed(crew) == learned
    assert crew.changed()["due"] == "run"


def test_what_is_taught_is_learned_on_from(tmp_path, lesson) -> None:
    crew = second_day(tmp_path, "--taught", lesson)
    crew.record(FAULT)
    before = believed(crew)
    crew.changed()
    crew.record(tires(split={"RF": 0.0}))  # today it answers at 12
    assert believed(crew).mean < before.mean
    assert believed(crew).sd < before.sd


@pytest.mark.parametrize("content", ["format = 9\n", "not toml [", ""])
def test_a_lesson_that_cannot_be_used_is_refused_and_nothing_is_begun(tmp_path, content) -> None:
    file = tmp_path / "bad.toml"
    file.write_text(content, "utf-8")
    crew = Crew(tmp_path / "second.toml")
    answer = crew.tries("start", "--taught", file)
    assert answer.status == 2
    assert str(file) in answer.error["where"]
    assert not crew.path.exists()


def test_a_lesson_of_a_track_that_turns_the_other_way_is_refused(tmp_path, lesson) -> None:
    crew = Crew(tmp_path / "second.toml")
    answer = crew.tries("start", "--taught", lesson, "--turns", "right")
    assert (answer.status, answer.error["code"]) == (2, "bad-value")
    assert "a track that turns left" in answer.error["message"]
    assert "this plan turns right" in answer.error["message"]
    assert str(lesson) in answer.error["where"]
    assert not crew.path.exists()


@pytest.mark.parametrize(
    ("was", "today", "remarked"),
    [("Blue 17", "Red 4", True), ("Blue 17", "Blue 17", False), ("", "Red 4", False)],
)
def test_a_lesson_of_another_car_is_remarked_on(tmp_path, lesson, was, today, remarked) -> None:
    lesson.write_text(lesson.read_text("utf-8").replace('car = ""', f'car = "{was}"'), "utf-8")
    car = tmp_path / "car.toml"
    car.write_text(f'[car]\nname = "{today}"\n', "utf-8")
    answer = Crew(tmp_path / "second.toml").tries("start", "--taught", lesson, "--car", car)
    assert answer.status == 0
    assert ("Blue 17" in answer.err and "Red 4" in answer.err) == remarked


def test_a_day_without_changes_has_taught_nothing(begun: Crew, tmp_path) -> None:
    begun.record(FAULT)
    for file in ([tmp_path / "taught.toml"], []):
        answer = begun.tries("taught", *file)
        assert (answer.status, answer.error["code"]) == (2, "nothing-learned")
    assert not (tmp_path / "taught.toml").exists()


def test_what_was_learned_is_told_beside_what_was_believed(tmp_path, lesson) -> None:
    told = Crew(tmp_path / "first.toml").tries("taught").data
    assert (told["runs"], told["units"]["temperature"]) == (4, "degF")
    (row,) = told["lessons"]
    assert (row["knob"], row["corner"], row["figure"]) == ("camber", "RF", "split.RF")
    assert (row["unit"], row["rests_on"], row["changes"]) == ("deg", "rule of thumb", 3)
    assert row["believed"] == {"mean": -12.0, "sd": 5.0}
    assert row["learned"]["mean"] == pytest.approx(-6.0, abs=1.0)
    # What is kept, joined with what was believed, is what was learned.
    ((weight, at),) = tomllib.loads(lesson.read_text("utf-8"))["told"]["rows"]
    mean, variance = weight * at / (1 + weight**2), 1 / (1 + weight**2)
    assert row["learned"]["mean"] == pytest.approx(-12.0 + 5.0 * mean, abs=1e-4)
    assert row["learned"]["sd"] == pytest.approx(5.0 * variance**0.5, abs=1e-4)


@pytest.mark.usefixtures("lesson")
@pytest.mark.parametrize(
    ("units", "said", "decimals"),
    [
        ("us", "RF camber, °F per deg, 3 changes", 1),
        ("metric", "RF camber, °C per deg, 3 changes", 2),
    ],
)
def test_what_was_learned_is_told_in_the_unit_of_the_plan(tmp_path, units, said, decimals) -> None:
    path = tmp_path / "first.toml"
    row = run_command("taught", path, "--json").data["lessons"][0]
    plan = plans.open_plan(path).day.plan
    saving.create(tmp_path / "b.toml", attrs.evolve(plan, units=units))
    lines = run_command("taught", tmp_path / "b.toml").out.splitlines()
    scale = 1.0 if units == "us" else 5 / 9
    mean, sd = (scale * row["learned"][key] for key in ("mean", "sd"))
    learned = f"{mean:+.{decimals}f} ± {sd:.{decimals}f}"
    before = f"before: {scale * -12:+.1f} ± {scale * 5:.1f} (rule of thumb)"
    (told,) = [line for line in lines if line.startswith("  RF split")]
    assert said in lines
    assert learned in told
    assert before in told


def test_a_later_day_says_which_belief_came_from_the_earlier_one(tmp_path, lesson) -> None:
    crew = second_day(tmp_path, "--taught", lesson)
    crew.record(FAULT)
    crew.changed()
    crew.record(tires(split={"RF": 6.0}))
    (row,) = crew.tries("taught").data["lessons"]
    assert (row["rests_on"], row["changes"]) == ("an earlier day", 1)
    assert -9.0 < row["believed"]["mean"] < -6.0


@pytest.mark.usefixtures("lesson")
def test_a_change_that_no_run_has_answered_counts_for_nothing(tmp_path) -> None:
    crew = Crew(tmp_path / "first.toml")
    crew.changed()
    assert [row["changes"] for row in crew.tries("taught").data["lessons"]] == [3]


def test_beliefs_computed_from_the_car_file_are_told_as_such() -> None:
    told = run_command("taught", SAMPLES / "finished.toml", "--json").data["lessons"]
    on = {(row["knob"], row["rests_on"]) for row in told}
    assert ("cross", "computed from the car file") in on
    assert ("pressure", "rule of thumb") in on


def test_a_lesson_is_never_written_over(tmp_path, lesson) -> None:
    was = lesson.read_bytes()
    answer = Crew(tmp_path / "first.toml").tries("taught", lesson)
    assert (answer.status, answer.error["code"]) == (2, "exists")
    assert lesson.read_bytes() == was
