"""What worksheets take: how each number is typed, where it stands in the car file, what can be."""

import attrs

from planner.trade import numbers
from planner.trade.corners import CORNERS

ALL = "all"  # the place of a value typed without one
ENDS = ("front", "rear")
DEGF = "degF"
_EACH = (*CORNERS, ALL)  # one value for every tire, or one each


def option(name: str) -> str:
    """Return how an input is typed."""
    return f"--{name.replace('_', '-')}"


@attrs.frozen
class Quantity:
    """A number, or one a place, that can be typed or stand in the car file.

    Attributes
    ----------
    name : what other programs call it, and how it is typed.
    words : what it is: for help, messages and the worksheet.
    unit : its unit.
    low, high : what can be; far beyond any car, so that slips are caught.
    example : what to type.
    key : where it stands in the car file; empty when it does not.
    places : where it can be given; empty for one number.
    """

    name: str
    words: str
    unit: str
    low: float
    high: float
    example: str
    key: str = ""
    places: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """Its name on the worksheet."""
        return self.words[0].upper() + self.words[1:]

    @property
    def option(self) -> str:
        """How it is typed."""
        return option(self.name)

    @property
    def where(self) -> str:
        """Option and key, for messages."""
        return f"{self.option} or {self.key}" if self.key else self.option

    @property
    def hint(self) -> str:
        """What to type, or to put in the car file."""
        typed = f"{self.option} {self.example}"
        return f"{typed}, or {self.key} in the file given with --car" if self.key else typed

    @property
    def shape(self) -> str:
        """What help shows after the option."""
        unit = self.unit.upper().replace("DEGF", "F").replace("PERCENT", "PCT")
        if ALL in self.places:
            return f"[CORNER=]{unit}"
        return f"{'PLACE' if self.places == ENDS else 'CORNER'}={unit}" if self.places else unit


@attrs.frozen
class Wish:
    """What is typed and is no number: a flag, one of a few words, or texts.

    Attributes
    ----------
    name : how it is typed.
    words : what it is, for help.
    choices : the words it can be.
    shape : what help shows after an option that may be given several times.
    """

    name: str
    words: str
    choices: tuple[str, ...] = ()
    shape: str = ""


TURNS = Wish("turns", "way the track turns", choices=("left", "right"))

_PSI = numbers.PRESSURE


def _car(name: str, words: str, key: str, places: tuple[str, ...] = ()) -> Quantity:
    """Return a number of the car file, in its unit and within its bounds."""
    number = numbers.CAR[key.strip("[]")]
    unit, low, high = number.unit, number.low, number.high
    return Quantity(name, words, unit, low, high, number.example, key, places)


_ALL = (
    _car("scales", "scales", "[scales]", CORNERS),
    Quantity("total", "total stated, as a check", "lb", 4, 80000, "2800"),
    _car("spring", "spring rates", "settings.spring", CORNERS),
    _car("motion_ratio", "motion ratio, spring/wheel", "[motion_ratio]", CORNERS),
    _car("tire_rate", "tire rates", "tires.rate", CORNERS),
    _car("bar", "bars, at the wheel", "settings.bar", ENDS),
    _car("wheelbase", "wheelbase", "dimensions.wheelbase"),
    _car("track_front", "front track", "dimensions.track_front"),
    _car("track_rear", "rear track", "dimensions.track_rear"),
    _car("track", "rear track", "dimensions.track_rear"),
    _car("cg_height", "centre of gravity, height", "dimensions.cg_height"),
    _car("roll_center_front", "roll centre, front", "dimensions.roll_center_front"),
    _car("roll_center_rear", "roll centre, rear", "dimensions.roll_center_rear"),
    _car("spring_base_front", "spring base, front", "dimensions.spring_base_front"),
    _car("spring_base_rear", "spring base, rear", "dimensions.spring_base_rear"),
    Quantity("unsprung_front", "unsprung weight, front", "lb", 0, 5000, "200"),
    Quantity("unsprung_rear", "unsprung weight, rear", "lb", 0, 5000, "310"),
    _car("pitch", "jack travel per turn", "jack.pitch"),
    Quantity("step", "smallest turn of the hand", "turns", 0.01, 10, "0.25"),
    Quantity("turn", "turns of a jack, + is in", "turns", -200, 200, "LR=1.5", "", CORNERS),
    Quantity("perch", "perch travel, + presses", "in", -20, 20, "LR=0.25", "", CORNERS),
    Quantity("ride_height", "change of ride height", "in", -20, 20, "RF=0.25", "", CORNERS),
    Quantity("spring_change", "rate of the new spring", "lb/in", 1, 20000, "RF=850", "", CORNERS),
    Quantity("free_length", "new spring is longer by", "in", -20, 20, "0.25"),
    Quantity("unsprung", "unsprung weight there", "lb", 0, 5000, "90"),
    Quantity("cross", "cross wanted", "percent", 2, 100, "53"),
    Quantity("front_share", "front share wanted", "percent", 2, 100, "50.9"),
    Quantity("move", "ballast moved", "lb", -20000, 20000, "50"),
    Quantity("rearward", "to the rear, - is forward", "in", -1000, 1000, "40"),
    Quantity("leftward", "to the left, - is right", "in", -1000, 1000, "20"),
    Quantity("up", "up, - is down", "in", -1000, 1000, "-6"),
    _car("radius", "radius of the turn", "track.radius"),
    _car("banking", "banking", "track.banking"),
    _car("speed", "speed in mid-turn", "track.corner_speed"),
    _car("stagger", "stagger on the car", "settings.stagger"),
    _car("circumference", "tire circumferences", "tires.circumference", CORNERS),
    Quantity("outer", "outside tire, around", "in", 3, 300, "86", "tires.circumference"),
    Quantity("inner", "inside tire, around", "in", 3, 300, "83.5", "tires.circumference"),
    Quantity("at_pressure", "at pressure", _PSI.unit, 0.1, _PSI.high, "20"),
    Quantity(
        "cold", "cold setting", _PSI.unit, _PSI.low, _PSI.high, "20", "settings.pressure", _EACH
    ),
    Quantity("hot", "hot pressure wanted", _PSI.unit, _PSI.low, _PSI.high, "28", "", _EACH),
    Quantity("read", "pressure read", _PSI.unit, _PSI.low, _PSI.high, "22", "", _EACH),
    Quantity("cold_temp", "temperature when set", DEGF, -40, 390, "70"),
    Quantity("hot_temp", "temperature, hot", DEGF, -40, 390, "180", "", _EACH),
    Quantity("tire_temp", "tire when read", DEGF, -40, 390, "95", "", _EACH),
    Quantity("reference_temp", "reference temperature", DEGF, -40, 390, "70"),
    Quantity("altitude", "altitude of the track", "ft", -1500, 15000, "900"),
    Quantity("humidity", "humidity in the tire", "percent", 0, 100, "60"),
)

QUANTITIES = {quantity.name: quantity for quantity in _ALL}
