"""Weather is not taken for setup: a hotter track, and what the crew should do about drift."""

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from garage import GOOD, Crew, tires

from planner.plan import day as days
from planner.plan import drift
from planner.plan.drift import BLINDFOLD
from planner.storage import plans
from planner.words.drift import says

SPLIT = {"RF": 22.0}
# Every tire 10 degF hotter, as on a track that has warmed by about 20.
HOTTER = {corner: value + 10.0 for corner, value in GOOD.items()}
PRESSURE = ("pressure", "RF")


def day_of(crew: Crew) -> days.Day:
    return plans.open_plan(crew.path).day


def learned(path: Path, warmer: float, *, written_down: bool) -> float:
    """Return what air is believed to do to the right front's average, after four runs.

    Air is taken out of all four tires between the runs and does nothing; the track warms by so
    much each time, and every tire by half of it.
    """
    crew = Crew(path)
    crew.start()
    for run in range(4):
        averages = {corner: value + 0.5 * warmer * run for corner, value in GOOD.items()}
        weather = ("--track-temp", 100 + warmer * run) if written_down else ()
        crew.record(tires(averages, split=SPLIT), *weather)
        if run < 3:
            out = [text for corner in GOOD for text in ("--own", f"pressure:{corner}:-1")]
            crew.choose(*out, "--reason", "to see")
            crew.made()
    return day_of(crew).known.sensitivity(PRESSURE, "average.RF").mean


def test_a_hotter_track_that_was_written_down_is_not_taken_for_an_answer(tmp_path) -> None:
    steady = learned(tmp_path / "steady.toml", 0.0, written_down=True)
    blind = learned(tmp_path / "blind.toml", 10.0, written_down=False)
    recorded = learned(tmp_path / "recorded.toml", 10.0, written_down=True)
    # Air out and tires hotter: without the weather it looks as if the one brought the other.
    assert blind < steady - 0.4
    assert abs(recorded - steady) < 0.4 * abs(blind - steady)


def test_all_four_tires_hotter_make_no_change_a_success(begun: Crew) -> None:
    begun.record(tires(GOOD, split=SPLIT), "--track-temp", 100)
    begun.changed()
    outcome = begun.record(tires(HOTTER, split=SPLIT), "--track-temp", 120)["last_outcome"]
    # The split it was to mend stands where it stood.
    assert outcome["verdict"] == "no-change"
    assert "RF split +22.0 °F → +22.0 °F" in outcome["says"]


def test_lap_times_name_the_weather_that_changed_with_them(begun: Crew) -> None:
    laps = "20.10,20.12,20.11,20.13,20.12"
    quicker = "19.90,19.92,19.91,19.93,19.92"
    begun.record(tires(split=SPLIT), "--track-temp", 100, "--lap-times", laps)
    begun.changed()
    told = begun.record(tires(split={"RF": 10.0}), "--track-temp", 88, "--lap-times", quicker)[
        "beside"
    ]
    assert any("faster (the track changed too)" in sentence for sentence in told)


# --- advice -------------------------------------------------------------------------------------


def advised(crew: Crew) -> list[str]:
    advice = crew.status()["advice"]
    day = day_of(crew)
    assert advice == [says(each, day.plan.units) for each in drift.advice(day)]
    return advice


def test_on_a_steady_track_there_is_no_advice(begun: Crew) -> None:
    begun.record(tires(split=SPLIT), "--track-temp", 100)
    assert advised(begun) == []
    begun.changed()
    begun.record(tires(split={"RF": 14.0}), "--track-temp", 101)
    assert advised(begun) == []


@pytest.mark.parametrize("now", [130, 70])
def test_drift_that_cannot_be_told_from_effect_calls_for_the_baseline(begun, now: int) -> None:
    begun.record(tires(split=SPLIT), "--track-temp", 100)
    begun.changed()
    begun.record(tires(split={"RF": 14.0}), "--track-temp", now)
    (advice,) = advised(begun)
    hotter = "hotter" if now > 100 else "cooler"
    assert f"the track is {abs(now - 100):.1f} °F {hotter} than it was" in advice
    assert "No extra run now" in advice
    assert "Repeat the starting setup" in advice


def test_before_any_change_there_is_no_baseline_to_go_back_to(begun: Crew) -> None:
    begun.record(tires(), "--track-temp", 100)
    begun.record(tires(), "--cold", "LF=10", "--track-temp", 130)
    assert not any("the starting setup" in each for each in advised(begun))


def test_the_drift_is_told_in_the_plans_own_unit(crew: Crew) -> None:
    crew.start("--units", "metric")
    celsius = {c: tuple((v - 32) / 1.8 for v in three) for c, three in tires(split=SPLIT).items()}
    crew.record(celsius, "--track-temp", 30)
    crew.changed()
    crew.record(celsius, "--track-temp", 50)
    (advice,) = advised(crew)
    assert "20.0 °C hotter than it was" in advice


def test_runs_without_a_track_temperature_bring_the_advice_to_write_it_down(begun: Crew) -> None:
    for number, split in enumerate((30.0, 26.0, 22.0, 20.0), start=1):
        begun.record(tires(split={"RF": split}))
        advice = advised(begun)
        asked = any(each.startswith("write down the track temperature") for each in advice)
        assert asked == (number >= BLINDFOLD)
        begun.changed()


def test_who_begins_to_write_it_down_is_not_told_to(begun: Crew) -> None:
    for split, weather in ((30.0, ()), (26.0, ()), (22.0, ()), (20.0, ("--track-temp", 100))):
        begun.record(tires(split={"RF": split}), *weather)
        assert advised(begun) == []
        begun.changed()


def test_who_writes_it_down_is_not_told_to(begun: Crew) -> None:
    for split in (30.0, 26.0, 22.0, 20.0):
        begun.record(tires(split={"RF": split}), "--track-temp", 100)
        assert advised(begun) == []
        begun.changed()


# --- another morning --------------------------------------------------------------------------


def hours_later(crew: Crew, step: int, hours: float, before: float = 0.0) -> None:
    """Let the steps before one have been stored so many hours before it; by hand, in the file."""
    found = re.findall(r"(?m)^time = (.*)$", crew.text())
    text = crew.text()
    head, *parts = re.split(r"(?m)^time = .*$", text)
    last = datetime.fromisoformat(found[-1]) - timedelta(hours=before)
    times = [last - timedelta(hours=hours if n < step else 0) for n in range(1, len(found) + 1)]
    made = [f"time = {at.isoformat(sep=' ')}" for at in times]
    crew.path.write_text(head + "".join(f"{t}{p}" for t, p in zip(made, parts, strict=True)))


def test_a_run_on_another_morning_asks_for_cold_pressures_and_the_track(begun: Crew) -> None:
    begun.record(tires(split=SPLIT))
    begun.record(tires(split=SPLIT), "--note", "again")
    assert not any("new part" in said for said in begun.status()["advice"])
    hours_later(begun, 2, 15)
    (said,) = begun.status()["advice"]
    assert said == (
        "the last run began a new part of the day, 15 hours later. Amend it with the cold "
        "pressures and the track temperature"
    )
    begun.tries("amend", "2", "--cold", "LF=18", "--track-temp", "80", "--reason", "forgotten")
    assert begun.status()["advice"] == []


def test_a_change_before_the_first_run_of_a_morning_cannot_be_told_from_the_weather(
    begun: Crew,
) -> None:
    begun.record(tires(split=SPLIT))
    begun.changed()
    begun.record(tires(split=SPLIT), "--cold", "LF=18", "--track-temp", "80")
    hours_later(begun, 4, 15)
    (said,) = begun.status()["advice"]
    assert "weather and change cannot be told apart: go again" in said


@pytest.mark.parametrize(("hours", "other"), [(3.9, False), (4.1, True)])
def test_a_new_part_begins_hours_later(hours: float, other: bool) -> None:
    last = datetime.fromisoformat("2026-05-09T12:00:00-04:00")
    assert drift.begins_part(last, last + timedelta(hours=hours)) is other


@pytest.mark.parametrize(("hours", "other"), [(0.2, False), (1.1, True), (-0.2, False)])
def test_another_date_begins_one_where_the_tires_are_cold(hours: float, other: bool) -> None:
    # A night session past midnight goes on; a clock that was set back begins nothing.
    last = datetime.fromisoformat(f"2026-05-{'09T23:55' if hours > 0 else '10T00:05'}:00-04:00")
    assert drift.begins_part(last, last + timedelta(hours=hours)) is other


def test_the_guide_says_so_in_two_sentences_when_the_day_is_taken_up(guide_with, tmp_path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(tires(split=SPLIT))
    guide = guide_with("day.toml")
    assert "tires are cold" not in guide.sees("choice .*> ")
    guide.leaves("q")
    hours_later(crew, 2, 0, before=15)
    guide = guide_with("day.toml")
    said = " ".join(guide.sees("choice .*> ").split())
    assert "It is 15 hours later: the tires are cold, and track and air are not what" in said
    assert "run the car as it stands first, so that weather is not taken for setup" in said
    guide.leaves("q")
