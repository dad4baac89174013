"""``treadgate help``: pages on what the figures mean, how it decides, and all there is to type."""

import click

from planner.commands import kinds, output
from planner.words import help_pages


@click.command("help")
@click.argument("topic", metavar="[TOPIC]", required=False, type=kinds.Text(kinds.MOST_NAME))
def command(topic: str | None) -> None:
    """Show a page of help, or, without TOPIC, what pages there are."""
    if topic is not None:
        output.write(help_pages.page(topic))
        return
    output.write("treadgate help TOPIC, with one of:\n")
    for name, title in help_pages.titles():
        output.write(f"  {name:10} {title}")
    output.write("\nThe options of a command: treadgate COMMAND --help")
