"""The day ahead: a forecast that stands still, answers to certainty, and comes about true."""

from datetime import timedelta
from itertools import pairwise

import attrs
import pytest
from garage import AT, FAULTS, RF_INNER_HOT, TIGHT, Crew, book, tires
from invented import clock, driven_days, new_plan

from planner.advice import ahead, drawn_cars
from planner.advice.ahead import DayAhead
from planner.advice.outlook import Outlook
from planner.files import bundled
from planner.plan import budget, moves
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.plan.steps import Budget
from planner.rulebook.rules import TUNING_ORDER
from planner.run.readings import Run
from planner.trade.numbers import USUAL_CERTAINTY
from planner.words import budget as budget_words

# Where numbers are weighed against each other; the rest needs no more than that there are some.
all_draws = pytest.mark.all_draws

# A car with work in several stages.
BAD = tires(TIGHT, {"RF": 24.0, "LF": -16.0}, {"RR": 7.0})


def after_one_run(readings=BAD, **plan) -> Day:
    rules = book()
    day = replay(new_plan(rules, **plan), rules)
    return moves.record(day, Run(readings), next(clock()))


def ahead_of(day: Day) -> DayAhead:
    known = Outlook(day.known, day.book)
    return DayAhead(known, day.plan.certainty, choosing=day.due == "choice")


def test_the_same_question_gets_the_same_answer() -> None:
    day = after_one_run()
    assert ahead_of(day).forecast() == ahead_of(day).forecast()
    assert budget.forecast(day) == budget.forecast(after_one_run())


def test_a_forecast_is_a_whole_number_of_runs_and_the_mean_lies_between() -> None:
    forecast = ahead_of(after_one_run()).forecast()
    assert 1 <= forecast.low <= forecast.runs <= forecast.high
    assert forecast.minutes > 12 * forecast.runs  # a run and the work before it
    assert 0 < forecast.in_band <= 1


@pytest.mark.sweep
@all_draws
def test_more_certainty_costs_runs_and_does_not_bring_less_of_the_car_in_band() -> None:
    # Each forecast rests on 80 cars that may be, so several are averaged.
    rows = [
        budget.trade_off(after_one_run(readings))
        for readings in (BAD, RF_INNER_HOT, tires(TIGHT), tires(crown={"LF": 5.0, "RR": -5.0}))
    ]
    sure = [[certainty for certainty, _ in row] for row in rows]
    assert sure == [[0.5, 0.6, 0.7, 0.8, 0.9]] * len(rows)
    runs = [sum(each.runs for _, each in column) / 4 for column in zip(*rows, strict=True)]
    well = [sum(each.in_band for _, each in column) / 4 for column in zip(*rows, strict=True)]
    print(f"\ncertainty 0.5 to 0.9: {runs} runs, {well} in band")  # noqa: T201
    assert all(more >= less - 0.5 for less, more in pairwise(runs))
    # Two shares of 320 cars differ by chance by 0.022 (one standard deviation).
    assert all(more >= less - 0.06 for less, more in pairwise(well))
    assert runs[-1] > runs[0] + 1
    assert well[-1] >= well[0]


@all_draws
def test_the_more_there_is_to_mend_the_longer_it_takes() -> None:
    little, much = (
        budget.forecast(after_one_run(readings)).expected for readings in (RF_INNER_HOT, BAD)
    )
    assert much.runs > little.runs
    assert much.minutes > little.minutes


@all_draws
def test_leaving_a_stage_out_takes_no_more_runs() -> None:
    trial = ahead_of(after_one_run())
    whole = trial.forecast()
    shorter = {stage: trial.forecast(without=stage).runs for stage in TUNING_ORDER}
    assert all(runs <= whole.runs + 1.5 for runs in shorter.values())  # of 80 cars, give or take
    for stage in ("camber", "pressure", "balance"):  # where this car has a fault
        assert shorter[stage] < whole.runs


def test_before_a_run_and_after_the_day_there_is_nothing_to_forecast() -> None:
    rules = book()
    assert budget.forecast(replay(new_plan(rules), rules)) is None
    assert budget.trade_off(driven_days()[0].day) == ()


# --- what there is for the day ------------------------------------------------------------------


def test_without_a_budget_nothing_is_said_of_fitting() -> None:
    fit = budget.forecast(after_one_run())
    assert (fit.runs_left, fit.fits, fit.leave_out) == (None, None, None)
    assert "left" not in budget_words.says(fit)


@pytest.mark.parametrize(
    ("given", "left"),
    [
        (Budget(runs=20), 19),
        (Budget(runs=1), 0),
        (Budget(sets=3), 14),  # five runs a set, one of them gone
        (Budget(sets=2, runs_per_set=3), 5),
        (Budget(runs=20, sets=1), 4),
    ],
)
def test_the_runs_left_are_those_of_the_shortest_budget(given: Budget, left: int) -> None:
    fit = budget.forecast(after_one_run(budget=given))
    assert fit.runs_left == left
    assert fit.fits is (round(fit.expected.runs + 1e-9) <= left)
    assert f"; there is enough for {left}" in budget_words.says(fit)


def test_minutes_are_turned_into_runs_by_what_a_run_takes() -> None:
    day = after_one_run(budget=Budget(minutes=120))
    fit = budget.forecast(day)
    gone = (day.plan.step[-1].time - day.plan.created) / timedelta(minutes=1)
    each = fit.expected.minutes / fit.expected.runs
    assert fit.runs_left == int((120 - gone) / each)


@all_draws
def test_a_day_that_will_not_fit_names_the_stage_that_leaves_least_out_of_band() -> None:
    readings = tires(TIGHT | {"RF": 232.0, "RR": 205.0}, crown={"RR": 5.0})
    trial = ahead_of(after_one_run(readings))
    whole = trial.forecast()
    enough = {s: trial.forecast(without=s).runs for s in TUNING_ORDER}
    left = int(whole.runs + 0.5) - 1  # a run too few
    fit = budget.forecast(after_one_run(readings, budget=Budget(runs=left + 1)))
    assert fit.fits is False
    bring = [stage for stage in reversed(TUNING_ORDER) if enough[stage] <= left]
    assert bring, "no stage would make it fit: take other readings"
    loss = {stage: trial.outlook.loss_of(stage, {}) for stage in bring}
    least = min(bring, key=loss.__getitem__)
    assert fit.leave_out == least
    assert f"it will not fit; leave out the {least} stage" in budget_words.says(fit)


@all_draws
def test_a_stage_whose_change_is_made_is_not_left_out() -> None:
    for left in (2, 3, 4):
        day = after_one_run(tires(TIGHT, {"RF": 35.0}, {"RR": 7.0}), budget=Budget(runs=1 + left))
        day = moves.made(moves.choose(day, "1", AT), AT)
        fit = budget.forecast(day)
        assert fit.leave_out != "camber"


@all_draws
def test_with_no_runs_left_no_stage_is_enough_but_the_one_that_saves_most_is_named() -> None:
    trial = ahead_of(after_one_run())
    left = ahead.leave_out(trial, 0.0)
    assert left is not None
    fewest = min(trial.forecast(without=stage).runs for stage in TUNING_ORDER)
    assert trial.forecast(without=left).runs == fewest  # two stages may save as much
    assert ahead.leave_out(trial, 30.0) is None


# --- the command --------------------------------------------------------------------------------


def test_the_table_marks_the_plans_own_certainty(begun: Crew, cli) -> None:
    begun.record(BAD)
    answer = cli("ahead", begun.path)
    assert answer.status == 0
    rows = [line for line in answer.out.splitlines() if line.startswith("  0.")]
    assert [row.split()[0] for row in rows] == ["0.5", "0.6", "0.7", "0.8", "0.9"]
    assert [row.split()[1] == "*" for row in rows] == [False, False, False, True, False]
    assert "more runs" in answer.out


def test_json_and_table_say_the_same(begun: Crew, cli) -> None:
    begun.record(BAD)
    data = cli("ahead", begun.path, "--json").data
    table = cli("ahead", begun.path).out
    assert data["says"] in table
    for row in data["trade_off"]:
        assert set(row) == {"certainty", "runs", "low", "high", "minutes", "in_band"}
        assert f"{row['runs']:4.1f}  ({row['low']} to {row['high']})" in table
    (own,) = [row for row in data["trade_off"] if row["certainty"] == USUAL_CERTAINTY]
    assert {key: data[key] for key in own if key != "certainty"} == {
        key: value for key, value in own.items() if key != "certainty"
    }


@all_draws  # with fewer the shares saved are as large as their chance
def test_the_command_gives_the_budget_of_the_start(crew: Crew) -> None:
    crew.start("--runs", 2)
    assert "ahead" not in crew.record(BAD)  # worked out when it is asked for
    status = crew.tries("ahead").data
    assert (status["runs_left"], status["fits"]) == (1, False)
    assert status["leave_out"] in TUNING_ORDER


def test_before_the_first_run_the_command_is_refused(begun: Crew) -> None:
    answer = begun.tries("ahead")
    assert (answer.status, answer.error["code"]) == (2, "no-forecast")
    assert (answer.error["message"], answer.error["try"]) == (
        "There is nothing to forecast: no run judges the setup yet.",
        "record a run first",
    )


def test_of_a_finished_day_nothing_is_forecast_and_no_run_is_asked_for(cli) -> None:
    error = cli("ahead", bundled.folder("sample_plans") / "finished.toml", "--json").error
    assert error["code"] == "no-forecast"
    assert error["message"] == "There is nothing to forecast: the day is complete."
    assert "record" not in error["try"]


# --- and it comes about -------------------------------------------------------------------------


@pytest.mark.sweep
@all_draws
def test_the_range_holds_the_number_of_runs_the_day_then_took() -> None:
    driven = driven_days()
    inside, off = 0, 0.0
    for each in driven:
        expected = budget.forecast(each.one_run).expected
        still_to_come = each.runs - 1
        inside += expected.low <= still_to_come <= expected.high
        off += expected.runs - still_to_come
    mean_off = off / len(driven)
    print(  # noqa: T201
        f"\n80 % range after the first run: right {inside} times of {len(driven)}; "
        f"the forecast is {mean_off:+.1f} runs off on average"
    )
    assert inside >= 0.7 * len(driven)
    assert -1 < mean_off < 2  # the planner does a little better than the crew it foresees


@pytest.mark.parametrize("stage", TUNING_ORDER)
def test_there_is_a_forecast_in_every_stage(stage: str) -> None:
    day = after_one_run(FAULTS[stage])
    assert day.stage == stage
    forecast = budget.forecast(day).expected
    assert 2 <= forecast.runs < drawn_cars.MOST_RUNS  # a change, and a run to confirm
    assert attrs.asdict(forecast) == attrs.asdict(budget.forecast(day).expected)


@all_draws
def test_what_is_chosen_or_made_is_foreseen_before_it_is_read() -> None:
    day = after_one_run(RF_INNER_HOT)
    before = budget.forecast(day).expected
    chosen = moves.choose(day, "1", AT)
    made = moves.made(chosen, AT)
    for each in (chosen, made):
        now = budget.forecast(each).expected
        assert abs(now.runs - before.runs) < 1
    assert budget.forecast(made).expected.minutes < budget.forecast(chosen).expected.minutes
    # A turn the wrong way is to be mended, though its run teaches how the camber answers.
    harm = moves.choose_own(day, [("camber", "RF", -4.0)], "the wrong way", AT)
    assert budget.forecast(harm).expected.runs > before.runs + 0.3
