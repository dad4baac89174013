"""What worksheets take: how each number is typed, where it stands in the car file, what can be."""

import attrs

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

_ALL = (
    Quantity(
        "scales", "scales", "lb", 1, 20000, "LF=765,RF=678,LR=772,RR=585", "[scales]", CORNERS
    ),
    Quantity("total", "total stated, as a check", "lb", 4, 80000, "2800"),
    Quantity(
        "spring",
        "spring rates",
        "lb/in",
        1,
        20000,
        "LF=750,RF=800,LR=200,RR=225",
        "settings.spring",
        CORNERS,
    ),
    Quantity(
        "motion_ratio",
        "motion ratio, spring/wheel",
        "ratio",
        0.05,
        5,
        "LF=0.65,RF=0.65,LR=0.9,RR=0.9",
        "[motion_ratio]",
        CORNERS,
    ),
    Quantity(
        "tire_rate",
        "tire rates",
        "lb/in",
        10,
        50000,
        "LF=1300,RF=1500,LR=1300,RR=1500",
        "tires.rate",
        CORNERS,
    ),
    Quantity("bar", "bars, at the wheel", "lb/in", 0, 20000, "front=250", "settings.bar", ENDS),
    Quantity("wheelbase", "wheelbase", "in", 20, 400, "104", "dimensions.wheelbase"),
    Quantity("track_front", "front track", "in", 10, 200, "62", "dimensions.track_front"),
    Quantity("track_rear", "rear track", "in", 10, 200, "61", "dimensions.track_rear"),
    Quantity("track", "rear track", "in", 10, 200, "61", "dimensions.track_rear"),
    Quantity(
        "cg_height", "centre of gravity, height", "in", 1, 100, "16.5", "dimensions.cg_height"
    ),
    Quantity(
        "roll_center_front",
        "roll centre, front",
        "in",
        -30,
        60,
        "3",
        "dimensions.roll_center_front",
    ),
    Quantity(
        "roll_center_rear", "roll centre, rear", "in", -30, 60, "9", "dimensions.roll_center_rear"
    ),
    Quantity("unsprung_front", "unsprung weight, front", "lb", 0, 5000, "200"),
    Quantity("unsprung_rear", "unsprung weight, rear", "lb", 0, 5000, "310"),
    Quantity("pitch", "jack travel per turn", "in/turn", 0.005, 2, "0.0833", "jack.pitch"),
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
    Quantity("radius", "radius of the turn", "ft", 1, 20000, "180", "track.radius"),
    Quantity("banking", "banking", "deg", -10, 45, "10", "track.banking"),
    Quantity("speed", "speed in mid-turn", "mph", 0.1, 1000, "62", "track.corner_speed"),
    Quantity("stagger", "stagger on the car", "in", -20, 20, "1.5", "settings.stagger"),
    Quantity(
        "circumference",
        "tire circumferences",
        "in",
        10,
        300,
        "LR=83.5,RR=85",
        "tires.circumference",
        CORNERS,
    ),
    Quantity("outer", "outside tire, around", "in", 3, 300, "86", "tires.circumference"),
    Quantity("inner", "inside tire, around", "in", 3, 300, "83.5", "tires.circumference"),
    Quantity("at_pressure", "at pressure", "psi", 0.1, 200, "20"),
    Quantity("cold", "cold setting", "psi", 0, 200, "20", "settings.pressure", _EACH),
    Quantity("hot", "hot pressure wanted", "psi", 0, 200, "28", "", _EACH),
    Quantity("read", "pressure read", "psi", 0, 200, "22", "", _EACH),
    Quantity("cold_temp", "temperature when set", DEGF, -40, 390, "70"),
    Quantity("hot_temp", "temperature, hot", DEGF, -40, 390, "180", "", _EACH),
    Quantity("tire_temp", "tire when read", DEGF, -40, 390, "95", "", _EACH),
    Quantity("reference_temp", "reference temperature", DEGF, -40, 390, "70"),
    Quantity("altitude", "altitude of the track", "ft", -1500, 15000, "900"),
    Quantity("humidity", "humidity in the tire", "percent", 0, 100, "60"),
)

QUANTITIES = {quantity.name: quantity for quantity in _ALL}
