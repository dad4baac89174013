"""Pressure: hot from cold, today's cold setting for a hot pressure, and a sun-warmed reading."""

from collections.abc import Mapping

import attrs

from planner.chassis import air, pressure
from planner.trade.cautions import CAUTIONS
from planner.worksheets.worksheet import Part, Row, Worksheet, given

ALL = "all"  # one value for every tire

Tires = Mapping[str, float]  # by corner, or one under ALL

_GAS = (
    "Gas law at constant volume: (p2 - v2) / T2 = (p1 - v1) / T1, pressures and temperatures "
    "absolute, v the water vapour. OpenStax, College Physics, “The Ideal Gas Law”."
)
_AIR = "Atmosphere: U.S. Standard Atmosphere, 1976."
_VAPOR = "Saturation pressure of water: ASHRAE Handbook, Fundamentals (2017), ch. 1."
_TREAD = (
    f"Gas in the tire = cold temperature + {pressure.GAS_SHARE:g} * (tread average - cold "
    "temperature). From memory, wide (0.5 to 0.9)."
)


@attrs.frozen(kw_only=True)
class Air:
    """The air outside and inside the tire.

    Attributes
    ----------
    altitude : of the track [ft].
    humidity : relative humidity in the tire at the first temperature, 0 to 100 [percent].
    wet : liquid water stays in the tire.
    """

    altitude: float = 0.0
    humidity: float = 0.0
    wet: bool = False

    @property
    def inside(self) -> pressure.TireAir:
        """As the formulas take it."""
        return pressure.TireAir(
            altitude_ft=self.altitude, humidity=self.humidity / 100, wet=self.wet
        )

    @property
    def rows(self) -> tuple[Row, ...]:
        """The inputs."""
        humid = given("humidity", "Humidity in the tire", self.humidity, "percent")
        return (
            *given("altitude", "Altitude", self.altitude, "ft"),
            *((Row("wet", "Water in the tire", True, words="yes"),) if self.wet else humid),
        )

    @property
    def equations(self) -> tuple[str, ...]:
        """What the results rest on."""
        return (_GAS, _AIR, _VAPOR) if self.wet or self.humidity else (_GAS, _AIR)


def _pick(values: Tires, tire: str) -> float:
    return values[tire] if tire in values else values[ALL]


def _value(values: Tires) -> float | Tires:
    return values[ALL] if set(values) == {ALL} else values


def _hot_gas(tires: tuple[str, ...], hot_f: Tires, cold_f: float, from_tread: bool) -> Tires:
    return {
        tire: pressure.gas_temperature(_pick(hot_f, tire), cold_f)
        if from_tread
        else _pick(hot_f, tire)
        for tire in tires
    }


def tires_of(*tables: Tires) -> tuple[str, ...]:
    """Return the tires that are worked out: the corners named, or one for all."""
    named = dict.fromkeys(tire for table in tables for tire in table if tire != ALL)
    return tuple(named) or (ALL,)


def hot(
    cold: Tires, cold_f: float, hot_f: Tires, around: Air, *, from_tread: bool = False
) -> Worksheet:
    """Work out the hot pressure of tires set cold.

    Parameters
    ----------
    cold : pressure as set, per tire or for all [psi].
    cold_f : temperature when set [degF].
    hot_f : gas temperature hot, or average of the tread [degF].
    around : altitude and moisture.
    from_tread : the hot temperatures are those of the tread.

    Raises
    ------
    Refusal
        The vapour alone would exceed the pressure.
    """
    tires = tires_of(cold, hot_f)
    gas = _hot_gas(tires, hot_f, cold_f, from_tread)
    found = {
        tire: pressure.hot_from_cold(
            _pick(cold, tire),
            cold_f,
            gas[tire],
            around.inside,
        )
        for tire in tires
    }
    gain = {tire: found[tire] - _pick(cold, tire) for tire in tires}
    outside = air.atmospheric_pressure(around.altitude)
    ratio = {tire: (found[tire] + outside) / (_pick(cold, tire) + outside) for tire in tires}
    return _worksheet(
        "Pressure: hot from cold",
        (
            *given("cold", "Cold setting", _value(cold), "psi"),
            *given("cold_temp", "Temperature when set", cold_f, "degF"),
            *given("hot_temp", _hot_label(from_tread), _value(hot_f), "degF"),
        ),
        around,
        (
            Row("hot", "Hot pressure", _value(found), "psi", 2),
            Row("build_up", "Build-up", _value(gain), "psi", 2, signed=True),
            *((Row("gas_temp", "Gas in the tire", _value(gas), "degF"),) if from_tread else ()),
            Row("ratio", "Absolute, hot over cold", _value(ratio), "ratio", 4),
            Row("atmosphere", "Atmosphere", outside, "psi", 2),
        ),
        from_tread,
        _below_zero(found, "Below zero on the gauge: the tire would be sucked flat."),
    )


def cold(
    wanted: Tires,
    cold_f: float,
    hot_f: Tires,
    around: Air,
    *,
    from_tread: bool = False,
    limits: tuple[float | None, float | None] = (None, None),
) -> Worksheet:
    """Work out today's cold setting for a hot pressure.

    Parameters
    ----------
    wanted : hot pressure, per tire or for all [psi].
    cold_f : temperature when setting [degF].
    hot_f : gas temperature hot, or average of the tread [degF].
    around : altitude and moisture.
    from_tread : the hot temperatures are those of the tread.
    limits : lowest and highest cold setting of this car, where known [psi].

    Raises
    ------
    Refusal
        The vapour alone would exceed the pressure.
    """
    tires = tires_of(wanted, hot_f)
    gas = _hot_gas(tires, hot_f, cold_f, from_tread)
    found = {
        tire: pressure.cold_from_hot(
            _pick(wanted, tire),
            gas[tire],
            cold_f,
            around.inside,
        )
        for tire in tires
    }
    gain = {tire: _pick(wanted, tire) - found[tire] for tire in tires}
    return _worksheet(
        "Pressure: today's cold setting",
        (
            *given("hot", "Hot pressure wanted", _value(wanted), "psi"),
            *given("cold_temp", "Temperature when setting", cold_f, "degF"),
            *given("hot_temp", _hot_label(from_tread), _value(hot_f), "degF"),
        ),
        around,
        (
            Row("cold", "Cold setting", _value(found), "psi", 2),
            Row("build_up", "Build-up", _value(gain), "psi", 2, signed=True),
            *((Row("gas_temp", "Gas in the tire", _value(gas), "degF"),) if from_tread else ()),
            Row("atmosphere", "Atmosphere", air.atmospheric_pressure(around.altitude), "psi", 2),
        ),
        from_tread,
        (
            *_below_zero(found, "Below zero on the gauge: no cold setting is low enough."),
            *_outside(found, limits),
        ),
    )


def read(
    reading: Tires, tire_f: Tires, reference_f: float, around: Air, *, setting: Tires | None = None
) -> Worksheet:
    """Put right a cold setting read with the tire at another temperature, in the sun, say.

    Parameters
    ----------
    reading : pressure read, per tire or for all [psi].
    tire_f : temperature of the tire when read [degF].
    reference_f : temperature settings are kept at [degF].
    around : altitude and moisture, the humidity that at the reading.
    setting : pressure wanted at the reference temperature, where known [psi].

    Raises
    ------
    Refusal
        The vapour alone would exceed the pressure.
    """
    tires = tires_of(reading, tire_f, setting or {})

    def moved(psi: float, tire: str, back: bool) -> float:
        ends = (_pick(tire_f, tire), reference_f)
        # Backwards as the inverse, so that the humidity stays the one at the reading.
        work = pressure.cold_from_hot if back else pressure.hot_from_cold
        return work(
            psi,
            *(ends[::-1] if back else ends),
            around.inside,
        )

    found = {tire: moved(_pick(reading, tire), tire, False) for tire in tires}
    rows = [
        Row("corrected", "At the reference", _value(found), "psi", 2),
        Row(
            "correction",
            "Correction",
            _value({tire: found[tire] - _pick(reading, tire) for tire in tires}),
            "psi",
            2,
            signed=True,
        ),
    ]
    if setting is not None:
        now = {tire: moved(_pick(setting, tire), tire, True) for tire in tires}
        change = {tire: now[tire] - _pick(reading, tire) for tire in tires}
        rows += [
            Row("set_to", "Should read now", _value(now), "psi", 2),
            Row("add", "Air to add, - let out", _value(change), "psi", 2, signed=True),
        ]
    rows.append(
        Row("atmosphere", "Atmosphere", air.atmospheric_pressure(around.altitude), "psi", 2)
    )
    return _worksheet(
        "Pressure: a reading put right",
        (
            *given("read", "Pressure read", _value(reading), "psi"),
            *given("tire_temp", "Tire when read", _value(tire_f), "degF"),
            *given("reference_temp", "Reference temperature", reference_f, "degF"),
            *given("cold", "Setting wanted", None if setting is None else _value(setting), "psi"),
        ),
        around,
        tuple(rows),
        False,
        _below_zero(found, "Below zero on the gauge: the tire would be sucked flat."),
    )


def _hot_label(from_tread: bool) -> str:
    return "Tread average, hot" if from_tread else "Gas temperature, hot"


def _below_zero(found: Tires, words: str) -> tuple[str, ...]:
    return (words,) if min(found.values()) < 0 else ()


def _outside(found: Tires, limits: tuple[float | None, float | None]) -> tuple[str, ...]:
    low, high = limits
    said = []
    for tire, psi in found.items():
        which = "The setting" if tire == ALL else tire
        if low is not None and psi < low:
            said.append(f"{which} is below the {low:g} psi of limits.pressure in the car file.")
        if high is not None and psi > high:
            said.append(f"{which} is above the {high:g} psi of limits.pressure in the car file.")
    return tuple(said)


def _worksheet(
    title: str,
    inputs: tuple[Row, ...],
    around: Air,
    rows: tuple[Row, ...],
    from_tread: bool,
    remarks: tuple[str, ...],
) -> Worksheet:
    gas = (
        "The temperature of the gas is an estimate; a hot reading within "
        f"{pressure.HOT_TOLERANCE:g} psi agrees."
        if from_tread
        else "Temperatures are those of the gas in the tire; the tread reads hotter than the gas."
    )
    return Worksheet(
        work="pressure",
        title=title,
        inputs=inputs + around.rows,
        equations=around.equations + ((_TREAD,) if from_tread else ()),
        results=(Part("Result", rows),),
        remarks=(*remarks, gas),
        cautions=(CAUTIONS["inflation"],),
    )
