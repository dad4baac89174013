"""What the tests share: readings made from figures, and a crew that works through the commands.

All numbers are invented.
"""

import contextlib
import io
import json
import os
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import attrs
import pytest

from planner import commands
from planner.advice import offers
from planner.advice.candidate import Candidate, Table
from planner.advice.past import Past
from planner.car.car_file import Car
from planner.car.car_file import Tires as CarTires
from planner.judging import patterns
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.plan.steps import Plan, RulesUsed, RunStep
from planner.rulebook import rules_file
from planner.rulebook.mirrored import for_turns
from planner.rulebook.rules import Rulebook
from planner.run.readings import Run
from planner.trade.corners import CORNERS
from planner.trade.refusals import Refusal
from planner.words import patterns as pattern_words

Tires = dict[str, tuple[float, float, float]]

AT = datetime(2024, 5, 4, 9, 30, tzinfo=UTC)
STAGES = ("camber", "pressure", "cross", "balance", "corners")

# A car on a left-turn oval with every figure well in band: both cross figures -7.5, balance 5.
GOOD = {"LF": 210.0, "RF": 215.0, "LR": 195.0, "RR": 210.0}
# The same with one fault; each shows in its own stage and no earlier one.
TIGHT = GOOD | {"RF": 227.0}
LOOSE = GOOD | {"RF": 200.0}
TOO_MUCH_CROSS = GOOD | {"LR": 204.0}
NOT_ENOUGH_CROSS = GOOD | {"LR": 186.0}
# The cross figures disagree (-18.5, -7), so nothing holds before the corners stage.
LF_OVERWORKED = {"LF": 232.0, "RF": 214.0, "LR": 195.0, "RR": 209.0}


def tires(
    averages: Mapping[str, float] = GOOD,
    split: Mapping[str, float] | None = None,
    crown: Mapping[str, float] | None = None,
) -> Tires:
    """Return inner/middle/outer with these averages, splits and crowns (0 where not given)."""
    made = {}
    for corner in CORNERS:
        s, c = (split or {}).get(corner, 0.0), (crown or {}).get(corner, 0.0)
        edges = averages[corner] - c / 2
        made[corner] = (edges + s / 2, averages[corner] + c, edges - s / 2)
    return made


RF_INNER_HOT = tires(split={"RF": 20.0})
RR_OVER = tires(crown={"RR": 6.0})
FAULTS: dict[str, Tires] = {
    "camber": RF_INNER_HOT,
    "pressure": RR_OVER,
    "cross": tires(TOO_MUCH_CROSS),
    "balance": tires(TIGHT),
    "corners": tires(LF_OVERWORKED),
}


def run(readings: Mapping[str, tuple[float, float, float]], **rest: Any) -> Run:
    """Return a run with these readings."""
    feel, where = rest.pop("feel", None), rest.pop("where", None)
    if feel is not None:
        rest["felt"] = {where or "all": feel}
    return Run(tires=dict(readings), **rest)  # type: ignore[arg-type]


def book(name: str = "paved-oval", turns: str = "left") -> Rulebook:
    """Return bundled rules, turned the way the track turns."""
    return for_turns(rules_file.load(rules_file.find(name)), turns)  # type: ignore[arg-type]


def day_of(
    readings: Tires,
    *,
    name: str = "paved-oval",
    turns: str = "left",
    car: Car | None = None,
    **rest: Any,
) -> Day:
    """Return the day after one run with these readings."""
    rules = book(name, turns)
    plan = Plan(
        created=AT,
        rules=RulesUsed(name, rules.fingerprint),
        turns=turns,  # type: ignore[arg-type]
        laps=rules.laps,
        car=car or Car(),
        step=(RunStep(AT, run(readings, **rest)),),
    )
    return replay(plan, rules)


@attrs.frozen
class Told:
    """A pattern, and what is said of it and beside it."""

    pattern: patterns.Pattern
    says: str
    evidence: tuple[str, ...]

    def __getattr__(self, name: str) -> Any:
        return getattr(self.pattern, name)


def told(day: Day) -> dict[str, Told]:
    """Return what all runs of a day show, by key (``id:corner`` or the id)."""
    latest = day.good[-1]
    return {
        each.key: Told(
            each,
            pattern_words.says(each, day.book, day.plan.units),
            tuple(map(pattern_words.beside, day.evidence_for(each, latest.step, latest.run))),
        )
        for each in latest.patterns
    }


def found(
    readings: Tires, *, window: tuple[float, float] | None = None, **rest: Any
) -> dict[str, Told]:
    """Return what one run shows, by key."""
    return told(day_of(readings, car=Car(tires=CarTires(window=window)), **rest))


def table_of(readings: Tires, stage: str, *, past: tuple[Past, ...] = (), **rest: Any) -> Table:
    """Return what a stage lays on the table, whatever stage the readings lead to."""
    now = day_of(readings, **rest).situation(stage)  # type: ignore[arg-type]
    return offers.lay_out(attrs.evolve(now, past=past))


def laid_out(readings: Tires, stage: str, **rest: Any) -> tuple[Candidate, ...]:
    """Return the candidates of a stage; see `table_of`."""
    return table_of(readings, stage, **rest).candidates


def sweeping() -> bool:
    """Say whether this is the sweep, in which nothing is left to a share."""
    return "TREADGATE_SWEEP" in os.environ


@attrs.frozen
class Answer:
    """What a command gave back."""

    status: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The one JSON object on standard output; fails on anything before or after it."""
        return json.loads(self.out)

    @property
    def error(self) -> dict[str, str]:
        """The error object; fails where there is none."""
        data = self.data
        assert list(data) == ["error"], data
        assert set(data["error"]) == {"code", "message", "where", "try"}
        return data["error"]


def refusal_of(call: Callable[[], object]) -> Refusal:
    """Return what a call is refused with; it must be."""
    with pytest.raises(Refusal) as caught:
        call()
    return caught.value


def bad_value(message: str, where: str, hint: str) -> dict[str, str]:
    """Return what a refusal of a bad value says, word by word."""
    return {"code": "bad-value", "message": message, "where": where, "try": hint}


def run_command(*arguments: object) -> Answer:
    """Run the command line in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            commands.main([str(argument) for argument in arguments])
        except SystemExit as done:
            status = done.code
    assert isinstance(status, int)
    return Answer(status, out.getvalue(), err.getvalue())


def tire_options(readings: Mapping[str, Iterable[float]]) -> list[str]:
    """Return the readings as they are typed."""
    options = []
    for corner, three in readings.items():
        options += ["--tire", f"{corner}=" + "/".join(f"{value:.6f}" for value in three)]
    return options


def percent_left(lost: Mapping[str, float]) -> list[str]:
    """Return options saying how many percent of tread each tire has lost, evenly across."""
    options = []
    for corner, gone in lost.items():
        left = f"{100 - gone:g}%"
        options += ["--tread", f"{corner}={left}/{left}/{left}"]
    return options


@attrs.frozen
class Crew:
    """A crew with a plan file; every move must do, unless it goes through `tries`."""

    path: Path

    def tries(self, command: str, *arguments: object) -> Answer:
        """Give a command that may be refused."""
        return run_command(command, self.path, *arguments, "--json")

    def _does(self, command: str, *arguments: object) -> Any:
        answer = self.tries(command, *arguments)
        assert answer.status == 0, answer.out + answer.err
        return answer.data

    def start(self, *options: object) -> Any:
        return self._does("start", *options)

    def status(self) -> Any:
        return self._does("status")

    def record(self, readings: Mapping[str, Iterable[float]], *options: object) -> Any:
        return self._does("record", *tire_options(readings), *options)

    def choose(self, *arguments: object) -> Any:
        return self._does("choose", *arguments)

    def made(self, *options: object) -> Any:
        return self._does("made", *options)

    def why(self, *arguments: object) -> Any:
        return self._does("why", *arguments)["steps"]

    def changed(self, candidate: object = 1, *options: object) -> Any:
        """Take a candidate and put it on the car."""
        self.choose(candidate, *options)
        return self.made()

    def text(self) -> str:
        return self.path.read_text("utf-8")

    def rewrite(self, old: str, new: str) -> None:
        """Mend the plan file by hand."""
        assert old in self.text(), f"{old!r} is not in the plan"
        self.path.write_text(self.text().replace(old, new), "utf-8")


def stand(status: Any) -> tuple[str, str]:
    """Return the stage and what is due in it."""
    return status["stage"], status["due"]
