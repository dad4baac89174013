"""``treadgate export``: the day as tables or JSON, or its car file for another day."""

from pathlib import Path

import click

from planner.commands import kinds, output
from planner.commands.options import json_option
from planner.export import plan_json
from planner.storage import outputs, plans
from planner.trade import plain_text
from planner.trade.refusals import Refusal


@click.command("export")
@click.argument("plan", metavar="PLAN", type=kinds.File(), required=False)
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
    help="csv: tidy tables (the usual); json: the whole plan; car: a car file for another day",
)
@click.option(
    "--only",
    type=click.Choice(("runs", "laps", "readings", "figures", "changes", "outcomes")),
    help="a single table",
)
@click.option("--force", is_flag=True, help="write over files that are there")
@click.option("--schema", is_flag=True, help="print the JSON Schema of --as json, and nothing else")
@json_option
def command(
    plan: Path | None,
    target: Path | None,
    form: str,
    only: str | None,
    force: bool,
    schema: bool,
    as_json: bool,
) -> None:
    """Write the day for other programs, or the car as it stands for another day's start --car.

    CSV: a folder with runs.csv (a row a run: laps, pressures, weather, the driver's word, flags,
    note), laps.csv, readings.csv (with the tread), figures.csv, changes.csv and outcomes.csv.
    Temperatures in CSV are in the plan's unit, in JSON in °F.
    """
    if schema:
        from planner.export import plan_schema

        output.write(plan_schema.published().rstrip("\n"))
        return
    if plan is None:
        raise Refusal("usage", "Which plan?", where="PLAN", hint="treadgate export PLAN -o FOLDER")
    if form != "csv" and only is not None:
        raise Refusal(
            "usage", "--only picks a table of CSV.", where="--only", hint=f"leave --as {form} away"
        )
    opened = plans.open_plan(plan)
    if target is not None and target.exists() and target.samefile(plan):
        raise Refusal(
            "exists", "This is the plan itself.", where=str(target), hint="-o with another name"
        )
    if form == "car":
        from planner.export import next_car

        files = {f"{plan.stem}-car.toml": next_car.text(opened.day, plan.name)}
    elif form == "json":
        content = plain_text.as_json(plan_json.as_json(opened.day.plan))
        files = {f"{plan.stem}.json": content + "\n"}
    else:
        from planner.export import spreadsheet

        made = spreadsheet.tables(opened.day)
        files = {f"{name}.csv": made[name] for name in ((only,) if only else spreadsheet.TABLES)}
    for remark in opened.remarks:
        output.say(remark)
    if target is None:
        if len(files) > 1:
            raise Refusal(
                "usage",
                f"{len(files)} tables want a folder.",
                where="-o",
                hint="-o FOLDER, or --only runs",
            )
        (content,) = files.values()
        if as_json and form == "csv":
            output.write_json({"plan": str(plan), "table": only, "csv": content})
        elif as_json and form == "car":
            output.write_json({"plan": str(plan), "car": content})
        else:
            output.write(content.rstrip("\n"))
        return
    written = outputs.write_all(_places(files, target), force=force)
    if as_json:
        output.write_json({"plan": str(plan), "files": [str(path) for path in written]})
    else:
        for path in written:
            output.write(f"{path}")


def _places(files: dict[str, str], target: Path) -> dict[Path, str]:
    """Return where each file goes: into a folder, or a single one under the name given."""
    if target.is_dir() or len(files) > 1 or not target.suffix:
        return {target / name: content for name, content in files.items()}
    (content,) = files.values()
    return {target: content}
