"""``treadgate days``: all plans of a folder and where they stand."""

from pathlib import Path
from typing import Any

import attrs
import click

from planner.commands import kinds, output, working
from planner.commands.options import view_options
from planner.plan import left_open
from planner.plan.steps import AmendStep, RunStep
from planner.storage import plan_folder
from planner.storage.plans import Opened


@click.command("days")
@click.argument(
    "folder", metavar="[FOLDER]", type=kinds.File(folders=True), default=Path(), required=False
)
@view_options
def command(folder: Path, as_json: bool) -> None:
    """List the plans of FOLDER (or of this one): where each stands and what is due."""
    with working.told("Reading the plans"):
        shelf = plan_folder.shelf(folder)
    if as_json:
        output.write_json(
            {
                "folder": str(folder),
                "plans": [_plan(opened) for opened in shelf.plans],
                "unusable": plan_folder.unusable(shelf),
                "others": [str(path) for path in shelf.others],
            }
        )
        return
    from planner.screen import plans_view

    plans_view.show(shelf, folder)


def _plan(opened: Opened) -> dict[str, Any]:
    day = opened.day
    return {
        "plan": str(opened.path),
        "date": day.plan.created.date().isoformat(),
        "created": day.plan.created.isoformat(),
        "track": day.plan.track,
        "car": day.car.car.name,
        "rules": day.plan.rules.id,
        "stage": day.stage,
        "due": day.due,
        "round": day.round,
        "complete": day.stage == "complete",
        "left_open": [attrs.asdict(each) for each in left_open.left_open(day)],
        "confirmed": day.stage == "complete" and left_open.unconfirmed(day) is None,
        "amended": sum(isinstance(step, AmendStep) for step in day.plan.step),
        "steps": len(day.plan.step),
        "runs": sum(isinstance(step, RunStep) for step in day.plan.step),
        "last_outcome": None if day.outcome is None else day.outcome.verdict,
        "last_step": day.plan.step[-1].time.isoformat() if day.plan.step else None,
        "remarks": list(opened.remarks),
    }
