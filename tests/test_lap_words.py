"""The stop watch and the driver beside the temperatures: where they disagree, both are said."""

import pytest
from garage import LOOSE, TIGHT, Crew, book, tires

from planner.judging.outcomes import Outcome
from planner.judging.remarks import remarks
from planner.run import lap_times
from planner.run.readings import Run
from planner.words.remarks import says

BEFORE = tires(split={"RF": 22.0})
BETTER = tires(split={"RF": 9.0})
WORSE = tires(split={"RF": 36.0})
SLOW = "20.31,20.29,20.33,20.30,20.32,20.31"
FAST = "20.11,20.09,20.13,20.10,20.12,20.11"


def after_a_change(crew: Crew, then, first: str, second: str):
    """Return the status after a change, with the lap times of the run before and the run after."""
    crew.record(BEFORE, "--lap-times", first)
    crew.changed()
    return crew.record(then, "--lap-times", second)


def about_laps(status) -> str:
    (said,) = [sentence for sentence in status["beside"] if sentence.startswith("mean lap")]
    return said


def test_better_temperatures_and_lost_time_are_both_said(begun: Crew) -> None:
    status = after_a_change(begun, BETTER, FAST, SLOW)
    assert status["last_outcome"]["verdict"] == "better"
    said = about_laps(status)
    assert said.startswith("mean lap +0.20 ± 0.01 s: slower")
    assert said.endswith("tires moved nearer their target, but the laps got slower")


def test_worse_temperatures_and_gained_time_are_both_said(begun: Crew) -> None:
    status = after_a_change(begun, WORSE, SLOW, FAST)
    assert status["last_outcome"]["verdict"] == "worse"
    said = about_laps(status)
    assert said.startswith("mean lap -0.20 ± 0.01 s: faster")
    assert said.endswith("tires moved off target, but the laps got faster")


@pytest.mark.parametrize(("then", "first", "second"), [(BETTER, SLOW, FAST), (WORSE, FAST, SLOW)])
def test_where_watch_and_pyrometer_agree_there_is_no_but(begun: Crew, then, first, second) -> None:
    assert "but" not in about_laps(after_a_change(begun, then, first, second))


def test_laps_that_scatter_too_much_tell_nothing(begun: Crew) -> None:
    ragged = "20.0,20.9,19.8,20.6,20.1"
    said = about_laps(after_a_change(begun, BETTER, ragged, "20.2,20.8,19.9,20.7,20.0"))
    assert "unclear" in said
    assert "but" not in said


def test_one_lap_alone_says_little(begun: Crew) -> None:
    said = about_laps(after_a_change(begun, BETTER, "20.1", "20.4"))
    assert said == "mean lap +0.30 s (one lap alone says little)"


def test_without_lap_times_on_both_sides_nothing_is_said(begun: Crew) -> None:
    begun.record(BEFORE)
    begun.changed()
    status = begun.record(BETTER, "--lap-times", FAST)
    assert not any("mean lap" in sentence for sentence in status["beside"])


@pytest.mark.parametrize("verdict", ["no-change", "unclear"])
def test_a_change_without_a_clear_outcome_is_held_against_no_lap_time(verdict) -> None:
    def laps(text: str) -> Run:
        return Run(BEFORE, lap_times=tuple(float(each) for each in text.split(",")))

    (compared,) = remarks(laps(FAST), laps(SLOW), (), Outcome(verdict, 3), book())
    assert "but" not in says(compared, "us")


# --- the driver ---------------------------------------------------------------------------------


def test_a_driver_who_feels_what_the_tires_do_not_show_is_heard(begun: Crew) -> None:
    status = begun.record(tires(), "--feel", "tight", "--where", "exit")
    (said,) = status["beside"]
    assert said == (
        "the driver says tight at exit, the tires by all runs so far show neither tight nor "
        "loose: both are kept"
    )


def test_a_driver_who_says_the_opposite_of_the_tires_stands_beside_them(begun: Crew) -> None:
    (pattern,) = begun.record(tires(LOOSE), "--feel", "tight", "--where", "entry")["patterns"]
    assert pattern["id"] == "balance.loose"
    assert pattern["evidence"] == [
        "the driver says tight at entry: the tires and the driver do not agree"
    ]


def test_a_driver_who_says_the_same_is_evidence(begun: Crew) -> None:
    status = begun.record(tires(TIGHT), "--feel", "tight", "--where", "middle")
    (pattern,) = status["patterns"]
    assert pattern["evidence"] == ["the driver says the same: tight in the middle"]
    assert status["beside"] == []


@pytest.mark.parametrize("feel", [("--feel", "neutral"), ()])
def test_a_driver_who_feels_nothing_is_not_quoted(begun: Crew, feel) -> None:
    assert begun.record(tires(), *feel)["beside"] == []


# --- how a run falls off ------------------------------------------------------------------------


def test_the_fall_off_is_told_with_the_run(begun: Crew, cli) -> None:
    begun.record(tires(), "--lap-times", "20.00,20.05,20.10,20.15,20.20,20.25")
    laps = lap_times.summary((20.00, 20.05, 20.10, 20.15, 20.20, 20.25))
    assert laps.falloff == pytest.approx(0.05)
    told = " ".join(cli("why", begun.path).out.split())
    assert "0.05" in told
    assert "lap" in told
