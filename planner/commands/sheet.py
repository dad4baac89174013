"""``treadgate sheet``: a blank run sheet for the clipboard."""

from pathlib import Path
from typing import get_args

import click

from planner.commands import kinds, output
from planner.commands.options import force_option, json_option, page_option
from planner.plan.steps import RunStep
from planner.storage import plans
from planner.storage.plans import Opened
from planner.trade import numbers
from planner.trade.corners import Turns
from planner.trade.refusals import Refusal
from planner.trade.units import System


@click.command("sheet")
@click.argument("plan", metavar="[PLAN]", required=False, type=kinds.File())
@page_option
@click.option("--units", type=click.Choice(get_args(System)), help="without a plan: °F or °C")
@click.option("--turns", type=click.Choice(get_args(Turns)), help="without a plan: of the track")
@click.option("--laps", type=kinds.within(numbers.LAPS), metavar="N", help="without a plan: (10)")
@force_option
@json_option
def command(
    plan: Path | None,
    page: Path | None,
    units: System | None,
    turns: Turns | None,
    laps: int | None,
    force: bool,
    as_json: bool,
) -> None:
    """Write a blank sheet for one run, to print; with PLAN, for the run that is due in it."""
    opened = None if plan is None else plans.open_plan(plan)
    if opened is not None and (units or turns or laps):
        raise Refusal(
            "usage",
            "The plan gives units, turns and laps itself.",
            where="--units, --turns, --laps",
            hint="omit them, or omit PLAN",
        )
    if opened is not None and opened.day.due == "nothing":
        raise Refusal(
            "not-due",
            "The day is complete: no run is due that a sheet could be for.",
            where=str(plan),
            hint="omit PLAN for a sheet for any day: treadgate sheet -o SHEET.html",
        )
    page = page or _beside(opened)
    # Loaded here so that --help need not wait.
    from planner.report import page as pages
    from planner.report import run_sheet

    pages.refuse_taken(page, force=force)
    if opened is None:
        kind = run_sheet.Kind(turns or "left", units or "us", laps or run_sheet.USUAL_LAPS)
        says = run_sheet.sheet(kind)
    else:
        says = run_sheet.sheet_for(opened.day, opened.path)
        output.say_all(opened.remarks)
    pages.write(page, pages.fill("sheet.html", says), force=force, like=plan)
    if as_json:
        stands = None if opened is None else {"stage": opened.day.stage, "due": opened.day.due}
        name = None if plan is None else str(plan)
        output.write_json({"sheet": str(page), "plan": name, "stands": stands})
    else:
        output.write(f"{page}: print it on one page, then type it in with record or the guide.")


def _beside(opened: Opened | None) -> Path:
    """Return where the sheet for the next run of a plan goes by default."""
    if opened is None:
        raise Refusal(
            "usage",
            "Without a plan, name the page to write.",
            where="-o",
            hint="treadgate sheet -o SHEET.html",
        )
    run = 1 + sum(isinstance(step, RunStep) for step in opened.day.plan.step)
    return opened.path.with_name(f"{opened.path.stem}-run-{run}.html")
