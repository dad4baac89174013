"""The life of one setting, on the terminal."""

from collections.abc import Iterator

from rich.console import Console, RenderableType

from planner import knobs
from planner.review.life import Event, Life
from planner.screen import paper

_MARGIN = 13


def show(life: Life, console: Console | None = None) -> None:
    """Print a setting from the start of the day until now."""
    paper.put(console or paper.console(), _parts(life))


def _parts(life: Life) -> Iterator[RenderableType]:
    knob, place = life.setting
    name = f"{place} {knob}"
    yield paper.line(f"{name}: {_at(life.start, knob)} → {_at(life.now, knob)}", "bold")
    if not life.events:
        yield paper.indented("Not touched so far.", 2)
    for event in life.events:
        yield paper.heading(f"Step {event.step}, {event.time[11:16]}: {_headline(event, knob)}")
        for mark in event.rested:
            yield paper.hanging("marked", mark.says, _MARGIN)
        for number in event.amended_by:
            yield paper.hanging("amended", f"by step {number}; told as it is now", _MARGIN)
        for label, text in (
            ("because", event.why),
            ("reason", event.reason),
            ("came of it", event.came),
        ):
            if text:
                yield paper.hanging(label, text, _MARGIN)
        if event.kind == "moved" and not event.came:
            yield paper.hanging("came of it", "not known (yet)", _MARGIN)


def _headline(event: Event, knob: str) -> str:
    text = f"{_at(event.before, knob)} → {_at(event.after, knob)}"
    if event.amount is not None:
        text = f"{knobs.shown(knob, event.amount)}, {text}"
    if event.trim:
        text += ", riding trim"
    return f"{text}: {event.verdict.replace('-', ' ')}" if event.verdict else text


def _at(value: float | None, knob: str) -> str:
    return "not known" if value is None else knobs.shown(knob, value, signed=False)
