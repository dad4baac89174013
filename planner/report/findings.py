"""What was wrong with the car in the course of a day, what was done about it, where it stands."""

from collections.abc import Sequence

import attrs

from planner.judging.patterns import Pattern
from planner.plan.day import Day
from planner.review.timeline import ChangeSeen, RunSeen
from planner.rulebook.rules import Band, Rulebook, is_out
from planner.words import figures as figure_words
from planner.words import patterns as pattern_words


@attrs.frozen
class Finding:
    """A fault that held its stage at some time of the day.

    Attributes
    ----------
    since : the run that showed it first.
    figures : each with its number then and now, by all runs up to that one.
    letters : of the changes made for it.
    now : where it stands in words; `is_open` where it still shows or may.
    """

    name: str
    since: int
    figures: tuple[str, ...]
    letters: tuple[str, ...]
    now: str
    is_open: bool


def findings(day: Day, seen: Sequence[RunSeen], marks: Sequence[ChangeSeen]) -> tuple[Finding, ...]:
    """Return every fault that held a stage, in tuning order, by the values in force."""
    good = [run for run in seen if run.good is not None]
    first: dict[str, RunSeen] = {}
    for run in good:
        for pattern in () if run.good is None else run.good.patterns:
            if pattern.holds:
                first.setdefault(pattern.key, run)
    bands = [band for band in day.book.bands if band.key in first]
    return tuple(_finding(band, first[band.key], good[-1], marks, day) for band in bands)


def made_for(mark: ChangeSeen, band: Band, book: Rulebook) -> bool:
    """Say whether a change was made for a fault, riding trims counted."""
    aimed = mark.made().candidate.aimed(book)
    return mark.chosen.chosen is not None and bool(
        set(aimed) & set(band.figures) or band.key in mark.chosen.chosen.answers
    )


def _finding(
    band: Band, then: RunSeen, now: RunSeen, marks: Sequence[ChangeSeen], day: Day
) -> Finding:
    assert now.good is not None
    shows = next((each for each in now.good.patterns if each.key == band.key), None)
    return Finding(
        pattern_words.named(band.key),
        then.number,
        tuple(_figure(name, then, now, day) for name in band.figures),
        tuple(mark.letter for mark in marks if made_for(mark, band, day.book)),
        _stands(band, shows, now, day),
        shows is not None,
    )


def _figure(name: str, then: RunSeen, now: RunSeen, day: Day) -> str:
    """Say what a figure was and is, and its band."""
    system = day.plan.units
    is_now = figure_words.value(name, now.by_all_runs(name).mean, system)
    text = f"{figure_words.in_words(name)} {is_now}"
    if then is not now:
        was = figure_words.number(name, then.by_all_runs(name).mean, system)
        text = f"{figure_words.in_words(name)} {was} → {is_now}"
    band = figure_words.band(name, day.book.edges(name.partition(".")[0]), system)
    return f"{text} (band {band})"


def _stands(band: Band, shows: Pattern | None, now: RunSeen, day: Day) -> str:
    if shows is not None:
        if band.key in day.left_open:
            return "left as it is"
        return "still out of band" if shows.holds else "may be out of band"
    out = any(
        is_out(now.by_all_runs(name).mean, day.book.edges(name.partition(".")[0]))
        for name in band.figures
    )
    return "no longer a fault" if out else "in band"
