"""Two days side by side, on the terminal."""

from collections.abc import Iterator, Sequence

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from planner.review.two_days import FigureOfDays, SettingOfDays, TwoDays
from planner.screen import paper
from planner.trade import knobs
from planner.trade.units import System, apart, degree_mark
from planner.words import changes as change_words
from planner.words import season as words
from planner.words.figures import in_words, number

DIFFERS = "*"


def show(found: TwoDays, console: Console | None = None) -> None:
    """Print settings, first and last runs and changes of two days, the one A, the other B."""
    paper.put(console or paper.console(), _parts(found))


def _parts(found: TwoDays) -> Iterator[RenderableType]:
    system = found.one.day.plan.units
    days = (("A", found.one), ("B", found.other))
    for letter, day in days:
        yield paper.Facts((f"{letter}  {day.path.name}", *words.facts(day, system)))
    if found.settings:
        yield paper.heading("Settings, morning → end")
        yield _table(("", "A", "B", ""), (_setting(each) for each in found.settings))
    yield paper.heading(f"Figures, {degree_mark(system)}")
    heads = ("", "first A", "first B", "B by A", "", "last A", "last B")
    yield _table(heads, (_figure(each, system) for each in found.figures))
    yield paper.indented("B by A: what B's setting in B's weather should have read, by A's runs", 2)
    if any(each.differs for each in found.figures):
        yield paper.indented(f"{DIFFERS} it read otherwise: noise alone does that 1 in 20 times", 2)
    yield paper.heading("Changes")
    for letter, day in days:
        yield paper.hanging(letter, words.changed(day), 3)


def _table(heads: Sequence[str], rows: Iterator[Sequence[str]]) -> RenderableType:
    table = Table.grid(padding=(0, 2, 0, 0))
    for head in heads:
        table.add_column(justify="right" if head else "left")
    table.add_row(*(Text(head, style="dim") for head in heads))
    for row in rows:
        table.add_row(*map(paper.line, row))
    return paper.padded(table)


def _setting(each: SettingOfDays) -> Sequence[str]:
    knob = each.setting[0]
    sides = (
        " → ".join(words.setting(knob, at) for at in dict.fromkeys(ends))
        for ends in (each.one, each.other)
    )
    return change_words.named(each.setting), *sides, knobs.of(knob).unit


def _figure(each: FigureOfDays, system: System) -> Sequence[str]:
    def shown(value: float) -> str:
        return number(each.figure, value, system)

    expected = ""
    if each.expected is not None:
        expected = f"{shown(each.expected.mean)} ± {apart(each.expected.sd, system):.0f}"
    mark = DIFFERS if each.differs else ""
    first = shown(each.one[0]), shown(each.other[0])
    return in_words(each.figure), *first, expected, mark, shown(each.one[1]), shown(each.other[1])
