"""What is due, in words; the wording is pinned here alone."""

import pytest

from planner.plan.machine import Place
from planner.words import due


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
