"""What is typed after ``treadgate work``, and the car file behind it, as plain inputs."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast

import attrs

from planner.car.car_file import Car
from planner.car.doubts import doubts, unusual
from planner.car.usual import is_usual
from planner.trade import numbers
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal
from planner.words.car import doubt
from planner.worksheets import reading
from planner.worksheets.quantities import ALL, QUANTITIES, Wish, option
from planner.worksheets.worksheet import Row, Value, Worksheet

# What the formulas call an input, where it is not the name here.
_CALLED = {
    "amount": "--move",
    "cold_psi": "--cold",
    "loads": "--scales",
    "new_rate": "--spring-change",
    "pressure": "the pressure given",
    "circumference": "--outer and --inner, or tires.circumference",
    "upward": "--up",
}


def as_typed(refusal: Refusal) -> Refusal:
    """Return a refusal of the formulas with its place named as it is typed."""
    keys = refusal.where.split(", ")
    places = [_place_typed(key) for key in keys]
    key, typed, message = keys[0], places[0][1], refusal.message
    if message.startswith(f"{key} ") and typed.startswith("--"):
        message = typed + message.removeprefix(key)
    where = ", ".join(where for where, _ in places)
    return Refusal(refusal.code, message, where=where, hint=refusal.hint)


def _place_typed(key: str) -> tuple[str, str]:
    """Return where an input of the formulas may be given, and its option."""
    if key in _CALLED:
        return _CALLED[key], _CALLED[key]
    if key in QUANTITIES:
        return QUANTITIES[key].where, QUANTITIES[key].option
    return key, key


class Known:
    """What is known for one worksheet: what is typed, then the car file, then what is assumed.

    Parameters
    ----------
    typed : what was typed, by the name of the input.
    car : the car file, when one was given.

    Attributes
    ----------
    values : what was asked for and is known, by name.
    sources : where each comes from: ``typed``, ``car file``, ``taken`` or, when only some of its
        places were typed, ``typed in part``.
    remarks : what was given and not used, or should be looked at again.
    """

    def __init__(self, typed: Mapping[str, Any], car: Car | None) -> None:
        self.values: dict[str, Value] = {}
        self.sources: dict[str, str] = {}
        self.remarks: list[str] = [] if car is None else [doubt(found) for found in doubts(car)]
        self._typed = typed
        self.car = car

    def doubts(self) -> list[str]:
        """Return what was typed and looks like another unit or a slip."""
        found = []
        for name, source in self.sources.items():
            quantity, value = QUANTITIES.get(name), self.values.get(name)
            key = "" if quantity is None else quantity.key.strip("[]")
            if quantity is None or key not in numbers.CAR or not source.startswith("typed"):
                continue
            values = value if isinstance(value, Mapping) else {"": value}
            odd = {
                "" if place == ALL else str(place): float(each)
                for place, each in values.items()
                if isinstance(each, int | float) and not is_usual(key, each)
            }
            if key == "settings.bar":
                odd = {place: each for place, each in odd.items() if each}  # unhooked
            if odd:
                found.append(doubt(unusual(key, quantity.option, odd)))
        return found

    def wish(self, name: str) -> Any:
        """Return what was typed, as it was: a flag, a word, texts."""
        return self._typed.get(name)

    def typed(self, *names: str) -> bool:
        """Say whether any of these was typed."""
        return any(self._typed.get(name) not in (None, (), False) for name in names)

    def only_with(self, other: str, *names: str) -> None:
        """Refuse inputs that mean nothing without another one."""
        for name in names:
            if self.typed(name):
                typed = option(name)
                hint = f"give {other}, or omit {typed}"
                raise Refusal("usage", f"{typed} goes with {other}.", where=typed, hint=hint)

    def never_with(self, other: str, *names: str) -> None:
        """Refuse inputs that contradict another one."""
        for name in names:
            if self.typed(name):
                said = f"{option(name)} and {other} cannot be used together."
                raise Refusal("usage", said, where=option(name), hint="give one of them")

    def rows(self, *names: str) -> tuple[Row, ...]:
        """Return these inputs as rows, as far as they are known."""
        rows = []
        for name in names:
            value, quantity = self.values.get(name), QUANTITIES[name]
            if isinstance(value, Mapping) and set(value) <= {ALL}:
                value = value.get(ALL)
            if value is not None:
                rows.append(Row(name, quantity.label, value, quantity.unit, None))
        return tuple(rows)

    def put(self, name: str, value: Value, source: str) -> None:
        """Keep an input, and where it comes from."""
        self.values[name], self.sources[name] = value, source

    def drop(self, *names: str) -> None:
        """Leave inputs out of the worksheet."""
        for name in names:
            self.values.pop(name, None)
            self.sources.pop(name, None)

    def number(self, name: str, key: str = "") -> float | None:
        """Return a number, or None when it is not known; the key is where it stands today."""
        quantity = QUANTITIES[name]
        text = self._typed.get(name)
        if text is not None:
            value = reading.number(text, quantity, quantity.option)
            self.put(name, value, "typed")
            return value
        stands = self._in_file(key or quantity.key)
        if stands is None:
            return None
        value = reading.possible(float(stands), quantity, f"--car {key or quantity.key}")
        self.put(name, value, "car file")
        return value

    def needed(self, name: str) -> float:
        """Return a number, or refuse and say where it could come from."""
        value = self.number(name)
        if value is None:
            raise reading.missing(QUANTITIES[name])
        return value

    def taken(self, name: str, otherwise: float) -> float:
        """Return a number, or the one assumed where it is not known."""
        value = self.number(name)
        if value is None:
            self.put(name, otherwise, "taken")
            return otherwise
        return value

    def places(self, name: str) -> dict[str, float]:
        """Return the places known, those typed over those of the car file.

        Raises
        ------
        Refusal
            One value for all and one for a single corner are both typed, or one cannot be.
        """
        quantity = QUANTITIES[name]
        typed = reading.places(self._typed.get(name) or (), quantity)
        if ALL in typed and len(typed) > 1:
            raise Refusal(
                "bad-value",
                "One value for all and values for single corners are both given.",
                where=quantity.option,
                hint=f"{quantity.option} {quantity.example}, or one for each corner",
            )
        stands = {} if ALL in typed else dict(self._in_file(quantity.key) or {})
        for place, value in stands.items():
            reading.possible(value, quantity, f"--car {quantity.key.strip('[]')}.{place}")
        known = {**stands, **typed}
        found = {place: known[place] for place in quantity.places if place in known}
        if found:
            over = any(place not in typed for place in known)
            source = "car file" if not typed else "typed in part" if over else "typed"
            self.put(name, found, source)
        return found

    def needed_places(self, name: str) -> dict[str, float]:
        """Return the places known, or refuse when there is none."""
        found = self.places(name)
        if not found:
            raise reading.missing(QUANTITIES[name])
        return found

    def corners(self, name: str) -> dict[Corner, float] | None:
        """Return all four corners, or None when they are not known.

        Some typed and others missing is refused; some in the car file alone is not used.
        """
        if self.typed(name):
            return self.needed_corners(name)
        found = self.places(name)
        if len(found) == len(CORNERS):
            return cast(dict[Corner, float], found)
        if found:
            key = QUANTITIES[name].key
            self.remarks.append(f"{key} names only {', '.join(found)}, so it is not used.")
        self.drop(name)
        return None

    def needed_corners(self, name: str) -> dict[Corner, float]:
        """Return all four corners, or refuse and name those missing."""
        found = self.places(name)
        without = [corner for corner in CORNERS if corner not in found]
        if without:
            raise reading.missing(QUANTITIES[name], without)
        return cast(dict[Corner, float], found)

    def taken_places(self, name: str, places: Sequence[str], otherwise: float) -> dict[str, float]:
        """Return a number for each place, the one assumed where it is not known."""
        found = self.places(name)
        full = {place: found.get(place, otherwise) for place in places}
        source = self.sources.get(name, "taken")
        if len(found) < len(places) and self.typed(name):
            source = "typed in part"
        elif 0 < len(found) < len(places):
            self.remarks.append(
                f"{QUANTITIES[name].key} names only {', '.join(found)}; {otherwise:g} is taken "
                "for the rest."
            )
        self.put(name, full, source)
        return full

    def tracks(self) -> tuple[float | None, float | None]:
        """Return front and rear track, both or neither.

        Raises
        ------
        Refusal
            One was typed and the other is not known.
        """
        front, rear = self.number("track_front"), self.number("track_rear")
        if (front is None) == (rear is None):
            return front, rear
        lone, other = ("rear", "front") if front is None else ("front", "rear")
        if self.typed(f"track_{lone}"):
            raise reading.missing(QUANTITIES[f"track_{other}"])
        self.remarks.append(f"Only the {lone} track is known, so it is not used.")
        self.drop(f"track_{lone}")
        return None, None

    def track_ratio(self) -> float:
        """Return front over rear track; 1 where they are not known."""
        front, rear = self.tracks()
        return front / rear if front and rear else 1.0

    def turns(self) -> str | None:
        """Return the way the track turns: typed, or as the car file says; None when not known."""
        typed = self.wish("turns")
        stands = None if self.car is None else self.car.car.turns
        if typed or stands:
            self.put("turns", typed or stands, "typed" if typed else "car file")
        return typed or stands

    def _in_file(self, key: str) -> Any:
        """Return what stands at a key of the car file, None for nothing."""
        found: Any = self.car
        for part in key.strip("[]").split("."):
            if found is None or not part:
                return None
            found = found.get(part) if isinstance(found, Mapping) else getattr(found, part)
        return found


@attrs.frozen(kw_only=True)
class Calculator:
    """One topic of ``treadgate work``: what it takes and what it works out.

    Attributes
    ----------
    about : what it is for, as its help says.
    takes : the quantities it takes, by name.
    wishes : what else can be typed.
    work : makes the worksheet of what is known.
    """

    about: str
    takes: tuple[str, ...]
    wishes: tuple[Wish, ...] = ()
    work: Callable[[Known], Worksheet]
