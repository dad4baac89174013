"""One thing at a time: what a question mark and a word open, at any question about what is due."""

from collections.abc import Callable, Iterator, Mapping

from rich.console import RenderableType

from planner.advice.candidate import Candidate
from planner.export import status_object
from planner.plan import way as ways_taken
from planner.plan.day import Day
from planner.screen import day_view, figure_view, offer_view, paper, pattern_view, trend_view
from planner.words import at_the_car, findings, offers, ways
from planner.words import way as way_words

Shown = Iterator[RenderableType]


def _why(day: Day, one: Candidate | None) -> Shown:
    went = ways_taken.way(day, len(day.plan.step)) if day.plan.step else None
    if went is not None:
        yield paper.hanging("here", f"{way_words.says(went)}.", paper.MARGIN)
    for each in _ones(day, one):
        for said in offers.reasons(each, day.good[-1].patterns, day.book, day.plan.units):
            yield paper.hanging(f"{each.id}.", said, paper.MARGIN)
        yield paper.hanging("rests on", offers.rests_on(each, day.plan.units), paper.MARGIN)
        source = offers.source(each, day.book)
        if source:
            yield paper.hanging("source", source, paper.MARGIN)


def _numbers(day: Day, _: Candidate | None) -> Shown:
    if day_view.counts(day):
        window = day_view.window(day)
        yield figure_view.table(day.good[-1].figures, day.book, window, day.plan.units)
        yield from (paper.indented(each, 2) for each in findings.apart(day))


def _findings(day: Day, _: Candidate | None) -> Shown:
    if day.last is not None:
        yield from day_view.said(day.last, day)
    if day_view.counts(day):
        yield from pattern_view.patterns(day)
        yield from pattern_view.outcome(day)


def _chances(day: Day, one: Candidate | None) -> Shown:
    for each in day.table().candidates if one is None else (one,):
        effect = ways.effect(each, day)
        yield paper.hanging(f"{each.id}.", f"{ways.worth(each)}. {effect}", paper.MARGIN)
    if day.another_run is not None:
        yield paper.hanging("r.", offers.another_run(day.another_run), paper.MARGIN)


def _effects(day: Day, one: Candidate | None) -> Shown:
    for each in _ones(day, one):
        yield from offer_view.side_effects(each, day)


def _loads(day: Day, one: Candidate | None) -> Shown:
    for each in _ones(day, one):
        found = day.in_turn(each)
        if found is None:
            says = "not computed: the car file must give scales, springs, dimensions and track"
            yield paper.hanging(f"{each.id}.", says, paper.MARGIN)
        for said in () if found is None else at_the_car.in_the_turn(found):
            yield paper.hanging(f"{each.id}.", said, paper.MARGIN)


def _ways(day: Day, _: Candidate | None) -> Shown:
    for each in day.table().candidates:
        yield paper.hanging(f"{each.id}.", ways.in_a_line(each), 4)
    if day.another_run is not None and day.another_run.unsettled:
        yield paper.hanging("r.", offers.another_run(day.another_run), 4)
    for held in day.table().held_back:
        yield paper.hanging("-", offers.held_back(held), 4)


def _work(day: Day, one: Candidate | None) -> Shown:
    if day.pending is not None and one is None:
        yield from (part for _, part in offer_view.work(day))
    for each in _ones(day, one):
        yield from offer_view.parts(each)
        for line in day.how(each):
            yield from (paper.hanging(f"{each.id}.", said, 4) for said in at_the_car.how(line))


def _trend(day: Day, _: Candidate | None) -> Shown:
    yield from trend_view.strips(day, 80)


def _ahead(day: Day, _: Candidate | None) -> Shown:
    yield from day_view.outlook(day)


def _care(day: Day, _: Candidate | None) -> Shown:
    for sentence in status_object.cautions(day):
        yield paper.hanging("!", sentence, 2)


_TOPICS: Mapping[str, Callable[[Day, Candidate | None], Shown]] = {
    "why": _why,
    "ways": _ways,
    "chances": _chances,
    "effects": _effects,
    "work": _work,
    "loads": _loads,
    "numbers": _numbers,
    "findings": _findings,
    "trend": _trend,
    "ahead": _ahead,
    "care": _care,
}


def open_now(day: Day) -> list[str]:
    """Return the words that open something now."""
    return [word for word, show in _TOPICS.items() if next(show(day, None), None) is not None]


def shown(day: Day, word: str, one: Candidate | None) -> list[RenderableType] | None:
    """Return what a word opens; None where it is no such word.

    Parameters
    ----------
    one : the way that is asked about; the first, or all, where none is named.
    """
    if word not in _TOPICS:
        return None
    return list(_TOPICS[word](day, one)) or [paper.indented("There is nothing of it now.", 2)]


def _ones(day: Day, one: Candidate | None) -> tuple[Candidate, ...]:
    """Return the way that is asked about, or the first."""
    return day.table().candidates[:1] if one is None else (one,)
