"""How noisy the readings are: found again from readings of known noise, and worked out by hand."""

import math

import attrs
import numpy as np
import pytest

from planner.car.changes import Setting
from planner.learning.observed import Observation
from planner.learning.reading_noise import NOISE_WORTH, estimate_noise, pooled_noise
from planner.trade.corners import CORNERS
from planner.trade.figures import BASE_FIGURES, Noise

CAMBER: Setting = ("camber", "RF")
NOISE = Noise()


def repeats(draw: np.random.Generator, noise: Noise, count: int) -> list[Observation]:
    found = []
    for _ in range(count):
        common = draw.normal(0, noise.run)
        base: dict[str, float] = {}
        for corner in CORNERS:
            three = 200 + common + draw.normal(0, noise.reading, 3)
            base[f"average.{corner}"] = float(three.mean())
            base[f"split.{corner}"] = float(three[0] - three[2])
            base[f"crown.{corner}"] = float(three[1] - three.mean())
        found.append(Observation(base))
    return found


@pytest.mark.parametrize("true", [Noise(1.5, 1.0), Noise(3.0, 2.0), Noise(6.0, 5.0)])
def test_noise_is_found_from_many_repeats(true: Noise) -> None:
    found = estimate_noise(repeats(np.random.default_rng(50), true, 400), Noise())
    assert found.reading == pytest.approx(true.reading, rel=0.05)
    assert found.run == pytest.approx(true.run, rel=0.12)


def test_noise_is_found_from_groups_of_any_size_some_read_badly() -> None:
    """Six hundred setups run two or three times; RF known to be noisier, its level too."""
    draw = np.random.default_rng(77)
    seen = []
    for number in range(600):
        for _ in range(2 + number % 2):
            common = draw.normal(0, 2.0)
            base = {}
            for corner in CORNERS:
                spread = 6.0 if corner == "RF" else 3.0
                inner, middle, outer = draw.normal(0, spread, 3) + common
                average = (inner + middle + outer) / 3
                level = draw.normal(0, 2.0) if corner == "RF" else 0.0
                base[f"average.{corner}"] = 200 + average + level
                base[f"split.{corner}"] = inner - outer
                base[f"crown.{corner}"] = middle - average
            seen.append(
                Observation(
                    base,
                    {CAMBER: float(number + 1)},
                    {},
                    extra_variance={"RF": 27.0},
                    level_variance={"RF": 4.0},
                )
            )
    found = estimate_noise(seen, Noise(3.0, 2.0), worth=1.0)
    assert found.reading == pytest.approx(3.0, rel=0.03)
    assert 1.4 < found.run < 2.2  # scaled down with the readings of RF it is drawn in a little
    stubborn = estimate_noise(seen, Noise(9.0, 6.0), worth=1e9)
    assert (stubborn.reading, stubborn.run) == pytest.approx((9.0, 6.0), rel=1e-3)
    known = pooled_noise(np.zeros((2, 12)), 1, Noise(3.0, 0.0), worth=12.0)
    assert known.run < 0.6


def test_noise_stays_without_repeats() -> None:
    assert estimate_noise([], NOISE) == NOISE
    base = dict.fromkeys(BASE_FIGURES, 200.0)
    runs = [Observation(base, {CAMBER: turned}) for turned in (0.0, 0.5, 1.0)]
    assert estimate_noise(runs, NOISE) == NOISE


def test_noise_by_hand() -> None:
    # Two repeats that differ in one split by 10: each is 5 off, S = 2 · 25/2 = 25, 11 degrees.
    base = dict.fromkeys(BASE_FIGURES, 200.0)
    runs = [Observation(base), Observation(base | {"split.LF": 210.0})]
    found = estimate_noise(runs, NOISE)
    reading = (NOISE_WORTH * 9 + 25) / (NOISE_WORTH + 11)
    assert found.reading == pytest.approx(math.sqrt(reading))
    run = NOISE_WORTH * (4 + 9 / 12) / (NOISE_WORTH + 1) - reading / 12
    assert found.run == pytest.approx(math.sqrt(run))


def test_a_tire_read_late_counts_for_less_by_hand() -> None:
    # Repeats differ in one average by 10, each 5 off, its error 9/3 + 6 = 9 in place of 3: the
    # deviation counts for 5/sqrt(3), a quarter of it in the mean of the four averages.
    base = dict.fromkeys(BASE_FIGURES, 200.0)
    late = {"RF": 6.0}
    runs = [
        Observation(base, level_variance=late),
        Observation(base | {"average.RF": 210.0}, level_variance=late),
    ]
    found = estimate_noise(runs, NOISE)
    reading = (NOISE_WORTH * 9 + 2 * (25 / 3) * (3 / 4) * 3) / (NOISE_WORTH + 11)
    assert found.reading == pytest.approx(math.sqrt(reading))
    run = (NOISE_WORTH * (4 + 9 / 12) + 2 * (25 / 3) / 16) / (NOISE_WORTH + 1) - reading / 12
    assert found.run == pytest.approx(math.sqrt(run))


def test_a_track_that_warms_is_no_noise() -> None:
    base = dict.fromkeys(BASE_FIGURES, 200.0)
    hotter = base | {f"average.{corner}": 210.0 for corner in CORNERS}
    told = [
        Observation(base, {}, {"track_temp": 80.0}),
        Observation(hotter, {}, {"track_temp": 100}),
    ]
    untold = [attrs.evolve(run, conditions={}) for run in told]
    assert estimate_noise(told, NOISE).run < NOISE.run < estimate_noise(untold, NOISE).run


def test_pooled_noise_takes_residuals() -> None:
    draw = np.random.default_rng(52)
    scale = np.sqrt(np.repeat([1 / 3, 2.0, 2 / 3], 4)) * 4.0
    residuals = draw.normal(0, 1, (500, 12)) * scale
    residuals[:, :4] += draw.normal(0, 1.0, (500, 1))
    found = pooled_noise(residuals, 500, NOISE)
    assert found.reading == pytest.approx(4.0, rel=0.05)
    assert found.run == pytest.approx(1.0, rel=0.2)
