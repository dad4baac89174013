"""A run put together from options, or read from a TOML or CSV file."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar, cast

import attrs

from planner.run import csv_file, driver, tire_set, toml_run, typed
from planner.run.csv_file import FileRemark
from planner.run.readings import (
    FLAGS,
    MOST_WORDS,
    WHOLE,
    Again,
    Feel,
    Flag,
    Part,
    Run,
    SetState,
    TreadUnit,
)
from planner.run.toml_run import PER_CORNER
from planner.trade.corners import Corner, Three
from planner.trade.refusals import Refusal, quoted
from planner.trade.units import System

T = TypeVar("T")
NOTHING = "none"  # typed where a value is to be taken away


@attrs.frozen
class Sheet:
    """A run from a file: its options (see `from_options`), and remarks on the file."""

    texts: Mapping[str, Any]
    remarks: tuple[FileRemark, ...] = ()


def from_options(given: Mapping[str, Any], system: System, source: Path | None = None) -> Run:
    """Return the run that the options describe.

    Parameters
    ----------
    given : option names with underscores. Text is what was typed; anything else is the value, as
        the run holds it. Options of each corner hold a sequence of ``LF=…`` or (corner, value),
        tread with its unit.
    system : unit of the temperatures.
    source : a file to read first; options given beside it win.

    Raises
    ------
    Refusal
        Names the option, or the file's row and column or key, that cannot be used.
    """
    if source is not None:
        given = {**from_file(source, system).texts, **given}

    def temperature(text: str, option: str) -> float:
        return typed.temperature(text, option, system)

    def tire(text: str, option: str) -> Three:
        return typed.tire(text, option, system)

    def again(text: str, option: str) -> Again:
        corner, value = typed.at_corner(text, option, "LF=203/210/207")
        return Again(corner, tire(value, f"{option} {corner}"))

    treads, unit = _treads(given)
    unsaid: tuple[str, SetState | None] = ("", None)
    name, state = _one(given, "set", tire_set.said, unsaid)
    return Run(
        tires=_corners(given, "tire", tire, "LF=205/212/209"),
        laps=_one(given, "laps", _laps, None),
        lap_times=_one(given, "lap_times", typed.lap_times, ()),
        cold=_corners(given, "cold", typed.pressure, "LF=22.0"),
        hot=_corners(given, "hot", typed.pressure, "LF=22.0"),
        tread=treads["tread"],
        tread_before=treads["tread_before"],
        tread_unit=unit,
        track_temp=_one(given, "track_temp", temperature, None),
        air_temp=_one(given, "air_temp", temperature, None),
        delay=_one(given, "delay", lambda text, option: typed.number(text, option, "40"), None),
        order=_one(given, "order", typed.corners, ()),
        again=_one(given, "again", again, None),
        set=name,
        set_state=state,
        felt=_felt(given),
        flags=tuple(dict.fromkeys(map(_flag, given.get("flag", ())))),
        note=_one(given, "note", _note, ""),
    )


def _option(key: str) -> str:
    return f"--{key.replace('_', '-')}"


def _one(given: Mapping[str, Any], key: str, read: Callable[[str, str], T], without: T) -> T:
    """Return the value of an option that is given once."""
    value: Any = given.get(key, without)
    if key in given and (isinstance(value, str) or key == "laps"):
        return read(value, _option(key))
    return cast(T, value)


def _corners(
    given: Mapping[str, Any], key: str, read: Callable[[str, str], T], example: str
) -> dict[Corner, T]:
    """Return the values of an option that is given for each corner."""
    option = _option(key)

    def pair(item: Any) -> tuple[Corner, T]:
        if not isinstance(item, str):
            return cast(tuple[Corner, T], item)
        corner, text = typed.at_corner(item, option, example)
        return corner, read(text, f"{option} {corner}")

    return typed.once_each(map(pair, given.get(key, ())), option)


def _treads(
    given: Mapping[str, Any],
) -> tuple[dict[str, dict[Corner, Three]], TreadUnit]:
    """Return tread by option and corner, and the unit of all of it."""
    found = {
        key: _corners(given, key, typed.tread, "LF=7.5/7/6.5") for key in ("tread", "tread_before")
    }
    used = {unit for values in found.values() for _, unit in values.values()}
    if len(used) > 1:
        raise Refusal(
            "bad-value",
            "Tread is given both as a depth and in percent.",
            where="--tread",
            hint="give all of it in the same way",
        )
    treads = {
        key: {corner: three for corner, (three, _) in values.items()}
        for key, values in found.items()
    }
    return treads, used.pop() if used else "32nds"


def _felt(given: Mapping[str, Any]) -> dict[Part, Feel]:
    """Return what the driver said, from ``feel`` and the part of the corner in ``where``."""
    said = given.get("feel", ())
    each = (said,) if isinstance(said, str | Mapping) else said
    option = _option("feel")
    felt = driver.together(
        (driver.felt(one, option) if isinstance(one, str) else one for one in each), option
    )
    if given.get("where") is None:
        return felt
    where = driver.phase(given["where"], _option("where"))
    if list(felt) not in ([WHOLE], [where]):
        what = "is without the driver's word" if not felt else "goes with one word of the driver"
        raise Refusal(
            "usage",
            f"--where {what}.",
            where=_option("where"),
            hint='--feel loose --where exit, or --feel "loose entry, tight exit"',
        )
    return {where: next(iter(felt.values()))}


def _felt_instead(old: Run, given: Mapping[str, Any]) -> dict[Part, Feel]:
    """Return what the driver said once it is corrected: one of feel and where may stay."""
    feel, where = given.get("feel"), given.get("where")
    if feel in (NOTHING, (NOTHING,)):
        return {}
    alone = old.felt if len(old.felt) == 1 else {}
    if feel is None:
        given = {"feel": tuple({WHOLE: word} for word in alone.values()), "where": where}
    if where is None or where == NOTHING:
        felt = _felt({"feel": given["feel"]})
        if where is None and list(felt) == [WHOLE] and alone:
            return dict.fromkeys(alone, felt[WHOLE])
        return felt
    return _felt(given)


def _laps(given: str | float, option: str) -> int:
    value = typed.number(given, option, "10") if isinstance(given, str) else given
    if value != int(value):
        raise Refusal(
            "bad-value",
            f"{quoted(str(given))} laps is not possible.",
            where=option,
            hint=f"{option} 10",
        )
    return int(value)


def _note(text: str, option: str) -> str:
    if len(text) > MOST_WORDS:
        raise Refusal(
            "too-long",
            f"This note has {len(text)} letters; at most {MOST_WORDS} are kept.",
            where=option,
            hint="shorten it, or keep it in a file and name the file here",
        )
    return text


def _flag(text: str) -> Flag:
    for flag in FLAGS:
        if text == flag:
            return flag
    raise Refusal(
        "bad-value",
        f"Unknown flag {quoted(str(text))}.",
        where="--flag",
        hint=f"use one of {', '.join(FLAGS)}",
    )


def amended(old: Run, given: Mapping[str, Any], system: System) -> Run:
    """Return a run with the given options corrected and everything else as it was.

    Parameters
    ----------
    old : the run as it is recorded.
    given : as for `from_options`; ``none`` takes a value away, ``LF=none`` that of one corner.
    system : unit of the temperatures.

    Raises
    ------
    Refusal
        Names the option that cannot be used.
    """
    gone = {
        option: {
            typed.at_corner(item, _option(option), "LF=none")[0]
            for item in given[option]
            if _takes_away(item)
        }
        for option in PER_CORNER
        if option in given
    }
    if gone.get("tire"):
        raise Refusal(
            "bad-value",
            "The readings of a tire can be corrected, not removed.",
            where="--tire",
            hint="--flag lockup, or fewer --laps, says that a run judges nothing",
        )
    kept = {
        option: tuple(item for item in value if not _takes_away(item)) if option in gone else value
        for option, value in given.items()
        if value not in (NOTHING, (NOTHING,)) and option not in ("feel", "where")
    }
    new = from_options(kept, system)
    changed: dict[str, Any] = {}
    if {"feel", "where"}.intersection(given):
        changed["felt"] = _felt_instead(old, given)
    for option in given.keys() - {"feel", "where"}:
        field = {"tire": "tires", "flag": "flags"}.get(option, option)
        changed[field] = getattr(new, field)
        if option in gone:
            merged = {**getattr(old, field), **changed[field]}
            changed[field] = {c: v for c, v in merged.items() if c not in gone[option]}
    if "set" in given:
        changed["set_state"] = new.set_state
    if new.tread or new.tread_before:
        changed["tread_unit"] = new.tread_unit
    whole = attrs.evolve(old, **changed)
    if whole.tread_unit != old.tread_unit:
        _refuse_other_tread(whole, new)
    return whole


def _takes_away(item: Any) -> bool:
    return isinstance(item, str) and item.partition("=")[2].strip().lower() == NOTHING


def _refuse_other_tread(whole: Run, new: Run) -> None:
    """Refuse tread in a new unit where that of some tires stays in the old one."""
    if whole.tread.keys() - new.tread or whole.tread_before.keys() - new.tread_before:
        raise Refusal(
            "bad-value",
            "The tread of the other tires is recorded in another unit.",
            where="--tread",
            hint="give all of it in the same way",
        )


def from_file(path: Path, system: System, row: int | None = None) -> Sheet:
    """Read the options of a run from a TOML or CSV file.

    Parameters
    ----------
    system : the plan's unit of temperatures.
    row : which of several runs in a CSV file; the last when None.

    Raises
    ------
    Refusal
        Names the file's row and column, or key, that cannot be used.
    """
    if path.suffix.lower() == ".csv":
        sheet = csv_file.read(path, system, row)
        return Sheet({"tire": tuple(sheet.tires.items())}, sheet.remarks)
    if path.suffix.lower() != ".toml":
        raise Refusal(
            "bad-value",
            "Readings are read from a .toml or a .csv file.",
            where=f"--from {path}",
            hint="name it .toml or .csv, after what it holds",
        )
    if row is not None:
        raise Refusal("usage", "A .toml file holds one run.", where="--row", hint="omit --row")
    return Sheet(toml_run.read(path, system))
