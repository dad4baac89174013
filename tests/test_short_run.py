"""A run of fewer laps than asked: what it still counts for, by a warm-up worked out otherwise."""

import math

import attrs
import numpy as np
import pytest
from garage import FAULTS, Crew, run, run_command, stand, tires
from scipy import integrate, stats

from planner.learning.observed import Observation, Priors
from planner.learning.reading_noise import estimate_noise
from planner.learning.response import learn
from planner.learning.surprise import surprise
from planner.run import warm_up
from planner.run.readings import FewLaps, Settled
from planner.trade import figures
from planner.trade.corners import CORNERS
from planner.trade.figures import BASE_FIGURES, Noise

HOT = {"LF": (190.0, 190.0, 190.0), "RF": (230.0, 220.0, 210.0)} | dict.fromkeys(
    ("LR", "RR"), (200.0, 200.0, 200.0)
)


@pytest.mark.parametrize(("laps", "warming"), [(9, 4.0), (5, 4.0), (4, 4.0), (9, 2.0), (1, 8.0)])
def test_the_shortfall_is_that_of_an_exponential_warm_up(laps: int, warming: float) -> None:
    """The same mean square by scipy's quadrature over its log-normal."""

    def squared(time: float) -> float:
        return ((1 - math.exp(-10 / time)) / (1 - math.exp(-laps / time)) - 1) ** 2

    spread = stats.lognorm(s=0.7, scale=warming)
    low, high = spread.ppf(1e-5), spread.ppf(1 - 1e-5)
    expected, _ = integrate.quad(
        lambda t: squared(t) * spread.pdf(t), low, high, limit=500, points=[warming]
    )
    assert warm_up.shortfall(laps, 10, warming) == pytest.approx(math.sqrt(expected), rel=2e-3)


def test_nobody_is_shorter_than_a_tire_that_warms_evenly_to_the_end() -> None:
    short = [warm_up.shortfall(laps, 10, 4.0) for laps in range(4, 10)]
    assert short == sorted(short, reverse=True)
    assert all(value < 10 / laps - 1 for laps, value in zip(range(4, 10), short, strict=True))
    assert short[-1] < 0.05  # nine of ten: a few degrees of some 130 above the air


def test_the_error_grows_most_in_what_all_tires_share() -> None:
    this = run(HOT, laps=9, air_temp=80.0)
    before = Settled(HOT, level_variance={"RF": 2.0}, extra_variance={"RF": 1.0})
    settled = warm_up.settle(before, this, 10, 4.0)
    short = warm_up.shortfall(9, 10, 4.0)
    assert settled.tires == HOT
    assert settled.common_variance == pytest.approx((short * (110 + 140 + 120 + 120) / 4) ** 2)
    assert settled.level_variance["RF"] == pytest.approx(2.0 + (0.2 * short * 140) ** 2)
    # The strips of the RF differ by 10, 0 and -10 from their average: half the squares is 100.
    assert settled.extra_variance["RF"] == pytest.approx(1.0 + short**2 * 100)
    assert settled.extra_variance["LF"] == 0.0
    assert settled.remarks == (FewLaps(9, 10),)
    for laps in (None, 10, 12):
        assert warm_up.settle(before, attrs.evolve(this, laps=laps), 10, 4.0) == before


def observed(level: float = 0.0, **more) -> Observation:
    readings = {corner: tuple(t + level for t in tire) for corner, tire in HOT.items()}
    return Observation(figures.compute(readings).base, **more)


def test_a_common_error_is_weighed_as_the_textbook_has_it() -> None:
    """Weighted least squares of two runs of one setup, by their whole covariances."""
    noise = Noise(3.0, 2.0)
    runs = [observed(), observed(-12.0, common_variance=100.0)]
    known = learn(runs, Priors({}, conditions={}, noise=noise))
    values = [np.array([seen.base[f"average.{c}"] for c in CORNERS]) for seen in runs]
    inverses = [
        np.linalg.inv(np.eye(4) * 3.0 + (4.0 + seen.common_variance) * np.ones((4, 4)))
        for seen in runs
    ]
    covariance = np.linalg.inv(sum(inverses))
    mean = covariance @ sum(i @ v for i, v in zip(inverses, values, strict=True))
    found, spread = known.joint([f"average.{c}" for c in CORNERS])
    assert found == pytest.approx(mean)
    assert spread == pytest.approx(covariance)
    # Differences between tires are known as well as from two whole runs.
    assert known.estimate("balance").sd == pytest.approx(math.sqrt(2 * 3.0 / 2))


def test_a_common_error_is_no_surprise_and_no_noise() -> None:
    noise, names = Noise(3.0, 2.0), ("front", "balance")
    known = learn([observed(), observed()], Priors({}, conditions={}, noise=noise))
    whole, short = observed(-20.0), observed(-20.0, common_variance=400.0)
    (front, balance), (at_ease, same) = (surprise(known, seen, names) for seen in (whole, short))
    assert front.probability < 0.001
    assert at_ease.probability > 0.3
    assert at_ease.predicted.sd**2 == pytest.approx(front.predicted.sd**2 + 400.0)
    assert same == balance
    assert estimate_noise([observed(), short], noise) == noise
    assert set(BASE_FIGURES) == set(short.base)


def test_nine_of_ten_laps_count_and_are_remarked(begun: Crew) -> None:
    status = begun.record(FAULTS["camber"], "--laps", "9")
    assert (*stand(status), status["void"]) == ("camber", "choice", "")
    assert status["beside"] == ["9 of 10 laps were run: the readings count for less"]
    told = " ".join(run_command("why", begun.path).out.split())
    assert "9 of 10 laps were run: the readings count for less" in told
    (whole,) = [p for p in begun_with(begun, "10")["patterns"] if p["stage"] == "camber"]
    (short,) = [p for p in status["patterns"] if p["stage"] == "camber"]
    assert short["error"] > whole["error"]
    assert short["value"] == whole["value"]


def begun_with(crew: Crew, laps: str):
    other = Crew(crew.path.with_name(f"{laps}.toml"))
    other.start()
    return other.record(FAULTS["camber"], "--laps", laps)


@pytest.mark.parametrize(("laps", "counts"), [(3, False), (4, True), (5, True)])
def test_only_so_few_laps_void_a_run_as_the_rules_say(begun: Crew, laps: int, counts) -> None:
    status = begun.record(FAULTS["camber"], "--laps", laps)
    assert stand(status) == ("camber", "choice" if counts else "run")
    assert status["void"] == ("" if counts else f"only {laps} of 10 laps were run")


def test_how_few_is_for_the_rules_to_say(crew: Crew, tmp_path) -> None:
    text = run_command("rules", "show", "paved-oval").out
    own = tmp_path / "own.toml"
    own.write_text(text.replace("least_laps = 4 ", "least_laps = 7 "), "utf-8")
    crew.start("--rules", own)
    assert crew.record(FAULTS["camber"], "--laps", 6)["void"]
    assert not crew.record(FAULTS["camber"], "--laps", 7)["void"]
    assert "least_laps = 7" in crew.text()


def test_a_day_of_fewer_laps_than_the_rules_least_asks_for_its_own(crew: Crew) -> None:
    crew.start("--laps", 3)
    assert crew.record(tires(), "--laps", 2)["void"]
    assert not crew.record(tires(), "--laps", 3)["void"]


def test_a_lap_amended_makes_a_run_count(begun: Crew) -> None:
    assert stand(begun.record(FAULTS["camber"], "--laps", 3)) == ("camber", "run")
    answer = begun.tries("amend", 1, "--laps", "8", "--reason", "counted again")
    assert stand(answer.data) == ("camber", "choice")
