"""How much one `record` works: rules read once, every step folded once, learned twice at most."""

from collections import Counter
from typing import Any

import pytest
from garage import RF_INNER_HOT, TIGHT, Crew, tires

from planner.learning import response
from planner.plan import fold
from planner.rulebook import rules_file
from planner.storage import planfile


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often what is dear was called."""
    count: Counter[str] = Counter()

    def counted(module: Any, name: str) -> None:
        was = getattr(module, name)

        def wrapped(*args: Any, **kwargs: Any) -> Any:
            count[name] += 1
            return was(*args, **kwargs)

        monkeypatch.setattr(module, name, wrapped)

    counted(rules_file, "load")
    counted(planfile, "parse")
    counted(fold, "_after")
    counted(response, "learn")
    counted(fold, "seen_run")
    return count


def test_a_run_after_a_change_is_judged_with_little_work(begun: Crew, calls) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    calls.clear()
    status = begun.record(tires(TIGHT))
    assert status["last_outcome"]["verdict"] == "better"
    assert calls["load"] == calls["parse"] == 1
    assert calls["_after"] == 4  # three steps that were there, and the new one
    assert calls["seen_run"] == 2  # the figures of each run once
    assert calls["learn"] <= 2  # with the new run and without it


def test_a_confirming_run_is_judged_with_little_work(begun: Crew, calls) -> None:
    begun.record(tires())
    calls.clear()
    begun.record(tires())
    assert calls["load"] == calls["parse"] == 1
    assert calls["_after"] == 2
    assert calls["learn"] <= 2
