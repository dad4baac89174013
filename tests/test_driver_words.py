"""A word of the driver for each part of the corner: typed, told, exported, put right."""

import csv
import io

import pytest
from garage import Crew, run_command, tires

from planner.storage import planfile

TIGHT = {"LF": 190.0, "RF": 221.0, "LR": 190.0, "RR": 200.0}
BOTH = {"entry": "loose", "exit": "tight"}
CAMBERED = ["227 215 203", "211 210 209", "196 195 194", "208 210 212"]
TOLD = "loose at entry, tight at exit"


def run_of(crew: Crew, step: int):
    return planfile.load(crew.path).step[step - 1].run


def test_loose_in_and_tight_off_is_one_line(begun: Crew) -> None:
    status = begun.record(tires(TIGHT), "--feel", "loose in, tight off")
    assert run_of(begun, 1).felt == BOTH
    assert status["felt"] == BOTH | {"middle": None}
    # The keys of one word hold the first along the corner.
    assert (status["feel"], status["where"]) == ("loose", "entry")
    (balance,) = [p for p in status["patterns"] if p["id"] == "balance.tight"]
    assert f"the driver says so of a part of the corner: {TOLD}" in balance["evidence"]
    assert TOLD in " ".join(run_command("why", begun.path).out.split())
    begun.tries("report")
    assert TOLD in begun.path.with_suffix(".html").read_text("utf-8")
    begun.tries("export", "-o", begun.path.parent / "out")
    (runs,) = begun.path.parent.rglob("*runs.csv")
    (row,) = csv.DictReader(io.StringIO(runs.read_text("utf-8")))
    assert [row[f"feel_{part}"] for part in ("entry", "middle", "exit")] == ["loose", "", "tight"]


@pytest.mark.parametrize(
    "given",
    [
        ["--feel", "loose entry", "--feel", "tight exit"],
        ["--feel", "loose entry and tight exit"],
    ],
)
def test_a_word_each_may_come_in_several_options(begun: Crew, given: list[str]) -> None:
    begun.record(tires(), *given)
    assert run_of(begun, 1).felt == BOTH


def test_one_word_for_the_whole_corner_counts_where_no_other_was_said(begun: Crew) -> None:
    status = begun.record(tires(), "--feel", "loose, tight off")
    assert status["felt"] == {"entry": "loose", "middle": "loose", "exit": "tight"}
    assert (status["feel"], status["where"]) == ("loose", None)


@pytest.mark.parametrize(
    "given",
    [
        ["--where", "exit"],
        ["--feel", "loose entry, tight exit", "--where", "middle"],
        ["--feel", "loose entry", "--where", "exit"],
        ["--feel", "loose", "--feel", "tight"],
        ["--feel", "loose entry, tight entry"],
    ],
)
def test_what_contradicts_itself_is_refused(begun: Crew, given: list[str]) -> None:
    options = [f"--tire={c}=210/210/210" for c in ("LF", "RF", "LR", "RR")]
    assert begun.tries("record", *options, *given).status == 2
    assert planfile.load(begun.path).step == ()


@pytest.mark.parametrize(
    ("first", "given", "then"),
    [
        ("tight entry", ["--where", "exit"], {"exit": "tight"}),
        ("tight entry", ["--feel", "loose"], {"entry": "loose"}),
        ("tight entry", ["--feel", "loose", "--where", "exit"], {"exit": "loose"}),
        ("tight entry", ["--where", "none"], {"all": "tight"}),
        ("tight entry", ["--feel", "loose in, tight off"], BOTH),
        ("loose in, tight off", ["--feel", "tight"], {"all": "tight"}),
        ("loose in, tight off", ["--feel", "none"], {}),
    ],
)
def test_the_drivers_word_is_put_right(begun: Crew, first: str, given, then) -> None:
    begun.record(tires(), "--feel", first)
    answer = begun.tries("amend", 1, *given, "--reason", "asked him again")
    assert answer.status == 0, answer.err
    assert run_of(begun, 2).felt == then
    told = " ".join(run_command("why", begun.path).out.split())
    assert " → " in told


def test_one_of_several_words_is_not_moved_to_another_part(begun: Crew) -> None:
    begun.record(tires(), "--feel", "loose in, tight off")
    assert begun.tries("amend", 1, "--where", "middle", "--reason", "x").status == 2


def test_a_driver_who_felt_both_is_not_taken_for_the_opposite(begun: Crew) -> None:
    # Tight by three runs, the last alone in band: only a driver who felt it loose, and nowhere
    # tight, asks for another run.
    for _ in range(2):
        begun.record(tires(TIGHT), "--laps", "10")
        begun.choose("--own", "camber:LR:0.1", "--reason", "to see")
        begun.made()
    status = begun.record(tires(TIGHT | {"RF": 212.0}), "--feel", "loose in, tight off")
    (balance,) = [p for p in status["patterns"] if p["id"] == "balance.tight"]
    assert balance["strength"] == "clear"


def test_in_the_guide_a_second_word_and_a_second_note_add(guide_with, begun: Crew) -> None:
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "loose entry", "feel tight exit", "note windy", "note oil in turn 2")
    guide.sees("so far: feel loose entry, tight exit; note windy; oil in turn 2")
    guide.types("tight in", "n")
    guide.sees("Typed already: feel loose entry.")
    guide.sees("Put feel tight entry in its place")
    guide.sees("so far: feel loose entry, tight exit;")
    guide.types("laps 9; push in the center", "laps 8; tight in", "")
    guide.sees("Typed already: feel loose entry; laps 9.")
    guide.sees("Put feel tight entry; laps 8 in its place")
    guide.sees(
        r"so far: feel tight entry, tight middle, tight exit; note windy; oil in turn 2;\s+laps 8"
    )
    guide.types("no feel", "feel loose in, tight off", "", "")
    guide.sees("Stored as step 1")
    run = run_of(begun, 1)
    assert run.felt == BOTH
    assert run.note == "windy; oil in turn 2"
    guide.types("amend feel tight entry, loose off", "misheard", "")
    guide.sees(r"driver\s+loose at entry, tight at exit → tight at entry, loose at exit")
    guide.sees("Stored as step 2")
    assert run_of(begun, 2).felt == {"entry": "tight", "exit": "loose"}
