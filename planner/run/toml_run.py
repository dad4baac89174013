"""A run from a TOML file, whose keys are the options without their dashes."""

import math
from pathlib import Path
from typing import Any

from planner.files import records, toml_files
from planner.run import typed
from planner.run.readings import WHOLE, Again
from planner.trade import units
from planner.trade.corners import Three
from planner.trade.refusals import Refusal, Unusable, quoted
from planner.trade.units import System

PER_CORNER = ("tire", "cold", "hot", "tread", "tread_before")
_WORDS = ("feel", "where", "set", "note")
_LISTS = ("lap_times", "order", "flag")
_NUMBERS = ("laps", "track_temp", "air_temp", "delay")
KEYS = (*PER_CORNER, *_NUMBERS, *_LISTS, *_WORDS, "again")


def read(path: Path, system: System) -> dict[str, Any]:
    """Return the options of a run: what is text as it was typed, anything else as its value.

    Parameters
    ----------
    system : the plan's unit of temperatures.

    Raises
    ------
    Refusal
        Names the key that cannot be used.
    """
    try:
        data = toml_files.read_toml(path, "readings")
    except Unusable as error:
        raise Refusal(error.code, error.message, where=error.where, hint=error.hint) from None
    for key in data:
        if key not in KEYS:
            raise Refusal(
                "bad-key",
                f"There is no key {quoted(key)} in a run{records.meant(key, KEYS)}.",
                where=f"{path}, {key}",
                hint=", ".join(KEYS),
            )
    return {key: _option(key, value, f"{path}, {key}", system) for key, value in data.items()}


def _option(key: str, value: Any, where: str, system: System) -> Any:
    """Return the value of a key as its option holds it."""
    if key in PER_CORNER:
        if not isinstance(value, dict):
            raise _bad(f"{key} must be a table of corners.", where, f"{key} = {{LF = …, RF = …}}")
        return tuple(_at_corner(key, *item, where, system) for item in value.items())
    if key == "feel":
        return _feel(value)
    if key == "flag":
        return tuple(value) if isinstance(value, list) else (str(value),)
    if key == "again" and isinstance(value, dict) and len(value) == 1:
        ((name, tire),) = value.items()
        found = _at_corner("tire", name, tire, where, system)
        return found if isinstance(found, str) else Again(*found)
    if isinstance(value, list) and key in ("lap_times", "order"):
        if key == "order" or _is_text(value):
            return " ".join(map(str, value))
        return tuple(_number(each, where) for each in value)
    if isinstance(value, str) or key in (*_WORDS, "again", "order"):
        return str(value)
    number = _number(value, where)
    if key == "lap_times":
        return (number,)
    return units.fahrenheit(number, system) if key in ("track_temp", "air_temp") else number


def _at_corner(key: str, name: str, value: Any, where: str, system: System) -> Any:
    """Return what a table says of a corner: text as typed, or the corner and its value."""
    if isinstance(value, str) or _is_text(value):
        texts = [value] if isinstance(value, str) else map(str, value)
        return f"{name}={'/'.join(text.strip() or typed.NOT_READ for text in texts)}"
    corner = typed.corner(name, where)
    at = f"{where}.{corner}"
    if key in ("cold", "hot"):
        return corner, _number(value, at)
    three = _three(value, at)
    if key == "tire":
        inner, middle, outer = (units.fahrenheit(each, system) for each in three)
        return corner, (inner, middle, outer)
    return corner, (three, "32nds")


def _feel(value: Any) -> tuple[Any, ...]:
    """Return what the driver said: text, several, or a table of the parts of the corner."""
    if isinstance(value, dict):
        return tuple(f"{word} {'' if part == WHOLE else part}" for part, word in value.items())
    return tuple(map(str, value)) if isinstance(value, list) else (str(value),)


def _is_text(value: Any) -> bool:
    """Say whether a list holds numbers as text, such as ``"90%"`` or ``"1:02.4"``."""
    return isinstance(value, list) and any(isinstance(each, str) for each in value)


def _three(value: Any, where: str) -> Three:
    if not isinstance(value, list) or len(value) != 3:
        raise _bad("Three numbers are needed: inner, middle, outer.", where, "[205, 212, 209]")
    inner, middle, outer = (_number(each, where) for each in value)
    return inner, middle, outer


def _number(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _bad(f"{quoted(str(value))} is not a number.", where, "a number, such as 95")
    if not math.isfinite(value):
        raise _bad(f"{value} is not a finite number.", where, "a number, such as 95")
    return float(value)


def _bad(said: str, where: str, hint: str) -> Refusal:
    return Refusal("bad-value", said, where=where, hint=hint)
