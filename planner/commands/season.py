"""``treadgate season``: each car of a folder over its days."""

from collections.abc import Sequence
from pathlib import Path

import click

from planner.car import car_file
from planner.commands import kinds, output, working
from planner.commands.options import force_option, view_options
from planner.review import season
from planner.review.season import CarSeason
from planner.storage import plan_folder
from planner.trade import units
from planner.trade.refusals import Refusal, quoted
from planner.words import season as words


@click.command("season")
@click.argument(
    "folder", metavar="[FOLDER]", type=kinds.File(folders=True), default=Path(), required=False
)
@click.option(
    "--car", "wanted", metavar="NAME", type=kinds.Text(), help="this car alone, by id or name"
)
@click.option(
    "-o",
    "--out",
    "page",
    metavar="FILE.html",
    type=kinds.File(),
    help="a page of one car, to print",
)
@force_option
@view_options
def command(
    folder: Path, wanted: str | None, page: Path | None, force: bool, as_json: bool
) -> None:
    """Show each car of FOLDER (or of this one) over its days, and by track where it ended.

    With -o it is a page of one car: its days, every change ever made, where the setting ended, what
    each knob was found to do. As a table: treadgate export PLAN --only season.
    """
    if page is not None:
        from planner.report import page as pages

        pages.refuse_taken(page, force=force)
    shelf = plan_folder.shelf(folder)
    cars = season.by_car((opened.path, opened.day) for opened in shelf.plans)
    if wanted is not None:
        cars = tuple(car for car in cars if car_file.same(wanted) in car.known_by)
        if not cars:
            raise Refusal(
                "no-car",
                f"There is no day of {quoted(wanted)} here.",
                where="--car",
                hint="treadgate season shows the cars of a folder",
            )
    if page is not None:
        _write(page, _only(cars), force=force)
    if as_json:
        from planner.export import season as exported

        output.write_json(
            {
                "folder": str(folder),
                "units": units.JSON_UNITS,
                "cars": [exported.as_dict(car) for car in cars],
                "unusable": plan_folder.unusable(shelf),
            }
            | ({} if page is None else {"page": str(page)})
        )
    elif page is not None:
        output.write(f"{page}: {words.named(cars[0])}.")
    else:
        from planner.screen import season_view

        season_view.show(cars, shelf)


def _only(cars: Sequence[CarSeason]) -> CarSeason:
    """Return the one car that a page is of."""
    if len(cars) == 1:
        return cars[0]
    names = ", ".join(quoted(words.named(car)) for car in cars)
    raise Refusal(
        "usage",
        f"A page is of one car; here are {names}." if cars else "There is no plan here.",
        where="--car" if cars else "FOLDER",
        hint="--car NAME_OR_ID" if cars else "treadgate season FOLDER -o PAGE.html",
    )


def _write(page: Path, car: CarSeason, *, force: bool) -> None:
    from planner.report import page as pages

    with working.told("Drawing the page"):
        from planner.report import season_page

        text = pages.fill("season.html", season_page.of_car(car))
    pages.write(page, text, force=force)
