"""Lap times: certified fits, the reference library's tests, and which laps count."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from planner.run.lap_times import compare, incomplete_beta, straight_line, summary, t_two_sided

# NIST StRD, linear regression, data set "Norris" (ozone monitors): y, x.
NORRIS = """
0.1 0.2      338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1     228.1 226.5
668.5 666.3  998.5 996.3  449.1 448.6  778.9 777.0  559.2 558.2  0.3 0.4
0.1 0.6      778.1 775.5  668.8 666.9  339.3 338.0  448.9 447.5  10.8 11.6
557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3
0.6 0.3      557.6 556.8  339.3 339.1  888.0 887.2  998.5 999.0  778.9 779.0
10.2 11.1    117.6 118.3  228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""

laps = st.lists(st.floats(10, 40), min_size=2, max_size=30)


def test_norris() -> None:
    values = np.array(NORRIS.split(), dtype=float).reshape(36, 2)
    line = straight_line(values[:, 1].tolist(), values[:, 0].tolist())
    # Certified values of NIST StRD, to 1e-9.
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-9)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.slope_error == pytest.approx(0.429796848199937e-03, rel=1e-9)
    assert line.intercept_error == pytest.approx(0.232818234301152, rel=1e-9)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)


@given(laps.filter(lambda times: len(times) > 2 and len(set(times)) > 1))
def test_line_against_scipy(times: list[float]) -> None:
    x = list(range(len(times)))
    expected = stats.linregress(x, times)
    line = straight_line(x, times)
    assert line.slope == pytest.approx(expected.slope, rel=1e-7, abs=1e-9)
    assert line.slope_error == pytest.approx(expected.stderr, rel=1e-6, abs=1e-7)


def test_line_wants_two_points() -> None:
    with pytest.raises(ValueError, match="two points"):
        straight_line([1.0, 1.0], [2.0, 3.0])
    assert straight_line([0.0, 2.0], [1.0, 5.0]).slope == 2.0
    assert straight_line([0.0, 2.0], [1.0, 5.0]).slope_error is None


@given(st.floats(0.3, 200), st.floats(0.3, 200), st.floats(0, 1))
def test_incomplete_beta_against_scipy(a: float, b: float, x: float) -> None:
    assert incomplete_beta(a, b, x) == pytest.approx(special.betainc(a, b, x), abs=1e-11)


@given(st.floats(-40, 40), st.floats(1, 300))
def test_t_against_scipy(t: float, freedom: float) -> None:
    expected = 2 * stats.t.sf(abs(t), freedom)
    assert t_two_sided(t, freedom) == pytest.approx(expected, rel=1e-8, abs=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_comparison_against_scipy(seed: int) -> None:
    draw = np.random.default_rng(seed)
    before = draw.normal(19.8, 0.10, 10)
    after = draw.normal(19.75, 0.05, 8)
    before[0], after[0] = before[1], after[1]  # no out lap
    found = compare(before.tolist(), after.tolist())
    expected = stats.ttest_ind(after, before, equal_var=False)
    assert found.p == pytest.approx(expected.pvalue, rel=1e-9)
    assert found.freedom == pytest.approx(expected.df, rel=1e-9)
    assert found.difference == pytest.approx(after.mean() - before.mean(), abs=1e-12)


def test_verdicts() -> None:
    slow = [19.92, 19.90, 19.91, 19.93, 19.92]
    fast = [19.71, 19.70, 19.73, 19.72, 19.71]
    assert compare(slow, fast).verdict == "faster"
    assert compare(fast, slow).verdict == "slower"
    assert compare(fast, fast).verdict == "unclear"
    assert compare(fast, fast).p == 1.0
    assert compare([19.7], slow).verdict == "unclear"
    assert compare([19.7], slow).error is None


def test_laps_all_of_one_time_differ_by_what_a_watch_resolves() -> None:
    assert compare([19.80] * 5, [19.80] * 5).verdict == "unclear"
    assert compare([19.80] * 5, [19.60] * 5).verdict == "faster"


def test_equal_runs_seldom_seem_to_differ() -> None:
    draw = np.random.default_rng(4)
    wrong = 0
    for _ in range(2000):
        runs = draw.normal(19.8, 0.08, (2, 9))
        wrong += compare(runs[0].tolist(), runs[1].tolist()).verdict != "unclear"
    print(f"equal runs taken to differ: {wrong / 2000:.1%}")  # noqa: T201
    assert 0.03 < wrong / 2000 < 0.08


def test_out_lap_is_left_out() -> None:
    times = [21.40, 19.80, 19.82, 19.81, 19.84, 19.85]
    found = summary(times)
    assert found.counted == (2, 3, 4, 5, 6)
    assert found.best == 19.80
    assert found.mean == pytest.approx(19.824)
    expected = stats.linregress(range(5), times[1:])
    assert found.falloff == pytest.approx(expected.slope)
    assert found.falloff_error == pytest.approx(expected.stderr)
    assert found.sd == pytest.approx(np.std(times[1:], ddof=1))


def test_an_out_lap_is_told_from_a_late_one_on_tires_that_fall_off() -> None:
    times = [17.74, 17.56, 17.60, 17.58, 17.63, 17.61, 17.66, 17.63, 17.70, 17.67]
    found = summary(times)
    assert found.counted == tuple(range(2, 11))
    assert found.falloff == pytest.approx(stats.linregress(range(9), times[1:]).slope)
    assert summary([17.55, *times[1:]]).counted == tuple(range(1, 11))
    # The band of a further lap, by scipy's line: just within it counts, just beyond does not.
    laps = np.array(times[1:])
    fit = stats.linregress(np.arange(1, 10), laps)
    left = laps - fit.intercept - fit.slope * np.arange(1, 10)
    band = 3 * math.hypot(math.sqrt((left**2).sum() / 7), fit.intercept_stderr)
    band = max(band, 0.005 * fit.intercept)
    for beyond, counts in ((0.99, 10), (1.01, 9)):
        assert len(summary([fit.intercept + beyond * band, *times[1:]]).counted) == counts


def test_ordinary_first_laps_are_seldom_taken_for_out_laps() -> None:
    draw = np.random.default_rng(8)
    taken = sum(
        len(summary((19.8 + 0.02 * np.arange(10) + draw.normal(0, 0.05, 10)).tolist()).counted) < 10
        for _ in range(2000)
    )
    assert taken / 2000 < 0.03


@pytest.mark.parametrize(
    "times",
    [
        [19.83, 19.80, 19.82, 19.81, 19.84],  # an ordinary first lap
        [19.10, 19.80, 19.82, 19.81, 19.84],  # a fast one
        [19.80, 19.80, 22.00, 19.81, 19.84],  # traffic later on is part of the run
        [25.0, 19.8, 19.9],  # too few to judge by
    ],
)
def test_no_other_lap_is_left_out(times: list[float]) -> None:
    assert summary(times).counted == tuple(range(1, len(times) + 1))


def test_few_laps() -> None:
    one = summary([20.0])
    assert (one.best, one.mean, one.sd, one.falloff, one.falloff_error) == (
        20,
        20,
        None,
        None,
        None,
    )
    two = summary([20.0, 20.5])
    assert two.falloff == pytest.approx(0.5)
    assert two.falloff_error is None
    for call in (lambda: summary([]), lambda: compare([], [19.0])):
        with pytest.raises(ValueError, match="no lap"):
            call()


@given(laps, st.floats(-5, 5))
def test_falloff_does_not_depend_on_the_clock(times: list[float], later: float) -> None:
    found, moved = summary(times), summary([time + later for time in times])
    if found.counted == moved.counted:
        assert found.falloff is not None
        assert moved.falloff == pytest.approx(found.falloff, abs=1e-9)
    assert found.best <= found.mean + 1e-9 or len(found.counted) < len(times)
    assert math.isfinite(found.mean)
