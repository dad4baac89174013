"""Where the day stands in one window: the car, what counts, what to do now, and the other ways.

Nothing here scrolls. What has no room is left to ``?`` in the guide and to ``--full``.
"""

from collections.abc import Iterable, Iterator
from itertools import takewhile

from rich.console import Console, RenderableType
from rich.text import Text

from planner.export import status_object
from planner.plan import budget, care, drift
from planner.plan.day import Day
from planner.plan.steps import MadeStep, RunStep
from planner.rulebook.rules import TUNING_ORDER
from planner.screen import car_view, day_view, figure_view, offer_view, paper
from planner.screen.paper import Row
from planner.storage.plans import Opened
from planner.trade.cautions import CAUTIONS
from planner.trade.plain_text import counted
from planner.words import amendments as amendment_words
from planner.words import budget as budget_words
from planner.words import changes as change_words
from planner.words import drift as drift_words
from planner.words import figures as figure_words
from planner.words import findings, offers, ways
from planner.words import left_open as left_words
from planner.words import remarks as remark_words
from planner.words import runs as run_words
from planner.words import tire_sets as set_words

_SPARE = 10  # how soon the second of several lines goes; later ones go sooner
_TALL = 30  # lines from which the figures are shown with their footnotes
_GAP = Row(Text(""), 99)
_NUMBERS, _FINDINGS, _WAYS = "? numbers", "? findings", "? ways"
_WORK, _CHANCES = "? work", "? chances"


def parts(
    opened: Opened, console: Console, below: int, first: Iterable[RenderableType] = ()
) -> list[RenderableType]:
    """Return what is shown of a day, no higher than the window.

    Parameters
    ----------
    below : how many lines of the window something else needs.
    first : what a command has done.
    """
    day = opened.day
    above = (*head(opened), *first, *day_view.too_hot(day), *day_view.resumed(opened))
    wanted = [Row(each) for each in above]
    if day.pending is not None:
        wanted += _to_be_made(day)
    elif day.due == "nothing":
        wanted += [*_run(day, console), *_ended(day)]
    elif _is_looked_at(day):
        wanted += [*_run(day, console), *_findings(day)]
        if day.due == "run":
            wanted += [Row(each, 2) for each in day_view.way(day)]
    else:
        wanted += [Row(each, 3) for each in day_view.of_the_car(day)]
    wanted += _ways(day)
    wanted += _care(day)
    wanted += [Row(each) for each in day_view.amended(day)]
    if day.due == "run":
        wanted += _ahead(day)
    return paper.fitted(console, wanted, paper.height(console) - 1 - below)


def show(
    opened: Opened, console: Console | None = None, first: Iterable[RenderableType] = ()
) -> None:
    """Print where a plan stands in one window, ending with what is due and what to type for it."""
    out = console or paper.console()
    due = list(day_view.due(opened.day, opened.path))
    paper.put(out, [*parts(opened, out, len(paper.rows(out, due)), first), *due])


def head(opened: Opened) -> Iterator[RenderableType]:
    """Yield which day this is, and how far it has come in the tuning order."""
    day = opened.day
    facts = (opened.path.name, f"round {day.round}", f"step {len(day.plan.step)}")
    yield paper.Facts(facts, "bold")
    yield day_view.progress(day)


def _is_looked_at(day: Day) -> bool:
    """Whether the last run is what is to be looked at: nothing was changed since."""
    since = takewhile(lambda step: not isinstance(step, RunStep), reversed(day.steps))
    return day.last is not None and not any(isinstance(step, MadeStep) for step in since)


def _run(day: Day, console: Console) -> Iterator[Row]:
    """Yield the car from above, beside its figures where there is room, and the last change."""
    if day.last is None:
        return
    window, system = day_view.window(day), day.plan.units
    wide = console.width >= paper.WIDE and day_view.counts(day)
    car = car_view.car(
        day.last.run.tires, day.book, window, system, legend="below" if wide else "beside"
    )
    if wide:
        brief = paper.height(console) < _TALL
        figures = figure_view.table(day.good[-1].figures, day.book, window, system, brief=brief)
        yield Row(figure_view.beside(car, figures))
    else:
        yield Row(car)
    if day.last.void is not None:
        why = run_words.void(day.last.void)
        yield Row(paper.indented(f"This run does not judge the setup: {why}.", 2))
    came = _came(day)
    if came:
        yield Row(paper.indented(came, 2))
    if day_view.counts(day):
        yield from (Row(paper.indented(each, 2), _SPARE) for each in set_words.changed(day))


def _came(day: Day) -> str:
    """Say in a line what came of the last change, while the last run is what tells."""
    past, last = day.judged, day.last
    if past is None or last is None or last.outcome is None or past != day.past[-1]:
        return ""
    system, aimed = day.plan.units, past.candidate.foretold(day.book)
    told = [
        f"{figure_words.in_words(part.figure)} "
        f"{figure_words.number(part.figure, part.before, system)} → "
        f"{figure_words.number(part.figure, part.after, system)}"
        for part in last.outcome.figures
        if part.figure in aimed
    ]
    worse = [
        f"{change_words.named(setting)} trim worse"
        for setting, verdict in past.trims_apart(day.book)
        if verdict == "worse"
    ]
    came = change_words.came(past)
    said = "; ".join(filter(None, (", ".join(told[:3]), *worse)))
    return f"Last change (step {past.step}): {came}{said and f'. {said}'}"


def _findings(day: Day) -> Iterator[Row]:
    """Yield what counts now, a line each, and what is hard to believe."""
    if day.last is not None and day.last.doubt is not None:
        doubt = remark_words.doubt(day.last.doubt, day.plan.units)
        yield Row(paper.hanging("?", f"Hard to believe: {doubt}", 2))
    if not day_view.counts(day):
        return
    for number, each in enumerate(findings.found(day)):
        line = paper.line(each.says, "bold" if each.stage == day.stage else "")
        yield Row(
            paper.hanging(each.stage, line, paper.MARGIN), number and _SPARE + number, _NUMBERS
        )
    hidden = findings.masked(day)
    if hidden:
        yield Row(paper.hanging("", f"{hidden} more behind it", paper.MARGIN), 1)
    for number, apart in enumerate(findings.apart(day)):
        yield Row(paper.hanging("", apart, paper.MARGIN), _SPARE + 2 * number + 1, _NUMBERS)
    beside = [*set_words.says(day)]
    beside += [remark_words.says(r, day.plan.units) for r in day.remarks if r not in day.too_hot]
    for says in beside:
        yield Row(paper.hanging("beside", says, paper.MARGIN), _SPARE + 1, _FINDINGS)


def _ways(day: Day) -> Iterator[Row]:
    """Yield what to do now, and every other way in a line."""
    table = day.table()
    for first in table.candidates[:1]:
        yield _GAP
        do = paper.line(f"{first.id}. {ways.do_now(first)}", "bold")
        yield Row(paper.hanging("Do now", do, paper.MARGIN))
        rides = ways.with_it(first)
        if rides:
            yield Row(paper.hanging("", f"with {rides}", paper.MARGIN), 3, _WORK)
        worth, effect = ways.worth(first), ways.effect(first, day)
        if first.chance is not None and day.stage in TUNING_ORDER:
            worth += f" to fix the {day.stage} stage"
        for spare, says in ((0, worth), (4, effect)):
            if says:
                yield Row(paper.hanging("", says, paper.MARGIN), spare, _CHANCES)
    others = [f"{o.id}. {ways.in_a_line(o, table.candidates[0])}" for o in table.candidates[1:]]
    if day.another_run is not None and day.another_run.unsettled:
        others.append(f"r. {offers.another_run(day.another_run)}")
    for number, other in enumerate(others):
        label = "" if number else "or"
        yield Row(paper.hanging(label, other, paper.MARGIN), _SPARE + 1 + number, _WAYS)
    for held in table.held_back:
        says = offers.held_back(held)
        yield Row(
            paper.hanging("", says, paper.MARGIN), _SPARE + 3 if table.candidates else 1, _WAYS
        )


def _to_be_made(day: Day) -> Iterator[Row]:
    yield _GAP
    yield Row(Text("To be done on the car", style="bold"))
    for spare, each in offer_view.work(day):
        yield Row(each, _SPARE if spare else 0, _WORK)
    for mark in status_object.rested_on(day):
        yield Row(paper.hanging("!", f"This change {amendment_words.rested(mark)}.", 2))


def _ended(day: Day) -> Iterator[Row]:
    """Yield the day in short: each change with what came of it, the latest where room is short."""
    runs = sum(isinstance(step, RunStep) for step in day.plan.step)
    ended = left_words.ended(day)
    yield Row(
        paper.line(f"{ended} {counted(runs, 'run')}, {counted(len(day.past), 'change')}.", "bold")
    )
    for number, past in enumerate(day.past):
        made = ", ".join(change_words.briefly(c) for c in past.made if c.amount) or "nothing"
        came = change_words.verdict(past) or "not judged"
        row = paper.hanging(f"step {past.step}", f"{made}: {came}", 10)
        yield Row(row, _SPARE + len(day.past) - number, "treadgate why PLAN")
    for left in left_words.says(day):
        yield Row(paper.hanging("left", left, 10))


def _care(day: Day) -> Iterator[Row]:
    """Yield the cautions that apply for the first time today."""
    said = (*status_object.of_the_settings(day), *(CAUTIONS[key] for key in care.first_due(day)))
    if said:
        yield _GAP
    for sentence in said:
        yield Row(paper.hanging("!", sentence, 2))


def _ahead(day: Day) -> Iterator[Row]:
    """Yield how the rest of the day may go, and what keeps weather and setup apart."""
    on = set_words.on_car(day)
    if on:
        yield Row(paper.indented(f"Tires: {on}", 2), 18)
    forecast = budget.forecast(day)
    if forecast is not None:
        yield Row(paper.indented(f"The day ahead: {budget_words.says(forecast)}.", 2), 20)
    for advice in drift.advice(day):
        yield Row(paper.hanging("-", drift_words.says(advice, day.plan.units), 2), 19)
