"""Cross weight judged honestly: what the trade's figures compare, and a car held against itself.

(RF + LR)/2 - (LF + RF)/2 = (LR - LF)/2 and (RF + LR)/2 - (RF + RR)/2 = (LR - RR)/2: both of the
trade's figures look at the inside rear tire alone, and on ordinary temperatures their rule nearly
only takes cross weight out. The band, 5 to 10 degF cooler, is common practice, no source. All
readings are invented.
"""

import math
import random
import tomllib
from pathlib import Path
from typing import Any

import attrs
import pytest
import tomli_w
from garage import AT, Crew, book, run, run_command, tires
from scipy.stats import norm
from test_rulebook import mistakes, pattern, tables

from planner.plan import fold
from planner.plan.fold import advance, begin
from planner.plan.steps import Plan, RulesUsed, RunStep
from planner.rulebook.own_bands import Own
from planner.storage import plans
from planner.trade.figures import half_difference, terms

# In balance (+6), the driver content, one of the trade's figures (-0.5, -8) above its band. The
# mean of the two, by which the car is judged once it has run so twice, is -4.25.
CONTENT = {"LF": 200.0, "RF": 221.0, "LR": 199.0, "RR": 215.0}
TOE_OUT = {"LF": 9.0, "RF": 9.0}  # a fault that spoils no average, so that the day goes on
OWN = "cross_vs_both"
PLAN = Plan(created=AT, rules=RulesUsed("paved-oval", book().fingerprint), turns="left", laps=10)


def shows(status: Any) -> set[str]:
    return {each["id"] for each in status["patterns"] if each["id"].startswith("cross.")}


@pytest.mark.parametrize(
    ("turns", "front", "side"),
    [("left", ("LR", "LF"), ("LR", "RR")), ("right", ("RR", "RF"), ("RR", "LR"))],
)
def test_the_figures_compare_the_inside_rear_tire_with_two_others(turns, front, side) -> None:
    for name, (one, other) in (("cross_vs_front", front), ("cross_vs_right", side)):
        assert terms(name, turns) == {f"average.{one}": 0.5, f"average.{other}": -0.5}
        assert half_difference(name, turns) == (one, other)
    one, two = (terms(name, turns) for name in ("cross_vs_front", "cross_vs_right"))
    mean = {term: (one.get(term, 0.0) + two.get(term, 0.0)) / 2 for term in {**one, **two}}
    assert terms(OWN, turns) == mean
    assert half_difference(OWN, turns) is half_difference("split.LF", turns) is None


def test_the_screen_shows_them_beside_the_trades_names(begun: Crew) -> None:
    begun.record(tires(CONTENT))
    shown = run_command("status", begun.path, "--full").out
    assert "cross vs front  -0.5*  -10 to -5  LR against LF -1.0" in shown
    assert "cross vs right  -8.0   -10 to -5  LR against RR -16.0" in shown


def test_what_one_run_says_of_cross_is_said_to_be_weak(begun: Crew) -> None:
    status = begun.record(tires(CONTENT | {"LR": 214.0}))
    (found,) = (each for each in status["patterns"] if each["id"] == "cross.too-much")
    assert "what is right differs from car to car by some 4.0 °F" in found["says"]
    # The nearer figure, -0.5, is 4.5 out of band; its error sqrt(3² / 6) = 1.22, the band's 4.
    assert found["chance"] == pytest.approx(
        norm.cdf(4.5 / math.hypot(3 / math.sqrt(6), 4)), abs=1e-3
    )
    assert found["strength"] == "clear"  # the trade's rule stands


def again(crew: Crew, *options: object, averages: Any = CONTENT) -> Any:
    """Run with other air than before, so that the day is not over; return what is due then."""
    psi = 26 + crew.status()["step"] % 2
    return crew.record(tires(averages), "--cold", f"RF={psi}", *options)


def test_a_car_with_a_history_is_held_against_itself(begun: Crew) -> None:
    again(begun, "--feel", "neutral")
    again(begun)  # the driver said nothing to the contrary
    much = again(begun, averages=CONTENT | {"LR": 214.0})
    (found,) = (each for each in much["patterns"] if each["id"] == "cross.too-much")
    assert found["limit"] == pytest.approx(-4.25 + 2.5)
    assert "-4.2 °F when this car was in balance" in found["says"]
    assert "weak evidence" not in found["says"]
    (cross,) = much["candidates"]
    assert cross["changes"][0]["amount"] < 0
    assert "cross_vs_both" in cross["predicted"]
    shown = run_command("status", begun.path, "--full").out
    assert "cross vs both" in shown
    assert "-6.8 to -1.8" in shown
    assert "LR against LF" in shown  # the trade's figures stay on the screen


@pytest.mark.parametrize(("by", "wanted"), [(-24.0, "not-enough"), (24.0, "too-much")])
def test_and_is_told_of_too_little_as_soon_as_of_too_much(
    begun: Crew, by: float, wanted: str
) -> None:
    again(begun)
    again(begun)
    status = again(begun, averages=CONTENT | {"LR": CONTENT["LR"] + by})
    assert (status["stage"], shows(status)) == ("cross", {f"cross.{wanted}"})


def ordinary(rng: random.Random) -> dict[str, float]:
    means = {"LF": 205.0, "RF": 215.0, "LR": 200.0, "RR": 210.0}
    return {corner: rng.gauss(mean, 8.0) for corner, mean in means.items()}


def judged(plan: Plan, at: dict[str, float]) -> str:
    day = advance(begin(plan, book()), RunStep(AT, run(tires(at))), afresh=True)
    holding = {p.id for p in day.good[-1].patterns if p.holds}
    return next((way for way in ("too-much", "not-enough") if f"cross.{way}" in holding), "")


def test_on_ordinary_temperatures_history_takes_the_lean_out_of_the_rule() -> None:
    rng = random.Random(7)
    trade, own = [], []
    while len(own) < 60:
        car = ordinary(rng)
        trade.append(judged(PLAN, car))
        if not 0 <= car["RF"] - car["RR"] <= 10:
            continue
        mean = car["LR"] / 2 - car["LF"] / 4 - car["RR"] / 4
        known = attrs.evolve(PLAN, in_balance={OWN: Own(mean, 2)})
        own.append(judged(known, {c: value + rng.gauss(0, 8.0) for c, value in car.items()}))
    much, little = (trade.count(way) / len(trade) for way in ("too-much", "not-enough"))
    assert much > 5 * little  # 38 % against 3 % over a thousand
    much, little = (own.count(way) / len(own) for way in ("too-much", "not-enough"))
    assert 0.5 < much / little < 2.0  # 31 % against 26 %


# --- what counts as a run in balance ----------------------------------------------------------


@pytest.mark.parametrize(
    ("averages", "split", "feel"),
    [
        (CONTENT, TOE_OUT, "tight"),
        (CONTENT, TOE_OUT, "loose"),
        (CONTENT | {"RF": 231.0}, TOE_OUT, "neutral"),  # tight by the tires
        (CONTENT | {"RF": 209.0}, TOE_OUT, "neutral"),  # loose by the tires
        (CONTENT, {"LF": 24.0}, "neutral"),  # an average that a camber fault spoils
        (CONTENT | {"LR": 216.0}, {}, "neutral"),  # the trade takes cross weight out
        (CONTENT | {"LF": 238.0}, {}, "neutral"),  # a corner that does too much of the work
    ],
)
def test_a_run_out_of_balance_is_no_history(begun: Crew, averages, split, feel: str) -> None:
    for _ in range(3):
        begun.record(tires(averages, split), "--feel", feel)
        begun.choose("--own", "toe:front:0.01", "--reason", "to go on")
        begun.made()
    day = plans.open_plan(begun.path).day
    assert day.own == {}
    assert day.book == day.rules


def test_cross_that_the_crew_leaves_as_it_is_counts_as_the_cars_own(begun: Crew) -> None:
    hot = tires(CONTENT | {"LR": 216.0})
    assert begun.record(hot)["stage"] == "cross"
    begun.choose("--move-on", "--reason", "the car is as he wants it")
    begun.record(hot)
    day = plans.open_plan(begun.path).day
    # The trade would still take cross weight out; this car is judged by what it was left at.
    assert fold.own_by_now(day)[OWN] == Own(pytest.approx(216 / 2 - 200 / 4 - 215 / 4), 2)


def test_a_run_that_does_not_count_is_no_history_and_none_counts_twice(begun: Crew) -> None:
    again(begun)
    for _ in range(2):
        begun.record(tires(CONTENT), "--flag", "lockup")
    again(begun)
    day = plans.open_plan(begun.path).day
    assert day.own == {OWN: Own(pytest.approx(-4.25), 1)}


def test_the_day_comes_back_from_its_file_as_it_was(begun: Crew) -> None:
    again(begun)
    again(begun)
    again(begun, averages=CONTENT | {"LR": 214.0})
    assert "in_balance" not in begun.text()  # it follows from the runs, and is kept nowhere
    told = next(step for step in begun.why() if step["step"] == 3)
    assert "when this car was in balance" in str(told["details"])
    # Put right, the first run was tight, and so are both together: there is no history.
    begun._does("amend", 1, "--tire", "RF=244/240/236", "--reason", "misread")
    assert plans.open_plan(begun.path).day.own == {}


# --- from day to day --------------------------------------------------------------------------


def test_another_day_takes_over_what_the_car_read_in_balance(begun: Crew, tmp_path: Path) -> None:
    for _ in range(2):
        again(begun)
    begun.record(tires(CONTENT, {"LF": 30.0, "RF": 30.0}), "--cold", "RF=30")
    begun.choose("--own", "toe:front:0.125", "--reason", "to learn of it")
    begun.made()
    begun.record(tires(CONTENT))
    file = tmp_path / "taught.toml"
    answer = begun.tries("taught", file)
    assert answer.status == 0, answer.out
    kept = tomllib.loads(file.read_text("utf-8"))["in_balance"][OWN]
    # The third of the four showed a toe that was changed.
    assert kept == {"mean": pytest.approx(-4.25), "runs": 3}
    second = Crew(tmp_path / "second.toml")
    second.start("--taught", file)
    assert shows(second.record(tires(CONTENT | {"LR": 212.0}))) == {"cross.too-much"}
    day = plans.open_plan(second.path).day
    assert day.own[OWN].runs == 2  # earlier days count for few
    assert day.good[-1].patterns[0].numbers["own"] == pytest.approx(-4.25)


@pytest.mark.parametrize(
    ("own", "key"),
    [
        ({"tilt": {"mean": 1.0, "runs": 2}}, "in_balance.tilt"),
        ({OWN: {"mean": 1e9, "runs": 2}}, f"in_balance.{OWN}.mean"),
        ({OWN: {"mean": 1.0, "runs": 0}}, f"in_balance.{OWN}.runs"),
    ],
)
def test_a_mistake_in_it_is_named(tmp_path: Path, own: Any, key: str) -> None:
    file = tmp_path / "taught.toml"
    base = {"format": 1, "car": "", "rules": "paved-oval", "turns": "left", "date": "2024-05-04"}
    file.write_text(tomli_w.dumps(base | {"runs": 3, "told": {}, "in_balance": own}), "utf-8")
    answer = run_command("start", tmp_path / "b.toml", "--taught", file, "--json")
    assert answer.status == 2
    assert f"{key}: " in answer.error["message"]


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (lambda p: p.update(own={"figure": "split", "says": "x"}), "own.figure"),
        (lambda p: p["own"].update(says="$tilt"), "own.says"),
        (lambda p: p["own"].update(says="x" * 3000), "own.says"),
        (lambda p: p.update(says="$own"), "says"),
        (lambda p: p.update(between_cars=5000.0), "between_cars"),
    ],
)
def test_a_mistake_in_the_rules_is_named_by_its_key(change: Any, key: str) -> None:
    data = tables()
    change(pattern(data, "cross.too-much"))
    found = mistakes(data)
    assert any(line.startswith(f"pattern[7].{key}: ") for line in found), found
