"""A plan file taken apart at its steps, each read by itself, whatever the rest looks like."""

import re
from typing import Any

import attrs

from planner.files import toml_files
from planner.storage import seal
from planner.storage.seal import Seal
from planner.trade.refusals import Unusable

Table = dict[str, Any]

_STEP = re.compile(r"^[ \t]*\[\[[ \t]*step[ \t]*\]\][ \t]*(?:#.*)?$", re.MULTILINE)
_TABLE = re.compile(r"^[ \t]*\[", re.MULTILINE)


@attrs.frozen
class Part:
    """A step as it stands in a file: its tables, or why they cannot be read."""

    line: int
    table: Table
    trouble: str = ""


@attrs.frozen
class TornPlan:
    """A file taken apart."""

    head: Table
    parts: tuple[Part, ...]
    lost: tuple[str, ...] = ()
    seal: Seal | None = None


def lenient(raw: bytes) -> str:
    """Return the text of a file whatever its bytes; bytes that are not text become U+FFFD."""
    for mark, encoding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if raw.startswith(mark):
            return raw.decode(encoding, "replace").replace("\r\n", "\n")
    return raw.decode("utf-8-sig", "replace").replace("\r\n", "\n")


def identity(step: Table) -> tuple[str, str]:
    """Return what identifies a step: its kind and time."""
    return str(step.get("kind")), str(step.get("time"))


def take_apart(text: str) -> TornPlan:
    """Take a file apart at its steps and read each by itself."""
    begins = [found.start() for found in _STEP.finditer(text)]
    ends = [*begins[1:], len(text)] if begins else []
    top = text[: begins[0]] if begins else text
    head, lost = _head(top)
    parts = (
        _part(text[begin:end], text.count("\n", 0, begin) + 1)
        for begin, end in zip(begins, ends, strict=True)
    )
    return TornPlan(head, tuple(parts), lost, seal.seal_of(text))


def _head(text: str) -> tuple[Table, tuple[str, ...]]:
    """Return what stands above the steps, table by table where it cannot be read as a whole."""
    whole, trouble = _read(text)
    if not trouble:
        return whole, ()
    starts = [0, *(found.start() for found in _TABLE.finditer(text))]
    head: Table = {}
    lost = []
    for begin, end in zip(starts, [*starts[1:], len(text)], strict=True):
        line = text.count("\n", 0, begin) + 1
        table, why = _read(text[begin:end])
        if not why:
            why = _joined(head, table)
        if why:
            lost.append(f"line {line}: {text[begin:end].strip()[:40]!r} cannot be read: {why}")
    return head, tuple(lost)


def _joined(into: Table, table: Table) -> str:
    """Put a table into another; say why not where both have the same key."""
    for key, value in table.items():
        if key not in into:
            into[key] = value
        elif isinstance(value, dict) and isinstance(into[key], dict):
            if why := _joined(into[key], value):
                return why
        else:
            return f"{key} is there twice"
    return ""


def _part(text: str, line: int) -> Part:
    data, trouble = _read(text)
    if trouble:
        return Part(line, {}, trouble)
    (table,) = data["step"]
    return Part(line, table)


def _read(text: str) -> tuple[Table, str]:
    """Return the tables of a text, or why there are none."""
    if "\ufffd" in text:
        return {}, "there are bytes in it that are no text"
    try:
        return toml_files.parse_toml(text.encode("utf-8", "replace"), "", "plan"), ""
    except Unusable as error:
        return {}, error.message.removeprefix("The plan file is ").removeprefix("not valid TOML: ")
