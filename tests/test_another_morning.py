"""Another morning, another set of tires: the car is run as it stands before a change is chosen."""

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from garage import GOOD, TIGHT, Crew, run_command, stand, tires
from test_guide import CHOICE, FIRST_TIRE, day_of

from planner.learning import levels
from planner.plan import baseline
from planner.storage import planfile

WHY = ("--reason", "no time for it")
JUST_TIGHT = tires(GOOD | {"RF": 221.5})  # balance +11.5, a degree and a half past its limit
REASON = r"why move on> "


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], None]:
    """Return what puts the clock ahead by so many hours."""
    real, ahead = planfile.now, [0.0]
    monkeypatch.setattr(planfile, "now", lambda: real() + timedelta(hours=ahead[0]))

    def later(hours: float) -> None:
        ahead[0] += hours

    return later


def advice(crew: Crew) -> str:
    return " ".join(crew.status()["advice"])


def test_a_fault_no_larger_than_what_a_night_does_calls_for_a_run_first(crew, clock) -> None:
    crew.start()
    assert stand(crew.record(JUST_TIGHT)) == ("balance", "choice")
    clock(15)
    status = crew.status()
    assert stand(status) == ("balance", "run")
    assert status["candidates"] == []
    said = advice(crew)
    assert re.match(r"It is 15 hours later: .* not what they were\. Run the car as it stands", said)
    assert "is out by 1.5 °F, and that alone may have done 4.0 °F." in said
    refused = crew.tries("choose", "1")
    assert refused.error["code"] == "not-due"
    assert "a run is due" in refused.error["message"]
    assert stand(crew.record(tires(TIGHT), "--cold", "LF=18", "--track-temp", 80))[1] == "choice"
    assert stand(crew.changed()) == ("balance", "run")


def test_a_fault_that_no_night_explains_is_chosen_on_at_once(crew, clock) -> None:
    crew.start()
    crew.record(tires(split={"RF": 30.0}))
    clock(15)
    assert stand(crew.status()) == ("camber", "choice")
    assert "run the car as it stands first, so that weather is not taken for setup" in advice(crew)
    assert stand(crew.changed()) == ("camber", "run")


def test_a_gap_of_an_hour_calls_for_nothing(crew, clock) -> None:
    crew.start()
    crew.record(JUST_TIGHT)
    clock(1)
    assert stand(crew.status()) == ("balance", "choice")
    assert advice(crew) == ""


def test_the_crew_may_judge_by_the_run_before_with_a_reason(crew, clock) -> None:
    crew.start()
    crew.record(JUST_TIGHT)
    clock(15)
    assert crew.tries("choose", "--move-on").error["code"] == "no-reason"
    status = crew.choose("--move-on", *WHY)
    assert stand(status) == ("balance", "choice")
    assert status["left_open"] == []
    assert [step["kind"] for step in crew.why()] == ["run", "choice"]
    clock(1)
    assert stand(crew.status()) == ("balance", "choice")  # not asked twice
    assert stand(crew.changed()) == ("balance", "run")
    assert crew.tries("choose", "--move-on", *WHY).status == 2  # a change is to be judged now


def test_a_set_that_no_run_judges_yet_calls_for_one(crew) -> None:
    crew.start()
    crew.record(tires(GOOD | {"RF": 223.0}))
    status = crew.record(tires(TIGHT), "--set", "2 new", "--flag", "lockup")
    assert stand(status) == ("balance", "run")
    assert "No run on set 2 counts yet. Run the car as it stands" in advice(crew)
    assert stand(crew.choose("--move-on", *WHY)) == ("balance", "choice")
    assert advice(crew) == ""
    assert stand(crew.record(tires(TIGHT), "--set", "1")) == ("balance", "choice")


def test_a_set_that_went_on_calls_for_a_run_where_it_may_have_done_as_much(crew) -> None:
    crew.start()
    crew.record(JUST_TIGHT)
    crew.tries("note", "the good ones", "--set", "2 new")
    assert stand(crew.status()) == ("balance", "run")
    assert "No run on set 2 counts yet." in advice(crew)
    assert [each["laps"] for each in crew.status()["sets"]] == [10, 0]
    assert crew.why(2)[0]["details"][0] == {"about": "tires", "says": "set 2 (new) went on"}
    crew.tries("note", "no, the old ones again", "--set", "1")
    assert stand(crew.status()) == ("balance", "choice")
    crew.tries("note", "now", "--set", "2")
    assert stand(crew.record(tires(TIGHT))) == ("balance", "choice")
    assert [each["laps"] for each in crew.status()["sets"]] == [10, 10]


def test_the_guide_hears_of_a_set_at_the_choice(guide_with, tmp_path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(JUST_TIGHT)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("set", "set 2 new")
    said = " ".join(guide.sees(FIRST_TIRE).split())
    assert "does not name a set of tires" in said
    assert "No run on set 2 counts yet. Run the car as it stands" in said
    guide.leaves("q")
    assert day_of(tmp_path / "day.toml").tires.now.state == "new"


def test_taken_back_in_the_morning_the_run_comes_first(crew, clock) -> None:
    crew.start()
    crew.record(JUST_TIGHT)
    crew.choose("1")
    clock(15)
    assert "take the choice back and run the car as it stands first" in advice(crew)
    assert stand(crew.choose("--take-back")) == ("balance", "run")


def test_put_right_in_the_morning_the_run_still_comes_first(crew, clock) -> None:
    crew.start()
    crew.record(JUST_TIGHT)
    clock(15)
    crew.tries("note", "a fine morning")
    answer = crew.tries("amend", 1, "--tire", "RF=222/221/222", "--reason", "misread")
    assert answer.status == 0, answer.out
    assert stand(crew.status()) == ("balance", "run")
    crew.tries("amend", 1, "--tire", "RF=240/240/240", "--reason", "misread again")
    assert stand(crew.status())[1] == "choice"


@pytest.mark.parametrize(
    ("kind", "figure", "error"),
    [
        ("part", "split.RF", 1.5 * 2**0.5),
        ("part", "balance", 2.0 * 2),  # what all tires have in common cancels
        ("set", "balance", 4.0 * 2),
        ("set", "average.RF", (4.0**2 + 5.0**2) ** 0.5 * 2**0.5),
    ],
)
def test_what_a_level_may_do_to_a_figure(kind: str, figure: str, error: float) -> None:
    # Two independent levels: their variances add (by hand, from the spreads in `levels`).
    moved = {(kind, "2"): 1.0, (kind, "1"): -1.0}
    assert levels.spread(moved, figure, "left") == pytest.approx(error)


def test_the_guide_runs_first_and_can_be_told_not_to(guide_with, clock, tmp_path: Path) -> None:
    clock(-15)  # a guide in a process of its own has the real clock
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(JUST_TIGHT)
    clock(15)
    guide = guide_with("day.toml")
    said = " ".join(guide.sees(FIRST_TIRE).split())
    assert "It is 15 hours later" in said
    assert "Run the car as it stands before a change is chosen" in said
    assert "m goes on to the choice, by the run before." in said
    guide.types("m")
    guide.sees(REASON)
    guide.types("it rains at noon", "")
    guide.sees(CHOICE)
    guide.leaves("q")
    assert day_of(tmp_path / "day.toml").due == "choice"


def test_left_at_the_run_and_taken_up_again_nothing_is_lost(guide_with, clock, tmp_path) -> None:
    clock(-15)  # a guide in a process of its own has the real clock
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(JUST_TIGHT)
    clock(15)
    guide = guide_with("day.toml")
    guide.types("221 221 221")
    guide.leaves("q")
    guide = guide_with("day.toml")
    guide.sees(r"Go on with it\? \[Y/n\]> ")
    guide.types("")
    guide.sees(r"RR \(inner middle outer\)> ")
    guide.leaves("q")


def test_the_screen_says_so_too(crew, clock) -> None:
    crew.start()
    crew.record(JUST_TIGHT)
    clock(15)
    shown = " ".join(run_command("status", crew.path, "--plain").out.split())
    assert "Run the car as it stands before a change is chosen" in shown
    assert baseline.overtaken(day_of(crew.path), planfile.now())
