"""What a change is expected to do: each number against draws, scipy, or trying everything."""

import math

import attrs
import numpy as np
import pytest
from garage import LOOSE, TIGHT, TOO_MUCH_CROSS, book, run, tires
from invented import rule_of_thumb
from scipy import stats

from planner.advice.choices import MINUTE, cost_of
from planner.advice.outlook import Outlook
from planner.judging.expected import EXCESS, MARGIN
from planner.learning.observed import Observation, Priors
from planner.learning.response import learn
from planner.rulebook.rules import TUNING_ORDER
from planner.trade import figures
from planner.trade.estimate import Estimate
from planner.trade.figures import Noise

BOOK = book()
CAMBER, CROSS = ("camber", "RF"), ("cross", "car")
FAULTY = tires(TIGHT, {"RF": 14.0, "LR": -8.0}, {"RR": 3.5})
SOME_MOVES = [{}, {CAMBER: 1.0}, {CROSS: -0.75, ("pressure", "RR"): -1.0}]


def outlook_of(readings, *more, effects=None, noise=Noise()) -> Outlook:
    """Return what is known after some runs, each with what was moved since the first."""
    seen = [Observation(figures.compute(run(readings).tires).base)]
    seen += [
        Observation(figures.compute(run(then).tires).base, moved=moved) for then, moved in more
    ]
    priors = Priors(rule_of_thumb(BOOK) if effects is None else effects, noise=noise)
    return Outlook(learn(seen, priors), BOOK)


def chance_beyond(outlook: Outlook, key: str, moves) -> float:
    """Return the chance of a fault with no `alike`, by `scipy.stats.multivariate_normal`."""
    (band,) = [band for band in outlook.bands.bands if band.key == key]
    names = tuple(dict.fromkeys(band.figures))
    mean, covariance = outlook.known.joint(names, moved=moves)
    sign, edge = band.rule.sign, band.rule.edge
    beyond = stats.multivariate_normal(sign * (edge - mean) + MARGIN, covariance)
    return float(beyond.cdf(np.zeros(len(names))))


# --- what is expected out of band -----------------------------------------------------------------


@pytest.mark.parametrize("moves", SOME_MOVES)
def test_the_faults_after_moves_are_those_of_scipys_multivariate_normal(moves) -> None:
    outlook = outlook_of(FAULTY)
    faults, bands = outlook.faults_after(moves), outlook.bands.bands
    for band, chance in zip(bands, faults.chance.tolist(), strict=True):
        if band.rule.alike is None:
            wanted = chance_beyond(outlook, band.key, moves)
            # The lesser of two figures is only taken as normal: within 0.03 (Clark 1961).
            rough = 0.03 if len(set(band.figures)) > 1 else 1e-6
            assert chance == pytest.approx(wanted, abs=rough)


def test_a_figure_known_exactly_is_out_by_what_it_is_out() -> None:
    exact = Noise(1e-9, 0.0)

    def out(readings) -> tuple[float, float]:
        faults = outlook_of(readings, noise=exact).faults
        return float(faults.count), float(faults.loss)

    assert out(tires()) == pytest.approx((0.0, 0.0), abs=1e-6)
    half = 10.0  # of the band of a split [degF]
    one = 1 + EXCESS * (14.0 - 10.0 - MARGIN) / half
    assert out(tires(split={"RF": 14.0})) == pytest.approx((1.0, one), abs=1e-6)
    # Both fronts alike is a matter of toe besides: 14 against 6.
    count, loss = out(tires(split={"RF": 14.0, "LF": 14.0}))
    assert count == pytest.approx(3.0, abs=1e-6)
    assert loss > 2 * one + 1.0


def test_what_the_crew_left_open_counts_no_more() -> None:
    outlook = outlook_of(tires(split={"RF": 20.0}))
    left = attrs.evolve(outlook, left_open=("camber.inner-hot:RF",))
    assert float(outlook.faults.count - left.faults.count) > 0.8


def test_an_outlook_is_of_its_own_rules() -> None:
    narrow = attrs.evolve(
        BOOK,
        pattern=tuple(
            attrs.evolve(rule, above=5.0) if rule.id == "camber.inner-hot" else rule
            for rule in BOOK.pattern
        ),
    )
    wide = outlook_of(tires(split={"RF": 8.0}))
    assert float(Outlook(wide.known, narrow).faults.count) > float(wide.faults.count) + 0.2


# --- what a move does -----------------------------------------------------------------------------


def test_a_move_makes_the_prediction_wider_by_what_is_not_known_of_the_answer() -> None:
    outlook = outlook_of(tires(split={"RF": 20.0}))
    here, there = (outlook.after(("split.RF",), m)["split.RF"] for m in ({}, {CAMBER: 1.0}))
    assert there.mean == pytest.approx(here.mean - 12.0)
    assert there.sd == pytest.approx(math.hypot(here.sd, 5.0))
    assert outlook.after((), {CAMBER: 1.0}) == {}


def test_the_slope_of_several_figures_is_their_mean() -> None:
    outlook = outlook_of(tires())
    both = ("cross_vs_front", "cross_vs_right")
    alone = [outlook.slope((name,), CROSS) for name in both]
    assert outlook.slope(both, CROSS) == pytest.approx(sum(alone) / 2)


def test_the_answer_is_learned_and_what_was_believed_stays_beside_it() -> None:
    first, then = tires(split={"RF": 36.0}), tires(split={"RF": 29.0})  # 7 a degree, not 12
    outlook = outlook_of(first, (then, {CAMBER: 1.0}))
    believed, answer = outlook.believed("split.RF", CAMBER), outlook.answer("split.RF", CAMBER)
    assert (believed.mean, believed.sd) == pytest.approx((-12.0, 5.0))
    assert believed.mean < answer.mean < -7.0
    assert answer.sd < believed.sd
    assert outlook.slope(("split.RF",), CAMBER) == pytest.approx(answer.mean)


# --- the size -------------------------------------------------------------------------------------


@pytest.mark.parametrize("split", [-30.0, -19.0, 15.0, 22.0])
@pytest.mark.parametrize("spread", [0.5, 5.0, 9.0])
def test_the_size_leaves_least_out_by_draws_of_the_car(split: float, spread: float) -> None:
    """Cars drawn from what is known, judged one by one, at every amount."""
    answer = Estimate(-12.0, spread)
    outlook = outlook_of(tires(split={"RF": split}), effects={CAMBER: {"split.RF": answer}})
    steps = [0.25 * n for n in range(-12, 13) if n]
    found = outlook.best_amount(CAMBER, steps)

    draw = np.random.default_rng(17)
    mean, covariance = outlook.known.joint(outlook.bands.names)
    cars = draw.multivariate_normal(mean, covariance, 20_000)
    answers = draw.normal(answer.mean, answer.sd, 20_000)
    at, gap = (outlook.bands.names.index(n) for n in ("split.RF", "front_split_gap"))
    toward_gap = outlook.slope(("front_split_gap",), CAMBER) / answer.mean

    def drawn_loss(amount: float) -> float:
        then = cars.copy()
        then[:, at] += answers * amount
        then[:, gap] += toward_gap * answers * amount
        loss = 0.0
        for band, half in zip(outlook.bands.bands, outlook.bands.half_widths, strict=True):
            if not {"split.RF", "front_split_gap"} & set(band.figures):
                continue
            places = [outlook.bands.names.index(name) for name in band.figures]
            beyond = (band.rule.sign * (then[:, places] - band.rule.edge)).min(axis=1) - MARGIN
            out = beyond > 0
            if band.rule.alike is not None:
                out &= abs(then[:, gap]) <= band.rule.alike
            loss += out.mean() + EXCESS * (beyond * out).mean() / half
        return float(loss)

    # The size found is within what so many draws can tell of the best of them all.
    assert drawn_loss(found) <= min(drawn_loss(amount) for amount in steps) + 0.015


def test_once_the_car_has_answered_the_size_goes_by_its_answer() -> None:
    first, then = tires(split={"RF": 36.0}), tires(split={"RF": 29.0})  # 7 a degree, not 12
    steps = [0.25 * n for n in range(1, 17)]
    fresh, answered = outlook_of(then), outlook_of(first, (then, {CAMBER: 1.0}))
    assert answered.best_amount(CAMBER, steps) > fresh.best_amount(CAMBER, steps)


def test_cross_weight_is_not_moved_so_far_that_the_balance_takes_it_back() -> None:
    steps = [-0.25 * n for n in range(1, 9)]
    roomy = outlook_of(tires(TOO_MUCH_CROSS | {"RF": 219.0, "LF": 214.0, "LR": 206.0}))
    at_edge = outlook_of(tires(TOO_MUCH_CROSS | {"RF": 211.0, "LF": 206.0, "LR": 202.0}))
    sizes = [outlook.best_amount(CROSS, steps) for outlook in (roomy, at_edge)]
    assert sizes[0] < sizes[1] < 0


# --- what it is worth -----------------------------------------------------------------------------


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
    assert outlook.gain({setting: towards}, [10.0]) > 0
    assert outlook.gain({setting: -towards}, [10.0]) < 0
    assert outlook.gain({}, []) == 0


def test_the_same_mending_is_worth_less_the_longer_it_takes() -> None:
    outlook = outlook_of(tires(TIGHT))
    quick, slow = (outlook.gain({("stagger", "rear"): 0.5}, [m]) for m in (5.0, 40.0))
    assert quick - slow == pytest.approx(35 * MINUTE)
    assert quick + cost_of([5.0]) == pytest.approx(
        float(outlook.faults.loss - outlook.faults_after({("stagger", "rear"): 0.5}).loss)
    )


@pytest.mark.parametrize("moves", SOME_MOVES)
def test_the_loss_of_the_stages_is_the_loss(moves) -> None:
    outlook = outlook_of(FAULTY)
    parts = [outlook.loss_of(stage, moves) for stage in TUNING_ORDER]
    assert sum(parts) == pytest.approx(float(outlook.faults_after(moves).loss))


@pytest.mark.parametrize("moves", SOME_MOVES)
def test_a_stage_is_in_band_when_none_of_its_faults_is_there(moves) -> None:
    """Against `scipy.stats`, the figures of one stage being nearly independent of one another."""
    outlook = outlook_of(FAULTY)
    keys = [band.key for band in outlook.bands.bands if band.rule.stage == "pressure"]
    wanted = math.prod(1 - chance_beyond(outlook, key, moves) for key in keys)
    assert outlook.stage_chance("pressure", moves) == pytest.approx(wanted, abs=1e-6)


def test_what_is_right_elsewhere_may_be_upset_and_what_is_out_there_cannot() -> None:
    # Tight, all else in band: heat taken out of the tight end only by way of the cross weight.
    outlook = outlook_of(tires(TIGHT))
    assert outlook.upset("balance", {}) == pytest.approx(0.0)
    far = outlook.upset("balance", {CROSS: -2.0})
    assert far > outlook.upset("balance", {CROSS: -0.25}) >= 0.0
    # What the stage itself does to its own figures upsets nothing.
    assert outlook.upset("camber", {CAMBER: 3.0}) < outlook.upset("balance", {CAMBER: 3.0})
