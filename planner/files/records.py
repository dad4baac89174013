"""Plain tables into frozen records and back, with the key's path in every complaint.

Built on `cattrs`: it walks the records and gathers every mistake; here are the checks of single
values, in our words, and the paths, which count list items from 1 as people do.
"""

import math
import types
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from functools import cache, partial
from itertools import repeat
from typing import Any, Literal, TypeVar, Union, get_args, get_origin

import attrs
import cattrs
from cattrs import AttributeValidationNote
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override
from cattrs.strategies import configure_tagged_union

from planner.trade.refusals import Unusable

T = TypeVar("T")
Reader = Callable[[Any, Any], Any]  # of a plain value, as a type

MOST_MEANT = 40  # unknown keys of which it is said what was meant
MOST_KEY = 60  # letters of a key that are compared with those there are
DECIMALS = 6  # of a number that is written


def structure(
    data: Mapping[str, Any], kind: type[T], where: str, what: str, using: cattrs.Converter
) -> T:
    """Turn plain tables into a record, listing every mistake at once.

    Raises
    ------
    Unusable
        One line a mistake, each beginning with the key's path.
    """
    problems, record = problems_or_record(data, kind, using)
    if record is None:
        raise Unusable(
            "bad-key", f"The {what} file has mistakes:\n" + "\n".join(problems), where=where
        )
    return record


def problems_or_record(
    data: Mapping[str, Any], kind: type[T], using: cattrs.Converter
) -> tuple[list[str], T | None]:
    """Return the mistakes as ``key.path: what is wrong``, and the record when there are none."""
    try:
        return [], using.structure(data, kind)
    except RecursionError:
        return [": nested too deeply"], None
    except Exception as error:  # cattrs raises groups of whatever the fields raised
        return [f"{path.lstrip('.')}: {message}" for path, message in _found(error)], None


@cache
def plain() -> cattrs.Converter:
    """Return the converter of records that hold nothing out of the ordinary."""
    return converter()


def converter(
    decimals: int = DECIMALS, derived: Mapping[type, tuple[str, ...]] = {}
) -> cattrs.Converter:
    """Return a converter of its own, to which more can be taught.

    Parameters
    ----------
    decimals : of the numbers that it writes.
    derived : fields of records that are neither written nor read.

    Notes
    -----
    Fields at their default are left out. A key that the record does not have is a mistake, and so
    is a value of another kind than the field's: true is not a number, a text is not a list.
    """
    made = cattrs.Converter(omit_if_default=True, forbid_extra_keys=True)
    for kind, what in (
        (int, "a whole number"),
        (str, "text in quotes"),
        (bool, "true or false"),
        (datetime, "a date and time"),
    ):
        made.register_structure_hook(kind, _only(kind, what))
    made.register_structure_hook(float, _number)
    made.register_unstructure_hook(float, lambda number: round(number, decimals))
    made.register_unstructure_hook(datetime, lambda moment: moment)
    made.register_structure_hook(date, _date)
    made.register_unstructure_hook(date, date.isoformat)
    for matches, reader in (
        (_is(Literal), _choice_reader),
        (_is_optional, _optional_reader),
        (_is(tuple), _list_reader),
        (_is(Mapping), _mapping_reader),
    ):
        made.register_structure_hook_factory(matches, partial(reader, made=made))
    made.register_structure_hook_factory(
        attrs.has, lambda kind: _record(kind, made, derived.get(kind, ()))
    )
    made.register_unstructure_hook_factory(
        lambda kind: kind in derived, lambda kind: _writer(kind, made, derived[kind])
    )
    return made


def tag(union: Any, key: str, names: Mapping[type, str], made: cattrs.Converter) -> None:
    """Let tables of a union of records say which they are, by a key of their own."""
    configure_tagged_union(union, made, tag_generator=names.__getitem__, tag_name=key)
    read = made.get_structure_hook(union)

    def checked(value: Any, kind: Any) -> Any:
        name = _table(value).get(key)
        if name not in names.values():
            said = f"must be one of {', '.join(names.values())}, not {_shown(name)}"
            raise _Mistakes([(f".{key}", said)])
        return read(value, kind)

    made.register_structure_hook(union, checked)
    write = made.get_unstructure_hook(union)
    made.register_unstructure_hook(
        union, lambda record: {key: names[type(record)], **write(record)}
    )


def _number(value: Any, _: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"must be a number, not {_shown(value)}")
    if not math.isfinite(value):
        raise ValueError(f"must be a finite number, not {value}")
    return float(value)


def _date(value: Any, _: Any) -> date:
    return date.fromisoformat(_only(str, "text in quotes")(value, str))


def _only(kind: type[T], what: str) -> Callable[[Any, Any], T]:
    """Return a reader that takes values of one kind as they are; true and false are no numbers."""

    def read(value: Any, _: Any) -> T:
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise ValueError(f"must be {what}, not {_shown(value)}")
        return value

    return read


def _choice_reader(kind: Any, made: cattrs.Converter) -> Reader:  # noqa: ARG001
    known = get_args(kind)

    def read(value: Any, _: Any) -> Any:
        if value not in known or isinstance(value, bool):
            raise ValueError(f"must be one of {', '.join(map(str, known))}, not {_shown(value)}")
        return value

    return read


def _table(value: Any) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise ValueError(f"must be a table, not {_shown(value)}")
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


def _optional_reader(kind: Any, made: cattrs.Converter) -> Reader:
    kinds = [option for option in get_args(kind) if option is not type(None)]
    inner = kinds[0]
    read = made.get_structure_hook(inner)
    if len(kinds) == 1:
        return lambda value, _: read(value, inner)
    words = [each for each in kinds if get_origin(each) is Literal]
    assert words == kinds[1:], kind  # a record, or a word in its place
    read_word = made.get_structure_hook(words[0])
    return lambda value, _: (
        read_word(value, words[0]) if isinstance(value, str) else read(value, inner)
    )


def _list_reader(kind: Any, made: cattrs.Converter) -> Reader:
    kinds = [each for each in get_args(kind) if each is not Ellipsis]
    endless = len(kinds) < len(get_args(kind))
    readers = [(made.get_structure_hook(each), each) for each in kinds]

    def read(value: Any, _: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise ValueError(f"must be a list, not {_shown(value)}")
        if not endless and len(value) != len(kinds):
            raise ValueError(f"must hold {len(kinds)} values, not {len(value)}")
        values: list[Any] = []
        found: list[tuple[str, str]] = []
        each = repeat(readers[0]) if endless else readers
        for item, (take, inner) in zip(value, each, strict=False):
            try:
                values.append(take(item, inner))
            except Exception as error:
                found += _found(error, f"[{len(values) + 1}]")
                values.append(None)
        if found:
            raise _Mistakes(found)
        return tuple(values)

    return read


def _mapping_reader(kind: Any, made: cattrs.Converter) -> Reader:
    key_kind, inner = get_args(kind)
    known = get_args(key_kind) if get_origin(key_kind) is Literal else None
    value_of = made.get_structure_hook(inner)

    def read(value: Any, _: Any) -> dict[Any, Any]:
        table = _table(value)
        unknown = [key for key in table if key not in known] if known is not None else []
        if unknown:
            said = f"unknown key; use one of {', '.join(known or ())}"
            raise _Mistakes([(f".{key}", said) for key in unknown])
        values: dict[Any, Any] = {}
        found: list[tuple[str, str]] = []
        for key, item in table.items():
            try:
                values[key] = value_of(item, inner)
            except Exception as error:
                found += _found(error, f".{key}")
        if found:
            raise _Mistakes(found)
        return values

    return read


def _record(
    kind: Any, made: cattrs.Converter, derived: tuple[str, ...]
) -> Callable[[Any, Any], Any]:
    """Return the reader of a record; anything but a table is refused in our own words."""
    left_out: dict[str, Any] = {name: override(omit=True) for name in derived}
    read = make_dict_structure_fn(kind, made, _cattrs_forbid_extra_keys=True, **left_out)
    return lambda value, _: read(_table(value), kind)


def _writer(
    kind: Any, made: cattrs.Converter, derived: tuple[str, ...]
) -> Callable[[Any], dict[str, Any]]:
    """Return the writer of a record that has fields which are not written."""
    left_out: dict[str, Any] = {name: override(omit=True) for name in derived}
    return make_dict_unstructure_fn(kind, made, _cattrs_omit_if_default=True, **left_out)


def meant(key: str, known: Iterable[str]) -> str:
    """Say which of the known keys was perhaps meant; ``""`` where none is like it."""
    import difflib  # which only a mistake needs

    alike = difflib.get_close_matches(key[:MOST_KEY].lower(), list(known), n=1, cutoff=0.7)
    return f"; did you mean {alike[0]}?" if alike else ""


class _Mistakes(ValueError):
    """Several mistakes at once, each with the path that leads to it from here."""

    def __init__(self, found: list[tuple[str, str]]) -> None:
        super().__init__("; ".join(f"{path}: {message}" for path, message in found))
        self.found = found


def _found(error: BaseException, at: str = "") -> list[tuple[str, str]]:
    """Return (path, message) of every mistake in what a conversion at a path raised."""
    if isinstance(error, _Mistakes):
        return [(at + path, message) for path, message in error.found]
    if isinstance(error, cattrs.errors.ForbiddenExtraKeysError):
        known = [field.name for field in attrs.fields(error.cl)]
        extra = sorted(error.extra_fields)
        # Looking for what was meant takes long; nobody reads more of it.
        said = [meant(key, known) for key in extra[:MOST_MEANT]]
        said += [""] * (len(extra) - len(said))
        return [(f"{at}.{key}", f"unknown key{why}") for key, why in zip(extra, said, strict=True)]
    if isinstance(error, BaseExceptionGroup):
        return [each for inner in error.exceptions for each in _found(inner, at + _step(inner))]
    return [(at, "missing" if isinstance(error, KeyError) else str(error))]


def _step(error: BaseException) -> str:
    """Return the part of the path that cattrs has noted on an error."""
    for note in getattr(error, "__notes__", ()):
        if isinstance(note, AttributeValidationNote):
            return f".{note.name}"
    return ""
