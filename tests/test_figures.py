"""The figures of twelve temperatures."""

import math
from typing import Any

import numpy as np
import pytest
from garage import GOOD, run, tires
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.trade import figures
from planner.trade.corners import CORNERS, mirrored
from planner.words.figures import beside_band, in_words

READINGS = {
    "LF": (205.0, 212.0, 209.0),
    "RF": (235.0, 224.0, 213.0),
    "LR": (198.0, 200.0, 193.0),
    "RR": (208.0, 214.0, 208.0),
}
WHOLE = ("front", "rear", "left", "right", "diagonal", "balance")

degrees = st.floats(60, 320, allow_nan=False)
any_readings = st.fixed_dictionaries({c: st.tuples(degrees, degrees, degrees) for c in CORNERS})


@pytest.fixture(autouse=True)
def _afresh() -> None:
    """Figures are worked out in the test, and not remembered from before it."""
    figures.terms.cache_clear()


def test_figures_by_hand() -> None:
    shown = figures.compute(run(READINGS).tires).as_dict()
    averages = {"LF": 626 / 3, "RF": 224.0, "LR": 197.0, "RR": 210.0}
    assert shown["average"] == pytest.approx(averages)
    assert shown["split"] == {"LF": -4.0, "RF": 22.0, "LR": 5.0, "RR": 0.0}
    crowns = {"LF": 212 - 626 / 3, "RF": 0.0, "LR": 3.0, "RR": 4.0}
    assert shown["crown"] == pytest.approx(crowns)
    assert shown["front"] == pytest.approx((626 / 3 + 224) / 2)
    assert shown["rear"] == pytest.approx(203.5)
    assert shown["left"] == pytest.approx((626 / 3 + 197) / 2)
    assert shown["right"] == pytest.approx(217.0)
    assert shown["diagonal"] == pytest.approx(210.5)  # RF and LR
    assert shown["balance"] == pytest.approx(14.0)  # RF less RR
    assert shown["cross_vs_front"] == pytest.approx(210.5 - (626 / 3 + 224) / 2)
    assert shown["cross_vs_right"] == pytest.approx(210.5 - 217.0)


def test_a_right_turn_takes_the_other_diagonal_and_the_left_side() -> None:
    shown = figures.compute(run(READINGS).tires, "right").as_dict()
    assert shown["diagonal"] == pytest.approx((626 / 3 + 210) / 2)  # LF and RR
    assert shown["balance"] == pytest.approx(626 / 3 - 197)  # LF less LR
    assert shown["cross_vs_right"] == pytest.approx((626 / 3 + 210) / 2 - (626 / 3 + 197) / 2)
    # These name sides of the car, not of the track, and stay.
    assert shown["left"] == pytest.approx((626 / 3 + 197) / 2)
    assert shown["right"] == pytest.approx(217.0)


@settings(max_examples=50, deadline=None)
@given(any_readings, any_readings, st.floats(-2, 2))
def test_figures_are_linear_in_the_readings(one, other, share) -> None:
    mixed = {
        c: tuple(a + share * b for a, b in zip(one[c], other[c], strict=True)) for c in CORNERS
    }
    first, second, both = (figures.compute(run(r).tires) for r in (one, other, mixed))
    names = [f"{kind}.{c}" for kind in figures.PER_CORNER for c in CORNERS] + [*figures.WHOLE_CAR]
    for name in names:
        assert both[name] == pytest.approx(first[name] + share * second[name], abs=1e-6)


@settings(max_examples=50, deadline=None)
@given(any_readings)
def test_a_right_turn_sees_the_car_in_a_mirror(readings) -> None:
    here = figures.compute(run(readings).tires, "left").as_dict()
    swapped = {mirrored(corner): three for corner, three in readings.items()}
    there = figures.compute(run(swapped).tires, "right").as_dict()
    for kind in ("average", "split", "crown"):
        assert {mirrored(c): v for c, v in here[kind].items()} == there[kind]
    for name in ("front", "rear", "diagonal", "balance", "cross_vs_front", "cross_vs_right"):
        assert here[name] == pytest.approx(there[name], abs=1e-9)
    assert (here["left"], here["right"]) == (there["right"], there["left"])


def test_the_helpers_of_these_tests_make_the_figures_they_are_asked_for() -> None:
    shown = figures.compute(tires(GOOD, {"LF": 8.0}, {"RR": -4.0}))
    assert shown["split.LF"] == 8.0
    assert shown["crown.RR"] == -4.0
    assert shown.averages() == GOOD


@pytest.mark.parametrize(
    "name",
    ["average.RF", "split.LF", "crown.LR", "front", "balance", "cross_vs_right", "front_split"]
    + [f"versus_others.{c}" for c in CORNERS],
)
def test_the_standard_error_is_that_of_simulated_readings(name: str) -> None:
    # Against 40 000 simulated runs; the spread of a spread is 0.4 %, so 2 % is five of it.
    noise = figures.Noise(reading=3.0, run=2.0)
    random = np.random.default_rng(5)
    count = 40_000
    common = random.normal(0, noise.run, count)
    base = {}
    for corner in CORNERS:
        inner, middle, outer = random.normal(0, noise.reading, (3, count)) + common
        base[f"average.{corner}"] = (inner + middle + outer) / 3
        base[f"split.{corner}"] = inner - outer
        base[f"crown.{corner}"] = middle - base[f"average.{corner}"]
    simulated = sum(weight * base[term] for term, weight in figures.terms(name).items())
    assert figures.standard_error(name, noise) == pytest.approx(float(np.std(simulated)), rel=0.02)


def test_averaging_runs_narrows_the_error_by_the_root() -> None:
    one = figures.standard_error("balance", figures.Noise())
    assert figures.standard_error("balance", figures.Noise(), runs=4) == pytest.approx(one / 2)
    assert one == pytest.approx(math.sqrt(2 / 3) * 3.0)


@pytest.mark.parametrize(
    ("name", "turns", "corners"),
    [
        ("split.RF", "left", ()),
        ("average.LR", "left", ("LR",)),
        ("crown.RF", "left", ("RF",)),
        ("balance", "left", ("RF", "RR")),
        ("balance", "right", ("LF", "LR")),
        ("cross_vs_front", "left", CORNERS),
        ("cross_vs_right", "right", CORNERS),
        ("versus_others.LR", "left", CORNERS),
        ("left_vs_right", "both", CORNERS),
        ("front_split", "left", ()),
    ],
)
def test_which_averages_a_figure_leans_on(name, turns, corners) -> None:
    assert figures.corners_averaged(name, turns) == corners


@pytest.mark.parametrize(
    ("name", "there_is"),
    [
        ("split.RF", True),
        ("versus_others.LR", True),
        ("balance", True),
        ("left_vs_right", True),
        ("split", False),
        ("split.", False),
        ("split.XX", False),
        ("balance.RF", False),
        ("RF", False),
        ("", False),
    ],
)
def test_which_names_are_figures(name, there_is) -> None:
    assert figures.is_figure(name) is there_is


def test_the_mean_of_two_runs_by_hand_and_the_way_they_turned() -> None:
    other = {**READINGS, "RF": (239.0, 230.0, 215.0)}  # average 228, split 24, crown 2
    both = figures.mean([figures.compute(run(r).tires, "right") for r in (READINGS, other)])
    assert (both["average.RF"], both["split.RF"], both["crown.RF"]) == (226.0, 23.0, 1.0)
    assert both.turns == "right"
    assert figures.mean([both]) == both


@pytest.mark.parametrize("name", [*figures.BASE_FIGURES, *figures.WHOLE_CAR, "versus_others.RF"])
def test_the_error_of_a_figure_is_the_same_whichever_way_the_track_turns(name: str) -> None:
    left, right = (sorted(figures.terms(name, turns).values()) for turns in ("left", "right"))
    assert left == right or left == sorted(-weight for weight in right)


def test_a_track_turns_left_unless_said_otherwise() -> None:
    assert figures.compute(run(READINGS).tires).turns == "left"
    assert figures.corners_averaged("balance", "left") == ("RF", "RR")
    noise = figures.Noise(reading=3.0, run=2.0)
    assert figures.standard_error("front", noise) == pytest.approx(math.sqrt(1.5 + 4))
    assert figures.standard_error("front", noise, runs=2) == pytest.approx(math.sqrt(2.75))
    louder = figures.Noise(reading=3.0, run=3.0)
    assert figures.standard_error("front", louder) == pytest.approx(math.sqrt(1.5 + 9))


@pytest.mark.parametrize(
    ("name", "words"),
    [("split.RF", "RF split"), ("versus_others.LR", "LR versus others"), ("balance", "balance")],
)
def test_figures_in_words(name: str, words: str) -> None:
    assert in_words(name) == words
    assert in_words("cross_vs_front") == "cross vs front"


@given(
    st.floats(-60, 60).map(lambda at: round(at, 3)),
    st.sampled_from([(-10.0, 10.0), (-3.0, 3.0), (-10.0, -5.0), (-6.0, 6.0), (0.0, 10.0)]),
)
def test_a_figure_in_fahrenheit_reads_on_its_side_of_the_band(at: float, band: Any) -> None:
    low, high = band
    reads = float(beside_band("split.RF", at, band, "us"))
    assert (reads < low, reads > high) == (at < low, at > high)
    assert reads == pytest.approx(at, abs=0.051)


def test_a_figure_close_to_an_edge_has_more_decimals_and_others_do_not() -> None:
    def reads(at: float, system: Any = "us") -> str:
        return beside_band("split.RF", at, (-6.0, 6.0), system)

    assert [reads(at) for at in (6.04, 6.0, 5.96, 6.3)] == ["+6.04", "+6.0", "+6.0", "+6.3"]
    # 6 degF apart are 3.33 degC apart, which the screen shows as 3.3
    assert [reads(at, "metric") for at in (6.02, 5.97, 6.3)] == ["+3.34", "+3.3", "+3.5"]
