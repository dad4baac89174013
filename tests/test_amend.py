"""A wrong entry found later: corrected, nothing lost, what rested on it marked."""

import tomllib
from pathlib import Path
from typing import Any

import attrs
import pytest
from garage import AT, GOOD, RF_INNER_HOT, RR_OVER, Crew, book, run, stand, tires
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.plan import moves
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.plan.steps import AmendStep, MadeStep, Plan, RulesUsed, RunStep, Step
from planner.storage import planfile, plans
from planner.trade import knobs
from planner.trade.corners import CORNERS
from planner.trade.refusals import Refusal
from planner.words import story

FINISHED = Path(__file__).parent.parent / "sample_plans" / "finished.toml"
RULES = FINISHED.parents[1] / "rules"
OUR_ID = ('id = "paved-oval"', 'id = "ours"')
WHY = ("--reason", "read the sheet wrong")
CAR = """
[settings]
camber = {LF = 3.0, RF = -3.0, LR = 0.5, RR = -0.5}
pressure = {LF = 18.0, RF = 28.0, LR = 18.0, RR = 26.0}
[limits]
camber = {min = -4.0, max = 4.0, step = 0.25}
"""
STATE = ("stage", "due", "round", "step", "void", "readings", "figures", "patterns")


@pytest.fixture
def with_car(crew: Crew) -> Crew:
    """A crew whose settings are known."""
    car = crew.path.with_name("car.toml")
    car.write_text(CAR, "utf-8")
    crew.start("--car", car)
    return crew


def amended(crew: Crew, step: int, *options: object) -> Any:
    answer = crew.tries("amend", step, *options, *WHY)
    assert answer.status == 0, answer.out + answer.err
    same_again(crew, answer.data)
    return answer.data


def same_again(crew: Crew, answered: Any) -> None:
    """Check that what was answered is what the file says, and that it can be saved again."""
    again = crew.status()
    assert {k: again[k] for k in answered} == answered
    plan = planfile.load(crew.path)
    assert planfile.parse(tomllib.loads(planfile.dump(plan).decode()), crew.path) == plan


def details(crew: Crew, step: int, about: str) -> list[str]:
    (told,) = crew.why(step)
    return [line["says"] for line in told["details"] if line["about"] == about]


def why_table(crew: Crew) -> Any:
    return crew.tries("why", "--table").data["rows"]


def shown(status: Any) -> list[str]:
    return [f"{p['id']}:{p['corner']}" for p in status["patterns"]]


# --- the last run, on which nothing rests ---------------------------------------------------


def test_the_last_run_is_simply_judged_afresh(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    status = amended(begun, 1, "--tire", "RF=215/215/215")
    assert stand(status) == ("confirm", "run")
    assert status["readings"]["RF"] == [215.0] * 3
    assert status["figures"]["split"]["RF"] == 0.0
    assert (status["patterns"], status["step"]) == ([], 2)


def test_a_fault_that_shows_only_in_the_right_numbers_holds_its_stage(begun: Crew) -> None:
    begun.record(tires())
    begun.record(tires())
    assert stand(begun.status()) == ("complete", "nothing")
    status = amended(begun, 2, "--tire", "RF=225/215/205")
    assert stand(status) == ("camber", "choice")
    assert status["round"] == 2
    assert stand(begun.changed()) == ("camber", "run")


def test_only_what_is_given_changes(begun: Crew) -> None:
    begun.record(
        RF_INNER_HOT,
        *("--cold", "LF=18", "--cold", "RF=28", "--feel", "tight", "--note", "windy"),
        *("--lap-times", "19.9,19.8", "--track-temp", "80"),
    )
    status = amended(begun, 1, "--tire", "LF=190/191/192", "--cold", "RF=27.5")
    assert status["readings"]["LF"] == [190.0, 191.0, 192.0]
    assert status["readings"]["RF"] == [225.0, 215.0, 205.0]
    new = planfile.load(begun.path).step[1]
    assert isinstance(new, AmendStep)
    run = new.run
    assert (run.cold, run.feel, run.note) == ({"LF": 18.0, "RF": 27.5}, "tight", "windy")
    assert (run.lap_times, run.track_temp) == ((19.9, 19.8), 80.0)


def test_the_word_none_takes_a_value_away(begun: Crew) -> None:
    begun.record(
        RF_INNER_HOT,
        *("--flag", "lockup", "--laps", "4", "--feel", "tight", "--note", "x", "--delay", "50"),
        *("--cold", "LF=18", "--cold", "RF=28", "--track-temp", "80", "--order", "LF,RF,LR,RR"),
    )
    options = [f"--{name}=none" for name in ("flag", "laps", "feel", "note", "delay", "track-temp")]
    status = amended(begun, 1, *options, "--cold", "LF=none", "--order", "none")
    assert stand(status) == ("camber", "choice")
    run = planfile.load(begun.path).step[1].run
    assert (run.flags, run.laps, run.feel, run.note) == ((), None, None, "")
    assert (run.delay, run.track_temp, run.cold, run.order) == (None, None, {"RF": 28.0}, ())


def test_the_last_run_may_turn_out_to_judge_nothing_and_the_other_way_round(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    status = amended(begun, 1, "--flag", "lockup")
    assert (*stand(status), status["void"]) == ("camber", "run", "the brakes were locked")
    status = amended(begun, 1, "--flag", "none")
    assert (*stand(status), status["void"]) == ("camber", "choice", "")
    status = amended(begun, 1, "--laps", "3")
    assert stand(status) == ("camber", "run")
    assert stand(begun.record(RR_OVER)) == ("pressure", "choice")


def test_a_stage_left_as_it_was_stays_left_where_it_still_shows(begun: Crew) -> None:
    begun.record(tires(split={"RF": 20.0}, crown={"RR": 6.0}))
    assert stand(begun.choose("--move-on", "--reason", "no time")) == ("pressure", "choice")
    assert stand(amended(begun, 1, "--tire", "RR=206/216/206")) == ("pressure", "choice")
    assert stand(amended(begun, 1, "--tire", "RR=210/210/210")) == ("confirm", "run")


@pytest.mark.parametrize("amended_first", [True, False])
@pytest.mark.parametrize(
    ("right", "leads"),
    [
        (["--tire", "RR=208/214/208", "--tire", "RF=215/215/215"], ("pressure", "choice")),
        (["--tire", "RF=215/215/215"], ("confirm", "run")),
        (["--flag", "lockup"], ("camber", "run")),
    ],
)
def test_a_choice_taken_back_leaves_the_day_to_the_right_numbers(
    begun: Crew, right: list[str], leads: tuple[str, str], amended_first: bool
) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    if amended_first:
        assert stand(amended(begun, 1, *right)) == ("camber", "change")
        assert stand(begun.choose("--take-back")) == leads
    else:
        begun.choose("--take-back")
        assert stand(amended(begun, 1, *right)) == leads
    assert stand(begun.status()) == leads


def test_a_day_the_crew_ended_stays_ended(begun: Crew) -> None:
    begun.record(tires())
    begun.choose("--move-on", "--reason", "rain")
    assert stand(amended(begun, 1, "--tire", "RF=225/215/205")) == ("complete", "nothing")


def test_in_a_metric_plan_celsius_is_meant(crew: Crew) -> None:
    crew.start("--units", "metric")
    crew.record(dict.fromkeys(CORNERS, (95.0, 95.0, 95.0)))
    status = amended(crew, 1, "--tire", "RF=105/100/95")
    assert status["readings"]["RF"] == [221.0, 212.0, 203.0]
    assert "RF = [105, 100, 95]" in crew.text()


def test_a_run_is_put_right_from_a_file(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    table = begun.path.with_name("run.csv")
    rows = [f"{c},{i},{m},{o}" for c, (i, m, o) in tires().items()]
    table.write_text("corner,inner,middle,outer\n" + "\n".join(rows), "utf-8")
    assert stand(amended(begun, 1, "--from", table)) == ("confirm", "run")


# --- a run that later steps rest on ---------------------------------------------------------


def a_change_later(crew: Crew, after: dict[str, Any] | None = None) -> Any:
    crew.record(RF_INNER_HOT)
    crew.changed()
    return crew.record(tires(split={"RF": 8.0}) if after is None else after)


def test_the_stage_stands_and_the_choice_is_marked(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    before = begun.why(2)[0]
    status = amended(begun, 1, "--tire", "RF=216/215/214")
    assert stand(status) == ("camber", "change")
    mark = {"step": 1, "amended_by": 3, "as_of": None}
    assert status["pending"]["rested_on"] == [mark]
    assert status["amended"] == [
        {"step": 3, "amends": 1, "reason": WHY[1], "choices_before": [2]},
    ]
    (told,) = begun.why(2)
    assert told["rested_on"] == [mark]
    assert "rested on step 1 as first recorded" in told["details"][0]["says"]
    assert told["details"][1:] == before["details"]  # marked, not rewritten
    assert stand(begun.made("--actual", "camber:RF:0")) == ("camber", "run")


def test_the_old_numbers_stay_in_the_file_and_are_told(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    before = tomllib.loads(begun.text())["step"][0]
    amended(begun, 1, "--tire", "RF=216/215/214")
    assert tomllib.loads(begun.text())["step"][0] == before
    assert "RF 216/215/214" in details(begun, 1, "read")[0]  # what is in force
    assert details(begun, 1, "shows") == ["nothing out of band"]
    assert details(begun, 1, "amended") == [f"by step 2: {WHY[1]}; shown as corrected"]
    assert details(begun, 2, "tires") == ["RF 225/215/205 °F → 216/215/214 °F"]
    assert details(begun, 2, "reason") == [WHY[1]]
    assert begun.why(1)[0]["amended_by"] == [2]
    assert begun.why(2)[0]["amends"] == 1


def test_what_came_of_the_change_is_judged_with_the_right_numbers(begun: Crew) -> None:
    assert a_change_later(begun)["last_outcome"]["figures"][0]["before"] == 20.0
    status = amended(begun, 1, "--tire", "RF=216/215/208")
    (figure,) = status["last_outcome"]["figures"]
    assert (figure["before"], figure["after"]) == (8.0, 8.0)
    assert figure["verdict"] != "better"
    assert status["last_outcome"]["rested_on"] == [{"step": 1, "amended_by": 5, "as_of": None}]
    assert any("+8.0 °F → +8.0 °F" in line for line in details(begun, 5, "judged again"))
    assert "+20.0 °F → +8.0 °F" in details(begun, 4, "outcome")[0]  # as it was judged then


def test_the_learning_is_that_of_the_right_numbers(begun: Crew) -> None:
    a_change_later(begun)
    amended(begun, 1, "--tire", "RF=229/215/201")
    day = plans.open_plan(begun.path).day
    fresh = Crew(begun.path.with_name("fresh.toml"))
    fresh.start()
    fresh.record(tires(split={"RF": 28.0}))
    fresh.choose("--own", "camber:RF:1.5", "--reason", "the same change")
    fresh.made()
    fresh.record(tires(split={"RF": 8.0}))
    wanted = plans.open_plan(fresh.path).day
    assert numbers(day) == numbers(wanted)
    assert day.known.mean == pytest.approx(wanted.known.mean)


def test_an_earlier_run_found_void_no_longer_counts(begun: Crew) -> None:
    a_change_later(begun)
    status = amended(begun, 1, "--flag", "lockup")
    assert status["last_outcome"] is None  # nothing good to compare with
    day = plans.open_plan(begun.path).day
    assert [good.step for good in day.good] == [4]
    assert stand(begun.record(tires())) == ("complete", "nothing")


def test_no_good_run_may_be_left(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    status = amended(begun, 1, "--flag", "swerve")
    assert (*stand(status), status["candidates"], status["figures"]) == ("camber", "run", [], None)
    status = begun.record(tires())
    assert (*stand(status), status["last_outcome"]) == ("confirm", "run", None)


def test_a_void_run_between_that_was_good_judges_the_change(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    begun.record(tires(split={"RF": 20.0}), "--flag", "lockup")
    begun.record(tires())
    status = amended(begun, 4, "--flag", "none")
    assert status["last_outcome"]["figures"][0]["after"] == 20.0
    assert status["last_outcome"]["verdict"] == "no-change"


def test_cold_pressures_put_right_are_on_the_car(with_car: Crew) -> None:
    with_car.record(tires(), "--cold", "RF=28")
    with_car.record(tires(), "--cold", "RF=28")
    assert stand(with_car.status()) == ("complete", "nothing")
    status = amended(with_car, 1, "--cold", "RF=25")  # so something changed after all
    assert stand(status) == ("confirm", "run")
    amended(with_car, 2, "--cold", "RF=24")
    assert plans.open_plan(with_car.path).day.settings["pressure", "RF"] == 24.0


def test_a_note_alone_marks_nothing(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    status = amended(begun, 1, "--note", "seat moved")
    assert status["pending"]["rested_on"] == []
    assert status["amended"][0]["choices_before"] == []


def test_an_amendment_stores_what_it_changes(begun: Crew) -> None:
    a_change_later(begun)
    steps = tomllib.loads(begun.text())["step"]
    amended(begun, 1, "--note", "seat moved")
    amended(begun, 4, "--tire", "RF=219.0001/215/211")  # as it was, but for a hair
    amended(begun, 1, "--tire", "RF=216/215/208")
    *before, note, hair, number = tomllib.loads(begun.text())["step"]
    assert before == steps
    assert "judged" not in note
    assert "judged" not in hair
    assert [judged["step"] for judged in number["judged"]] == [1, 4]


def test_a_note_judges_nothing_again_where_the_rules_have_changed_since(tmp_path: Path) -> None:
    rules = tmp_path / "ours.toml"
    rules.write_text((RULES / "paved-oval.toml").read_text("utf-8").replace(*OUR_ID), "utf-8")
    crew = Crew(tmp_path / "ours-day.toml")
    crew.start("--rules", rules)
    crew.record(RF_INNER_HOT)
    crew.choose(1)
    rules.write_text(rules.read_text("utf-8").replace("above = 10.0", "above = 40.0"), "utf-8")
    amended(crew, 1, "--note", "gusty")
    assert "judged" not in tomllib.loads(crew.text())["step"][-1]
    assert "RF: inner edge" in details(crew, 1, "shows")[0]


def test_putting_the_first_value_back_takes_the_mark_away(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    amended(begun, 1, "--tire", "RF=216/215/214")
    assert begun.why(2)[0]["rested_on"]
    status = amended(begun, 1, "--tire", "RF=225/215/205")
    assert status["pending"]["rested_on"] == []
    assert begun.why(2)[0]["rested_on"] == []


def test_a_choice_between_two_amendments_names_the_one_it_rested_on(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    amended(begun, 1, "--tire", "RF=226/215/205")
    begun.choose(1)
    amended(begun, 1, "--tire", "RF=228/215/205")
    assert begun.why(3)[0]["rested_on"] == [{"step": 1, "amended_by": 4, "as_of": 2}]
    assert "as amended in step 2" in details(begun, 3, "marked")[0]


def test_words_on_the_terminal_tell_the_marks(begun: Crew, cli: Any) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    said = cli("amend", begun.path, 1, "--tire", "RF=216/215/214", *WHY).out
    assert "step 1, by step 3; chosen before that: step 2" in said
    assert "! This change rested on step 1 as first recorded" in said
    told = " ".join(cli("why", begun.path).out.split())
    assert "rested on step 1 as first recorded; step 3 has corrected it since" in told
    assert "step 1 corrected: run 1" in told


def test_an_amendment_of_another_day_says_its_date(crew: Crew, cli: Any) -> None:
    crew.path.write_bytes(FINISHED.read_bytes())
    amended(crew, 1, "--tire", "RF=230/225/215")
    date = f"{planfile.load(crew.path).step[-1].time:%d %b %Y}"
    told = {each["step"]: each for each in crew.why()}
    at = len(told)
    assert told[at]["date"] == f"{planfile.load(crew.path).step[-1].time.date()}"
    assert told[1]["date"] != told[at]["date"]
    assert details(crew, 1, "amended") == [f"by step {at} on {date}: {WHY[1]}; shown as corrected"]
    assert f"Step {at}, {date}, " in cli("why", crew.path).out
    row = next(each for each in why_table(crew) if each["step"] == at)
    assert row["change"] == f"step 1 corrected on {date}: {WHY[1]}"
    assert f"step 1, by step {at} on {date}; chosen before that" in cli("status", crew.path).out
    amended(crew, 3, "--actual", "camber:RF:0.75")
    assert f"by step {at + 1} on {date}" in cli("why", crew.path, "--knob", "camber:RF").out


def test_an_amendment_of_the_same_day_says_no_date(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    amended(begun, 1, "--tire", "RF=216/215/214")
    assert details(begun, 1, "amended") == [f"by step 2: {WHY[1]}; shown as corrected"]
    assert why_table(begun)[1]["change"] == f"step 1 corrected: {WHY[1]}"


def test_of_the_whole_day_a_mark_is_said_once_and_then_shown_by_its_sign(
    crew: Crew, cli: Any
) -> None:
    crew.path.write_bytes(FINISHED.read_bytes())
    amended(crew, 1, "--tire", "RF=230/225/215")
    amended(crew, 5, "--tire", "RF=226/225/223")
    said = " ".join(cli("why", crew.path).out.split())
    assert said.count("rested on step 1 as first recorded") == 1
    assert "step 19 has corrected it since (steps 3 to 18, marked !, rested on it too)" in said
    assert said.count("rested on step 5 as first recorded") == 1
    assert "Step 9!, 11:38" in said
    assert "Step 1, 09:31" in said
    assert len(details(crew, 9, "marked")) == 2  # asked about by itself, a step tells its own


@pytest.mark.parametrize("named", ["run2", "run 2", "Run-2", "4", "step 4"])
def test_a_run_may_be_named_by_its_own_number(begun: Crew, named: str) -> None:
    a_change_later(begun)
    assert begun.why(named)[0]["step"] == 4
    answer = begun.tries("amend", named, "--tire", "RF=219/215/213", *WHY)
    assert answer.status == 0, answer.out
    assert answer.data["amended"][0]["amends"] == 4


def test_the_answer_says_what_was_what_is_and_what_is_judged_otherwise(
    begun: Crew, cli: Any
) -> None:
    a_change_later(begun)
    said = cli("amend", begun.path, "run1", "--tire", "RF=216/215/208", "--cold", "RF=28", *WHY)
    before, _, after = " ".join(said.out.split()).partition("Last change")
    assert "Step 5, " in before
    assert "step 1 corrected: run 1" in before
    assert "tires RF 225/215/205 °F → 216/215/208 °F" in before
    assert "cold RF none → 28.0 psi" in before
    assert "bears on chosen before this was known: step 2" in before
    assert "step 4 no longer shows RF camber, inner hot" in before
    assert "step 4: better → no change; RF split +8.0 °F → +8.0 °F" in before
    assert "Due now" in after


def test_the_headline_of_a_run_judged_again_says_so(begun: Crew) -> None:
    a_change_later(begun)
    (run,) = begun.why(4)
    assert run["headline"] == "run 2; the change of step 3: better"
    amended(begun, 1, "--tire", "RF=216/215/208")
    (run,) = begun.why(4)
    assert run["headline"] == "run 2; the change of step 3: better, judged again: no change"
    assert why_table(begun)[0]["verdict"] == "no-change"
    amended(begun, 4, "--flag", "lockup")
    (run,) = begun.why(4)
    assert run["headline"] == "run 2, judges nothing: the brakes were locked"
    amended(begun, 4, "--flag", "none", "--tire", "RF=216/215/214")
    amended(begun, 1, "--tire", "RF=225/215/205")
    (run,) = begun.why(4)
    assert run["headline"] == "run 2; the change of step 3: better"  # as it was judged at first


def test_numbers_that_lead_to_the_same_judgement_are_not_told(begun: Crew) -> None:
    a_change_later(begun)
    amended(begun, 1, "--tire", "LR=195.4/195/195")
    assert details(begun, 5, "judged again") == ["nothing else changes"]
    amended(begun, 4, "--tire", "RF=219/215/211.5")
    assert details(begun, 6, "judged again") == ["nothing else changes"]
    amended(begun, 4, "--tire", "RF=219/215/209")
    (said,) = details(begun, 7, "judged again")
    assert said.startswith("step 4: still better; RF split +20.0 °F → +10.0 °F")


def test_help_says_that_a_reason_must_be_given(cli: Any) -> None:
    said = " ".join(cli("amend", "--help").out.split())
    assert "--reason is required" in said
    assert "run3" in said
    assert "run3" in cli("why", "--help").out


# --- a change that was made otherwise -------------------------------------------------------


def test_a_change_made_otherwise_moves_the_settings(with_car: Crew) -> None:
    a_change_later(with_car)
    amended(with_car, 3, "--actual", "camber:RF:0.5")
    day = plans.open_plan(with_car.path).day
    assert day.settings["camber", "RF"] == -2.5
    assert day.past[0].made[0].amount == 0.5
    assert details(with_car, 5, "was") == ["RF camber +1.50 deg (more positive)"]
    assert details(with_car, 5, "now") == ["RF camber +0.50 deg (more positive)"]
    assert details(with_car, 3, "amended")


def test_a_part_that_came_on_top_is_added(with_car: Crew) -> None:
    a_change_later(with_car)
    amended(with_car, 3, "--actual", "pressure:RF:-1.0")
    day = plans.open_plan(with_car.path).day
    assert (day.settings["camber", "RF"], day.settings["pressure", "RF"]) == (-1.5, 27.0)


def test_a_change_never_made_judges_nothing(with_car: Crew) -> None:
    a_change_later(with_car)
    status = amended(with_car, 3, "--actual", "camber:RF:0")
    assert status["last_outcome"] is None
    assert plans.open_plan(with_car.path).day.settings["camber", "RF"] == -3.0


def test_an_amendment_wins_over_what_the_run_said_of_the_change(with_car: Crew) -> None:
    with_car.record(RF_INNER_HOT)
    with_car.changed()
    with_car.record(tires(split={"RF": 8.0}), "--really", "camber:RF:-1")
    assert plans.open_plan(with_car.path).day.settings["camber", "RF"] == -4.0
    amended(with_car, 3, "--actual", "camber:RF:0.75")
    assert plans.open_plan(with_car.path).day.settings["camber", "RF"] == -2.25


def test_a_change_may_be_amended_before_the_run_that_judges_it(with_car: Crew) -> None:
    with_car.record(RF_INNER_HOT)
    with_car.changed()
    assert stand(amended(with_car, 3, "--actual", "camber:RF:0.5")) == ("camber", "run")
    with_car.record(tires())
    day = plans.open_plan(with_car.path).day
    assert day.settings["camber", "RF"] == -2.5
    assert day.good[-1].seen.moved == {("camber", "RF"): 0.5}


# --- what is refused ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def twice_amended(tmp_path_factory: pytest.TempPathFactory) -> Crew:
    """A run, a choice, a change made, and two amendments of that."""
    folder = tmp_path_factory.mktemp("refused")
    (folder / "car.toml").write_text(CAR, "utf-8")
    crew = Crew(folder / "day.toml")
    crew.start("--car", folder / "car.toml")
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--reason", "it is hot inside")
    crew.made()
    for amount in ("0.75", "1"):
        assert crew.tries("amend", 3, f"--actual=camber:RF:{amount}", *WHY).status == 0
    return crew


@pytest.mark.parametrize(
    ("step", "options", "code"),
    [
        (0, ["--flag", "lockup"], "no-step"),
        (9, ["--flag", "lockup"], "no-step"),
        (2, ["--flag", "lockup"], "not-amendable"),
        (2, ["--actual", "camber:RF:1"], "not-amendable"),
        (4, ["--flag", "lockup"], "not-amendable"),
        (1, [], "nothing-given"),
        (3, [], "nothing-given"),
        (1, ["--actual", "camber:RF:1"], "not-a-change"),
        (3, ["--flag", "lockup"], "not-a-run"),
        (3, ["--flag", "lockup", "--actual", "camber:RF:1"], "usage"),
        (1, ["--tire", "RF=225/215/205"], "nothing-changed"),
        (1, ["--flag", "none"], "nothing-changed"),
        (3, ["--actual", "camber:RF:1"], "nothing-changed"),
        (1, ["--tire", "RF=2250/215/205"], "bad-value"),
        (1, ["--tire", "RF=none"], "bad-value"),
        (1, ["--tire", "RF=1/2"], "bad-value"),
        (1, ["--laps", "few"], "bad-value"),
        (1, ["--cold", "XX=20"], "bad-value"),
        (1, ["--flag", "rain"], "usage"),
        (1, ["--row", "1"], "usage"),
        (1, ["--from", "none.csv"], "unreadable"),
        (3, ["--actual", "wing:RF:1"], "bad-value"),
        (3, ["--actual", "camber:RF:-2"], "beyond-limit"),
        (3, ["--actual", "camber:RF:0.5", "--actual", "camber:RF:0.75"], "bad-value"),
        ("one", ["--flag", "lockup"], "bad-value"),
        ("run", ["--flag", "lockup"], "bad-value"),
        ("run0", ["--flag", "lockup"], "no-run"),
        ("run2", ["--flag", "lockup"], "no-run"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changes(
    twice_amended: Crew, step: object, options: list[str], code: str
) -> None:
    before = twice_amended.path.read_bytes()
    answer = twice_amended.tries("amend", step, *options, *WHY)
    assert (answer.status, answer.error["code"]) == (2, code)
    assert answer.error["where"]
    assert twice_amended.path.read_bytes() == before


@pytest.mark.parametrize("reason", [[], ["--reason", " "]])
def test_no_reason_is_refused(begun: Crew, reason: list[str]) -> None:
    begun.record(RF_INNER_HOT)
    answer = begun.tries("amend", 1, "--flag", "lockup", *reason)
    assert (answer.status, answer.error["code"]) == (2, "no-reason")


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("amends = 1", "amends = 2", "step[3].amends"),
        ("amends = 1", "amends = 7", "step[3].amends"),
        ("amends = 1", 'amends = "x"', "step[3].amends"),
        ('reason = "read the sheet wrong"', 'reason = ""', "step[3].reason"),
        ("    {step = 1", "    {step = 2", "step[3].judged"),
    ],
)
def test_an_amendment_damaged_by_hand_is_named(begun: Crew, old: str, new: str, key: str) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    amended(begun, 1, "--tire", "RF=226/215/205")
    begun.rewrite(old, new)
    answer = begun.tries("status")
    assert answer.status == 3
    assert key in answer.error["message"]


# --- any day ----------------------------------------------------------------------------------


def numbers(day: Day) -> dict[str, Any]:
    """Return everything that counts from here on."""
    return {
        "figures": [good.figures.base for good in day.good],
        "seen": [attrs.astuple(good.seen, recurse=False) for good in day.good],
        "settings": day.settings,
        "made": [{c.setting: c.amount for c in past.made if c.amount} for past in day.past],
        "void": day.last.void if day.last else None,
    }


FAULTY = [
    RF_INNER_HOT,
    RR_OVER,
    tires(),
    tires(GOOD | {"RF": 227.0}),
    tires(split={"RF": 20.0}, crown={"RR": 6.0}),
    tires(split={"RF": 12.0}),
]
ACTS = st.lists(
    st.tuples(
        st.sampled_from(["go", "go", "go", "leave", "back", "amend", "amend"]),
        st.integers(0, 5),
        st.integers(0, 11),
    ),
    min_size=3,
    max_size=12,
)


def act(day: Day, what: str, pick: int, at: int) -> Day:
    """Make the next move that is legal, or correct one of the steps."""
    if what == "amend" and day.steps:
        number = at % len(day.steps) + 1
        step = day.steps[number - 1]
        if isinstance(step, RunStep):
            new = run(FAULTY[pick], flags=("lockup",) if pick % 2 else ())
            return day if new == step.run else moves.amend_run(day, number, lambda _: new, "x", AT)
        if isinstance(step, MadeStep):
            (made,) = [past.made for past in day.past if past.step == number]
            knob, place = made[0].knob, made[0].corner
            amount = pick / 4 if knobs.of(knob).decimals else 5.0 * pick  # that shows on the knob
            if amount != made[0].amount:
                return moves.amend_made(day, number, [(knob, place, amount)], "x", AT)
        return day
    if day.due == "run":
        return moves.record(day, run(FAULTY[pick], flags=("lockup",) if at == 0 else ()), AT)
    if day.due == "choice" and (what == "leave" or not day.table().candidates):
        return moves.move_on(day, "no time", AT)
    if day.due == "choice":
        return moves.choose(day, "1", AT)
    if day.due == "change" and what == "back":
        return moves.take_back(day, "", AT)
    return moves.made(day, AT) if day.due == "change" else day


def standing(day: Day) -> tuple[Any, ...]:
    pending = day.pending.changes if day.pending else None
    void = day.last.void if day.last else None
    verdict = day.outcome.verdict if day.outcome else None
    return day.stage, day.due, day.round, day.left_open, day.settings, pending, void, verdict


@settings(max_examples=25, deadline=None)
@given(acts=ACTS)
def test_any_day_with_amendments_goes_on_and_replays(acts: list[Any]) -> None:
    rules = book()
    plan = Plan(AT, RulesUsed("paved-oval", rules.fingerprint), "left", rules.laps)
    day = replay(plan, rules)
    for what, pick, at in acts:
        before = [_recorded(step) for step in day.plan.step]
        day = act(day, what, pick, at)
        assert [_recorded(step) for step in day.plan.step][: len(before)] == before
        stored = planfile.parse(tomllib.loads(planfile.dump(day.plan).decode()), Path("day.toml"))
        again = replay(stored, rules)
        assert standing(again) == standing(day)
        assert len(again.steps) == len(stored.step)
        day = again
    assert_same_numbers(day, tuple(s for s in day.steps if not isinstance(s, AmendStep)))
    assert len(story.tell(day)) == len(day.plan.step)


def _recorded(step: Step) -> Any:
    """Return what was recorded in a step, without what was judged from it."""
    if isinstance(step, RunStep | AmendStep):
        return step.time, step.run
    return step


def assert_same_numbers(day: Day, steps: tuple[Any, ...]) -> None:
    """Check that the numbers are those of a day on which the right ones were recorded at once."""
    good = [step.run for step in steps if isinstance(step, RunStep) and not step.void]
    assert [each.run for each in day.good] == good
    moved: dict[Any, float] = {}
    seen = []
    for step in steps:
        changes = step.changes if isinstance(step, MadeStep) else getattr(step, "really", ())
        for change in changes:
            moved[change.setting] = moved.get(change.setting, 0.0) + change.amount
        if isinstance(step, RunStep) and not step.void:
            seen.append({k: v for k, v in moved.items() if v})
    found = [{k: v for k, v in each.seen.moved.items() if v} for each in day.good]
    assert found == [pytest.approx(each) for each in seen]


def test_refusals_of_the_moves_are_refusals(begun: Crew) -> None:
    day = plans.open_plan(begun.path).day
    with pytest.raises(Refusal, match="no steps yet"):
        moves.amend_run(day, 1, lambda run: run, "why", planfile.now())
