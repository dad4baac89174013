"""A car over its days, on the terminal."""

from collections.abc import Iterator, Sequence

from rich.console import Console, RenderableType
from rich.table import Table

from planner.review import season
from planner.review.season import CarSeason, DayOfCar
from planner.screen import paper
from planner.storage.plan_folder import Shelf
from planner.trade import knobs
from planner.trade.corners import CORNERS, was_read
from planner.trade.plain_text import counted
from planner.trade.units import System, apart, degree_mark, in_plan_unit
from planner.words import changes as change_words
from planner.words import season as words

MOST_DAYS = 5  # columns of settings; the latest days of a track
MOST_TOLD = 8  # days told one by one; the latest


def show(cars: Sequence[CarSeason], shelf: Shelf, console: Console | None = None) -> None:
    """Print each car's days, then by track where its settings ended, then what was skipped."""
    paper.put(console or paper.console(), _parts(cars, shelf))


def _parts(cars: Sequence[CarSeason], shelf: Shelf) -> Iterator[RenderableType]:
    if not cars:
        yield paper.indented("There is no plan here.", 2)
    for car in cars:
        system = car.days[-1].day.plan.units
        yield paper.heading(f"{words.named(car)}: {counted(len(car.days), 'day')}")
        if len(car.days) > MOST_TOLD:
            earlier = f"{len(car.days) - MOST_TOLD} earlier: treadgate season FOLDER -o PAGE.html"
            yield paper.indented(earlier, 2)
        for day in car.days[-MOST_TOLD:]:
            yield paper.Facts(("", *words.facts(day, system)))
            for label, said in (
                ("wrong", words.wrong(day)),
                ("changed", words.changed(day)),
                ("ended", words.ended(day)),
            ):
                yield paper.hanging(label, said, 9, start=4)
        for days_there in car.by_track():
            yield from _at_track(days_there, system)
    for path, why in shelf.unusable:
        yield paper.hanging("!", f"{path.name} skipped: {why.message}", 2)


def _at_track(days: Sequence[DayOfCar], system: System) -> Iterator[RenderableType]:
    track = days[-1].track or "track not named"
    shown = days[-MOST_DAYS:]
    turned = list(season.turned(shown))
    if turned:
        yield paper.heading(f"{track}: where the setting ended")
        table = _table(("", *(f"{day.date:%d %b %y}" for day in shown), ""))
        for (knob, place), ends in turned:
            values = (words.setting(knob, at) for at in ends)
            name = change_words.named((knob, place))
            table.add_row(paper.line(name), *values, knobs.of(knob).unit)
        yield table
    yield paper.heading(f"{track}: the first run of each day, {degree_mark(system)}")
    order = " ".join(CORNERS)
    table = _table(("", f"average {order}", "split", "crown", "balance"))
    for day in shown:
        table.add_row(f"{day.date:%d %b %y}", *_first(day, system))
    yield table


def _table(heads: Sequence[str]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 1), pad_edge=True, header_style="dim")
    for number, head in enumerate(heads):
        table.add_column(
            head, justify="right" if number else "left", no_wrap=True, overflow="ellipsis"
        )
    return table


def _first(day: DayOfCar, system: System) -> Iterator[str]:
    """Yield the figures of the first run: averages, splits and crowns LF RF LR RR, and balance."""
    assert day.first is not None
    base = day.first.figures.base
    averages = (in_plan_unit(base[f"average.{corner}"], system) for corner in CORNERS)
    yield " ".join(_whole(at, "") for at in averages)
    for kind in ("split", "crown"):
        yield " ".join(_whole(apart(base[f"{kind}.{corner}"], system)) for corner in CORNERS)
    yield _whole(apart(base["average.RF"] - base["average.RR"], system))


def _whole(at: float, sign: str = "+") -> str:
    """Write a figure in whole degrees; a dash where it was not read."""
    return f"{round(at) + 0:{sign}3d}" if was_read(at) else "  -"
