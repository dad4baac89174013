"""TOML text to frozen records and back, with the key's path in every complaint."""

import math
import re
import tomllib
import types
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, TypeVar, Union, get_args, get_origin

import attrs
import cattrs
from cattrs import AttributeValidationNote
from cattrs.gen import make_dict_structure_fn

from planner.files import whole_file
from planner.trade.refusals import Unusable

T = TypeVar("T")

MOST_KEY = 60  # letters of a key that are compared with those there are
LARGEST_FILE = 4_000_000  # bytes; a plan of 1 000 steps is half of this

# Longer chains of keys than any file of ours has; the parser takes memory by their square.
_DEEP = re.compile(
    r"""(?<![\w-])(?>"[^"\n]*"|'[^'\n]*'|[\w-]+)"""
    r"""(?>[ \t]*+\.[ \t]*+(?>"[^"\n]*"|'[^'\n]*'|[\w-]+)){40}"""
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


def read_bytes(path: Path, what: str) -> bytes:
    """Read a file that may be one of ours; see `read_toml`.

    Raises
    ------
    Unusable
        It is missing, unreadable or too large.
    """
    where = str(path)
    try:
        raw = whole_file.read(path, LARGEST_FILE)
    except FileNotFoundError:
        raise Unusable("not-found", f"There is no {what} file here.", where=where) from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise Unusable(
            "unreadable", f"The {what} file cannot be read: {reason}.", where=where
        ) from None
    if len(raw) > LARGEST_FILE:
        raise Unusable(
            "too-large",
            f"This {what} file is far too large to be one: more than "
            f"{LARGEST_FILE // 1_000_000} million bytes.",
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
    text = text_of(raw, where, what)
    bare = _QUOTED.sub(_blank, text)
    deep = _DEEP.search(bare)
    if deep is not None:
        raise Unusable(
            "not-toml",
            f"The {what} file is nested too deeply.",
            where=f"{where}, line {_line(bare, deep.start())}",
        )
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError) as error:
        raise _not_toml(text, str(error), where, what) from None
    except RecursionError:
        raise Unusable("not-toml", f"The {what} file is nested too deeply.", where=where) from None


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


def structure(data: Mapping[str, Any], kind: type[T], where: str, what: str) -> T:
    """Turn plain tables into a record, listing every mistake at once.

    Raises
    ------
    Unusable
        One line a mistake, each beginning with the key's path.
    """
    problems, record = problems_or_record(data, kind)
    if record is None:
        raise Unusable(
            "bad-key", f"The {what} file has mistakes:\n" + "\n".join(problems), where=where
        )
    return record


def problems_or_record(data: Mapping[str, Any], kind: type[T]) -> tuple[list[str], T | None]:
    """Return the mistakes as ``key.path: what is wrong``, and the record when there are none."""
    try:
        return [], _CONVERTER.structure(data, kind)
    except RecursionError:
        return [": nested too deeply"], None
    except Exception as error:  # cattrs raises groups of whatever the fields raised
        return [f"{path.lstrip('.')}: {message}" for path, message in _found(error)], None


def unstructure(record: object) -> Any:
    """Turn a record into plain tables; fields at their default are left out."""
    return _CONVERTER.unstructure(record)


def _number(value: Any, _: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"a number is wanted, not {_shown(value)}")
    if not math.isfinite(value):
        raise ValueError(f"{value} is no number to reckon with")
    return float(value)


def _only(kind: type[T], what: str) -> Callable[[Any, Any], T]:
    """Return a reader that takes values of one kind as they are; true and false are no numbers."""

    def read(value: Any, _: Any) -> T:
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise ValueError(f"{what} is wanted, not {_shown(value)}")
        return value

    return read


def _choice(value: Any, kind: Any) -> Any:
    if value not in get_args(kind) or isinstance(value, bool):
        raise ValueError(
            f"one of {', '.join(map(str, get_args(kind)))} is wanted, not {_shown(value)}"
        )
    return value


def _shown(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _is(origin: Any) -> Callable[[Any], bool]:
    """Return a test for generic types: ``tuple[...]``, ``Mapping[...]``, ``Literal[...]``."""

    def matches(kind: Any) -> bool:
        found: Any = get_origin(kind)
        return bool(found is origin)

    return matches


def _is_optional(kind: Any) -> bool:
    return get_origin(kind) in (Union, types.UnionType) and type(None) in get_args(kind)


def _optional(value: Any, kind: Any) -> Any:
    (inner,) = [option for option in get_args(kind) if option is not type(None)]
    return _CONVERTER.structure(value, inner)


def _list(value: Any, kind: Any) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise ValueError(f"a list is wanted, not {_shown(value)}")
    kinds = get_args(kind)
    if kinds[-1] is Ellipsis:
        kinds = (kinds[0],) * len(value)
    if len(kinds) != len(value):
        raise ValueError(f"{len(kinds)} values are wanted, not {len(value)}")
    return tuple(
        _each(
            (f"[{number}]", item, inner)
            for number, (item, inner) in enumerate(zip(value, kinds, strict=True), 1)
        )
    )


def _mapping(value: Any, kind: Any) -> dict[Any, Any]:
    if not isinstance(value, dict):
        raise ValueError(f"a table is wanted, not {_shown(value)}")
    key_kind, inner = get_args(kind)
    allowed = get_args(key_kind) if get_origin(key_kind) is Literal else value
    unknown = [key for key in value if key not in allowed]
    if unknown:
        raise _Mistakes([(f".{key}", f"no such key; {', '.join(allowed)} are") for key in unknown])
    return dict(
        zip(value, _each((f".{key}", item, inner) for key, item in value.items()), strict=True)
    )


def meant(key: str, known: Iterable[str]) -> str:
    """Say which of the keys there are was perhaps meant; ``""`` where none is like it."""
    import difflib  # which only a mistake needs

    alike = difflib.get_close_matches(key[:MOST_KEY].lower(), list(known), n=1, cutoff=0.7)
    return f"; {alike[0]} is perhaps meant" if alike else ""


class _Mistakes(ValueError):
    """Several mistakes at once, each with the path that leads to it from here."""

    def __init__(self, found: list[tuple[str, str]]) -> None:
        super().__init__("; ".join(f"{path}: {message}" for path, message in found))
        self.found = found


def _each(items: Iterable[tuple[str, Any, Any]]) -> list[Any]:
    """Structure every item; collect the mistakes of all of them before complaining."""
    values: list[Any] = []
    found: list[tuple[str, str]] = []
    for path, item, kind in items:
        try:
            values.append(_CONVERTER.structure(item, kind))
        except Exception as error:
            found.extend((f"{path}{inner}", message) for inner, message in _found(error))
    if found:
        raise _Mistakes(found)
    return values


def _found(error: BaseException) -> list[tuple[str, str]]:
    """Return (path from here, message) of every mistake in what a conversion raised."""
    if isinstance(error, _Mistakes):
        return error.found
    if isinstance(error, cattrs.errors.ForbiddenExtraKeysError):
        known = [field.name for field in attrs.fields(error.cl)]
        return [
            (f".{key}", f"no such key{meant(key, known)}") for key in sorted(error.extra_fields)
        ]
    if isinstance(error, BaseExceptionGroup):
        found: list[tuple[str, str]] = []
        for inner in error.exceptions:
            notes = [
                n for n in getattr(inner, "__notes__", ()) if isinstance(n, AttributeValidationNote)
            ]
            prefix = f".{notes[0].name}" if notes else ""
            found.extend((prefix + path, message) for path, message in _found(inner))
        return found
    if isinstance(error, KeyError):
        return [("", "missing")]
    return [("", str(error))]


def _record(kind: Any) -> Any:
    """Read a record from a table; anything but a table is refused in our own words."""
    inner = make_dict_structure_fn(kind, _CONVERTER, _cattrs_forbid_extra_keys=True)

    def read(value: Any, _: Any) -> Any:
        if not isinstance(value, dict):
            raise ValueError(f"a table is wanted, not {_shown(value)}")
        return inner(value, kind)

    return read


def register_kinds(union: Any, tag: str, names: Mapping[type, str]) -> None:
    """Let tables of a union of records say which they are, by a key of their own."""
    by_name = {name: kind for kind, name in names.items()}

    def read(value: Any, _: Any) -> Any:
        if not isinstance(value, dict):
            raise ValueError(f"a table is wanted, not {_shown(value)}")
        name = value.get(tag)
        if name not in by_name:
            raise _Mistakes(
                [(f".{tag}", f"one of {', '.join(by_name)} is wanted, not {_shown(name)}")]
            )
        rest = {key: item for key, item in value.items() if key != tag}
        return _CONVERTER.structure(rest, by_name[name])

    def write(record: Any) -> Any:
        return {tag: names[type(record)], **_CONVERTER.unstructure(record)}

    _CONVERTER.register_structure_hook(union, read)
    _CONVERTER.register_unstructure_hook(union, write)


def register_shape(
    kind: Any, shape: Any, read: Callable[[Any], Any], write: Callable[[Any], Any]
) -> None:
    """Keep values of one type in the file in another shape, such as a table as a list of rows."""
    _CONVERTER.register_structure_hook_func(
        lambda wanted: wanted == kind, lambda value, _: read(_CONVERTER.structure(value, shape))
    )
    _CONVERTER.register_unstructure_hook_func(
        lambda wanted: wanted == kind,
        lambda value: _CONVERTER.unstructure(write(value), unstructure_as=shape),
    )


_CONVERTER = cattrs.Converter(omit_if_default=True)
_CONVERTER.register_structure_hook(float, _number)
_CONVERTER.register_unstructure_hook(float, lambda number: round(number, 6))
_CONVERTER.register_structure_hook(int, _only(int, "a whole number"))
_CONVERTER.register_structure_hook(str, _only(str, "text in quotes"))
_CONVERTER.register_structure_hook(bool, _only(bool, "true or false"))
_CONVERTER.register_structure_hook(datetime, _only(datetime, "a date and time"))
_CONVERTER.register_unstructure_hook(datetime, lambda moment: moment)
for _matches, _read in (
    (_is(Literal), _choice),
    (_is_optional, _optional),
    (_is(tuple), _list),
    (_is(Mapping), _mapping),
):
    _CONVERTER.register_structure_hook_func(_matches, _read)
_CONVERTER.register_structure_hook_factory(attrs.has, _record)
