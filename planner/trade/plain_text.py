"""Text from people and files made plain: it may be shown anywhere and steers nothing.

Notes, names and file names go through here before a terminal, a page or a table shows them.
Characters that move a cursor, ring a bell, hide text or turn its direction are taken out; markup
and formulas of other programs are left as they were typed.
"""

import codecs
import math
import unicodedata
from collections.abc import Mapping
from typing import Any

_HIDDEN = ("Cc", "Cf")  # control and invisible characters
_BROKEN = "Cs"  # halves of characters, as they come from bytes that are not UTF-8
REPLACED = "\ufffd"
# The sign of degrees keeps its width, so that columns stay under each other.
_LOOKALIKES = {"→": "->", "…": "...", "°": " ", "±": "+/-", "–": "-"}


def _lookalike(error: UnicodeError) -> tuple[str, int]:
    """Stand in for characters that the terminal's encoding has not got."""
    assert isinstance(error, UnicodeEncodeError)
    lost = error.object[error.start : error.end]
    return "".join(_LOOKALIKES.get(letter, "?") for letter in lost), error.end


codecs.register_error("lookalike", _lookalike)


def line(text: str) -> str:
    """Return the text on one line, without anything that could steer a terminal."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(_plain(letter) for letter in text)


def lines(text: str) -> str:
    """Return the text with its lines kept, each of them plain."""
    return "\n".join(line(each) for each in text.split("\n"))


def storable(text: str) -> str:
    """Return the text with what cannot be written as UTF-8 replaced."""
    return "".join(REPLACED if unicodedata.category(c) == _BROKEN else c for c in text)


def shortened(text: str, most: int) -> str:
    """Return the text, cut after so many characters where it is longer."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def counted(number: int, word: str) -> str:
    """Say how many there are of something: ``1 run``, ``2 runs``."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def as_json(data: Any, *, ascii_only: bool = False) -> str:
    """Return JSON in which every character that could steer a terminal is escaped.

    Parameters
    ----------
    ascii_only : escape every letter that is not ASCII too, for where it could not be written.
    """
    import json  # which the version and help need not wait for

    text = json.dumps(_nullified(data), ensure_ascii=ascii_only, indent=2, allow_nan=False)
    if text.isascii() and "\x7f" not in text:
        return text
    return "".join(_escaped(letter) for letter in text)


def _nullified(data: Any) -> Any:
    """Return the data with null for numbers that are not known: JSON has none for them."""
    if isinstance(data, Mapping):
        return {key: _nullified(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_nullified(value) for value in data]
    return None if isinstance(data, float) and math.isnan(data) else data


def _plain(letter: str) -> str:
    if letter.isspace():
        return " "
    category = unicodedata.category(letter)
    if category == _BROKEN:
        return REPLACED
    return "" if category in _HIDDEN else letter


def _escaped(letter: str) -> str:
    if letter == "\n" or unicodedata.category(letter) not in (*_HIDDEN, _BROKEN, "Zl", "Zp"):
        return letter
    return "".join(f"\\u{each:04x}" for each in _halves(letter))


def _halves(letter: str) -> tuple[int, ...]:
    """Return a character as the one or two numbers that JSON escapes it by."""
    number = ord(letter)
    if number < 0x10000:
        return (number,)
    return 0xD800 + ((number - 0x10000) >> 10), 0xDC00 + ((number - 0x10000) & 0x3FF)
