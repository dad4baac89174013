"""The car file: what is known of the car. Every key is optional; see `Car`."""

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from planner.files import toml_records
from planner.trade import knobs, numbers
from planner.trade.corners import CORNERS, FRONT, LEFT, Corner, Turns
from planner.trade.knobs import Limit
from planner.trade.refusals import Refusal, Unusable

MOST_NAME = 300  # letters of a name
MOST_STEPS = 1000  # smallest steps in the largest change: each of them may be tried out
MOST_LIMIT = 100_000.0

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

    @property
    def track_ratio(self) -> float:
        """Front over rear track [-]; equal where one is not given."""
        if self.track_front is None or self.track_rear is None:
            return 1.0
        return self.track_front / self.track_rear


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

    Two entries that contradict each other, with both numbers and the one that is used; settings
    past the file's own limits; and numbers that look like another unit or a slip.
    """
    return (
        *_contradictions(car),
        *_beyond_limits(car),
        *_odd_scales(car),
        *_unusual(car),
        *_odd_turn(car),
        *_odd_camber(car),
    )


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


def _beyond_limits(car: Car) -> Iterator[str]:
    for (knob, place), value in starting_settings(car).items():
        limit = car.limits.get(knob, Limit())
        over = limit.max is not None and value > limit.max + 1e-9
        under = limit.min is not None and value < limit.min - 1e-9
        if over or under:
            edge, word = (limit.max, "highest") if over else (limit.min, "lowest")
            weighed = " by [scales]" if knob == "cross" and car.scales else ""
            yield (
                f"{place} {knob} is {knobs.shown(knob, value, signed=False)}{weighed}, past the "
                f"{word} in limits.{knob} ({edge:g}): look at both; no change goes further that "
                "way."
            )


def _odd_scales(car: Car) -> Iterator[str]:
    if not car.scales:
        return
    total = sum(car.scales.values())
    if total < LIGHT:
        yield (
            f"[scales] add up to {total:.0f} lb, little for a car with its driver; were they read "
            f"in kg, it is {total * numbers.LB_PER_KG:.0f} lb: give them in lb."
        )
    read = ", ".join(f"{corner} {car.scales[corner]:g}" for corner in CORNERS)
    beside = {corner: 3 * own / (total - own) for corner, own in car.scales.items()}
    odd = max(beside, key=lambda corner: abs(math.log(beside[corner])))
    if not BESIDE[0] <= beside[odd] <= BESIDE[1]:
        yield f"scales.{odd} stands far from the other three: look for a slip in {read} lb."
        return  # what it makes of front, left and cross is the same slip
    for name, pair in (("front", FRONT), ("left", LEFT), ("cross", ("RF", "LR"))):
        share = 100 * sum(car.scales[corner] for corner in pair) / total
        if not EVEN[name][0] <= share <= EVEN[name][1]:
            yield f"[scales] give {share:.1f} % {name}: look for a slip in {read} lb."


def _unusual(car: Car) -> Iterator[str]:
    """Yield a sentence for every number, or table of numbers, that is out of the usual."""
    odd: dict[str, dict[str, float]] = {}
    for path, value in (*_settings(car), *_numbers(car)):
        key = _key(path)
        no_bar = key == "settings.bar" and value == 0
        if not no_bar and key in numbers.CAR and not _is_usual(key, value):
            odd.setdefault(key, {})[path] = value
    for key, values in odd.items():
        (low, high), unit = _usual(key), _unit(key)
        path, read = next((path, f"{value:g}") for path, value in values.items())
        if len(values) > 1:
            places = [place.removeprefix(f"{key}.") for place in values]
            path, read = (
                key,
                ", ".join(
                    f"{value:g}" if place.isdigit() else f"{place} {value:g}"
                    for place, value in zip(places, values.values(), strict=True)
                ),
            )
        yield (
            f"{path}: {read} {unit} {'is' if len(values) == 1 else 'are'} unusual, {low:g} to "
            f"{high:g} is common; {_otherwise(key, list(values.values())) or 'taken as it stands'}."
        )


def _otherwise(key: str, values: Sequence[float]) -> str:
    """Say in which other unit these would be usual, and what they are then; ``""`` for none."""
    if key not in numbers.CAR:
        return ""
    unit = _unit(key)
    said = []
    for other, size in numbers.CAR[key].also:
        ours = [value * size + (32 if other == "°C" else 0) for value in values]
        if all(_is_usual(key, value) for value in ours):
            said.append((other, f"{', '.join(map(_near, ours))} {unit}"))
    if not said:
        return ""
    (other, first), *more = said
    they, are, them = ("it", "is", "it") if len(values) == 1 else ("they", "are", "them")
    rest = "".join(f", in {other} {at}" for other, at in more)
    wanted = "inches" if unit == "in" else unit
    return f"were {they} given in {other}, {they} {are} {first}{rest}: give {them} in {wanted}"


def _usual(key: str) -> tuple[float, float]:
    """Return what is common at a key of the car file; all there is where nothing is said."""
    return numbers.CAR[key].usual or (-math.inf, math.inf)


def _is_usual(key: str, value: float) -> bool:
    low, high = _usual(key)
    return low <= value <= high


def _unit(key: str) -> str:
    """Return the unit of a key of the car file, for the reader."""
    unit = numbers.CAR[key].unit
    return {"degF": "°F", "ratio": "in per in"}.get(unit, unit)


def _near(value: float) -> str:
    """Write a number out of another unit, near enough to be known again."""
    return f"{value:.0f}" if abs(value) >= 50 else f"{value:.3g}"


def _odd_turn(car: Car) -> Iterator[str]:
    """Ask about a radius and a speed that do not go together, though each of them could be."""
    track = car.track
    if track.radius is None or track.corner_speed is None:
        return
    at = {"track.radius": track.radius, "track.corner_speed": track.corner_speed}
    if not all(_is_usual(key, value) for key, value in at.items()):
        return  # said already
    held = _cornering(at)
    if CORNERING[0] <= held <= CORNERING[1]:
        return
    said = [
        f"{key} given in {other}, it is {_near(value * size)} {_unit(key)}"
        for key, value in at.items()
        for other, size in numbers.CAR[key].also
        if CORNERING[0] <= _cornering(at | {key: value * size}) <= CORNERING[1]
    ]
    yield (
        f"track.radius {track.radius:g} ft and track.corner_speed {track.corner_speed:g} mph make "
        f"{held:.1f} g, {CORNERING[0]:g} to {CORNERING[1]:g} is common; "
        + (f"were {'; or '.join(said)}" if said else "look at both")
        + "."
    )


def _cornering(at: Mapping[str, float]) -> float:
    """Return what a turn asks of the tires, level [g]."""
    from planner.chassis.turn import GRAVITY_FT, MPH_TO_FT_PER_S

    speed = at["track.corner_speed"] * MPH_TO_FT_PER_S
    return speed**2 / (at["track.radius"] * GRAVITY_FT)


def _odd_camber(car: Car) -> Iterator[str]:
    """Ask about a front tire that leans out of the turn. Common practice, no source."""
    way = car.car.turns or "left"
    if way == "both":
        return
    outside, inside = ("RF", "LF") if way == "left" else ("LF", "RF")
    camber = car.settings.get("camber", {})
    for corner, sign, word in ((outside, -1, "negative"), (inside, 1, "positive")):
        value = camber.get(corner, 0.0)
        if -sign * value > CAMBER_SLIP:
            yield (
                f"settings.camber.{corner}: {value:+g} deg; on a track that turns {way} the "
                f"{corner} stands {word} as a rule (common practice, no source): look at the sign."
            )


def mistakes(car: Car) -> list[str]:
    """Return what cannot be in a car file whose keys and types are right, by the key's path."""
    found = [*_settings_mistakes(car), *_limit_mistakes(car)]
    if car.scales and set(car.scales) != set(CORNERS):
        missing = [corner for corner in CORNERS if corner not in car.scales]
        found.append(f"scales: {', '.join(missing)} missing; all four or none")
    for path, value in _numbers(car):
        key = _key(path)
        number = numbers.CAR[key]
        if not number.holds(value):
            found.append(
                f"{path}: {value:g} cannot be; it must lie between {number.low:g} and "
                f"{number.high:g}{_hinted(key, value)}"
            )
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


def _hinted(key: str, value: float) -> str:
    said = _otherwise(key, [value])
    return f"; {said}" if said else ""


def _key(path: str) -> str:
    """Return the key whose number covers a path: its own, or that of all its places."""
    return path if path in numbers.CAR else path.rpartition(".")[0]


def _settings(car: Car) -> list[tuple[str, float]]:
    """Return every setting with its path."""
    return [
        (f"settings.{knob}.{place}", value)
        for knob, places in car.settings.items()
        for place, value in places.items()
    ]


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
        for path in numbers.CAR
        for table, _, key in [path.partition(".")]
        if path not in tables and table != "settings"
    }
    return values + [(path, value) for path, value in single.items() if value is not None]
