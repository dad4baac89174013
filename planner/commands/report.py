"""``treadgate report``: the day on paper."""

from pathlib import Path

import click

from planner.commands import output
from planner.commands.options import force_option, json_option, page_option, plan_argument
from planner.storage import plans


@click.command("report")
@plan_argument
@page_option
@force_option
@json_option
def command(plan: Path, page: Path | None, force: bool, as_json: bool) -> None:
    """Write the day as one HTML page, to keep, to send, or to print on two sheets."""
    opened = plans.open_plan(plan)
    page = page or plan.with_suffix(".html")
    # Loaded here so that --help and a plan that cannot be read need not wait for the plots.
    from planner.report import page as pages

    pages.refuse_taken(page, force=force)
    from planner.report import content

    says = content.of_day(opened.day, plan)
    pages.write(page, pages.fill("day.html", says), force=force)
    for remark in opened.remarks:
        output.say(remark)
    changes = len(says["changes"])
    if as_json:
        output.write_json(
            {"report": str(page), "plan": str(plan), "runs": says["runs"], "changes": changes}
        )
    else:
        output.write(f"{page}: {says['summary']}.")
