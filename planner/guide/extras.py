"""Anything else about a run, typed in short words: laps, pressures, the driver's feel, notes."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from planner.guide import tires
from planner.guide.draft import Draft, Way
from planner.run import driver, from_options, readings, typed
from planner.run.readings import FEELS, FLAGS, PHASES, Feel, Part, Run
from planner.screen import paper
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal, quoted
from planner.trade.units import System

# What can be typed, each with an example and what it is.
WORDS: dict[str, tuple[str, str]] = {
    "laps": ("laps 9", "laps run, if not as many as planned"),
    "times": ("times 19.82 19.79 19.80", "lap times in order, seconds"),
    "hot": ("hot 34 32 27 27.5", "pressures now, psi, in the order of the tires, or hot RF 34"),
    "cold": ("cold 28 26 21 22", "pressures before the run, the same way"),
    "feel": ("feel loose entry, tight exit", f"{', '.join(FEELS)}; {', '.join(PHASES)}"),
    "flag": ("flag lockup", ", ".join(FLAGS)),
    "track": ("track 110", "track temperature"),
    "air": ("air 78", "air temperature"),
    "set": ("set 2 new", "tires it ran on, if others: new, scuffed or heat-cycled"),
    "tread": ("tread RF 7.5 7 6.5", "depth now, 1/32 in, or percent: 90% 85% 80%"),
    "before": ("before RF 8 8 8", "depth before the run"),
    "delay": ("delay 40", "seconds from stop to the first reading"),
    "order": ("order RF RR LR LF", "the order the tires were read in"),
    "again": ("again RF 203 210 207", "the first tire read once more at the end"),
    "note": ("note rain at lap 7", "anything; it takes the rest of the line; a second one adds"),
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


def add(extras: Extras, text: str, way: Way, order: Sequence[Corner]) -> dict[str, tuple[str, ...]]:
    """Return the extras with what a line adds to them; a semicolon parts several.

    Parameters
    ----------
    way, order : the order of the strips, and of tires that are not named.

    A second note, flag or part of the corner is put beside the first; any other thing typed again
    replaces what it was, see `replaced`. ``no hot`` removes it.

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
            _put(new, _read(piece, way, order))
    return new


def added(draft: Draft, text: str, order: Sequence[Corner], system: System) -> Draft:
    """Return the draft with what a line adds to it; pressures typed anew have not been looked at.

    Raises
    ------
    Refusal
        The line cannot be used, or what it says cannot be true.
    """
    changed = attrs.evolve(draft, extras=add(draft.extras, text, draft.way, order))
    run(changed, system)
    air = [changed.extras.get(word) == draft.extras.get(word) for word in ("cold", "hot")]
    return attrs.evolve(changed, kept_air=draft.kept_air and all(air))


def amendment(text: str, way: Way, order: Sequence[Corner]) -> dict[str, Any]:
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
            _put(new, {"tire": tuple(tires.lines(piece, way, order))})
            continue
        gone, nothing = _gone(piece), from_options.NOTHING
        for option in gone:
            by_corner = option in _BY_CORNER
            new[option] = tuple(f"{c}={nothing}" for c in CORNERS) if by_corner else (nothing,)
        if not gone:
            _put(new, _read(piece, way, order))
    return _as_options(new)


def _apart(part: str) -> list[str]:
    """Split what comes after a word that names no corners: ``laps 9; RF 205 212 209``."""
    word = part.partition(" ")[0].lower()
    return [part] if word in _NAMES_CORNERS else [piece.strip() for piece in part.split(";")]


def _gone(piece: str) -> tuple[str, ...]:
    """Return the options that ``no hot`` removes; none if it says something else."""
    word, _, value = piece.lower().partition(" ")
    name = value.strip()
    return (_OPTIONS.get(name, name),) if word == "no" and name in WORDS else ()


def _put(into: dict[str, tuple[str, ...]], read: Extras) -> None:
    for option, texts in read.items():
        into[option] = _joined(option, into.get(option, ()), texts)


def _read(piece: str, way: Way, order: Sequence[Corner]) -> dict[str, tuple[str, ...]]:
    word, _, value = piece.partition(" ")
    if word.isdigit() and value.strip().lower() in ("lap", "laps"):
        word, value = "laps", word
    # The driver's words alone will do.
    if word.lower() not in WORDS and (driver.is_felt(piece) or word.lower() in driver.FEELS_SAID):
        word, value = "feel", piece
    return _said(word.lower(), value.strip(), way, order)


def _said(word: str, value: str, way: Way, order: Sequence[Corner]) -> dict[str, tuple[str, ...]]:
    if word not in WORDS:
        raise Refusal(
            "bad-value", f"{quoted(word)} is not a word used here.", hint=_meant(word, value)
        )
    if not value:
        raise Refusal("bad-value", f"{word} needs a value.", hint=f"for example {WORDS[word][0]}")
    if word == "feel":
        return {"feel": (driver.spoken(driver.felt(value, "feel")),)}
    if word == "flag":
        return {"flag": tuple(re.split(r"[\s,]+", value.lower()))}
    if word in ("hot", "cold"):
        return {word: tuple(_pressures(word, value, order))}
    if word in ("tread", "before", "again"):
        return {_OPTIONS.get(word, word): tuple(tires.lines(value, way, order))}
    return {_OPTIONS.get(word, word): (value,)}


def _meant(word: str, value: str) -> str:
    """Return what to type instead of a line that begins with no word used here."""
    line = f"{word} {value}".strip()
    if word.upper() in CORNERS:
        return f"hot {line}, or cold {line}"
    if word.startswith(("press", "psi")):
        return f"hot {value}, or cold {value}"
    if len(value.split()) > 2:  # a sentence
        return f"note {line}"
    return f"{', '.join(WORDS)}; or Enter to go on"


def _pressures(word: str, value: str, order: Sequence[Corner]) -> list[str]:
    head, named = tires.labelled(value)
    if named and not head:
        return [f"{corner}={part}" for corner, part in named]
    pieces = typed.pressures(value)
    if len(pieces) != len(order):
        raise Refusal(
            "bad-value",
            f"Give four pressures: {' '.join(order)}.",
            where=word,
            hint=f"{WORDS[word][0]}, or by name: {word} RF 34",
        )
    return [f"{corner}={piece}" for corner, piece in zip(order, pieces, strict=True)]


def _joined(option: str, old: tuple[str, ...], new: tuple[str, ...]) -> tuple[str, ...]:
    if option in _BY_CORNER:
        by_corner = {text.partition("=")[0]: text for text in (*old, *new)}
        return tuple(by_corner.values())
    if option == "feel" and old:
        return (driver.spoken(_felt(old) | _felt(new)),)
    if option == "note" and old:
        return ("; ".join((*old, *new)),)
    return (*old, *new) if option in _REPEATED else new


def _felt(texts: tuple[str, ...]) -> dict[Part, Feel]:
    return driver.felt(texts[-1], "feel")


def replaced(old: Extras, new: Extras) -> tuple[dict[str, tuple[str, ...]], ...]:
    """Return what was typed before and reads otherwise in `new`: as it was, and as it is there."""
    was: dict[str, tuple[str, ...]] = {}
    now: dict[str, tuple[str, ...]] = {}
    for option in (option for option in old if option in new):
        before, after = _singly(option, old[option]), _singly(option, new[option])
        differing = [key for key in before if before[key] != after.get(key, before[key])]
        if differing:
            was[option] = tuple(before[key] for key in differing)
            now[option] = tuple(after[key] for key in differing)
    return was, now


def restored(new: Extras, was: Extras) -> dict[str, tuple[str, ...]]:
    """Return the extras with what was typed before put back over what is new."""
    put_back = dict(new)
    for option, texts in was.items():
        put_back[option] = _joined(
            option, new[option], (", ".join(texts),) if option == "feel" else texts
        )
    return put_back


def _singly(option: str, texts: tuple[str, ...]) -> dict[str, str]:
    """Return the texts of an option by what each is of; a note is of nothing but itself."""
    if option == "feel":
        return {part: driver.spoken({part: word}) for part, word in _felt(texts).items()}
    if option in ("note", "flag"):
        return {text: text for text in texts}
    return {text.partition("=")[0] if option in _BY_CORNER else "": text for text in texts}


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
        values = [text if option == "note" else text.replace("=", " ") for text in texts]
        said.append(" ".join([names.get(option, option), *values]))
    return "; ".join(said)


def in_short(extras: Extras) -> str:
    """Say the same, a long note cut."""
    return paper.shortened(in_words(extras), "all of it is kept")
