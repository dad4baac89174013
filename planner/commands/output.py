"""What the commands print: one JSON object, or words; messages go to standard error."""

import json
import sys
import traceback
from typing import Any

from planner import status
from planner.desk import Opened
from planner.errors import Refusal


def say(text: str) -> None:
    """Write a message to standard error."""
    sys.stderr.write(text + "\n")


def write(text: str) -> None:
    """Write an answer to standard output."""
    sys.stdout.write(text + "\n")


def write_json(data: Any) -> None:
    """Write exactly one JSON object to standard output."""
    write(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))


def fail(refusal: Refusal, *, as_json: bool) -> int:
    """Say what was wrong, where, and what to do instead; return the exit status."""
    if as_json:
        write_json({"error": refusal.as_dict()})
    else:
        say(refusal.message)
        if refusal.where:
            say(f"  where: {refusal.where}")
        if refusal.hint:
            say(f"  try:   {refusal.hint}")
    return refusal.exit_status


def our_fault(*, as_json: bool) -> int:
    """Own up to a fault of the program, with what is needed to mend it; return the exit status."""
    say(traceback.format_exc())
    message = "This is a fault of the program, not of yours. What was recorded is in the plan."
    if as_json:
        fault = {"code": "fault", "message": message, "where": "treadgate", "try": "report it"}
        write_json({"error": fault})
    else:
        say(message)
    return 1


def standing(opened: Opened, *, as_json: bool, remarks: tuple[str, ...] = ()) -> None:
    """Print where the day stands, after a command has done its work."""
    for remark in (*opened.remarks, *remarks):
        say(remark)
    if as_json:
        write_json(status.build(opened.day, str(opened.path)))
    else:
        # Needs rich, which programs that ask for JSON need not wait for.
        from planner.screen import standing as view

        view.show(opened)
