"""Shell completion: the scripts, and what the program answers them with."""

import os
import shutil
import subprocess
import sys

import pytest

from planner.commands import COMMANDS


def completed(shell: str, words: str, at: int) -> list[str]:
    """Ask the program as the completion script does; return the words it offers."""
    last = words.split(" ")[at] if at < len(words.split(" ")) else ""
    told = {
        "_TREADGATE_COMPLETE": f"{shell}_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": last if shell == "fish" else str(at),
    }
    done = subprocess.run(
        [sys.executable, "-m", "planner"],
        env=os.environ | told,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.stderr == ""
    lines = done.stdout.splitlines()
    if shell == "zsh":
        assert set(lines[::3]) <= {"plain", "file", "dir"}
        return lines[1::3]
    assert all("," in line for line in lines)
    return [line.split(",", 1)[1].split("\t")[0] for line in lines]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_asks_this_program(cli, shell: str) -> None:
    answer = cli("completion", shell)
    assert answer.status == 0
    assert f"_TREADGATE_COMPLETE={shell}_complete" in answer.out
    assert "treadgate" in answer.out


@pytest.mark.parametrize("shell", ["bash", "zsh"])
def test_the_script_is_one_the_shell_can_read(cli, shell: str) -> None:
    if shutil.which(shell) is None:
        pytest.skip(f"no {shell} here")
    script = cli("completion", shell).out
    done = subprocess.run(
        [shell, "-n"], input=script, capture_output=True, text=True, encoding="utf-8", check=False
    )
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_all_commands_are_offered(shell: str) -> None:
    assert set(completed(shell, "treadgate ", 1)) == set(COMMANDS)


def test_commands_options_and_choices_are_completed() -> None:
    assert completed("bash", "treadgate am", 1) == ["amend"]
    assert completed("bash", "treadgate rules s", 2) == ["show"]
    assert set(completed("bash", "treadgate why day.toml --", 3)) >= {"--knob", "--table", "--run"}
    assert completed("bash", "treadgate record day.toml --feel t", 4) == ["tight"]
    assert "none" in completed("bash", "treadgate amend day.toml 1 --flag n", 5)


def test_another_shell_is_refused(cli) -> None:
    assert cli("completion", "cmd").status == 2
