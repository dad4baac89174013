"""A run put together from options, or read from a TOML or CSV file."""

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from planner import entry, toml_records
from planner.corners import CORNERS, Corner
from planner.errors import Refusal, Unusable
from planner.readings import FEELS, FLAGS, PHASES, STRIPS, Again, Run, Three
from planner.units import System

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
    texts: dict[str, Any] = {} if source is None else dict(_from_file(source))
    texts.update(given)
    treads = [
        (option, entry.at_corner(text, f"--{option.replace('_', '-')}", "LF=7.5/7/6.5"))
        for option in ("tread", "tread_before")
        for text in texts.get(option, ())
    ]
    units_used = {entry.tread(value, f"--{option}")[1] for option, (_, value) in treads}
    if len(units_used) > 1:
        raise Refusal(
            "bad-value",
            "Tread is given both as a depth and in percent.",
            where="--tread",
            hint="give all of it in the same way",
        )
    return Run(
        tires=entry.once_each(
            (
                (corner, entry.tire(value, f"--tire {corner}", system))
                for corner, value in _pairs(texts, "tire", "LF=205/212/209")
            ),
            "--tire",
        ),
        laps=_laps(texts["laps"]) if "laps" in texts else None,
        lap_times=entry.lap_times(texts.get("lap_times", ""), "--lap-times"),
        cold=_pressures(texts, "cold"),
        hot=_pressures(texts, "hot"),
        tread=_tread(treads, "tread"),
        tread_before=_tread(treads, "tread_before"),
        tread_unit=units_used.pop() if units_used else "32nds",
        track_temp=_weather(texts, "track_temp", system),
        air_temp=_weather(texts, "air_temp", system),
        delay=entry.number(texts["delay"], "--delay", "40") if "delay" in texts else None,
        order=entry.corners(texts.get("order", ""), "--order"),
        again=_again(texts["again"], system) if "again" in texts else None,
        feel=_one_of(texts, "feel", FEELS),
        where=_one_of(texts, "where", PHASES),
        flags=tuple(dict.fromkeys(_word(text, "flag", FLAGS) for text in texts.get("flag", ()))),
        note=texts.get("note", ""),
    )


def _pairs(texts: Mapping[str, Any], key: str, example: str) -> list[tuple[Corner, str]]:
    option = f"--{key.replace('_', '-')}"
    return [entry.at_corner(text, option, example) for text in texts.get(key, ())]


def _pressures(texts: Mapping[str, Any], key: str) -> dict[Corner, float]:
    pairs = _pairs(texts, key, "LF=22.0")
    return entry.once_each(((c, entry.pressure(v, f"--{key} {c}")) for c, v in pairs), f"--{key}")


def _tread(treads: Sequence[tuple[str, tuple[Corner, str]]], key: str) -> dict[Corner, Three]:
    option = f"--{key.replace('_', '-')}"
    return entry.once_each(
        (
            (corner, entry.tread(value, f"{option} {corner}")[0])
            for name, (corner, value) in treads
            if name == key
        ),
        option,
    )


def _weather(texts: Mapping[str, Any], key: str, system: System) -> float | None:
    if key not in texts:
        return None
    return entry.temperature(texts[key], f"--{key.replace('_', '-')}", system)


def _again(text: str, system: System) -> Again:
    corner, value = entry.at_corner(text, "--again", "LF=203/210/207")
    return Again(corner, entry.tire(value, f"--again {corner}", system))


def _laps(text: str) -> int:
    value = entry.number(text, "--laps", "10")
    if value != int(value):
        raise Refusal("bad-value", f"{text} laps cannot be.", where="--laps", hint="--laps 10")
    return int(value)


def _one_of(texts: Mapping[str, Any], key: str, words: tuple[Any, ...]) -> Any:
    return _word(texts[key], key, words) if key in texts else None


def _word(text: str, key: str, words: tuple[Any, ...]) -> Any:
    if text not in words:
        raise Refusal(
            "bad-value",
            f"{text!r} is none of {', '.join(words)}.",
            where=f"--{key}",
            hint=f"--{key} {words[0]}",
        )
    return text


def _from_file(path: Path) -> Mapping[str, Any]:
    if path.suffix.lower() == ".toml":
        return _from_toml(path)
    if path.suffix.lower() == ".csv":
        return _from_csv(path)
    raise Refusal(
        "bad-value",
        "Readings are read from a .toml or a .csv file.",
        where=f"--from {path}",
        hint="name it .toml or .csv, after what it holds",
    )


def _from_toml(path: Path) -> dict[str, Any]:
    """Return the keys of a TOML run as the texts their options would hold."""
    try:
        data = toml_records.read_toml(path, "readings")
    except Unusable as error:
        raise Refusal(error.code, error.message, where=error.where, hint=error.hint) from None
    texts: dict[str, Any] = {}
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
                f"There is no key {key!r} in a run.",
                where=where,
                hint=", ".join((*_PER_CORNER, *_SINGLE)),
            )
    return texts


def _joined(value: Any, separator: str = "/") -> str:
    return separator.join(str(item) for item in value) if isinstance(value, list) else str(value)


def _from_csv(path: Path) -> dict[str, Any]:
    """Return the tires of a CSV file: a row a tire, or a row a reading.

    The header names the columns: ``corner,inner,middle,outer``, or
    ``corner,position,temperature``. Semicolons part columns as well as commas.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        reason = error.strerror or str(error)
        raise Refusal(
            "unreadable", f"The file cannot be read: {reason}.", where=str(path)
        ) from None
    except UnicodeDecodeError:
        raise Refusal(
            "encoding", "The file is not UTF-8 text.", where=str(path), hint="save it as UTF-8"
        ) from None
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    first = text.partition("\n")[0]
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=";" if ";" in first else ","))
    except csv.Error as error:
        raise Refusal(
            "bad-value", f"The file is not a table: {error}.", where=str(path), hint="a row a tire"
        ) from None
    header = [cell.strip().lower() for cell in rows[0]] if rows else []
    wide, long = ["corner", *STRIPS], ["corner", "position", "temperature"]
    if header not in (wide, long):
        raise Refusal(
            "bad-value",
            f"The first row must name the columns, {','.join(wide)} or {','.join(long)}.",
            where=f"{path}, row 1",
            hint=",".join(wide),
        )
    tires: dict[str, dict[str, str]] = {}
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        where = f"{path}, row {number}"
        if len(row) != len(header):
            raise Refusal(
                "bad-value",
                f"This row has {len(row)} columns, the header {len(header)}.",
                where=where,
                hint="one value a column; in a file with decimal commas part columns by semicolons",
            )
        cells = dict(zip(header, (cell.strip() for cell in row), strict=True))
        corner = entry.corner(cells["corner"], f"{where}, column corner")
        if header == wide:
            values = {strip: cells[strip] for strip in STRIPS}
        else:
            position = _word(cells["position"].lower(), "position", STRIPS)
            values = {position: cells["temperature"]}
        for strip, value in values.items():
            entry.number(value, f"{where}, column {strip if header == wide else 'temperature'}", "")
            if strip in tires.setdefault(corner, {}):
                raise Refusal("bad-value", f"{corner} {strip} is there twice.", where=where)
            tires[corner][strip] = value
    for corner in CORNERS:
        missing = [strip for strip in STRIPS if strip not in tires.get(corner, {})]
        if missing:
            raise Refusal(
                "missing-tire",
                f"{corner} {', '.join(missing)} is not in the file.",
                where=str(path),
            )
    return {
        "tire": tuple(
            f"{corner}=" + "/".join(strips[strip] for strip in STRIPS)
            for corner, strips in tires.items()
        )
    }
