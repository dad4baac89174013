"""Several knobs sized together: against the posterior itself and against trying everything."""

from itertools import product

import attrs
import numpy as np
import pytest
from garage import TIGHT, book, run, tires
from hypothesis import example, given
from hypothesis import strategies as st
from invented import rule_of_thumb

from planner.advice.choices import Choices, cost_of
from planner.advice.together import Search
from planner.car.changes import Setting
from planner.judging.expected import Bands
from planner.learning.observed import Observation, Priors
from planner.learning.posterior import Posterior
from planner.learning.response import learn
from planner.trade import figures
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES

BOOK = book()
BANDS = Bands.of(BOOK, "left")
CAMBER, OTHER_CAMBER = ("camber", "RF"), ("camber", "LF")
PRESSURE, CROSS = ("pressure", "RR"), ("cross", "car")
FAULTY = tires(TIGHT, {"RF": 18.0, "LR": -8.0}, {"RR": 5.5})


def known_of(readings=FAULTY, *more, effects=None) -> Posterior:
    """Return what is known after some runs, each with what was moved since the first."""
    seen = [Observation(figures.compute(run(readings).tires).base)]
    seen += [
        Observation(figures.compute(run(then).tires).base, moved=moved) for then, moved in more
    ]
    return learn(seen, Priors(rule_of_thumb(BOOK) if effects is None else effects))


def steps(step: float, most: float, minutes: float = 5.0) -> Choices:
    count = round(most / step)
    return Choices(tuple(step * n for n in range(-count, count + 1) if n), minutes)


EVERY = {
    **{("camber", corner): steps(0.25, 2.0, 8.0) for corner in CORNERS},
    **{("pressure", corner): steps(0.5, 2.0, 3.0) for corner in CORNERS},
    CROSS: steps(0.25, 2.0),
}


@pytest.mark.parametrize(
    "moves", [{}, {CAMBER: 1.25}, {CAMBER: -0.5, PRESSURE: -1.0, CROSS: 0.75, OTHER_CAMBER: 0.25}]
)
def test_what_is_expected_after_moves_is_that_of_the_posterior(moves) -> None:
    after = tires(TIGHT, {"RF": 6.0}, {"RR": 4.0})
    known = known_of(FAULTY, (after, {CAMBER: 1.0}))
    mean, covariance = known.joint(BASE_FIGURES, moved=moves)
    wanted = BANDS.faults(mean, covariance)
    found = Search(known, BANDS).after(moves)
    assert found.chance == pytest.approx(wanted.chance, abs=1e-9)
    assert found.excess == pytest.approx(wanted.excess, abs=1e-9)


def test_along_one_knob_every_amount_is_weighed_as_by_itself() -> None:
    search = Search(known_of(), BANDS)
    beside = {PRESSURE: -1.0, OTHER_CAMBER: 0.5}
    amounts = np.array([-1.0, 0.0, 0.25, 2.0])
    together = search.along(CAMBER, {**beside, CAMBER: 9.0}, amounts)
    for number, amount in enumerate(amounts.tolist()):
        alone = search.after({**beside, CAMBER: amount})
        assert together.loss[number] == pytest.approx(float(alone.loss), abs=1e-9)


@pytest.mark.parametrize("spread", [2.0, 5.0])
def test_two_knobs_are_sized_as_by_trying_every_pair(spread: float) -> None:
    effects = rule_of_thumb(BOOK) | {CAMBER: {"split.RF": Estimate(-12.0, spread)}}
    search = Search(known_of(effects=effects), BANDS)
    choices = {CAMBER: steps(0.25, 2.0), CROSS: steps(0.25, 2.0)}
    each = [(0.0, *choices[knob].amounts) for knob in (CAMBER, CROSS)]

    def cost(pair: tuple[float, float]) -> float:
        moves = {knob: a for knob, a in zip(choices, pair, strict=True) if a}
        return float(search.after(moves).loss) + cost_of(choices[k].minutes for k in moves)

    best = min(product(*each), key=cost)
    found = search.size(choices)
    assert (found.moves.get(CAMBER, 0.0), found.moves.get(CROSS, 0.0)) == best
    assert found.total == pytest.approx(cost(best))


def test_nothing_is_turned_on_a_car_that_is_right() -> None:
    exact = attrs.evolve(Priors(rule_of_thumb(BOOK)), noise=figures.Noise(0.3, 0.1))
    known = learn([Observation(figures.compute(tires()).base)], exact)
    found = Search(known, BANDS).size({CAMBER: steps(0.25, 2.0), CROSS: steps(0.25, 2.0)})
    assert found.moves == {}
    assert found.cost == 0.0


def test_a_knob_whose_work_costs_more_than_it_brings_is_left_alone() -> None:
    search = Search(known_of(), BANDS)
    gained = float(search.after({}).loss) - search.size({CAMBER: steps(0.25, 2.0, 0.0)}).total
    assert gained > 0
    assert search.size({CAMBER: steps(0.25, 2.0, 10_000.0)}).moves == {}


def test_the_less_is_known_of_the_answer_the_smaller_the_first_move() -> None:
    sizes = []
    for spread in (0.1, 4.0, 8.0, 14.0):
        effects = {CAMBER: {"split.RF": Estimate(-12.0, spread)}}
        known = known_of(tires(split={"RF": 24.0}), effects=effects)
        sizes.append(Search(known, BANDS).best_amount(CAMBER, steps(0.25, 3.0).amounts))
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] > sizes[-1]


def test_only_what_may_be_set_is_searched() -> None:
    known = known_of(tires(split={"RF": 30.0}))
    found = Search(known, BANDS).size({CAMBER: Choices((0.25, 0.5), 5.0)})
    assert found.moves == {CAMBER: 0.5}


@given(st.integers(0, 10_000), st.permutations(list(EVERY)))
@example(1799, [*list(EVERY)[:5], *(("pressure", at) for at in ("LR", "RR", "RF")), CROSS])
def test_moves_do_not_hang_on_the_order_of_the_knobs(seed: int, order: list[Setting]) -> None:
    """So a car and its mirror image, whose knobs come in another order, are sized alike."""
    off = np.random.default_rng(seed).normal(0.0, 1.0, (3, 4)) * [[6.0], [8.0], [3.0]]
    known = known_of(tires(*(dict(zip(CORNERS, map(float, each), strict=True)) for each in off)))
    found = Search(known, BANDS).size(EVERY)
    assert Search(known, BANDS).size({knob: EVERY[knob] for knob in order}).moves == found.moves


def test_a_second_question_of_the_same_knobs_is_not_searched_again(monkeypatch) -> None:
    search = Search(known_of(), BANDS)
    first = search.with_one({CROSS: steps(0.25, 2.0)}, {CAMBER: steps(0.25, 2.0)})
    monkeypatch.setattr(Search, "along", None)
    assert search.size({CAMBER: steps(0.25, 2.0)}).moves.keys() <= first.moves.keys()
