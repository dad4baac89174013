"""The numbers worksheets take: how each is typed, where it stands in the car file, what can be."""

import attrs

from planner.trade.corners import CORNERS

ALL = "all"  # the place of a value typed without one
ENDS = ("front", "rear")


@attrs.frozen
class Quantity:
    """A number, or one a place, that can be typed or stand in the car file.

    Attributes
    ----------
    option : how it is typed.
    key : where it stands in the car file; empty when it does not.
    unit : its unit.
    low, high : what can be; far beyond any car, so that slips are caught.
    example : what to type.
    words : what it is, for help and messages.
    places : where it can be given; empty for one number.
    """

    option: str
    key: str
    unit: str
    low: float
    high: float
    example: str
    words: str
    places: tuple[str, ...] = ()

    @property
    def where(self) -> str:
        """Option and key, for messages."""
        return f"{self.option} or {self.key}" if self.key else self.option

    @property
    def hint(self) -> str:
        """What to type, or to put in the car file."""
        typed = f"{self.option} {self.example}"
        return f"{typed}, or {self.key} in the file given with --car" if self.key else typed


DEGF = "degF"
_EACH = (*CORNERS, ALL)  # one value for every tire, or one each

QUANTITIES: dict[str, Quantity] = {
    "scales": Quantity(
        "--scales", "[scales]", "lb", 1, 20000, "LF=765,RF=678,LR=772,RR=585", "scales", CORNERS
    ),
    "total": Quantity("--total", "", "lb", 4, 80000, "2800", "total weight, as a check"),
    "spring": Quantity(
        "--spring",
        "settings.spring",
        "lb/in",
        1,
        20000,
        "LF=750,RF=800,LR=200,RR=225",
        "spring rates",
        CORNERS,
    ),
    "motion_ratio": Quantity(
        "--motion-ratio",
        "[motion_ratio]",
        "ratio",
        0.05,
        5,
        "LF=0.65,RF=0.65,LR=0.9,RR=0.9",
        "spring travel over wheel travel",
        CORNERS,
    ),
    "tire_rate": Quantity(
        "--tire-rate",
        "tires.rate",
        "lb/in",
        10,
        50000,
        "LF=1300,RF=1500,LR=1300,RR=1500",
        "vertical rates of the tires",
        CORNERS,
    ),
    "bar": Quantity(
        "--bar",
        "settings.bar",
        "lb/in",
        0,
        20000,
        "front=250",
        "anti-roll bars, at the wheel",
        ENDS,
    ),
    "wheelbase": Quantity("--wheelbase", "dimensions.wheelbase", "in", 20, 400, "104", "wheelbase"),
    "track_front": Quantity(
        "--track-front", "dimensions.track_front", "in", 10, 200, "62", "front track"
    ),
    "track_rear": Quantity(
        "--track-rear", "dimensions.track_rear", "in", 10, 200, "61", "rear track"
    ),
    "track": Quantity("--track", "dimensions.track_rear", "in", 10, 200, "61", "rear track"),
    "cg_height": Quantity(
        "--cg-height",
        "dimensions.cg_height",
        "in",
        1,
        100,
        "16.5",
        "height of the centre of gravity",
    ),
    "roll_center_front": Quantity(
        "--roll-center-front",
        "dimensions.roll_center_front",
        "in",
        -30,
        60,
        "3",
        "height of the front roll centre",
    ),
    "roll_center_rear": Quantity(
        "--roll-center-rear",
        "dimensions.roll_center_rear",
        "in",
        -30,
        60,
        "9",
        "height of the rear roll centre",
    ),
    "unsprung_front": Quantity(
        "--unsprung-front", "", "lb", 0, 5000, "200", "unsprung weight of the front axle"
    ),
    "unsprung_rear": Quantity(
        "--unsprung-rear", "", "lb", 0, 5000, "310", "unsprung weight of the rear axle"
    ),
    "pitch": Quantity(
        "--pitch", "jack.pitch", "in/turn", 0.005, 2, "0.0833", "travel of the jack per turn"
    ),
    "step": Quantity("--step", "", "turns", 0.01, 10, "0.25", "smallest turn to ask of a hand"),
    "turn": Quantity(
        "--turn", "", "turns", -200, 200, "LR=1.5", "turns of a jack, + is in", CORNERS
    ),
    "perch": Quantity(
        "--perch", "", "in", -20, 20, "LR=0.25", "travel of a spring perch, + presses", CORNERS
    ),
    "ride_height": Quantity(
        "--ride-height", "", "in", -20, 20, "RF=0.25", "wanted change at one corner", CORNERS
    ),
    "spring_change": Quantity(
        "--spring-change", "", "lb/in", 1, 20000, "RF=850", "rate of a new spring", CORNERS
    ),
    "free_length": Quantity(
        "--free-length", "", "in", -20, 20, "0.25", "how much longer the new spring is"
    ),
    "unsprung": Quantity(
        "--unsprung", "", "lb", 0, 5000, "90", "unsprung weight at the corner of the new spring"
    ),
    "cross": Quantity("--cross", "", "percent", 2, 100, "53", "cross wanted"),
    "front_share": Quantity(
        "--front-share", "", "percent", 2, 100, "50.9", "front share wanted on both sides"
    ),
    "move": Quantity("--move", "", "lb", -20000, 20000, "50", "ballast moved"),
    "rearward": Quantity(
        "--rearward", "", "in", -1000, 1000, "40", "how far to the rear, - is forward"
    ),
    "leftward": Quantity(
        "--leftward", "", "in", -1000, 1000, "20", "how far to the left, - is to the right"
    ),
    "up": Quantity("--up", "", "in", -1000, 1000, "-6", "how far up, - is down"),
    "radius": Quantity("--radius", "track.radius", "ft", 1, 20000, "180", "radius of the turn"),
    "banking": Quantity("--banking", "track.banking", "deg", -10, 45, "10", "banking"),
    "speed": Quantity(
        "--speed", "track.corner_speed", "mph", 0.1, 1000, "62", "speed in the middle of the turn"
    ),
    "stagger": Quantity(
        "--stagger", "settings.stagger", "in", -20, 20, "1.5", "stagger on the car"
    ),
    "circumference": Quantity(
        "--circumference",
        "tires.circumference",
        "in",
        10,
        300,
        "LR=83.5,RR=85",
        "circumferences of the tires",
        CORNERS,
    ),
    "outer": Quantity(
        "--outer", "tires.circumference", "in", 3, 300, "86", "circumference, outside rear tire"
    ),
    "inner": Quantity(
        "--inner", "tires.circumference", "in", 3, 300, "83.5", "circumference, inside rear tire"
    ),
    "at_pressure": Quantity(
        "--at-pressure", "", "psi", 0.1, 200, "20", "pressure to find the circumference at"
    ),
    "cold": Quantity(
        "--cold", "settings.pressure", "psi", 0, 200, "20", "cold setting, all or a corner", _EACH
    ),
    "hot": Quantity(
        "--hot", "", "psi", 0, 200, "28", "hot pressure wanted, all or a corner", _EACH
    ),
    "read": Quantity("--read", "", "psi", 0, 200, "22", "pressure read, all or a corner", _EACH),
    "cold_temp": Quantity("--cold-temp", "", DEGF, -40, 390, "70", "temperature when set cold"),
    "hot_temp": Quantity(
        "--hot-temp", "", DEGF, -40, 390, "180", "temperature hot, all or a corner", _EACH
    ),
    "tire_temp": Quantity(
        "--tire-temp", "", DEGF, -40, 390, "95", "the tire when read, all or a corner", _EACH
    ),
    "reference_temp": Quantity(
        "--reference-temp", "", DEGF, -40, 390, "70", "temperature settings are kept at"
    ),
    "altitude": Quantity("--altitude", "", "ft", -1500, 15000, "900", "altitude of the track"),
    "humidity": Quantity(
        "--humidity", "", "percent", 0, 100, "60", "humidity in the tire when set or read"
    ),
}
