"""Every number a person can give, declared once: its name, unit and bounds, and what to type.

Options, prompts, car file, plan file, worksheets and the published schema all go by these. The
bounds lie far beyond any car, so that slips are caught and sums stay numbers. From memory, wide.
"""

from collections.abc import Mapping

import attrs

from planner.trade.knobs import KNOBS
from planner.trade.units import KPA_PER_PSI

LB_PER_KG = 2.20462  # NIST SP 811, appendix B.8, as the other units here


@attrs.frozen
class Number:
    """A number that a person can give.

    Attributes
    ----------
    name : what the trade calls it.
    unit : its unit; ``ratio`` for none.
    low, high : what can be, in the unit.
    example : what to type.
    help : what it is, where its name does not say it.
    whole : it is counted, not measured.
    usual : what is common on a stock car or an open-wheel car of the ovals. Outside of it a slip
        or another unit is asked about. None where anything is taken.
    also : other units it is given in, and how much of its own unit one of them is (°C has its own
        zero).
    """

    name: str
    unit: str
    low: float
    high: float
    example: str = ""
    help: str = ""
    whole: bool = False
    usual: tuple[float, float] | None = None
    also: tuple[tuple[str, float], ...] = ()

    def holds(self, value: float) -> bool:
        """Say whether it can be so much; NaN cannot."""
        return self.low <= value <= self.high

    @property
    def limits(self) -> dict[str, float]:
        """The bounds, as JSON Schema has them."""
        return {"minimum": self.low, "maximum": self.high}


# --- the plan ------------------------------------------------------------------------------------

USUAL_CERTAINTY = 0.8  # weighed in trials on made-up cars: tests/test_feasibility.py
USUAL_RUNS_PER_SET = 5  # common practice, no source
USUAL_LEAST_LAPS = 4  # common practice on short tracks: 3 to 5 until the tires are in; no source

LAPS = Number("laps", "", 1, 1000, "10", "laps planned for every run", whole=True)
CERTAINTY = Number(
    "certainty",
    "",
    0.3,
    0.95,
    f"{USUAL_CERTAINTY:g}, from 0.3 (few runs) to 0.95 (many)",
    "how sure to be that nothing is out of band in the end, 0.3 to 0.95 "
    f"({USUAL_CERTAINTY:g}); more costs runs, see: treadgate ahead",
)


def enough(certainty: float) -> float:
    """Return how many faults may still be expected when a day is done.

    The usual certainty of 0.8 is 0.05 of a fault, 0.9 half of that.
    """
    return (1 - certainty) / 4


RUNS = Number("runs", "", 1, 99_999, "12", "runs available today", whole=True)
MINUTES = Number("minutes", "min", 0.1, 99_999, "240", "minutes available today")
TIRE_SETS = Number("tire sets", "", 1, 99_999, "12", "sets of tires available", whole=True)
RUNS_PER_SET = Number(
    "runs per set",
    "",
    1,
    99_999,
    "12",
    f"runs a set is good for ({USUAL_RUNS_PER_SET})",
    whole=True,
)

# --- a run ---------------------------------------------------------------------------------------

LAPS_RUN = attrs.evolve(LAPS, low=0)  # a car may break on its out lap
TIRE_TEMPERATURE = Number("tire temperature", "degF", -40, 600)  # no probe on a tire reads others
WEATHER = Number("temperature", "degF", -60, 200)
# A flat tire reads 0. The highest is that of a setting, 80 psi: a crew sets 60 at most, and a
# digit too many is to be asked about.
PRESSURE = Number("pressure", "psi", 0, KNOBS["pressure"].highest)
LAP_TIME = Number("lap time", "s", 3, 1200)
DELAY = Number("delay", "s", 0, 3600)
TREAD_DEPTH = Number("tread depth", "1/32 in", 0, 32)
TREAD_LEFT = Number("tread left", "percent", 0, 100)

# --- the car file --------------------------------------------------------------------------------

_MM = ("mm", 1 / 25.4)
_CM = ("cm", 1 / 2.54)
_KMH = ("km/h", 1 / 1.609344)
_LENGTHS = (_MM, _CM, ("m", 100 / 2.54))
_MILES = (("m", 1 / 1609.344), ("ft", 1 / 5280), ("km", 1 / 1.609344))
_RATES = (("N/mm", 25.4 / 4.448222), ("kg/mm", 25.4 * LB_PER_KG))
_PRESSURES = (("kPa", 1 / KPA_PER_PSI), ("bar", 100 / KPA_PER_PSI))
_FOUR_RATES = "LF=750,RF=800,LR=200,RR=225"


def _setting(
    knob: str,
    usual: tuple[float, float],
    name: str = "",
    example: str = "",
    also: tuple[tuple[str, float], ...] = (),
) -> Number:
    """Return the number of a knob's setting: its bounds are the knob's."""
    entry = KNOBS[knob]
    return Number(
        name or knob, entry.unit, entry.lowest, entry.highest, example, usual=usual, also=also
    )


# By the key in the car file; one for all its places. Banking: no paved oval is steeper than about
# 40 deg, and a corner of a flat track may fall away a little.
CAR: Mapping[str, Number] = {
    "settings.camber": _setting("camber", (-10, 10)),
    "settings.pressure": _setting("pressure", (5, 50), also=_PRESSURES),
    "settings.toe": _setting("toe", (-0.75, 0.75), also=(_MM,)),
    "settings.spring": _setting("spring", (60, 3000), "springs", _FOUR_RATES, _RATES),
    "settings.bar": _setting("bar", (20, 3000), "bars, at the wheel", "front=250", _RATES),
    "settings.panhard": _setting("panhard", (4, 20), "panhard bar, height", "10", (_MM, _CM)),
    "settings.stagger": _setting("stagger", (-0.5, 16), "stagger", "1.5", (_MM,)),
    "scales": Number("scales", "lb", 1, 20_000, "LF=765,RF=678,LR=772,RR=585"),
    "motion_ratio": Number(
        "motion ratios",
        "ratio",
        0.05,
        5,
        "LF=0.65,RF=0.65,LR=0.9,RR=0.9",
        "spring travel over wheel travel",
        usual=(0.3, 1.2),
    ),
    "tires.circumference": Number(
        "circumferences", "in", 10, 300, "LR=83.5,RR=85", usual=(55, 110), also=_LENGTHS
    ),
    "tires.rate": Number(
        "tire rates",
        "lb/in",
        10,
        50_000,
        "LF=1300,RF=1500,LR=1300,RR=1500",
        "vertical rates of the tires",
        usual=(400, 4000),
        also=_RATES,
    ),
    "tires.window": Number(
        "working range",
        "degF",
        TIRE_TEMPERATURE.low,
        TIRE_TEMPERATURE.high,
        usual=(120, 350),
        also=(("°C", 1.8),),
    ),
    "dimensions.wheelbase": Number(
        "wheelbase", "in", 20, 400, "104", usual=(60, 150), also=_LENGTHS
    ),
    "dimensions.track_front": Number(
        "front track", "in", 10, 200, "62", usual=(40, 85), also=_LENGTHS
    ),
    "dimensions.track_rear": Number(
        "rear track", "in", 10, 200, "61", usual=(40, 85), also=_LENGTHS
    ),
    "dimensions.cg_height": Number(
        "centre of gravity, height", "in", 1, 100, "16.5", usual=(8, 36), also=(_MM, _CM)
    ),
    "dimensions.roll_center_front": Number("roll centre, front", "in", -30, 60, "3"),
    "dimensions.roll_center_rear": Number("roll centre, rear", "in", -30, 60, "9"),
    "dimensions.spring_base_front": Number(
        "spring base, front",
        "in",
        5,
        200,
        "36",
        "distance between the springs of a straight front axle",
        usual=(20, 60),
        also=_LENGTHS,
    ),
    "dimensions.spring_base_rear": Number(
        "spring base, rear",
        "in",
        5,
        200,
        "44",
        "distance between the springs of a solid rear axle",
        usual=(20, 60),
        also=_LENGTHS,
    ),
    "jack.pitch": Number("jack pitch", "in/turn", 0.005, 2, "0.0833", "travel of the jack a turn"),
    "panhard.spacing": Number(
        "holes of the panhard bar",
        "in",
        0.1,
        3,
        "0.5",
        "from hole to hole at one end",
        usual=(0.25, 1.5),
        also=(_MM, _CM),
    ),
    "track.length": Number("length of the track", "mile", 0.01, 100, usual=(0.1, 5), also=_MILES),
    "track.radius": Number(
        "radius of the turn", "ft", 1, 20_000, "180", usual=(80, 1500), also=(("m", 1 / 0.3048),)
    ),
    "track.banking": Number("banking", "deg", -10, 45, "10", usual=(0, 40)),
    "track.corner_speed": Number(
        "corner speed",
        "mph",
        0.1,
        1000,
        "62",
        "speed in the middle of the turn",
        usual=(25, 200),
        also=(_KMH, ("m/s", 3.6 / 1.609344)),
    ),
}
