"""Stored, and then the answer cannot be written: it is said, with an exit status of its own."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from garage import RF_INNER_HOT, Crew, tire_options

UNHEARD = 4
FULL = Path("/dev/full")
RECORD = ("record", "day.toml", *tire_options(RF_INNER_HOT))

full = pytest.mark.skipif(not FULL.exists(), reason="there is no device that is always full")


def given(crew: Crew, *arguments: str, redirected: str) -> subprocess.CompletedProcess[str]:
    """Give a command in a shell, with its output led elsewhere."""
    program = [sys.executable, "-m", "planner", *arguments]
    return subprocess.run(
        ["sh", "-c", f'"$@" {redirected}', "sh", *program],
        capture_output=True,
        text=True,
        cwd=crew.path.parent,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent)},
        check=False,
    )


@full
@pytest.mark.parametrize("redirected", [">/dev/full", ">&-"])
@pytest.mark.parametrize("shown", [(), ("--json",)])
def test_a_script_is_told_what_was_stored_and_may_try_again(
    begun: Crew, redirected: str, shown: tuple[str, ...]
) -> None:
    ran = given(begun, *RECORD, "--after", "0", *shown, redirected=redirected)
    assert ran.returncode == UNHEARD
    assert ran.stderr.startswith("Stored as step 1. The answer cannot be written: ")
    assert "Traceback" not in ran.stderr
    again = given(begun, *RECORD, "--note", "again", "--after", "0", *shown, redirected="")
    assert again.returncode == 2  # it stands once
    assert begun.status()["step"] == 1


@full
@pytest.mark.parametrize(
    "arguments",
    [
        ("status", "day.toml"),
        ("status", "day.toml", "--json"),
        ("why", "day.toml"),
        ("report", "day.toml"),
        ("export", "day.toml", "--as", "json"),
        ("mend", "day.toml"),
        ("start", "new.toml"),
        ("--help",),
    ],
)
def test_no_full_output_is_a_fault_of_the_program(begun: Crew, arguments: tuple[str, ...]) -> None:
    begun.record(RF_INNER_HOT)
    ran = given(begun, *arguments, redirected=">/dev/full")
    assert ran.returncode == UNHEARD, ran.stderr
    assert "The answer cannot be written: No space left on device." in ran.stderr
    assert "Traceback" not in ran.stderr


@full
@pytest.mark.parametrize("redirected", [">/dev/full", ">/dev/full 2>/dev/full", ">&- 2>&-"])
def test_a_refusal_that_cannot_be_written_is_still_a_refusal(begun: Crew, redirected: str) -> None:
    ran = given(begun, "choose", "day.toml", "1", "--json", redirected=redirected)
    assert ran.returncode == 2
    assert "Traceback" not in ran.stderr


def test_a_reader_who_has_gone_is_no_trouble_unless_something_was_stored(begun: Crew) -> None:
    for command, status in (("status day.toml", 0), ("note day.toml gusty", UNHEARD)):
        piped = f'({sys.executable} -m planner {command}; echo "$?" >&2) | true'
        ran = given(begun, "--version", redirected=f"; sleep 0; {piped}")
        assert ran.stderr.split()[-1] == str(status), ran.stderr
    assert begun.status()["step"] == 1


@pytest.mark.parametrize("command", ["guide", "mend", "status", "rehearse"])
def test_a_closed_input_is_an_input_that_has_ended(begun: Crew, command: str) -> None:
    begun.record(RF_INNER_HOT)
    if command == "mend":
        begun.path.write_bytes(begun.path.read_bytes()[:-60])
    plan = [] if command == "rehearse" else ["day.toml"]
    ran = given(begun, command, *plan, redirected="<&-")
    assert ran.returncode == (3 if command == "mend" else 0), ran.stderr
    assert "Traceback" not in ran.stderr


@pytest.mark.parametrize("command", ["status", "start", "guide", "days", "--version"])
def test_a_folder_that_is_gone_is_no_fault_of_the_program(begun: Crew, command: str) -> None:
    here = begun.path.parent / "here"
    here.mkdir()
    plan = ["day.toml"] if command in ("status", "start", "guide") else []
    program = f"{sys.executable} -m planner {' '.join((command, *plan))} </dev/null"
    ran = subprocess.run(
        ["sh", "-c", f'cd "{here}"; rmdir "{here}"; {program}'],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent)},
        check=False,
    )
    assert ran.returncode == (2 if command in ("status", "start") else 0), ran.stderr
    assert "Traceback" not in ran.stderr


def test_help_tells_the_exit_status(cli: object) -> None:
    answer = cli("--help")  # type: ignore[operator]
    assert f"{UNHEARD} done (a step is stored)" in " ".join(answer.out.split())
