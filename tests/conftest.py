"""Fixtures shared by the tests."""

from collections.abc import Callable
from pathlib import Path

import pytest
from garage import Answer, Crew, run_command


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
