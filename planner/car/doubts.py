"""What can be in a car file and should be looked at again: keys and numbers."""

import math
from collections.abc import Iterator, Mapping

import attrs

from planner.car.car_file import (
    Car,
    cross_percent,
    key_of,
    measured_stagger,
    numbers_by_path,
    rear_tires,
    settings_by_path,
    starting_settings,
)
from planner.car.changes import Setting
from planner.car.limits import Limits
from planner.car.usual import InOtherUnit, in_other_units, is_usual, range_of, unit_of
from planner.trade import numbers
from planner.trade.corners import FRONT, LEFT, Corner, Turns

LIGHT = 1600.0  # lb; a stock car with its driver weighs more, from memory
# Percent of the weight on two corners; from memory, wide enough for an offset car, either way.
EVEN: Mapping[str, tuple[float, float]] = {
    "front": (35.0, 65.0),
    "left": (32.0, 68.0),
    "cross": (35.0, 65.0),
}
BESIDE = (0.35, 2.6)  # weight of a corner over the mean of the other three; from memory
CORNERING = (0.4, 3.0)  # g, level, in the middle of a turn; from memory, wings and banking too
CAMBER_SLIP = 1.0  # deg of front camber the wrong way that may be meant
CROSS_TOLERANCE = 0.2  # percent by which scales and settings may differ
STAGGER_TOLERANCE = 0.125  # in; a tape is read to 1/8


@attrs.frozen
class CrossDiffers:
    """The settings say one cross weight, the scales make it another, which is used [percent]."""

    said: float
    measured: float


@attrs.frozen
class StaggerDiffers:
    """The settings say one stagger, which is used, the circumferences make it another [in]."""

    said: float
    measured: float
    outside: Corner
    inside: Corner


@attrs.frozen
class BeyondLimit:
    """A setting stands past the file's own limit.

    Attributes
    ----------
    highest : whether `edge` is the highest setting or the lowest.
    weighed : whether the setting comes from the scales.
    """

    setting: Setting
    value: float
    edge: float
    highest: bool
    weighed: bool


@attrs.frozen
class Light:
    """The scales add up to little for a car [lb]; `as_kg` is the sum were they read in kg [lb]."""

    total: float
    as_kg: float


@attrs.frozen
class OddCorner:
    """One corner weight stands far from the other three [lb]."""

    corner: Corner
    scales: Mapping[Corner, float]


@attrs.frozen
class OddShare:
    """The scales give an odd share of weight: ``front``, ``left`` or ``cross`` [percent]."""

    share: str
    percent: float
    scales: Mapping[Corner, float]


@attrs.frozen
class Unusual:
    """A number, or some of a table, are out of the usual.

    Attributes
    ----------
    key : of the number, or of the table.
    values : by their places in the table.
    low, high, unit : what is common.
    otherwise : the units in which they would be.
    """

    key: str
    values: Mapping[str, float]
    low: float
    high: float
    unit: str
    otherwise: tuple[InOtherUnit, ...]


@attrs.frozen
class OddTurn:
    """A radius [ft] and a speed [mph] that do not go together, though each of them could be.

    Attributes
    ----------
    held : what they make, level [g].
    otherwise : the other units in which one of them would do, by its key.
    """

    radius: float
    speed: float
    held: float
    otherwise: tuple[tuple[str, InOtherUnit], ...]


@attrs.frozen
class OddCamber:
    """A front tire leans out of the turn [deg]; common practice, no source."""

    corner: Corner
    camber: float
    turns: Turns


Doubt = (
    CrossDiffers
    | StaggerDiffers
    | BeyondLimit
    | Light
    | OddCorner
    | OddShare
    | Unusual
    | OddTurn
    | OddCamber
)


def doubts(car: Car) -> tuple[Doubt, ...]:
    """Return what should be looked at again.

    Two entries that contradict each other; settings past the file's own limits; and numbers that
    look like another unit or a slip.
    """
    return (
        *_contradictions(car),
        *_beyond_limits(car),
        *_odd_scales(car),
        *_unusual(car),
        *_odd_turn(car),
        *_odd_camber(car),
    )


def _contradictions(car: Car) -> Iterator[Doubt]:
    said = car.settings.get("cross", {}).get("car")
    if said is not None and car.scales:
        by_scales = cross_percent(car.scales)
        if abs(said - by_scales) > CROSS_TOLERANCE:
            yield CrossDiffers(said, by_scales)
    said, measured = car.settings.get("stagger", {}).get("rear"), measured_stagger(car)
    if said is not None and measured is not None and abs(said - measured) > STAGGER_TOLERANCE:
        outside, inside = rear_tires(car)
        yield StaggerDiffers(said, measured, outside, inside)


def _beyond_limits(car: Car) -> Iterator[Doubt]:
    limits = Limits(car.limits)
    for (knob, place), value in starting_settings(car).items():
        limit = limits.room(knob, place)
        weighed = knob == "cross" and bool(car.scales)
        if limit.max is not None and value > limit.max + 1e-9:
            yield BeyondLimit((knob, place), value, limit.max, highest=True, weighed=weighed)
        elif limit.min is not None and value < limit.min - 1e-9:
            yield BeyondLimit((knob, place), value, limit.min, highest=False, weighed=weighed)


def _odd_scales(car: Car) -> Iterator[Doubt]:
    if not car.scales:
        return
    total = sum(car.scales.values())
    if total < LIGHT:
        yield Light(total, total * numbers.LB_PER_KG)
    beside = {corner: 3 * own / (total - own) for corner, own in car.scales.items()}
    odd = max(beside, key=lambda corner: abs(math.log(beside[corner])))
    if not BESIDE[0] <= beside[odd] <= BESIDE[1]:
        yield OddCorner(odd, car.scales)
        return  # what it makes of front, left and cross is the same slip
    for name, pair in (("front", FRONT), ("left", LEFT), ("cross", ("RF", "LR"))):
        share = 100 * sum(car.scales[corner] for corner in pair) / total
        if not EVEN[name][0] <= share <= EVEN[name][1]:
            yield OddShare(name, share, car.scales)


def _unusual(car: Car) -> Iterator[Doubt]:
    odd: dict[str, dict[str, float]] = {}
    for path, value in (*settings_by_path(car), *numbers_by_path(car)):
        key = key_of(path)
        no_bar = key == "settings.bar" and value == 0
        if not no_bar and key in numbers.CAR and not is_usual(key, value):
            odd.setdefault(key, {})[path] = value
    for key, values in odd.items():
        places = {path.removeprefix(f"{key}."): value for path, value in values.items()}
        yield unusual(key, next(iter(values)) if len(values) == 1 else key, places)


def unusual(key: str, where: str, values: Mapping[str, float]) -> Unusual:
    """Return the doubt about numbers of a key that are out of the usual.

    Parameters
    ----------
    where : they were given.
    values : by their places.
    """
    low, high = range_of(key)
    otherwise = in_other_units(key, list(values.values()))
    return Unusual(where, values, low, high, unit_of(key), otherwise)


def _odd_turn(car: Car) -> Iterator[Doubt]:
    track = car.track
    if track.radius is None or track.corner_speed is None:
        return
    at = {"track.radius": track.radius, "track.corner_speed": track.corner_speed}
    if not all(is_usual(key, value) for key, value in at.items()):
        return  # said already
    held = _cornering(at)
    if CORNERING[0] <= held <= CORNERING[1]:
        return
    otherwise = tuple(
        (key, InOtherUnit(other, (value * size,), unit_of(key)))
        for key, value in at.items()
        for other, size in numbers.CAR[key].also
        if CORNERING[0] <= _cornering(at | {key: value * size}) <= CORNERING[1]
    )
    yield OddTurn(track.radius, track.corner_speed, held, otherwise)


def _cornering(at: Mapping[str, float]) -> float:
    """Return what a turn asks of the tires, level [g]."""
    from planner.chassis.turn import GRAVITY_FT, MPH_TO_FT_PER_S

    speed = at["track.corner_speed"] * MPH_TO_FT_PER_S
    return speed**2 / (at["track.radius"] * GRAVITY_FT)


def _odd_camber(car: Car) -> Iterator[Doubt]:
    turns = car.car.turns or "left"
    if turns == "both":
        return
    outside, inside = FRONT[::-1] if turns == "left" else FRONT
    camber = {str(corner): value for corner, value in car.settings.get("camber", {}).items()}
    for corner, wrong_way in ((outside, 1), (inside, -1)):
        value = camber.get(corner, 0.0)
        if wrong_way * value > CAMBER_SLIP:
            yield OddCamber(corner, value, turns)
