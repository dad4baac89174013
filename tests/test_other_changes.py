"""A change of anything that is no knob: told, and its shift credited to nothing else."""

from math import sqrt
from pathlib import Path

import attrs
import pytest
from garage import GOOD, RF_INNER_HOT, TIGHT, Crew, book, run_command, stand, tires
from test_guide import CHOICE, FIRST_TIRE, MADE, day_of, plan_at_choice

from planner.car import changes
from planner.learning.layout import UNKNOWN_MOVE
from planner.learning.observed import Observation, Priors
from planner.learning.response import learn
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES
from planner.trade.refusals import Refusal

SHOCK = "RR shock 2 clicks softer"
WHY = ("--reason", "driver asked for it")


def test_it_is_told_where_a_run_is_due_and_retold_everywhere(crew: Crew) -> None:
    crew.start()
    crew.record(tires())
    told = crew.made("--other", SHOCK, *WHY)
    assert stand(told) == ("cross", "run")
    crew.record(tires(GOOD | {"RR": 230.0}))
    assert crew.why(2)[0]["headline"] == f"Our own: {SHOCK}"
    assert crew.why(3)[0]["headline"] == f"on the car: {SHOCK}"
    learned = [d["says"] for d in crew.why(4)[0]["details"] if d["about"] == "learned"]
    assert learned[0].startswith(f"{SHOCK}: RR average +")
    for command in ("why", "taught"):
        assert SHOCK in " ".join(run_command(command, crew.path, "--plain").out.split())
    row = run_command("export", crew.path, "--only", "changes").out.splitlines()[1]
    assert f"other,{SHOCK},1," in row
    assert run_command("report", crew.path).status == 0
    assert SHOCK in crew.path.with_suffix(".html").read_text("utf-8")


def test_on_top_of_a_chosen_change_it_keeps_the_shift_from_being_credited_to_it(
    crew: Crew, tmp_path: Path
) -> None:
    alone, both = crew, Crew(tmp_path / "other.toml")
    answers = []
    for each, more in ((alone, ()), (both, ("--other", SHOCK))):
        each.start()
        each.record(RF_INNER_HOT)
        each.choose("--own", "camber:RF:1", "--reason", "a try")
        each.made(*more)
        each.record(tires(split={"RF": -20.0}))
        known = day_of(each.path).known
        answers.append(known.sensitivity(("camber", "RF"), "split.RF"))
    prior = known.prior_of(("camber", "RF"), "split.RF")
    assert abs(answers[1].mean - prior.mean) < abs(answers[0].mean - prior.mean) / 2
    assert answers[1].sd > answers[0].sd


def test_the_shift_is_that_of_the_closed_form() -> None:
    # Two runs, a flat base, a shift N(0, u²) between them, readings of error e: the posterior of
    # the shift is N(k d, k 2e²) with d the difference read and k = u²/(u² + 2e²): the normal mean
    # with known variance (Gelman et al., Bayesian Data Analysis, 3rd ed., sec. 2.5).
    setting = ("other", SHOCK)
    noise = book().noise
    before = dict.fromkeys(BASE_FIGURES, 0.0)
    after = before | {"crown.LR": 12.0, "split.RF": -30.0}
    known = learn(
        [Observation(before), Observation(after, moved={setting: 1.0})], Priors({}, noise=noise)
    )
    for name, variance in (("crown.LR", 2 / 3), ("split.RF", 2.0)):
        pair = 2 * variance * noise.reading**2
        k = UNKNOWN_MOVE**2 / (UNKNOWN_MOVE**2 + pair)
        shift = known.sensitivity(setting, name)
        assert shift.mean == pytest.approx(k * after[name])
        assert shift.sd == pytest.approx(sqrt(k * pair))


def test_nothing_else_is_credited_with_it() -> None:
    knob, other = ("camber", "RF"), ("other", SHOCK)
    priors = Priors({knob: {"split.RF": Estimate(-12.0, 5.0)}}, noise=book().noise)
    flat = dict.fromkeys(BASE_FIGURES, 0.0)
    moved = {knob: 0.5}
    runs = [Observation(flat), Observation(flat | {"split.RF": -6.0}, moved=moved)]
    jumped = Observation(flat | {"split.RF": 34.0}, moved=moved | {other: 1.0})
    believed = learn(runs, priors).sensitivity(knob, "split.RF")
    known = learn([*runs, jumped], priors)
    credited = learn([*runs, attrs.evolve(jumped, moved=moved)], priors)
    assert abs(credited.sensitivity(knob, "split.RF").mean - believed.mean) > 5
    assert known.sensitivity(knob, "split.RF").mean == pytest.approx(believed.mean, abs=1.0)
    assert known.sensitivity(other, "split.RF").mean == pytest.approx(40, rel=0.15)


def test_made_worse_it_can_be_put_back(crew: Crew) -> None:
    crew.start()
    crew.record(tires(TIGHT))
    crew.choose("--own", f"other: {SHOCK}", *WHY)
    crew.made()
    offers = crew.record(tires(GOOD | {"RF": 250.0}))["candidates"]
    (back,) = [each for each in offers if each["title"].startswith("Put back")]
    assert back["title"] == f"Put back: {SHOCK} (taken back)"
    crew.choose(back["id"])
    crew.made()
    assert crew.record(tires(TIGHT))["last_outcome"]["verdict"] == "better"


def test_told_by_mistake_it_is_put_right(crew: Crew) -> None:
    crew.start()
    crew.record(tires())
    crew.made("--other", SHOCK, *WHY)
    crew.record(tires())
    answer = crew.tries("amend", "3", "--actual", f"other: {SHOCK}: 0", "--reason", "not done")
    assert answer.status == 0, answer.out
    assert not day_of(crew.path).good[-1].seen.setup


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("other: RR shock 2 clicks softer", [("other", SHOCK, 1.0)]),
        ("OTHER  RR  shock 2 clicks softer", [("other", SHOCK, 1.0)]),
        ("other: tape off the nose, gear 5.83", [("other", "tape off the nose, gear 5.83", 1.0)]),
        (f"RF camber +1; other: {SHOCK}", [("camber", "RF", 1.0), ("other", SHOCK, 1.0)]),
        (f"other: {SHOCK}: 0", [("other", SHOCK, 0.0)]),
    ],
)
def test_it_is_read_from_a_line(typed: str, read: list) -> None:
    assert changes.parse_all(typed, "--own") == read


def test_a_name_is_wanted() -> None:
    for text in ("other", "other:  ", "other: " + "x" * 201):
        with pytest.raises(Refusal, match="wants a name"):
            changes.parse_all(text, "--own")


def test_the_guide_takes_it_at_the_choice_at_made_and_before_a_run(guide_with, tmp_path) -> None:
    plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types(f"o other: {SHOCK}", "driver asked", "")
    assert SHOCK in guide.sees(MADE)
    guide.types("b", "")
    guide.sees(CHOICE)
    guide.types("1", "")
    guide.sees(MADE)
    guide.types(f"other: {SHOCK}", "")
    guide.sees(FIRST_TIRE)
    guide.types("changed other: tape off the nose", "hot water")
    guide.sees("Stored as step 7")
    guide.leaves("q")
    day = day_of(tmp_path / "day.toml")
    assert [c.corner for past in day.past for c in past.made] == ["RF", SHOCK, "tape off the nose"]


def test_taught_keeps_nothing_of_it_for_another_day(crew: Crew, tmp_path: Path) -> None:
    crew.start()
    crew.record(tires())
    crew.made("--other", SHOCK, *WHY)
    crew.record(tires(GOOD | {"RR": 230.0}))
    kept = tmp_path / "taught.toml"
    assert run_command("taught", crew.path, kept).status == 0
    assert SHOCK not in kept.read_text("utf-8")


@pytest.mark.parametrize(
    "parts",
    [
        ["camber:RF:0"],
        ["camber:RF:1", "camber:RF:0.5"],
        ["pressure:RF:-40"],
        ["camber:RF:99"],
    ],
)
def test_a_change_told_and_one_chosen_are_refused_alike(
    crew: Crew, tmp_path: Path, parts: list[str]
) -> None:
    told = Crew(tmp_path / "told.toml")
    for each in (crew, told):
        each.start("--car", Path(__file__).parents[1] / "sample_plans" / "river-bend-car.toml")
    crew.record(RF_INNER_HOT)  # a choice is due here, a run there
    told.record(tires())
    refused = []
    for each, command, option in ((crew, "choose", "--own"), (told, "made", "--actual")):
        given = [word for part in parts for word in (option, part)]
        error = each.tries(command, *given, *WHY).error
        refused.append({key: str(error[key]).replace(option, "OPTION") for key in error})
    assert refused[0] == refused[1]
