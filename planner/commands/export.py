"""``treadgate export``: the day as tables for a spreadsheet, or the whole plan as JSON."""

from pathlib import Path

import click

from planner import plain_text
from planner.commands import kinds, output
from planner.commands.options import json_option
from planner.errors import Refusal
from planner.storage import desk, planfile


@click.command("export")
@click.argument("plan", metavar="PLAN", type=kinds.File(), required=False)
@click.option(
    "-o",
    "--output",
    "target",
    metavar="FOLDER_OR_FILE",
    type=kinds.File(folders=True),
    help="where to write; without it JSON, or a single table, goes to standard output",
)
@click.option(
    "--as",
    "form",
    type=click.Choice(("csv", "json")),
    default="csv",
    help="csv: tidy tables (the usual); json: the whole plan",
)
@click.option(
    "--only",
    type=click.Choice(("readings", "figures", "changes", "outcomes")),
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
    """Write the day for other programs: tables of CSV, or the whole plan as JSON.

    CSV: a folder with readings.csv, figures.csv, changes.csv and outcomes.csv. Temperatures in
    CSV are in the plan's unit, in JSON in °F.
    """
    if schema:
        from planner.export import plan_schema

        output.write(plan_schema.published().rstrip("\n"))
        return
    if plan is None:
        raise Refusal("usage", "Which plan?", where="PLAN", hint="treadgate export PLAN -o FOLDER")
    if form == "json" and only is not None:
        raise Refusal(
            "usage", "--only picks a table of CSV.", where="--only", hint="leave --as json away"
        )
    opened = desk.open_plan(plan)
    if form == "json":
        content = plain_text.as_json(planfile.as_json(opened.day.plan))
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
                "Four tables want a folder.",
                where="-o",
                hint="-o FOLDER, or --only readings",
            )
        (content,) = files.values()
        if as_json and form == "csv":
            output.write_json({"plan": str(plan), "table": only, "csv": content})
        else:
            output.write(content.rstrip("\n"))
        return
    written = desk.write_all(_places(files, target), force=force)
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
