"""``treadgate taught``: what the car has taught, shown or kept for another day."""

import itertools
import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from planner.commands import kinds, output
from planner.commands.options import json_option, plan_argument
from planner.storage import outputs, plans
from planner.storage.plans import Opened
from planner.trade import units
from planner.trade.figures import in_words
from planner.trade.units import System

if TYPE_CHECKING:  # numpy comes with it
    from planner.trade.estimate import Estimate


@click.command("taught")
@plan_argument
@click.argument("file", metavar="[FILE]", type=kinds.File(), required=False)
@json_option
def command(plan: Path, file: Path | None, as_json: bool) -> None:
    """Show what the car has taught; or write it to FILE, for another day's start --taught FILE."""
    opened = plans.open_plan(plan)
    if file is None:
        _show(opened, as_json=as_json)
        return
    knobs = outputs.keep_taught(opened, file)
    if as_json:
        output.write_json({"plan": str(plan), "file": str(file), "knobs": knobs})
    else:
        output.write(f"{file}: the car's answer to {knobs} knob{'s' * (knobs != 1)}. Another day:")
        output.write(f"  treadgate start PLAN --taught {file}")


def _show(opened: Opened, *, as_json: bool) -> None:
    from planner.review import lessons

    found = lessons.of(opened.day)
    if as_json:
        rows = [lesson.as_dict() for lesson in found]
        head = {"plan": str(opened.path), "units": units.JSON_UNITS}
        output.write_json({**head, "runs": len(opened.day.good), "lessons": rows})
        return
    system = opened.day.plan.units
    output.write("What the car has taught today, as mean ± one standard deviation.")
    for (knob, place), rows_of in itertools.groupby(found, key=lambda lesson: lesson.setting):
        of_knob = list(rows_of)
        times = of_knob[0].changes
        counted = f"{times} change{'' if times == 1 else 's'}"
        output.write(
            f"\n{place} {knob}, {units.degree_mark(system)} per {of_knob[0].unit}, {counted}"
        )
        for lesson in of_knob:
            now, before = (_answer(each, system) for each in (lesson.learned, lesson.believed))
            name = in_words(lesson.figure)
            output.write(f"  {name:11} {now:16} before: {before} ({lesson.rests_on})")
    output.write(f"\nTo keep it for another day: treadgate taught {opened.path} FILE")


def _answer(estimate: "Estimate", system: System) -> str:
    """Write an estimate with two figures of its spread, and as many decimals of its mean."""
    mean, sd = (each * (1.0 if system == "us" else 5 / 9) for each in (estimate.mean, estimate.sd))
    decimals = max(0, 1 - math.floor(math.log10(sd))) if sd > 0 else 2
    return f"{mean:+.{decimals}f} ± {sd:.{decimals}f}"
