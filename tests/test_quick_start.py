"""Commands that need no arithmetic do not load what arithmetic takes."""

import subprocess
import sys
from pathlib import Path

import pytest
from garage import RF_INNER_HOT, Crew

HEAVY = ("numpy", "scipy", "rich")
LOADED = """
import sys
from planner import commands
try:
    commands.main(sys.argv[1:])
except SystemExit as done:
    assert not done.code, done.code
print("LOADED", *(name for name in ("numpy", "scipy") if name in sys.modules))
"""


def loaded(*arguments: object, folder: Path) -> list[str]:
    """Return which heavy packages a command has loaded."""
    done = subprocess.run(
        [sys.executable, "-c", LOADED, *map(str, arguments)],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    *_, last = done.stdout.splitlines()
    assert last.startswith("LOADED")
    return last.split()[1:]


def test_importing_the_commands_loads_nothing_heavy(tmp_path: Path) -> None:
    code = f"import sys, planner.commands; print([n for n in {HEAVY} if n in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    "arguments", [("rules", "list"), ("start", "new.toml"), ("start", "new.toml", "--json")]
)
def test_a_command_that_learns_nothing_needs_no_numpy(tmp_path: Path, arguments) -> None:
    assert loaded(*arguments, folder=tmp_path) == []


@pytest.mark.parametrize("as_json", [(), ("--json",)])
def test_a_fresh_plans_status_needs_no_numpy(begun: Crew, as_json) -> None:
    assert loaded("status", begun.path, *as_json, folder=begun.path.parent) == []


def test_with_a_choice_due_it_is_needed_so_that_this_test_can_fail(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    assert "numpy" in loaded("status", begun.path, "--json", folder=begun.path.parent)
