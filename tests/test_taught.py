"""What a day has taught: written, read back as it was, and refused when it is wrong."""

from datetime import date
from pathlib import Path

import pytest

from planner.car.changes import Setting
from planner.learning import season, taught
from planner.learning.observed import Observation, Priors
from planner.learning.response import learn
from planner.learning.taught import Taught
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


def a_day() -> Taught:
    """Return what was learned of a car whose crown answers half as much as the rules say."""
    base = dict.fromkeys(BASE_FIGURES, 200.0)
    runs = [Observation(base)] * 2
    runs += [Observation(base | {"crown.RF": 196.0, "average.RF": 201.0}, {PRESSURE: -2.0})] * 2
    told = season.of_day(learn(runs, Priors(RULES)))
    return Taught("Blue 17", "paved-oval", "left", DAY, 4, told)


def written(folder: Path) -> Path:
    path = folder / "taught.toml"
    taught.save(path, taught.dump(a_day()))
    return path


def test_comes_back_as_it_was_learned(tmp_path: Path) -> None:
    found, day = taught.read(written(tmp_path)), a_day()
    assert (found.car, found.rules, found.date, found.runs) == ("Blue 17", "paved-oval", DAY, 4)
    assert found.turns == "left"
    # The spring was not moved: nothing was learned of it.
    assert found.told.answers == ("pressure.RF crown.RF", "pressure.RF average.RF")
    assert len(found.told.rows) == len(day.told.rows) == 2
    for row, was in zip(found.told.rows, day.told.rows, strict=True):
        assert row == pytest.approx(was, abs=1e-5)


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

[told]
answers = ["pressure.RF crown.RF", "camber.LF split.LF"]
rows = [[0.8, 0.0, -1.5], [0.0, 2.0, 1.0]]
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
        ('"pressure.RF', '"wing.RF', "told.answers[1]: 'wing.RF crown.RF' is no answer"),
        ('"pressure.RF', '"pressure.car', "told.answers[1]: 'pressure.car crown.RF' is no answer"),
        ("RF crown.RF", "RF balance", "told.answers[1]: 'pressure.RF balance' is no answer"),
        ('"camber.LF split.LF"', '"pressure.RF crown.RF"', "told.answers[2]: "),
        ("[0.8, 0.0, -1.5]", "[0.8, -1.5]", "told.rows[1]: 2 numbers; 3 are wanted"),
        ("0.8,", "nan,", "told.rows[1][1]: must be a finite number"),
        ("0.8,", "1e9,", "told.rows[1]: a number beyond 1e+06 cannot be"),
        ("0.8,", '"much",', "told.rows[1][1]: must be a number"),
        ("]]", "], [1, 1, 1]]", "told.rows: 3 of them for 2 answers"),
        ("format = 1", "format = 2", "use"),
        ("format = 1", "", "not a file of what a car has taught"),
        ("format = 1", "format = = 1", "not valid TOML"),
    ],
)
def test_mistakes_are_named(tmp_path: Path, old: str, new: str, says: str) -> None:
    path = tmp_path / "taught.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(Unusable) as caught:
        taught.read(path)
    assert says in caught.value.message + caught.value.hint
    assert str(path) in caught.value.where


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="no taught file"):
        taught.read(tmp_path / "none.toml")


def test_good_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "taught.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert taught.read(path).told.rows == ((0.8, 0.0, -1.5), (0.0, 2.0, 1.0))
