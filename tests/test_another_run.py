"""Going again unchanged where a choice is due: what it settles, and where the plan goes then."""

from math import sqrt

import numpy as np
import pytest
from garage import RR_OVER, Crew, day_of, run_command, stand, tire_options, tires
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from test_guide import CAMBERED, CHOICE, IN_BAND, kinds, plan_at_choice
from test_guide import day_of as opened

from planner.advice.another_run import another_run, chance_settled
from planner.learning.observed import Observation
from planner.learning.response import learn
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, standard_error

BARELY_OVER = tires(crown={"RR": 4.0})


def test_a_second_run_that_reads_in_band_takes_the_fault_off_the_table(crew: Crew) -> None:
    crew.start()
    first = crew.record(RR_OVER)
    assert stand(first) == ("pressure", "choice")
    after = crew.record(tires(crown={"RR": -6.0}))
    assert stand(after) == ("confirm", "run")
    assert after["round"] == 1
    assert "no stage shows a fault" in crew.why(2)[0]["details"][-1]["says"]


def test_a_second_run_is_judged_together_with_the_first(crew: Crew) -> None:
    crew.start()
    crew.record(RR_OVER)
    (shown,) = [p for p in crew.record(tires(crown={"RR": 8.0}))["patterns"] if p["stage"]]
    assert (shown["id"], shown["value"]) == ("pressure.over", pytest.approx(7.0, abs=0.2))


def test_a_second_run_that_judges_nothing_leaves_the_choice_as_it_was(crew: Crew) -> None:
    crew.start()
    offered = crew.record(RR_OVER)["candidates"]
    spoiled = crew.record(tires(), "--flag", "lockup")
    assert stand(spoiled) == ("pressure", "choice")
    assert spoiled["candidates"] == offered
    assert "the choice is still due" in crew.why(2)[0]["details"][-1]["says"]
    crew.choose(1)
    assert stand(crew.choose("--take-back")) == ("pressure", "choice")


def test_a_run_put_right_to_judge_nothing_leaves_what_the_other_run_shows(crew: Crew) -> None:
    crew.start()
    crew.record(RR_OVER)
    crew.record(tires(crown={"RR": -6.0}))
    amended = crew.tries("amend", "2", "--flag", "lockup", "--reason", "seen on the film").data
    assert stand(amended) == ("pressure", "choice")
    amended = crew.tries("amend", "1", "--flag", "lockup", "--reason", "and that one").data
    assert stand(amended) == ("pressure", "run")


def test_the_same_run_is_not_stored_twice_unless_that_is_said(crew: Crew) -> None:
    crew.start()
    crew.record(RR_OVER)
    before = crew.path.read_bytes()
    assert crew.tries("record", *tire_options(RR_OVER)).error["code"] == "same-run"
    assert crew.path.read_bytes() == before
    assert crew.record(RR_OVER, "--note", "ran again")["step"] == 2


def test_what_another_run_would_settle_stands_beside_the_offers(crew: Crew) -> None:
    crew.start()
    crew.record(BARELY_OVER)
    again = crew.status()["again"]
    assert again["minutes"] == 12
    assert "RR crown" in again["says"]
    assert f"r. {again['says']}"[:40] in run_command("status", crew.path, "--plain").out
    (crown,) = [each for each in again["unsettled"] if each["figure"] == "crown.RR"]
    assert 0.5 < crown["out"] < 0.84
    crew.choose(1)
    assert crew.status()["again"] is None


def test_after_one_run_a_second_halves_the_variance_and_the_chance_is_the_closed_form() -> None:
    # One run and a flat base: the figure is N(y, n²), after another N(m', n²/2), m' ~ N(y, n²/2).
    day = day_of(BARELY_OVER)
    found = another_run(day.situation("pressure"))
    (crown,) = [each for each in found.unsettled if each.figure == "crown.RR"]
    error = standard_error("crown.RR", day.book.noise)
    edge = day.book.edges("crown.RR")[1]
    assert edge is not None
    beyond = day.known.estimate("crown.RR").mean - edge
    assert crown.out == pytest.approx(stats.norm.cdf(beyond / error))
    w = after = error / sqrt(2)
    new_mean = stats.norm(beyond, w)
    z = stats.norm.ppf(0.84) * after
    assert crown.settles == pytest.approx(new_mean.sf(z) + new_mean.cdf(-z), abs=1e-9)


def test_the_spread_after_another_run_is_that_of_learning_from_it() -> None:
    known = day_of(BARELY_OVER).known
    seen = Observation(dict.fromkeys(BASE_FIGURES, 1.0))
    first, second = (learn([seen] * n, known.priors) for n in (1, 2))
    names = ("balance", "front", "crown.RR", "average.LF", "versus_others.RF")
    now, after = first.after_another_run(names)
    assert [each.sd for each in now] == pytest.approx([first.estimate(n).sd for n in names])
    assert after == pytest.approx([second.estimate(n).sd for n in names])


@given(st.floats(-6, 6), st.floats(0.5, 6), st.floats(0.05, 0.99))
def test_the_chance_to_settle_is_what_drawing_runs_finds(
    mean: float, sd: float, share: float
) -> None:
    after = sd * share
    drawn = np.random.default_rng(7).normal(mean, sqrt(sd**2 - after**2), 20_000)
    known = np.abs(drawn) >= stats.norm.ppf(0.84) * after
    assert chance_settled(Estimate(mean, sd), after) == pytest.approx(known.mean(), abs=0.02)


# --- at the guide -----------------------------------------------------------------------------


def test_the_guide_takes_another_run_at_the_choice(guide_with, tmp_path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with(path.name)
    assert "r again" in " ".join(guide.sees(CHOICE).split())
    guide.types("r")
    assert "Again, nothing changed: a run of 10 laps" in guide.sees(r"RF \(.*\)> ")
    guide.types("b")
    guide.sees(CHOICE)
    guide.types("r", " ".join(IN_BAND), "", "")
    guide.sees(r"RF \(.*\)> |choice .*> ")
    guide.leaves("q")
    assert kinds(path) == ["run", "run"]
    assert opened(path).good[-1].run.tires["RF"] == (215.0, 215.0, 215.0)


@pytest.mark.parametrize("how", ["q", "killed", "ctrl-c"])
def test_another_run_half_typed_is_taken_up_again(guide_with, tmp_path, how: str) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with(path.name)
    guide.sees(CHOICE)
    guide.types("again", CAMBERED[0])
    guide.sees(r"RR \(.*\)> ")
    guide.leaves(how)
    guide = guide_with(path.name)
    guide.sees(r"Go on with it\? \[Y/n\]> ")
    guide.types("")
    guide.sees(r"RR \(.*\)> ")
    guide.types("b", "b")
    guide.sees(r"go back to the choice\? \[y/N\]> ")
    guide.types("y")
    guide.sees(CHOICE)
    guide.leaves("q")
    assert kinds(path) == ["run"]
    assert not list(tmp_path.glob(".*.draft"))


# --- at the end of the day ------------------------------------------------------------------------


def test_a_complete_day_says_what_one_more_run_would_bring(crew: Crew) -> None:
    crew.start()
    crew.record(tires())
    status = crew.record(tires())
    assert status["due"] == "nothing"
    day = opened(crew.path)
    assert 0 < day.one_more_run < status["expected_out"]
    told = f"{status['expected_out']:.2f} expected out; one more run, unchanged: "
    assert told + f"{day.one_more_run:.2f}." in run_command("status", crew.path, "--plain").out


def test_a_confirming_run_says_what_it_is_to_leave(crew: Crew) -> None:
    crew.start()
    status = crew.record(tires())
    assert stand(status) == ("confirm", "run")
    left = opened(crew.path).one_more_run
    assert left < status["expected_out"]
    assert f"{left:.2f} expected out after it." in run_command("status", crew.path, "--plain").out


def test_where_a_change_is_not_judged_yet_nothing_is_said_of_one_more_run(crew: Crew) -> None:
    crew.start()
    crew.record(RR_OVER)
    assert opened(crew.path).one_more_run is None
    crew.changed()
    assert opened(crew.path).one_more_run is None
    assert "expected out" not in run_command("status", crew.path, "--plain").out
