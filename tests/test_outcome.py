"""What came of a change: better, no change, worse, or not to be told.

The standard error of the difference of two readings of a figure is the propagation of the
reading noise; a difference of one standard error or more decides. Common practice, no source.
"""

from math import sqrt

import pytest
from garage import GOOD, tires

from planner.judging.outcomes import judge
from planner.rulebook.aims import Aim
from planner.trade import figures
from planner.trade.figures import Noise
from planner.words import outcomes

NOISE = Noise(reading=3.0, run=2.0)
# One split varies by 3 * sqrt(2); the difference of two runs by sqrt(2) times that.
ERROR = 3 * sqrt(2) * sqrt(2)
SPLIT = Aim("camber.inner-hot:RF", ("split.RF",), 0.0, -10.0, 10.0, "RF")


def split(before: float, after: float, expected: float | None = 8.0, aims=(SPLIT,)):
    """Judge a change aimed at RF's split."""
    was, came = (figures.compute(tires(split={"RF": s})) for s in (before, after))
    foreseen = {} if expected is None else {"split.RF": expected}
    return judge(2, aims, foreseen, was, came, NOISE)


@pytest.mark.parametrize(
    ("after", "verdict"),
    [
        (20.0 - ERROR - 0.1, "better"),
        (20.0 - ERROR + 0.1, "unclear"),
        (20.0 + ERROR + 0.1, "worse"),
        (20.0 + ERROR - 0.1, "no-change"),
        (20.0, "no-change"),  # 12 were expected; less than half by more than half an error
        (8.0, "better"),
        (0.0, "better"),
        (-9.0, "better"),  # past the aim but in band is there
    ],
)
def test_a_verdict_takes_more_than_the_error_of_two_runs(after: float, verdict: str) -> None:
    assert split(20.0, after).verdict == verdict


def test_no_change_needs_half_an_error_of_what_was_hoped_to_be_missing() -> None:
    half = 12.0 / 2 - ERROR / 2
    assert split(20.0, 20.0 - half + 0.1).verdict == "no-change"
    assert split(20.0, 20.0 - half - 0.1).verdict == "unclear"


def test_far_past_the_aim_is_worse() -> None:
    assert split(12.0, -30.0).verdict == "worse"


def test_where_nothing_was_expected_little_is_no_change() -> None:
    assert split(20.0, 20.0 - ERROR / 2 + 0.1, None).verdict == "no-change"
    assert split(20.0, 20.0 - ERROR / 2 - 0.1, None).verdict == "unclear"
    assert split(20.0, 20.0 - ERROR - 0.1, None).verdict == "better"


def test_without_an_aim_nothing_is_claimed() -> None:
    outcome = split(20.0, 0.0, aims=())
    assert outcome.verdict == "unclear"
    assert outcome.figures == ()


def test_the_outcome_says_before_after_and_expected() -> None:
    outcome = split(20.0, 7.0)
    (part,) = outcome.figures
    assert (part.figure, part.before, part.after, part.expected) == ("split.RF", 20.0, 7.0, 8.0)
    assert (
        outcomes.says(outcome, "us")
        == "RF split +20.0 °F → +7.0 °F (expected +8.0 °F), 98% likely nearer: better"
    )
    assert outcome.step == 2


def test_a_bundle_is_judged_on_the_sum_of_its_figures() -> None:
    aims = (SPLIT, Aim("camber.inner-hot:LF", ("split.LF",), 0.0, -10.0, 10.0, "LF"))
    was = figures.compute(tires(split={"RF": 20.0, "LF": 20.0}))

    def after(rf: float, lf: float):
        came = figures.compute(tires(split={"RF": rf, "LF": lf}))
        return judge(2, aims, {"split.RF": 8.0, "split.LF": 8.0}, was, came, NOISE)

    assert after(5.0, 18.0).verdict == "better"  # 17 in sum, the error 8.5
    assert [p.verdict for p in after(5.0, 18.0).figures] == ["better", "no-change"]
    assert after(27.0, 27.0).verdict == "worse"  # 7 beyond is too, 6 would be the error of one
    assert after(5.0, 35.0).verdict == "no-change"


def test_a_figure_outside_on_either_side_of_an_open_band_counts_from_its_aim() -> None:
    aim = Aim("balance.tight", ("balance",), 9.0, 0.0, 10.0)

    def balance(value: float):
        return figures.compute(tires(GOOD | {"RF": 210.0 + value}))

    def verdict(before: float, after: float) -> str:
        return judge(2, (aim,), {"balance": 9.0}, balance(before), balance(after), NOISE).verdict

    assert verdict(20.0, 9.0) == "better"
    assert verdict(20.0, 1.0) == "better"
    assert verdict(20.0, 24.0) == "worse"
    assert verdict(-6.0, 5.0) == "better"
    assert verdict(-6.0, -12.0) == "worse"


def test_more_runs_before_make_the_verdict_sharper() -> None:
    was, came = (figures.compute(tires(split={"RF": s})) for s in (20.0, 14.5))
    one, many = (
        judge(2, (SPLIT,), {}, was, came, NOISE, runs_before=count).verdict for count in (1, 4)
    )
    assert (one, many) == ("unclear", "better")
