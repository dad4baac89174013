"""Atmosphere and water vapour against published values and an independent library."""

import math

import CoolProp.CoolProp as coolprop
import pint
import pytest
from garage import refusal_of

from planner.chassis.air import (
    METER_PER_FOOT,
    PASCAL_PER_PSI,
    atmospheric_pressure,
    kelvin,
    saturation_pressure,
    vapor_pressure,
)
from planner.trade.refusals import Refusal

UNITS = pint.UnitRegistry()


def test_unit_factors_are_those_of_nist_sp_811() -> None:
    assert pytest.approx(UNITS("psi").to("Pa").magnitude, rel=1e-6) == PASCAL_PER_PSI
    assert pytest.approx(UNITS("ft").to("m").magnitude) == METER_PER_FOOT
    for fahrenheit in (-40.0, 70.0, 212.0):
        assert kelvin(fahrenheit) == pytest.approx(
            UNITS.Quantity(fahrenheit, "degF").to("kelvin").magnitude
        )


@pytest.mark.parametrize("fahrenheit", [33, 50, 70, 100, 150, 212, 300, 380])
def test_saturation_over_water(fahrenheit: float) -> None:
    # CoolProp, IAPWS-95 equation of state of water; 0.1 %.
    pascal = coolprop.PropsSI("P", "T", kelvin(fahrenheit), "Q", 0, "Water")
    assert saturation_pressure(fahrenheit) * PASCAL_PER_PSI == pytest.approx(pascal, rel=1e-3)


@pytest.mark.parametrize("fahrenheit", [-30, 0, 20, 40, 70, 100])
@pytest.mark.parametrize("humidity", [0.2, 0.5, 1.0])
def test_vapor_in_moist_air(fahrenheit: float, humidity: float) -> None:
    # CoolProp, humid air; 0.7 %, as it counts how air and vapour press on each other.
    pascal = coolprop.HAPropsSI("P_w", "T", kelvin(fahrenheit), "P", 101325, "R", humidity)
    ours = vapor_pressure(fahrenheit, humidity) * PASCAL_PER_PSI
    assert ours == pytest.approx(pascal, rel=7e-3)


def test_ice_and_water_meet_at_freezing() -> None:
    assert saturation_pressure(31.999) == pytest.approx(saturation_pressure(32.0), rel=5e-4)


@pytest.mark.parametrize(
    ("metres", "pascal"), [(-300, 104981), (0, 101325), (1000, 89876), (2000, 79501), (4000, 61660)]
)
def test_standard_atmosphere(metres: float, pascal: float) -> None:
    # U.S. Standard Atmosphere, 1976, table I; values from memory. 0.03 %: the table goes by
    # geometric altitude.
    found = atmospheric_pressure(metres / METER_PER_FOOT) * PASCAL_PER_PSI
    assert found == pytest.approx(pascal, rel=5e-4)


def test_refusals() -> None:
    for where, call in (
        ("temperature", lambda: kelvin(-460)),
        ("temperature", lambda: kelvin(math.nan)),
        ("temperature", lambda: saturation_pressure(500)),
        ("temperature", lambda: saturation_pressure(-41)),
        ("humidity", lambda: vapor_pressure(70, 1.2)),
        ("humidity", lambda: vapor_pressure(70, -0.1)),
        ("altitude", lambda: atmospheric_pressure(40000)),
        ("altitude", lambda: atmospheric_pressure(math.nan)),
    ):
        with pytest.raises(Refusal) as caught:
            call()
        assert (caught.value.code, caught.value.where) == ("bad-value", where)
        assert caught.value.hint


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: kelvin(-459.67),
            "temperature is -459.67 degF; it must be a number above -459.67.",
        ),
        (lambda: kelvin(-500, "hot_f"), "hot_f is -500 degF; it must be a number above -459.67."),
        (
            lambda: atmospheric_pressure(-1501),
            "altitude is -1501 ft; it must be a number at least -1500 and at most 15000.",
        ),
        (
            lambda: saturation_pressure(391),
            "temperature is 391 degF; it must be a number at least -40 and at most 390.",
        ),
        (
            lambda: vapor_pressure(70, 1.5),
            "humidity is 1.5 (0 to 1); it must be a number at least 0 and at most 1.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


def test_water_begins_at_the_freezing_point_itself() -> None:
    # The two fits differ there by 1 part in 10 000. CoolProp's water begins at its triple point,
    # 32.018 °F. From there down 0.01 K by Clausius and Clapeyron: L / (R T²) =
    # 2.501e6 / (461.5 × 273.15²) = 0.0726 per K, so a ratio of 1 − 0.00073 = 0.99927.
    over_water = coolprop.PropsSI("P", "T", 273.16, "Q", 0, "Water") / PASCAL_PER_PSI
    assert saturation_pressure(32.018) == pytest.approx(over_water, rel=1e-4)
    assert saturation_pressure(32) / saturation_pressure(32.018) == pytest.approx(0.99927, abs=5e-5)
