"""``treadgate report``: the day on paper."""

from pathlib import Path

import click

from planner.commands import output, working
from planner.commands.on_plan import OnPlan, plan_command
from planner.commands.options import force_option, page_option


@plan_command("report")
@page_option
@click.option("--story", is_flag=True, help="print the story, step by step, after the plots")
@force_option
def command(on: OnPlan, page: Path | None, story: bool, force: bool) -> None:
    """Write the day as one HTML page, to keep, to send, or to print: two pages for a normal day.

    Page one says what was wrong, what was changed, what that did, what was left open, and how the
    car stands; page two shows the plots. The story, step by step, is behind a fold on the screen.
    """
    opened = on.open()
    page = page or on.path.with_suffix(".html")
    # Loaded here so that --help and a plan that cannot be read need not wait for the plots.
    from planner.report import page as pages

    pages.refuse_taken(page, force=force)
    with working.told("Drawing the page"):
        from planner.report import content

        says = content.of_day(opened.day, on.path, story_wanted=story)
        text = pages.fill("day.html", says)
    pages.write(page, text, force=force, like=on.path)
    if on.as_json:
        on.write_json(report=str(page), runs=says["runs"], changes=len(says["changes"]))
    else:
        output.write(f"{page}: {says['summary']}.")
