"""Pressure: hot from cold, today's cold setting for a hot pressure, and a sun-warmed reading."""

from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from planner.car.doubts import unusual
from planner.car.limits import Limits
from planner.car.usual import is_usual
from planner.chassis import air, pressure
from planner.chassis.pressure import TireAir
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS
from planner.trade.refusals import Refusal
from planner.words.car import doubt
from planner.worksheets.inputs import Calculator, Known
from planner.worksheets.quantities import ALL, Wish
from planner.worksheets.worksheet import Line, Part, Row, Worksheet, rows

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
_GAS_MEANT = "Temperatures are those of the gas in the tire; the tread reads hotter than the gas."
_TREAD_MEANT = (
    "The hot temperature is the tread's, that of the gas an estimate; a hot reading within "
    f"{pressure.HOT_TOLERANCE:g} psi agrees."
)
_KEY = "settings.pressure"
_FLAT = "Below zero on the gauge: the tire would be sucked flat."
_TOO_LOW = "Below zero on the gauge: no cold setting is low enough."

_RESULTS = (
    Line("hot", "Hot pressure", "psi", 2),
    Line("cold", "Cold setting", "psi", 2),
    Line("corrected", "At the reference", "psi", 2),
    Line("correction", "Correction", "psi", 2, signed=True),
    Line("set_to", "Should read now", "psi", 2),
    Line("add", "Air to add, - let out", "psi", 2, signed=True),
    Line("build_up", "Build-up", "psi", 2, signed=True),
    Line("gas_temp", "Gas in the tire", "degF"),
    Line("ratio", "Absolute, hot over cold", "ratio", 4),
    Line("atmosphere", "Atmosphere", "psi", 2),
)


def _work(known: Known) -> Worksheet:
    if known.wish("wet") and known.typed("humidity"):
        raise Refusal(
            "usage",
            "With water in the tire its air is saturated; there is no humidity to give.",
            where="--humidity",
            hint="leave out --wet or --humidity",
        )
    if known.typed("read"):
        return _read(known)
    known.only_with("--read", "tire_temp", "reference_temp")
    return _cold(known) if known.typed("hot") else _hot(known)


def _temperatures(known: Known, pressures: Tires) -> tuple[float, Tires]:
    """Return the temperature cold and those hot, of the same tires as the pressures."""
    cold, hot = known.needed("cold_temp"), known.needed_places("hot_temp")
    _same_tires("--hot-temp", pressures, hot)
    return cold, hot


def _same_tires(option: str, values: Tires, others: Tires) -> None:
    """Refuse values that leave a tire out, or name one the others do not."""
    if ALL in values or ALL in others or set(values) == set(others):
        return
    odd = ", ".join(corner for corner in CORNERS if (corner in values) != (corner in others))
    raise Refusal(
        "missing",
        f"{option} and the pressures do not name the same tires; only one is known for {odd}.",
        where=option,
        hint=f"{option} with the same corners, or one value for all",
    )


def _each(*tables: Tires) -> list[dict[str, float]]:
    """Return the tables with one value for each tire named in any, or one for all in each."""
    named = dict.fromkeys(tire for table in tables for tire in table if tire != ALL)
    return [
        {tire: table.get(tire, table.get(ALL, 0.0)) for tire in named or [ALL]} for table in tables
    ]


def _air(known: Known) -> TireAir:
    """Return the air outside and inside the tire, as the formulas take it."""
    humidity = known.taken("humidity", 0.0)
    if 0 < humidity < 1:
        known.remarks.append(
            f"--humidity is in percent: {humidity:g} % was taken. For a share write 60, not 0.6."
        )
    return TireAir(
        altitude_ft=known.taken("altitude", 0.0),
        humidity=humidity / 100,
        wet=known.typed("wet"),
    )


def _gas(known: Known, hot_f: Tires, cold_f: float) -> Tires:
    """Return the temperatures of the gas hot, estimated where those given are the tread's."""
    if not known.wish("from_tread"):
        return hot_f
    return {tire: pressure.gas_temperature(tread, cold_f) for tire, tread in hot_f.items()}


def _hot(known: Known) -> Worksheet:
    """Work out the hot pressure of tires set cold."""
    cold = known.places("cold")
    if not cold:
        raise Refusal(
            "missing",
            "No pressure is given.",
            where="--cold or settings.pressure, --hot, or --read",
            hint="--cold 20 --cold-temp 70 --hot-temp 180",
        )
    cold_f, hot_f = _temperatures(known, cold)
    set_to, hot_each = _each(cold, hot_f)
    gas, around = _gas(known, hot_each, cold_f), _air(known)
    found = {
        tire: pressure.hot_from_cold(psi, cold_f, gas[tire], around) for tire, psi in set_to.items()
    }
    outside = air.atmospheric_pressure(around.altitude_ft)
    results = {
        "hot": found,
        "build_up": _less(found, set_to),
        "gas_temp": gas,
        "ratio": {tire: (found[tire] + outside) / (set_to[tire] + outside) for tire in found},
    }
    inputs = ("cold", "cold_temp", "hot_temp")
    said = [_FLAT] if min(found.values()) < 0 else []
    return _worksheet(known, "Pressure: hot from cold", inputs, results, said)


def _cold(known: Known) -> Worksheet:
    """Work out today's cold setting for a hot pressure."""
    known.never_with("--hot", "cold")
    wanted = known.needed_places("hot")
    cold_f, hot_f = _temperatures(known, wanted)
    hot, hot_each = _each(wanted, hot_f)
    gas, around = _gas(known, hot_each, cold_f), _air(known)
    found = {
        tire: pressure.cold_from_hot(psi, gas[tire], cold_f, around) for tire, psi in hot.items()
    }
    results = {"cold": found, "build_up": _less(hot, found), "gas_temp": gas}
    inputs = ("hot", "cold_temp", "hot_temp")
    said = [_TOO_LOW] if min(found.values()) < 0 else []
    said += _outside(known, found)
    sheet = _worksheet(known, "Pressure: today's cold setting", inputs, results, said)
    odd = {"" if t == ALL else t: round(p, 2) for t, p in found.items() if not is_usual(_KEY, p)}
    if not odd or said:
        return sheet
    return attrs.evolve(sheet, doubts=(doubt(unusual(_KEY, "Cold setting", odd)),))


def _setting(known: Known, read: Tires, tire_f: Tires) -> Tires:
    """Return the cold setting wanted of the tires read, where it is known."""
    setting = known.places("cold")
    if known.typed("cold"):
        _same_tires("--cold", read, setting)
        _same_tires("--cold", tire_f, setting)
        return setting
    known.drop("cold")
    if not set(read) <= set(setting):
        return {}  # the car file's, and the reading does not say of which tires
    setting = {tire: setting[tire] for tire in read}
    known.put("cold", setting, "car file")
    return setting


def _read(known: Known) -> Worksheet:
    """Correct a cold setting read with the tire at another temperature, in the sun for example."""
    known.never_with("--read", "hot", "hot_temp", "cold_temp", "from_tread")
    reading = known.needed_places("read")
    tire_f, reference_f = known.needed_places("tire_temp"), known.needed("reference_temp")
    _same_tires("--tire-temp", reading, tire_f)
    setting = _setting(known, reading, tire_f)
    read, at, wanted = _each(reading, tire_f, setting)
    around = _air(known)
    found = {
        tire: pressure.hot_from_cold(psi, at[tire], reference_f, around)
        for tire, psi in read.items()
    }
    results: dict[str, Tires] = {"corrected": found, "correction": _less(found, read)}
    if setting:
        # As the inverse, so that the humidity stays the one at the reading.
        now = {
            tire: pressure.cold_from_hot(psi, reference_f, at[tire], around)
            for tire, psi in wanted.items()
        }
        results |= {"set_to": now, "add": _less(now, read)}
    inputs = ("read", "tire_temp", "reference_temp", "cold")
    said = [_FLAT] if min(found.values()) < 0 else []
    return _worksheet(known, "Pressure: a reading corrected", inputs, results, said)


def _less(these: Tires, others: Tires) -> Tires:
    return {tire: psi - others[tire] for tire, psi in these.items()}


def _outside(known: Known, found: Tires) -> list[str]:
    """Say which settings the car file does not allow."""
    if known.car is None:
        return []
    limits, said = Limits(known.car.limits), []
    for tire, psi in found.items():
        limit = limits.room("pressure", tire)
        which = "The setting" if tire == ALL else tire
        if limit.min is not None and psi < limit.min:
            said.append(f"{which} is below the {limit.min:g} psi of limits.pressure.")
        if limit.max is not None and psi > limit.max:
            said.append(f"{which} is above the {limit.max:g} psi of limits.pressure.")
    return said


def _worksheet(
    known: Known,
    title: str,
    inputs: Sequence[str],
    results: Mapping[str, Tires],
    remarks: Sequence[str],
) -> Worksheet:
    wet, tread = known.wish("wet"), known.wish("from_tread")
    water = (Row("wet", "Water in the tire", True, words="yes"),) if wet else ()
    equations = [_GAS, _AIR]
    equations += [_VAPOR] if wet or known.values["humidity"] else []
    equations += [_TREAD] if tread else []
    values: dict[str, Any] = {key: each.get(ALL, each) for key, each in results.items()}
    values["atmosphere"] = air.atmospheric_pressure(known.taken("altitude", 0.0))
    if not tread:
        values.pop("gas_temp", None)
    return Worksheet(
        work="pressure",
        title=title,
        inputs=(*known.rows(*inputs, "altitude", *(() if wet else ("humidity",))), *water),
        equations=equations,
        results=(Part("Result", rows(_RESULTS, values)),),
        remarks=(*remarks, _TREAD_MEANT if tread else _GAS_MEANT),
        cautions=(CAUTIONS["inflation"],),
    )


CALCULATOR = Calculator(
    about="Find hot from cold, today's cold setting, or correct a reading.\n\n"
    "--cold gives hot; --hot gives the cold setting; --read corrects a reading of a tire "
    "warmed by the sun (with --cold, says what it should read now).",
    takes=(
        "cold",
        "cold_temp",
        "hot",
        "hot_temp",
        "read",
        "tire_temp",
        "reference_temp",
        "altitude",
        "humidity",
    ),
    wishes=(
        Wish("wet", "water stays in the tire"),
        Wish("from_tread", "--hot-temp is the tread's, not the gas's"),
    ),
    work=_work,
)
