"""The command line. One module a command; each is loaded only when it is asked for."""

import contextlib
import errno
import importlib
import io
import os
import sys
from collections.abc import Sequence

import click

from planner import __version__
from planner.commands import output
from planner.commands.output import Done
from planner.trade.refusals import Refusal

COMMANDS = {
    "start": "make a new plan file",
    "guide": "the guided day: makes or resumes a plan",
    "status": "where the day stands and what is due",
    "record": "record the readings of a run",
    "choose": "take a candidate, your own change, or move on; or take that back",
    "made": "say that the change is on the car",
    "car": "take in a car file in the course of the day",
    "note": "note something between runs, about a step or the day",
    "amend": "correct a wrong entry; the old one is kept",
    "mend": "what can be saved of a damaged plan file",
    "rehearse": "a whole day with a simulated car that has hidden faults",
    "ahead": "how many runs the day may still take, and what certainty costs",
    "taught": "keep what the car has taught for another day",
    "why": "why each change was made",
    "report": "the day as one page, to keep or to print",
    "sheet": "a sheet for the clipboard: the run that is due, or the car before the day",
    "export": "the day as tables for a spreadsheet, or as JSON",
    "days": "all plans of a folder and where they stand",
    "season": "each car of a folder over its days, and where its setting ended",
    "rules": "list, show and check rules files",
    "work": "pit-wall calculator: weights, jack, ballast, loads, pressure, stagger",
    "help": "pages on the figures, the stages, the car file and all there is to type",
    "completion": "completion for bash, zsh or fish",
}

UNHEARD = 4  # exit status
# How writing to a standard output fails: full, closed, gone, too large, not waiting.
_OF_OUTPUT = {
    getattr(errno, name)
    for name in ("ENOSPC", "EDQUOT", "EBADF", "EIO", "ENXIO", "EFBIG", "ECONNRESET", "EAGAIN")
    if hasattr(errno, name)
}
COMPLETING = "_TREADGATE_COMPLETE"  # what click makes of the program's name


class _Commands(click.Group):
    """Loads a command's module when the command is used, so that help and status stay quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(f"planner.commands.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Exit status: 0 done; 2 the request was wrong, nothing was changed; 3 the plan or rules "
    f"file cannot be used; {UNHEARD} done (a step is stored), but the answer could not be written; "
    "1 a fault of the program.",
)
@click.version_option(__version__, prog_name="treadgate")
def cli() -> None:
    """Takes a crew through a test day: tire temperatures in, what to change next out."""


def _in_our_words(error: click.UsageError) -> Refusal:
    """Return what was wrong with the options, with what to type instead."""
    where = error.ctx.command_path if error.ctx else "treadgate"
    hint = f"{where} --help"
    param = getattr(error, "param", None)
    if isinstance(param, click.Parameter):
        name = max(param.opts, key=len) if isinstance(param, click.Option) else None
        name = name or (param.metavar or f"{param.name}".upper()).strip("[]")
        where = f"{where}, {name}"
        if isinstance(param.type, click.Choice):
            hint = f"{name}: one of {', '.join(str(choice) for choice in param.type.choices)}"
    return Refusal("usage", error.format_message(), where=where, hint=hint)


class _Closed(io.TextIOBase):
    """Stands in for a standard output that was closed before the program began."""

    def write(self, _: str) -> int:
        raise OSError(errno.EBADF, "it is closed")

    def isatty(self) -> bool:
        return False


def _silenced() -> None:
    """Let what is left to be written go nowhere: at the end it would only fail again."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, AttributeError):
            with contextlib.suppress(OSError, AttributeError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _unheard(done: Done, why: str = "") -> int:
    """Say that the answer did not arrive; return the exit status.

    A reader who has gone (a pager, `head`) is no trouble, unless something was stored.

    Parameters
    ----------
    why : it could not be written; where empty, nobody reads it.
    """
    if not done.what and not why:
        return 0
    output.say(f"{done.what} {why or 'Nobody reads the answer.'}".lstrip())
    return UNHEARD


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    if sys.stdout is None:
        sys.stdout = _Closed()
    if sys.stdin is None:
        sys.stdin = io.StringIO()
    status = _status(given)
    _silenced()
    sys.exit(status if isinstance(status, int) else 0)


def _status(given: list[str]) -> int | str | None:
    as_json, done = "--json" in given, Done()
    try:
        status = cli.main(given, prog_name="treadgate", standalone_mode=False, obj=done)
        sys.stdout.flush()
    except click.exceptions.Exit as left:
        return left.exit_code
    except click.Abort:
        output.say("\nLeft. Everything recorded is in the plan.")
        return 130
    except click.UsageError as error:
        return output.fail(_in_our_words(error), as_json=as_json)
    except Refusal as refusal:
        return output.fail(refusal, as_json=as_json)
    except BrokenPipeError:
        return _unheard(done)
    except SystemExit as left:  # how click itself leaves: a word is completed, or nobody reads
        return left.code if COMPLETING in os.environ else _unheard(done)
    except Exception as error:
        # Whatever fails about a file is refused by its name; what is left is the output.
        if isinstance(error, OSError) and error.filename is None and error.errno in _OF_OUTPUT:
            return _unheard(done, f"The answer cannot be written: {error.strerror or error}.")
        return output.our_fault(as_json=as_json)
    return status if isinstance(status, int) else 0
