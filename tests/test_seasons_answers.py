"""Answers learned over days, against conditioning all days at once by brute force."""

from datetime import date, timedelta

import numpy as np
import pytest

from planner.learning import season
from planner.learning.layout import believed_together
from planner.learning.observed import Observation, Priors, Told, name_of
from planner.learning.response import learn
from planner.learning.season import DayTold
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, Noise

RF, LF, AIR = ("camber", "RF"), ("camber", "LF"), ("pressure", "RF")
EFFECTS = {
    RF: {"split.RF": Estimate(-12.0, 5.0)},
    LF: {"split.LF": Estimate(-12.0, 5.0)},
    AIR: {"crown.RF": Estimate(4.0, 1.5), "average.RF": Estimate(-1.0, 1.0)},
}
PRIORS = Priors(EFFECTS, noise=Noise(2.0, 1.0))
NAMES = [name_of(setting, figure) for setting, of in EFFECTS.items() for figure in of]
ON = date(2031, 5, 17)


def a_day(moves, chance, answers=None):
    """Return the runs of a day of a car with the given answers, in °F per unit."""
    found = []
    for moved in moves:
        base = dict.fromkeys(BASE_FIGURES, 200.0)
        for setting, amount in moved.items():
            for figure, believed in EFFECTS[setting].items():
                answer = (answers or {}).get((setting, figure), believed.mean)
                base[figure] += amount * answer
        base = {name: at + chance.normal(0.0, 1.5) for name, at in base.items()}
        found.append(Observation(base, moved))
    return found


def alone(runs) -> Told:
    return season.of_day(learn(runs, PRIORS))


def posterior_of(told: Told, together):
    """Return mean and covariance of the surprises that rows lead to, by plain conditioning."""
    rows = np.array(told.rows)
    order = [told.answers.index(name) for name in NAMES]
    design, seen = rows[:, order], rows[:, -1]
    gain = together @ design.T @ np.linalg.inv(design @ together @ design.T + np.eye(len(rows)))
    return gain @ seen, together - gain @ design @ together


DAYS = (
    [{}, {RF: 1.0}, {RF: 1.0, AIR: -2.0}],
    [{}, {LF: -1.0, RF: 0.5}, {LF: -1.0, RF: 0.5, AIR: 1.0}],
    [{}, {RF: -0.5, LF: 1.0}],
)


def test_a_day_alone_says_what_its_runs_do() -> None:
    # Rows and prior together must give the posterior that the runs gave, answer by answer.
    runs = a_day(DAYS[1], np.random.default_rng(3))
    known = learn(runs, PRIORS)
    together = believed_together(PRIORS, [(s, f) for s, of in EFFECTS.items() for f in of])
    mean, covariance = posterior_of(alone(runs), together)
    for number, (setting, figure) in enumerate((s, f) for s, of in EFFECTS.items() for f in of):
        believed, now = EFFECTS[setting][figure], known.sensitivity(setting, figure)
        assert mean[number] == pytest.approx((now.mean - believed.mean) / believed.sd, abs=1e-6)
        assert covariance[number, number] ** 0.5 == pytest.approx(now.sd / believed.sd, abs=1e-6)


def by_brute_force(days, on, share, half):
    """Return the surprises on a day and the likelihood, all days conditioned on at once."""
    together = believed_together(PRIORS, [(s, f) for s, of in EFFECTS.items() for f in of])
    times = [day.on for day in days] + [on]
    apart = np.array([[abs((a - b).days) for b in times] for a in times])
    between = (1 - share) * 0.5 ** (apart / half) + share * np.eye(len(times))
    whole = np.kron(between, together)
    count = len(NAMES)
    design, seen = [], []
    for number, day in enumerate(days):
        for row in day.told.rows:
            wide = np.zeros(len(times) * count)
            for name, weight in zip(day.told.answers, row[:-1], strict=True):
                wide[number * count + NAMES.index(name)] = weight
            design.append(wide)
            seen.append(row[-1])
    design, seen = np.array(design), np.array(seen)
    cross = whole @ design.T
    total = design @ cross + np.eye(len(seen))
    gain = cross @ np.linalg.inv(total)
    mean, covariance = gain @ seen, whole - gain @ cross.T
    fit = -0.5 * (seen @ np.linalg.solve(total, seen) + np.linalg.slogdet(total)[1])
    return mean[-count:], covariance[-count:, -count:], fit


@pytest.mark.parametrize(("share", "half"), [(0.1, np.inf), (0.35, np.inf), (0.05, 70.0)])
def test_over_days_it_is_brute_force_conditioning(monkeypatch, share, half) -> None:
    monkeypatch.setattr(season, "DAYS_SHARE", {share: 1.0})
    monkeypatch.setattr(season, "FORGOTTEN", {half: 1.0})
    monkeypatch.setattr(season, "WORTH_KEEPING", 0.0)
    chance = np.random.default_rng(5)
    gaps = (0, 14, 100)
    days = [
        DayTold(ON + timedelta(gap), alone(a_day(moves, chance, {(RF, "split.RF"): -6.0})))
        for gap, moves in zip(gaps, DAYS, strict=True)
    ]
    on = ON + timedelta(130)
    together = believed_together(PRIORS, [(s, f) for s, of in EFFECTS.items() for f in of])
    mean, covariance = posterior_of(season.today(days[::-1], PRIORS, on), together)
    wanted, spread, _ = by_brute_force(days, on, share, half)
    assert mean == pytest.approx(wanted, abs=1e-6)
    assert covariance == pytest.approx(spread, abs=1e-6)


def test_how_much_days_differ_is_weighed_by_the_likelihood_of_all_days(monkeypatch) -> None:
    monkeypatch.setattr(season, "WORTH_KEEPING", 0.0)
    grid = {0.05: 0.5, 0.6: 0.5}
    monkeypatch.setattr(season, "DAYS_SHARE", grid)
    monkeypatch.setattr(season, "FORGOTTEN", {np.inf: 1.0})
    chance = np.random.default_rng(8)
    days = [
        DayTold(ON + timedelta(7 * n), alone(a_day(DAYS[0] * 2, chance, {(RF, "split.RF"): at})))
        for n, at in enumerate((-20.0, -5.0, -17.0, -6.0))
    ]
    on = ON + timedelta(40)
    parts = [by_brute_force(days, on, share, np.inf) for share in grid]
    weight = np.exp([fit - max(p[2] for p in parts) for _, _, fit in parts])
    weight /= weight.sum()
    assert weight[1] > 0.95  # a car that answers otherwise every day
    together = believed_together(PRIORS, [(s, f) for s, of in EFFECTS.items() for f in of])
    found = season.today(days, PRIORS, on)
    # What was never moved on any day is not among the answers; its family tells of it.
    names = [name for name in NAMES if name in found.answers]
    at = [NAMES.index(name) for name in names]
    rows = np.array(found.rows)
    design = rows[:, [found.answers.index(name) for name in names]]
    known = np.linalg.inv(np.linalg.inv(together[np.ix_(at, at)]) + design.T @ design)
    mean = sum(w * p[0][at] for w, p in zip(weight, parts, strict=True))
    assert known @ design.T @ rows[:, -1] == pytest.approx(mean, abs=1e-6)


def test_answers_that_were_never_moved_hear_of_it_by_their_family() -> None:
    runs = a_day([{}, {RF: 1.0}, {RF: 2.0}], np.random.default_rng(1), {(RF, "split.RF"): -4.0})
    told = season.today([DayTold(ON, alone(runs))], PRIORS, ON + timedelta(7))
    assert told.answers == ("camber.RF split.RF",)
    one = [Observation(dict.fromkeys(BASE_FIGURES, 200.0))]
    known = learn(one, Priors(EFFECTS, noise=PRIORS.noise, told=told))
    assert known.sensitivity(RF, "split.RF").mean > -8.0
    assert -12.0 < known.sensitivity(LF, "split.LF").mean < known.sensitivity(RF, "split.RF").mean
    for setting, figure in ((LF, "split.LF"), (RF, "split.RF"), (AIR, "crown.RF")):
        believed, now = known.believed(setting, figure), known.sensitivity(setting, figure)
        assert (believed.mean, believed.sd) == pytest.approx((now.mean, now.sd))
    assert (now.mean, now.sd) == pytest.approx((4.0, 1.5))
    assert known.learned() == ()


def test_older_days_count_no_less_where_the_days_agree() -> None:
    # Five days that agree leave no room for a car that becomes another.
    chance = np.random.default_rng(2)
    half = {(RF, "split.RF"): -6.0}
    days = [
        DayTold(ON + timedelta(60 * n), alone(a_day(DAYS[0] * 2, chance, half))) for n in range(5)
    ]
    soon, late = (
        posterior_on(season.today(days, PRIORS, ON + timedelta(240 + gap))) for gap in (7, 120)
    )
    single = [posterior_on(season.today(days[:1], PRIORS, ON + timedelta(gap))) for gap in (7, 120)]
    assert soon.sd <= late.sd < single[1].sd
    assert late.sd / soon.sd < single[1].sd / single[0].sd + 0.2


def posterior_on(told: Told) -> Estimate:
    one = [Observation(dict.fromkeys(BASE_FIGURES, 200.0))]
    return learn(one, Priors(EFFECTS, noise=PRIORS.noise, told=told)).sensitivity(RF, "split.RF")


def test_nothing_learned_is_nothing_told() -> None:
    assert season.of_day(learn(a_day([{}, {}], np.random.default_rng(1)), PRIORS)) == Told()
    assert season.today([], PRIORS, ON) == Told()
    assert season.today([DayTold(ON, Told())], PRIORS, ON) == Told()
