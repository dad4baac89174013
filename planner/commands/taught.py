"""``treadgate taught``: what the car has taught, shown or kept for another day."""

import itertools
import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.commands import kinds, output
from planner.commands.on_plan import OnPlan, plan_command
from planner.storage import outputs
from planner.trade import units
from planner.trade.plain_text import counted
from planner.trade.units import System
from planner.words.figures import in_words

if TYPE_CHECKING:  # numpy comes with it
    from planner.trade.estimate import Estimate


@plan_command("taught")
@click.argument("file", metavar="[FILE]", type=kinds.File(), required=False)
def command(on: OnPlan, file: Path | None) -> None:
    """Show what the car has taught; or write it to FILE, for another day's start --taught FILE."""
    if file is None:
        _show(on)
        return
    knobs = outputs.keep_taught(on.open(), file)
    if on.as_json:
        on.write_json(file=str(file), knobs=knobs)
    else:
        output.write(f"{file}: what {counted(knobs, 'knob')} did. To begin from it:")
        output.write(f"  treadgate start PLAN --taught {file}")


def _show(on: OnPlan) -> None:
    from planner.review import lessons

    opened = on.open()
    found = lessons.of(opened.day)
    if on.as_json:
        rows = [lesson.as_dict() for lesson in found]
        on.write_json(units=units.JSON_UNITS, runs=len(opened.day.good), lessons=rows)
        return
    system = opened.day.plan.units
    output.write("What the car has taught today, as mean ± one standard deviation.")
    for (knob, place), rows_of in itertools.groupby(found, key=lambda lesson: lesson.setting):
        of_knob = list(rows_of)
        output.write(
            f"\n{place} {knob}, {units.degree_mark(system)} per {of_knob[0].unit}, "
            f"{counted(of_knob[0].changes, 'change')}"
        )
        for lesson in of_knob:
            now, before = (_answer(each, system) for each in (lesson.learned, lesson.believed))
            name = in_words(lesson.figure)
            output.write(f"  {name:11} {now:16} before: {before} ({lesson.rests_on})")
    output.write(f"\nTo keep it for another day: treadgate taught {opened.path} FILE")


def _answer(estimate: "Estimate", system: System) -> str:
    """Write an estimate with two figures of its spread, and as many decimals of its mean."""
    mean, sd = (units.apart(each, system) for each in (estimate.mean, estimate.sd))
    decimals = max(0, 1 - math.floor(math.log10(sd))) if sd > 0 else 2
    return f"{mean:+.{decimals}f} ± {sd:.{decimals}f}"
