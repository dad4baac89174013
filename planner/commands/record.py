"""``treadgate record``: stores the readings of a run."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from planner import changes, desk, planfile, run_entry, slips
from planner import day as days
from planner.commands import output
from planner.commands.options import json_option, plan_argument
from planner.readings import FEELS, FLAGS, PHASES

_SHAPE = "CORNER=inner/middle/outer"


@click.command("record")
@plan_argument
@click.option("--tire", multiple=True, metavar=_SHAPE, help="temperatures of a tire; all four")
@click.option(
    "--from",
    "source",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="read the run from a .toml or .csv file",
)
@click.option("--laps", metavar="N", help="laps run, if not as many as asked")
@click.option("--lap-times", metavar="S,S,…", help="in order, seconds")
@click.option("--cold", multiple=True, metavar="CORNER=PSI", help="pressure before the run")
@click.option("--hot", multiple=True, metavar="CORNER=PSI", help="pressure after the run")
@click.option("--tread", multiple=True, metavar=_SHAPE, help="depth after the run, 1/32 in, or %")
@click.option("--tread-before", multiple=True, metavar=_SHAPE, help="depth before the run")
@click.option("--track-temp", metavar="T", help="track temperature")
@click.option("--air-temp", metavar="T", help="air temperature")
@click.option("--delay", metavar="SECONDS", help="from stop to the first reading")
@click.option("--order", metavar="LF,LR,RR,RF", help="the order the tires were read in")
@click.option("--again", metavar=_SHAPE, help="the first tire read once more at the end")
@click.option("--feel", type=click.Choice(FEELS), help="the driver's word")
@click.option("--where", type=click.Choice(PHASES), help="in which part of the corner")
@click.option("--flag", multiple=True, type=click.Choice(FLAGS), help="what upset the run")
@click.option(
    "--really",
    multiple=True,
    metavar="KNOB:CORNER:AMOUNT",
    help="what the change before this run really was, if made was told otherwise",
)
@click.option("--note", metavar="TEXT", help="anything else")
@json_option
def command(
    plan: Path, source: Path | None, really: tuple[str, ...], as_json: bool, **given: Any
) -> None:
    """Record the readings of a run, temperatures in the plan's unit."""
    system = planfile.load(plan).units
    stated: Mapping[str, Any] = {
        key: value for key, value in given.items() if value not in ((), None)
    }
    run = run_entry.from_options(stated, system, source)
    corrections = [changes.parse(text, "--really") for text in really]
    before = desk.open_plan(plan).day.good
    asked = slips.questions(run.tires, before[-1].run.tires if before else None, system)
    opened = desk.step(plan, lambda day, at: days.record(day, run, at, corrections))
    remarks = tuple(f"Look again: {question.says}" for question in asked)
    output.standing(opened, as_json=as_json, remarks=remarks)
