"""Arguments and options that several commands share."""

import functools
import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import attrs
import click

from planner.commands import kinds
from planner.plan.steps import Budget
from planner.run import driver
from planner.run.readings import FEELS, FLAGS, PHASES
from planner.trade import numbers
from planner.trade.corners import Turns
from planner.trade.numbers import Number
from planner.trade.refusals import Refusal
from planner.trade.units import System

if TYPE_CHECKING:  # commands that only look at a plan need no run and no new plan
    from planner.run.from_options import Sheet

Command = Callable[..., None]

plan_argument = click.argument("plan", metavar="PLAN", type=kinds.File())
json_option = click.option(
    "--json", "as_json", is_flag=True, help="print one JSON object and nothing else"
)
page_option = click.option(
    "-o",
    "--out",
    "page",
    metavar="FILE.html",
    type=kinds.File(),
    help="the page to write (beside PLAN)",
)
force_option = click.option("--force", is_flag=True, help="overwrite an existing page")


def _plain(_: click.Context, __: click.Parameter, wanted: bool) -> None:
    if wanted:  # what terminals without colours call themselves; every library knows it
        os.environ["TERM"] = "dumb"


plain_option = click.option(
    "--plain",
    is_flag=True,
    expose_value=False,
    callback=_plain,
    help="no colours and no bold: letters only",
)


full_option = click.option(
    "--full", is_flag=True, help="everything there is to show, not one window of it"
)


def view_options(command: Command) -> Command:
    """Give a command that shows something ``--json`` and ``--plain``."""
    return json_option(plain_option(command))


def reason_option(words: str) -> Callable[[Command], Command]:
    """Return ``--reason``, its help in these words."""
    return click.option("--reason", default="", metavar="TEXT", type=kinds.Text(), help=words)


def change_option(name: str, words: str) -> Callable[[Command], Command]:
    """Return an option that takes changes, one each time it is given."""
    return click.option(
        name, multiple=True, metavar="KNOB:CORNER:AMOUNT", type=kinds.Change(), help=words
    )


after_option = click.option(
    "--after",
    type=kinds.whole(0, 99_999, "4"),
    metavar="STEP",
    help="only if STEP (see status) is still the last step; otherwise say what is new",
)

_FILE = kinds.File()


def _asked(option: str, number: Number, shape: str, **more: Any) -> Callable[..., Any]:
    return click.option(option, type=kinds.within(number), metavar=shape, help=number.help, **more)


_NEW_PLAN = (
    click.option("--rules", metavar="ID_OR_FILE", help="rules to use (paved-oval)"),
    click.option("--car", metavar="CAR.toml", type=_FILE, help="what is known about the car"),
    _asked("--laps", numbers.LAPS, "N"),
    click.option(
        "--track", type=kinds.Text(kinds.MOST_NAME), metavar="NAME", help="name of the track"
    ),
    click.option(
        "--units",
        type=click.Choice(get_args(System)),
        help="us: temperatures in °F (the usual); metric: in °C",
    ),
    click.option("--turns", type=click.Choice(get_args(Turns)), help="which way the track turns"),
    _asked("--certainty", numbers.CERTAINTY, "P"),
    _asked("--runs", numbers.RUNS, "N"),
    _asked("--minutes", numbers.MINUTES, "M"),
    _asked("--sets", numbers.TIRE_SETS, "N"),
    _asked("--runs-per-set", numbers.RUNS_PER_SET, "N", default=numbers.USUAL_RUNS_PER_SET),
    click.option("--one-change", is_flag=True, help="one change at a stop, no trims beside it"),
    click.option(
        "--taught",
        metavar="FILE",
        type=_FILE,
        help="what an earlier day taught, from: treadgate taught; instead of this folder's days",
    ),
    click.option(
        "--from",
        "last",
        metavar="LAST.toml",
        type=_FILE,
        help="an earlier plan: the car as it was left, and its rules, units, track and laps",
    ),
    click.option(
        "--from-scratch", is_flag=True, help="begin without what earlier days of this car taught"
    ),
)

_ROW = kinds.whole(1, 1_000_000, "2")
_SHAPE = "CORNER=inner/middle/outer"
_each = functools.partial(click.option, multiple=True)
_READ = (
    _each("--tire", metavar=_SHAPE, help="temperatures of a tire; a new run needs all four"),
    click.option("--from", "source", type=_FILE, metavar="FILE", help="a .toml or .csv to read"),
    click.option("--row", type=_ROW, metavar="N", help="which run of a .csv (the last)"),
    click.option("--laps", metavar="N", help="laps run, if not as many as planned"),
    click.option("--lap-times", metavar="S,S,…", help="in order, seconds"),
    _each("--cold", metavar="CORNER=PSI", help="pressure before the run"),
    _each("--hot", metavar="CORNER=PSI", help="pressure after the run"),
    _each("--tread", metavar=_SHAPE, help="depth after the run, 1/32 in, or %"),
    _each("--tread-before", metavar=_SHAPE, help="depth before the run"),
    click.option(
        "--set",
        type=kinds.Text(),
        metavar="NAME",
        help='set of tires, and what it is if said: "2 new"',
    ),
    click.option("--track-temp", metavar="T", help="track temperature"),
    click.option("--air-temp", metavar="T", help="air temperature"),
    click.option("--delay", metavar="SECONDS", help="from stop to the first reading"),
    click.option("--order", metavar="LF,LR,RR,RF", help="the order the tires were read in"),
    click.option("--again", metavar=_SHAPE, help="the first tire read once more at the end"),
)
_NOTE = click.option("--note", type=kinds.Text(), metavar="TEXT", help="anything else")


def _said(none: tuple[str, ...]) -> tuple[Callable[..., Any], ...]:
    """Return the options that take one of a few words; `none` is one more of them."""
    feel, phase = (*FEELS, *none), (*PHASES, *none)
    return (
        _each(
            "--feel",
            type=kinds.Spoken(feel, driver.felt),
            help="the driver's word, or words: loose entry, tight exit",
        ),
        click.option("--where", type=kinds.Spoken(phase, driver.phase), help="where in the corner"),
        _each("--flag", type=click.Choice((*FLAGS, *none)), help="what upset the run"),
    )


def run_options(*, amending: bool = False) -> Callable[[Command], Command]:
    """Give a command the options that describe a run, under their own names.

    Parameters
    ----------
    amending : the word ``none`` takes a value away.
    """
    from planner.run.from_options import NOTHING

    options = (*_READ, *_said((NOTHING,) if amending else ()), _NOTE)
    return lambda command: _with_options(command, options)


def run_given(
    source: Path | None, row: int | None, system: System, typed: Mapping[str, Any]
) -> "Sheet":
    """Return what the options say of a run, over what a file says, and remarks on the file."""
    if source is None and row is not None:
        raise Refusal("usage", "--row needs --from.", where="--row", hint="--from FILE.csv --row 2")
    from planner.run import from_options
    from planner.run.from_options import Sheet

    sheet = Sheet({}) if source is None else from_options.from_file(source, system, row)
    given = {key: value for key, value in typed.items() if value not in ((), None)}
    return Sheet({**sheet.texts, **given}, sheet.remarks)


def new_plan_options(command: Command) -> Command:
    """Give a command the options a new plan is made with; it gets them as ``wanted``."""

    @functools.wraps(command)
    def collected(
        *arguments: Any,
        runs: int | None,
        minutes: float | None,
        sets: int | None,
        runs_per_set: int,
        **options: Any,
    ) -> None:
        from planner.storage.starting import NewPlan

        names = [each.name for each in attrs.fields(NewPlan) if each.name in options]
        wanted = NewPlan(
            **{name: options.pop(name) for name in names},
            budget=Budget(runs, minutes, sets, runs_per_set),
        )
        command(*arguments, wanted=wanted, **options)

    return _with_options(collected, _NEW_PLAN)


def _with_options(command: Command, options: Sequence[Callable[..., Any]]) -> Command:
    for option in reversed(options):
        command = option(command)
    return command
