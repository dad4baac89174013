"""The wheel: built, installed in an empty environment, and taken through a small day elsewhere.

Needs the package index; without it these tests fail.
"""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import attrs
import pytest
from garage import RF_INNER_HOT, tire_options, tires

pytestmark = pytest.mark.sweep
ROOT = Path(__file__).parent.parent


def run(*words: object, cwd: Path) -> str:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    done = subprocess.run(
        [str(word) for word in words],
        cwd=cwd,
        env=kept,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, f"{words}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@attrs.frozen
class Installed:
    """An environment with the wheel in it, and an empty folder to work in."""

    programs: Path
    folder: Path

    def treadgate(self, *words: object) -> Any:
        return json.loads(run(self.programs / "treadgate", *words, "--json", cwd=self.folder))

    def python(self, code: str) -> str:
        return run(self.programs / "python", "-c", code, cwd=self.folder).strip()


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Installed:
    bench = tmp_path_factory.mktemp("wheel")
    elsewhere = bench / "elsewhere"
    elsewhere.mkdir()
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "-q")
    run(*pip, "wheel", ROOT, "--no-deps", "-w", bench, cwd=bench)
    (wheel,) = bench.glob("treadgate-*.whl")
    run(sys.executable, "-m", "venv", bench / "venv", cwd=bench)
    programs = bench / "venv" / ("Scripts" if os.name == "nt" else "bin")
    run(programs / "python", *pip[1:], "install", wheel, cwd=bench)
    return Installed(programs, elsewhere)


def test_it_is_the_wheel_that_runs(installed: Installed) -> None:
    where = Path(installed.python("import planner; print(planner.__file__)"))
    assert installed.programs.parent in where.parents
    assert ROOT not in where.parents


def test_rules_and_sample_plans_are_inside(installed: Installed) -> None:
    package = Path(installed.python("import planner; print(planner.__file__)")).parent
    for folder in ("rules", "sample_plans"):
        inside = {path.name for path in (package / folder).glob("*.toml")}
        assert inside == {path.name for path in (ROOT / folder).glob("*.toml")}
    listed = installed.treadgate("rules", "list")["rules"]
    assert [rules["id"] for rules in listed] == ["paved-oval", "road-course"]
    finished = installed.treadgate("status", package / "sample_plans" / "finished.toml")
    assert finished["stage"] == "complete"


def test_a_small_day_goes_from_start_to_complete(installed: Installed) -> None:
    assert installed.treadgate("start", "day.toml")["due"] == "run"
    shown = installed.treadgate("record", "day.toml", *tire_options(RF_INNER_HOT))
    assert (shown["stage"], shown["due"]) == ("camber", "choice")
    installed.treadgate("choose", "day.toml", "1")
    installed.treadgate("made", "day.toml")
    for _ in range(2):
        installed.treadgate("record", "day.toml", *tire_options(tires()))
    assert installed.treadgate("status", "day.toml")["stage"] == "complete"
    assert len(installed.treadgate("why", "day.toml")["steps"]) == 5


def test_the_pages_of_help_are_inside(installed: Installed) -> None:
    said = run(installed.programs / "treadgate", "help", "figures", cwd=installed.folder)
    assert "inner minus outer edge" in said
