"""Another set of tires, another part of the day: a level of its own, credited to no knob."""

from collections.abc import Mapping

import numpy as np
import pytest
from garage import book

from planner.car.changes import Setting
from planner.learning import levels
from planner.learning.families import shared
from planner.learning.observed import Observation, Priors
from planner.learning.posterior import Posterior
from planner.learning.response import learn
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES

KNOB = ("camber", "RF")
ONE, TWO, THREE = ({"set": name, "part": "1"} for name in "123")
MORNING = {"set": "1", "part": "2"}
FLAT = dict.fromkeys(BASE_FIGURES, 200.0)
AVERAGES = np.arange(12) < 4


def run(
    at: Mapping[str, str], turned: float = 0.0, track: float | None = None, **off: float
) -> Observation:
    base = FLAT | {name.replace("_", "."): 200.0 + by for name, by in off.items()}
    moved = levels.displaced(at, ONE) | ({KNOB: turned} if turned else {})
    return Observation(base, moved, {} if track is None else {"track_temp": track})


def priors() -> Priors:
    effects = {KNOB: {"split.RF": Estimate(-12.0, 5.0), "average.RF": Estimate(1.0, 2.0)}}
    return Priors(effects, noise=book().noise)


def by_hand(
    runs: list[Observation], where: list[Mapping[str, str]]
) -> tuple[list[Estimate], dict[tuple[Setting, int], Estimate]]:
    """Work the two answers of the knob, and every level less the first, out by brute force.

    Parameters are 12 bases (variance 1e6 for flat), a level of its own for every set and part that
    occurs, the first run's among them (its averages in common and each tire's own), the knob's two
    answers, and the track's coefficient; readings are C x + e, all of it normal. The posterior is
    S - S C' (C S C' + N)^-1 C S (Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 14).
    """
    given = priors()
    kinds = sorted({(kind, at[kind]) for at in where for kind in at})
    at_level = {level: 12 + 12 * number for number, level in enumerate(kinds)}
    slope = 12 + 12 * len(kinds)
    size = slope + 3
    mean, prior = np.zeros(size), np.zeros((size, size))
    mean[:12], prior[range(12), range(12)] = 200.0, 1e6
    for (kind, name), start in at_level.items():
        own = np.repeat([levels.OWN[kind][each] for each in ("average", "split", "crown")], 4)
        common = levels.COMMON[kind] ** 2
        there = [seen for seen, each in zip(runs, where, strict=True) if each[kind] == name]
        if kind == "part" and not any("track_temp" in seen.conditions for seen in there):
            track = given.conditions["track_temp"]
            common += levels.TRACK**2 * (track.mean**2 + track.sd**2)
        block = np.diag(own**2) + common * np.outer(AVERAGES, AVERAGES)
        prior[start : start + 12, start : start + 12] = block
    for number, name in enumerate(("split.RF", "average.RF")):
        effect = given.effects[KNOB][name]
        mean[slope + number], prior[slope + number, slope + number] = effect.mean, effect.sd**2
    # The two answers of the knob are of two kinds of figures, so of two families: independent.
    answers = shared(given.effects, given.alike)
    assert answers[KNOB, "split.RF"].family != answers[KNOB, "average.RF"].family
    track = given.conditions["track_temp"]
    mean[-1], prior[-1, -1] = track.mean, track.sd**2
    recorded = [seen.conditions["track_temp"] for seen in runs if "track_temp" in seen.conditions]
    noise = given.noise
    one = np.repeat([1 / 3, 2.0, 2 / 3], 4) * noise.reading**2
    each_run = np.diag(one) + noise.run**2 * np.outer(AVERAGES, AVERAGES)
    design = np.zeros((12 * len(runs), size))
    for number, (seen, at) in enumerate(zip(runs, where, strict=True)):
        rows = design[12 * number : 12 * number + 12]
        rows[:, :12] = np.eye(12)
        for level in at.items():
            rows[:, at_level[level] : at_level[level] + 12] = np.eye(12)
        turned = seen.moved.get(KNOB, 0.0)
        rows[BASE_FIGURES.index("split.RF"), slope] = turned
        rows[BASE_FIGURES.index("average.RF"), slope + 1] = turned
        if "track_temp" in seen.conditions:
            rows[:4, -1] = seen.conditions["track_temp"] - np.mean(recorded)
    read = np.array([seen.base[name] for seen in runs for name in BASE_FIGURES])
    whole = design @ prior @ design.T + np.kron(np.eye(len(runs)), each_run)
    gain = prior @ design.T @ np.linalg.inv(whole)
    after, left = mean + gain @ (read - design @ mean), prior - gain @ design @ prior

    def found(weights: Mapping[int, float]) -> Estimate:
        row = np.zeros(size)
        row[list(weights)] = list(weights.values())
        return Estimate(float(row @ after), float(np.sqrt(row @ left @ row)))

    answers = [found({slope: 1.0}), found({slope + 1: 1.0})]
    apart = {
        (level, number): found({start + number: 1.0, at_level[level[0], "1"] + number: -1.0})
        for level, start in at_level.items()
        if level[1] != "1"
        for number in range(12)
    }
    return answers, apart


DAYS = {
    "a knob and a set at once": (
        [run(ONE), run(TWO, 1.0, average_RF=9.0, split_RF=-14.0), run(TWO, 1.0, average_RF=8.0)],
        [ONE, TWO, TWO],
    ),
    "back to a set that was run": (
        [run(ONE), run(TWO, average_RF=6.0, crown_LR=4.0), run(ONE, 0.5, split_RF=-5.0)],
        [ONE, TWO, ONE],
    ),
    "three sets and a morning": (
        [run(ONE), run(TWO, average_RF=6.0), run(THREE, average_RF=-6.0), run(MORNING, 1.0)],
        [ONE, TWO, THREE, MORNING],
    ),
    "a morning with the track written down": (
        [run(ONE, track=100.0), run(ONE, track=104.0), run(MORNING, track=70.0, average_RF=-20.0)],
        [ONE, ONE, MORNING],
    ),
}


@pytest.mark.parametrize("name", DAYS)
def test_the_levels_are_those_of_the_closed_form(name: str) -> None:
    runs, where = DAYS[name]
    known = learn(runs, priors())
    answers, apart = by_hand(runs, where)
    for figure, answer in zip(("split.RF", "average.RF"), answers, strict=True):
        assert_same(known.sensitivity(KNOB, figure), answer)
    for (level, number), by_itself in apart.items():
        moved = {level: 1.0, (level[0], "1"): -1.0}
        assert_same(known.difference(moved, BASE_FIGURES[number]), by_itself)


def assert_same(one: Estimate, other: Estimate) -> None:
    assert one.mean == pytest.approx(other.mean, abs=0.01)
    assert one.sd == pytest.approx(other.sd, abs=0.01)


def test_what_a_set_does_is_credited_to_no_knob() -> None:
    told = learn([run(ONE), run(TWO, 1.0, average_RF=12.0)], priors())
    untold = learn([run(ONE), run(ONE, 1.0, average_RF=12.0)], priors())
    believed = priors().effects[KNOB]["average.RF"].mean
    credit = [each.sensitivity(KNOB, "average.RF").mean - believed for each in (told, untold)]
    assert 0 < credit[0] < credit[1] / 3


def test_going_back_to_a_set_finds_its_own_level_again() -> None:
    runs = [run(ONE), run(TWO, average_RF=10.0), run(ONE), run(TWO, average_RF=10.0)]
    known = learn(runs, priors())
    back = {("set", "2"): -1.0, ("set", "1"): 1.0}
    assert known.estimate("average.RF", moved=back).mean == pytest.approx(200.0, abs=1.5)
    assert (
        known.estimate("average.RF", moved=back).sd
        < learn(runs[:2], priors())
        .difference({("set", "3"): 1.0, ("set", "2"): -1.0}, "average.RF")
        .sd
    )


def unseen(known: Posterior, kind: str) -> tuple[np.ndarray, np.ndarray]:
    moved = {(kind, "9"): 1.0, (kind, "1"): -1.0}
    return known.joint(BASE_FIGURES, moved=moved)


@pytest.mark.parametrize("kind", ["set", "part"])
def test_a_level_no_run_has_shown_widens_what_is_foretold_by_its_prior(kind: str) -> None:
    known = learn([run(ONE, track=90.0)], priors())
    (mean, wide), (here, narrow) = unseen(known, kind), known.joint(BASE_FIGURES)
    own = np.repeat([levels.OWN[kind][each] for each in ("average", "split", "crown")], 4)
    twice = np.diag(own**2) + levels.COMMON[kind] ** 2 * np.outer(AVERAGES, AVERAGES)
    assert mean == pytest.approx(here)
    assert wide - narrow == pytest.approx(2 * twice)


def test_without_a_change_of_set_nothing_is_added_to_the_model() -> None:
    known = learn([run(ONE), run(ONE, 1.0)], priors())
    assert not [name for name in known.parameters if name.startswith(("set", "part"))]
