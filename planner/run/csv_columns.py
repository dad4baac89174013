"""What the columns of a table of temperatures hold, found out by their names."""

import re
from collections.abc import Mapping, Sequence
from typing import Literal, TypeVar

import attrs

from planner.trade.corners import CORNERS, Corner, Strip
from planner.trade.units import System

K = TypeVar("K")

CORNER_WORDS: dict[str, Corner] = {corner.lower(): corner for corner in CORNERS}
STRIP_WORDS: dict[str, Strip] = {
    **dict.fromkeys(("inner", "inside", "in", "i"), "inner"),
    **dict.fromkeys(("middle", "mid", "center", "centre", "m", "c"), "middle"),
    **dict.fromkeys(("outer", "outside", "out", "o"), "outer"),
}
UNIT_WORDS: dict[str, System] = {
    **dict.fromkeys(("f", "degf", "fahrenheit"), "us"),
    **dict.fromkeys(("c", "degc", "celsius"), "metric"),
}
_SIDES = {"left": "l", "right": "r"}
_ENDS = {"front": "f", "rear": "r", "back": "r"}
_DEGREES = ("deg", "degrees")
_TIRE = ("tire", "tyre")
_NOISE = ("temp", "temps", "temperature", "edge", "strip", *_TIRE, *_DEGREES)
_CORNER_COLUMNS = ("corner", "wheel", *_TIRE)
_STRIP_COLUMNS = ("position", "pos", "strip", "edge", "place", "location")
_VALUE_COLUMNS = ("temperature", "temp", "temps", "reading", "value")

Role = Literal["corner", "position", "temperature", "unit", "run"]


@attrs.frozen
class Column:
    """A column by its name: what it holds, at which corner and strip, in which unit."""

    number: int
    name: str
    role: Role | None = None
    corner: Corner | None = None
    strip: Strip | None = None
    unit: System | None = None


def words_of(text: str) -> list[str]:
    """Return the words of a name in small letters, ``left front`` and ``LFI`` taken apart."""
    words: list[str] = []
    for word in re.findall(r"[a-z]+", text.lower()):
        side, end = _SIDES.get(word), _ENDS.get(word)
        if words and words[-1] in _SIDES and end:
            words[-1] = _SIDES[words[-1]] + end
        elif words and words[-1] in _ENDS and side:
            words[-1] = side + _ENDS[words[-1]]
        elif word[:2] in CORNER_WORDS and word[2:] in STRIP_WORDS:
            words += [word[:2], word[2:]]
        else:
            words.append(word)
    return words


def column_of(number: int, name: str) -> Column:
    """Find out what a column holds by its name."""
    words = words_of(name)
    role = _role(words)
    if role is not None:
        unit = next((UNIT_WORDS[word] for word in words if word in UNIT_WORDS), None)
        return Column(number, name, role, unit=unit)
    corner = strip = unit = None
    left = []
    # A lone c is the unit where the strip is named otherwise (LF_inner_c), else the centre (LF c).
    named = any(word in STRIP_WORDS and word != "c" for word in words)
    for word in words:
        if corner is None and word in CORNER_WORDS:
            corner = CORNER_WORDS[word]
        elif strip is None and word in STRIP_WORDS and not (word == "c" and named):
            strip = STRIP_WORDS[word]
        elif unit is None and word in UNIT_WORDS:
            unit = UNIT_WORDS[word]
        elif word not in _NOISE:
            left.append(word)
    if left or strip is None:
        return Column(number, name)
    return Column(number, name, None, corner, strip, unit)


def _role(words: Sequence[str]) -> Role | None:
    """Return the role of a column that is no strip; its unit may stand in its name."""
    bare = [word for word in words if word not in UNIT_WORDS and word not in _DEGREES]
    if len(bare) > 1 and bare[0] in _TIRE:  # tire temp, tire position
        bare = bare[1:]
    roles: tuple[tuple[Role, tuple[str, ...]], ...] = (
        ("corner", _CORNER_COLUMNS),
        ("position", _STRIP_COLUMNS),
        ("temperature", _VALUE_COLUMNS),
        ("unit", ("unit", "units")),
        ("run", ("run",)),
    )
    return next((role for role, names in roles if len(bare) == 1 and bare[0] in names), None)


def named(text: str, known: Mapping[str, K]) -> K | None:
    """Return what one word of a cell names, whatever other words are in it."""
    words = [word for word in words_of(text) if word not in _NOISE]
    return known.get(words[0]) if len(words) == 1 else None
