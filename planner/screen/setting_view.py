"""The life of one setting, and the setup as it stands, on the terminal."""

from collections.abc import Iterator, Sequence

from rich.console import Console, RenderableType
from rich.table import Table

from planner.plan.on_car import OnCar
from planner.screen import day_view, paper
from planner.storage.plans import Opened
from planner.trade import knobs
from planner.words import amendments as amendment_words
from planner.words.one_setting import Event, Life

_MARGIN = 13


def show(life: Life, console: Console | None = None) -> None:
    """Print a setting from the start of the day until now."""
    paper.put(console or paper.console(), _parts(life))


def show_setup(opened: Opened, setup: Sequence[OnCar], console: Console | None = None) -> None:
    """Print every setting that is known, as the day began with it and as it stands."""
    paper.put(console or paper.console(), _setup(opened, setup))


def _setup(opened: Opened, setup: Sequence[OnCar]) -> Iterator[RenderableType]:
    yield from day_view.head(opened.day, opened.path)
    yield paper.heading("The setup: at the start → now")
    if not setup:
        yield paper.indented(
            "No setting is known: the plan was made without a car file, and no pressure was "
            "recorded.",
            2,
        )
    table = Table.grid(padding=(0, 2, 0, 0))
    for each in setup:
        began, stands = (_at(value, each.knob) for value in (each.begun, each.now))
        text = stands if began == stands else f"{began} → {stands}"
        table.add_row(f"{each.place} {each.knob}", text, _moved(each))
    yield paper.padded(table)


def _moved(at: OnCar) -> str:
    if not at.times:
        return ""
    often = {1: "once", 2: "twice"}.get(at.times, f"{at.times} times")
    if at.begun is None and at.now is None:
        return f"moved {often}, {knobs.shown(at.knob, at.moved)} in all"
    return f"moved {often}"


def _parts(life: Life) -> Iterator[RenderableType]:
    knob, place = life.setting
    name = f"{place} {knob}"
    yield paper.line(f"{name}: {_at(life.start, knob)} → {_at(life.now, knob)}", "bold")
    if not life.events:
        yield paper.indented("Not touched so far.", 2)
    for event in life.events:
        yield paper.heading(f"Step {event.step}, {event.time[11:16]}: {_headline(event, knob)}")
        for mark in event.rested:
            yield paper.hanging("marked", amendment_words.rested(mark), _MARGIN)
        for words in event.amended_words:
            yield paper.hanging("amended", f"by {words}; shown as it is now", _MARGIN)
        for label, text in (
            ("because", event.why),
            ("reason", event.reason),
            ("result", event.came),
        ):
            if text:
                yield paper.hanging(label, text, _MARGIN)
        if event.kind == "moved" and not event.came:
            yield paper.hanging("result", "not known (yet)", _MARGIN)


def _headline(event: Event, knob: str) -> str:
    text = f"{_at(event.before, knob)} → {_at(event.after, knob)}"
    if event.amount is not None:
        text = f"{knobs.shown(knob, event.amount)}, {text}"
    if event.trim:
        text += ", riding trim"
    return f"{text}: {event.verdict_words}" if event.verdict_words else text


def _at(value: float | None, knob: str) -> str:
    return "not known" if value is None else knobs.shown(knob, value, signed=False)
