"""Tire pressure cold and hot: the gas law, moisture, and what a leak looks like.

Pressures are gauge [psi] and temperatures those of the gas in the tire [degF]. The volume is
taken as constant, and the same atmosphere presses on the gauge cold and hot.
"""

from collections.abc import Mapping
from statistics import median

import attrs

from planner.chassis.air import atmospheric_pressure, kelvin, saturation_pressure, vapor_pressure
from planner.chassis.checks import checked, within
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal

MOST_BUILD_UP = 0.6  # of the cold pressure; more is a slip or two tires exchanged; from memory
MOST_LOST = 1 / 3  # of the cold pressure; with less left nobody ends the run; from memory
GAS_SHARE = 0.7  # of the tread's rise over the air; from memory, wide (0.5 to 0.9)
LEAST_GAS_SHARE = 0.5
COLD_TOLERANCE = 0.5  # psi, two readings of one gauge; common practice, no source
HOT_TOLERANCE = 2.0  # psi, the gas temperature is an estimate; from memory


@attrs.frozen(kw_only=True)
class TireAir:
    """The air around and inside a tire.

    Attributes
    ----------
    altitude_ft : altitude of the track [ft].
    humidity : relative humidity inside the tire when set or read cold, 0 (dry) to 1 [1].
    wet : liquid water stays in the tire at both temperatures, so its air is always saturated.
    """

    altitude_ft: float = 0.0
    humidity: float = attrs.field(default=0.0, validator=within("(0 to 1)", low=0, high=1))
    wet: bool = False

    @property
    def outside(self) -> float:
        """The atmosphere [psi]."""
        return atmospheric_pressure(self.altitude_ft)


DRY = TireAir()


def _vapor(cold_f: float, hot_f: float, air: TireAir) -> tuple[float, float]:
    """Return the vapour pressure cold and hot [psi]."""
    if air.wet:
        return saturation_pressure(cold_f), saturation_pressure(hot_f)
    if air.humidity == 0:
        return 0.0, 0.0
    cold = vapor_pressure(cold_f, air.humidity)
    # As an ideal gas, unless it would be more than the air can hold: then the rest condenses.
    return cold, min(cold * kelvin(hot_f) / kelvin(cold_f), saturation_pressure(hot_f))


def _dry(total: float, vapor: float, where: str) -> float:
    if vapor < total:
        return total - vapor
    raise Refusal(
        "bad-value",
        f"{where} is {total:.1f} psi absolute, less than the water vapour alone ({vapor:.1f} psi).",
        where=where,
        hint="Check the pressure [psi] and temperature [degF], or take the air as dry.",
    )


def hot_from_cold(cold_psi: float, cold_f: float, hot_f: float, air: TireAir = DRY) -> float:
    """Return the pressure of a tire set cold once its gas is at another temperature [psi].

    Parameters
    ----------
    cold_psi : pressure as set [psi].
    cold_f : gas temperature when set [degF].
    hot_f : gas temperature asked about [degF]; it may also be the lower one. A tire read warm in
        the sun so gives what it would read at the temperature that settings are kept at.
    air : altitude and moisture.

    Raises
    ------
    Refusal
        A value is out of range, or the vapour alone would exceed the pressure.

    Notes
    -----
    (p_hot − v_hot) / T_hot = (p_cold − v_cold) / T_cold with absolute pressures and temperatures
    [1], v being the vapour pressure. Without liquid water and above the dew point the vapour
    follows the same law, so moist air then builds up as dry air does.

    References
    ----------
    .. [1] OpenStax, *College Physics*, "The Ideal Gas Law".
    """
    checked(cold_psi, "pressure", "psi", low=0)
    ratio = kelvin(hot_f, "hot_f") / kelvin(cold_f, "cold_f")
    vapor_cold, vapor_hot = _vapor(cold_f, hot_f, air)
    outside = air.outside
    return _dry(cold_psi + outside, vapor_cold, "pressure") * ratio + vapor_hot - outside


def cold_from_hot(hot_psi: float, hot_f: float, cold_f: float, air: TireAir = DRY) -> float:
    """Return today's cold setting that gives a wanted hot pressure [psi].

    Parameters
    ----------
    hot_psi : pressure wanted hot [psi].
    hot_f, cold_f : gas temperature hot and when setting [degF].
    air : altitude and moisture.

    Raises
    ------
    Refusal
        A value is out of range, or the vapour alone would exceed the pressure.

    Notes
    -----
    The exact inverse of `hot_from_cold`. Below zero it says that no cold setting is low enough.
    """
    checked(hot_psi, "pressure", "psi", low=0)
    ratio = kelvin(cold_f, "cold_f") / kelvin(hot_f, "hot_f")
    vapor_cold, vapor_hot = _vapor(cold_f, hot_f, air)
    outside = air.outside
    return _dry(hot_psi + outside, vapor_hot, "pressure") * ratio + vapor_cold - outside


def belong_together(cold_psi: float, hot_psi: float) -> bool:
    """Whether a hot pressure can come of a cold one [psi], whatever the weather."""
    return cold_psi <= hot_psi <= cold_psi * (1 + MOST_BUILD_UP)


def may_have_leaked(cold_psi: float, hot_psi: float) -> bool:
    """Whether a hot pressure below the cold one [psi] can come of a leak on the track.

    A tire that has lost more than `MOST_LOST` of its air runs so flat that the driver stops: then
    the reading is a slip, or the tire is flat and needs no gauge.
    """
    return cold_psi * (1 - MOST_LOST) <= hot_psi < cold_psi


def gas_temperature(tread_average_f: float, air_f: float, share: float = GAS_SHARE) -> float:
    """Return an estimate of the temperature of the gas in a tire [degF].

    Parameters
    ----------
    tread_average_f : average of the probe readings across the tread [degF].
    air_f : air temperature [degF].
    share : part of the tread's rise over the air that the gas takes up, 0 to 1 [1]; the default
        is from memory and wide.

    Raises
    ------
    Refusal
        A temperature or the share is out of range.
    """
    kelvin(tread_average_f, "tread_average_f")
    kelvin(air_f, "air_temp")
    checked(share, "share", "(0 to 1)", low=0, high=1)
    return air_f + share * (tread_average_f - air_f)


def gas_share_shown(
    cold_psi: Mapping[Corner, float],
    hot_psi: Mapping[Corner, float],
    tread_f: Mapping[Corner, float],
    air_f: float,
) -> float:
    """Return the share of the tread's rise that the gas took up, as most tires of a run show it.

    Parameters
    ----------
    cold_psi, hot_psi : pressures before and after the run, the first at the air's temperature.
    tread_f : average of the probe readings across each tread [degF].
    air_f : air temperature [degF].

    Raises
    ------
    Refusal
        A value is out of range.

    Notes
    -----
    The gas law gives the gas temperature of each tire, and that its share; the median of at least
    three is taken, so that one leaking tire does not count. It is held between `LEAST_GAS_SHARE`
    and `GAS_SHARE`, and is `GAS_SHARE` where fewer tires are known or none has warmed.
    """
    outside = atmospheric_pressure(0.0)
    shares = []
    for corner in CORNERS:
        if corner not in cold_psi or corner not in hot_psi:
            continue
        rise = tread_f[corner] - air_f
        if rise <= 0:
            continue
        cold = checked(cold_psi[corner], f"pressure.{corner}", "psi", low=0) + outside
        hot = checked(hot_psi[corner], f"pressure.{corner}", "psi", low=0) + outside
        shares.append(kelvin(air_f, "air_temp") * (hot / cold - 1) * 1.8 / rise)
    if len(shares) < 3:
        return GAS_SHARE
    return min(GAS_SHARE, max(LEAST_GAS_SHARE, median(shares)))


@attrs.frozen
class PressureCheck:
    """A pressure read against the one expected.

    Attributes
    ----------
    expected, measured : [psi].
    difference : measured minus expected [psi].
    low : the tire is lower than expected by more than the tolerance: suspect a slow leak.
    high : higher by more than the tolerance: moisture, or a gas hotter than taken.
    """

    expected: float
    measured: float
    difference: float
    low: bool
    high: bool


def compare(
    set_psi: Mapping[Corner, float],
    set_f: Mapping[Corner, float],
    read_psi: Mapping[Corner, float],
    read_f: Mapping[Corner, float],
    *,
    tolerance: float,
) -> dict[Corner, PressureCheck]:
    """Compare pressures read later, hot or cooled down, with those that the setting leads to.

    Parameters
    ----------
    set_psi, set_f : cold setting [psi] and gas temperature then [degF], per corner.
    read_psi, read_f : reading [psi] and gas temperature then [degF], per corner.
    tolerance : difference still taken as none [psi]: `HOT_TOLERANCE` for hot readings,
        `COLD_TOLERANCE` after cool-down.

    Returns
    -------
    dict
        A `PressureCheck` for each corner with both a setting and a reading.

    Raises
    ------
    Refusal
        A value is out of range, or a corner has a pressure but no temperature.
    """
    checked(tolerance, "tolerance", "psi", low=0)
    checks: dict[Corner, PressureCheck] = {}
    for corner in CORNERS:
        if corner not in set_psi or corner not in read_psi:
            continue
        if corner not in set_f or corner not in read_f:
            raise Refusal(
                "bad-value",
                f"{corner} has pressures but not the temperature of each.",
                where=f"pressure.{corner}",
                hint="Give the temperature [degF] at the setting and at the reading.",
            )
        measured = checked(read_psi[corner], f"pressure.{corner}", "psi", low=0)
        expected = hot_from_cold(set_psi[corner], set_f[corner], read_f[corner])
        difference = measured - expected
        checks[corner] = PressureCheck(
            expected, measured, difference, difference < -tolerance, difference > tolerance
        )
    return checks
