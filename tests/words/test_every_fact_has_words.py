"""Every fact that the rooms `run` and `judging` hand on has words, in both systems of units.

A new kind of record, or a new value that one of them may hold, fails here until it has words.
"""

import importlib
import pkgutil
import re
from collections.abc import Callable, Iterator
from typing import Any, Literal, get_args, get_origin, get_type_hints

import attrs
import pytest
from garage import book

import planner.judging
import planner.run
from planner.judging import pressures
from planner.judging.doubt import Doubt
from planner.judging.evidence import DriverSays
from planner.judging.heat import TooHot
from planner.judging.judged_apart import JudgedApart
from planner.judging.outcomes import FigureOutcome, Outcome, Verdict
from planner.judging.patterns import WEAR_UNEVEN, Pattern
from planner.judging.remarks import DriverAlone, LapsCompared
from planner.judging.wear import Part, WearSays
from planner.rulebook.rules import Tread
from planner.run.csv_file import Picked, Unread
from planner.run.readings import FEELS, FLAGS, PHASES, FewLaps, NotPutBack, NotRead, ReadLate, Void
from planner.run.slips import AirQuestion, LapQuestion, Odd, OddAir, Question
from planner.trade.corners import CORNERS, STRIPS
from planner.trade.estimate import Estimate
from planner.trade.units import System
from planner.words import csv_file, outcomes, patterns, remarks, runs, slips
from planner.words.findings import both

# Records that are handed from one calculation to the next, or told as part of another.
NOT_TOLD = {
    "Bands",
    "Faults",
    "Run",
    "Again",
    "Settled",
    "Worn",
    "Sheet",
    "Gate",
    "Column",
    "Row",
    "Line",
    "LapSummary",
    "LapComparison",
}

VERDICTS: tuple[Verdict, ...] = get_args(Verdict)
PARTS: tuple[Part, ...] = (*get_args(Tread), *CORNERS)
PSI = {"cold": 24.0, "known": 26.0, "hot": 27.0, "expected": 30.0}
USUAL = Estimate(12.0, 3.0)
LOOSE_IN_TIGHT_OFF = {"entry": "loose", "exit": "tight"}


def all_patterns() -> Iterator[Pattern]:
    told = (pressures.ODD, pressures.LOST, pressures.LOST_HOT, pressures.LOW_HOT)
    for key in (WEAR_UNEVEN, *told, pressures.HIGH_HOT, "gone.from-the-rules"):
        yield Pattern(key, 2.0, 1.5, corner="RF", numbers=PSI)
        yield Pattern(key, 2.0, 1.5, corner="RF")  # as a plan file edited by hand may have it
    masks = ("camber.inner-hot:RF", "pressure.over:LF")
    for rule in book().pattern:
        corner = None if rule.each == "car" else CORNERS[0]
        one = Pattern(rule.id, 12.0, 10.0, rule.stage, corner, chance=0.9)
        yield one
        yield attrs.evolve(one, strength="borderline", chance=0.6)
        yield attrs.evolve(one, chance=0.4)
        yield attrs.evolve(one, numbers={"first": 3.0, "second": 4.0, "latest": 9.0})
        yield attrs.evolve(one, strength="borderline", unheard=True, numbers={"latest": 9.0})
        yield attrs.evolve(one, masked_by=masks)


def all_outcomes() -> Iterator[Outcome]:
    yield Outcome("unclear", 3)
    for verdict in VERDICTS:
        part = FigureOutcome("average.RF", 220.0, 210.0, 205.0, verdict)
        yield Outcome(verdict, 3, (part, attrs.evolve(part, expected=206.0, chance=0.9)), 0.9)


def all_questions() -> Iterator[Question]:
    odds: tuple[Odd, ...] = get_args(Odd)
    for odd in odds:
        strip = "middle" if odd in ("far-strip", "too-hot") else None
        yield Question("RF", odd, 21.0, USUAL, strip)  # type: ignore[arg-type]
        yield Question("RF", odd, 21.0, USUAL, strip, {"RF": (212.0, 210.0, 214.0)})  # type: ignore[arg-type]


def all_air() -> Iterator[AirQuestion]:
    odds: tuple[OddAir, ...] = get_args(OddAir)
    for odd in odds:
        for when in ("cold", "hot"):
            read = {"RF": 20.0, "LF": 30.0}
            yield AirQuestion("RF", when, odd, read, 24.0, {"RF": 30.0, "LF": 20.0})  # type: ignore[arg-type]


# Every kind of record with its instances, and the function that tells it.
TOLD: dict[type, tuple[list[Any], Callable[[Any, System], str]]] = {
    JudgedApart: (
        [JudgedApart("crown.LF", -4.7, at, at < -3.0, (-3.0, 3.0)) for at in (-2.1, -3.02)],
        both,
    ),
    Pattern: ([*all_patterns()], lambda each, system: patterns.says(each, book(), system)),
    WearSays: (
        [
            WearSays(agrees, (part,), other, 1.5, 0.5, unit)  # type: ignore[arg-type]
            for part in PARTS
            for other in ((part,), ("LF", "LR", "RR"))
            for agrees in (True, False)
            for unit in ("32nds", "percent")
        ],
        lambda each, _: patterns.beside(each),
    ),
    DriverSays: (
        [
            DriverSays(agrees, felt)  # type: ignore[arg-type]
            for agrees in (True, False)
            for felt in (
                *({at: feel} for feel in FEELS for at in ("all", *PHASES)),
                LOOSE_IN_TIGHT_OFF,
            )
        ],
        lambda each, _: patterns.beside(each),
    ),
    Outcome: ([*all_outcomes()], outcomes.says),
    FigureOutcome: ([part for each in all_outcomes() for part in each.figures], outcomes.figure),
    Doubt: ([Doubt("split.RF", 43.0, USUAL), Doubt("average.RF", 210.0, USUAL)], remarks.doubt),
    LapsCompared: (
        [
            LapsCompared(-0.2, error, verdict, weather, against)  # type: ignore[arg-type]
            for error in (None, 0.01)
            for verdict in ("faster", "slower", "unclear")
            for weather in ((), ("track",), ("track", "air"))
            for against in (None, *VERDICTS)
        ],
        remarks.says,
    ),
    TooHot: ([TooHot("RF", strip, 312.0, 300.0) for strip in STRIPS], remarks.says),
    DriverAlone: (
        [DriverAlone(felt) for felt in ({"exit": "tight"}, LOOSE_IN_TIGHT_OFF)],  # type: ignore[arg-type]
        remarks.says,
    ),
    FewLaps: ([FewLaps(9, 10)], remarks.says),
    NotRead: (
        [NotRead("RR", ("inner", "middle", "outer")), NotRead("LF", ("middle",))],
        remarks.says,
    ),
    ReadLate: ([ReadLate("RF", 180.0), ReadLate(None, 180.0)], remarks.says),
    NotPutBack: (
        [NotPutBack("RF", why, 10.0, 48.0) for why in get_args(get_type_hints(NotPutBack)["why"])],
        remarks.says,
    ),
    Picked: (
        [Picked(2, 3, None, 4), Picked(1, 2, "9:40", 2)],
        lambda each, _: csv_file.says(each),
    ),
    Unread: ([Unread(("who", "LF psi"))], lambda each, _: csv_file.says(each)),
    Void: (
        [*(Void((flag,)) for flag in FLAGS), Void(FLAGS, 3, 10), Void((), 3, 10)],
        lambda each, _: runs.void(each),
    ),
    Question: ([*all_questions()], slips.says),
    AirQuestion: ([*all_air()], lambda each, _: slips.of_air(each)),
    LapQuestion: ([LapQuestion(3, 158.0, 15.8)], lambda each, _: slips.of_laps(each)),
}


def records() -> dict[str, type]:
    """Return every public record of the two rooms by its name."""
    found = {}
    for room in (planner.judging, planner.run):
        for module in pkgutil.iter_modules(room.__path__, f"{room.__name__}."):
            for name, kind in vars(importlib.import_module(module.name)).items():
                if (
                    isinstance(kind, type)
                    and attrs.has(kind)
                    and kind.__module__ == module.name
                    and name[0] != "_"
                ):
                    found[name] = kind
    return found


def test_every_record_is_told_or_known_to_be_told_elsewhere() -> None:
    found = records()
    assert {kind.__name__ for kind in TOLD} | NOT_TOLD == set(found)


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("kind", TOLD, ids=lambda kind: kind.__name__)
def test_every_fact_is_told_in_the_readers_units(kind: type, system: System) -> None:
    facts, tell = TOLD[kind]
    for fact in facts:
        said = tell(fact, system)
        assert said.strip(), fact
        assert "None" not in said, said
        assert "$" not in said, said
        assert not re.search(r"\d °C" if system == "us" else r"\d °F", said), said


@pytest.mark.parametrize("kind", TOLD, ids=lambda kind: kind.__name__)
def test_every_value_that_a_record_may_hold_is_tried(kind: type) -> None:
    """A literal in a record is a choice of words: each of its values is among the facts above."""
    facts, _ = TOLD[kind]
    for name, hint in get_type_hints(kind).items():
        if get_origin(hint) is Literal and name not in ("corner", "stage"):
            assert {getattr(fact, name) for fact in facts} == set(get_args(hint)), name


def test_people_never_see_a_key() -> None:
    for pattern in all_patterns():
        said = patterns.says(pattern, book(), "us")
        assert ":RF" not in said, said
        assert ":LF" not in said, said
