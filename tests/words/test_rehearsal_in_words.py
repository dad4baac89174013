"""A rehearsal in words: knobs that were off, figures out of band, what the day took."""

import pytest
from garage import book

from planner.car.changes import Change
from planner.words import rehearsal as words


@pytest.mark.parametrize(
    ("wrong", "begun", "now", "says"),
    [
        (True, -1.5, -2.5, "was off by +1.50 deg, now off by +0.50 deg"),
        (True, -1.5, -3.0, "was off by +1.50 deg, now right"),
        (True, -1.5, -1.5, "off by +1.50 deg, not touched"),
        (False, -3.0, -2.5, "right at -3.00 deg, now at -2.50 deg"),
    ],
)
def test_a_knob_says_how_far_it_was_off_and_is_now(
    wrong: bool, begun: float, now: float, says: str
) -> None:
    assert words.knob("camber", good=-3.0, begun=begun, now=now, wrong=wrong) == says


def test_figures_out_of_band_are_named_with_the_worst_first() -> None:
    said = words.out_of_band({"camber.inner-hot:LF": 0.4, "pressure.under:LR": 2.0}, book())
    assert said == "LR crown 2.0 °F too low, LF split 0.4 °F too high"
    assert words.out_of_band({}, book()) == "nothing: every figure is in its band"


def test_a_day_is_counted_in_runs_and_changes() -> None:
    assert words.took(7, 1, complete=True) == "7 runs, 1 change"
    assert words.took(1, 0, complete=False) == "1 run, 0 changes; the day is not over"


def test_a_change_names_its_knob() -> None:
    bundle = [Change("camber", "RF", -0.5), Change("camber", "LF", 0.25)]
    assert words.changes(bundle) == "RF camber -0.50 deg, LF camber +0.25 deg"
    assert words.changes([Change("cross", "car", 1.0)]) == "cross weight +1.00 %"
