"""What a person types, turned into values: many separators, decimal commas, units allowed."""

import math
import re
from collections.abc import Iterable
from typing import TypeVar

from planner.run.readings import TreadUnit
from planner.trade import units
from planner.trade.corners import CORNERS, UNREAD, Corner, Three
from planner.trade.refusals import Refusal, quoted

T = TypeVar("T")

NOT_READ = "-"  # typed and kept for a reading that was not taken

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+")
_THOUSAND = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")  # or a fraction
_DASH_BETWEEN = re.compile(r"(?<=\d)\s*[-–]\s*(?=\d)")
_PERCENT = re.compile(r"(?<=\d)\s*%(?![\d%])")  # behind a number
_LAP = re.compile(r"(?P<minutes>\d{1,2}):(?P<seconds>[0-5]?\d(?:[.,]\d+)?)")
_SCALES: dict[str, units.System] = {"f": "us", "c": "metric"}
_SAID_CORNER = re.compile(
    r"\b(?:(?:left|right)[\s-]+(?:front|rear)|(?:front|rear)[\s-]+(?:left|right))\b", re.IGNORECASE
)
_UNIT_APART = re.compile(r"(?<=\d)\s+(psi|kpa|bar)\b", re.IGNORECASE)
_PSI_PER = {"": 1.0, "psi": 1.0, "kpa": 1 / units.KPA_PER_PSI, "bar": 100 / units.KPA_PER_PSI}


def number(text: str, option: str, example: str) -> float:
    """Read one number; a decimal comma will do.

    Raises
    ------
    Refusal
        It is not a number, could be one or another, or is not finite; shows what to type.
    """
    cleaned = text.strip()
    refuse_a_thousand(cleaned, option)
    if not _NUMBER.fullmatch(cleaned):
        raise Refusal(
            "bad-value",
            f"{quoted(text)} is not a number.",
            where=option,
            hint=f"for example {example}",
        )
    value = float(cleaned.replace(",", "."))
    if not math.isfinite(value):
        raise Refusal(
            "bad-value",
            f"{quoted(text)} is too large.",
            where=option,
            hint=f"for example {example}",
        )
    return value


def refuse_a_thousand(text: str, option: str) -> None:
    """Refuse a comma before exactly three digits: it may part thousands or a fraction.

    Raises
    ------
    Refusal
        It is such a number; shows both ways to type it.
    """
    if _THOUSAND.fullmatch(text):
        large, small = text.replace(",", ""), text.replace(",", ".")
        raise Refusal(
            "bad-value",
            f"{quoted(text)} may be {float(large):g} or {float(small):g}.",
            where=option,
            hint=f"{large}, or {small}",
        )


def numbers(text: str) -> list[str]:
    """Split a line into the pieces that are meant as numbers.

    Blanks, slashes, semicolons, bars and dashes between figures part them; commas do where
    nothing else does, and are decimal commas otherwise.
    """
    line = _DASH_BETWEEN.sub("/", text.strip())
    if _THOUSAND.fullmatch(line):
        return [line]
    if not re.search(r"[\s/;|]", line):
        return [piece for piece in line.split(",") if piece]
    return [piece.strip(",") for piece in re.split(r"[\s/;|]+", line) if piece.strip(",")]


def three(text: str, option: str, example: str = "205/212/209") -> Three:
    """Read three numbers.

    Raises
    ------
    Refusal
        They are not three, or one is no number.
    """
    pieces = numbers(text)
    if len(pieces) != 3:
        raise Refusal(
            "bad-value",
            f"{quoted(text)} has {len(pieces)} numbers; give three: inner, middle, outer.",
            where=option,
            hint=f"for example {example}",
        )
    first, second, third = (number(piece, option, example) for piece in pieces)
    return first, second, third


def with_corners(text: str) -> str:
    """Return a line with corners said in words, ``right front``, by their names."""

    def name(found: re.Match[str]) -> str:
        words = found[0].lower()
        return ("L" if "left" in words else "R") + ("F" if "front" in words else "R")

    return _SAID_CORNER.sub(name, text)


def corner(text: str, option: str) -> Corner:
    """Read the name of a corner, in capitals or not.

    Raises
    ------
    Refusal
        It is not one of the four.
    """
    for name in CORNERS:
        if text.strip().upper() == name:
            return name
    raise Refusal(
        "bad-value",
        f"{quoted(text)} is not a corner of the car.",
        where=option,
        hint=f"one of {', '.join(CORNERS)}",
    )


def at_corner(text: str, option: str, example: str) -> tuple[Corner, str]:
    """Read ``CORNER=VALUE`` and return both parts.

    Raises
    ------
    Refusal
        It is not of that form, or there is no such corner.
    """
    name, equals, value = text.partition("=")
    if not equals or not value.strip():
        raise Refusal(
            "bad-value",
            f"{quoted(text)} is not CORNER=VALUE.",
            where=option,
            hint=f"{option} {example}",
        )
    return corner(name, option), value


def once_each(pairs: Iterable[tuple[Corner, T]], option: str) -> dict[Corner, T]:
    """Return the pairs by corner, in the order LF, RF, LR, RR; refuse a corner given twice."""
    found: dict[Corner, T] = {}
    for name, value in pairs:
        if name in found:
            raise Refusal(
                "bad-value", f"{name} is given twice.", where=option, hint="give each tire once"
            )
        found[name] = value
    return {name: found[name] for name in CORNERS if name in found}


def temperature(text: str, option: str, system: units.System) -> float:
    """Read a temperature in the plan's unit, or with its own (``35C``), and return [degF]."""
    value = text.strip()
    own = _SCALES.get(value[-1:].lower())
    if own is not None:
        value = value[:-1].rstrip()
    return units.fahrenheit(number(value.removesuffix("°"), option, "95"), own or system)


def tire(text: str, option: str, system: units.System) -> Three:
    """Read inner/middle/outer in the plan's unit and return [degF].

    A dash stands for a reading that was not taken, one dash alone for all three.
    """
    pieces = strips(text)
    if NOT_READ not in pieces or len(pieces) != 3:
        inner, middle, outer = (units.fahrenheit(each, system) for each in three(text, option))
        return inner, middle, outer
    inner, middle, outer = (
        UNREAD
        if piece == NOT_READ
        else units.fahrenheit(number(piece, option, "205/-/209"), system)
        for piece in pieces
    )
    return inner, middle, outer


def strips(text: str) -> list[str]:
    """Split a line into readings, in which a dash by itself is one that was not taken.

    Between numbers a dash parts them, unless the line then holds no whole tires.
    """
    pieces = re.sub("[–—]", NOT_READ, text.strip())
    apart = [piece for piece in re.split(r"[\s/;|,]+", pieces) if piece]
    if apart == [NOT_READ]:
        return [NOT_READ] * 3
    return apart if NOT_READ in apart and len(apart) % 3 == 0 else numbers(text)


def pressure(text: str, option: str) -> float:
    """Read a pressure in psi, or with its unit (``152kPa``, ``1.5bar``), and return [psi]."""
    value = text.strip()
    unit = _unit_of(value)
    return number(value[: len(value) - len(unit)], option, "LF=22.0") * _PSI_PER[unit]


def pressures(text: str) -> list[str]:
    """Split a line into pressures; a unit may stand apart, or once behind all of them."""
    pieces = numbers(_UNIT_APART.sub(r"\1", text))
    units_said = {unit for piece in pieces if (unit := _unit_of(piece))}
    if len(units_said) == 1 and all(not _unit_of(piece) for piece in pieces[:-1]):
        (unit,) = units_said
        pieces = [f"{piece}{unit}" for piece in pieces[:-1]] + pieces[-1:]
    return pieces


def _unit_of(text: str) -> str:
    return next((each for each in _PSI_PER if each and text.lower().endswith(each)), "")


def tread(text: str, option: str) -> tuple[Three, TreadUnit]:
    """Read tread depth in 1/32 in, or percent of tread left (``90%/85%/80%``)."""
    unit: TreadUnit = "percent" if "%" in text else "32nds"
    return three(_PERCENT.sub("", text), option, "LF=7.5/7/6.5"), unit


def lap_times(text: str, option: str) -> tuple[float, ...]:
    """Read lap times [s], ``19.82,19.79`` or ``1:02.4 1:02.1``."""
    return tuple(_lap(piece, option) for piece in numbers(text))


def _lap(text: str, option: str) -> float:
    if ":" not in text:
        return number(text, option, "19.82,19.79,19.80")
    found = _LAP.fullmatch(text)
    if found is None:
        raise Refusal(
            "bad-value",
            f"{quoted(text)} is not minutes and seconds.",
            where=option,
            hint="for example 1:02.4",
        )
    return number(found["seconds"], option, "1:02.4") + 60 * int(found["minutes"])


def corners(text: str, option: str) -> tuple[Corner, ...]:
    """Read corners in an order, ``LF,LR,RR,RF``."""
    return tuple(corner(piece, option) for piece in re.split(r"[\s,/;]+", text.strip()) if piece)
