"""How much is expected to be out of band: against numerical integration and independent draws."""

import math

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from planner.judging.expected import EXCESS, MARGIN, Bands
from planner.rulebook import rules_file
from planner.rulebook.rules import TUNING_ORDER
from planner.trade.corners import CORNERS
from planner.trade.figures import BASE_FIGURES, compute

Array = npt.NDArray[np.float64]

OVAL = rules_file.load(rules_file.find("paved-oval"))
BANDS = Bands.of(OVAL, "left")
AT = {band.key: number for number, band in enumerate(BANDS.bands)}

# A car in band everywhere: RF 8 over RR, the diagonal 7.5 below front and right side.
EVEN = dict(zip(CORNERS, (210.0, 218.0, 195.0, 210.0), strict=True))


def base(**changed: float) -> Array:
    """Return the base figures of the car in band, some of them changed."""
    figures = {f"average.{corner}": heat for corner, heat in EVEN.items()}
    figures |= {name.replace("_", "."): value for name, value in changed.items()}
    return np.array([figures.get(name, 0.0) for name in BASE_FIGURES])


def known(sd: float = 1.0) -> Array:
    return np.eye(12) * sd**2


def test_a_car_in_band_and_well_known_is_expected_to_show_nothing() -> None:
    faults = BANDS.faults(base(), known(0.1))
    assert float(faults.count) == pytest.approx(0.0, abs=1e-6)
    assert float(faults.loss) == pytest.approx(0.0, abs=1e-6)


def test_a_figure_at_its_edge_is_not_yet_out_and_a_degree_beyond_is_even_chance() -> None:
    at_edge = BANDS.faults(base(crown_RF=3.0), known(0.1)).chance[AT["pressure.over:RF"]]
    beyond = BANDS.faults(base(crown_RF=3.0 + MARGIN), known(0.1)).chance[AT["pressure.over:RF"]]
    assert at_edge < 1e-6
    assert beyond == pytest.approx(0.5)


@given(st.floats(-6, 8), st.floats(0.5, 6), st.floats(0.05, 0.95))
def test_what_one_more_run_leaves_unseen_is_a_bivariate_normal(
    crown: float, sd: float, share: float
) -> None:
    """Against `scipy.stats.multivariate_normal`: there now, and not shown by the mean after."""
    beyond, variance = crown - 3.0 - MARGIN, sd**2
    moves = variance * (1 - share)
    both = stats.multivariate_normal([-beyond, beyond], [[variance, -moves], [-moves, moves]])
    one = Bands((BANDS.bands[AT["pressure.over:RF"]],), (3.0,), "left")
    found = one.unseen(base(crown_RF=crown), known(sd), known(sd) * share)
    assert found == pytest.approx(float(both.cdf([0.0, 0.0])), abs=2e-5)


def test_one_more_run_leaves_no_more_than_there_is_and_the_surer_it_is_the_less() -> None:
    mean, now = base(crown_RF=2.5, split_LR=8.0, average_RF=223.0), known(2.0)
    left = [BANDS.unseen(mean, now, now * share) for share in (0.999, 0.7, 0.4, 0.1, 0.001)]
    assert left == sorted(left, reverse=True)
    assert left[0] <= float(BANDS.faults(mean, now).count)
    assert left[-1] < 0.02


def test_what_one_more_run_leaves_unseen_comes_about_in_independent_draws() -> None:
    chance = np.random.default_rng(4)
    mean, now = base(crown_RF=2.5, split_LR=8.0, average_RF=223.0), known(2.0)
    noise = known(1.5)
    gain = now @ np.linalg.inv(now + noise)
    after = now - gain @ now
    left = []
    for _ in range(4000):
        truth = chance.multivariate_normal(mean, now)
        read = chance.multivariate_normal(truth, noise)
        showing = BANDS.faults(mean + gain @ (read - mean), after).chance > 0.5
        there = BANDS.faults(truth, known(1e-3)).chance > 0.5
        left.append(float((there & ~showing).sum()))
    expected = BANDS.unseen(mean, now, after)
    assert expected == pytest.approx(np.mean(left), abs=4 * np.std(left) / np.sqrt(len(left)))


@given(st.floats(-8, 8), st.floats(0.2, 6))
def test_chance_and_excess_of_one_figure_are_the_integrals(crown: float, sd: float) -> None:
    """Against `scipy.integrate` of the normal density."""
    faults = BANDS.faults(base(crown_RF=crown), known(sd))
    edge = 3.0 + MARGIN
    density = stats.norm(crown, sd).pdf
    ends = (edge, max(edge, crown) + 12 * sd)
    middle = [min(max(crown, ends[0]), ends[1])]
    chance, _ = integrate.quad(density, *ends, points=middle)
    excess, _ = integrate.quad(lambda x: (x - edge) * density(x), *ends, points=middle)
    at = AT["pressure.over:RF"]
    assert faults.chance[at] == pytest.approx(chance, abs=1e-6)
    assert faults.excess[at] == pytest.approx(excess / 3.0, abs=1e-6)


def test_a_pattern_of_two_figures_is_there_when_both_are_beyond() -> None:
    """Against `scipy.stats.multivariate_normal`; the lesser of two is only taken as normal."""
    draw = np.random.default_rng(5)
    off = []
    for _ in range(400):
        averages = 205.0 + draw.normal(0, 4, 4)
        mean = base(**{f"average_{c}": heat for c, heat in zip(CORNERS, averages, strict=True)})
        sd = draw.uniform(0.5, 5)
        root = draw.normal(0, sd / 2, (12, 12)) + np.eye(12) * sd
        covariance = root @ root.T
        faults = BANDS.faults(mean, covariance)
        for key in ("cross.too-much", "cross.not-enough"):
            band = BANDS.bands[AT[key]]
            rows = BANDS.weights[[BANDS.names.index(name) for name in band.figures]]
            edge = (band.rule.edge or 0.0) + band.rule.sign * MARGIN
            beyond = stats.multivariate_normal(
                band.rule.sign * (edge - rows @ mean), rows @ covariance @ rows.T
            )
            off.append(abs(faults.chance[AT[key]] - beyond.cdf([0.0, 0.0])))
    assert np.quantile(off, 0.98) < 0.03
    assert max(off) < 0.08


def test_draws_have_as_many_faults_out_as_expected() -> None:
    """The count against cars drawn from what is known, judged one by one."""
    draw = np.random.default_rng(8)
    mean = base(crown_RF=2.5, split_LF=9.0, average_RR=206.0, average_LR=200.0)
    covariance = np.diag(draw.uniform(2, 12, 12))
    expected = float(BANDS.faults(mean, covariance).count)
    count = 4000
    seen = 0
    for figures in draw.multivariate_normal(mean, covariance, count):
        values = dict(zip(BANDS.names, BANDS.weights @ figures, strict=True))
        for band in BANDS.bands:
            alike = band.is_alike(values["front_split_gap"])
            seen += alike and min(band.beyond(values[n]) for n in band.figures) > MARGIN
    assert seen / count == pytest.approx(expected, abs=0.06)


def test_loss_counts_a_bad_fault_for_more_than_a_slight_one() -> None:
    slight, bad = (BANDS.faults(base(split_RF=at), known()) for at in (15.0, 30.0))
    assert float(bad.count) == pytest.approx(float(slight.count), abs=1e-3)
    by = EXCESS * (30.0 - 15.0) / 10.0
    assert float(bad.loss - slight.loss) == pytest.approx(by, abs=0.01)


def test_what_the_crew_left_open_is_not_counted() -> None:
    left = Bands.of(OVAL, "left", {"pressure.over:RF"})
    out = base(crown_RF=12.0)
    assert float(BANDS.faults(out, known()).count) > 0.9
    assert float(left.faults(out, known()).count) < 0.1


def test_both_front_splits_must_be_alike_for_a_fault_of_toe() -> None:
    alike = BANDS.faults(base(split_LF=9.0, split_RF=9.0), known(0.3))
    apart = BANDS.faults(base(split_LF=0.0, split_RF=18.0), known(0.3))
    assert alike.chance[AT["toe.inner-hot"]] > 0.99
    assert apart.chance[AT["toe.inner-hot"]] < 0.01


def test_every_stage_has_its_bands() -> None:
    stages = [BANDS.of_stage(stage) for stage in TUNING_ORDER]
    assert np.sum(stages, axis=0).tolist() == [1] * len(BANDS.bands)


def test_many_cars_are_judged_at_once_as_one_by_one() -> None:
    draw = np.random.default_rng(3)
    means = draw.normal(0, 12, (5, len(BANDS.names)))
    variances = draw.uniform(0.5, 9, means.shape)
    first, second = BANDS.pairs.T
    shared = 0.3 * np.sqrt(variances[:, first] * variances[:, second])
    shared[:, first == second] = variances[:, first][:, first == second]
    together = BANDS.faults_of(means, variances, shared)
    for number in range(5):
        one = BANDS.faults_of(means[number], variances[number], shared[number])
        assert together.loss[number] == pytest.approx(float(one.loss))


def test_of_readings_read_without_error_the_faults_are_those_of_the_bands() -> None:
    tires = {c: (heat + 12.0, heat + 6.0, heat) for c, heat in EVEN.items()}
    figures = compute(tires)
    mean = np.array([figures.base[name] for name in BASE_FIGURES])
    faults = BANDS.faults(mean, known(1e-4))
    shown = {b.key for b, chance in zip(BANDS.bands, faults.chance, strict=True) if chance > 0.5}
    assert {f"camber.inner-hot:{c}" for c in CORNERS} | {"toe.inner-hot"} == shown
    assert math.isfinite(float(faults.loss))
