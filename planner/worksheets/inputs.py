"""What is typed after ``treadgate work``, and the car file behind it, as plain inputs."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, cast

from planner.car.car_file import Car, doubts, starting_settings
from planner.run import typed
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal, quoted
from planner.worksheets.quantities import ALL, DEGF, ENDS, QUANTITIES, Quantity

if TYPE_CHECKING:  # its module needs numpy, which most of these worksheets do without
    from planner.chassis.at_rest import Suspension

MOST_TYPED = 500  # letters of one option

# What the formulas call an input, as it is typed.
_ASKED = {
    "amount": "--move",
    "cold_psi": "--cold",
    "cross": "--cross",
    "front_share": "--front-share",
    "loads": "--scales",
    "new_rate": "--spring-change",
    "perch": "--perch",
    "pressure": "the pressure given",
    "ride_height": "--ride-height",
    "circumference": "--outer and --inner, or tires.circumference",
    "total": "--total",
    "turn": "--turn",
    "unsprung": "--unsprung",
    "unsprung_front": "--unsprung-front",
    "unsprung_rear": "--unsprung-rear",
    "upward": "--up",
}


def as_typed(refusal: Refusal) -> Refusal:
    """Return a refusal of the formulas with its place named as it is typed."""
    keys = refusal.where.split(", ")
    places = [_place_typed(key) for key in keys]
    key, option, message = keys[0], places[0][1], refusal.message
    if message.startswith(f"{key} ") and option.startswith("--"):
        message = option + message.removeprefix(key)
    where = ", ".join(where for where, _ in places)
    return Refusal(refusal.code, message, where=where, hint=refusal.hint)


def _place_typed(key: str) -> tuple[str, str]:
    """Return where an input of the formulas may be given, and its option."""
    if key in _ASKED:
        return _ASKED[key], _ASKED[key]
    if key in QUANTITIES:
        return QUANTITIES[key].where, QUANTITIES[key].option
    return key, key


def corners_listed(texts: Iterable[str], option: str) -> tuple[Corner, ...]:
    """Read corners, each option one or a list; refuse one named twice."""
    found = [corner for text in texts for corner in typed.corners(text, option)]
    named = typed.once_each(((corner, None) for corner in found), option)
    return tuple(named)


def reading_pair(text: str) -> tuple[float, float]:
    """Read ``PSI=INCHES``, a tire's circumference at a pressure.

    Raises
    ------
    Refusal
        It is not of that form, or no tire can have such values.
    """
    option = "--pressure-pair"
    psi, equals, length = text.partition("=")
    if not equals:
        raise Refusal(
            "bad-value",
            f"{quoted(text)} is not PSI=INCHES.",
            where=option,
            hint=f"{option} 20=85.5",
        )
    return (
        _possible(typed.pressure(psi, option), QUANTITIES["at_pressure"], option),
        _possible(typed.number(length, option, "20=85.5"), QUANTITIES["outer"], option),
    )


class Known:
    """What is known for one worksheet: what is typed, then the car file, then what is taken.

    Parameters
    ----------
    typed : what was typed, by the name of the quantity.
    car : the car file, when one was given.

    Attributes
    ----------
    sources : where each input comes from: ``typed``, ``car file``, ``taken`` or, when only some
        of its places were typed, ``typed in part``.
    remarks : what was given and not used, or should be looked at again.
    """

    def __init__(self, typed: Mapping[str, Any], car: Car | None) -> None:
        self.sources: dict[str, str] = {}
        self.remarks: list[str] = [] if car is None else list(doubts(car))
        self._typed = typed
        self.car = car

    def typed(self, *names: str) -> bool:
        """Say whether any of these was typed."""
        return any(self._typed.get(name) not in (None, (), False) for name in names)

    def number(self, name: str, key: str = "") -> float | None:
        """Return a number, or None when it is not known; the key is where it stands today."""
        quantity = QUANTITIES[name]
        text = self._typed.get(name)
        if text is not None:
            value = _read(text, quantity, quantity.option)
            self.sources[name] = "typed"
            return value
        stands = self._in_file(key or quantity.key)
        if stands is None:
            return None
        self.sources[name] = "car file"
        return _possible(float(stands), quantity, key or quantity.key)

    def needed(self, name: str) -> float:
        """Return a number, or refuse and say where it could come from."""
        value = self.number(name)
        if value is None:
            raise _missing(QUANTITIES[name])
        return value

    def taken(self, name: str, otherwise: float) -> float:
        """Return a number, or the one taken where it is not known."""
        value = self.number(name)
        if value is None:
            self.sources[name] = "taken"
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
        typed = _places(self._typed.get(name) or (), quantity)
        if ALL in typed and len(typed) > 1:
            raise Refusal(
                "bad-value",
                "One value for all and values for single corners are both given.",
                where=quantity.option,
                hint=f"{quantity.option} {quantity.example}, or one for each corner",
            )
        stands = {} if ALL in typed else dict(self._in_file(quantity.key) or {})
        for place, value in stands.items():
            _possible(value, quantity, f"{quantity.key.strip('[]')}.{place}")
        found = {**stands, **typed}
        if found:
            over = any(place not in typed for place in found)
            source = "car file" if not typed else "typed in part" if over else "typed"
            self.sources[name] = source
        return {place: found[place] for place in quantity.places if place in found}

    def needed_places(self, name: str) -> dict[str, float]:
        """Return the places known, or refuse when there is none."""
        found = self.places(name)
        if not found:
            raise _missing(QUANTITIES[name])
        return found

    def corners(self, name: str) -> dict[Corner, float] | None:
        """Return all four corners, or None when they are not known.

        Some typed and others missing is refused; some in the car file alone is not used.
        """
        found = self.places(name)
        quantity = QUANTITIES[name]
        without = [corner for corner in CORNERS if corner not in found]
        if not without:
            return cast(dict[Corner, float], found)
        if self.typed(name):
            raise _missing(quantity, without)
        if found:
            self.remarks.append(f"{quantity.key} names only {', '.join(found)}, so it is not used.")
        self.sources.pop(name, None)
        return None

    def needed_corners(self, name: str) -> dict[Corner, float]:
        """Return all four corners, or refuse and name those missing."""
        found = self.places(name)
        without = [corner for corner in CORNERS if corner not in found]
        if without:
            raise _missing(QUANTITIES[name], without)
        return cast(dict[Corner, float], found)

    def taken_places(self, name: str, places: Sequence[str], otherwise: float) -> dict[str, float]:
        """Return a number for each place, the one taken where it is not known."""
        found = self.places(name)
        if len(found) < len(places):
            self.sources[name] = "typed in part" if self.typed(name) else "taken"
            if found and not self.typed(name):
                self.sources[name] = "car file"
                self.remarks.append(
                    f"{QUANTITIES[name].key} names only {', '.join(found)}; {otherwise:g} is "
                    "taken for the rest."
                )
        return {place: found.get(place, otherwise) for place in places}

    def one_corner(self, name: str) -> tuple[Corner, float]:
        """Return the corner and value of a wish for a single corner.

        Raises
        ------
        Refusal
            More corners than one are named.
        """
        found = self.places(name)
        if len(found) != 1:
            option = QUANTITIES[name].option
            raise Refusal(
                "bad-value",
                f"{option} names {', '.join(found)}; it takes one corner at a time.",
                where=option,
                hint=f"{option} {QUANTITIES[name].example}",
            )
        corner, value = next(iter(found.items()))
        return cast(Corner, corner), value

    def tracks(self) -> tuple[float | None, float | None]:
        """Return front and rear track, both or neither.

        Raises
        ------
        Refusal
            One was typed and the other is not known.
        """
        front, rear = self.number("track_front"), self.number("track_rear")
        if (front is None) != (rear is None):
            lone, other = ("rear", "front") if front is None else ("front", "rear")
            if self.typed(f"track_{lone}"):
                raise _missing(QUANTITIES[f"track_{other}"])
            self.remarks.append(f"Only the {lone} track is known, so it is not used.")
            self.sources.pop(f"track_{lone}")
            return None, None
        return front, rear

    def turns(self, typed: str | None) -> str | None:
        """Return the way the track turns: typed, or as the car file says; None when not known."""
        if typed is not None:
            self.sources["turns"] = "typed"
            return typed
        stands = None if self.car is None else self.car.car.turns
        if stands is not None:
            self.sources["turns"] = "car file"
        return stands

    def stagger(self, turns: str, circumference: Mapping[str, float]) -> float | None:
        """Return the stagger for a turn that way: typed, from typed tires, or of the car file."""
        if not self.typed("stagger") and self.typed("circumference"):
            outside, inside = ("LR", "RR") if turns == "right" else ("RR", "LR")
            if outside in circumference and inside in circumference:
                self.sources["stagger"] = self.sources["circumference"]
                return circumference[outside] - circumference[inside]
        value = self.number("stagger", "settings.stagger.rear")
        if self.typed("stagger") or self.car is None:
            return value
        if value is None:
            value = starting_settings(self.car).get(("stagger", "rear"))
        if value is None:
            return None
        self.sources["stagger"] = "car file"
        stands = "right" if self.car.car.turns == "right" else "left"
        return value if stands == turns else -value

    def suspension(self) -> "Suspension | None":
        """Return springs, motion ratios, tires and bars; None when the springs are not known."""
        spring = self.corners("spring")
        if spring is None:
            return None
        from planner.chassis.at_rest import Suspension

        bar = self.taken_places("bar", ENDS, 0.0)
        ratios = self.taken_places("motion_ratio", CORNERS, 1.0)
        return Suspension(
            spring,
            cast(dict[Corner, float], ratios),
            tire_rates=self.corners("tire_rate"),
            bar_front=bar["front"],
            bar_rear=bar["rear"],
        )

    def _in_file(self, key: str) -> Any:
        """Return what stands at a key of the car file, None for nothing."""
        found: Any = self.car
        for part in key.strip("[]").split("."):
            if found is None or not part:
                return None
            found = found.get(part) if isinstance(found, Mapping) else getattr(found, part)
        return found


def _places(texts: Sequence[str], quantity: Quantity) -> dict[str, float]:
    """Read ``PLACE=VALUE`` options, each one or a list."""
    found: dict[str, float] = {}
    option = quantity.option
    for text in texts:
        if len(text) > MOST_TYPED:
            raise Refusal(
                "bad-value",
                f"{quoted(text)} is no list of values.",
                where=option,
                hint=f"{option} {quantity.example}",
            )
    for piece in (p for text in texts for p in re.split(r"[,;\s]+(?=[A-Za-z]+\s*=)", text.strip())):
        name, equals, value = piece.partition("=")
        if not equals and ALL in quantity.places:
            place, value = ALL, piece
        elif not equals or not value.strip():
            raise Refusal(
                "bad-value",
                f"{quoted(piece)} is not {'PLACE' if quantity.places == ENDS else 'CORNER'}=VALUE.",
                where=option,
                hint=f"{option} {quantity.example}",
            )
        elif quantity.places == ENDS:
            place = name.strip().lower()
            if place not in ENDS:
                raise Refusal(
                    "bad-value",
                    f"{quoted(name)} is no end of the car.",
                    where=option,
                    hint="front or rear",
                )
        else:
            place = typed.corner(name, option)
        if place in found:
            raise Refusal(
                "bad-value",
                "Two values are given for all." if place == ALL else f"{place} is given twice.",
                where=option,
                hint="give each once",
            )
        named = option if place == ALL else f"{option} {place}"
        found[place] = _read(value, quantity, named)
    return found


def _read(text: str, quantity: Quantity, where: str) -> float:
    """Read one value in its unit and refuse what cannot be."""
    if quantity.unit == DEGF:
        value = typed.temperature(text, quantity.option, "us")
    elif quantity.unit == "psi":
        value = typed.pressure(text, quantity.option)
    else:
        value = typed.number(text, quantity.option, quantity.example)
    return _possible(value, quantity, where)


def _possible(value: float, quantity: Quantity, where: str) -> float:
    if quantity.low <= value <= quantity.high:
        return value
    unit = "" if quantity.unit == "ratio" else f" {quantity.unit}"
    hint = f"for example {quantity.option} {quantity.example}"
    if quantity.unit == "percent" and 0 < value < 1:
        hint = f"in percent, not as a fraction: {quantity.option} {100 * value:g}"
    raise Refusal(
        "bad-value",
        f"{where} is {value:g}{unit}; it must lie between {quantity.low:g} and "
        f"{quantity.high:g}{unit}.",
        where=where,
        hint=hint,
    )


def _missing(quantity: Quantity, without: Sequence[str] = ()) -> Refusal:
    said = f"{quantity.words[0].upper()}{quantity.words[1:]}"
    which = f": {', '.join(without)} not given" if without else ": not given"
    return Refusal("missing", f"{said}{which}.", where=quantity.where, hint=quantity.hint)
