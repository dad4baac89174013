"""The knobs of the car: what can be changed, where, in which unit, and what the sign means."""

from fractions import Fraction
from typing import Literal

import attrs

from planner.trade import units
from planner.trade.corners import CORNERS


@attrs.frozen
class Knob:
    """One thing a crew can change.

    Attributes
    ----------
    name : the trade's word for it.
    places : where it can be changed: corners, or ``front``, ``rear``, ``left``, ``car``.
    unit : unit of the amount.
    more, less : what a positive and a negative amount do, in words.
    decimals : figures after the point when an amount is shown.
    largest : no one change is larger than this; a larger amount is a slip. From memory, wide.
    lowest, highest : what a setting can be at all, in the unit. From memory, wide.
    fractions : an amount below one is shown as the tape has it, such as ``3/32``; else in decimals.
    mirrors : the amount changes sign when the car is seen in a mirror (right-turn tracks).
    """

    name: str
    places: tuple[str, ...]
    unit: str
    more: str
    less: str
    largest: float
    lowest: float
    highest: float
    decimals: int = 2
    mirrors: tuple[str, ...] = ()
    fractions: bool = False


@attrs.frozen
class Limit:
    """Lowest and highest setting of a knob, and the smallest step the car allows."""

    min: float | None = None
    max: float | None = None
    step: float | None = None


# Why a setting cannot be turned: the car file says so, or the rear axle is solid.
CannotTurn = Literal["fixed", "solid-axle"]


@attrs.frozen
class Room(Limit):
    """How far one setting may go.

    Attributes
    ----------
    min_by_rules, max_by_rules : whether an end is that of the rules file, not of the car file.
    fixed : why it cannot be turned at all, where it cannot.
    """

    min_by_rules: bool = False
    max_by_rules: bool = False
    fixed: CannotTurn | None = None


Fixed = Literal["fixed"]


@attrs.frozen
class KnobLimits(Limit):
    """The limits of a knob wherever it is, and those of single places.

    Attributes
    ----------
    LF, RF, LR, RR, front, rear : what holds there instead; ``fixed`` where it cannot be turned.
    """

    LF: Limit | Fixed | None = None
    RF: Limit | Fixed | None = None
    LR: Limit | Fixed | None = None
    RR: Limit | Fixed | None = None
    front: Limit | Fixed | None = None
    rear: Limit | Fixed | None = None

    def of_places(self) -> dict[str, Limit | Fixed]:
        """Return the places that have limits of their own, with those."""
        places = ("LF", "RF", "LR", "RR", "front", "rear")
        return {place: own for place in places if (own := getattr(self, place)) is not None}

    def at(self, place: str) -> Limit | Fixed:
        """Return what holds at a place."""
        own = self.of_places().get(place, Limit())
        if isinstance(own, str):
            return own
        return Limit(
            self.min if own.min is None else own.min,
            self.max if own.max is None else own.max,
            self.step if own.step is None else own.step,
        )


KNOBS: dict[str, Knob] = {
    knob.name: knob
    for knob in (
        Knob("camber", CORNERS, "deg", "more positive", "more negative", 10.0, -20.0, 20.0),
        Knob("pressure", CORNERS, "psi", "more air", "less air", 30.0, 3.0, 80.0, decimals=1),
        Knob(
            "toe",
            ("front",),
            "in",
            "more toe-in",
            "more toe-out",
            1.0,
            -4.0,
            4.0,
            decimals=4,
            fractions=True,
        ),
        Knob(
            "cross",
            ("car",),
            "%",
            "more weight on RF and LR",
            "less weight on RF and LR",
            15.0,
            30.0,
            70.0,
            mirrors=("car",),
        ),
        Knob("spring", CORNERS, "lb/in", "stiffer", "softer", 2000.0, 1.0, 20000.0, decimals=0),
        Knob(
            "bar", ("front", "rear"), "lb/in", "stiffer", "softer", 2000.0, 0.0, 20000.0, decimals=0
        ),
        Knob(
            "ballast",
            ("rear", "left"),
            "lb",
            "moved to the {place}",
            "moved away from the {place}",
            400.0,
            -5000.0,
            5000.0,
            decimals=0,
            mirrors=("left",),
        ),
        Knob(
            "stagger",
            ("rear",),
            "in",
            "larger outside tire",
            "smaller outside tire",
            5.0,
            -20.0,
            20.0,
        ),
        # Height where the bar crosses the car's centreline: both ends moved raise it as much as
        # they go, one end half.
        Knob("panhard", ("rear",), "in", "higher", "lower", 6.0, -5.0, 40.0),
    )
}

# A change of anything else: its place is what the crew calls it, its amount 1, or -1 taken back.
OTHER = "other"
_ANYTHING = Knob(OTHER, (), "", "", "taken back", 1.0, -1.0, 1.0, decimals=0)
MOST_OTHER = 200  # letters of what is changed

# What shifts the level of all readings and is no knob: another set of tires, another part of the
# day; see `planner.learning.levels`. Its place is which of them.
SET = "set"
PART = "part"

# Work that is typed and not kept: turns of a weight jack come to a change of cross weight, holes
# of the panhard bar to one of its height.
JACK = "jack"
_TURNED = Knob(JACK, CORNERS, "turn", "in", "out", 30.0, -100.0, 100.0)
# Holes by which one end of the panhard bar is moved.
HOLES = "panhard bar"
_MOVED = Knob(HOLES, ("rear",), "hole", "up", "down", 20.0, -100.0, 100.0, decimals=0)

# What a knob is called besides.
CALLED: dict[str, str] = {
    "wedge": "cross",
    "air": "pressure",
    "swaybar": "bar",
    "springs": "spring",
    "trackbar": "panhard",
}

# How a unit is written beside an amount, and how much of the knob's own unit it is. A crew says
# pounds of air, of spring and of lead alike.
_POUNDS = dict.fromkeys(("lb", "lbs", "pound", "pounds", "#"), 1.0)
UNITS: dict[str, dict[str, float]] = {
    "deg": dict.fromkeys(("deg", "degs", "degree", "degrees", "°"), 1.0),
    "psi": {"psi": 1.0, "kpa": 1 / units.KPA_PER_PSI, "bar": 100 / units.KPA_PER_PSI} | _POUNDS,
    "in": dict.fromkeys(("in", "inch", "inches", '"', "″"), 1.0) | {"mm": 1 / 25.4},
    "%": dict.fromkeys(("%", "percent", "pct"), 1.0),
    "lb/in": dict.fromkeys(("lb/in", "lbs/in", "lb/inch"), 1.0) | _POUNDS,
    "lb": _POUNDS,
    "turn": dict.fromkeys(("turn", "turns", "round", "rounds"), 1.0),
    "hole": dict.fromkeys(("hole", "holes"), 1.0),
}


def of(name: str) -> Knob:
    """Return a knob by its name; of turns, holes and anything else, what stands for one."""
    return {OTHER: _ANYTHING, JACK: _TURNED, HOLES: _MOVED}.get(name) or KNOBS[name]


def is_change(knob: str, place: str) -> bool:
    """Say whether a change there can be: a knob at a place, or anything else by its name."""
    named = knob == OTHER and 0 < len(place.strip()) <= MOST_OTHER
    return named or is_place(knob, place)


def is_place(knob: str, place: str) -> bool:
    """Say whether the knob exists and can be changed at the place."""
    return knob in KNOBS and place in KNOBS[knob].places


def words(knob: str, place: str, amount: float) -> str:
    """Say in words what the sign of the amount means, e.g. ``more positive``."""
    entry = of(knob)
    return (entry.more if amount > 0 else entry.less).format(place=place)


_TAPE = 64  # parts of an inch, as fine as a tape or a steel rule is marked; common practice


def rounded(knob: str, value: float) -> float:
    """Return a setting or an amount as exactly as it is shown: what is alike there is alike."""
    return round(value, of(knob).decimals) + 0.0


def shown(knob: str, amount: float, *, signed: bool = True) -> str:
    """Write an amount with its unit, e.g. ``+0.5 deg`` or ``-1/16 in``."""
    return f"{number(knob, amount, signed=signed)} {of(knob).unit}".rstrip()


def as_typed(knob: str, amount: float) -> str:
    """Write an amount as a crew would type it: ``+1`` or ``-1/16``."""
    text = number(knob, amount)
    return text if "/" in text else f"{amount:+g}"


def number(knob: str, amount: float, *, signed: bool = True) -> str:
    """Write an amount without its unit, e.g. ``+0.5``, or as a fraction where the tape has one."""
    entry = of(knob)
    parts = Fraction(round(abs(amount) * _TAPE), _TAPE)
    told = 0 < parts < 1 and abs(float(parts) - abs(amount)) < 10.0**-entry.decimals
    if entry.fractions and told:
        return f"{'-' if amount < 0 else '+' if signed else ''}{parts}"
    return f"{amount:{'+' if signed else ''}.{entry.decimals}f}"
