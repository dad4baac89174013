"""The car file: what is known of the car. Every key is optional; see `Car`."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import attrs

from planner import knobs, toml_records
from planner.corners import CORNERS, Corner
from planner.errors import Refusal, Unusable
from planner.figures import Turns


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
        raise Refusal(error.code, error.message, where=error.where, hint=error.hint) from None
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
    is only copied. Stagger is taken from the circumferences where the table has none.
    """
    settings = {
        (knob, place): value
        for knob, places in car.settings.items()
        for place, value in places.items()
    }
    if car.scales:
        settings["cross", "car"] = cross_percent(car.scales)
    round_ = car.tires.circumference
    if "LR" in round_ and "RR" in round_ and ("stagger", "rear") not in settings:
        outside, inside = ("LR", "RR") if car.car.turns == "right" else ("RR", "LR")
        settings["stagger", "rear"] = round_[outside] - round_[inside]  # type: ignore[index]
    return settings


def mistakes(car: Car) -> list[str]:
    """Return what cannot be in a car file whose keys and types are right, by the key's path."""
    found = []
    for knob, places in car.settings.items():
        if knob not in knobs.KNOBS:
            found.append(f"settings.{knob}: no such knob; there are {', '.join(knobs.KNOBS)}")
            continue
        for place, value in places.items():
            if not knobs.is_place(knob, place):
                wanted = ", ".join(knobs.KNOBS[knob].places)
                found.append(f"settings.{knob}.{place}: no such place; {wanted} are")
            elif (knob in ("pressure", "spring") and value <= 0) or (knob == "bar" and value < 0):
                found.append(f"settings.{knob}.{place}: {value:g} cannot be")
            elif knob == "cross" and not 30 <= value <= 70:
                found.append(f"settings.cross.car: {value:g} percent cannot be")
    if car.scales and set(car.scales) != set(CORNERS):
        missing = [corner for corner in CORNERS if corner not in car.scales]
        found.append(f"scales: {', '.join(missing)} missing; all four or none")
    for path, value in _positive(car):
        if value <= 0:
            found.append(f"{path}: {value:g} cannot be; it must be above 0")
    if car.track.banking is not None and not 0 <= car.track.banking < 60:
        found.append(f"track.banking: {car.track.banking:g} degrees cannot be")
    for knob, limit in car.limits.items():
        if knob not in knobs.KNOBS:
            found.append(f"limits.{knob}: no such knob; there are {', '.join(knobs.KNOBS)}")
        if limit.min is not None and limit.max is not None and limit.min > limit.max:
            found.append(f"limits.{knob}: min is above max")
        if limit.step is not None and limit.step <= 0:
            found.append(f"limits.{knob}.step: must be above 0")
    if car.tires.window is not None and car.tires.window[0] >= car.tires.window[1]:
        found.append("tires.window: the lower temperature comes first")
    return found


def _positive(car: Car) -> list[tuple[str, float]]:
    """Return every value that must be above zero, with its path."""
    tables: dict[str, Mapping[Any, float]] = {
        "scales": car.scales,
        "motion_ratio": car.motion_ratio,
        "tires.circumference": car.tires.circumference,
        "tires.rate": car.tires.rate,
    }
    values = [
        (f"{path}.{key}", value) for path, table in tables.items() for key, value in table.items()
    ]
    single = {
        "dimensions.wheelbase": car.dimensions.wheelbase,
        "dimensions.track_front": car.dimensions.track_front,
        "dimensions.track_rear": car.dimensions.track_rear,
        "dimensions.cg_height": car.dimensions.cg_height,
        "jack.pitch": car.jack.pitch,
        "track.length": car.track.length,
        "track.radius": car.track.radius,
        "track.corner_speed": car.track.corner_speed,
    }
    return values + [(path, value) for path, value in single.items() if value is not None]
