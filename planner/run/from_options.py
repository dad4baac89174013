"""A run put together from options, or read from a TOML or CSV file."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from planner.files import records, toml_files
from planner.run import csv_file, typed
from planner.run.readings import FLAGS, MOST_WORDS, Again, Run
from planner.trade.corners import Corner, Three
from planner.trade.refusals import Refusal, Unusable, quoted
from planner.trade.units import System

# The keys of a run in a TOML file are the options without their dashes.
_PER_CORNER = ("tire", "cold", "hot", "tread", "tread_before")
_SINGLE = (
    "laps",
    "lap_times",
    "track_temp",
    "air_temp",
    "delay",
    "order",
    "again",
    "feel",
    "where",
    "flag",
    "note",
)


NOTHING = "none"  # typed where a value is to be taken away


@attrs.frozen
class Sheet:
    """What a file says of a run: its options as texts, and what should be mentioned."""

    texts: Mapping[str, Any]
    remarks: tuple[str, ...] = ()


def from_options(given: Mapping[str, Any], system: System, source: Path | None = None) -> Run:
    """Return the run that the options describe.

    Parameters
    ----------
    given : option names with underscores; repeated options hold sequences of text.
    system : unit of the temperatures.
    source : a file to read first; options given beside it win.

    Raises
    ------
    Refusal
        Names the option, or the file's row and column or key, that cannot be used.
    """
    texts: dict[str, Any] = {} if source is None else dict(from_file(source, system).texts)
    texts.update(given)
    treads = [
        (option, typed.at_corner(text, f"--{option.replace('_', '-')}", "LF=7.5/7/6.5"))
        for option in ("tread", "tread_before")
        for text in texts.get(option, ())
    ]
    units_used = {
        typed.tread(value, f"--{option.replace('_', '-')} {corner}")[1]
        for option, (corner, value) in treads
    }
    if len(units_used) > 1:
        raise Refusal(
            "bad-value",
            "Tread is given both as a depth and in percent.",
            where="--tread",
            hint="give all of it in the same way",
        )
    return Run(
        tires=typed.once_each(
            (
                (corner, typed.tire(value, f"--tire {corner}", system))
                for corner, value in _pairs(texts, "tire", "LF=205/212/209")
            ),
            "--tire",
        ),
        laps=_laps(texts["laps"]) if "laps" in texts else None,
        lap_times=typed.lap_times(texts.get("lap_times", ""), "--lap-times"),
        cold=_pressures(texts, "cold"),
        hot=_pressures(texts, "hot"),
        tread=_tread(treads, "tread"),
        tread_before=_tread(treads, "tread_before"),
        tread_unit=units_used.pop() if units_used else "32nds",
        track_temp=_weather(texts, "track_temp", system),
        air_temp=_weather(texts, "air_temp", system),
        delay=typed.number(texts["delay"], "--delay", "40") if "delay" in texts else None,
        order=typed.corners(texts.get("order", ""), "--order"),
        again=_again(texts["again"], system) if "again" in texts else None,
        feel=typed.feel(texts["feel"], "--feel") if "feel" in texts else None,
        where=typed.phase(texts["where"], "--where") if "where" in texts else None,
        flags=tuple(dict.fromkeys(_word(text, "flag", FLAGS) for text in texts.get("flag", ()))),
        note=_note(texts.get("note", "")),
    )


def amended(old: Run, given: Mapping[str, Any], system: System) -> Run:
    """Return a run with the given options put right and everything else as it was.

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
    kept, cleared = {}, set()
    gone: dict[str, set[Corner]] = {}
    for option, value in given.items():
        if option in _PER_CORNER:
            pairs = [(text, text.partition("=")[2].strip().lower()) for text in value]
            kept[option] = tuple(text for text, word in pairs if word != NOTHING)
            gone[option] = {
                typed.at_corner(text, f"--{option.replace('_', '-')}", "LF=none")[0]
                for text, word in pairs
                if word == NOTHING
            }
        elif value in (NOTHING, (NOTHING,)):
            cleared.add(option)
        else:
            kept[option] = value
    if gone.get("tire"):
        raise Refusal(
            "bad-value",
            "The readings of a tire can be put right, not taken away.",
            where="--tire",
            hint="--flag lockup, or fewer --laps, says that a run judges nothing",
        )
    new = from_options(kept, system)
    blank = Run(tires=old.tires)
    changed: dict[str, Any] = {}
    for option in given:
        field = {"tire": "tires", "flag": "flags"}.get(option, option)
        if option in _PER_CORNER:
            merged = {**getattr(old, field), **getattr(new, field)}
            changed[field] = {c: v for c, v in merged.items() if c not in gone[option]}
        else:
            changed[field] = getattr(blank if option in cleared else new, field)
    if kept.get("tread") or kept.get("tread_before"):
        changed["tread_unit"] = new.tread_unit
        rest = [
            corner
            for field in ("tread", "tread_before")
            for corner in changed.get(field, getattr(old, field))
            if corner not in getattr(new, field)
        ]
        if rest and new.tread_unit != old.tread_unit:
            raise Refusal(
                "bad-value",
                "The tread of the other tires is recorded in another unit.",
                where="--tread",
                hint="give all of it in the same way",
            )
    return attrs.evolve(old, **changed)


def _pairs(texts: Mapping[str, Any], key: str, example: str) -> list[tuple[Corner, str]]:
    option = f"--{key.replace('_', '-')}"
    return [typed.at_corner(text, option, example) for text in texts.get(key, ())]


def _pressures(texts: Mapping[str, Any], key: str) -> dict[Corner, float]:
    pairs = _pairs(texts, key, "LF=22.0")
    return typed.once_each(((c, typed.pressure(v, f"--{key} {c}")) for c, v in pairs), f"--{key}")


def _tread(treads: Sequence[tuple[str, tuple[Corner, str]]], key: str) -> dict[Corner, Three]:
    option = f"--{key.replace('_', '-')}"
    return typed.once_each(
        (
            (corner, typed.tread(value, f"{option} {corner}")[0])
            for name, (corner, value) in treads
            if name == key
        ),
        option,
    )


def _weather(texts: Mapping[str, Any], key: str, system: System) -> float | None:
    if key not in texts:
        return None
    return typed.temperature(texts[key], f"--{key.replace('_', '-')}", system)


def _again(text: str, system: System) -> Again:
    corner, value = typed.at_corner(text, "--again", "LF=203/210/207")
    return Again(corner, typed.tire(value, f"--again {corner}", system))


def _laps(text: str) -> int:
    value = typed.number(text, "--laps", "10")
    if value != int(value):
        raise Refusal(
            "bad-value", f"{quoted(text)} laps cannot be.", where="--laps", hint="--laps 10"
        )
    return int(value)


def _note(text: str) -> str:
    if len(text) > MOST_WORDS:
        raise Refusal(
            "too-long",
            f"This note has {len(text)} letters; at most {MOST_WORDS} are kept.",
            where="--note",
            hint="say it shorter, or keep it in a file of its own and name that here",
        )
    return text


def _word(text: str, key: str, words: tuple[Any, ...]) -> Any:
    if text not in words:
        raise Refusal(
            "bad-value",
            f"{quoted(str(text))} is none of {', '.join(words)}.",
            where=f"--{key}",
            hint=f"--{key} {words[0]}",
        )
    return text


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
        return Sheet({"tire": sheet.tires}, sheet.remarks)
    if path.suffix.lower() != ".toml":
        raise Refusal(
            "bad-value",
            "Readings are read from a .toml or a .csv file.",
            where=f"--from {path}",
            hint="name it .toml or .csv, after what it holds",
        )
    if row is not None:
        raise Refusal(
            "usage", "A .toml file holds one run.", where="--row", hint="leave --row away"
        )
    return Sheet(_from_toml(path))


def _from_toml(path: Path) -> dict[str, Any]:
    """Return the keys of a TOML run as the texts their options would hold."""
    try:
        data = toml_files.read_toml(path, "readings")
    except Unusable as error:
        raise Refusal(error.code, error.message, where=error.where, hint=error.hint) from None
    texts: dict[str, Any] = {}
    known = (*_PER_CORNER, *_SINGLE)
    for key, value in data.items():
        where = f"{path}, {key}"
        if key in _PER_CORNER:
            if not isinstance(value, dict):
                raise Refusal(
                    "bad-value",
                    f"{key} must be a table of corners.",
                    where=where,
                    hint=f"{key} = {{LF = [205, 212, 209], …}}",
                )
            texts[key] = tuple(f"{corner}={_joined(item)}" for corner, item in value.items())
        elif key in _SINGLE:
            if key == "again" and isinstance(value, dict) and len(value) == 1:
                ((corner, tire),) = value.items()
                texts[key] = f"{corner}={_joined(tire)}"
            elif key == "flag":
                texts[key] = tuple(value) if isinstance(value, list) else (str(value),)
            else:
                texts[key] = _joined(value, "," if key == "order" else " ")
        else:
            raise Refusal(
                "bad-key",
                f"There is no key {quoted(key)} in a run{records.meant(key, known)}.",
                where=where,
                hint=", ".join(known),
            )
    return texts


def _joined(value: Any, separator: str = "/") -> str:
    return separator.join(str(item) for item in value) if isinstance(value, list) else str(value)
