"""``treadgate sheet``: a sheet for the clipboard, for a run or for the car before the day."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

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
@click.option("--setup", is_flag=True, help="the car before the day, with room for the rest")
@click.option(
    "--car", metavar="CAR.toml", type=kinds.File(), help="with --setup, without a plan: the car"
)
@force_option
@json_option
def command(
    plan: Path | None,
    page: Path | None,
    setup: bool,
    car: Path | None,
    force: bool,
    as_json: bool,
    **kind: Any,
) -> None:
    """Write a blank sheet for one run, to print; with PLAN, for the run that is due in it.

    With --setup it is a setup sheet for before the day: all that PLAN, or a car file without one,
    knows of the car, with room for what nobody computes (shocks, gear, tape).
    """
    opened = None if plan is None else plans.open_plan(plan)
    _refuse_mixed(opened, setup=setup, car=car, kind=kind)
    page = page or _beside(opened, setup=setup, car=car)
    # Loaded here so that --help need not wait.
    from planner.report import page as pages

    pages.refuse_taken(page, force=force)
    says = _setup(opened, car) if setup else _run(opened, kind)
    if opened is not None:
        output.say_all(opened.remarks)
    text = pages.fill("setup.html" if setup else "sheet.html", says)
    pages.write(page, text, force=force, like=None if opened is None else opened.path)
    if as_json:
        stands = None if opened is None else {"stage": opened.day.stage, "due": opened.day.due}
        name = None if plan is None else str(plan)
        output.write_json({"sheet": str(page), "plan": name, "stands": stands})
    elif setup:
        output.write(f"{page}: print it on one page, and write on it what is set today.")
    else:
        output.write(f"{page}: print it on one page, then type it in with record or the guide.")


def _setup(opened: Opened | None, car: Path | None) -> dict[str, Any]:
    from planner.car import car_file
    from planner.report import setup_sheet

    if opened is not None:
        return setup_sheet.of_plan(opened.day, opened.path)
    known = car_file.Car() if car is None else car_file.load(car)
    return setup_sheet.of_car(known, "" if car is None else car.stem)


def _run(opened: Opened | None, kind: Mapping[str, Any]) -> dict[str, Any]:
    from planner.report import run_sheet

    if opened is not None:
        return run_sheet.sheet_for(opened.day, opened.path)
    given = {name: value for name, value in kind.items() if value is not None}
    return run_sheet.sheet(run_sheet.Kind(**given))


def _refuse_mixed(
    opened: Opened | None, *, setup: bool, car: Path | None, kind: Mapping[str, Any]
) -> None:
    """Refuse options that say a thing twice, or that are for the other sheet."""
    if setup and any(kind.values()):
        raise Refusal(
            "usage",
            "Units, turns and laps are for a run sheet.",
            where="--units, --turns, --laps",
            hint="omit them, or omit --setup",
        )
    if car is not None and (opened is not None or not setup):
        raise Refusal(
            "usage",
            "A car file is for a setup sheet without a plan; a plan has its own.",
            where="--car",
            hint="treadgate sheet --setup --car CAR.toml, or treadgate car PLAN CAR.toml first",
        )
    if opened is None or setup:
        return
    if any(kind.values()):
        raise Refusal(
            "usage",
            "The plan gives units, turns and laps itself.",
            where="--units, --turns, --laps",
            hint="omit them, or omit PLAN",
        )
    if opened.day.due == "nothing":
        raise Refusal(
            "not-due",
            "The day is complete: no run is due that a sheet could be for.",
            where=str(opened.path),
            hint="omit PLAN for a sheet for any day: treadgate sheet -o SHEET.html",
        )


def _beside(opened: Opened | None, *, setup: bool, car: Path | None) -> Path:
    """Return where a sheet goes by default: beside the plan, or beside the car file."""
    if opened is None and car is None:
        raise Refusal(
            "usage",
            "Without a plan, name the page to write.",
            where="-o",
            hint=f"treadgate sheet {'--setup ' if setup else ''}-o SHEET.html",
        )
    if opened is None:
        assert car is not None
        return car.with_name(f"{car.stem}-setup.html")
    if setup:
        return opened.path.with_name(f"{opened.path.stem}-setup.html")
    run = 1 + sum(isinstance(step, RunStep) for step in opened.day.plan.step)
    return opened.path.with_name(f"{opened.path.stem}-run-{run}.html")
