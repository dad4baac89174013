"""``treadgate export``: the day as tables or JSON, or its car file for another day."""

from pathlib import Path

import click

from planner.commands import kinds, output
from planner.commands.on_plan import OnPlan, plan_command
from planner.export import plan_json
from planner.storage import outputs
from planner.storage.plans import Opened
from planner.trade import plain_text
from planner.trade.refusals import Refusal


def _schema(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        from planner.export import plan_schema

        output.write(plan_schema.published().rstrip("\n"))
        context.exit()


@plan_command("export")
@click.option(
    "-o",
    "--output",
    "target",
    metavar="FOLDER_OR_FILE",
    type=kinds.File(folders=True),
    help="where to write; without it JSON, a car file or a single table goes to standard output",
)
@click.option(
    "--as",
    "form",
    type=click.Choice(("csv", "json", "car")),
    default="csv",
    help="csv: tidy tables (the default); json: the whole plan; car: a car file for another day",
)
@click.option(
    "--only",
    type=click.Choice(("runs", "laps", "readings", "figures", "changes", "outcomes", "season")),
    help="a single table; season: a row for each day of this car in the folder of PLAN",
)
@click.option("--force", is_flag=True, help="overwrite existing files")
@click.option(
    "--schema",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_schema,
    help="print the JSON Schema of --as json, and nothing else",
)
def command(on: OnPlan, target: Path | None, form: str, only: str | None, force: bool) -> None:
    """Write the day for other programs, or the car as it stands for another day's start --car.

    CSV: a folder with runs.csv (a row a run: laps, pressures, weather, the driver's word, flags,
    note), laps.csv, readings.csv (with the tread), figures.csv, changes.csv and outcomes.csv.
    Temperatures in CSV are in the plan's unit, in JSON in °F.
    """
    if form != "csv" and only is not None:
        raise Refusal(
            "usage", "--only picks a table of CSV.", where="--only", hint=f"omit --as {form}"
        )
    opened = on.open()
    if target is not None and target.exists() and target.samefile(on.path):
        raise Refusal(
            "exists", "This is the plan itself.", where=str(target), hint="-o with another name"
        )
    files = _files(opened, form, only)
    if target is None:
        _print(on, files, form, only)
        return
    written = [
        str(path) for path in outputs.write_all(_places(files, target), on.path, force=force)
    ]
    if on.as_json:
        on.write_json(files=written)
    else:
        output.write("\n".join(written))


def _files(opened: Opened, form: str, only: str | None) -> dict[str, str]:
    """Return the contents of the files, by name."""
    day, path = opened.day, opened.path
    if form == "car":
        from planner.export import next_car

        return {f"{path.stem}-car.toml": next_car.text(day, path.name)}
    if form == "json":
        return {f"{path.stem}.json": plain_text.as_json(plan_json.as_json(day.plan)) + "\n"}
    if only == "season":
        from planner.export import season as exported
        from planner.review import season
        from planner.storage import plan_folder

        shelf = plan_folder.shelf(path.parent)
        cars = season.by_car((each.path, each.day) for each in shelf.plans)
        (car,) = (each for each in cars if any(at.path.samefile(path) for at in each.days))
        return {"season.csv": exported.table(car)}
    from planner.export import spreadsheet

    made = spreadsheet.tables(day)
    return {f"{name}.csv": made[name] for name in ((only,) if only else spreadsheet.TABLES)}


def _print(on: OnPlan, files: dict[str, str], form: str, only: str | None) -> None:
    """Print the one file there is to standard output."""
    if len(files) > 1:
        raise Refusal(
            "usage",
            f"{len(files)} tables need a folder.",
            where="-o",
            hint="-o FOLDER, or --only runs",
        )
    (content,) = files.values()
    if on.as_json and form == "csv":
        on.write_json(table=only, csv=content)
    elif on.as_json and form == "car":
        on.write_json(car=content)
    else:
        output.write(content.rstrip("\n"))


def _places(files: dict[str, str], target: Path) -> dict[Path, str]:
    """Return where each file goes: into a folder, or a single one under the name given."""
    if target.is_dir() or len(files) > 1 or not target.suffix:
        return {target / name: content for name, content in files.items()}
    (content,) = files.values()
    return {target: content}
