"""TOML files into plain tables: what is no TOML of ours is refused, with the line."""

import re
import tomllib
from pathlib import Path
from typing import Any

from planner.files import whole_file
from planner.trade.refusals import Unusable

LARGEST_FILE = 4_000_000  # bytes; a plan of 1 000 steps is half of this
LARGEST_OTHER = 400_000  # bytes; a car or a rules file is a twentieth of this

# Longer chains of keys than any file of ours has; the parser takes memory by their square.
_CHAIN = 40  # dots
_DEEP = re.compile(
    r"""(?<![\w-])(?>"[^"\n]*"|'[^'\n]*'|[\w-]+)"""
    r"""(?>[ \t]*+\.[ \t]*+(?>"[^"\n]*"|'[^'\n]*'|[\w-]+))"""
    f"{{{_CHAIN}}}"
)
# Texts and comments, in which nothing of that is meant.
_QUOTED = re.compile(
    r"""\"""(?:\\.|[^\\])*?\"""|'''.*?'''|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|\#[^\n]*""",
    re.DOTALL,
)
_CONFLICT = re.compile(r"^(<<<<<<<|\|\|\|\|\|\|\||=======|>>>>>>>)(?= |\r?$)", re.MULTILINE)
_AT_LINE = re.compile(r"\(at line (\d+), column \d+\)")

# What a file begins with that some other program has saved in an encoding of its own.
_MARKS = {
    b"\xff\xfe\x00\x00": "UTF-32",
    b"\x00\x00\xfe\xff": "UTF-32",
    b"\xff\xfe": "UTF-16",
    b"\xfe\xff": "UTF-16",
}


def read_toml(path: Path, what: str) -> dict[str, Any]:
    """Read a TOML file into plain tables.

    Parameters
    ----------
    path : the file.
    what : what the file is to the reader, such as "plan"; used in messages.

    Raises
    ------
    Unusable
        The file is missing, unreadable, too large, not UTF-8 or not TOML; says where.
    """
    return parse_toml(read_bytes(path, what), str(path), what)


def read_bytes(path: Path, what: str, most: int = LARGEST_OTHER) -> bytes:
    """Read a file that may be one of ours, of so many bytes at most; see `read_toml`.

    Raises
    ------
    Unusable
        It is missing, unreadable or too large.
    """
    where = str(path)
    try:
        raw = whole_file.read(path, most)
    except FileNotFoundError:
        raise Unusable("not-found", f"There is no {what} file here.", where=where) from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise Unusable(
            "unreadable", f"The {what} file cannot be read: {reason}.", where=where
        ) from None
    if len(raw) > most:
        raise Unusable(
            "too-large",
            f"This {what} file is far too large to be one: more than {most:,} bytes.",
            where=where,
        )
    return raw


def _blank(quoted: re.Match[str]) -> str:
    """Return what a text looks like as a key, on as many lines; nothing for a comment."""
    return "" if quoted[0].startswith("#") else '""' + "\n" * quoted[0].count("\n")


def parse_toml(raw: bytes, where: str, what: str) -> dict[str, Any]:
    """Read TOML from bytes; see `read_toml`. A byte order mark at the start is accepted.

    Raises
    ------
    Unusable
        It is not UTF-8, not TOML, or nested too deeply; says at which line.
    """
    return parse_text(text_of(raw, where, what), where, what)


def parse_text(text: str, where: str, what: str) -> dict[str, Any]:
    """Read TOML from the text of a file; see `parse_toml`.

    Raises
    ------
    Unusable
        It is not TOML, or nested too deeply; says at which line.
    """
    _refuse_too_deep(text, where, what)
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError) as error:
        raise _not_toml(text, str(error), where, what) from None
    except RecursionError:
        raise Unusable("not-toml", f"The {what} file is nested too deeply.", where=where) from None


def _refuse_too_deep(text: str, where: str, what: str) -> None:
    if all(line.count(".") < _CHAIN for line in text.split("\n")):
        return  # a chain does not go on over the end of a line
    bare = _QUOTED.sub(_blank, text)
    deep = _DEEP.search(bare)
    if deep is not None:
        raise Unusable(
            "not-toml",
            f"The {what} file is nested too deeply.",
            where=f"{where}, line {_line(bare, deep.start())}",
        )


def text_of(raw: bytes, where: str, what: str) -> str:
    """Return the text of a file, without a byte order mark.

    Raises
    ------
    Unusable
        It is not UTF-8, or holds bytes that are no text; says which and where.
    """
    for mark, encoding in _MARKS.items():
        if raw.startswith(mark):
            raise Unusable(
                "encoding",
                f"The {what} file is not UTF-8 text: it was saved as {encoding}.",
                where=f"{where}, line 1",
                hint="save it as UTF-8",
            )
    zero = raw.find(b"\0")
    if zero >= 0:
        line = raw.count(b"\n", 0, zero) + 1
        raise Unusable(
            "not-toml" if _is_text(raw) else "encoding",
            f"The {what} file is damaged: from line {line} on there are zero bytes, as after a "
            "power cut or from a file saved as UTF-16.",
            where=f"{where}, line {line}",
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise Unusable(
            "encoding",
            f"The {what} file is not UTF-8 text: byte {raw[error.start]:#04x} stands in line "
            f"{line}, as from an editor that saves Latin-1, or from damage.",
            where=f"{where}, line {line}",
            hint="save it as UTF-8",
        ) from None


def _is_text(raw: bytes) -> bool:
    try:
        raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    return True


def _not_toml(text: str, said: str, where: str, what: str) -> Unusable:
    markers = [_line(text, found.start()) for found in _CONFLICT.finditer(text)]
    if markers:
        return Unusable(
            "conflict",
            f"The {what} file holds two versions that were merged and not made one: conflict "
            f"markers stand in {_lines(markers)}.",
            where=f"{where}, line {markers[0]}",
            hint="keep one side between the markers and delete the marker lines",
        )
    at = _AT_LINE.search(said)
    line = int(at[1]) if at else None
    if "at end of document" in said:
        line = _line(text.rstrip(), len(text))
    return Unusable(
        "not-toml",
        f"The {what} file is not valid TOML: {said}",
        where=where if line is None else f"{where}, line {line}",
    )


def _line(text: str, at: int) -> int:
    return text.count("\n", 0, at) + 1


def _lines(numbers: list[int]) -> str:
    more = " and more" if len(numbers) > 6 else ""
    return f"line {', '.join(map(str, numbers[:6]))}{more}"
