"""Cold to hot and back: published examples, moist air, and what a leak looks like."""

import math

import CoolProp.CoolProp as coolprop
import pytest
from garage import bad_value, refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis.air import PASCAL_PER_PSI, atmospheric_pressure, kelvin
from planner.chassis.pressure import (
    COLD_TOLERANCE,
    GAS_SHARE,
    HOT_TOLERANCE,
    TireAir,
    belong_together,
    cold_from_hot,
    compare,
    gas_share_shown,
    gas_temperature,
    hot_from_cold,
)
from planner.trade.refusals import Refusal

SEA = atmospheric_pressure(0)


def build_up(cold_psi: float, cold_f: float, hot_f: float, **air: float) -> float:
    return hot_from_cold(cold_psi, cold_f, hot_f, TireAir(**air)) - cold_psi


def fahrenheit(celsius: float) -> float:
    return celsius * 9 / 5 + 32


def test_crowell() -> None:
    # B. Crowell, Light and Matter, "Pressure in a car tire": 10 to 35 °C, 308/283 = 1.09.
    hot = hot_from_cold(28, fahrenheit(10), fahrenheit(35))
    assert (hot + SEA) / (28 + SEA) == pytest.approx(1.09, abs=0.005)
    assert (hot + SEA) / (28 + SEA) == pytest.approx(308.15 / 283.15, rel=1e-9)


def test_openstax() -> None:
    # OpenStax, College Physics, "The Ideal Gas Law": 7.00e5 Pa at 18 °C, 7.41e5 Pa at 35 °C
    # (from memory); recomputed 7.00e5 × 308.15 / 291.15 = 7.409e5.
    cold = 7.00e5 / PASCAL_PER_PSI - SEA
    hot = (hot_from_cold(cold, fahrenheit(18), fahrenheit(35)) + SEA) * PASCAL_PER_PSI
    assert hot == pytest.approx(7.41e5, abs=0.005e5)
    assert hot == pytest.approx(7.00e5 * 308.15 / 291.15, rel=1e-9)


@pytest.mark.parametrize(("to", "published"), [(50, 18.69), (130, 23.93)])
def test_mailing_list_example(to: float, published: float) -> None:
    # fot list, July 2002: 20 psi at 70 °F, with 14.7 psi and −460 °F; recomputed there.
    assert (20 + 14.7) * (to + 460) / (70 + 460) - 14.7 == pytest.approx(published, abs=0.005)
    assert hot_from_cold(20, 70, to) == pytest.approx(published, abs=0.01)


@pytest.mark.parametrize("hot_f", [120, 180, 220])
def test_wet_air_against_humid_air_library(hot_f: float) -> None:
    # Saturated: dry part by the gas law, vapour from CoolProp's water; 0.02 psi.
    def vapor(temperature: float) -> float:
        return float(coolprop.PropsSI("P", "T", kelvin(temperature), "Q", 0, "Water")) / 6894.757

    ratio = (hot_f + 459.67) / (70 + 459.67)
    expected = (20 + SEA - vapor(70)) * ratio + vapor(hot_f) - SEA
    assert hot_from_cold(20, 70, hot_f, TireAir(wet=True)) == pytest.approx(expected, abs=0.02)
    assert build_up(20, 70, hot_f, wet=True) > build_up(20, 70, hot_f) + 1


def test_moist_air_without_condensation_builds_up_as_dry() -> None:
    assert build_up(20, 70, 200, humidity=0.8) == pytest.approx(build_up(20, 70, 200))


def test_moist_air_loses_vapor_when_it_cools_below_the_dew_point() -> None:
    dry, moist = hot_from_cold(20, 100, 40), hot_from_cold(20, 100, 40, TireAir(humidity=0.9))
    assert moist < dry - 0.5
    # All but a little vapour gone: the loss is near the 0.9 × 0.95 psi it started with.
    assert moist == pytest.approx(hot_from_cold(20, 100, 40, TireAir(humidity=1.0)), abs=0.1)


def test_altitude_lowers_build_up() -> None:
    assert build_up(20, 70, 180, altitude_ft=6000) < build_up(20, 70, 180) - 0.3
    # In proportion to the absolute pressure.
    ratio = build_up(20, 70, 180, altitude_ft=6000) / build_up(20, 70, 180)
    assert ratio == pytest.approx((20 + atmospheric_pressure(6000)) / (20 + SEA))


@settings(max_examples=50)
@given(
    cold=st.floats(5, 60),
    cold_f=st.floats(0, 120),
    hot_f=st.floats(0, 250),
    altitude=st.floats(0, 9000),
    humidity=st.floats(0, 1),
    wet=st.booleans(),
)
def test_round_trip(
    cold: float, cold_f: float, hot_f: float, altitude: float, humidity: float, wet: bool
) -> None:
    moist = TireAir(altitude_ft=altitude, humidity=humidity, wet=wet)
    hot = hot_from_cold(cold, cold_f, hot_f, moist)
    assert (hot > cold) == (hot_f > cold_f) or hot == pytest.approx(cold)
    if hot >= 0:
        assert cold_from_hot(hot, hot_f, cold_f, moist) == pytest.approx(cold)


def test_tire_in_the_sun() -> None:
    # 24 psi read at 110 °F is less once back at 75 °F; setting it there by the way back gives 24.
    assert hot_from_cold(24, 110, 75) == pytest.approx((24 + SEA) * 534.67 / 569.67 - SEA)
    in_the_sun = hot_from_cold(24, 75, 110)
    assert hot_from_cold(in_the_sun, 110, 75) == pytest.approx(24)
    assert hot_from_cold(24, 80, 80) == pytest.approx(24)


def test_gas_lies_between_air_and_tread() -> None:
    assert gas_temperature(200, 80) == pytest.approx(80 + 0.7 * 120)
    assert gas_temperature(200, 80, share=0) == 80
    assert gas_temperature(200, 80, share=1) == 200


def test_hot_readings_are_judged_per_corner() -> None:
    cold = {"LF": 18.0, "RF": 28.0, "RR": 26.0}
    cold_f = dict.fromkeys(cold, 75.0)
    gas = {"LF": 150.0, "RF": 185.0, "RR": 180.0, "LR": 150.0}
    expected = {c: hot_from_cold(cold[c], 75, gas[c]) for c in cold}
    read = {"LF": expected["LF"] + 0.5, "RF": expected["RF"] - 3, "RR": expected["RR"] + 3}
    checks = compare(cold, cold_f, {**read, "LR": 22.0}, gas, tolerance=HOT_TOLERANCE)
    assert set(checks) == {"LF", "RF", "RR"}
    assert [(checks[c].low, checks[c].high) for c in ("LF", "RF", "RR")] == [
        (False, False),
        (True, False),
        (False, True),
    ]
    assert checks["RF"].difference == pytest.approx(-3)
    assert checks["LF"].expected == pytest.approx(expected["LF"])
    assert checks["LF"].measured == read["LF"]


def test_slow_leak_shows_after_cool_down_at_another_temperature() -> None:
    # Cooled to 95 °F only: 20 psi looks like no loss against 20 psi set at 70 °F, but is one.
    checks = compare(
        {"RR": 20.0}, {"RR": 70.0}, {"RR": 20.0}, {"RR": 95.0}, tolerance=COLD_TOLERANCE
    )
    assert checks["RR"].low
    assert checks["RR"].difference == pytest.approx(-(20 + SEA) * 25 / 529.67)
    tight = compare(
        {"RR": 20.0}, {"RR": 70.0}, {"RR": 21.5}, {"RR": 95.0}, tolerance=COLD_TOLERANCE
    )
    assert not tight["RR"].low


def test_refusals() -> None:
    one = {"LF": 20.0}
    for where, call in (
        ("pressure", lambda: hot_from_cold(-1, 70, 180)),
        ("pressure", lambda: hot_from_cold(math.nan, 70, 180)),
        ("hot_f", lambda: hot_from_cold(20, 70, -500)),
        ("cold_f", lambda: hot_from_cold(20, math.nan, 180)),
        ("humidity", lambda: hot_from_cold(20, 70, 180, TireAir(humidity=2))),
        ("humidity", lambda: cold_from_hot(20, 180, 70, TireAir(humidity=-1))),
        ("altitude", lambda: hot_from_cold(20, 70, 180, TireAir(altitude_ft=1e6))),
        ("pressure", lambda: cold_from_hot(-1, 180, 70)),
        # Nothing but vapour: at 320 °F water alone is at 90 psi.
        ("pressure", lambda: cold_from_hot(20, 320, 70, TireAir(wet=True))),
        ("share", lambda: gas_temperature(200, 80, share=1.5)),
        ("tread_average_f", lambda: gas_temperature(math.nan, 80)),
        ("air_temp", lambda: gas_temperature(200, math.inf)),
        ("tolerance", lambda: compare(one, one, one, one, tolerance=-1)),
        ("pressure.LF", lambda: compare(one, {}, one, one, tolerance=1)),
        ("pressure.LF", lambda: compare(one, one, {"LF": -2.0}, one, tolerance=1)),
    ):
        with pytest.raises(Refusal) as caught:
            call()
        assert (caught.value.code, caught.value.where) == ("bad-value", where)
        assert caught.value.hint


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: hot_from_cold(-1, 70, 180), "pressure is -1 psi; it must be a number at least 0."),
        (
            lambda: hot_from_cold(20, -500, 180),
            "cold_f is -500 degF; it must be a number above -459.67.",
        ),
        (
            lambda: hot_from_cold(20, 70, -500),
            "hot_f is -500 degF; it must be a number above -459.67.",
        ),
        (
            lambda: hot_from_cold(20, 70, 180, TireAir(humidity=1.5, wet=True)),
            "humidity is 1.5 (0 to 1); it must be a number at least 0 and at most 1.",
        ),
        (
            lambda: hot_from_cold(20, 70, 180, TireAir(humidity=-0.5)),
            "humidity is -0.5 (0 to 1); it must be a number at least 0 and at most 1.",
        ),
        (lambda: cold_from_hot(-1, 180, 70), "pressure is -1 psi; it must be a number at least 0."),
        (
            lambda: cold_from_hot(20, 180, -500),
            "cold_f is -500 degF; it must be a number above -459.67.",
        ),
        (
            lambda: cold_from_hot(20, -500, 70),
            "hot_f is -500 degF; it must be a number above -459.67.",
        ),
        (
            lambda: cold_from_hot(20, 180, 70, TireAir(humidity=1.5, wet=True)),
            "humidity is 1.5 (0 to 1); it must be a number at least 0 and at most 1.",
        ),
        (
            lambda: cold_from_hot(20, 180, 70, TireAir(humidity=-0.5)),
            "humidity is -0.5 (0 to 1); it must be a number at least 0 and at most 1.",
        ),
        (
            lambda: gas_temperature(-500, 80),
            "tread_average_f is -500 degF; it must be a number above -459.67.",
        ),
        (
            lambda: gas_temperature(200, -500),
            "air_temp is -500 degF; it must be a number above -459.67.",
        ),
        (
            lambda: gas_temperature(200, 80, 1.5),
            "share is 1.5 (0 to 1); it must be a number at least 0 and at most 1.",
        ),
        (
            lambda: compare({}, {}, {}, {}, tolerance=-1),
            "tolerance is -1 psi; it must be a number at least 0.",
        ),
        (
            lambda: compare(*[{"RF": 20.0}] * 2, {"RF": -2.0}, {"RF": 20.0}, tolerance=1),
            "pressure.RF is -2 psi; it must be a number at least 0.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: cold_from_hot(20, 320, 70, TireAir(wet=True)),
            "pressure",
            "pressure is 34.7 psi absolute, less than the water vapour alone (89.7 psi).",
            "Check the pressure [psi] and temperature [degF], or take the air as dry.",
        ),
        (
            lambda: hot_from_cold(20, 320, 70, TireAir(wet=True)),
            "pressure",
            "pressure is 34.7 psi absolute, less than the water vapour alone (89.7 psi).",
            "Check the pressure [psi] and temperature [degF], or take the air as dry.",
        ),
        (
            lambda: compare({"LR": 20.0}, {"LR": 70.0}, {"LR": 25.0}, {}, tolerance=1),
            "pressure.LR",
            "LR has pressures but not the temperature of each.",
            "Give the temperature [degF] at the setting and at the reading.",
        ),
        (
            lambda: compare({"LR": 20.0}, {}, {"LR": 25.0}, {"LR": 70.0}, tolerance=1),
            "pressure.LR",
            "LR has pressures but not the temperature of each.",
            "Give the temperature [degF] at the setting and at the reading.",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


@pytest.mark.parametrize(
    "air", [TireAir(altitude_ft=6000), TireAir(humidity=0.9), TireAir(wet=True)], ids=str
)
def test_every_formula_counts_altitude_humidity_and_water(air: TireAir) -> None:
    # A tire that cools from 100 to 40 °F loses the vapour it cannot hold.
    dry_at_sea = TireAir(altitude_ft=0.0, humidity=0.0, wet=False)
    assert hot_from_cold(20, 100, 40) == hot_from_cold(20, 100, 40, dry_at_sea)
    assert abs(hot_from_cold(20, 100, 40, air) - hot_from_cold(20, 100, 40)) > 0.3
    set_cold = cold_from_hot(hot_from_cold(20, 100, 40, air), 40, 100, air)
    assert set_cold == pytest.approx(20)
    assert cold_from_hot(20, 180, 70) == cold_from_hot(20, 180, 70, dry_at_sea)
    assert abs(cold_from_hot(20, 40, 100, air) - cold_from_hot(20, 40, 100)) > 0.3


def test_a_comparison_takes_the_air_as_dry_at_sea_level() -> None:
    checks = compare({"RR": 20.0}, {"RR": 100.0}, {"RR": 20.0}, {"RR": 40.0}, tolerance=1)
    assert checks["RR"].expected == hot_from_cold(20, 100, 40)


def test_an_empty_tire_saturated_air_and_no_tolerance_are_let_through() -> None:
    assert hot_from_cold(0, 70, 70) == pytest.approx(0)
    assert cold_from_hot(0, 70, 70) == pytest.approx(0)
    level = compare({"LF": 0.0}, {"LF": 70.0}, {"LF": 0.0}, {"LF": 70.0}, tolerance=0)
    assert level["LF"].expected == pytest.approx(0)


def test_a_difference_of_just_the_tolerance_is_still_none() -> None:
    same = {"LF": 70.0, "RF": 70.0, "LR": 70.0, "RR": 70.0}
    kept = {corner: hot_from_cold(20, 70, 70) for corner in same}
    read = {"LF": kept["LF"] - 1, "RF": kept["RF"] + 1, "LR": kept["LR"] - 1.01}
    checks = compare(dict.fromkeys(same, 20.0), same, read, same, tolerance=1)
    assert [(checks[c].low, checks[c].high) for c in ("LF", "RF", "LR")] == [
        (False, False),
        (False, False),
        (True, False),
    ]


def test_a_corner_with_a_setting_or_a_reading_only_is_passed_over() -> None:
    both = {"LF": 20.0, "RR": 20.0}
    for set_psi, read_psi in (({"RR": 20.0}, both), (both, {"RR": 20.0})):
        assert list(compare(set_psi, both, read_psi, both, tolerance=1)) == ["RR"]


# --- the share of the tread's rise that the gas takes up -----------------------------------------

RISE = {"LF": 130.0, "RF": 160.0, "LR": 120.0, "RR": 150.0}  # of the tread over air of 68 degF
AT_SET = {"LF": 15.0, "RF": 26.0, "LR": 15.5, "RR": 24.0}


def hot_at(shares: dict[str, float]) -> dict[str, float]:
    """Return hot gauge pressures by Gay-Lussac's law in SI units, from 20 degC."""
    found = {}
    for corner, share in shares.items():
        kelvin = 293.15 + share * RISE[corner] / 1.8
        pascal = (AT_SET[corner] * 6894.757 + 101325.0) * kelvin / 293.15
        found[corner] = (pascal - 101325.0) / 6894.757
    return found


def shown(shares: dict[str, float]) -> float:
    tread = {corner: 68.0 + rise for corner, rise in RISE.items()}
    return gas_share_shown(AT_SET, hot_at(shares), tread, 68.0)


@pytest.mark.parametrize(
    ("shares", "found"),
    [
        ({"LF": 0.6, "RF": 0.6, "LR": 0.6, "RR": 0.6}, 0.6),
        ({"LF": 0.55, "RF": 0.62, "LR": 0.1, "RR": 0.64}, 0.585),  # a leaking tire hardly counts
        ({"LF": 0.55, "RF": 0.62, "RR": 0.64}, 0.62),
        ({"LF": 0.9, "RF": 0.9, "LR": 0.9, "RR": 0.9}, 0.7),
        ({"LF": 0.1, "RF": 0.1, "LR": 0.1, "RR": 0.1}, 0.5),
        ({"LF": 0.55, "RF": 0.55}, 0.7),  # two tires tell nothing
    ],
)
def test_the_share_is_that_of_most_tires(shares: dict[str, float], found: float) -> None:
    assert shown(shares) == pytest.approx(found, abs=1e-4)


def test_a_cold_tread_is_passed_over_and_the_others_tell() -> None:
    tread = {corner: 68.0 + rise for corner, rise in RISE.items()} | {"LF": 68.0}
    hot = hot_at(dict.fromkeys(AT_SET, 0.6))
    assert gas_share_shown(AT_SET, hot, tread, 68.0) == pytest.approx(0.6, abs=1e-4)


@pytest.mark.parametrize(
    ("hot", "belongs"), [(19.99, False), (20.0, True), (32.0, True), (32.01, False)]
)
def test_hot_belongs_to_cold_from_no_build_up_to_the_most_there_is(
    hot: float, belongs: bool
) -> None:
    assert belong_together(20.0, hot) == belongs


def test_a_tread_no_warmer_than_the_air_tells_nothing_of_the_share() -> None:
    tread = {"LF": 68.0, "RF": 60.0, "LR": 68.0 + RISE["LR"], "RR": 68.0 + RISE["RR"]}
    hot = hot_at(dict.fromkeys(AT_SET, 0.55))
    assert gas_share_shown(AT_SET, hot, tread, 68.0) == GAS_SHARE


@pytest.mark.parametrize(
    ("cold", "hot", "where"),
    [(-1.0, 20.0, "pressure.LF"), (15.0, -1.0, "pressure.LF"), (15.0, math.nan, "pressure.LF")],
)
def test_a_pressure_that_cannot_be_is_refused_by_its_tire(
    cold: float, hot: float, where: str
) -> None:
    refusal = refusal_of(lambda: gas_share_shown({"LF": cold}, {"LF": hot}, {"LF": 200.0}, 70.0))
    assert refusal.where == where
