"""Random days, legal and illegal moves in any order: whatever happens, the promises hold.

After every move, taken or refused:

- the file replays to the day as it stands in memory, and to the same status;
- a refused move has changed nothing, and said where and what to do instead;
- there is a way on: what is due can be done, or the day is complete;
- no change that is chosen or made crosses a limit of the car file;
- no stage is passed while it shows a clear fault, unless the crew left it with a reason that is
  kept in the file;
- what is carried from step to step in the replay is what its steps add up to.

``TREADGATE_DAYS=500 python -m pytest tests/test_random_days.py`` walks more days, and longer ones.
"""

import json
import math
import os
import re
import shutil
import tempfile
import tomllib
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from unittest.mock import patch

import attrs
import numpy as np
import pytest
from garage import AT, FAULTS, book, run_command, sweeping, tires
from hypothesis import HealthCheck, Phase, note, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from planner.car import car_file
from planner.car import changes as changing
from planner.car.car_file import Car
from planner.car.changes import Change
from planner.car.limits import Limits
from planner.export import next_car, status_object
from planner.learning import levels
from planner.plan import amendments, fold, moves, on_car
from planner.plan.day import Day, moved_by
from planner.plan.steps import AmendStep, ChoiceStep, MadeStep, Plan, RulesUsed, RunStep
from planner.plan.unjudged import unjudged
from planner.rulebook.rules import TUNING_ORDER
from planner.run.readings import FEELS, FLAGS, PARTS, SET_STATES, Again, Run
from planner.storage import planfile, plans
from planner.trade import knobs, plain_text, units
from planner.trade.corners import CORNERS, UNREAD, was_read
from planner.trade.knobs import HOLES, JACK, KNOBS
from planner.trade.refusals import Refusal
from planner.words import due

DAYS = int(os.environ.get("TREADGATE_DAYS", "0"))

CARS = {
    "none": "",
    "limits": """
        [settings]
        camber = {LF = 3.0, RF = -3.0, LR = 0.5, RR = -0.5}
        pressure = {LF = 18.0, RF = 28.0, LR = 18.0, RR = 26.0}
        cross = {car = 52.0}
        toe = {front = -0.0625}
        [limits]
        camber = {min = -4.0, max = 4.0, step = 0.25}
        pressure = {min = 16.0, max = 30.0, step = 0.5}
        cross = {min = 51.0, max = 53.0, step = 0.25}
        """,
    "past its limits": """
        [settings]
        camber = {LF = 6.0, RF = -6.0, LR = 0.5, RR = -0.5}
        pressure = {LF = 9.0, RF = 48.0, LR = 18.0, RR = 26.0}
        [limits]
        camber = {min = -5.0, max = 5.0}
        pressure = {min = 12.0, max = 45.0, step = 1.0}
        """,
    "weighed": (Path(__file__).parents[1] / "sample_plans" / "river-bend-car.toml").read_text()
    + "\n[panhard]\nspacing = 0.5\n",
}

# --- what is drawn ----------------------------------------------------------------------------

corners = st.sampled_from(CORNERS)
temperatures = st.integers(-390, 5990).map(lambda tenths: tenths / 10)  # anything a probe may read
usual = st.integers(140, 280).map(float)


def three(values: st.SearchStrategy[float]) -> st.SearchStrategy[tuple[float, float, float]]:
    return st.tuples(values, values, values)


def per_corner(values: st.SearchStrategy[Any], least: int = 0) -> st.SearchStrategy[Any]:
    return st.dictionaries(corners, values, min_size=least)


@st.composite
def readings(draw: st.DrawFn) -> Mapping[str, tuple[float, float, float]]:
    """Return twelve temperatures, from a car with one fault to anything at all."""
    kind = draw(st.sampled_from(["good", "fault", "fault", "usual", "odd"]))
    if kind in ("good", "fault"):
        base = tires() if kind == "good" else FAULTS[draw(st.sampled_from(list(FAULTS)))]
        most = draw(st.sampled_from([0, 3]))
        off = draw(st.lists(st.integers(-most, most), min_size=12, max_size=12))
        numbers = iter(off)
        return {
            c: tuple(value + next(numbers) for value in tire)  # type: ignore[misc]
            for c, tire in base.items()
        }
    each = three(usual if kind == "usual" else temperatures)
    return {corner: draw(each) for corner in CORNERS}


psi = st.integers(80, 480).map(lambda tenths: tenths / 10)
treads = st.one_of(
    st.none(),
    st.just(dict.fromkeys(CORNERS, (7.5, 7.5, 7.5))),
    st.just({"LF": (7.5,) * 3, "RF": (5.5,) * 3, "LR": (7.5,) * 3, "RR": (7.5,) * 3}),
)


@st.composite
def runs(draw: st.DrawFn) -> Run:
    """Return a run with more or less of what can be recorded of one."""
    made: dict[str, Any] = {"tires": draw(readings())}
    gone = draw(st.dictionaries(corners, st.integers(0, 7), max_size=2))
    for corner, strips in gone.items() if draw(st.integers(0, 3)) == 3 else ():
        made["tires"][corner] = tuple(  # 0 leaves out all three, 7 none
            value if strips >> at & 1 else UNREAD for at, value in enumerate(made["tires"][corner])
        )
    if draw(st.booleans()):
        made["cold"] = draw(per_corner(psi))
        made["hot"] = draw(per_corner(psi))
    if draw(st.booleans()):
        made["order"] = tuple(draw(st.permutations(CORNERS)))
        made["delay"] = draw(st.one_of(st.none(), st.integers(0, 200).map(float)))
        first = made["order"][0]
        again = tuple(
            value - draw(st.integers(0, 6)) if was_read(value) else 200.0
            for value in made["tires"][first]
        )
        made["again"] = draw(st.sampled_from([None, Again(first, again)]))  # type: ignore[arg-type]
        if made["again"] and min(again) < -40:
            made["again"] = None
    if draw(st.booleans()):
        made["track_temp"] = draw(st.integers(40, 150).map(float))
        made["air_temp"] = draw(st.integers(30, 110).map(float))
        made["felt"] = draw(st.dictionaries(st.sampled_from(PARTS), st.sampled_from(FEELS)))
        made["lap_times"] = tuple(draw(st.lists(st.integers(1700, 2100).map(_hundredth))))
    worn = draw(treads)
    if worn:
        made["tread_before"] = dict.fromkeys(CORNERS, (8.0, 8.0, 8.0))
        made["tread"] = worn
    made["set"] = draw(st.sampled_from(["", "", "", "1", "2", "B"]))
    made["set_state"] = draw(st.sampled_from([None, *SET_STATES])) if made["set"] else None
    if draw(st.integers(0, 7)) == 7:
        made["flags"] = (draw(st.sampled_from(FLAGS)),)
        made["laps"] = draw(st.integers(0, 12))
    return Run(**made)


def as_typed(run: Run, system: units.System) -> Run:
    """Return the run with temperatures that a probe in the plan's unit shows, to tenths."""
    if system == "us":
        return run

    def shown(value: Any) -> Any:
        if value is None:
            return None
        if isinstance(value, tuple):
            return tuple(map(shown, value))
        if not was_read(value):
            return UNREAD
        return units.fahrenheit(round(units.in_plan_unit(value, system), 1), system)

    again = None if run.again is None else Again(run.again.corner, shown(run.again.tire))
    return attrs.evolve(
        run,
        tires={corner: shown(tire) for corner, tire in run.tires.items()},
        again=again,
        track_temp=shown(run.track_temp),
        air_temp=shown(run.air_temp),
    )


def _hundredth(value: int) -> float:
    return value / 100


# What is typed in the crew's units of work: turns of a jack, holes of the panhard bar.
WORK = {JACK: CORNERS, HOLES: ("rear",)}
SIZES = {"camber": 0.25, "pressure": 0.5, "toe": 0.0625, "cross": 0.25, "stagger": 0.25}


others = st.sampled_from(["RR shock 2 clicks softer", 'a.dot; "tape" & = {{ x }}', "Öl \\ $x$"])


@st.composite
def parts(draw: st.DrawFn) -> tuple[str, str, float]:
    """Return a change of one knob, of nothing to more than is sensible."""
    knob = draw(st.sampled_from(["camber", "pressure", "cross", *KNOBS, *WORK, "other"]))
    if knob == "other":
        return knob, draw(others), float(draw(st.sampled_from([1, 1, 0])))
    if knob in WORK:
        return knob, draw(st.sampled_from(WORK[knob])), float(draw(st.integers(-4, 4)))
    steps = draw(st.one_of(st.integers(-3, 3), st.integers(-16, 16), st.integers(-60, 60)))
    return knob, draw(st.sampled_from(KNOBS[knob].places)), steps * SIZES.get(knob, 25.0)


def as_read(wanted: Sequence[tuple[str, str, float]]) -> list[tuple[str, str, float]]:
    """Return changes as they are read from what is typed; some are refused there already."""
    texts = [
        f"panhard:{place}:{amount:g} hole" if knob == HOLES else f"{knob}:{place}:{amount}"
        for knob, place, amount in wanted
    ]
    return [changing.parse(text, "--own") for text in texts]


reasons = st.sampled_from(["the driver wants it", "no time for it", 'Öl auf der Strecke: \t"x"\n'])

# --- whether two things are the same ----------------------------------------------------------

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def unlike(one: Any, other: Any, where: str = "") -> str:
    """Return where two records differ by more than the rounding of the file, or ``""``."""
    if isinstance(one, float | int) and isinstance(other, float | int):
        close = math.isclose(one, other, rel_tol=1e-5, abs_tol=2e-3)
        close = close or not (was_read(one) or was_read(other))
        return "" if close else f"{where}: {one} and {other}"
    if type(one) is not type(other):
        return f"{where}: {one!r} and {other!r}"
    if isinstance(one, str):
        # Numbers in words may be rounded either way where the last digit stands on its edge.
        same = _NUMBER.sub("", one) == _NUMBER.sub("", other)
        numbers = (list(map(float, _NUMBER.findall(each))) for each in (one, other))
        close = same and all(
            abs(a - b) <= 0.011 * max(abs(a), 10) for a, b in zip(*numbers, strict=True)
        )
        return "" if close else f"{where}: {one!r} and {other!r}"
    if attrs.has(type(one)):
        names = [field.name for field in attrs.fields(type(one))]
        # Kept at hand, and looked at by themselves.
        names = [name for name in names if name not in ("learned_last", "held", "before")]
        pairs = [(getattr(one, n), getattr(other, n), f"{where}.{n}") for n in names]
    elif isinstance(one, Mapping):
        if list(map(str, one)) != list(map(str, other)):
            return f"{where}: {list(one)} and {list(other)}"
        pairs = [(one[key], other[key], f"{where}[{key}]") for key in one]
    elif isinstance(one, Sequence):
        if len(one) != len(other):
            return f"{where}: {len(one)} and {len(other)} of them"
        pairs = [(a, b, f"{where}[{n}]") for n, (a, b) in enumerate(zip(one, other, strict=True))]
    else:
        return "" if one == other else f"{where}: {one!r} and {other!r}"
    return next(filter(None, (unlike(*pair) for pair in pairs)), "")


def same(one: Any, other: Any, what: str) -> None:
    difference = unlike(one, other, what)
    assert not difference, difference


def afresh(path: Path) -> Day:
    """Open a plan as a process does that has never seen it."""
    return plans.open_plan(path).day


def beyond(changes: Sequence[Change], limits: Limits) -> list[Change]:
    """Return the changes that take a setting past a limit, and farther than it was."""
    found = []
    for change in changes:
        limit = limits.room(*change.setting)
        if change.before is None or change.after is None:
            continue
        low = -math.inf if limit.min is None else min(limit.min, change.before)
        high = math.inf if limit.max is None else max(limit.max, change.before)
        if not low - 1e-6 <= change.after <= high + 1e-6:
            found.append(change)
    return found


# --- the days -----------------------------------------------------------------------------------

Move = Callable[[Day, datetime], Day]


class RandomDay(RuleBasedStateMachine):
    """A crew that does anything at all, and the promises."""

    def __init__(self) -> None:
        super().__init__()
        self.path = Path(tempfile.mkdtemp()) / "day.toml"
        self.day: Day
        self.looked_at: Day | None = None
        self.amended = False  # by what was done last
        self.hours = 0.0  # by which the clock is ahead
        real = planfile.now
        self.clock = patch.object(planfile, "now", lambda: real() + timedelta(hours=self.hours))
        self.clock.start()

    def teardown(self) -> None:
        try:
            for command in ("status", "why", "ahead") if self.path.exists() else ():
                answer = run_command(command, self.path, "--json")
                done = not self.day.good or self.day.stage == "complete"
                nothing_to_say = command == "ahead" and done
                assert answer.status == (2 if nothing_to_say else 0), answer.out + answer.err
                assert isinstance(answer.data, dict)
        finally:
            self.clock.stop()
            shutil.rmtree(self.path.parent)

    @initialize(
        rules=st.sampled_from(["paved-oval", "paved-oval", "road-course"]),
        right=st.booleans(),
        units=st.sampled_from(["us", "metric"]),
        car=st.sampled_from(["limits", *CARS]),
        certainty=st.sampled_from([None, 0.3, 0.5, 0.95]),
        budget=st.sampled_from([(), ("--runs", "6"), ("--sets", "1", "--minutes", "90")]),
    )
    def start(
        self,
        rules: str,
        right: bool,
        units: str,
        car: str,
        certainty: float | None,
        budget: tuple[str, ...],
    ) -> None:
        turns = "both" if rules == "road-course" else "right" if right else "left"
        options = ["--rules", rules, "--turns", turns, "--units", units, *budget]
        if certainty is not None:
            options += ["--certainty", str(certainty)]
        if CARS[car]:
            file = self.path.with_name("car.toml")
            file.write_text(CARS[car], "utf-8")
            options += ["--car", str(file)]
        answer = run_command("start", self.path, *options, "--json")
        assert answer.status == 0, answer.out + answer.err
        self.day = afresh(self.path)

    def takes(self, move: Move, *, must: bool = False) -> Day | None:
        """Make a move that may be refused; then it must have changed nothing."""
        before = self.path.read_bytes()
        refused = None
        try:
            self.day = plans.step(self.path, move).day
        except Refusal as refusal:
            refused = refusal
        if refused is not None:
            note(f"refused: {refused.message}")
            assert not must, refused.message
            assert refused.exit_status == 2
            assert all((refused.code, refused.message, refused.where, refused.hint))
            assert self.path.read_bytes() == before
            return None
        assert planfile.previous(self.path).read_bytes() == before
        assert self.path.read_bytes() != before
        self.amended = False
        return self.day

    @rule(hours=st.sampled_from([1.0, 5.0, 15.0]))
    def time_passes(self, hours: float) -> None:
        before = self.day
        self.hours += hours
        self.day = afresh(self.path)
        if self.day.place != before.place:
            assert (before.due, self.day.due) == ("choice", "run")
            assert self.day.stage == before.stage

    # --- moves that are due -----------------------------------------------------------------

    @precondition(lambda self: self.day.due in ("run", "choice"))
    @rule(run=runs())
    def record(self, run: Run) -> None:
        """Record a run; where a choice is due, of the car once more as it was."""
        typed = as_typed(run, self.day.plan.units)
        last = self.day.last
        twice = self.day.due == "choice" and last is not None and last.run == typed
        self.takes(lambda day, at: moves.record(day, typed, at), must=not twice)

    @precondition(lambda self: self.day.due == "run")
    @rule(stage=st.sampled_from(list(FAULTS)))
    def record_a_fault(self, stage: str) -> None:
        """Record what shows in one stage, so that days get to the later ones too."""
        typed = as_typed(Run(FAULTS[stage]), self.day.plan.units)  # type: ignore[arg-type]
        self.takes(lambda day, at: moves.record(day, typed, at), must=True)

    @precondition(lambda self: self.day.due == "run" and self.day.past)
    @rule(run=runs(), part=parts())
    def record_and_correct(self, run: Run, part: tuple[str, str, float]) -> None:
        typed = as_typed(run, self.day.plan.units)
        self.takes(lambda day, at: moves.record(day, typed, at, as_read([part])))

    @precondition(lambda self: self.day.table().candidates)
    @rule(number=st.integers(0, 20), trims=st.booleans(), times=st.sampled_from([None, 0.5, 1, 9]))
    def choose(self, number: int, trims: bool, times: float | None) -> None:
        candidates = self.day.table().candidates
        chosen = candidates[number % len(candidates)]
        own = [change for change in chosen.changes if not change.trim]
        amount = None if times is None else own[0].amount * times
        self.takes(
            lambda day, at: moves.choose(day, chosen.id, at, amount=amount, trims=trims),
            must=times is None,
        )

    @precondition(lambda self: self.day.due == "choice")
    @rule(wanted=st.lists(parts(), min_size=1, max_size=3), reason=reasons)
    def choose_own(self, wanted: list[tuple[str, str, float]], reason: str) -> None:
        self.takes(lambda day, at: moves.choose_own(day, as_read(wanted), reason, at))

    @precondition(lambda self: self.day.due == "choice")
    @rule(reason=reasons)
    def move_on(self, reason: str) -> None:
        self.takes(lambda day, at: moves.move_on(day, reason, at), must=True)

    @precondition(lambda self: self.day.due == "run" and fold.can(self.day, "move_on"))
    @precondition(lambda self: self.day.stage != "confirm")
    @rule(reason=reasons)
    def choose_by_the_run_before(self, reason: str) -> None:
        left = self.day.left_open
        after = self.takes(lambda day, at: moves.move_on(day, reason, at), must=True)
        assert after is not None
        assert (after.due, after.left_open) == ("choice", left)

    @precondition(lambda self: self.day.stage == "confirm")
    @rule(reason=reasons, really=st.integers(0, 4))
    def end_the_day(self, reason: str, really: int) -> None:
        if really == 4:  # a day that is over teaches little more
            self.takes(lambda day, at: moves.move_on(day, reason, at), must=True)

    @precondition(lambda self: self.day.due == "change")
    @rule(actual=st.lists(parts(), max_size=2), as_chosen=st.booleans())
    def made(self, actual: list[tuple[str, str, float]], as_chosen: bool) -> None:
        self.takes(lambda day, at: moves.made(day, at, () if as_chosen else as_read(actual)))

    @precondition(lambda self: self.day.due == "change")
    @rule()
    def made_nothing(self) -> None:
        assert self.day.pending is not None
        actual = [(*change.setting, 0.0) for change in self.day.pending.changes]
        self.takes(lambda day, at: moves.made(day, at, actual), must=True)

    @precondition(lambda self: self.day.due == "change")
    @rule()
    def take_back(self) -> None:
        after = self.takes(lambda day, at: moves.take_back(day, "", at), must=True)
        assert after is not None
        assert after.due in ("choice", "run")

    @precondition(lambda self: self.day.due == "run")
    @rule(wanted=st.lists(parts(), min_size=1, max_size=2), why=reasons)
    def change_without_a_choice(self, wanted: list[tuple[str, str, float]], why: str) -> None:
        after = self.takes(lambda day, at: moves.changed(day, as_read(wanted), why, at))
        assert after is None or after.due == "run"

    @rule(name=st.sampled_from(list(CARS)))
    def give_a_car_file(self, name: str) -> None:
        _, car = car_file.examine(tomllib.loads(CARS[name]))
        assert car is not None
        place, amended = self.day.place, self.amended
        after = self.takes(lambda day, at: moves.take_car(day, car, at))
        self.amended = amended
        assert after is None or after.place == place

    @rule(why=reasons, about=st.integers(1, 20))
    def note_something(self, why: str, about: int) -> None:
        there = about if about <= len(self.day.plan.step) else None
        place = self.day.place
        amended = self.amended
        after = self.takes(lambda day, at: moves.note(day, why, at, there), must=True)
        self.amended = amended  # a note leaves the promises where they stood
        assert after is not None
        assert after.place == place

    @rule(named=st.sampled_from(["1", "2", "B"]))
    def put_a_set_on(self, named: str) -> None:
        before, amended = self.day, self.amended
        after = self.takes(lambda day, at: moves.note(day, "on", at, tires=(named, "new")))
        self.amended = amended
        assert after is not None
        if after.place != before.place:
            assert {before.due, after.due} == {"choice", "run"}
            assert after.stage == before.stage

    @precondition(lambda self: self.day.plan.step)
    @rule(number=st.integers(1, 40), run=runs(), actual=st.lists(parts(), min_size=1, max_size=2))
    def amend(self, number: int, run: Run, actual: list[tuple[str, str, float]]) -> None:
        number = (number - 1) % len(self.day.plan.step) + 1
        step = self.day.steps[number - 1]
        typed = as_typed(run, self.day.plan.units)
        if isinstance(step, MadeStep):
            after = self.takes(
                lambda day, at: moves.amend_made(day, number, as_read(actual), "on the sheet", at)
            )
        else:
            after = self.takes(
                lambda day, at: moves.amend_run(day, number, lambda _: typed, "on the sheet", at)
            )
        if after is None:
            return  # what was done last is still what it was
        self.amended = True
        in_force = after.steps[number - 1]
        if isinstance(in_force, RunStep):
            assert in_force.run == typed
        else:
            assert isinstance(in_force, MadeStep)
            now = {change.setting: change.amount for change in in_force.changes}
            as_typed_in = [each for each in actual if each[0] not in WORK]
            adds = {"cross", "panhard"} if len(as_typed_in) < len(actual) else set()
            assert all(now[k, place] == by for k, place, by in as_typed_in if k not in adds)

    # --- moves that are not, as they would be typed --------------------------------------------

    @rule(now=st.integers(0, 40), ever=st.integers(0, 40))
    def refused(self, now: int, ever: int) -> None:
        """Give a command that cannot be at this point, and one that can never be."""
        out_of_turn, never = self._out_of_turn(), self._never()
        before = {each: each.read_bytes() for each in sorted(self.path.parent.iterdir())}
        for arguments in (out_of_turn[now % len(out_of_turn)], never[ever % len(never)]):
            answer = run_command(arguments[0], self.path, *arguments[1:], "--json")
            assert answer.status == 2, (arguments, answer.out, answer.err)
            assert all(answer.error.values()), answer.error
            after = {each: each.read_bytes() for each in sorted(self.path.parent.iterdir())}
            assert after == before, arguments

    def _out_of_turn(self) -> list[list[str]]:
        found = []
        if self.day.due == "change":
            good = [f"--tire={corner}=90/90/90" for corner in CORNERS]
            found.append(["record", *good])
        if self.day.due != "choice":
            found.append(["choose", "--own", "camber:RF:0.5", "--reason", "now"])
            if not self.day.table().candidates:
                found.append(["choose", "1"])
            if not fold.can(self.day, "move_on"):
                found.append(["choose", "--move-on", "--reason", "now"])
        if self.day.due in ("choice", "nothing"):
            found.append(["made", "--actual", "camber:RF:0.5", "--reason", "meanwhile"])
        if self.day.due != "change":
            found += [["made"], ["made", "--actual", "camber:RF:0.5"], ["choose", "--take-back"]]
        return found

    def _never(self) -> list[list[str]]:
        four = [f"--tire={corner}=90/90/90" for corner in CORNERS]
        choices = [n for n, s in enumerate(self.day.plan.step, 1) if isinstance(s, ChoiceStep)]
        again = [n for n, s in enumerate(self.day.plan.step, 1) if isinstance(s, AmendStep)]
        return [
            ["record", *four[:3]],
            ["record", *four[:3], "--tire=RR=90/90/9000"],
            ["record", *four[:3], "--tire=XX=90/90/90"],
            ["record", *four[:3], "--tire=RR=90/90/nan"],
            ["record", *four, "--cold", "LF=-3"],
            ["record", *four, "--laps", "-1"],
            ["record", *four, "--really", "camber:front:1"],
            ["choose", "99"],
            ["choose", "1", "--amount", "0"],
            ["choose", "--own", "camber:RF:0", "--reason", "nothing"],
            ["choose", "--own", "wing:RF:1", "--reason", "no such knob"],
            ["choose", "--own", "camber:RF:1e9", "--reason", "a slip"],
            ["choose", "--own", "camber:RF:0.5"],
            ["choose", "--move-on"],
            ["choose", "--move-on", "--take-back", "--reason", "one of them"],
            ["choose", "--move-on", "--reason", " "],
            ["made", "--actual", "camber:RF"],
            ["made", "--actual", "toe:LF:0.1"],
            ["amend", "999", "--tire", "RF=1/2/3", "--reason", "none such"],
            *(["amend", str(n), "--tire", "RF=1/2/3", "--reason", "kept"] for n in choices + again),
        ]

    # --- the promises -----------------------------------------------------------------------

    @invariant()
    def the_promises_hold(self) -> None:
        """Look at the day again wherever it is another than when it was looked at last."""
        if self.day is self.looked_at:
            return
        self.looked_at = self.day
        self.the_file_replays_to_the_same()
        self.there_is_a_way_on()
        self.no_limit_is_crossed()
        self.no_stage_is_passed_without_a_reason()
        self.what_is_carried_is_what_the_steps_add_up_to()
        self.another_day_can_begin_with_this_car()

    def the_file_replays_to_the_same(self) -> None:
        again = afresh(self.path)
        same(self.day, again, "day")
        if self.day.good:
            kept, anew = self.day.known, again.known_by(len(again.good))
            assert kept.parameters == anew.parameters
            assert np.allclose(kept.mean, anew.mean, atol=2e-3)
            assert np.allclose(kept.covariance, anew.covariance, atol=1e-3)
        shown = status_object.build(again, "day.toml")
        read_back = json.loads(plain_text.as_json(shown, ascii_only=True))
        json.dumps(read_back, allow_nan=False)
        same(
            shown | {"readings": None, "figures": None},
            read_back | {"readings": None, "figures": None},
            "status",
        )
        read = anew = again.plan
        for _ in range(2):
            saved = tomllib.loads(planfile.dump(read).decode())
            read, anew = planfile.parse(saved, self.path), read
        assert read == anew

    def there_is_a_way_on(self) -> None:
        day, at = self.day, planfile.now()
        assert (day.due == "nothing") == (day.stage == "complete")
        assert (day.due == "change") == (day.pending is not None)
        named = due.next_command(day)
        if day.due == "run":
            assert "treadgate record" in named
            moves.record(day, Run(tires()), at)  # type: ignore[arg-type]
        elif day.due == "choice":
            assert "treadgate choose" in named
            assert day.open_patterns
            assert day.another_run is not None
            good = moves.record(day, Run(tires(), note="again"), at)  # type: ignore[arg-type]
            assert len(good.good) == len(day.good) + 1
            bad = Run(tires(), flags=("lockup",))  # type: ignore[arg-type]
            assert moves.record(day, bad, at).place == day.place
            for candidate in day.table().candidates:
                assert moves.choose(day, candidate.id, at).due == "change"
            assert "--own" in named or day.table().candidates
            assert moves.choose_own(day, [("stagger", "rear", 0.25)], "own", at).due == "change"
            with pytest.raises(Refusal, match="reason"):
                moves.move_on(day, " \n", at)
            with pytest.raises(Refusal, match="reason"):
                moves.choose_own(day, [("stagger", "rear", 0.25)], "", at)
            on = moves.move_on(day, "left as it is", at)
            assert (on.stage, on.due) == ("confirm", "run") or _place(on) > _place(day)
        elif day.due == "change":
            assert "treadgate made" in named
            assert day.pending is not None
            left = [(*change.setting, 0.0) for change in day.pending.changes]
            assert moves.made(day, at, left).due == "run"

    def no_limit_is_crossed(self) -> None:
        limits = Limits(self.day.car.limits)  # past the rules' own the crew may go
        for candidate in self.day.table().candidates:
            assert not beyond(candidate.changes, self.day.limits), candidate
            for change in candidate.changes:
                assert abs(change.amount) <= knobs.of(change.knob).largest
        last = self.day.plan.step[-1] if self.day.plan.step else None
        if isinstance(last, ChoiceStep) and last.chosen is not None:
            assert not beyond(last.chosen.changes, limits)
        if isinstance(last, MadeStep):
            assert not beyond(last.changes, limits)

    def no_stage_is_passed_without_a_reason(self) -> None:
        day = self.day
        left = [s for s in day.plan.step if isinstance(s, ChoiceStep) and s.chosen is None]
        assert all(step.reason.strip() for step in left)
        assert day.left_open <= {key for step in left for key in step.left_open}
        if not day.good:
            return
        if self.amended and amendments.stage_stands(day.steps):
            return  # a change was chosen already: the right numbers tell in what is judged next
        if day.due == "change" or isinstance(day.plan.step[-1], MadeStep):
            return  # a stage is left only by what a run shows, or by moving on
        ended = left[-1:] if left and left[-1].stage == "confirm" else ()
        if day.stage == "complete" and not self.amended:
            assert ended or unjudged(day, day.good) is None
        if day.stage == "complete" and ended:
            return
        passed = TUNING_ORDER[: _place(day)]
        holding = [p for p in day.good[-1].patterns if p.holds and p.stage in passed]
        if day.last is not None and day.last.void:
            return  # it judges nothing: the plan stays where it was
        assert {p.key for p in holding} <= day.left_open
        if day.due == "choice":
            assert any(p.key not in day.left_open for p in day.open_patterns)

    def what_is_carried_is_what_the_steps_add_up_to(self) -> None:
        day = self.day
        runs = [good.step for good in day.good]
        for past in day.past:
            if past.is_made and any(run < past.step for run in runs) and past.step < runs[-1]:
                assert past.outcome is not None, past  # every change is judged, if with others
                assert past.outcome.step in (past.step, *past.beside)
        for good in day.good:
            before = (past for past in day.past if past.step < good.step)
            level = levels.displaced(good.level, day.good[0].level)
            assert good.seen.moved == moved_by(before) | level
        start = car_file.starting_settings(day.plan.car)
        same(day.settings, on_car.after_each(start, day.steps, day.past)[-1], "settings")
        assert len(day.steps) == len(day.plan.step)

    def another_day_can_begin_with_this_car(self) -> None:
        made = tomllib.loads(next_car.text(self.day, "day.toml"))
        problems, car = car_file.examine(made)
        assert car is not None, problems
        again = car_file.starting_settings(car)
        for setting, value in self.day.settings.items():
            if not KNOBS[setting[0]].lowest <= value <= KNOBS[setting[0]].highest:
                continue
            nearest = 0.05 if setting[0] == "cross" else 10 ** -KNOBS[setting[0]].decimals
            assert again[setting] == pytest.approx(value, abs=nearest)


def _place(day: Day) -> int:
    """Return how far along the stages a day stands."""
    return [*TUNING_ORDER, "confirm", "complete"].index(day.stage)


RandomDay.TestCase.settings = settings(
    phases=(Phase.explicit, Phase.generate),
    max_examples=DAYS or (40 if sweeping() else 6),
    stateful_step_count=60 if DAYS else 20,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=not DAYS,
)
test_random_days = pytest.mark.more_in_sweep(RandomDay.TestCase)


def test_a_pressure_read_cold_outlives_a_correction_of_the_change_before_it() -> None:
    rules = book()
    car = Car(settings={"pressure": {"RF": 28.0}})
    used = RulesUsed(rules.id, rules.fingerprint)
    day = fold.replay(Plan(AT, used, "left", rules.laps, car=car), rules)
    day = moves.record(day, Run(FAULTS["pressure"]), AT)  # type: ignore[arg-type]
    day = moves.choose_own(day, [("pressure", "RF", -1.0)], "a try", AT)
    day = moves.made(day, AT)
    spoiled = Run(FAULTS["pressure"], cold={"RF": 27.5}, flags=("lockup",))  # type: ignore[arg-type]
    day = moves.record(day, spoiled, AT)
    day = moves.record(day, Run(FAULTS["pressure"]), AT, [("pressure", "RF", -0.5)])  # type: ignore[arg-type]
    assert day.settings["pressure", "RF"] == 27.5
    assert moved_by(day.past) == {("pressure", "RF"): -0.5}
