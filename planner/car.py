"""The car file: what is known of the car. Every key is optional; see `Car`."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import attrs

from planner import knobs
from planner.corners import CORNERS, FRONT, LEFT, Corner, Turns
from planner.errors import Refusal, Unusable
from planner.files import toml_records

MOST_NAME = 300  # letters of a name
MOST_STEPS = 1000  # smallest steps in the largest change: each of them may be tried out
MOST_LIMIT = 100_000.0

# What can be, far beyond any car, so that slips are caught and sums stay numbers. From memory.
_POSSIBLE: Mapping[str, tuple[float, float]] = {
    "scales": (1.0, 20_000.0),  # lb
    "motion_ratio": (0.05, 5.0),
    "tires.circumference": (10.0, 300.0),  # in
    "tires.rate": (10.0, 50_000.0),  # lb/in
    "tires.window": (-60.0, 600.0),  # degF
    "dimensions.wheelbase": (20.0, 400.0),  # in
    "dimensions.track_front": (10.0, 200.0),  # in
    "dimensions.track_rear": (10.0, 200.0),  # in
    "dimensions.cg_height": (1.0, 100.0),  # in
    "dimensions.roll_center_front": (-30.0, 60.0),  # in
    "dimensions.roll_center_rear": (-30.0, 60.0),  # in
    "jack.pitch": (0.005, 2.0),  # in per turn
    "track.length": (0.01, 100.0),  # mile
    "track.radius": (1.0, 20_000.0),  # ft
    "track.banking": (0.0, 60.0),  # deg
    "track.corner_speed": (0.1, 1000.0),  # mph
}

# What is usual on a stock car, with its unit, so that another unit or a digit left out is asked
# about. From memory.
_USUAL: Mapping[str, tuple[float, float, str]] = {
    "motion_ratio": (0.3, 1.2, "in per in"),
    "tires.circumference": (55.0, 110.0, "in"),
    "tires.window": (120.0, 350.0, "°F"),
    "dimensions.wheelbase": (60.0, 150.0, "in"),
    "dimensions.track_front": (40.0, 85.0, "in"),
    "dimensions.track_rear": (40.0, 85.0, "in"),
    "dimensions.cg_height": (8.0, 36.0, "in"),
}
LIGHT = 1600.0  # lb; a stock car with its driver weighs more, from memory
LB_PER_KG = 2.20462
EVEN = (30.0, 70.0)  # percent of the weight on the front, the left or the diagonal; from memory
CROSS_TOLERANCE = 0.2  # percent by which scales and settings may differ
STAGGER_TOLERANCE = 0.125  # in; a tape is read to 1/8


@attrs.frozen
class Identity:
    """Whose car it is, and which way its track turns."""

    name: str = ""
    turns: Turns | None = None


@attrs.frozen
class Dimensions:
    """Lengths and heights [in]."""

    wheelbase: float | None = None
    track_front: float | None = None
    track_rear: float | None = None
    cg_height: float | None = None
    roll_center_front: float | None = None
    roll_center_rear: float | None = None


@attrs.frozen
class Tires:
    """Circumference [in], vertical rate [lb/in], and working range [degF]."""

    circumference: Mapping[Corner, float] = attrs.field(factory=dict)
    rate: Mapping[Corner, float] = attrs.field(factory=dict)
    window: tuple[float, float] | None = None


@attrs.frozen
class Jack:
    """The weight jack: travel of the screw per turn [in]."""

    pitch: float | None = None


@attrs.frozen
class Track:
    """The track: length [mile], turn radius [ft], banking [deg], corner speed [mph]."""

    name: str = ""
    length: float | None = None
    radius: float | None = None
    banking: float | None = None
    corner_speed: float | None = None


@attrs.frozen
class Limit:
    """Lowest and highest setting of a knob, and the smallest step the car allows."""

    min: float | None = None
    max: float | None = None
    step: float | None = None


Settings = Mapping[str, Mapping[str, float]]  # knob -> place -> setting


@attrs.frozen
class Car:
    """All that a car file can say.

    Attributes
    ----------
    settings : what is on the car now, by knob and place.
    scales : corner weights [lb], driver in, race fuel.
    motion_ratio : spring travel over wheel travel.
    limits : by knob.
    """

    car: Identity = Identity()
    settings: Settings = attrs.field(factory=dict)
    scales: Mapping[Corner, float] = attrs.field(factory=dict)
    dimensions: Dimensions = Dimensions()
    motion_ratio: Mapping[Corner, float] = attrs.field(factory=dict)
    tires: Tires = attrs.field(factory=Tires)
    jack: Jack = Jack()
    track: Track = Track()
    limits: Mapping[str, Limit] = attrs.field(factory=dict)


def load(path: Path) -> Car:
    """Read and check a car file.

    Raises
    ------
    Refusal
        With one line for every mistake, each beginning with the key's path.
    """
    try:
        data = toml_records.read_toml(path, "car")
    except Unusable as error:
        hint = error.hint or "look at the path; or go without: every key of a car file is optional"
        raise Refusal(error.code, error.message, where=error.where, hint=hint) from None
    problems, car = examine(data)
    if car is None:
        raise Refusal(
            "bad-car",
            f"The car file has {len(problems)} mistake{'s' * (len(problems) > 1)}:\n"
            + "\n".join(problems),
            where=str(path),
            hint="correct the keys named, or leave them out: every key is optional",
        )
    return car


def examine(data: Mapping[str, Any]) -> tuple[list[str], Car | None]:
    """Return all mistakes of a car file, and the car when there are none."""
    problems, car = toml_records.problems_or_record(data, Car)
    if car is not None:
        problems = mistakes(car)
    return problems, None if problems else car


def cross_percent(scales: Mapping[Corner, float]) -> float:
    """Return cross weight (RF + LR over the total) [percent] from four scale readings [lb]."""
    return 100 * (scales["RF"] + scales["LR"]) / sum(scales[corner] for corner in CORNERS)


def starting_settings(car: Car) -> dict[tuple[str, str], float]:
    """Return what is on the car as ``{(knob, place): setting}``.

    Cross weight is taken from the scales when they are given: it is measured, the settings table
    is only copied. Stagger is taken from the circumferences where the table has none. `doubts`
    says where they differ.
    """
    settings = {
        (knob, place): value
        for knob, places in car.settings.items()
        for place, value in places.items()
    }
    if car.scales:
        settings["cross", "car"] = cross_percent(car.scales)
    measured = _measured_stagger(car)
    if measured is not None:
        settings.setdefault(("stagger", "rear"), measured)
    return settings


def _measured_stagger(car: Car) -> float | None:
    """Return outside less inside rear circumference [in]; None where one is not given."""
    outside, inside = ("LR", "RR") if car.car.turns == "right" else ("RR", "LR")
    round_ = {str(corner): length for corner, length in car.tires.circumference.items()}
    if outside not in round_ or inside not in round_:
        return None
    return round_[outside] - round_[inside]


def doubts(car: Car) -> tuple[str, ...]:
    """Return what can be in a car file and should be looked at again, each in a sentence.

    Two entries that contradict each other, with both numbers and the one that is used; and
    numbers that look like another unit or a slip.
    """
    return (*_contradictions(car), *_odd_scales(car), *_unusual(car))


def _contradictions(car: Car) -> Iterator[str]:
    said, measured = car.settings.get("cross", {}).get("car"), None
    if car.scales:
        measured = cross_percent(car.scales)
    if said is not None and measured is not None and abs(said - measured) > CROSS_TOLERANCE:
        yield (
            f"settings.cross says {said:g} %, [scales] make it {measured:.1f} %: the scales are "
            "used."
        )
    said, measured = car.settings.get("stagger", {}).get("rear"), _measured_stagger(car)
    if said is not None and measured is not None and abs(said - measured) > STAGGER_TOLERANCE:
        sides = "LR less RR" if car.car.turns == "right" else "RR less LR"
        yield (
            f"settings.stagger says {said:g} in, tires.circumference makes it {measured:g} in "
            f"({sides}): settings.stagger is used; tape the rear tires again."
        )


def _odd_scales(car: Car) -> Iterator[str]:
    if not car.scales:
        return
    total = sum(car.scales.values())
    if total < LIGHT:
        yield (
            f"[scales] add up to {total:.0f} lb, little for a car with its driver; were they read "
            f"in kg, it is {total * LB_PER_KG:.0f} lb: give them in lb."
        )
    for name, pair in (("front", FRONT), ("left", LEFT), ("cross", ("RF", "LR"))):
        share = 100 * sum(car.scales[corner] for corner in pair) / total
        if not EVEN[0] <= share <= EVEN[1]:
            read = ", ".join(f"{corner} {car.scales[corner]:g}" for corner in CORNERS)
            yield f"[scales] give {share:.1f} % {name}: look for a slip in {read} lb."


def _unusual(car: Car) -> Iterator[str]:
    for path, value in _numbers(car):
        key = path if path in _USUAL else path.rpartition(".")[0]
        if key in _USUAL:
            low, high, unit = _USUAL[key]
            if not low <= value <= high:
                yield (
                    f"{path}: {value:g} {unit} is unusual, {low:g} to {high:g} is common; taken as "
                    "it stands."
                )


def mistakes(car: Car) -> list[str]:
    """Return what cannot be in a car file whose keys and types are right, by the key's path."""
    found = [*_settings_mistakes(car), *_limit_mistakes(car)]
    if car.scales and set(car.scales) != set(CORNERS):
        missing = [corner for corner in CORNERS if corner not in car.scales]
        found.append(f"scales: {', '.join(missing)} missing; all four or none")
    for path, value in _numbers(car):
        low, high = _POSSIBLE[path.rpartition(".")[0]] if path not in _POSSIBLE else _POSSIBLE[path]
        if not low <= value <= high:
            found.append(f"{path}: {value:g} cannot be; it must lie between {low:g} and {high:g}")
    if car.tires.window is not None and car.tires.window[0] >= car.tires.window[1]:
        found.append("tires.window: the lower temperature comes first")
    for path, name in (("car.name", car.car.name), ("track.name", car.track.name)):
        if len(name) > MOST_NAME:
            found.append(f"{path}: {len(name)} letters; at most {MOST_NAME} are shown")
    return found


def _settings_mistakes(car: Car) -> list[str]:
    found = []
    for name, places in car.settings.items():
        if name not in knobs.KNOBS:
            found.append(f"settings.{name[:40]}: no such knob; there are {', '.join(knobs.KNOBS)}")
            continue
        knob = knobs.KNOBS[name]
        for place, value in places.items():
            if place not in knob.places:
                wanted = ", ".join(knob.places)
                found.append(f"settings.{name}.{place[:40]}: no such place; {wanted} are")
            elif not knob.lowest <= value <= knob.highest:
                bar = " (1 bar is 14.5 psi)" if name == "pressure" and value < knob.lowest else ""
                found.append(
                    f"settings.{name}.{place}: {value:g} {knob.unit} cannot be; it must lie "
                    f"between {knob.lowest:g} and {knob.highest:g}{bar}"
                )
    return found


def _limit_mistakes(car: Car) -> list[str]:
    found = []
    for name, limit in car.limits.items():
        at = f"limits.{name[:40]}"
        if name not in knobs.KNOBS:
            found.append(f"{at}: no such knob; there are {', '.join(knobs.KNOBS)}")
            continue
        knob = knobs.KNOBS[name]
        if limit.min is not None and limit.max is not None and limit.min > limit.max:
            found.append(f"{at}: min is above max")
        for key, edge in (("min", limit.min), ("max", limit.max)):
            if edge is not None and not abs(edge) <= MOST_LIMIT:
                found.append(f"{at}.{key}: {edge:g} is no limit; leave it out where there is none")
        least = knob.largest / MOST_STEPS
        if limit.step is not None and not least <= limit.step <= knob.largest:
            found.append(
                f"{at}.step: {limit.step:g} cannot be; it must lie between {least:g} and "
                f"{knob.largest:g} {knob.unit}"
            )
    return found


def _numbers(car: Car) -> list[tuple[str, float]]:
    """Return every number beside settings and limits, with its path."""
    tables: dict[str, Mapping[Any, float]] = {
        "scales": car.scales,
        "motion_ratio": car.motion_ratio,
        "tires.circumference": car.tires.circumference,
        "tires.rate": car.tires.rate,
        "tires.window": dict(enumerate(car.tires.window or (), 1)),
    }
    values = [
        (f"{path}.{key}", value) for path, table in tables.items() for key, value in table.items()
    ]
    single = {
        path: getattr(getattr(car, table), key)
        for path in _POSSIBLE
        for table, _, key in [path.partition(".")]
        if path not in tables
    }
    return values + [(path, value) for path, value in single.items() if value is not None]
