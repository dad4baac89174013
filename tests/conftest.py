"""Fixtures shared by the tests."""

import os
import signal
from collections.abc import Callable
from pathlib import Path

import pytest
from garage import Answer, Crew, run_command
from hypothesis import settings

from planner.advice import ahead

# No test may fail because a machine is slow; mutation runs draw fewer and always the same examples.
settings.register_profile("suite", deadline=None)
settings.register_profile("mutation", deadline=None, max_examples=15, derandomize=True)
settings.load_profile(os.environ.get("TREADGATE_EXAMPLES", "suite"))


def pytest_configure(config: pytest.Config) -> None:
    # Begun in the background, the suite finds Ctrl-C ignored, and so would every guide it starts.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    config.addinivalue_line("markers", "all_draws: try the day ahead out on as many cars as ever")


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


@pytest.fixture(autouse=True)
def _few_draws(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Try the day ahead out on few cars: it stands in every status and most tests do not ask.

    Tests of the forecast itself mark themselves ``all_draws``.
    """
    if request.node.get_closest_marker("all_draws") is None:
        monkeypatch.setattr(ahead, "DRAWS", 2)
