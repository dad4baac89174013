"""``treadgate report``: the day on paper."""

from pathlib import Path

from planner.commands import output
from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import force_option, page_option


@plan_command("report")
@page_option
@force_option
def command(on: OnPlan, page: Path | None, force: bool) -> None:
    """Write the day as one HTML page, to keep, to send, or to print on two sheets."""
    opened = on.open()
    page = page or on.path.with_suffix(".html")
    # Loaded here so that --help and a plan that cannot be read need not wait for the plots.
    from planner.report import page as pages

    pages.refuse_taken(page, force=force)
    from planner.report import content

    says = content.of_day(opened.day, on.path)
    pages.write(page, pages.fill("day.html", says), force=force)
    if on.as_json:
        on.write_json(report=str(page), runs=says["runs"], changes=len(says["changes"]))
    else:
        output.write(f"{page}: {says['summary']}.")
