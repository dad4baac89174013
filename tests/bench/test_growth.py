"""A day that grows longer makes a command work more in step with it, not with its square.

Counted in calls of functions, not in seconds, so that no busy machine can upset it; `speed.py`
measures the seconds.
"""

import cProfile
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from garage import AT, RF_INNER_HOT, Answer, Crew, run, run_command, tire_options
from invented import book
from long_day import long_day
from speed import FOUND_BESIDE, NEEDED, PRINT_IMPORTS

from planner.advice import ahead
from planner.plan import fold, moves
from planner.plan.day import Day
from planner.plan.steps import Plan
from planner.storage import planfile

LENGTHS = (60, 120, 240)  # steps
# Twice as many more steps make twice as much more work where it grows in step, and four times as
# much where it grows with the square; most work is of the first kind, so not much more is allowed.
LINEAR, LINEAR_STEPS = 2.6, 2.15

# A run that judges nothing, as what a good one lays on the table is another matter every time.
RECORD = ("record", *tire_options(RF_INNER_HOT), "--flag", "lockup")


@pytest.fixture(scope="module")
def plans() -> tuple[Plan, ...]:
    return tuple(long_day(steps) for steps in LENGTHS)


def given(plan: Plan, folder: Path, *arguments: str) -> Answer:
    """Give a command on a plan, as in a process of its own."""
    path = folder / "day.toml"
    path.write_bytes(planfile.dump(plan))
    answer = run_command(arguments[0], path, *arguments[1:], "--json")
    assert answer.status == 0, answer.out
    return answer


def calls(act: Callable[[], Any]) -> int:
    profile = cProfile.Profile()
    profile.runcall(act)
    return sum(entry.callcount for entry in profile.getstats())  # type: ignore[attr-defined]


@pytest.mark.parametrize("arguments", [("status",), RECORD], ids=["status", "record"])
def test_work_grows_in_step_with_the_day(
    plans: tuple[Plan, ...], tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    given(plans[0], tmp_path, *arguments)  # what is imported or made once does not count
    few, some, many = (calls(lambda p=plan: given(p, tmp_path, *arguments)) for plan in plans)
    assert many - some < LINEAR * (some - few)


def test_judging_a_run_grows_in_step_with_the_day(plans: tuple[Plan, ...]) -> None:
    rules = book()
    days = [fold.replay(plan, rules) for plan in plans]

    def recorded(day: Day) -> None:
        moves.record(day, run(RF_INNER_HOT), AT)

    for day in days:  # what is loaded or worked out once is no work of the day's
        recorded(day)
    # How long the search for a change takes depends on the car, not on the day: the longest of the
    # shorter days stands for it.
    few, some, many = (calls(lambda d=day: recorded(d)) for day in days)
    assert many < LINEAR * max(few, some)


def test_going_through_the_steps_takes_as_long_for_each_of_them(plans: tuple[Plan, ...]) -> None:
    plan, rules = plans[-1], book()

    def gone_through(steps: int) -> None:
        day = fold.begin(plan, rules)
        for step in plan.step[:steps]:
            day = fold.advance(day, step)

    gone_through(LENGTHS[0])
    few, some, many = (calls(lambda n=steps: gone_through(n)) for steps in LENGTHS)
    assert (many - some) < LINEAR_STEPS * (some - few)


@pytest.mark.parametrize("arguments", [("status",), RECORD], ids=["status", "record"])
def test_a_command_reads_the_plan_once_and_goes_through_its_steps_once(
    plans: tuple[Plan, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    arguments: tuple[str, ...],
) -> None:
    plan = plans[0]
    seen: list[str] = []

    def counted(module: Any, name: str) -> None:
        was = getattr(module, name)

        def wrapped(*args: Any, **kwargs: Any) -> Any:
            seen.append(name)
            return was(*args, **kwargs)

        monkeypatch.setattr(module, name, wrapped)

    counted(planfile, "parse")
    counted(fold, "_after")
    given(plan, tmp_path, *arguments)
    assert seen.count("parse") == 1
    # The step that is new comes on top, and what an amendment has judged again.
    assert len(plan.step) <= seen.count("_after") < 1.2 * len(plan.step)


@pytest.mark.parametrize("way", list(NEEDED))
def test_status_loads_no_more_than_it_needs(
    plans: tuple[Plan, ...], tmp_path: Path, way: str
) -> None:
    path = tmp_path / "day.toml"
    path.write_bytes(planfile.dump(plans[0]))
    ran = subprocess.run(
        [sys.executable, "-c", PRINT_IMPORTS, "status", str(path), way],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ,
    )
    found = {name for name in ran.stderr.split() if not name.startswith("_")}
    assert found - FOUND_BESIDE - {"planner"} == set(NEEDED[way])


def test_the_version_loads_nothing_of_the_day() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", PRINT_IMPORTS, "--version"],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ,
    )
    found = {name for name in ran.stderr.split() if not name.startswith("_")}
    assert found - FOUND_BESIDE - {"planner"} == {"click"}


@pytest.mark.parametrize(("options", "drives"), [((), False), (("--full",), True)])
def test_status_drives_days_on_paper_only_where_all_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: tuple[str, ...], drives: bool
) -> None:
    driven: list[float] = []
    forecast = ahead.DayAhead.forecast

    def counted(self: ahead.DayAhead, **wanted: Any) -> ahead.Forecast:
        driven.append(self.certainty)
        return forecast(self, **wanted)

    crew = Crew(tmp_path / "day.toml")
    crew.start("--runs", "12")
    crew.record(RF_INNER_HOT)
    monkeypatch.setattr(ahead.DayAhead, "forecast", counted)
    assert run_command("status", crew.path, *options).status == 0
    assert bool(driven) is drives
