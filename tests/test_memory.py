"""A day that begins with what earlier days of the car in the folder have taught."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from garage import GOOD, RF_INNER_HOT, Crew, run_command, tires

from planner.storage import planfile, plans

CAMBER = ("camber", "RF")
CAR = """
[car]
name = "Blue 17"
[settings]
camber = {RF = -3.0, LF = 2.0}
pressure = {LF = 16.0, RF = 26.0, LR = 16.0, RR = 24.0}
"""
HEAT = ("--track-temp", "90", "--air-temp", "70")


@pytest.fixture
def days(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Return a function that makes a day of the car, each a week after the one before."""
    car = tmp_path / "car.toml"
    car.write_text(CAR, "utf-8")
    clock = [datetime.fromisoformat("2025-05-03T09:00:00-05:00")]
    monkeypatch.setattr(planfile, "now", lambda: clock[0])

    def made(name: str, *options: object, per_degree: float = -6.0, averages=GOOD) -> Crew:
        crew = Crew(tmp_path / f"{name}.toml")
        crew.start("--car", car, "--track", "Näsby", *options)
        split = 24.0
        for _ in range(2):
            crew.record(tires(averages, split={"RF": split}), *HEAT)
            crew.choose("--own", "camber:RF:1", "--reason", "to learn")
            crew.made()
            split += per_degree
        crew.record(tires(averages, split={"RF": split}), *HEAT)
        clock[0] += timedelta(days=7)
        return crew

    made.clock = clock  # type: ignore[attr-defined]
    return made


def begin(tmp_path: Path, *options: object):
    """Begin another day; return its plan, and what was said."""
    answer = run_command(
        "start", tmp_path / "next.toml", "--car", tmp_path / "car.toml", *options, "--json"
    )
    assert answer.status == 0, answer.out
    return planfile.load(tmp_path / "next.toml"), " ".join(answer.err.split())


def believed(tmp_path: Path):
    Crew(tmp_path / "next.toml").record(RF_INNER_HOT)
    return plans.open_plan(tmp_path / "next.toml").day.known.sensitivity(CAMBER, "split.RF")


def test_what_earlier_days_taught_is_used_without_asking(tmp_path, days) -> None:
    days("one")
    days("two")
    _, said = begin(tmp_path, "--track", "Näsby")
    assert "2 days of Blue 17, 2 of them at this track: camber answers known." in said
    assert "--from-scratch" in said
    at = believed(tmp_path)
    assert -7.5 < at.mean < -5.5  # the rules say -12
    assert at.sd < 3.5  # the rules say 5


def test_more_days_that_agree_make_it_surer_and_days_that_differ_do_not(tmp_path, days) -> None:
    spreads = []
    for number, per_degree in enumerate((-6.0, -6.0, -6.0, -20.0)):
        days(f"{number}", per_degree=per_degree)
        plan, _ = begin(tmp_path)
        spreads.append(believed(tmp_path).sd)
        for left in tmp_path.glob("next.toml*"):
            left.unlink()
    assert plan.taught.answers
    assert spreads[0] > spreads[1] > spreads[2]
    assert spreads[3] > spreads[2]


def test_from_scratch_leaves_it(tmp_path, days) -> None:
    days("one")
    plan, said = begin(tmp_path, "--from-scratch")
    assert said == ""
    assert (plan.taught.answers, plan.usual, dict(plan.in_balance)) == ((), None, {})
    assert believed(tmp_path).mean == pytest.approx(-12.0)


def test_the_plan_is_whole_without_the_earlier_days(tmp_path, days) -> None:
    earlier = days("one")
    begin(tmp_path, "--track", "Näsby")
    before = believed(tmp_path)
    for path in tmp_path.glob("one.toml*"):
        path.unlink()
    assert not earlier.path.exists()
    after = plans.open_plan(tmp_path / "next.toml").day.known.sensitivity(CAMBER, "split.RF")
    assert after == before


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace('name = "Blue 17"', 'name = "Red 4"'),
        lambda text: text.replace('name = "Blue 17"', 'name = "Blue 17"\nid = "K-9"'),
        lambda text: text.replace('name = "Blue 17"\n', ""),
    ],
    ids=["another name", "an id of its own", "no name"],
)
def test_another_car_hears_nothing_of_it(tmp_path, days, change) -> None:
    days("one")
    car = tmp_path / "car.toml"
    car.write_text(change(CAR), "utf-8")
    plan, said = begin(tmp_path)
    assert (plan.taught.answers, said) == ((), "")


def test_what_cannot_be_used_is_skipped_with_a_word_and_left_as_it_is(tmp_path, days) -> None:
    days("sound")
    edited = days("edited", per_degree=-2.0)
    edited.path.write_text(edited.text().replace('reason = "to learn"', 'reason = "why"'), "utf-8")
    (tmp_path / "newer.toml").write_text("format = 99\n", "utf-8")
    (tmp_path / "torn.toml").write_text("format = 1\ncreated = ", "utf-8")
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    _, said = begin(tmp_path)
    for word in (
        "edited.toml skipped: edited by hand",
        "newer.toml skipped: This plan is of format 99",
        "torn.toml skipped: ",
        "1 day of Blue 17: camber answers known.",
    ):
        assert word in said
    assert all(path.read_bytes() == content for path, content in before.items())
    assert -9.0 < believed(tmp_path).mean < -6.0


def test_a_day_counts_by_its_corrected_entries(tmp_path, days) -> None:
    crew = days("one")
    crew.tries("amend", 3, "--actual", "camber:RF:2", "--reason", "two shims, not one")
    crew.tries("amend", 6, "--actual", "camber:RF:2", "--reason", "two shims, not one")
    begin(tmp_path)
    assert believed(tmp_path).mean > -5.5  # 6 degF for two degrees


def test_what_this_day_learns_is_not_what_it_was_told(tmp_path, days) -> None:
    # The second day's own word must not carry the first day's into the third again.
    days("one")
    days("two", "--from-scratch")
    plan, _ = begin(tmp_path)
    told = plan.taught
    for path in (*tmp_path.glob("two.toml*"), *tmp_path.glob("next.toml*")):
        path.unlink()
    now = planfile.now
    with pytest.MonkeyPatch.context() as patch:  # the same day, begun from the first one this time
        patch.setattr(planfile, "now", lambda: now() - timedelta(days=7))
        days("two")
    days.clock[0] -= timedelta(days=7)
    again, _ = begin(tmp_path)
    assert again.taught.answers == told.answers
    for row, was in zip(again.taught.rows, told.rows, strict=True):
        assert row == pytest.approx(was, abs=0.002)


def test_a_first_run_out_of_character_is_noticed(tmp_path, days) -> None:
    for name in ("one", "two", "three"):
        days(name)
    begin(tmp_path, "--track", "näsby ")
    crew = Crew(tmp_path / "next.toml")
    hot = tires(GOOD | {"RF": GOOD["RF"] + 25.0}, split={"RF": 24.0})
    crew.record(hot, *HEAT)
    said = " ".join(run_command("status", crew.path).out.split())
    assert "RF average 25.0 °F hotter than this setup has been here (215 °F, give or take" in said
    assert "by 3 days" in said
    assert "LF average" not in said


def test_a_first_run_as_ever_is_not_remarked_on(tmp_path, days) -> None:
    for name in ("one", "two", "three"):
        days(name)
    begin(tmp_path, "--track", "Näsby")
    crew = Crew(tmp_path / "next.toml")
    warmer = {corner: at + 8.0 for corner, at in GOOD.items()}  # on a track 16 degF hotter
    crew.record(tires(warmer, split={"RF": 23.0}), "--track-temp", "106", "--air-temp", "70")
    assert "has been here" not in run_command("status", crew.path).out


def test_what_the_first_run_should_read_is_said_before_it(tmp_path, days) -> None:
    for name in ("one", "two"):
        days(name)
    begin(tmp_path, "--track", "Näsby")
    said = " ".join(run_command("status", tmp_path / "next.toml").out.split())
    assert "Learned on earlier days, and used first: RF camber." in said
    assert "By 2 days here the first run should average LF 210 ± " in said
    assert "on a track of 90." in said
    # The rest of the plan is as sound as its numbers.
    path = tmp_path / "next.toml"
    path.write_text(path.read_text("utf-8").replace('"crown.RR"', '"crown.XX"'), "utf-8")
    answer = run_command("status", path, "--json")
    assert (answer.status, answer.error["code"]) == (3, "bad-key")
    assert "usual.figures: these are wanted" in answer.error["message"]


def test_at_another_track_nothing_is_said_of_the_first_run(tmp_path, days) -> None:
    days("one")
    plan, said = begin(tmp_path, "--track", "Elsewhere")
    assert plan.usual is None
    assert "1 day of Blue 17: camber answers known." in said


def test_the_car_is_taken_over_as_it_was_left(tmp_path, days) -> None:
    last = days("one", "--units", "metric", "--laps", "12")
    answer = run_command("start", tmp_path / "next.toml", "--from", last.path, "--json")
    assert answer.status == 0
    settings = {
        f"{each['knob']}.{each['corner']}": each["value"] for each in answer.data["settings"]
    }
    assert settings["camber.RF"] == -1.0  # -3 and twice a degree
    plan = planfile.load(tmp_path / "next.toml")
    assert (plan.units, plan.laps, plan.track) == ("metric", 12, "Näsby")
    assert "The car as one.toml left it." in answer.err
    assert "1 day of Blue 17" in answer.err


def test_a_car_file_beside_it_is_refused(tmp_path, days) -> None:
    last = days("one")
    answer = Crew(tmp_path / "next.toml").tries(
        "start", "--from", last.path, "--car", tmp_path / "car.toml"
    )
    assert (answer.status, answer.error["code"]) == (2, "usage")
    assert not (tmp_path / "next.toml").exists()


def test_the_guide_says_it_too_and_asks_for_no_car(days, guide_with) -> None:
    days("one")
    guide = guide_with("next.toml", "--from", "one.toml", columns=200)
    said = guide.sees("RF .*> ")
    assert "1 day of Blue 17, 1 of them at this track: camber answers known." in said
    assert "car file" not in said
