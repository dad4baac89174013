"""The end of the day: what was done, and how to look back."""

from planner.files.file_name import in_command
from planner.guide.session import Session
from planner.screen import paper


def show(session: Session) -> None:
    """Show the last run, the day in short, and how to look back."""
    path = in_command(session.path)
    below = [
        paper.indented(f"{what}: treadgate {command} {path}", 2)
        for command, what in (("why", "To look back"), ("report", "The day as a page"))
    ]
    session.look(below)
    session.talk.show(below)
