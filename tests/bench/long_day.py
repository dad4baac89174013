"""Long test days, made step by step: a car on which something is always wrong.

Whenever the crew puts a change on the car something else comes out wrong, so a day takes as many
steps as are asked for. Every step is judged as it would be on the day; all numbers are invented.
"""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import attrs
import numpy as np
from garage import AT
from invented import InventedCar, book, in_band, read, rule_of_thumb

from planner.car import car_file
from planner.car import changes as changing
from planner.car.changes import Setting
from planner.plan import day as days
from planner.plan import moves
from planner.plan.day import Day
from planner.plan.fold import advance, begin
from planner.plan.steps import (
    AmendStep,
    ChoiceStep,
    MadeStep,
    Plan,
    RulesUsed,
    RunStep,
    Step,
)
from planner.run.readings import Again, Run
from planner.trade.corners import CORNERS

SAMPLE_CAR = Path(__file__).parents[2] / "sample_plans" / "river-bend-car.toml"

# What comes out wrong, and by how much: enough to hold the stage, within the limits of the car.
UPSETS: tuple[tuple[Setting, float], ...] = (
    *((("camber", corner), 1.5) for corner in CORNERS),
    *((("pressure", corner), 3.0) for corner in ("LF", "RF", "RR")),
    (("cross", "car"), 2.0),
    (("spring", "RF"), 100.0),
)
# What keeps a day from being complete: uneven wear, against which there is an offer.
UNEASY = {
    "tread_before": dict.fromkeys(CORNERS, (8.0, 8.0, 8.0)),
    "tread": {"LF": (7.5, 7.5, 7.5), "RF": (6.5, 6.5, 6.5), "LR": (7.5,) * 3, "RR": (7.5,) * 3},
}
VOID = 0.05  # share of runs with locked brakes
AMENDED_EVERY = 40  # steps
RETAKEN_EVERY = 3  # runs: read in order with the first tire once more, with pressures and laps


@attrs.define
class _LongDay:
    """A day that grows, step by step."""

    day: Day
    car: InventedCar
    draw: np.random.Generator

    def now(self) -> datetime:
        return AT + timedelta(minutes=4 * len(self.day.plan.step))

    def go_on(self) -> None:
        """Add the step that is due."""
        number = len(self.day.plan.step) + 1
        if number % AMENDED_EVERY == 0 and self.day.good:
            self.day = advance(self.day, self._amendment(), afresh=True)
            return
        due = self.day.due
        if self.day.stage == "confirm" and self.day.table().candidates:
            due = "choice"
        step: Step = {"run": self._run, "choice": self._choice, "change": self._made}[due]()
        self.day = advance(self.day, step, afresh=True)

    def _run(self) -> RunStep:
        tires = read(self.car.true(days.moved_by(self.day.past)), self.draw)
        more: dict[str, Any] = {
            "track_temp": round(float(self.draw.normal(100, 5)), 1),
            "cold": {"LR": 15.0 + len(self.day.good) % 2},  # which puts off the end as well
        }
        more |= UNEASY
        if self.day.stage != "confirm" and self.draw.random() < VOID:
            more["flags"] = ("lockup",)
        if len(self.day.good) % RETAKEN_EVERY == 0:
            more |= {
                "order": ("RF", "RR", "LR", "LF"),
                "again": Again("RF", tires["RF"]),
                "lap_times": tuple(np.round(self.draw.normal(18.0, 0.1, 10), 2).tolist()),
                "felt": {"middle": "tight"},
            }
        return RunStep(self.now(), Run(tires, **more))  # type: ignore[arg-type]

    def _choice(self) -> ChoiceStep:
        day = self.day
        table = day.table().candidates
        offered = tuple(moves.in_brief(c, day.book) for c in table)
        if table:
            return ChoiceStep(self.now(), day.stage, offered, chosen=table[0])
        left = tuple(p.key for p in day.open_patterns)
        return ChoiceStep(self.now(), day.stage, offered, left_open=left, reason="nothing offered")

    def _made(self) -> MadeStep:
        assert self.day.pending is not None
        moved = days.moved_by(self.day.past)
        setting, size = UPSETS[int(self.draw.integers(len(UPSETS)))]
        wrong = float(self.draw.choice([-1, 1])) * size - moved.get(setting, 0.0)
        parts = {each.setting: each.amount for each in self.day.pending.changes}
        amounts = parts | {setting: changing.tidy(wrong)}
        changes = [changing.make(*s, amount, self.day.settings) for s, amount in amounts.items()]
        changing.refuse_beyond_limits(changes, self.day.limits.room, "--actual")
        return MadeStep(self.now(), tuple(changes))

    def _amendment(self) -> AmendStep:
        latest = self.day.good[-1]
        tires = {**latest.run.tires, "LF": latest.run.tires["RR"]}
        right = attrs.evolve(latest.run, tires=tires)
        return AmendStep(self.now(), latest.step, "the left front was misread", run=right)


def long_day(steps: int) -> Plan:
    """Return a plan of at least so many steps, a change made as the last: a run is due."""
    rules = book()
    car = car_file.load(SAMPLE_CAR)
    used = RulesUsed(rules.id, rules.fingerprint)
    plan = Plan(AT, used, turns="left", laps=rules.laps, car=car)
    answers = {
        (setting, name): effect.mean
        for setting, effects in rule_of_thumb(rules).items()
        for name, effect in effects.items()
    }
    wrong = InventedCar(in_band() | {"split.RF": 25.0}, answers)
    grown = _LongDay(begin(plan, rules), wrong, np.random.default_rng(3))
    while len(grown.day.plan.step) < steps or not isinstance(grown.day.plan.step[-1], MadeStep):
        grown.go_on()
    return grown.day.plan
