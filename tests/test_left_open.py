"""What the crew left as it is, with a reason: it rests, and the finished day says so."""

from math import sqrt
from pathlib import Path

import pytest
from garage import Crew, book, run_command, stand, tires
from pages import Page

from planner.judging.resting import CLEARLY, is_clearly_worse
from planner.trade.figures import compute, standard_error

WHY = "no shims left"
RF_OUT = tires(split={"RF": 16.0})


def left(crew: Crew) -> Crew:
    crew.start()
    assert stand(crew.record(RF_OUT)) == ("camber", "choice")
    assert stand(crew.choose("--move-on", "--reason", WHY)) == ("confirm", "run")
    return crew


def test_what_was_left_as_it_is_begins_no_new_round_at_the_confirming_run(crew: Crew) -> None:
    after = left(crew).record(RF_OUT, "--note", "again")
    assert stand(after) == ("complete", "nothing")
    assert after["round"] == 1
    (shown,) = [p for p in after["patterns"] if p["id"] == "camber.inner-hot"]
    assert shown["left_open"]
    assert "complete, but for what was left as it is" in crew.why(3)[0]["details"][-1]["says"]


def test_the_faults_expected_are_told_beside_what_was_left(crew: Crew) -> None:
    done = left(crew).record(RF_OUT)
    assert done["expected_out"] < 0.5  # the fault that was left is surely out, and not in this
    told = " ".join(run_command("status", crew.path).out.split())
    assert " expected out beside what was left as it is" in told


def test_it_opens_a_new_round_once_it_is_clearly_worse(crew: Crew) -> None:
    after = left(crew).record(tires(split={"RF": 40.0}))
    assert stand(after) == ("camber", "choice")
    assert (after["round"], after["left_open"]) == (2, [])
    assert "clearly worse than when it was left: RF camber" in crew.why(3)[0]["details"][-1]["says"]
    crew.choose("--move-on", "--reason", "still none")  # and rests again, as it is now
    assert stand(crew.record(tires(split={"RF": 42.0}))) == ("complete", "nothing")


def test_worse_is_beyond_the_noise_of_two_readings() -> None:
    # The error of a difference of two runs is sqrt(2) that of one; 1.645 of it is the 95 % quantile
    # of the standard normal distribution, from any table of it.
    rules = book()
    band = rules.band("camber.inner-hot:RF")
    assert band is not None
    error = CLEARLY * sqrt(2) * standard_error("split.RF", rules.noise)
    then = compute(tires(split={"RF": 12.0}))
    for more, worse in ((0.99, False), (1.01, True), (-5.0, False)):
        now = compute(tires(split={"RF": 12.0 + more * error}))
        assert is_clearly_worse(band, then, now, rules.noise) is worse


def test_another_fault_at_confirm_begins_a_round_and_the_first_one_rests_on(crew: Crew) -> None:
    after = left(crew).record(tires(split={"RF": 16.0}, crown={"RR": 6.0}))
    assert (*stand(after), after["round"]) == ("pressure", "choice", 2)
    assert [each["pattern"] for each in after["left_open"]] == ["camber.inner-hot:RF"]


def test_status_report_and_days_say_what_was_left_and_why(crew: Crew, tmp_path: Path) -> None:
    done = left(crew).record(RF_OUT, "--note", "again")
    assert done["left_open"] == [{"pattern": "camber.inner-hot:RF", "step": 2, "reason": WHY}]
    assert done["unconfirmed"] is None
    (listed,) = run_command("days", tmp_path, "--json").data["plans"]
    assert (listed["left_open"], listed["confirmed"]) == (done["left_open"], True)
    told = "RF camber, inner hot: no shims left (step 2)"
    for command in ("status", "days"):
        where = tmp_path if command == "days" else crew.path
        assert told in " ".join(run_command(command, where, "--plain").out.split())
    assert run_command("report", crew.path, "-o", tmp_path / "page.html").status == 0
    page = Page((tmp_path / "page.html").read_text("utf-8"))
    assert told in page.text
    assert "The day is complete, but for what was left as it is." in page.text


def test_a_day_ended_without_its_confirming_run_says_so(crew: Crew, tmp_path: Path) -> None:
    ended = left(crew).choose("--move-on", "--reason", "track closes")
    assert ended["unconfirmed"] == {"step": 3, "reason": "track closes"}
    (listed,) = run_command("days", tmp_path, "--json").data["plans"]
    assert (listed["complete"], listed["confirmed"]) == (True, False)
    shown = " ".join(run_command("status", crew.path, "--plain").out.split())
    assert "ended before the confirming run" in shown
    assert "the confirming run: track closes (step 3)" in shown


def test_a_run_after_the_end_confirms_the_day_after_all(crew: Crew, tmp_path: Path) -> None:
    """Once little enough is expected out of band (0.05 at the usual certainty)."""
    left(crew).choose("--move-on", "--reason", "track closes")
    for number in range(4):
        after = crew.record(RF_OUT, "--note", f"track open again {number}")
        assert stand(after) == ("complete", "nothing")
        assert (after["unconfirmed"] is None) == (after["expected_out"] <= 0.05)
    assert after["unconfirmed"] is None
    (listed,) = run_command("days", tmp_path, "--json").data["plans"]
    assert listed["confirmed"]


@pytest.mark.parametrize("reading", [20.0, 40.0])
def test_put_right_later_it_rests_by_what_it_was(crew: Crew, reading: float) -> None:
    """The run it was left on is put right: worse is counted from the right number."""
    left(crew).record(tires(split={"RF": 40.0}))
    split = reading / 2
    tire = f"RF={215 + split}/215/{215 - split}"
    amended = crew.tries("amend", "1", "--tire", tire, "--reason", "misread").data
    assert stand(amended) == (("complete", "nothing") if reading == 40.0 else ("camber", "choice"))


def test_the_day_ahead_counts_no_work_on_what_was_left(crew: Crew, tmp_path: Path) -> None:
    """Left, the fault calls for no change any more: the day ahead is that of a car without it."""
    sound = Crew(tmp_path / "sound.toml")
    sound.start()
    sound.record(tires())
    crew.start()
    crew.record(tires(split={"RF": 60.0}))
    whole = run_command("ahead", crew.path, "--json").data
    crew.choose("--move-on", "--reason", WHY)
    after, without = (run_command("ahead", c.path, "--json").data for c in (crew, sound))
    assert whole["minutes"] > without["minutes"] + 30
    assert after["minutes"] == pytest.approx(without["minutes"], rel=0.1)
    assert after["runs"] == pytest.approx(without["runs"], rel=0.1)
    assert after["in_band"] == pytest.approx(without["in_band"], abs=0.05)
