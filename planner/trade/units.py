"""Units a plan can be kept in. Inside the program everything is degF, psi, lb, in, deg."""

from typing import Literal

System = Literal["us", "metric"]

# NIST SP 811, appendix B.8.
KPA_PER_PSI = 6.894757

JSON_UNITS = {
    "temperature": "degF",
    "pressure": "psi",
    "weight": "lb",
    "length": "in",
    "angle": "deg",
    "tread": "1/32 in",
    "lap_time": "s",
}


def fahrenheit(value: float, system: System) -> float:
    """Return a temperature written in the plan's unit as [degF]."""
    return value if system == "us" else value * 9 / 5 + 32


def in_plan_unit(fahrenheit_value: float, system: System) -> float:
    """Return a temperature [degF] in the plan's unit."""
    return fahrenheit_value if system == "us" else (fahrenheit_value - 32) * 5 / 9


def apart(degrees: float, system: System) -> float:
    """Return a difference of temperatures [degF] in the plan's unit: it has no zero to shift."""
    return degrees if system == "us" else degrees * 5 / 9


def degree_mark(system: System) -> str:
    """Return the unit of temperature as written on the screen."""
    return "°F" if system == "us" else "°C"


def near(value: float) -> str:
    """Write a number that was converted, near enough to be known again."""
    return f"{value:.0f}" if abs(value) >= 50 else f"{value:.3g}"
