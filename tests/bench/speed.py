"""How long the commands take, as ratios of times measured in one run.

    python -m pytest -n0 -s tests/bench/speed.py

A machine is slow or busy as it pleases; so nothing is held against the clock. Each time is the
least of several repetitions, taken in turns with what it is held against. It counts the seconds
the processor worked for the command, which other programs on the machine hardly change; the time
by the wall is printed beside it. As in an installed program the modules are compiled beforehand.
A day of 1 000 steps takes about a minute to make.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path

import attrs
import pytest
from garage import RF_INNER_HOT, tire_options
from long_day import long_day

from planner.storage import planfile

pytestmark = pytest.mark.skipif(not hasattr(os, "wait4"), reason="tells what a child took")

REPEATS = 9
MOST = 3.0  # times as long
MOST_VERSION = 1.5  # times its imports
MOST_BARE = 4.0  # times its imports; half of what is beside them is building our own classes
MOST_MEMORY = 120.0  # MB
LONG, SHORT = 1_000, 34  # steps; a day of 34 steps has 12 runs

# What `status` needs of other people's work; `test_growth.py` holds the list.
NEEDED = {
    "--json": ("attrs", "cattrs", "click", "numpy", "transitions"),
    "--plain": ("attrs", "cattrs", "click", "numpy", "rich", "transitions"),
}
# What those load in turn, and what a system, or a measurement of coverage, loads everywhere.
FOUND_BESIDE = {
    "attr",
    "six",
    "typing_extensions",
    "markdown_it",
    "mdurl",
    "pygments",
    "cython_runtime",
}
FOUND_BESIDE |= {"sitecustomize", "usercustomize", "$coverage", "coverage"}
# Runs a command and prints what it took. A process of its own, as a process begins with the memory
# of the one that started it.
MEASURE = """
import os, sys, time
begun = time.perf_counter()
nowhere = os.open(os.devnull, os.O_WRONLY)
quiet = [(os.POSIX_SPAWN_DUP2, nowhere, 1)]
program = [sys.executable, *sys.argv[1:]]
child = os.posix_spawn(sys.executable, program, os.environ, file_actions=quiet)
_, status, usage = os.wait4(child, 0)
wall = time.perf_counter() - begun
print(os.waitstatus_to_exitcode(status), usage.ru_utime + usage.ru_stime, wall, usage.ru_maxrss)
"""
PRINT_IMPORTS = """
import sys
from planner.commands import main
try:
    main(sys.argv[1:])
except SystemExit:
    pass
names = {name.partition(".")[0] for name in sys.modules} - set(sys.stdlib_module_names)
print(*sorted(names), file=sys.stderr)
"""


@attrs.frozen
class Took:
    """What a command took: processor time and time by the wall [s], memory at its most [MB]."""

    busy: float
    wall: float
    memory: float


def took(arguments: Sequence[object]) -> Took:
    """Run a program in a process of its own, which must do."""
    ran = subprocess.run(
        [sys.executable, "-S", "-c", MEASURE, *map(str, arguments)],
        capture_output=True,
        text=True,
        check=True,
        env=compiled(),
    )
    status, busy, wall, memory = map(float, ran.stdout.split())
    assert status == 0, (arguments, ran.stderr)
    return Took(busy, wall, memory * (1 if sys.platform == "darwin" else 1024) / 1e6)


@cache
def compiled() -> Mapping[str, str]:
    """Return an environment in which modules are compiled once, whatever is set for the tests."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPYCACHEPREFIX": tempfile.mkdtemp(), "OPENBLAS_NUM_THREADS": "1"}


def least(runs: Sequence[Took]) -> Took:
    """Return the least of each, which other programs on the machine have disturbed least."""
    return Took(*(min(getattr(run, name) for run in runs) for name in ("busy", "wall", "memory")))


def in_turns(one: Callable[[], Took], other: Callable[[], Took]) -> tuple[Took, Took]:
    one(), other()  # which compiles what is not compiled yet
    pairs = [(one(), other()) for _ in range(REPEATS)]
    return least([pair[0] for pair in pairs]), least([pair[1] for pair in pairs])


def told(what: str, one: Took, other: Took) -> None:
    """Show what was measured; pytest -s lets it through."""
    print(  # noqa: T201
        f"\n{what}: {one.busy / other.busy:.2f} times as much work "
        f"({one.busy:.2f} s to {other.busy:.2f} s), {one.wall / other.wall:.2f} times as long "
        f"({one.wall:.2f} s to {other.wall:.2f} s), {one.memory:.0f} MB to {other.memory:.0f} MB",
        end="",
    )


def saved(path: Path, steps: int) -> Path:
    path.write_bytes(planfile.dump(long_day(steps)))
    return path


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan of 12 runs, on which a run is due."""
    return saved(tmp_path_factory.mktemp("short") / "day.toml", SHORT)


@pytest.fixture(scope="module")
def long(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan of 1 000 steps, on which a run is due."""
    return saved(tmp_path_factory.mktemp("long") / "day.toml", LONG)


RECORD = ("record", *tire_options(RF_INNER_HOT))


def command(plan: Path, name: str, *options: str) -> Callable[[], Took]:
    """Return a command to be measured, always on the same plan."""

    def run() -> Took:
        copy = plan.with_name("measured.toml")
        shutil.copy(plan, copy)
        return took(["-m", "planner", name, copy, *options])

    return run


@pytest.mark.parametrize("way", list(NEEDED))
def test_status_against_a_bare_interpreter(short: Path, way: str) -> None:
    bare = ["-c", f"import {', '.join(NEEDED[way])}"]
    status, imports = in_turns(command(short, "status", way), lambda: took(bare))
    told(f"status {way} on 12 runs against its imports alone", status, imports)
    assert status.busy <= MOST_BARE * imports.busy


def test_the_version_against_a_bare_interpreter() -> None:
    version, imports = in_turns(
        lambda: took(["-m", "planner", "--version"]), lambda: took(["-c", "import click"])
    )
    told("--version against its imports alone", version, imports)
    assert version.busy <= MOST_VERSION * imports.busy


@pytest.mark.parametrize("way", ["--json", "--plain"])
def test_status_of_a_long_day(long: Path, short: Path, way: str) -> None:
    many, few = in_turns(command(long, "status", way), command(short, "status", way))
    told(f"status {way} on 1 000 steps against 12 runs", many, few)
    assert many.busy <= MOST * few.busy
    assert many.memory <= MOST_MEMORY


@pytest.mark.parametrize("way", ["--json", "--plain"])
def test_record_on_a_long_day(long: Path, short: Path, way: str) -> None:
    name, *options = RECORD
    many, few = in_turns(command(long, name, *options, way), command(short, name, *options, way))
    told(f"record {way} on 1 000 steps against 12 runs", many, few)
    assert many.busy <= MOST * few.busy
    assert many.memory <= MOST_MEMORY


def test_the_page_of_a_long_day(long: Path) -> None:
    page = long.with_name("day.html")
    page_took = took(["-m", "planner", "report", long, "--out", page, "--force"])
    why = took(["-m", "planner", "why", long, "--json"])
    for what, each in (("report", page_took), ("why", why)):
        print(  # noqa: T201
            f"\n{what} on 1 000 steps: {each.busy:.1f} s of work, {each.memory:.0f} MB", end=""
        )
    assert why.memory <= MOST_MEMORY
