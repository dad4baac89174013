"""What is asked about a reading that looks like a slip."""

from pathlib import Path

import pytest

from planner.run.slips import AirQuestion, LapQuestion, Question
from planner.trade.estimate import Estimate
from planner.trade.units import System
from planner.words import slips

MEANT = (212.0, 213.0, 212.0)


@pytest.mark.parametrize(
    ("question", "system", "says"),
    [
        (
            Question("RF", "far-strip", 273.2, strip="middle", instead={"RF": MEANT}),
            "us",
            "RF middle 273 °F is far from its neighbours; was 213 °F meant?",
        ),
        (
            Question("RF", "far-strip", 273.2, strip="middle"),
            "metric",
            "RF middle 134.0 °C is far from its neighbours.",
        ),
        (
            Question("LR", "too-hot", 351.0, strip="inner"),
            "us",
            "LR inner 351 °F is hotter than a tire survives.",
        ),
        (
            Question("LR", "exchanged", instead={"LR": MEANT, "RR": MEANT}),
            "us",
            "LR and RR fit all runs so far if exchanged, and not as typed: were they exchanged?",
        ),
        (
            Question("RF", "turned-over", -9.0, Estimate(8.5, 2.0)),
            "us",
            "RF reads -9.0 °F from inner to outer, but +8.5 °F by all runs so far, give or take "
            "2.0 °F; were the edges swapped?",
        ),
        (
            Question("RF", "far-from-last", 71.0),
            "us",
            "RF is +71.0 °F away from the run before.",
        ),
    ],
)
def test_a_doubtful_reading(question: Question, system: System, says: str) -> None:
    assert slips.says(question, system) == says


@pytest.mark.parametrize(
    ("question", "says"),
    [
        (
            AirQuestion("LF", "cold", "too-low", {"LF": 1.7}),
            "LF 1.7 psi cold is too low to drive on; type bar as 1.7bar.",
        ),
        (
            AirQuestion("RF", "hot", "impossible", {"RF": 9.0}, 26.0),
            "RF 9 psi hot from 26 cold is impossible: a slip, or the tire is flat.",
        ),
        (
            AirQuestion("RF", "hot", "lost", {"RF": 23.0}, 26.0),
            "RF 23 psi hot is less than its 26 cold: a slip, or a leak.",
        ),
        (
            AirQuestion(
                "LF",
                "cold",
                "exchanged",
                {"LF": 28.0, "RF": 18.0},
                instead={"LF": 18.0, "RF": 28.0, "LR": 17.0},
            ),
            "cold LF 28, RF 18 psi do not fit what was in the tires. Typed in another order? Then "
            "it is LF 18, RF 28.",
        ),
    ],
)
def test_a_doubtful_pressure(question: AirQuestion, says: str) -> None:
    assert slips.of_air(question) == says


def test_a_doubtful_lap() -> None:
    said = slips.of_laps(LapQuestion(3, 158.0, 15.8))
    assert said == "lap 3 took 158 s; the others took about 15.80 s."


def test_each_comes_with_what_puts_it_right() -> None:
    asked = [
        Question("RR", "far-strip", 21.0, strip="middle", instead={"RR": (204.0, 201.0, 203.0)})
    ]
    air = [AirQuestion("LF", "hot", "too-low", {"LF": 2.3})]
    times = (15.9, 15.8, 158.0, 15.8)
    said = slips.in_doubt(asked, air, Path("day.toml"), 4, "us", times)
    assert [each.partition("If it is a slip: ")[2] for each in said] == [
        "treadgate amend day.toml 4 --lap-times 15.9,15.8,158,15.8 --reason slip",
        "treadgate amend day.toml 4 --tire RR=204/201/203 --reason slip",
        "treadgate amend day.toml 4 --hot LF=PSI --reason slip",
    ]
