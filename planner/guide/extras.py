"""Anything else about a run, typed in short words: laps, pressures, the driver's feel, notes."""

import re
from collections.abc import Mapping
from typing import Any

import attrs

from planner.guide import tires
from planner.guide.draft import Draft, Way
from planner.run import from_options, readings, typed
from planner.run.readings import FEELS, FLAGS, PHASES, Run
from planner.screen import paper
from planner.trade.corners import CORNERS
from planner.trade.refusals import Refusal, quoted
from planner.trade.units import System

# What can be typed, each with an example and what it is.
WORDS: dict[str, tuple[str, str]] = {
    "laps": ("laps 9", "laps run, if not as many as planned"),
    "times": ("times 19.82 19.79 19.80", "lap times in order, seconds"),
    "hot": ("hot 27.5 34 27 32", "pressures now, psi: LF RF LR RR (or hot RF 34)"),
    "cold": ("cold 22 28 21 26", "pressures before the run, the same way"),
    "feel": ("feel tight entry", f"{', '.join(FEELS)}; {', '.join(PHASES)}"),
    "flag": ("flag lockup", ", ".join(FLAGS)),
    "track": ("track 110", "track temperature"),
    "air": ("air 78", "air temperature"),
    "tread": ("tread RF 7.5 7 6.5", "depth now, 1/32 in, or percent: 90% 85% 80%"),
    "before": ("before RF 8 8 8", "depth before the run"),
    "delay": ("delay 40", "seconds from stop to the first reading"),
    "order": ("order RF RR LR LF", "the order the tires were read in"),
    "again": ("again RF 203 210 207", "the first tire read once more at the end"),
    "note": ("note rain at lap 7", "anything; it takes the rest of the line"),
}

_OPTIONS = {
    "times": "lap_times",
    "before": "tread_before",
    "track": "track_temp",
    "air": "air_temp",
}
_BY_CORNER = ("tire", "hot", "cold", "tread", "tread_before")
_REPEATED = (*_BY_CORNER, "flag")
_NAMES_CORNERS = ("hot", "cold", "tread", "before", "order", "again", "note")
# A semicolon before a corner or a number parts values; before any other word, two things.
_NEXT = re.compile(r";\s*(?=[a-z])(?!(?:" + "|".join(CORNERS) + r")\b)", re.IGNORECASE)

Extras = Mapping[str, tuple[str, ...]]


def parts(text: str) -> list[str]:
    """Split a line at the semicolons between things; a note takes the rest of the line."""
    found, rest = [], text
    while rest:
        is_note = rest.lower().startswith("note")
        piece, rest = (rest, "") if is_note else [*_NEXT.split(rest, maxsplit=1), ""][:2]
        found.append(piece.strip())
    return found


def add(extras: Extras, text: str, way: Way) -> dict[str, tuple[str, ...]]:
    """Return the extras with what a line adds to them; a semicolon parts several.

    Typing a thing again replaces it; ``no hot`` removes it.

    Raises
    ------
    Refusal
        The line begins with none of the words, or what follows cannot be used.
    """
    new = dict(extras)
    for piece in parts(text):
        gone = _gone(piece)
        for option in gone:
            new.pop(option, None)
        if not gone:
            _put(new, _read(piece, way))
    return new


def added(draft: Draft, text: str, system: System) -> Draft:
    """Return the draft with what a line adds to it; pressures typed anew have not been looked at.

    Raises
    ------
    Refusal
        The line cannot be used, or what it says cannot be true.
    """
    changed = attrs.evolve(draft, extras=add(draft.extras, text, draft.way))
    run(changed, system)
    air = [changed.extras.get(word) == draft.extras.get(word) for word in ("cold", "hot")]
    return attrs.evolve(changed, kept_air=draft.kept_air and all(air))


def amendment(text: str, way: Way) -> dict[str, Any]:
    """Return what a line corrects of a run that is stored, as `run_entry.amended` takes it.

    Besides the words of `add` it takes tires by name, ``RF 205 212 209``.

    Raises
    ------
    Refusal
        The line begins with none of the words, or what follows cannot be used.
    """
    new: dict[str, tuple[str, ...]] = {}
    for piece in (each for part in parts(text) for each in _apart(part)):
        head, named = tires.labelled(piece)
        if named and not head:
            _put(new, {"tire": tuple(tires.lines(piece, way))})
            continue
        gone, nothing = _gone(piece), from_options.NOTHING
        for option in gone:
            by_corner = option in _BY_CORNER
            new[option] = tuple(f"{c}={nothing}" for c in CORNERS) if by_corner else (nothing,)
        if not gone:
            _put(new, _read(piece, way))
    return _as_options(new)


def _apart(part: str) -> list[str]:
    """Split what comes after a word that names no corners: ``laps 9; RF 205 212 209``."""
    word = part.partition(" ")[0].lower()
    return [part] if word in _NAMES_CORNERS else [piece.strip() for piece in part.split(";")]


def _gone(piece: str) -> tuple[str, ...]:
    """Return the options that ``no hot`` removes; none if it says something else."""
    word, _, value = piece.lower().partition(" ")
    name = value.strip()
    if word != "no" or name not in WORDS:
        return ()
    return ("feel", "where") if name == "feel" else (_OPTIONS.get(name, name),)


def _put(into: dict[str, tuple[str, ...]], read: Extras) -> None:
    for option, texts in read.items():
        into[option] = _joined(option, into.get(option, ()), texts)


def _read(piece: str, way: Way) -> dict[str, tuple[str, ...]]:
    word, _, value = piece.partition(" ")
    if word.isdigit() and value.strip().lower() in ("lap", "laps"):
        word, value = "laps", word
    if typed.is_feel(word):  # the driver's word alone says what it is
        word, value = "feel", piece
    return _said(word.lower(), value.strip(), way)


def _said(word: str, value: str, way: Way) -> dict[str, tuple[str, ...]]:
    if word not in WORDS:
        raise Refusal(
            "bad-value",
            f"{quoted(word)} is not a word used here.",
            hint=f"{', '.join(WORDS)}; or Enter to go on",
        )
    if not value:
        raise Refusal("bad-value", f"{word} needs a value.", hint=f"for example {WORDS[word][0]}")
    if word == "feel":
        said, _, where = value.partition(" ")
        found: dict[str, tuple[str, ...]] = {"feel": (typed.feel(said, "feel"),)}
        if where.strip():
            found["where"] = (typed.phase(where, "feel"),)
        return found
    if word == "flag":
        return {"flag": tuple(re.split(r"[\s,]+", value.lower()))}
    if word in ("hot", "cold"):
        return {word: tuple(_pressures(word, value))}
    if word in ("tread", "before", "again"):
        return {_OPTIONS.get(word, word): tuple(tires.lines(value, way))}
    return {_OPTIONS.get(word, word): (value,)}


def _pressures(word: str, value: str) -> list[str]:
    head, named = tires.labelled(value)
    if named and not head:
        return [f"{corner}={part}" for corner, part in named]
    pieces = typed.numbers(value)
    if len(pieces) != len(CORNERS):
        raise Refusal(
            "bad-value",
            f"Give four pressures: {' '.join(CORNERS)}.",
            where=word,
            hint=f"{WORDS[word][0]}, or by name: {word} RF 34",
        )
    return [f"{corner}={piece}" for corner, piece in zip(CORNERS, pieces, strict=True)]


def _joined(option: str, old: tuple[str, ...], new: tuple[str, ...]) -> tuple[str, ...]:
    if option in _BY_CORNER:
        by_corner = {text.partition("=")[0]: text for text in (*old, *new)}
        return tuple(by_corner.values())
    return (*old, *new) if option in _REPEATED else new


def run(draft: Draft, system: System) -> Run:
    """Return the run that the draft describes.

    Raises
    ------
    Refusal
        Something in it cannot be used, or cannot be true.
    """
    whole = attrs.evolve(
        from_options.from_options(_as_options(draft.extras), system),
        tires={corner: draft.tires[corner] for corner in CORNERS},
    )
    readings.check(whole)
    return whole


def _as_options(extras: Extras) -> dict[str, Any]:
    return {o: texts if o in _REPEATED else texts[-1] for o, texts in extras.items()}


def in_words(extras: Extras) -> str:
    """Say what has been added so far, the way it is typed."""
    names = {option: word for word, option in _OPTIONS.items()}
    said = []
    for option, texts in extras.items():
        if option == "where" and "feel" in extras:
            continue  # said together with the feel
        values = [text if option == "note" else text.replace("=", " ") for text in texts]
        if option == "feel":
            values += extras.get("where", ())
        said.append(" ".join([names.get(option, option), *values]))
    return "; ".join(said)


def in_short(extras: Extras) -> str:
    """Say the same, a long note cut."""
    return paper.shortened(in_words(extras), "all of it is kept")
