"""In what two versions of a plan file differ."""

import re
from collections.abc import Iterator
from typing import Any

import attrs

from planner.storage.torn import identity, lenient, take_apart

MOST_TOLD = 6  # differences that are told one by one

CONFLICT = re.compile(
    r"^<<<<<<<[^\n]*\n(?P<ours>.*?)(?:^\|\|\|\|\|\|\|[^\n]*\n.*?)?"
    r"^=======[^\n]*\n(?P<theirs>.*?)^>>>>>>>[^\n]*\n?",
    re.MULTILINE | re.DOTALL,
)


@attrs.frozen
class Conflict:
    """A place where a file holds two versions: its line, and the lines that only one side has."""

    line: int
    first: tuple[str, ...]
    second: tuple[str, ...]


def conflicts(raw: bytes) -> tuple[Conflict, ...]:
    """Return where a merge has left two versions in a file, and how they differ."""
    text = lenient(raw)
    found = []
    for each in CONFLICT.finditer(text):
        first, second = (
            [row.strip() for row in each[side].splitlines()] for side in ("ours", "theirs")
        )
        line = text.count("\n", 0, each.start()) + 1
        found.append(Conflict(line, _only(first, second), _only(second, first)))
    return tuple(found)


def _only(rows: list[str], other: list[str]) -> tuple[str, ...]:
    there = {*other, ""}
    return tuple(_short(row, 100) for row in rows if row not in there)


def edited(raw: bytes, before: bytes | None, name: str) -> str:
    """Say how a file differs from the version before its last save, or ``""``.

    Parameters
    ----------
    name : of that version. The step that was added by the last save is not in it.
    """
    now, was = take_apart(lenient(raw)), take_apart(lenient(before or b""))
    if not was.head or now.head.get("created") != was.head.get("created"):
        return ""
    said = [differences(was.head, now.head)] if now.head != was.head else []
    for number, (new, old) in enumerate(zip(now.parts, was.parts, strict=False), 1):
        if new.trouble or old.trouble or new.table == old.table:
            continue
        if identity(new.table) != identity(old.table):
            said.append(f"step {number} is a different step")
            break
        said.append(f"step {number}: {differences(old.table, new.table)}")
    if said:
        more = f"; and {len(said) - MOST_TOLD} more" if len(said) > MOST_TOLD else ""
        return f"Against {name}: {'; '.join(said[:MOST_TOLD])}{more}."
    if len(now.parts) == len(was.parts) + 1:
        return (
            f"Up to step {len(was.parts)} it holds what {name} holds: it was edited in step "
            f"{len(now.parts)}, or in comments and blanks."
        )
    return ""


def differences(old: Any, new: Any) -> str:
    """Say in which keys two tables differ, each with both values."""
    found = list(_differing(old, new, ""))
    more = f", and {len(found) - MOST_TOLD} more" if len(found) > MOST_TOLD else ""
    return ", ".join(found[:MOST_TOLD]) + more


def _differing(old: Any, new: Any, at: str) -> Iterator[str]:
    if old == new:
        return
    if isinstance(old, dict) and isinstance(new, dict):
        for key in dict.fromkeys((*old, *new)):
            yield from _differing(old.get(key), new.get(key), f"{at}.{key}" if at else key)
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for number, (one, other) in enumerate(zip(old, new, strict=True), 1):
            yield from _differing(one, other, f"{at}[{number}]")
    else:
        yield f"{at} is {_short(new)} and was {_short(old)}"


def _short(value: Any, most: int = 30) -> str:
    if value is None:
        return "not there"
    text = str(value)
    return text if len(text) <= most else f"{text[: most - 1]}…"
