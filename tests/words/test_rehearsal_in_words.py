"""A rehearsal in words: knobs that were off, figures out of band, what the day took."""

import attrs
import pytest
from garage import book

from planner.car.changes import Change
from planner.rehearsal.all_knowing_crew import Knowing
from planner.rehearsal.hood import Hood, Knob
from planner.trade.figures import compute
from planner.words import rehearsal as words

READ = dict.fromkeys(("LF", "RF", "LR", "RR"), (200.0, 200.0, 200.0))
TRIM = Change("camber", "RF", -0.5), Change("camber", "LF", 0.25)
HOOD = Hood(
    book=book(),
    knobs=(),
    runs=7,
    changes=1,
    complete=True,
    morning={},
    evening={},
    figures=compute(READ),
    knowing=Knowing(runs=1, made=(TRIM,), excess=0.0),
)


@pytest.mark.parametrize(
    ("fault", "begun", "now", "says"),
    [
        (1.5, -1.5, -2.5, "was off by +1.50 deg, now off by +0.50 deg"),
        (1.5, -1.5, -3.0, "was off by +1.50 deg, now right"),
        (1.5, -1.5, -1.5, "off by +1.50 deg, not touched"),
        (None, -3.0, -2.5, "right at -3.00 deg, now at -2.50 deg"),
    ],
)
def test_a_knob_says_how_far_it_was_off_and_is_now(
    fault: float | None, begun: float, now: float, says: str
) -> None:
    assert words.knob(Knob(("camber", "RF"), fault, -3.0, begun, now)) == says


def test_figures_out_of_band_are_named_with_the_worst_first() -> None:
    said = words.out_of_band({"camber.inner-hot:LF": 0.4, "pressure.under:LR": 2.0}, book())
    assert said == "LR crown 2.0 °F too low, LF split 0.4 °F too high"
    assert words.out_of_band({}, book()) == "nothing: every figure is in its band"


def test_the_day_and_the_best_there_could_be_are_counted_alike() -> None:
    assert words.took(HOOD) == "7 runs, 1 change"
    assert words.took(attrs.evolve(HOOD, complete=False)) == "7 runs, 1 change; the day is not over"
    assert words.best(HOOD) == "1 run, 1 change, one stage at a time"
    assert words.changes([Change("cross", "car", 1.0)]) == "cross weight +1.00 %"
    assert words.changes(TRIM) == "RF camber -0.50 deg, LF camber +0.25 deg"
