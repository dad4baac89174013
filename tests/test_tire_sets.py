"""Sets of tires: told at any run, counted apart, with a level that no knob is paid for."""

import csv
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from garage import GOOD, RF_INNER_HOT, Crew, run_command, tires
from test_guide import ANYTHING, STORE, day_of, plan_at_choice

from planner.run import tire_set
from planner.storage import planfile
from planner.trade.refusals import Refusal

HOT = tires(GOOD | {"RF": 228.0})


def on(status: Any) -> list[tuple[str, str | None, int, int, bool]]:
    return [tuple(each.values()) for each in status["sets"]]


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("2", ("2", None)),
        ("set 2, new", ("2", "new")),
        ("#2 stickers", ("2", "new")),
        ("B heat cycled", ("B", "heat-cycled")),
        ("last week's scuffed", ("last week's", "scuffed")),
    ],
)
def test_a_set_is_read_in_the_crews_words(typed: str, read: tuple[str, str | None]) -> None:
    assert tire_set.said(typed, "--set") == read


@pytest.mark.parametrize("typed", ["", "set", "new", "x" * 21])
def test_a_set_wants_a_short_name(typed: str) -> None:
    with pytest.raises(Refusal, match="does not name a set"):
        tire_set.said(typed, "--set")


def test_laps_and_heat_cycles_are_counted_by_the_set(crew: Crew) -> None:
    crew.start("--laps", 10)
    crew.record(tires())
    assert on(crew.status()) == [("1", None, 10, 1, True)]
    crew.record(tires(), "--set", "2 new", "--laps", 12)
    crew.record(tires(), "--flag", "lockup", "--laps", 3)  # a void run wears them as well
    crew.record(tires(), "--set", "1", "--note", "back on the old ones")
    assert on(crew.status()) == [("1", None, 20, 2, True), ("2", "new", 15, 2, False)]
    table = run_command("export", crew.path, "--only", "runs").out
    kept = [
        (row["set"], row["set_state"], row["laps_on_tires_before"], row["heat_cycles_before"])
        for row in csv.DictReader(StringIO(table))
    ]
    assert kept == [
        *(("1", "", "0", "0"), ("2", "new", "0", "0")),
        *(("2", "new", "12", "1"), ("1", "", "10", "1")),
    ]
    assert "Tires: set 1: 20 laps, 2 heat cycles" in run_command("status", crew.path, "--full").out


def test_how_a_set_reads_is_told_once_it_was_run(crew: Crew) -> None:
    crew.start()
    crew.record(tires(GOOD))
    assert crew.status()["levels"] == []
    for note in ("out", "again"):
        crew.record(HOT, "--set", "2 new", "--note", note)
    (level,) = crew.status()["levels"]
    assert (level["kind"], level["name"], level["against"]) == ("set", "2", "1")
    hotter = HOT["RF"][1] - tires(GOOD)["RF"][1]
    assert 0.4 * hotter < level["apart"]["average.RF"]["mean"] < hotter
    said = "set 2 against set 1: RF average +"
    learned = [d["says"] for d in crew.why(2)[0]["details"] if d["about"] == "learned"]
    assert learned[0].startswith(said)
    told = [d["says"] for d in crew.why(3)[0]["details"] if d["about"] == "tires"]
    assert told == ["set 2 (new): 20 laps, 2 heat cycles, this run counted"]
    assert said in " ".join(run_command("status", crew.path, "--full").out.split())
    assert run_command("report", crew.path).status == 0
    assert said in " ".join(crew.path.with_suffix(".html").read_text("utf-8").split())


def test_a_change_made_with_the_tires_is_not_paid_for_what_the_tires_did(
    crew: Crew, tmp_path: Path
) -> None:
    alone, both = crew, Crew(tmp_path / "other.toml")
    answers, verdicts = [], []
    for each, more in ((alone, ()), (both, ("--set", "2"))):
        each.start()
        each.record(RF_INNER_HOT)
        each.choose("--own", "camber:RF:1", "--reason", "a try")
        each.made()
        status = each.record(tires(split={"RF": 14.0}), *more)
        verdicts.append(status["last_outcome"]["chance"])
        known = day_of(each.path).known
        answers.append(known.sensitivity(("camber", "RF"), "split.RF"))
    believed = known.prior_of(("camber", "RF"), "split.RF")
    assert abs(answers[1].mean - believed.mean) < 0.8 * abs(answers[0].mean - believed.mean)
    assert answers[1].sd > answers[0].sd
    assert 0.5 < verdicts[1] < verdicts[0]


def test_amended_the_set_counts_everywhere(crew: Crew) -> None:
    crew.start()
    crew.record(tires(GOOD))
    crew.record(HOT)
    crew.record(HOT, "--note", "again")
    for step in (2, 3):
        answer = crew.tries("amend", step, "--set", "2 scuffed", "--reason", "not written down")
        assert answer.status == 0, answer.out
    assert on(crew.status()) == [("1", None, 10, 1, False), ("2", "scuffed", 20, 2, True)]
    assert crew.status()["levels"][0]["apart"]["average.RF"]["mean"] > 5
    told = " ".join(run_command("why", crew.path, 4, "--plain").out.split())
    assert "set none → 2 set state none → scuffed" in told
    crew.tries("amend", 2, "--set", "none", "--reason", "it was the old set")
    assert on(crew.status()) == [("1", None, 20, 2, False), ("2", "scuffed", 10, 1, True)]


def test_wear_is_measured_from_the_sets_own_tread(crew: Crew) -> None:
    crew.start()
    crew.record(tires(), "--tread", "RF=8/8/8")
    crew.record(tires(), "--set", "2", "--tread", "RF=5/5/5")
    day = day_of(crew.path)
    assert day.same_tires(2) == ()
    crew.record(
        tires(),
        "--set",
        "1",
        "--tread",
        "RF=7/7/7",
    )
    day = day_of(crew.path)
    assert [run.tread["RF"] for run in day.same_tires(3)] == [(8.0, 8.0, 8.0)]


def test_the_budget_counts_the_runs_of_every_set(crew: Crew) -> None:
    from planner.plan import budget

    crew.start("--sets", 2, "--runs-per-set", 2)
    for number in range(3):
        crew.record(RF_INNER_HOT, "--note", f"run {number}")  # one more than the share of a set
    crew.record(RF_INNER_HOT, "--set", "2")
    fitting = budget.forecast(day_of(crew.path))
    assert fitting is not None
    assert fitting.runs_left == 1


def test_the_guide_takes_it_beside_the_run(guide_with, tmp_path: Path) -> None:
    plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.types("r", *["227 215 203", "211 210 209", "196 195 194", "208 210 212"])
    guide.sees(ANYTHING)
    guide.types("set 2 new")
    assert "so far: set 2 new" in guide.sees(ANYTHING)
    guide.types("")
    guide.sees(STORE)
    guide.types("")
    guide.sees("Stored as step 2")
    guide.leaves("q")
    run = planfile.load(tmp_path / "day.toml").step[-1].run
    assert (run.set, run.set_state) == ("2", "new")


def test_a_file_of_the_run_names_it(crew: Crew, tmp_path: Path) -> None:
    crew.start()
    sheet = tmp_path / "run.toml"
    rows = "".join(f"{corner} = [200, 201, 202]\n" for corner in GOOD)
    sheet.write_text(f"set = 2\n[tire]\n{rows}")
    assert crew.tries("record", "--from", sheet).status == 0
    assert on(crew.status()) == [("2", None, 10, 1, True)]
