"""A rules file examined: every mistake in it by its key, or the rules.

Nothing in a rules file is ever executed; texts take ``$value``-style placeholders only.
"""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from statistics import fmean
from typing import Any

from planner.car import car_file
from planner.car.car_model import COMPUTED_KNOBS
from planner.car.typical import as_model, missing
from planner.files import records
from planner.rulebook.entry_checks import (
    DEGREES,
    MOST_OFFERS,
    adjustment_mistakes,
    beyond,
    pattern_mistakes,
)
from planner.rulebook.rules import FORMAT, TUNING_ORDER, Rulebook
from planner.trade.numbers import LAPS, PRESSURE

# What rules may hold. Ours hold a tenth of it; far beyond, every run would take minutes to judge.
MOST_PATTERNS = 60
MOST_ADJUSTMENTS = 60
MOST_TYPICAL = 12
MOST_IN_STAGE = 40  # offers of all patterns of a stage: each of them is sized at every corner
MOST_KEYS = 100  # at the top
MOST_TEXT = 2000  # letters of a text
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,59}")
_WEAR = (0.0, 1000.0)
_NOT_IN_THE_FILE = ("fingerprint", "fixed")


def examine(data: Mapping[str, object]) -> tuple[list[str], Rulebook | None]:
    """Return all mistakes of a rules file, each with its key's path, and the rules if none."""
    if data.get("format") not in (None, FORMAT):
        return [f"format: this program reads format {FORMAT} only"], None
    too_many = _too_many(data)
    if too_many:
        return too_many, None
    given = {key: value for key, value in data.items() if key not in _NOT_IN_THE_FILE}
    problems, book = _read(given)
    problems += [f"{key}: unknown key" for key in _NOT_IN_THE_FILE if key in data]
    if book is None:
        problems += _mistakes(*_as_far_as_it_goes(given))
        return problems, None
    if not book.pattern:
        problems.append("pattern: at least one is needed")
    problems += [
        f"adjustment.{name}.effect: give it, or a [[typical]] car that it is computed for"
        for name, entry in book.adjustment.items()
        if not entry.effect and entry.knob in COMPUTED_KNOBS and not book.typical
    ]
    problems += _mistakes(book, range(1, len(book.pattern) + 1), book.adjustment)
    return problems, None if problems else book


def _read(data: Mapping[str, Any]) -> tuple[list[str], Rulebook | None]:
    return records.problems_or_record(data, Rulebook, records.plain())


def _too_many(data: Mapping[str, Any]) -> list[str]:
    """Return where there is more of something than is looked at one by one."""
    counts: list[tuple[str, object, int]] = [
        ("adjustment", data.get("adjustment"), MOST_ADJUSTMENTS),
        ("pattern", data.get("pattern"), MOST_PATTERNS),
        ("typical", data.get("typical"), MOST_TYPICAL),
    ]
    patterns = data.get("pattern")
    for number, each in enumerate(
        patterns[:MOST_PATTERNS] if isinstance(patterns, list) else (), 1
    ):
        for key in ("figures", "offers", "next_cause", "at_limit"):
            if isinstance(each, Mapping):
                counts.append((f"pattern[{number}].{key}", each.get(key), MOST_OFFERS))
        others = each.get("other_causes") if isinstance(each, Mapping) else None
        if isinstance(others, Mapping):
            counts.append(
                (f"pattern[{number}].other_causes.offers", others.get("offers"), MOST_OFFERS)
            )
    if len(data) > MOST_KEYS:
        return [f"{len(data)} keys stand at the top; no rules file has so many"]
    return [
        f"{path}: {len(held)} of them; at most {most} are taken"
        for path, held, most in counts
        if isinstance(held, list | Mapping) and len(held) > most
    ]


def _as_far_as_it_goes(
    data: Mapping[str, Any],
) -> tuple[Rulebook, Sequence[int], Collection[str]]:
    """Return what of a broken rules file has the right shape, to be checked all the same.

    Returns
    -------
    tuple
        The rules without their broken parts, the numbers that the patterns left have in the file,
        and the names of all its adjustments, broken ones too.
    """
    bare: dict[str, Any] = {
        "id": "x",
        "title": "-",
        "turns": ["left"],
        "laps": 10,
        "window": [0.0, 1.0],
        "source": "-",
        "adjustment": {},
        "pattern": [],
    }

    def sound(**part: Any) -> bool:
        return _read({**bare, **part})[1] is not None

    entries, patterns = data.get("adjustment"), data.get("pattern")
    entries = entries if isinstance(entries, Mapping) else {}
    patterns = patterns if isinstance(patterns, list) else []
    numbers = [n for n, each in enumerate(patterns, 1) if sound(pattern=[each])]
    kept = {
        key: value
        for key, value in data.items()
        if key not in ("adjustment", "pattern") and sound(**{key: value})
    }
    kept["adjustment"] = {n: each for n, each in entries.items() if sound(adjustment={n: each})}
    kept["pattern"] = [patterns[number - 1] for number in numbers]
    _, book = _read({**bare, **kept})
    assert book is not None
    return book, numbers, entries.keys()


def _mistakes(book: Rulebook, numbers: Sequence[int], named: Collection[str]) -> Iterator[str]:
    """Yield what is wrong in rules whose keys and types are right.

    Parameters
    ----------
    numbers : the number of each pattern in its file.
    named : every adjustment the file names, whether or not it is among the rules.
    """
    yield from _unfit_texts(book, numbers)
    yield from _unfit_numbers(book)
    for name, entry in book.adjustment.items():
        yield from (f"adjustment.{name}.{text}" for text in adjustment_mistakes(entry))
    yield from _unfit_cars(book)
    for stage in TUNING_ORDER:
        rules = [rule for rule in book.pattern if rule.stage == stage]
        offers = sum(len(rule.all_offers) for rule in rules)
        if offers > MOST_IN_STAGE:
            yield f"pattern: {offers} offers in the {stage} stage; the most is {MOST_IN_STAGE}"
    seen: set[str] = set()
    for number, rule in zip(numbers, book.pattern, strict=True):
        at = f"pattern[{number}]"
        if rule.id in seen:
            yield f"{at}.id: {rule.id} is there twice"
        seen.add(rule.id)
        yield from (f"{at}.{text}" for text in pattern_mistakes(rule, book, named))


def _unfit_numbers(book: Rulebook) -> Iterator[str]:
    """Yield what cannot be of the numbers beside adjustments and patterns."""
    wear, noise = book.wear, book.noise
    bounded: list[tuple[str, float | None, tuple[float, float]]] = [
        *((f"window[{number}]", edge, DEGREES) for number, edge in enumerate(book.window, 1)),
        *((f"noise.{key}", getattr(noise, key), (0.0, 100.0)) for key in ("reading", "run")),
        *(
            (f"wear.{key}", getattr(wear, key), _WEAR)
            for key in ("edge", "uneven", "least", "least_percent")
        ),
    ]
    if wear.per_cross is not None:
        bounded.append(("wear.per_cross.mean", wear.per_cross.mean, (-1000.0, 1000.0)))
        bounded.append(("wear.per_cross.sd", wear.per_cross.sd, _WEAR))
    for each in bounded:
        yield from beyond(*each)
    if not LAPS.holds(book.laps):
        yield f"laps: must be between {LAPS.low} and {LAPS.high}"
    if not LAPS.holds(book.least_laps):
        yield f"least_laps: must be between {LAPS.low} and {LAPS.high}"
    if not book.window[0] < book.window[1]:
        yield "window: the lower temperature comes first"
    if not book.turns:
        yield "turns: at least one of left, right and both is needed"
    if wear.edge < 1 or wear.uneven < 1:
        yield "wear: edge and uneven must not be below 1"
    if wear.least <= 0 or wear.least_percent <= 0:
        yield "wear: least and least_percent must be above 0"
    if noise.reading <= 0 or noise.run < 0:
        yield "noise: reading must be above 0 and run not below 0"
    yield from _unfit_pressures(book)


def _unfit_pressures(book: Rulebook) -> Iterator[str]:
    """Yield what cannot be of the lowest and highest cold pressures, and of the heat."""
    air = book.cold_pressure
    for key, ends in (("inside", air.inside), ("outside", air.outside)):
        if ends is None:
            continue
        for number, psi in enumerate(ends, 1):
            yield from beyond(f"cold_pressure.{key}[{number}]", psi, (PRESSURE.low, PRESSURE.high))
        if not ends[0] < ends[1]:
            yield f"cold_pressure.{key}: the lower pressure comes first"
    if (air.inside or air.outside) and not air.source:
        yield "cold_pressure.source: say where the pressures come from"
    if not book.window[1] <= book.too_hot <= DEGREES[1]:
        yield (
            f"too_hot: must be between the end of the window, {book.window[1]:g}, and "
            f"{DEGREES[1]:g}, not {book.too_hot:g}"
        )


def _unfit_cars(book: Rulebook) -> Iterator[str]:
    """Yield what cannot be of the typical cars."""
    for number, car in enumerate(book.typical, 1):
        at = f"typical[{number}]"
        found = [f"{at}.{text}" for text in car_file.mistakes(car)]
        found = found or [f"{at}.{key}: needed of a typical car" for key in missing(car)]
        yield from found
        for turns in () if found else book.turns[:1]:  # the other way it is the same in a mirror
            trouble = as_model(car, turns, fmean(book.window)).trouble()
            if trouble:
                yield f"{at}.track: {trouble}"


def _unfit_texts(book: Rulebook, numbers: Sequence[int]) -> Iterator[str]:
    """Yield the names that cannot be one, and the texts that are too long to be shown."""
    patterns = list(zip(numbers, book.pattern, strict=True))
    names = [
        ("id", book.id),
        *((f"adjustment.{name[:60]}", name) for name in book.adjustment),
        *((f"pattern[{number}].id", rule.id) for number, rule in patterns),
    ]
    for path, name in names:
        if not _ID.fullmatch(name):
            yield (
                f"{path}: {name[:60]!r} is no name; use at most 60 of the letters a to z, digits, "
                "dots, - and _"
            )
    texts = [
        ("title", book.title),
        ("source", book.source),
        ("cold_pressure.source", book.cold_pressure.source),
        *((f"adjustment.{name}.source", each.source) for name, each in book.adjustment.items()),
        *(
            (f"pattern[{number}].{key}", getattr(rule, key))
            for number, rule in patterns
            for key in ("says", "means", "source")
        ),
        *(
            (f"pattern[{number}].other_causes.says", rule.other_causes.says)
            for number, rule in patterns
            if rule.other_causes is not None
        ),
        *(
            (f"pattern[{number}].own.says", rule.own.says)
            for number, rule in patterns
            if rule.own is not None
        ),
    ]
    for path, text in texts:
        if len(text) > MOST_TEXT:
            yield f"{path}: {len(text)} letters; at most {MOST_TEXT} are shown"
