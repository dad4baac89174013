"""A change made without a choice here, and notes between runs: told at any time, and retold."""

from pathlib import Path

import pytest
from garage import RF_INNER_HOT, Crew, run_command, stand, tire_options, tires
from test_guide import CHOICE, FIRST_TIRE, IN_BAND, day_of, kinds, plan_at_choice, plan_new

LUNCH = ("--actual", "camber:RF:0.5", "--reason", "we changed it over lunch")


def test_a_change_made_over_lunch_is_told_and_judged_as_any_other(crew: Crew) -> None:
    crew.start()
    assert crew.record(tires())["stage"] == "confirm"
    told = crew.made(*LUNCH)
    assert (told["step"], stand(told)) == (3, ("cross", "run"))
    assert crew.record(tires())["last_outcome"]["step"] == 3
    chosen, made = crew.why(2)[0], crew.why(3)[0]
    assert chosen["headline"] == "Our own: RF camber +0.50 deg (more positive)"
    assert {"about": "reason", "says": "we changed it over lunch"} in chosen["details"]
    assert made["headline"] == "on the car: RF camber +0.50 deg (more positive)"
    (row,) = run_command("export", crew.path, "--only", "changes").out.splitlines()[1:]
    assert "we changed it over lunch" in row


def test_it_counts_in_what_the_car_has_shown(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--reason", "a try")
    crew.made()
    crew.made(*LUNCH)
    crew.record(tires(split={"RF": 2.0}))
    past = day_of(crew.path)
    assert past.good[-1].seen.moved == {("camber", "RF"): pytest.approx(1.5)}
    (about,) = [d["says"] for d in crew.why(6)[0]["details"] if d["says"].startswith("steps 3")]
    assert "cannot be told apart" in about


def two_on_one_run(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--reason", "a try")
    crew.made()
    crew.made("--actual", "pressure:RR:-1", "--reason", "over lunch")
    crew.record(tires(split={"RF": 6.0}))


def test_two_changes_before_one_run_are_told_as_judged_together(crew: Crew) -> None:
    two_on_one_run(crew)
    last = crew.status()["last_outcome"]
    assert (last["step"], last["together_with"], last["verdict"]) == (5, [3], "better")
    # The figure that the first was for tells of both.
    assert last["figures"][0]["figure"] == "split.RF"
    assert "better; judged together with step 3" in " ".join(
        run_command("status", crew.path).out.split()
    )
    rows = run_command("why", crew.path, "--table", "--json").data["rows"]
    assert [row["verdict_words"] for row in rows if row["verdict"]] == [
        "better; judged together with step 5",
        "better; judged together with step 3",
    ]
    life = run_command("why", crew.path, "--knob", "camber:RF", "--json").data
    assert "judged together with step 5" in str(life)
    page = crew.path.with_name("day.html")
    assert run_command("report", crew.path, "-o", page).status == 0
    text = page.read_text("utf-8")
    assert "judged together with step 5" in text
    assert "not judged yet" not in text
    head, *found = run_command("export", crew.path, "--only", "outcomes").out.splitlines()
    assert head.endswith(",judged_with")
    assert {(row[0], row[-1]) for row in found} == {("3", "5"), ("5", "3")}


def test_made_worse_together_they_are_put_back_together(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:-1", "--reason", "a try")
    crew.made()
    crew.made("--actual", "pressure:RR:-1", "--reason", "over lunch")
    found = crew.record(tires(split={"RF": 36.0}))
    (back,) = [each for each in found["candidates"] if "made it worse" in each["why"]]
    assert "steps 3 and 5 made it worse" in back["why"]
    moves = {(each["knob"], each["corner"]): each["amount"] for each in back["changes"]}
    assert moves == {("camber", "RF"): 1.0, ("pressure", "RR"): 1.0}


def test_a_second_change_of_nothing_leaves_the_first_to_be_judged(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--reason", "a try")
    crew.made()
    crew.made("--actual", "pressure:RR:-1", "--reason", "over lunch")
    crew.tries("amend", "5", "--actual", "pressure:RR:0", "--reason", "it never came on")
    last = crew.record(tires(split={"RF": 6.0}))["last_outcome"]
    assert (last["step"], last["together_with"]) == (3, [])


def test_before_the_first_run_it_is_taken_too(crew: Crew, tmp_path: Path) -> None:
    car = tmp_path / "car.toml"
    car.write_text("[settings]\ncamber = {RF = -3.0}\n", "utf-8")
    crew.start("--car", car)
    assert stand(crew.made(*LUNCH)) == ("camber", "run")
    shown = crew.record(RF_INNER_HOT)
    (camber,) = [each for each in shown["settings"] if each["knob"] == "camber"]
    assert camber["value"] == -2.5
    assert shown["candidates"][0]["changes"][0]["from"] == -2.5
    assert run_command("why", crew.path, "--table", "--json").status == 0
    assert run_command("report", crew.path).status == 0


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (("--actual", "camber:RF:0.5"), "no-reason"),
        (("--reason", "lunch"), "not-due"),
        (("--actual", "camber:RF:0", "--reason", "lunch"), "bad-value"),
        ((*LUNCH, "--actual", "camber:RF:1"), "bad-value"),
    ],
)
def test_it_is_refused_without_what_it_needs(crew: Crew, options: tuple, code: str) -> None:
    crew.start()
    before = crew.path.read_bytes()
    assert crew.tries("made", *options).error["code"] == code
    assert crew.path.read_bytes() == before


def test_the_guide_takes_a_change_made_meanwhile(guide_with, tmp_path: Path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(FIRST_TIRE)
    guide.types("changed RF camber +0.5", "b")
    guide.sees("Nothing was stored")
    guide.types(IN_BAND[0], "changed RF camber +0.5", "over lunch")
    guide.sees("Stored as step 2")
    guide.sees(r"RR \(.*\)> ")  # the run half typed goes on
    guide.leaves("killed")
    assert kinds(path) == ["choice", "made"]
    guide = guide_with("day.toml")
    guide.sees("Go on with it")
    guide.types("", *IN_BAND[1:], "", "")
    guide.sees("Stored as step 3")


def test_it_can_be_amended(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1", "--reason", "a try")
    crew.made()
    crew.made(*LUNCH)
    crew.record(tires())
    fixed = crew.tries("amend", "5", "--actual", "camber:RF:1.0", "--reason", "the shop's note")
    assert fixed.status == 0, fixed.out
    assert day_of(crew.path).good[-1].seen.moved == {("camber", "RF"): pytest.approx(2.0)}


# --- notes ------------------------------------------------------------------------------------


def test_a_note_is_kept_at_any_time_and_changes_nothing_else(crew: Crew, tmp_path: Path) -> None:
    states = [crew.start(), crew.record(RF_INNER_HOT), crew.choose(1), crew.made()]
    states.append(crew.record(tires()))
    states.append(crew.choose("--move-on", "--reason", "rain"))
    for number, before in enumerate(states):
        path = tmp_path / "other.toml"
        one = Crew(path)
        if number == 0:
            one.start()
        noted = run_command("note", path, f"after step {number}", "--json").data
        assert noted["step"] == 2 * number + 1 or number == 0
        assert stand(noted) == stand(before)
        again = [
            None,
            ("record", *tire_options(RF_INNER_HOT)),
            ("choose", "1"),
            ("made",),
            ("record", *tire_options(tires())),
            ("choose", "--move-on", "--reason", "rain"),
        ]
        if number + 1 < len(again):
            assert run_command(again[number + 1][0], path, *again[number + 1][1:]).status == 0


def test_a_note_is_told_with_the_step_it_is_about(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    assert crew.tries("note", "gusty in turn 3", "--about", "run1").data["step"] == 2
    crew.tries("note", "driver unwell")
    assert crew.why(1)[0]["details"][-1] == {"about": "note", "says": "gusty in turn 3 (step 2)"}
    assert crew.why(2)[0]["headline"] == "note to step 1: gusty in turn 3"
    assert crew.why(3)[0]["headline"] == "note: driver unwell"
    rows = run_command("why", crew.path, "--table", "--json").data["rows"]
    assert [row["change"] for row in rows][1:] == [
        "note to step 1: gusty in turn 3",
        "note: driver unwell",
    ]
    error = crew.tries("note", "what", "--about", "9").error
    assert (error["code"], error["where"]) == ("no-step", "STEP")
    assert crew.tries("note", "  ").error["code"] == "nothing-given"
    assert crew.tries("amend", "2", "--note", "x", "--reason", "y").error["code"] == "not-amendable"


def test_a_run_amended_below_notes_leaves_them_as_they_are(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.tries("note", "hot day")
    amended = crew.tries("amend", "1", "--tire", "RF=215/215/215", "--reason", "misread").data
    assert stand(amended) == ("confirm", "run")
    crew.tries("note", "still hot")
    assert stand(crew.status()) == ("confirm", "run")


def test_the_guide_keeps_a_note_at_the_choice(guide_with, tmp_path: Path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("note 1: gusty", "note driver unwell")
    guide.sees("Stored as step 3")
    guide.sees(CHOICE)
    guide.leaves("q")
    assert kinds(path) == ["run", "note", "note"]
