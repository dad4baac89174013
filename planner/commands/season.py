"""``treadgate season``: each car of a folder over its days."""

from pathlib import Path

import click

from planner.commands import kinds, output, working
from planner.commands.options import view_options
from planner.review import season
from planner.storage import plan_folder
from planner.trade import units


@click.command("season")
@click.argument(
    "folder", metavar="[FOLDER]", type=kinds.File(folders=True), default=Path(), required=False
)
@view_options
def command(folder: Path, as_json: bool) -> None:
    """Show each car of FOLDER (or of this one) over its days, and by track where it ended.

    As a table: treadgate export PLAN --only season.
    """
    with working.told("Reading the plans"):
        shelf = plan_folder.shelf(folder, afresh=False)
    cars = season.by_car((opened.path, opened.day) for opened in shelf.plans)
    if as_json:
        from planner.export import season as exported

        output.write_json(
            {
                "folder": str(folder),
                "units": units.JSON_UNITS,
                "cars": [exported.as_dict(car) for car in cars],
                "unusable": plan_folder.unusable(shelf),
            }
        )
        return
    from planner.screen import season_view

    season_view.show(cars, shelf)
