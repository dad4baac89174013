"""The car file: what is known of the car. Every key is optional; see `Car`."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import attrs

from planner.car.usual import in_other_units
from planner.files import records, toml_files
from planner.trade import knobs, numbers, units
from planner.trade.corners import CORNERS, Corner, Turns, mirrored
from planner.trade.knobs import KnobLimits, Limit
from planner.trade.refusals import Refusal, Unusable

MOST_NAME = 300  # letters of a name
MOST_STEPS = 1000  # smallest steps in the largest change: each of them may be tried out
MOST_LIMIT = 100_000.0


@attrs.frozen
class Identity:
    """Whose car it is, and which way its track turns.

    Attributes
    ----------
    id : by which the car is known again on another day; without one the name serves.
    """

    name: str = ""
    turns: Turns | None = None
    id: str = ""

    @property
    def known_by(self) -> str:
        """What the car is known by from day to day; "" for a car of neither id nor name."""
        return same(self.id or self.name)


def same(name: str) -> str:
    """Return a name as names are compared: however it is spaced and capitalised."""
    return " ".join(name.casefold().split())


@attrs.frozen
class Dimensions:
    """Lengths and heights [in]; a spring base is how far apart a solid axle's springs stand."""

    wheelbase: float | None = None
    track_front: float | None = None
    track_rear: float | None = None
    cg_height: float | None = None
    roll_center_front: float | None = None
    roll_center_rear: float | None = None
    spring_base_front: float | None = None
    spring_base_rear: float | None = None

    @property
    def track_ratio(self) -> float:
        """Front over rear track [-]; equal where one is not given."""
        if self.track_front is None or self.track_rear is None:
            return 1.0
        return self.track_front / self.track_rear


@attrs.frozen
class Suspension:
    """How the wheels are hung: whether the rear ones share a solid axle."""

    rear: Literal["solid", "independent"] | None = None


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
class Panhard:
    """The panhard (track) bar: from hole to hole of the bracket at one of its ends [in]."""

    spacing: float | None = None

    @property
    def a_hole(self) -> float | None:
        """How much one hole at one end raises the bar at the car's centreline: half of it [in]."""
        return None if self.spacing is None else self.spacing / 2


@attrs.frozen
class Track:
    """The track: length [mile], turn radius [ft], banking [deg], corner speed [mph]."""

    name: str = ""
    length: float | None = None
    radius: float | None = None
    banking: float | None = None
    corner_speed: float | None = None


Settings = Mapping[str, Mapping[str, float]]  # knob -> place -> setting


@attrs.frozen
class Car:
    """All that a car file can say.

    Attributes
    ----------
    settings : what is on the car now, by knob and place.
    scales : corner weights [lb], driver in, race fuel.
    motion_ratio : spring travel over wheel travel.
    limits : by knob, for all its places and for single ones.
    """

    car: Identity = Identity()
    settings: Settings = attrs.field(factory=dict)
    scales: Mapping[Corner, float] = attrs.field(factory=dict)
    dimensions: Dimensions = Dimensions()
    motion_ratio: Mapping[Corner, float] = attrs.field(factory=dict)
    tires: Tires = attrs.field(factory=Tires)
    jack: Jack = Jack()
    panhard: Panhard = Panhard()
    track: Track = Track()
    suspension: Suspension = Suspension()
    limits: Mapping[str, KnobLimits] = attrs.field(factory=dict)


def load(path: Path) -> Car:
    """Read and check a car file.

    Raises
    ------
    Refusal
        With one line for every mistake, each beginning with the key's path.
    """
    try:
        data = toml_files.read_toml(path, "car")
    except Unusable as error:
        hint = error.hint or "check the path, or omit it: a car file is optional"
        raise Refusal(error.code, error.message, where=error.where, hint=hint) from None
    problems, car = examine(data)
    if car is None:
        raise Refusal(
            "bad-car",
            f"The car file has {len(problems)} mistake{'s' * (len(problems) > 1)}:\n"
            + "\n".join(problems),
            where=str(path),
            hint="correct the keys named, or omit them: every key is optional",
        )
    return car


def examine(data: Mapping[str, Any]) -> tuple[list[str], Car | None]:
    """Return all mistakes of a car file, and the car when there are none."""
    problems, car = records.problems_or_record(data, Car, records.plain())
    if car is not None:
        problems = mistakes(car)
    forms = _forms(data)
    problems = [
        f"{problem}; write {forms[path]}"
        if (path := problem.partition(": ")[0]) in forms
        else problem
        for problem in problems
    ]
    return problems, None if problems else car


def _forms(data: Mapping[str, Any]) -> dict[str, str]:
    """Return the right form of every table that is there as something else, by its path."""
    corners = ", ".join(f"{corner} = …" for corner in CORNERS)
    edges = "min = …, max = …, step = …"
    wanted = {"scales": corners, "motion_ratio": corners}
    wanted |= {"tires.circumference": corners, "tires.rate": corners}
    for knob in knobs.KNOBS.values():
        wanted[f"settings.{knob.name}"] = ", ".join(f"{place} = …" for place in knob.places)
        wanted[f"limits.{knob.name}"] = edges
    found = {}
    for path, places in wanted.items():
        group, _, name = path.rpartition(".")
        tables: Any = data.get(group, {}) if group else data
        value = tables.get(name, {}) if isinstance(tables, Mapping) else {}
        if not isinstance(value, Mapping):
            is_whole = type(value) in (int, float) and places.count("…") == 1
            filled = places.replace("…", f"{value:g}") if is_whole else places
            found[path] = f"{name} = {{{filled}}}"
    return found


def in_mirror(car: Car) -> Car:
    """Return the car of the same class for a track that turns the other way."""

    def swapped(values: Mapping[Any, float]) -> dict[Any, float]:
        return {mirrored(place): value for place, value in values.items()}

    tires = attrs.evolve(
        car.tires, circumference=swapped(car.tires.circumference), rate=swapped(car.tires.rate)
    )
    return attrs.evolve(
        car,
        car=attrs.evolve(car.car, turns="left" if car.car.turns == "right" else "right"),
        settings={knob: swapped(places) for knob, places in car.settings.items()},
        scales=swapped(car.scales),
        motion_ratio=swapped(car.motion_ratio),
        tires=tires,
    )


def cross_percent(scales: Mapping[Corner, float]) -> float:
    """Return cross weight (RF + LR over the total) [percent] from four scale readings [lb]."""
    return 100 * (scales["RF"] + scales["LR"]) / sum(scales[corner] for corner in CORNERS)


def starting_settings(car: Car) -> dict[tuple[str, str], float]:
    """Return what is on the car as ``{(knob, place): setting}``.

    Cross weight is taken from the scales when they are given: it is measured, the settings table
    is only copied. Stagger is taken from the circumferences where the table has none. Where they
    differ is one of the `doubts`.
    """
    settings = {
        (knob, place): value
        for knob, places in car.settings.items()
        for place, value in places.items()
    }
    if car.scales:
        settings["cross", "car"] = cross_percent(car.scales)
    measured = measured_stagger(car)
    if measured is not None:
        settings.setdefault(("stagger", "rear"), measured)
    return settings


def rear_tires(car: Car) -> tuple[Corner, Corner]:
    """Return the outside and the inside rear tire."""
    return ("LR", "RR") if car.car.turns == "right" else ("RR", "LR")


def measured_stagger(car: Car) -> float | None:
    """Return outside less inside rear circumference [in]; None where one is not given."""
    outside, inside = rear_tires(car)
    round_ = {str(corner): length for corner, length in car.tires.circumference.items()}
    if outside not in round_ or inside not in round_:
        return None
    return round_[outside] - round_[inside]


def mistakes(car: Car) -> list[str]:
    """Return what cannot be in a car file whose keys and types are right, by the key's path."""
    found = [*_settings_mistakes(car), *_limit_mistakes(car)]
    if car.scales and set(car.scales) != set(CORNERS):
        missing = [corner for corner in CORNERS if corner not in car.scales]
        found.append(f"scales: {', '.join(missing)} missing; all four or none")
    for path, value in numbers_by_path(car):
        key = key_of(path)
        number = numbers.CAR[key]
        if not number.holds(value):
            found.append(
                f"{path}: {value:g} cannot be; it must lie between {number.low:g} and "
                f"{number.high:g}{_hinted(key, value)}"
            )
    if car.suspension.rear == "independent" and car.dimensions.spring_base_rear is not None:
        found.append(
            "dimensions.spring_base_rear: only a solid axle has one; leave it out, or write "
            'suspension.rear = "solid"'
        )
    if car.tires.window is not None and car.tires.window[0] >= car.tires.window[1]:
        found.append("tires.window: the lower temperature comes first")
    for path, name in (
        ("car.name", car.car.name),
        ("car.id", car.car.id),
        ("track.name", car.track.name),
    ):
        if len(name) > MOST_NAME:
            found.append(f"{path}: {len(name)} letters; at most {MOST_NAME} are shown")
    return found


def _settings_mistakes(car: Car) -> list[str]:
    found = []
    for name, places in car.settings.items():
        if name not in knobs.KNOBS:
            found.append(f"settings.{name[:40]}: unknown knob; use one of {', '.join(knobs.KNOBS)}")
            continue
        knob = knobs.KNOBS[name]
        for place, value in places.items():
            if place not in knob.places:
                wanted = ", ".join(knob.places)
                found.append(f"settings.{name}.{place[:40]}: no such place; {wanted} are")
            elif not knob.lowest <= value <= knob.highest:
                found.append(
                    f"settings.{name}.{place}: {value:g} {knob.unit} cannot be; it must lie "
                    f"between {knob.lowest:g} and {knob.highest:g}"
                    f"{_hinted(f'settings.{name}', value)}"
                )
    return found


def _limit_mistakes(car: Car) -> list[str]:
    found = []
    for name, limit in car.limits.items():
        at = f"limits.{name[:40]}"
        if name not in knobs.KNOBS:
            found.append(f"{at}: unknown knob; use one of {', '.join(knobs.KNOBS)}")
            continue
        knob = knobs.KNOBS[name]
        found += _unfit_limit(knob, at, limit)
        for place, own in limit.of_places().items():
            if place not in knob.places:
                found.append(f"{at}.{place}: no such place; {', '.join(knob.places)} are")
            elif not isinstance(own, str):
                both = limit.at(place)
                assert not isinstance(both, str)
                found += _unfit_limit(knob, f"{at}.{place}", both)
    return list(dict.fromkeys(found))


def _unfit_limit(knob: knobs.Knob, at: str, limit: Limit) -> list[str]:
    found = []
    if limit.min is not None and limit.max is not None and limit.min > limit.max:
        found.append(f"{at}: min is above max")
    for key, edge in (("min", limit.min), ("max", limit.max)):
        if edge is not None and not abs(edge) <= MOST_LIMIT:
            found.append(f"{at}.{key}: {edge:g} is not a limit; omit it if there is none")
    least = knob.largest / MOST_STEPS
    if limit.step is not None and not least <= limit.step <= knob.largest:
        found.append(
            f"{at}.step: {limit.step:g} cannot be; it must lie between {least:g} and "
            f"{knob.largest:g} {knob.unit}"
        )
    return found


def _hinted(key: str, value: float) -> str:
    """Return in which other unit a number would do, as the end of a refusal."""
    found = [
        f"if that is {one.unit}, write {units.near(one.values[0])} {one.ours}"
        for one in in_other_units(key, [value])
    ]
    return f"; {'; '.join(found)}" if found else ""


def key_of(path: str) -> str:
    """Return the key whose number covers a path: its own, or that of all its places."""
    return path if path in numbers.CAR else path.rpartition(".")[0]


def settings_by_path(car: Car) -> list[tuple[str, float]]:
    """Return every setting with its path."""
    return [
        (f"settings.{knob}.{place}", value)
        for knob, places in car.settings.items()
        for place, value in places.items()
    ]


def numbers_by_path(car: Car) -> list[tuple[str, float]]:
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
        for path in numbers.CAR
        for table, _, key in [path.partition(".")]
        if path not in tables and table != "settings"
    }
    return values + [(path, value) for path, value in single.items() if value is not None]
