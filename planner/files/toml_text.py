"""Tables into TOML that a person reads: a line a value, however deep it goes."""

import json
import re
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from functools import lru_cache
from typing import Any

WIDTH = 100  # letters of a line before the items of a list get lines of their own

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def dumps(tables: Mapping[str, Any], under: str = "") -> str:
    """Return tables as TOML.

    A table that fits on a line goes on one line, a longer one gets a heading. A list goes on one
    line; a list of tables does if it fits, else each item gets a line. ``tomli_w`` would write the
    ten laps of a run on twelve lines.

    Parameters
    ----------
    tables : of plain values: text, numbers, moments, lists and tables of them.
    under : the path of the tables, where they are part of a larger file.
    """
    return "".join(f"{line}\n" for line in _lines(tables, under)).lstrip("\n")


def _lines(tables: Mapping[str, Any], under: str) -> Iterator[str]:
    later = {k: v for k, v in tables.items() if isinstance(v, Mapping) or _is_listed(v)}
    for key, value in tables.items():
        if key not in later:
            yield _assigned(key, value)
    for key, value in later.items():
        path = f"{under}.{_key(key)}" if under else _key(key)
        if isinstance(value, Mapping):
            yield from _table(path, value)
        else:
            for entry in value:
                yield ""
                yield from _table(path, entry, f"[[{path}]]")


def _table(path: str, table: Mapping[str, Any], heading: str = "") -> Iterator[str]:
    """Yield a table under its heading; one that holds only tables needs none of its own."""
    lines = {key: _own_line(key, value) for key, value in table.items()}
    if heading:
        yield heading
    elif not table or any(lines.values()):
        yield ""
        yield f"[{path}]"
    yield from (line for line in lines.values() if line)
    for key, line in lines.items():
        if not line:
            yield from _table(f"{path}.{_key(key)}", table[key])


def _own_line(key: str, value: Any) -> str:
    """Return the line of a value; ``""`` for a table that has no room on one, or holds tables."""
    if not isinstance(value, Mapping):
        return _assigned(key, value)
    if any(isinstance(each, Mapping) for each in value.values()):
        return ""
    line = _assigned(key, value)
    return line if len(line) <= WIDTH else ""


def _is_listed(value: Any) -> bool:
    """Say whether a value is a list of tables, such as the steps of a plan."""
    listed = isinstance(value, list | tuple) and bool(value)
    return listed and all(isinstance(each, Mapping) for each in value)


def _assigned(key: str, value: Any) -> str:
    line = f"{_key(key)} = {_inline(value)}"
    if len(line) <= WIDTH or not _is_listed(value):
        return line
    return f"{_key(key)} = [\n" + "".join(f"    {_inline(each)},\n" for each in value) + "]"


@lru_cache(maxsize=1000)
def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _inline(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_inline, value))}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat(" ")
    if isinstance(value, date):
        return value.isoformat()
    inside = ", ".join([f"{_key(key)} = {_inline(each)}" for key, each in value.items()])
    return f"{{{inside}}}"


@lru_cache(maxsize=1000)  # the same words again and again
def _text(text: str) -> str:
    """Return text in quotes. JSON escapes what TOML wants escaped, but for the delete sign."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
