"""What the car has taught: written, read back, loosened by time, and refused when it is wrong."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.car.changes import Setting
from planner.learning import taught
from planner.learning.observed import Observation, Priors
from planner.learning.response import Posterior, learn
from planner.learning.taught import Taught, TaughtEffect
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES
from planner.trade.refusals import Refusal, Unusable

PRESSURE: Setting = ("pressure", "RF")
SPRING: Setting = ("spring", "RR")
RULES: dict[Setting, dict[str, Estimate]] = {
    PRESSURE: {"crown.RF": Estimate(4.0, 1.5), "average.RF": Estimate(-1.0, 1.0)},
    SPRING: {"average.RR": Estimate(0.08, 0.06)},
}
DAY = date(2031, 5, 17)


def a_day() -> Posterior:
    """Return what was learned of a car whose crown answers half as much as the rules say."""
    base = dict.fromkeys(BASE_FIGURES, 200.0)
    runs = [Observation(base)] * 2
    runs += [Observation(base | {"crown.RF": 196.0, "average.RF": 201.0}, {PRESSURE: -2.0})] * 2
    return learn(runs, Priors(RULES))


def written(folder: Path) -> Path:
    path = folder / "taught.toml"
    taught.save(path, taught.dump(a_day(), car="Blue 17", rules="paved-oval", on=DAY))
    return path


def test_comes_back_as_it_was_learned(tmp_path: Path) -> None:
    path, day = written(tmp_path), a_day()
    found = taught.read(path)
    assert (found.car, found.rules, found.date, found.runs) == ("Blue 17", "paved-oval", DAY, 4)
    assert found.turns == "left"
    effects = taught.effects(taught.read(path), DAY)
    assert set(effects) == {PRESSURE}  # the spring was not moved: nothing was learned of it
    for figure in ("crown.RF", "average.RF"):
        learned = day.sensitivity(PRESSURE, figure)
        assert effects[PRESSURE][figure].mean == pytest.approx(learned.mean, abs=1e-5)
        assert effects[PRESSURE][figure].sd == pytest.approx(learned.sd, abs=1e-5)


def test_learned_effects_serve_as_priors(tmp_path: Path) -> None:
    today = taught.effects(taught.read(written(tmp_path)), DAY + timedelta(days=7))
    base = dict.fromkeys(BASE_FIGURES, 200.0)
    merged = {s: {**RULES[s], **today.get(s, {})} for s in RULES}
    by_rules = learn([Observation(base)], Priors(RULES)).estimate("crown.RF", moved={PRESSURE: -1})
    by_car = learn([Observation(base)], Priors(merged)).estimate("crown.RF", moved={PRESSURE: -1})
    assert by_rules.mean == pytest.approx(196.0)
    assert 196.5 < by_car.mean < 198.0
    assert by_car.sd < by_rules.sd


def test_widened_by_hand() -> None:
    # Prior 4 ± 1.5, learned 2.5 ± 1.2; the runs alone: v = 1/(1/1.44 - 1/2.25) = 4,
    # a = 4 (2.5/1.44 - 4/2.25) = -1/6. After 200 days (0.01 · 1.5 · 200)² = 9 is added to v.
    row = TaughtEffect("pressure", "RF", "crown.RF", 2.5, 1.2, 4.0, 1.5)
    book = Taught("", "paved-oval", "left", DAY, 4, (row,))
    found = taught.effects(book, DAY + timedelta(days=200))[PRESSURE]["crown.RF"]
    variance = 1 / (1 / 2.25 + 1 / 13)
    assert found.sd == pytest.approx(variance**0.5)
    assert found.mean == pytest.approx(variance * (4 / 2.25 - 1 / 6 / 13))
    assert taught.effects(book, DAY)[PRESSURE]["crown.RF"].mean == pytest.approx(2.5)


@given(
    st.floats(-20, 20),
    st.floats(0.01, 0.999),
    st.floats(-20, 20),
    st.floats(0.01, 20),
    st.lists(st.integers(0, 5000), min_size=2, max_size=2).map(sorted),
)
def test_time_only_widens_and_never_beyond_the_rules(
    mean: float, share: float, prior_mean: float, prior_sd: float, days: list[int]
) -> None:
    row = TaughtEffect("spring", "LF", "average.LF", mean, share * prior_sd, prior_mean, prior_sd)
    book = Taught("", "", "left", DAY, 1, (row,))
    sooner, later = (
        taught.effects(book, DAY + timedelta(days=n))["spring", "LF"]["average.LF"] for n in days
    )
    tiny = 1e-9 * prior_sd
    assert share * prior_sd <= sooner.sd + tiny
    assert sooner.sd <= later.sd + tiny
    assert later.sd <= prior_sd + tiny


def test_an_old_file_ends_where_the_rules_begin() -> None:
    row = TaughtEffect("pressure", "RF", "crown.RF", 2.5, 0.5, 4.0, 1.5)
    book = Taught("", "paved-oval", "left", DAY, 4, (row,))
    found = taught.effects(book, date(2300, 1, 1))[PRESSURE]["crown.RF"]
    assert (found.mean, found.sd) == pytest.approx((4.0, 1.5), rel=1e-3)


def test_a_clock_set_back_makes_nothing_surer(tmp_path: Path) -> None:
    path = written(tmp_path)
    assert taught.effects(taught.read(path), DAY - timedelta(days=400)) == taught.effects(
        taught.read(path), DAY
    )


def test_a_file_is_never_overwritten(tmp_path: Path) -> None:
    path = written(tmp_path)
    before = path.read_bytes()
    with pytest.raises(Refusal, match="not overwritten") as caught:
        taught.save(path, b"something else")
    assert caught.value.code == "exists"
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir()] == ["taught.toml"]


def test_a_disk_without_links_does_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        raise PermissionError("no links here")

    monkeypatch.setattr("os.link", refused)
    path = written(tmp_path)
    assert taught.read(path).runs == 4
    with pytest.raises(Refusal, match="not overwritten"):
        taught.save(path, b"something else")
    assert [each.name for each in tmp_path.iterdir()] == ["taught.toml"]


def test_no_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="cannot be written") as caught:
        taught.save(tmp_path / "nowhere" / "taught.toml", b"")
    assert caught.value.code == "cannot-write"


GOOD = """
format = 1
car = "Blue 17"
rules = "paved-oval"
turns = "left"
date = "2031-05-17"
runs = 4

[[effect]]
knob = "pressure"
place = "RF"
figure = "crown.RF"
mean = 2.5
sd = 1.2
prior_mean = 4.0
prior_sd = 1.5
"""


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("runs = 4", "runs = 0", "runs: must be at least 1"),
        ("runs = 4", 'runs = "four"', "runs: must be a whole number"),
        ("runs = 4", "runs = 4\nlaps = 3", "laps: unknown key"),
        ("2031-05-17", "2031-17-05", "date: "),
        ('date = "2031-05-17"', "date = 20310517", "date: must be text in quotes"),
        ('turns = "left"', 'turns = "straight"', "turns: must be one of left, right, both"),
        ('"pressure"', '"wing"', "effect[1].knob: unknown knob 'wing'"),
        ('place = "RF"', 'place = "car"', "effect[1].place: pressure is not changed at 'car'"),
        ('"crown.RF"', '"balance"', "effect[1].figure: 'balance' is not a base figure"),
        ("mean = 2.5", "mean = nan", "effect[1].mean: must be a finite number"),
        ("\nsd = 1.2", "\nsd = 0.0", "effect[1].sd: must be above 0"),
        ("\nsd = 1.2", "\nsd = 1.5", "effect[1].sd: must be below prior_sd"),
        ("\nsd = 1.2", "", "effect[1].sd: missing"),
        ("prior_sd = 1.5", 'prior_sd = "wide"', "effect[1].prior_sd: must be a number"),
        ("format = 1", "format = 2", "use"),
        ("format = 1", "", "not a file of what a car has taught"),
        ("format = 1", "format = = 1", "not valid TOML"),
    ],
)
def test_mistakes_are_named(tmp_path: Path, old: str, new: str, says: str) -> None:
    path = tmp_path / "taught.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(Unusable) as caught:
        taught.effects(taught.read(path), DAY)
    assert says in caught.value.message + caught.value.hint
    assert str(path) in caught.value.where


def test_the_same_effect_twice(tmp_path: Path) -> None:
    path = tmp_path / "taught.toml"
    path.write_text(GOOD + GOOD[GOOD.index("[[effect]]") :], encoding="utf-8")
    with pytest.raises(Unusable, match=r"effect\[2\]: pressure at RF on crown.RF is there twice"):
        taught.effects(taught.read(path), DAY)


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="no taught file"):
        taught.effects(taught.read(tmp_path / "none.toml"), DAY)


def test_good_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "taught.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert taught.effects(taught.read(path), DAY)[PRESSURE]["crown.RF"].sd == pytest.approx(1.2)
