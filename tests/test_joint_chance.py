"""How likely figures lie in band together, against scipy and against drawn samples."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from planner.learning.joint_chance import chance_all_within
from planner.learning.observed import chance_within, two_sided
from planner.trade.estimate import Estimate


@given(
    st.floats(-20, 20),
    st.floats(0.1, 10),
    st.one_of(st.none(), st.floats(-20, 20)),
    st.one_of(st.none(), st.floats(-20, 20)),
)
def test_one_band_against_scipy(
    mean: float, sd: float, low: float | None, high: float | None
) -> None:
    below = -math.inf if low is None else low
    above = math.inf if high is None else high
    expected = max(0.0, stats.norm.cdf(above, mean, sd) - stats.norm.cdf(below, mean, sd))
    assert chance_within(Estimate(mean, sd), low, high) == pytest.approx(expected, abs=1e-12)
    assert chance_all_within([mean], [[sd**2]], [low], [high]) == pytest.approx(expected, abs=1e-12)


def test_certain_figures() -> None:
    assert chance_within(Estimate(1.0, 0.0), 0.0, 2.0) == 1.0
    assert chance_within(Estimate(3.0, 0.0), 0.0, 2.0) == 0.0
    assert chance_all_within([], np.zeros((0, 0)), [], []) == 1.0
    assert chance_all_within([1.0, 5.0], [[0.0, 0.0], [0.0, 1.0]], [0, None], [2, 5]) == 0.5
    assert chance_all_within([3.0, 5.0], [[0.0, 0.0], [0.0, 1.0]], [0, None], [2, 5]) == 0.0
    assert two_sided(1.959964) == pytest.approx(0.05, abs=1e-6)


@pytest.mark.parametrize("size", [2, 3, 4, 6, 8])
def test_several_bands_against_scipy(size: int) -> None:
    draw = np.random.default_rng(size)
    worst = 0.0
    for _ in range(12):
        factor = draw.normal(size=(size, size + 1))
        covariance = factor @ factor.T
        sds = np.sqrt(np.diag(covariance))
        mean = draw.normal(size=size) * sds / 2
        lows, highs = -draw.uniform(0.5, 2.5, size) * sds, draw.uniform(0.5, 2.5, size) * sds
        lows[0] = -np.inf
        expected = stats.multivariate_normal.cdf(
            highs, mean, covariance, lower_limit=lows, rng=np.random.default_rng(1), abseps=3e-4
        )
        bands: list[float | None] = [None, *(float(low) for low in lows[1:])]
        found = chance_all_within(mean, covariance, bands, [float(high) for high in highs])
        worst = max(worst, abs(found - expected))
    print(f"{size} figures: worst error of the chance {worst:.5f}")  # noqa: T201
    assert worst < 0.003


def test_independent_bands_multiply() -> None:
    covariance = np.diag([1.0, 4.0, 9.0])
    single = math.prod(
        chance_within(Estimate(m, sd), -2.0, 2.0) for m, sd in ((0, 1), (1, 2), (-1, 3))
    )
    found = chance_all_within([0.0, 1.0, -1.0], covariance, [-2.0] * 3, [2.0] * 3)
    assert found == pytest.approx(single, abs=1e-12)


def test_figures_that_are_sums_of_others() -> None:
    # Both averages and their difference: the third has no freedom of its own.
    draw = np.random.default_rng(60)
    weights = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, -1.0]])
    base = np.array([[9.0, 3.0], [3.0, 6.0]])
    samples = draw.multivariate_normal([0, 0], base, 400_000) @ weights.T
    inside = np.all(np.abs(samples) < 3.0, axis=1).mean()
    found = chance_all_within([0.0] * 3, weights @ base @ weights.T, [-3.0] * 3, [3.0] * 3)
    assert found == pytest.approx(inside, abs=0.01)


def test_a_figure_told_twice_changes_nothing() -> None:
    base = np.array([[4.0, 1.0], [1.0, 9.0]])
    once = chance_all_within([0.5, 1.0], base, [-1.0, -5.0], [2.0, 5.0])
    twice = np.array([[1.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    found = chance_all_within(
        twice @ [0.5, 1.0], twice @ base @ twice.T, [-1.0, -1.0, -5.0], [2.0, 2.0, 5.0]
    )
    assert found == pytest.approx(once, abs=1e-3)


def test_groups_that_do_not_correlate_multiply() -> None:
    pair = np.array([[4.0, 2.5], [2.5, 9.0]])
    one = chance_all_within([0.0, 1.0], pair, [-1.0] * 2, [2.0] * 2)
    none = np.zeros((2, 2))
    four = np.block([[pair, none], [none, pair]])
    found = chance_all_within([0.0, 1.0] * 2, four, [-1.0] * 4, [2.0] * 4)
    assert found == pytest.approx(one**2, rel=1e-9)
    five = np.block([[four, np.zeros((4, 1))], [np.zeros((1, 4)), np.ones((1, 1))]])
    found = chance_all_within([0.0, 1.0] * 2 + [0.0], five, [-1.0] * 4 + [None], [2.0] * 4 + [0])
    assert found == pytest.approx(one**2 / 2, rel=1e-9)


@pytest.mark.parametrize("side", [1, -1])
def test_what_contradicts_itself_has_no_chance(side: int) -> None:
    # Two figures that go together, one wanted far above and the other far below.
    covariance = [[1.0, 0.9999, 0.1], [0.9999, 1.0, 0.1], [0.1, 0.1, 1.0]]
    lows, highs = [1.0, None, -3.0], [None, -1.0, 3.0]
    if side < 0:
        lows, highs = [None, 1.0, -3.0], [-1.0, None, 3.0]
    assert chance_all_within([0.0] * 3, covariance, lows, highs) == pytest.approx(0.0, abs=1e-9)
