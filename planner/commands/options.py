"""Arguments and options that several commands share."""

import functools
import os
from collections.abc import Callable
from typing import Any, get_args

import click

from planner.commands import kinds
from planner.plan.steps import Budget
from planner.run import typed
from planner.run.from_options import NOTHING
from planner.run.readings import FEELS, FLAGS, PHASES
from planner.storage.starting import NewPlan
from planner.trade import numbers
from planner.trade.corners import Turns
from planner.trade.numbers import Number
from planner.trade.units import System

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
    help="the page to write; beside PLAN when left away",
)
force_option = click.option("--force", is_flag=True, help="write over a page that is there already")


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


def view_options(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command that shows something ``--json`` and ``--plain``."""
    return json_option(plain_option(command))


reason_option = click.option(
    "--reason", default="", metavar="TEXT", type=kinds.Text(), help="why, for the record"
)

after_option = click.option(
    "--after",
    type=kinds.whole(0, 99_999, "4"),
    metavar="STEP",
    help="only if STEP (see status) is still the last step: otherwise refuse, and tell what is new",
)

_FILE = kinds.File()


def _asked(option: str, number: Number, shape: str, **more: Any) -> Callable[..., Any]:
    return click.option(option, type=kinds.within(number), metavar=shape, help=number.help, **more)


_NEW_PLAN = (
    click.option("--rules", default="paved-oval", metavar="ID_OR_FILE", help="rules to go by"),
    click.option("--car", metavar="CAR.toml", type=_FILE, help="what is known of the car"),
    _asked("--laps", numbers.LAPS, "N"),
    click.option(
        "--track", type=kinds.Text(kinds.MOST_NAME), metavar="NAME", help="name of the track"
    ),
    click.option(
        "--units",
        type=click.Choice(get_args(System)),
        default="us",
        help="us: temperatures in °F; metric: in °C",
    ),
    click.option("--turns", type=click.Choice(get_args(Turns)), help="which way the track turns"),
    _asked("--certainty", numbers.CERTAINTY, "P"),
    _asked("--runs", numbers.RUNS, "N"),
    _asked("--minutes", numbers.MINUTES, "M"),
    _asked("--sets", numbers.TIRE_SETS, "N"),
    _asked("--runs-per-set", numbers.RUNS_PER_SET, "N", default=numbers.USUAL_RUNS_PER_SET),
    click.option(
        "--taught",
        metavar="FILE",
        type=_FILE,
        help="what an earlier day has taught, from: treadgate taught",
    ),
)

_SHAPE = "CORNER=inner/middle/outer"


def run_options(*, amending: bool = False) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command the options that describe a run, under their own names.

    Parameters
    ----------
    amending : the word ``none`` takes a value away.
    """
    none = (NOTHING,) if amending else ()
    tires = "temperatures of a tire" if amending else "temperatures of a tire; all four"
    options = (
        click.option("--tire", multiple=True, metavar=_SHAPE, help=tires),
        click.option(
            "--from",
            "source",
            type=_FILE,
            metavar="FILE",
            help="read the run from a .toml or .csv file",
        ),
        click.option(
            "--row",
            type=kinds.whole(1, 1_000_000, "2"),
            metavar="N",
            help="which run of a .csv file with several (the last)",
        ),
        click.option("--laps", metavar="N", help="laps run, if not as many as asked"),
        click.option("--lap-times", metavar="S,S,…", help="in order, seconds"),
        click.option("--cold", multiple=True, metavar="CORNER=PSI", help="pressure before the run"),
        click.option("--hot", multiple=True, metavar="CORNER=PSI", help="pressure after the run"),
        click.option(
            "--tread", multiple=True, metavar=_SHAPE, help="depth after the run, 1/32 in, or %"
        ),
        click.option("--tread-before", multiple=True, metavar=_SHAPE, help="depth before the run"),
        click.option("--track-temp", metavar="T", help="track temperature"),
        click.option("--air-temp", metavar="T", help="air temperature"),
        click.option("--delay", metavar="SECONDS", help="from stop to the first reading"),
        click.option("--order", metavar="LF,LR,RR,RF", help="the order the tires were read in"),
        click.option("--again", metavar=_SHAPE, help="the first tire read once more at the end"),
        click.option(
            "--feel", type=kinds.Spoken((*FEELS, *none), typed.feel), help="the driver's word"
        ),
        click.option(
            "--where",
            type=kinds.Spoken((*PHASES, *none), typed.phase),
            help="in which part of the corner",
        ),
        click.option(
            "--flag", multiple=True, type=click.Choice((*FLAGS, *none)), help="what upset the run"
        ),
        click.option("--note", type=kinds.Text(), metavar="TEXT", help="anything else"),
    )

    def given(command: Callable[..., None]) -> Callable[..., None]:
        for option in reversed(options):
            option(command)
        return command

    return given


def new_plan_options(command: Callable[..., None]) -> Callable[..., None]:
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
        names = ("rules", "car", "laps", "track", "units", "turns", "certainty", "taught")
        wanted = NewPlan(
            **{name: options.pop(name) for name in names},
            budget=Budget(runs, minutes, sets, runs_per_set),
        )
        command(*arguments, wanted=wanted, **options)

    for option in reversed(_NEW_PLAN):
        option(collected)
    return collected
