"""`treadgate rehearse`: watched, and in the guide with the simulated car doing the runs."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import attrs
import pytest
from garage import Answer, book

from planner.plan.steps import ChoiceStep, MadeStep, RunStep
from planner.storage import plans, saving
from planner.words import patterns as pattern_words

Cli = Callable[..., Answer]


def rehearsed(cli: Cli, path: Path, *options: object) -> Any:
    answer = cli("rehearse", "--auto", "--json", "--plan", path, *options)
    assert answer.status == 0, answer.out + answer.err
    return answer.data


def test_a_day_is_driven_to_its_end_and_kept(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    data = rehearsed(cli, path, "--seed", 3)
    assert data["complete"]
    assert data["plan"] == str(path)
    day = plans.open_plan(path).day
    assert day.stage == "complete"
    assert sum(isinstance(step, RunStep) for step in day.plan.step) == data["runs"]
    assert len(day.past) == data["changes"]
    worst = data["out_of_band"]
    assert worst["worst_evening"] <= worst["worst_morning"]
    assert data["all_knowing"]["out_of_band"] == 0
    assert data["all_knowing"]["runs"] <= data["runs"]
    assert data["bands"]["crown"] == [-3.0, 3.0]


def test_the_hood_shows_the_faults_that_were_set(cli: Cli, tmp_path: Path) -> None:
    data = rehearsed(
        cli,
        tmp_path / "day.toml",
        "--seed",
        8,
        "--fault",
        "camber.RF=+2",
        "--fault",
        "pressure.LR=-3",
    )
    knobs = {(k["knob"], k["corner"]): k for k in data["knobs"]}
    wrong = {where: k["fault"] for where, k in knobs.items() if k["fault"]}
    assert wrong == {("camber", "RF"): 2.0, ("pressure", "LR"): -3.0}
    for where, fault in wrong.items():
        knob = knobs[where]
        assert knob["begun"] - knob["good"] == pytest.approx(fault)
        assert abs(knob["now"] - knob["good"]) < abs(fault)
    assert "camber.outer-hot:RF" in data["out_of_band"]["morning"]
    assert "pressure.under:LR" in data["out_of_band"]["morning"]


def test_the_same_seed_is_the_same_day(cli: Cli, tmp_path: Path) -> None:
    one = rehearsed(cli, tmp_path / "one.toml", "--seed", 21)
    other = rehearsed(cli, tmp_path / "other.toml", "--seed", 21)
    del one["plan"], other["plan"]
    assert one == other


@pytest.mark.parametrize("kept", [0, 1, 2, 4, 7])
def test_a_day_left_half_way_goes_on_as_it_would_have(kept: int, cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    whole = rehearsed(cli, path, "--seed", 21)
    plan = plans.open_plan(path).day.plan
    saving.save(path, attrs.evolve(plan, step=plan.step[:kept]))
    assert rehearsed(cli, path, "--seed", 21) == whole
    now = plans.open_plan(path).day.plan
    assert [step.run for step in now.step if isinstance(step, RunStep)] == [
        step.run for step in plan.step if isinstance(step, RunStep)
    ]


@pytest.mark.parametrize("other", [["--seed", "22"], ["--seed", "21", "--fault", "camber.RF=+1.5"]])
def test_a_day_goes_on_with_its_own_car_only(other: list[str], cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    rehearsed(cli, path, "--seed", 21)
    before = path.read_bytes()
    answer = cli("rehearse", "--auto", "--json", *other, "--plan", path)
    assert (answer.status, answer.error["code"]) == (2, "other-car")
    assert path.read_bytes() == before


def test_watching_tells_every_step_and_opens_the_hood(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    answer = cli("rehearse", "--auto", "--seed", 3, "--plan", path)
    assert answer.status == 0
    assert "run 1" in answer.out
    assert "[complete]" in answer.out
    for title in ("Wrong this morning", "Truly out of band", "all-knowing crew", "True figures"):
        assert title in answer.out
    assert answer.out.index("run 1") < answer.out.index("The hood is open")


def test_watching_speaks_in_sentences_and_says_where_the_plan_is(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    faults = ("--fault", "camber.RF=+1.5", "--fault", "pressure.LR=-3", "--fault", "cross.car=+2")
    said = cli("rehearse", "--auto", "--seed", 8, *faults, "--plan", path).out
    assert said.startswith(f"Seed 8. The plan is kept in {path}.\n")
    assert said.rstrip().endswith(f"{path}, for treadgate why, report and export.")
    words = " ".join(said.split())
    plan = plans.open_plan(path).day.plan
    first = plan.step[0]
    assert isinstance(first, RunStep)
    for pattern in first.patterns:
        says = pattern_words.says(pattern, book(), "us")
        assert (says in words) == (pattern.holds and not pattern.masked_by)
    assert re.search("the last change: (better|unclear|worse|no change)", words)
    assert re.search(r"this morning .*LR crown \d+\.\d °F too low", words)
    watched = said[: said.index("The hood is open")]
    assert not re.search(r"[a-z]\.[a-z-]+:[LR][FR]", watched)


def test_a_plan_is_never_written_over(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    path.write_text("mine", "utf-8")
    answer = cli("rehearse", "--auto", "--json", "--seed", 1, "--plan", path)
    assert answer.status == 3  # not a plan
    assert path.read_text("utf-8") == "mine"


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (["--json"], "usage"),
        (["--auto", "--json", "--fault", "camber.XX=1"], "bad-value"),
        (["--auto", "--json", "--fault", "camber.RF=much"], "bad-value"),
        (["--auto", "--json", "--rules", "road-course"], "bad-value"),
        (["--auto", "--json", "--rules", "nowhere"], "no-rules"),
        (["--auto", "--json", "--seed", "1", "--fault", "pressure.RF=-29"], "bad-value"),
    ],
)
def test_what_cannot_be_is_refused(options: list[str], code: str, cli: Cli, tmp_path: Path) -> None:
    answer = cli("rehearse", *options, "--plan", tmp_path / "day.toml")
    assert answer.status == 2
    assert answer.error["code"] == code
    assert not (tmp_path / "day.toml").exists()


def test_a_car_file_known_only_in_part_is_refused(cli: Cli, tmp_path: Path) -> None:
    car = tmp_path / "car.toml"
    car.write_text("[settings]\ncamber = {RF = -3.0}\n", "utf-8")
    path = tmp_path / "day.toml"
    answer = cli("rehearse", "--auto", "--json", "--car", car, "--plan", path)
    assert answer.status == 2
    assert answer.error["code"] == "too-little"
    assert "track.radius" in answer.error["message"]


def test_the_guide_goes_on_with_the_simulated_car_driving(terminal_with, tmp_path: Path) -> None:
    guide = terminal_with("--seed", "3", "--plan", "day.toml", command="rehearse")
    guide.sees(r"drive \[Enter\]> ")
    guide.types("faster")
    guide.sees("not an answer here")
    guide.sees(r"drive \[Enter\]> ")
    guide.types("")
    guide.sees("Stored as step 1")
    guide.sees(r"choice \[.*\]> ")
    guide.types("1")
    while "made?" not in guide.sees(r"\[Y/n\]> |made\? \[Enter\]> "):
        guide.types("")
    guide.types("")
    guide.sees(r"drive \[Enter\]> ")
    guide.types("")
    guide.sees("Stored as step 4")
    guide.sees("> ")
    guide.types("q")
    last = guide.ends()
    assert "The hood is open" in last
    assert "2 runs, 1 change; the day is not over" in last
    steps = plans.open_plan(tmp_path / "day.toml").day.plan.step
    assert [type(step) for step in steps] == [RunStep, ChoiceStep, MadeStep, RunStep]
    first, last_run = steps[0], steps[3]
    assert isinstance(first, RunStep)
    assert isinstance(last_run, RunStep)
    assert first.run.again is not None
    assert first.run.hot
    assert first.run.tires != last_run.run.tires
