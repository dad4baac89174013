"""What takes longer than a second says so where somebody watches, and leaves nothing behind."""

import io
import sys
from pathlib import Path

import pytest
from garage import Answer, run_command

SAMPLES = Path(__file__).parent.parent / "sample_plans"
SLOW = {
    "report": ([SAMPLES / "day-begun.toml", "-o", "page.html"], "Drawing the page"),
    "ahead": ([SAMPLES / "day-begun.toml"], "Trying out the rest of the day"),
    "days": ([SAMPLES], "Reading the plans"),
    "rehearse": (["--auto", "--seed", "4", "--json"], "Driving the day"),
}


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True

    def shows(self) -> str:
        """Return what stands on its last line, as a terminal writes over what was there."""
        line: list[str] = []
        at = 0
        for letter in self.getvalue().rpartition("\n")[2]:
            if letter == "\r":
                at = 0
                continue
            line[at : at + 1] = [letter]
            at += 1
        return "".join(line).rstrip()


def run_watched(terminal: io.StringIO, monkeypatch: pytest.MonkeyPatch, *given: object) -> Answer:
    """Run a command whose standard error is this."""
    monkeypatch.setattr("contextlib.redirect_stderr", lambda _: _Through(terminal))
    return run_command(*given)


class _Through:
    def __init__(self, terminal: io.StringIO) -> None:
        self.terminal, self.was = terminal, sys.stderr

    def __enter__(self) -> None:
        sys.stderr = self.terminal

    def __exit__(self, *_: object) -> None:
        sys.stderr = self.was


@pytest.mark.parametrize("command", SLOW)
def test_it_is_told_on_a_terminal_and_vanishes(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    given, says = SLOW[command]
    watched = Terminal()
    assert run_watched(watched, monkeypatch, command, *given).status == 0
    assert says in watched.getvalue()
    assert "\x1b" not in watched.getvalue()  # plain letters will do
    assert watched.shows() == ""


@pytest.mark.parametrize("command", SLOW)
def test_nothing_of_it_is_written_where_nobody_watches(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    given, says = SLOW[command]
    answer = run_command(command, *given)
    assert answer.status == 0
    assert says not in answer.err + answer.out
    assert "\r" not in answer.err + answer.out


def test_a_refusal_stands_on_a_line_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    watched = Terminal()
    plan = tmp_path / "day.toml"
    assert run_command("start", plan).status == 0
    assert run_watched(watched, monkeypatch, "report", plan).status == 2
    assert watched.getvalue().rpartition("\r")[2].startswith("No run is recorded")
