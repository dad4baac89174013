"""What the commands print: one JSON object, or words; messages go to standard error."""

import contextlib
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import click

from planner.trade import plain_text
from planner.trade.refusals import Refusal

if TYPE_CHECKING:  # the version and help need nothing of the day
    from planner.storage.plans import Opened


class Done:
    """What a command has done so far that stays done, in words; the object of click's context."""

    what = ""


def is_done(what: str) -> None:
    """Note what was done, to be said where the answer cannot be written."""
    click.get_current_context().ensure_object(Done).what = what


def say(text: str) -> None:
    """Write a message to standard error, nothing in it steering the terminal."""
    with contextlib.suppress(OSError, AttributeError):  # full or closed: nobody can be told
        sys.stderr.write(plain_text.lines(text) + "\n")


def say_all(texts: Iterable[str]) -> None:
    """Write messages to standard error, one after the other."""
    for text in texts:
        say(text)


def write(text: str) -> None:
    """Write an answer to standard output, nothing in it steering the terminal."""
    _put(plain_text.lines(text))


def write_json(data: Any) -> None:
    """Write exactly one JSON object to standard output."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    _put(plain_text.as_json(data, ascii_only=not encoding.lower().startswith("utf")))


def _put(text: str) -> None:
    if hasattr(sys.stdout, "reconfigure"):
        # A terminal that lacks a letter gets a similar one; it must not stop the program.
        sys.stdout.reconfigure(errors="lookalike")
    sys.stdout.write(text + "\n")


def fail(refusal: Refusal, *, as_json: bool) -> int:
    """Say what was wrong, where, and what to do instead; return the exit status."""
    if not (as_json and _arrives({"error": refusal.as_dict()})):
        say(refusal.message)
        if refusal.where:
            say(f"  where: {refusal.where}")
        if refusal.hint:
            say(f"  try:   {refusal.hint}")
    return refusal.exit_status


def our_fault(*, as_json: bool) -> int:
    """Say that the program failed, with what is needed to fix it; return the exit status."""
    import traceback  # which takes long to load, and is hardly ever needed

    say(traceback.format_exc())
    message = "This is a fault of the program, not yours. Everything recorded is in the plan."
    fault = {"code": "fault", "message": message, "where": "treadgate", "try": "report it"}
    if not (as_json and _arrives({"error": fault})):
        say(message)
    return 1


def _arrives(data: Any) -> bool:
    """Write a JSON object; say whether it could be."""
    try:
        write_json(data)
        sys.stdout.flush()
    except OSError:
        return False
    return True


def standing(
    opened: "Opened",
    *,
    as_json: bool,
    remarks: Sequence[str] = (),
    doubts: Sequence[str] = (),
    tell_last: bool = False,
    full: bool = False,
) -> None:
    """Print where the day stands, after a command has done its work.

    Parameters
    ----------
    doubts : what was stored and may be a slip.
    tell_last : tell the last step before that, in words.
    full : show everything, however long.
    """
    say_all((*opened.remarks, *remarks))
    for doubt in doubts:  # before the advice, which rests on it
        (say if as_json else write)(f"Look again first: {doubt}")
    if as_json:
        from planner.export import status_object

        found = {"look_again": list(doubts)} if doubts else {}
        write_json(status_object.build(opened.day, str(opened.path), opened.at) | found)
    else:
        # Needs rich, which programs that ask for JSON need not wait for.
        from planner.screen import day_view, story_view, window
        from planner.words import story

        told = story.tell(opened.day, len(opened.day.plan.step)) if tell_last else ()
        view = day_view if full else window
        view.show(opened, first=story_view.steps(told, opened.path))
