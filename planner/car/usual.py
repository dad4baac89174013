"""What is usual on a car, and in which other unit a number may have been given."""

from collections.abc import Mapping, Sequence

import attrs

from planner.trade import units

# What is usual on a stock car or an open-wheel car of the ovals, with its unit, so that another
# unit or a digit left out is asked about. From memory, wide.
USUAL: Mapping[str, tuple[float, float, str]] = {
    "settings.camber": (-10.0, 10.0, "deg"),
    "settings.pressure": (4.0, 60.0, "psi"),
    "settings.toe": (-0.75, 0.75, "in"),
    "settings.spring": (60.0, 3000.0, "lb/in"),
    "settings.bar": (20.0, 3000.0, "lb/in"),  # or none at all, which is 0
    "settings.stagger": (-0.5, 16.0, "in"),
    "motion_ratio": (0.3, 1.2, "in per in"),
    "tires.circumference": (55.0, 110.0, "in"),
    "tires.rate": (400.0, 4000.0, "lb/in"),
    "tires.window": (120.0, 350.0, "°F"),
    "dimensions.wheelbase": (60.0, 150.0, "in"),
    "dimensions.track_front": (40.0, 85.0, "in"),
    "dimensions.track_rear": (40.0, 85.0, "in"),
    "dimensions.cg_height": (8.0, 36.0, "in"),
    "track.length": (0.1, 5.0, "mile"),
    "track.radius": (80.0, 1500.0, "ft"),
    "track.banking": (0.0, 40.0, "deg"),
    "track.corner_speed": (25.0, 200.0, "mph"),
}

LB_PER_KG = 2.20462
# NIST SP 811, appendix B.8.
_MM = ("mm", 1 / 25.4)
_CM = ("cm", 1 / 2.54)
_METER = ("m", 1 / 0.3048)
_RATES = (("N/mm", 25.4 / 4.448222), ("kg/mm", 25.4 * LB_PER_KG))
# In what else these are given, and how much of our unit that is (°C has its own zero).
OTHERWISE: Mapping[str, tuple[tuple[str, float], ...]] = {
    "settings.pressure": (("kPa", 1 / units.KPA_PER_PSI), ("bar", 100 / units.KPA_PER_PSI)),
    "settings.toe": (_MM,),
    "settings.spring": _RATES,
    "settings.bar": _RATES,
    "settings.stagger": (_MM,),
    "tires.circumference": (_MM, _CM, ("m", 100 / 2.54)),
    "tires.rate": _RATES,
    "tires.window": (("°C", 1.8),),
    "dimensions.wheelbase": (_MM, _CM, ("m", 100 / 2.54)),
    "dimensions.track_front": (_MM, _CM, ("m", 100 / 2.54)),
    "dimensions.track_rear": (_MM, _CM, ("m", 100 / 2.54)),
    "dimensions.cg_height": (_MM, _CM),
    "track.length": (("m", 1 / 1609.344), ("ft", 1 / 5280), ("km", 1 / 1.609344)),
    "track.radius": (_METER,),
    "track.corner_speed": (("km/h", 1 / 1.609344), ("m/s", 3.6 / 1.609344)),
}


@attrs.frozen
class InOtherUnit:
    """Numbers that would be usual, were they given in another unit.

    Attributes
    ----------
    unit : the other unit.
    values : what they are then in `ours`, the unit of the car file.
    """

    unit: str
    values: tuple[float, ...]
    ours: str


def in_other_units(key: str, values: Sequence[float]) -> tuple[InOtherUnit, ...]:
    """Return the other units in which all of some numbers of a key would be usual."""
    if key not in USUAL:
        return ()
    low, high, ours = USUAL[key]
    found = []
    for other, size in OTHERWISE.get(key, ()):
        there = tuple(value * size + (32 if other == "°C" else 0) for value in values)
        if all(low <= value <= high for value in there):
            found.append(InOtherUnit(other, there, ours))
    return tuple(found)
