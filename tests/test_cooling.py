"""Cooling while the tires are read: what is put back, by how much, and when nothing is."""

import math

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.run.cooling import EVENING_OUT, LOG_SPREAD, RATE_DIFFERS, TIME_CONSTANT, cooled, settle
from planner.run.readings import Again, Run
from planner.trade.corners import CORNERS, Corner, Three
from planner.trade.figures import Noise
from planner.words.runs import cooling

NOISE = Noise()
QUIET = Noise(reading=0.1, run=0.0)
HOT: dict[Corner, Three] = {
    "LF": (205.0, 208.0, 203.0),
    "RF": (231.0, 226.0, 219.0),
    "LR": (198.0, 201.0, 199.0),
    "RR": (222.0, 224.0, 216.0),
}
ORDER: tuple[Corner, ...] = ("RF", "RR", "LR", "LF")
AIR = 70.0

temperature = st.floats(40, 320)
tire = st.tuples(temperature, temperature, temperature)


def stood(tire: Three, seconds: float, rate: float) -> Three:
    inner, middle, outer = (cooled(t, AIR, seconds, rate) for t in tire)
    return inner, middle, outer


def reading_round(rate: float, seconds: float = 12.0) -> Run:
    """Return the run as it is read while the tires cool."""
    tires = {corner: stood(HOT[corner], i * seconds, rate) for i, corner in enumerate(ORDER)}
    again = Again(ORDER[0], stood(HOT[ORDER[0]], 4 * seconds, rate))
    return Run(tires, air_temp=AIR, order=ORDER, again=again)


def mean(tire: Three) -> float:
    return sum(tire) / 3


def test_newton() -> None:
    # After one time constant the difference to the air is down to 1/e.
    assert cooled(170.0, 70.0, 600.0, 1 / 600) == pytest.approx(70 + 100 / math.e)
    assert cooled(170.0, 70.0, 0.0, 1 / 600) == 170.0


@pytest.mark.parametrize("time_constant", [200.0, 600.0, 1500.0])
@pytest.mark.parametrize("seconds", [8.0, 12.0, 20.0])
def test_decay_is_recovered(time_constant: float, seconds: float) -> None:
    run = reading_round(1 / time_constant, seconds)
    found = settle(run, QUIET, seconds_per_tire=seconds)
    assert found.rate is not None
    assert found.rate.mean == pytest.approx(1 / time_constant, rel=0.01)
    for corner in CORNERS:
        assert found.tires[corner] == pytest.approx(HOT[corner], abs=0.1)
    assert found.remarks == ()


def test_first_tire_stays_and_later_ones_are_less_sure() -> None:
    found = settle(reading_round(1 / 400), NOISE)
    assert found.tires["RF"] == HOT["RF"]
    assert "RF" not in found.level_variance
    levels = [found.level_variance[corner] for corner in ORDER[1:]]
    assert levels == sorted(levels)
    assert min(levels) > 0
    alike = dict.fromkeys(CORNERS, HOT["RF"])
    extra = settle(Run(alike, order=ORDER, again=Again("RF", HOT["RF"])), NOISE).extra_variance
    extras = [extra[corner] for corner in ORDER[1:]]
    assert extras == sorted(extras)
    assert min(extras) > 0


def evened(tire: Three, seconds: float, level: float, within: float) -> Three:
    """Return a tire whose average falls at one rate and whose strips even out at another."""
    average = mean(tire)
    now = cooled(average, AIR, seconds, level)
    inner, middle, outer = (now + (t - average) * math.exp(-within * seconds) for t in tire)
    return inner, middle, outer


@pytest.mark.parametrize("within", [1 / 120, 1 / 300, 1 / 600])
def test_strips_that_even_out_faster_than_the_tire_cools_are_put_back(within: float) -> None:
    tires = {c: evened(HOT[c], 12.0 * i, 1 / 900, within) for i, c in enumerate(ORDER)}
    again = Again("RF", evened(HOT["RF"], 48.0, 1 / 900, within))
    found = settle(Run(tires, air_temp=AIR, order=ORDER, again=again), QUIET)
    for corner in CORNERS:
        assert found.tires[corner] == pytest.approx(HOT[corner], abs=0.25)


@pytest.mark.sweep
def test_split_and_crown_are_right_as_often_as_they_say() -> None:
    draw = np.random.default_rng(12)
    steep: Three = (236.0, 215.0, 205.0)
    inside = {"split": 0, "crown": 0}
    draws = 2000
    for _ in range(draws):
        within = math.exp(LOG_SPREAD * draw.normal()) / EVENING_OUT

        def read(seconds: float, within: float) -> Three:
            true = np.array(evened(steep, seconds, 1 / 900, within))
            inner, middle, outer = true + draw.normal(0, NOISE.reading, 3)
            return float(inner), float(middle), float(outer)

        tires = {corner: read(12.0 * i, within) for i, corner in enumerate(ORDER)}
        run = Run(tires, air_temp=AIR, order=ORDER, again=Again("RF", read(48.0, within)))
        found = settle(run, NOISE)
        inner, middle, outer = found.tires["LF"]
        reading = NOISE.reading**2 + found.extra_variance.get("LF", 0.0)
        split = (inner - outer - 31.0) / math.sqrt(2 * reading)
        crown = (middle - mean(found.tires["LF"]) - (215 - mean(steep))) / math.sqrt(reading / 1.5)
        inside["split"] += abs(split) < 1.645
        inside["crown"] += abs(crown) < 1.645
    print("strips put back, 90 % intervals that hold the truth:", inside)  # noqa: T201
    # The doubt about the rate is spread evenly, so that of a large split comes a little narrow.
    assert inside["split"] / draws == pytest.approx(0.9, abs=0.04)
    assert inside["crown"] / draws == pytest.approx(0.9, abs=0.04)


def test_order_matters() -> None:
    run = reading_round(1 / 400)
    other = attrs.evolve(run, order=("RF", "LF", "LR", "RR"))
    one, two = settle(run, NOISE).tires, settle(other, NOISE).tires
    assert one["LF"][0] > two["LF"][0]
    assert one["RR"][0] < two["RR"][0]
    assert one["LR"] == two["LR"]


@pytest.mark.sweep
def test_correction_is_right_as_often_as_it_says() -> None:
    draw = np.random.default_rng(11)
    inside = {0.5: 0, 0.9: 0}
    z_value = {0.5: 0.674, 0.9: 1.645}
    draws = 3000
    counted = 0
    for _ in range(draws):
        rate = math.exp(LOG_SPREAD * draw.normal()) / TIME_CONSTANT

        def read(corner: Corner, seconds: float, rate: float) -> Three:
            inner, middle, outer = np.array(stood(HOT[corner], seconds, rate)) + draw.normal(
                0, NOISE.reading, 3
            )
            return float(inner), float(middle), float(outer)

        own = {c: max(0.0, rate * (1 + RATE_DIFFERS * draw.normal())) for c in CORNERS}
        own[ORDER[0]] = rate
        tires = {corner: read(corner, 12.0 * i, own[corner]) for i, corner in enumerate(ORDER)}
        again = Again("RF", read("RF", 48.0, rate))
        found = settle(Run(tires, air_temp=AIR, order=ORDER, again=again), NOISE)
        if found.rate is None:
            continue
        counted += 1
        variance = (NOISE.reading**2 + found.extra_variance["LF"]) / 3 + found.level_variance["LF"]
        z = (mean(found.tires["LF"]) - mean(HOT["LF"])) / math.sqrt(variance)
        for level, edge in z_value.items():
            inside[level] += abs(z) < edge
    print("cooling, intervals that hold the truth:", inside, "of", counted)  # noqa: T201
    assert counted > 0.95 * draws
    assert inside[0.5] / counted == pytest.approx(0.5, abs=0.04)
    assert inside[0.9] / counted == pytest.approx(0.9, abs=0.03)


@pytest.mark.parametrize("air", [None, 60.0, 90.0])
def test_air_temperature_hardly_matters(air: float | None) -> None:
    # What the air's temperature gets wrong, the rate found with it corrects.
    run = attrs.evolve(reading_round(1 / 400), air_temp=air)
    found = settle(run, QUIET)
    for corner in CORNERS:
        assert found.tires[corner] == pytest.approx(HOT[corner], abs=1.0)


def test_nothing_to_go_by_leaves_the_readings_alone() -> None:
    found = settle(Run(HOT), NOISE)
    assert found.tires == HOT
    assert (found.extra_variance, found.level_variance, found.rate, found.remarks) == (
        {},
        {},
        None,
        (),
    )
    prompt = settle(Run(HOT, delay=60.0), NOISE)
    assert prompt.level_variance == {}


def test_a_second_reading_without_the_order_is_no_help() -> None:
    run = attrs.evolve(reading_round(1 / 400), order=())
    found = settle(run, NOISE)
    assert found.tires == run.tires
    assert found.rate is None
    assert "order" in cooling(found.remarks[0], "us")


def test_late_reading_widens_the_error() -> None:
    found = settle(Run(HOT, delay=180.0, air_temp=AIR), NOISE)
    assert found.tires == HOT
    # (0.2 / 600 s × (A − 70) × 120 s)², by hand.
    above = mean(HOT["RF"]) - AIR
    assert found.level_variance["RF"] == pytest.approx((0.2 / 600 * above * 120) ** 2)
    assert "180 s" in cooling(found.remarks[0], "us")


def test_known_order_widens_the_error_of_tires_read_late() -> None:
    found = settle(Run(HOT, order=ORDER, air_temp=AIR), NOISE)
    assert found.tires == HOT
    assert "RF" not in found.level_variance
    above = mean(HOT["LF"]) - AIR
    assert found.level_variance["LF"] == pytest.approx((0.2 / 600 * above * 36) ** 2)
    both = settle(Run(HOT, order=ORDER, air_temp=AIR, delay=120.0), NOISE)
    assert both.level_variance["LF"] == pytest.approx((0.2 / 600 * above * 96) ** 2)


@pytest.mark.parametrize(
    ("again", "system", "says"),
    [
        ((241.0, 236.0, 229.0), "us", "+10.0 °F the second time"),
        ((241.0, 236.0, 229.0), "metric", "+5.6 °C the second time"),
        ((120.0, 118.0, 116.0), "us", "faster than a tire cools"),
    ],
)
def test_impossible_second_readings_are_questioned(again: Three, system: str, says: str) -> None:
    run = Run(HOT, air_temp=AIR, order=ORDER, again=Again("RF", again))
    found = settle(run, NOISE)
    assert found.tires == HOT
    assert found.rate is None
    assert says in cooling(found.remarks[0], system)


def test_a_little_hotter_is_noise() -> None:
    again = Again("RF", (232.0, 227.0, 220.0))
    found = settle(Run(HOT, air_temp=AIR, order=ORDER, again=again), NOISE)
    assert found.rate is not None
    assert found.rate.mean < 1 / TIME_CONSTANT
    assert found.remarks == ()


def test_a_cold_tire_shows_no_rate() -> None:
    cold: dict[Corner, Three] = dict.fromkeys(CORNERS, (80.0, 80.0, 80.0))
    run = Run(cold, air_temp=AIR, order=ORDER, again=Again("RF", (80.0, 80.0, 80.0)))
    found = settle(run, NOISE)
    assert found.tires == cold
    assert "too near the air" in cooling(found.remarks[0], "us")


@given(
    st.tuples(tire, tire, tire, tire),
    tire,
    st.permutations(CORNERS),
    st.floats(20, 110),
    st.one_of(st.none(), st.floats(0, 600)),
)
@settings(deadline=None)
def test_a_tire_is_never_cooled(
    four: tuple[Three, ...], again: Three, order: list[Corner], air: float, delay: float | None
) -> None:
    tires = dict(zip(CORNERS, four, strict=True))
    run = Run(tires, air_temp=air, order=tuple(order), again=Again(order[0], again), delay=delay)
    found = settle(run, NOISE)
    for corner in CORNERS:
        was, put_back = tires[corner], found.tires[corner]
        assert mean(put_back) >= mean(was) - 1e-9
        assert all(math.isfinite(value) for value in put_back)
        for before, after in zip(was, put_back, strict=True):
            # Nor is one strip made more like the others.
            assert abs(after - mean(put_back)) >= abs(before - mean(was)) - 1e-9
    assert all(variance >= 0 for variance in found.extra_variance.values())
    assert all(variance >= 0 for variance in found.level_variance.values())
