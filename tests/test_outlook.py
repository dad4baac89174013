"""What a change is expected to do: each number against quadrature, brute force, or scipy."""

import math
from itertools import pairwise

import attrs
import numpy as np
import pytest
from garage import LOOSE, TIGHT, TOO_MUCH_CROSS, book, run, tires
from invented import rule_of_thumb
from scipy import integrate, stats

from planner.advice.outlook import Outlook
from planner.learning.observed import Observation, Priors
from planner.learning.response import learn
from planner.rulebook.aims import Aim
from planner.trade import figures
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import Noise

BOOK = book()
CAMBER = ("camber", "RF")
FAULTY = tires(TIGHT, {"RF": 14.0, "LR": -8.0}, {"RR": 3.5})


def outlook_of(readings, *more, effects=None, noise=Noise()) -> Outlook:
    """Return what is known after some runs, each with what was moved since the first."""
    seen = [Observation(figures.compute(run(readings).tires).base)]
    seen += [
        Observation(figures.compute(run(then).tires).base, moved=moved) for then, moved in more
    ]
    priors = Priors(rule_of_thumb(BOOK) if effects is None else effects, noise=noise)
    return Outlook(learn(seen, priors), BOOK)


def excess_by_quadrature(mean: float, sd: float, edge: float, sign: float) -> float:
    """Return the expected distance beyond an edge, by numerical integration."""

    def weighed(x: float) -> float:
        return max(0.0, sign * (x - edge)) * stats.norm.pdf(x, mean, sd)

    points = sorted({mean - 12 * sd, mean, mean + 12 * sd, edge})
    return sum(integrate.quad(weighed, a, b)[0] for a, b in pairwise(points))


@pytest.mark.parametrize(
    "moves", [{}, {CAMBER: 1.0}, {("cross", "car"): -0.75, ("pressure", "RR"): -1.0}]
)
def test_the_expected_excess_is_that_of_numerical_integration(moves) -> None:
    outlook = outlook_of(FAULTY)
    total = 0.0
    for rule in BOOK.pattern:
        edge = rule.above if rule.above is not None else rule.below
        if rule.stage is None or edge is None or rule.alike is not None:  # the fronts differ by 14
            continue
        sign = 1.0 if rule.above is not None else -1.0
        for corner in CORNERS if rule.each != "car" else ("",):
            # All figures of a pattern must be out: the one least so counts.
            total += min(
                excess_by_quadrature(at.mean, at.sd, edge, sign)
                for name in (f"{kind}.{corner}".rstrip(".") for kind in rule.figures)
                for at in [outlook.known.estimate(name, moved=moves)]
            )
    assert outlook.expected_excess(moves) == pytest.approx(total, rel=1e-6)


def test_a_figure_known_exactly_is_out_by_what_it_is_out() -> None:
    exact = outlook_of(tires(split={"RF": 14.0}), noise=Noise(1e-9, 0.0))
    in_band = outlook_of(tires(), noise=Noise(1e-9, 0.0))
    assert in_band.expected_excess({}) == pytest.approx(0.0, abs=1e-6)
    assert exact.expected_excess({}) == pytest.approx(4.0, abs=1e-6)
    # Both fronts alike is a matter of toe besides: 14 against 6.
    fronts = outlook_of(tires(split={"RF": 14.0, "LF": 14.0}), noise=Noise(1e-9, 0.0))
    assert fronts.expected_excess({}) == pytest.approx(4.0 + 4.0 + 8.0, abs=1e-6)


def expected_square(split: float, error: float, answer: Estimate, amount: float) -> float:
    """Return E[(split + answer · amount)²] over both, by Gauss-Hermite quadrature."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(12)
    weights = weights / weights.sum()
    here = split + error * nodes
    slope = answer.mean + answer.sd * nodes
    square = (here[:, None] + slope[None, :] * amount) ** 2
    return float(weights @ square @ weights)


@pytest.mark.parametrize("split", [-30.0, -13.0, 11.0, 14.5, 22.0])
@pytest.mark.parametrize("spread", [0.5, 5.0, 9.0])
def test_the_size_is_the_step_nearest_the_aim_by_brute_force(split: float, spread: float) -> None:
    answer = Estimate(-12.0, spread)
    outlook = outlook_of(tires(split={"RF": split}), effects={CAMBER: {"split.RF": answer}})
    aim = Aim("camber.inner-hot:RF", ("split.RF",), 0.0)
    steps = [0.25 * n for n in range(-8, 9) if n]
    error = math.sqrt(2) * 3.0  # of a difference of two readings
    by_hand = min(steps, key=lambda amount: expected_square(split, error, answer, amount))
    assert outlook.best_amount(aim, CAMBER, 0.25, 2.0) == by_hand


def test_the_less_is_known_of_the_answer_the_smaller_the_first_move() -> None:
    aim = Aim("camber.inner-hot:RF", ("split.RF",), 0.0)
    sizes = []
    for spread in (0.1, 4.0, 8.0, 14.0):
        effects = {CAMBER: {"split.RF": Estimate(-12.0, spread)}}
        outlook = outlook_of(tires(split={"RF": 24.0}), effects=effects)
        sizes.append(outlook.best_amount(aim, CAMBER, 0.25, 3.0))
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] == 2.0  # 24 degF at 12 a degree
    assert sizes[-1] <= 1.0


def test_once_the_car_has_answered_the_size_goes_by_its_answer() -> None:
    aim = Aim("camber.inner-hot:RF", ("split.RF",), 0.0)
    first, then = tires(split={"RF": 36.0}), tires(split={"RF": 29.0})  # 7 a degree, not 12
    fresh, answered = outlook_of(then), outlook_of(first, (then, {CAMBER: 1.0}))
    assert answered.best_amount(aim, CAMBER, 0.25, 4.0) > fresh.best_amount(aim, CAMBER, 0.25, 4.0)


@pytest.mark.parametrize(
    "names",
    [
        ("balance",),
        ("cross_vs_front", "cross_vs_right"),
        ("cross_vs_front", "cross_vs_right", "balance", "split.RF", "crown.RR"),
    ],
)
@pytest.mark.parametrize("moves", [{}, {("cross", "car"): -1.0, CAMBER: 0.5}])
def test_the_chance_is_that_of_scipys_multivariate_normal(names, moves) -> None:
    outlook = outlook_of(FAULTY)
    mean, covariance = outlook.known.joint(names, moved=moves)
    bands = [BOOK.edges(name) for name in names]
    low = [-np.inf if b[0] is None else b[0] for b in bands]
    high = [np.inf if b[1] is None else b[1] for b in bands]
    wanted = stats.multivariate_normal(mean, covariance).cdf(high, lower_limit=low)
    assert outlook.chance(names, moves) == pytest.approx(float(wanted), abs=0.003)


def test_no_figures_are_certainly_in_band() -> None:
    assert outlook_of(FAULTY).chance((), {CAMBER: 1.0}) == 1.0


@pytest.mark.parametrize(
    ("readings", "setting", "towards"),
    [
        (tires(split={"RF": 20.0}), CAMBER, 1.0),
        (tires(crown={"RR": 7.0}), ("pressure", "RR"), -1.0),
        (tires(TIGHT), ("stagger", "rear"), 0.5),
        (tires(LOOSE), ("stagger", "rear"), -0.5),
    ],
)
def test_what_mends_is_worth_something_and_what_harms_less_than_nothing(
    readings, setting, towards
) -> None:
    outlook = outlook_of(readings)
    assert outlook.worth({setting: towards}, 10.0) > 0
    assert outlook.worth({setting: -towards}, 10.0) < 0
    assert outlook.worth({}, 10.0) == 0


def test_the_same_mending_is_worth_less_the_longer_it_takes() -> None:
    outlook = outlook_of(tires(TIGHT))
    quick, slow = (outlook.worth({("stagger", "rear"): 0.5}, minutes) for minutes in (5.0, 40.0))
    assert quick > slow > 0
    # A run of 12 minutes goes with either.
    assert quick / slow == pytest.approx((40 + 12) / (5 + 12))


def test_a_move_makes_the_prediction_wider_by_what_is_not_known_of_the_answer() -> None:
    outlook = outlook_of(tires(split={"RF": 20.0}))
    here, there = (outlook.after(("split.RF",), m)["split.RF"] for m in ({}, {CAMBER: 1.0}))
    assert there.mean == pytest.approx(here.mean - 12.0)
    assert there.sd == pytest.approx(math.hypot(here.sd, 5.0))


def test_the_slope_of_several_figures_is_their_mean() -> None:
    outlook = outlook_of(tires())
    both = ("cross_vs_front", "cross_vs_right")
    alone = [outlook.slope((name,), ("cross", "car")) for name in both]
    assert outlook.slope(both, ("cross", "car")) == pytest.approx(sum(alone) / 2)


def test_an_outlook_is_of_its_own_rules() -> None:
    narrow = attrs.evolve(
        BOOK,
        pattern=tuple(
            attrs.evolve(rule, above=5.0) if rule.id == "camber.inner-hot" else rule
            for rule in BOOK.pattern
        ),
    )
    wide = outlook_of(tires(split={"RF": 8.0}))
    assert Outlook(wide.known, narrow).expected_excess({}) > wide.expected_excess({}) + 2.0


def test_cross_weight_is_not_moved_so_far_that_the_balance_takes_it_back() -> None:
    aim = Aim("cross.too-much", ("cross_vs_front", "cross_vs_right"), -7.5)
    cross = ("cross", "car")
    roomy = outlook_of(tires(TOO_MUCH_CROSS | {"RF": 219.0, "LF": 214.0, "LR": 206.0}))
    at_edge = outlook_of(tires(TOO_MUCH_CROSS | {"RF": 211.0, "LF": 206.0, "LR": 202.0}))
    sizes = [outlook.best_amount(aim, cross, 0.25, 1.0) for outlook in (roomy, at_edge)]
    assert sizes[0] < sizes[1] < 0
    moved = at_edge.after(("balance",), {cross: sizes[1]})["balance"].mean
    assert moved > at_edge.after(("balance",), {cross: -1.0})["balance"].mean
