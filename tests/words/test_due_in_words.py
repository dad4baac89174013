"""What is due, in words; the wording is pinned here alone."""

import pytest

from planner.plan.machine import Place
from planner.plan.way import Kind, Way
from planner.words import due, way


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("camber:run", "in the camber stage, a run is due"),
        ("cross:choice", "in the cross stage, a choice is due"),
        ("balance:change", "in the balance stage, a change is due"),
        ("complete:nothing", "complete"),
    ],
)
def test_where_a_day_stands_is_said_in_words(state: str, words: str) -> None:
    assert due.stands(Place(state)) == words


@pytest.mark.parametrize(
    ("kind", "expected_out", "enough", "words"),
    [
        (
            "to-confirm",
            0.118,
            0.05,
            "to confirm: no stage shows a fault, but 0.12 of a fault expected; the day ends at "
            "0.05",
        ),
        (
            "confirm-again",
            0.052,
            0.05,
            "confirm once more: 0.052 of a fault expected; the day ends at 0.05",
        ),
        ("to-confirm", 0.05, 0.05, "to confirm: no stage shows a fault"),
        ("to-confirm", None, 0.05, "to confirm: no stage shows a fault"),  # after moving on
        (
            "confirm-again",
            0.02,
            0.025,
            "confirm once more: cold pressures differed from the run before",
        ),
    ],
)
def test_a_run_that_is_due_though_nothing_shows_has_its_reason(
    kind: Kind, expected_out: float | None, enough: float, words: str
) -> None:
    seen = Way(kind, Place("confirm:run"), expected_out=expected_out, enough=enough)
    assert way.says(seen) == words
