"""Fixtures shared by the tests."""

import gc
import os
import signal
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest
from garage import Answer, Crew, run_command, sweeping
from hypothesis import settings
from keyboard import Keyboard, Scripted, Terminal

from planner.__main__ import LOOK_EVERY
from planner.advice import ahead
from planner.files import bundled
from planner.rulebook import rules_file

# No test may fail because a machine is slow; mutation runs draw fewer and always the same examples.
settings.register_profile("suite", deadline=None)
settings.register_profile("sweep", deadline=None, max_examples=300)
settings.register_profile("mutation", deadline=None, max_examples=15, derandomize=True)

# The programs that tests start need not compile all of it anew each time.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_configure(config: pytest.Config) -> None:
    # Begun in the background, the suite finds Ctrl-C ignored, and so would every guide it starts.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    config.addinivalue_line("markers", "all_draws: try the day ahead out on as many cars as ever")
    config.addinivalue_line("markers", "sweep: takes long; left out unless asked for")
    config.addinivalue_line("markers", "more_in_sweep: takes a share, and in the sweep all of it")
    os.environ.pop("TREADGATE_SWEEP", None)
    if config.option.markexpr != "not sweep":
        os.environ["TREADGATE_SWEEP"] = "1"
    usual = "sweep" if sweeping() else "suite"
    settings.load_profile(os.environ.get("TREADGATE_EXAMPLES", usual))


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let the sweep take in what draws its examples, or takes but a share of them."""
    for item in items if sweeping() else ():
        drawn = getattr(getattr(item, "obj", None), "is_hypothesis_test", False)
        if drawn or item.get_closest_marker("more_in_sweep"):
            item.add_marker("sweep")


@pytest.fixture(scope="session", autouse=True)
def _as_in_a_quick_process() -> Iterator[None]:
    """Spare each of thousands of commands what tells nothing here.

    The bundled rules are read once, garbage is looked for as seldom as the program itself does,
    and nobody waits for the disk: what is not synced is tested in `test_crash`, by its calls.
    """
    load, known = rules_file.load, cache(rules_file.load)
    ours = bundled.folder("rules")
    gc.set_threshold(LOOK_EVERY)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            rules_file,
            "load",
            lambda path: (known if path.parent == ours else load)(path),
        )
        patch.setattr(os, "fsync", lambda handle: os.fstat(handle) and None)
        yield


@pytest.fixture
def cli() -> Callable[..., Answer]:
    """The command line, run in this process."""
    return run_command


@pytest.fixture
def crew(tmp_path: Path) -> Crew:
    """A crew whose plan has not been begun."""
    return Crew(tmp_path / "day.toml")


@pytest.fixture
def begun(crew: Crew) -> Crew:
    """A crew with a fresh plan."""
    crew.start()
    return crew


def _keyboards(kind: type, folder: Path) -> Iterator[Callable[..., Keyboard]]:
    begun: list[Keyboard] = []

    def begin(*given: str, command: str = "guide", **more: object) -> Keyboard:
        begun.append(kind(folder, command, *given, **more))
        return begun[-1]

    yield begin
    for each in begun:
        each.close()


@pytest.fixture(params=["scripted", pytest.param("terminal", marks=pytest.mark.sweep)])
def guide_with(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[..., Keyboard]]:
    """Begin the guide with these words, in this process and in the sweep at a real terminal."""
    yield from _keyboards(Scripted if request.param == "scripted" else Terminal, tmp_path)


@pytest.fixture
def terminal_with(tmp_path: Path) -> Iterator[Callable[..., Keyboard]]:
    """Begin the guide with these words at a real terminal, in every run of the tests."""
    yield from _keyboards(Terminal, tmp_path)


@pytest.fixture(autouse=True)
def _few_draws(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Try the day ahead out on few cars: it stands in every status and most tests do not ask.

    Tests of the forecast itself mark themselves ``all_draws``.
    """
    if request.node.get_closest_marker("all_draws") is None:
        monkeypatch.setattr(ahead, "DRAWS", 2)
