"""Rules files: found by id or by name, read, and made a rulebook."""

import contextlib
import hashlib
import os
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import attrs

from planner.files import bundled, file_name, toml_files
from planner.rulebook.checks import examine
from planner.rulebook.rules import Rulebook
from planner.trade.refusals import Refusal, Unusable, quoted

BUNDLED = ("paved-oval", "road-course")


def find(id_or_file: str, beside: Path | None = None, where: str = "--rules") -> Path:
    """Return the path of a rules file: the id of one of ours, or a file of the crew's own.

    Raises
    ------
    Refusal
        There is neither.
    """
    if id_or_file in BUNDLED:
        return bundled.folder("rules") / f"{id_or_file}.toml"
    path = Path(id_or_file)
    if beside is not None and os.name == "nt" and file_name.far_away(id_or_file, str(beside)):
        path = Path()  # a plan that came from elsewhere opens no connection
    with contextlib.suppress(OSError):  # no such name can be, or it is out of reach
        if beside is not None and not path.is_absolute() and not path.exists():
            path = beside / path
        if path.is_file():
            return path
    raise Refusal(
        "no-rules",
        f"There are no rules called {quoted(id_or_file, 80)}, and no file of that name.",
        where=where,
        hint=f"one of {', '.join(BUNDLED)}, or the path of a rules file",
    )


def read(path: Path) -> dict[str, Any]:
    """Read a rules file into plain tables, unchecked.

    Raises
    ------
    Unusable
        It cannot be read, or is not TOML.
    """
    return _parsed(_bytes(path), str(path))


def _bytes(path: Path) -> bytes:
    with _hinted():
        return toml_files.read_bytes(path, "rules", toml_files.LARGEST_OTHER)


def _parsed(content: bytes, where: str) -> dict[str, Any]:
    with _hinted():
        return toml_files.parse_toml(content, where, "rules")


@contextlib.contextmanager
def _hinted() -> Iterator[None]:
    """Say which rules there are, where a file is no rules file and nothing better is said."""
    try:
        yield
    except Unusable as error:
        hint = error.hint or f"one of {', '.join(BUNDLED)}, or the path of a rules file"
        raise Unusable(error.code, error.message, where=error.where, hint=hint) from None


def load(path: Path) -> Rulebook:
    """Read and check a rules file.

    Raises
    ------
    Unusable
        With one line for every mistake in the file.
    """
    return _checked(_bytes(path), str(path))


@lru_cache(maxsize=4)  # the plans of a folder share their rules
def _checked(content: bytes, where: str) -> Rulebook:
    data = _parsed(content, where)
    problems, book = examine(data)
    if book is None:
        raise Unusable(
            "bad-rules",
            f"The rules file has {len(problems)} mistake{'s' * (len(problems) > 1)}:\n"
            + "\n".join(problems),
            where=where,
            hint=f"treadgate rules check {where}",
        )
    return attrs.evolve(book, fingerprint=fingerprint(data))


def fingerprint(data: Mapping[str, object]) -> str:
    """Return a fingerprint of what a rules file says, whatever its comments and line ends."""
    return "sha256:" + hashlib.sha256(repr(_ordered(data)).encode()).hexdigest()[:24]


def _ordered(value: object) -> object:
    if isinstance(value, Mapping):
        return sorted((key, _ordered(item)) for key, item in value.items())
    if isinstance(value, list):
        return [_ordered(item) for item in value]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
