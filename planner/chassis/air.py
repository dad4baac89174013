"""Air: pressure of the atmosphere against altitude, and the water vapour air can hold."""

import math

from planner.chassis.checks import checked

ABSOLUTE_ZERO_F = -459.67  # NIST SP 811, appendix B.9
PASCAL_PER_PSI = 6894.757  # NIST SP 811, appendix B.8
METER_PER_FOOT = 0.3048  # exact; NIST SP 811, appendix B.8

# Coefficients of Eq. 5 (ice) and Eq. 6 (water) in [1] of `saturation_pressure`, for T in kelvin.
_ICE = (-5674.5359, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
_WATER = (-5800.2206, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)


def kelvin(temperature_f: float, where: str = "temperature") -> float:
    """Return a temperature [K].

    Parameters
    ----------
    temperature_f : temperature [degF].
    where : key it came from.

    Raises
    ------
    Refusal
        The temperature is not above absolute zero.
    """
    checked(temperature_f, where, "degF", above=ABSOLUTE_ZERO_F)
    return (temperature_f - ABSOLUTE_ZERO_F) / 1.8


def atmospheric_pressure(altitude_ft: float) -> float:
    """Return the pressure of the standard atmosphere [psi].

    Parameters
    ----------
    altitude_ft : altitude above sea level [ft].

    Raises
    ------
    Refusal
        The altitude is outside -1500 to 15 000 ft.

    Notes
    -----
    p = p0 (1 − L h / T0) ** (g M / (R L)), Eq. 33a of [1], lowest layer. The day's weather
    moves the true value by a few tenths of a psi.

    References
    ----------
    .. [1] *U.S. Standard Atmosphere, 1976*, NOAA, NASA and USAF.
    """
    checked(altitude_ft, "altitude", "ft", low=-1500, high=15000)
    lapse, ground = 0.0065, 288.15  # K/m, K
    exponent = 9.80665 * 0.0289644 / (8.31432 * lapse)
    ratio: float = (1 - lapse * altitude_ft * METER_PER_FOOT / ground) ** exponent
    return 101325 * ratio / PASCAL_PER_PSI


def saturation_pressure(temperature_f: float) -> float:
    """Return the saturation pressure of water vapour [psi].

    Parameters
    ----------
    temperature_f : temperature [degF].

    Raises
    ------
    Refusal
        The temperature is outside -40 to 390 degF.

    Notes
    -----
    ln p = C1/T + C2 + C3 T + C4 T² + C5 T³ + C6 T⁴ + C7 ln T, in Pa and K: Eq. 5 (over ice) and
    Eq. 6 (over water) of [1], the fits of Hyland and Wexler.

    References
    ----------
    .. [1] *ASHRAE Handbook: Fundamentals* (2017), ch. 1.
    """
    checked(temperature_f, "temperature", "degF", low=-40, high=390)
    t = kelvin(temperature_f)
    c1, c2, c3, c4, c5, c6, c7 = _WATER if temperature_f >= 32 else _ICE
    log = c1 / t + c2 + c3 * t + c4 * t**2 + c5 * t**3 + c6 * t**4 + c7 * math.log(t)
    return math.exp(log) / PASCAL_PER_PSI


def vapor_pressure(temperature_f: float, humidity: float) -> float:
    """Return the pressure of the water vapour in moist air [psi].

    Parameters
    ----------
    temperature_f : temperature [degF].
    humidity : relative humidity, 0 to 1 [1].

    Raises
    ------
    Refusal
        The humidity or temperature is out of range.
    """
    checked(humidity, "humidity", "(0 to 1)", low=0, high=1)
    return humidity * saturation_pressure(temperature_f)
