"""Arguments and options that several commands share."""

from pathlib import Path

import click

plan_argument = click.argument(
    "plan", metavar="PLAN", type=click.Path(dir_okay=False, path_type=Path)
)
json_option = click.option(
    "--json", "as_json", is_flag=True, help="print one JSON object and nothing else"
)
reason_option = click.option("--reason", default="", metavar="TEXT", help="why, for the record")
