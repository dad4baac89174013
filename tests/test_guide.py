"""The guided day, driven as a crew would drive it: in this process, a dozen days at a terminal."""

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import attrs
import pytest
from garage import Crew, run_command, tires
from keyboard import ESCAPES, Keyboard

from planner.guide import choice
from planner.plan import moves
from planner.plan.day import Day
from planner.plan.steps import STEP_KINDS, AmendStep, ChoiceStep, MadeStep
from planner.run.readings import Run
from planner.storage import planfile, plans, starting
from planner.trade.corners import CORNERS

# In reading order on a track that turns left: RF RR LR LF, inner middle outer.
CAMBERED = ["227 215 203", "211 210 209", "196 195 194", "208 210 212"]
IN_BAND = ["215 215 215", "211 210 209", "196 195 194", "208 210 212"]
READ = ("RF", "RR", "LR", "LF")

COLOURS = re.compile(r"\x1b\[(?:\d+;)*(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;\d+)*m")

FIRST_TIRE = r"RF \(inner middle outer\)> "
CHOICE = r"choice \[.*\]> "
MADE = r"made\? \[Enter\]> "
KEPT = r"Go on with it\? \[Y/n\]> "
ANYTHING = "anything else> "
STORE = r"Store this run\? .*> "
SHOULD_BE = r"step \d should be> "
CORRECT = r"Correct it like this\? \[Y/n\]> "


def three(text: str) -> tuple[float, float, float]:
    inner, middle, outer = (float(number) for number in text.split())
    return inner, middle, outer


def run(typed: list[str], **more: object) -> Run:
    tires = dict(zip(READ, map(three, typed), strict=True))
    return Run(tires={corner: tires[corner] for corner in CORNERS}, **more)  # type: ignore[arg-type]


def recorded(path: Path, typed: list[str], **more: object) -> None:
    plans.step(path, lambda day, at: moves.record(day, run(typed, **more), at))


BEGINNING = (
    *("name of the plan .*> ", "car file .*> ", r"track \(.*> ", "which way .*> "),
    "laps a run .*> ",
)


def plan_new(folder: Path) -> Path:
    path = folder / "day.toml"
    starting.start(path)
    return path


def plan_at_choice(folder: Path) -> Path:
    path = plan_new(folder)
    recorded(path, CAMBERED)
    return path


def plan_at_change(folder: Path) -> Path:
    path = plan_at_choice(folder)
    plans.step(path, lambda day, at: moves.choose(day, "1", at))
    return path


def plan_at_offer(folder: Path) -> Path:
    """In band everywhere, but the left front wears more than twice as fast as the others."""
    path = plan_new(folder)
    new = dict.fromkeys(CORNERS, (8.0, 8.0, 8.0))
    worn = dict.fromkeys(CORNERS, (7.0, 7.0, 7.0)) | {"LF": (5.5, 5.5, 5.5)}
    recorded(path, IN_BAND, tread_before=new, tread=worn)
    return path


def day_of(path: Path) -> Day:
    return plans.open_plan(path).day


def kinds(path: Path) -> list[str]:
    return [STEP_KINDS[type(step)] for step in planfile.load(path).step]


@pytest.mark.parametrize("columns", [80, 120])
def test_a_small_day_goes_from_nothing_to_complete(
    terminal_with, tmp_path: Path, columns: int
) -> None:
    guide = terminal_with("--turns", "left", "--laps", "8", columns=columns)
    guide.sees(r"name of the plan \(Enter = day-\d{4}-\d\d-\d\d.toml\)> ")
    guide.types("elm")
    guide.sees("car file .*> ")
    guide.types("")
    guide.sees("track .*> ")
    guide.types("Elm Oval")
    assert "a run of 8 laps" in guide.sees(FIRST_TIRE)
    for line, following in zip(CAMBERED, ["RR", "LR", "LF", "anything else"], strict=True):
        guide.types(line)
        guide.sees(rf"{following}.*> ")
    guide.types("")
    guide.sees(STORE)
    guide.types("")
    shown = guide.sees(CHOICE)
    assert re.search(r"1\.\s+RF camber \+1\.50 deg \(more positive\)", shown)
    guide.types("1")
    guide.sees(r"Take this\? \[Y/n\]> ")
    guide.types("")
    assert "stands before anyone reaches under it" in " ".join(guide.sees(MADE).split())
    guide.types("")
    guide.sees(FIRST_TIRE)
    guide.types(" ".join(IN_BAND), "", "")
    assert "Last change (step 3): better" in guide.sees(FIRST_TIRE)
    guide.types(" ".join(IN_BAND), "", "")
    assert "treadgate why elm.toml" in guide.ends()
    path = tmp_path / "elm.toml"
    assert kinds(path) == ["run", "choice", "made", "run", "run"]
    assert day_of(path).stage == "complete"
    assert day_of(path).good[0].run == run(CAMBERED)
    longest = max(len(row.rstrip()) for row in ESCAPES.sub("", guide.seen).splitlines())
    assert longest <= columns
    assert list(tmp_path.glob(".*.draft")) == []


@attrs.frozen
class Place:
    """A prompt: the plan it comes up in, what is typed to get there, and where a return lands."""

    name: str
    plan: Callable[[Path], Path]
    typed: tuple[str, ...]
    prompt: str
    back_at: str = ""  # the prompt after a return, where it is another
    kept: bool = False  # a half-typed run is offered on return


def asks(corner: str, old: str = "") -> str:
    """Return the prompt for a tire that turns up inner first, with what stands there already."""
    return re.escape(f"{corner} (inner middle outer{old and f'; Enter = {old}'})> ")


def test_back_goes_back_one_answer_and_what_was_typed_stays(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types("b")
    guide.sees("This is the first tire")
    guide.types("1 2 3", CAMBERED[1], CAMBERED[2])
    guide.sees(asks("LF"))
    guide.types("b")
    guide.sees(asks("LR", CAMBERED[2]))
    guide.types("back", "")
    guide.sees(asks("RR", CAMBERED[1]))
    guide.sees(asks("LR", CAMBERED[2]))
    guide.types("b", "b")
    guide.sees(asks("RF", "1 2 3"))
    guide.leaves("killed")
    guide = guide_with("day.toml")
    guide.sees(KEPT)
    guide.types("")
    guide.sees(asks("RF", "1 2 3"))
    guide.types("b", CAMBERED[0])
    guide.sees("This is the first tire")
    guide.sees(asks("RR", CAMBERED[1]))
    guide.types("", "", CAMBERED[3], "b", "", "laps 9", "")
    guide.sees(asks("LF", CAMBERED[3]))
    guide.sees(STORE)
    guide.types("RR", "b", "RR", "")
    for _ in range(2):
        guide.sees(asks("RR", CAMBERED[1]))
        guide.sees(STORE)
    guide.types("RR", "212 211 210")
    guide.sees(STORE)
    guide.types("b", "", "")
    guide.sees("Stored as step 1")
    last = day_of(path).last
    assert last is not None
    assert last.run == run([CAMBERED[0], "212 211 210", *CAMBERED[2:]], laps=9)


def test_a_day_is_begun_after_going_back_through_its_questions(guide_with, tmp_path) -> None:
    guide = guide_with()
    guide.types("b", "elm", "", "", "left")
    guide.sees("nothing to go back to")
    guide.sees(BEGINNING[-1])
    for question in reversed(BEGINNING[:-1]):
        guide.types("b")
        guide.sees(question)
    guide.types("oak", "b", "ash", "", "Ash Bowl", "", "8")
    guide.sees(FIRST_TIRE)
    assert [path.name for path in tmp_path.glob("*.toml")] == ["ash.toml"]
    plan = day_of(tmp_path / "ash.toml").plan
    assert (plan.laps, plan.track) == (8, "Ash Bowl")


CAR_ASKED = """[car]
turns = "left"
[track]
name = "River Bend"
"""


def test_what_the_car_file_says_is_not_asked(guide_with, tmp_path) -> None:
    (tmp_path / "car.toml").write_text(CAR_ASKED, "utf-8")
    guide = guide_with()
    guide.types("elm", "car.toml")
    asked = guide.sees(BEGINNING[-1])
    assert "which way" not in asked
    assert "track (Enter" not in asked
    guide.types("b")  # to the car file, past what it says
    guide.sees(BEGINNING[1])
    guide.types("", "", "", "")
    guide.sees(FIRST_TIRE)
    assert day_of(tmp_path / "elm.toml").plan.track == ""


def test_with_all_said_beforehand_there_is_nothing_to_go_back_to(guide_with, tmp_path) -> None:
    (tmp_path / "car.toml").write_text(CAR_ASKED, "utf-8")
    guide = guide_with("day.toml", "--car", "car.toml")
    guide.types("b")
    guide.sees("nothing to go back to here")
    guide.types("9")
    guide.sees(FIRST_TIRE)
    plan = day_of(tmp_path / "day.toml").plan
    assert (plan.track, plan.turns, plan.laps) == ("River Bend", "left", 9)


APART = ["219 219 219", "211 211 211", "190 190 190", "200 200 200"]  # in band, no two alike
EXCHANGED = [APART[0], APART[2], APART[1], APART[3]]


def plan_with_a_run(folder: Path) -> Path:
    path = plan_new(folder)
    recorded(path, APART)
    return path


def plan_with_trims(folder: Path) -> Path:
    path = plan_new(folder)
    recorded(path, ["232 225 215", "210 212 206", "190 195 196", "195 197 199"])
    return path


def plan_made(folder: Path) -> Path:
    path = plan_at_change(folder)
    plans.step(path, moves.made)
    return path


SLIPPED = [CAMBERED[0], "311 210 209", *CAMBERED[2:]]  # a 3 for a 2 at the right rear
PLACES = [
    Place("first tire", plan_new, (), FIRST_TIRE),
    Place("third tire", plan_new, tuple(CAMBERED[:2]), r"LR \(.*> ", kept=True),
    Place(
        "leave it out", plan_new, (CAMBERED[0], "-"), "Leave it out.*> ", r"RR \(.*> ", kept=True
    ),
    Place("anything else", plan_new, tuple(CAMBERED), ANYTHING, kept=True),
    Place(
        "in its place",
        plan_new,
        (*CAMBERED, "laps 9", "laps 8"),
        "in its place.*> ",
        ANYTHING,
        kept=True,
    ),
    Place("doubtful reading", plan_new, (*SLIPPED, ""), "RR k/s/again> ", kept=True),
    Place("exchanged", plan_with_a_run, (*EXCHANGED, ""), "LR RR k/s/again> ", kept=True),
    Place("store", plan_new, (*CAMBERED, "laps 12", ""), STORE, kept=True),
    Place("drop", plan_new, (*CAMBERED, "", "n"), "afresh.*> ", STORE, kept=True),
    Place("choice", plan_at_choice, (), CHOICE),
    Place("take this", plan_at_choice, ("1",), "Take this.*> ", CHOICE),
    Place("another amount", plan_at_choice, ("a",), "how much instead.*> ", CHOICE),
    Place("own change", plan_at_choice, ("o",), "your own change> ", CHOICE),
    Place("why own", plan_at_choice, ("o", "pressure:RF:-1"), "why> ", CHOICE),
    Place("why move on", plan_at_choice, ("m",), "why move on> ", CHOICE),
    Place("go on like this", plan_at_choice, ("m", "rain"), "Go on like this.*> ", CHOICE),
    Place("amend", plan_at_choice, ("amend",), r"which step \(Enter = 1, run 1\)> ", CHOICE),
    Place("should be", plan_at_choice, ("amend 1",), SHOULD_BE, CHOICE),
    Place(
        "why changed",
        plan_new,
        (CAMBERED[0], "changed RF camber +0.5"),
        "why> ",
        r"RR \(.*> ",
        kept=True,
    ),
    Place("why end", plan_with_a_run, ("m",), "why move on> ", FIRST_TIRE),
    Place("ends the day", plan_with_a_run, ("m", "rain"), "This ends the day.*> ", FIRST_TIRE),
    Place(
        "back to the choice",
        plan_at_choice,
        ("r", CAMBERED[0], "b", "b"),
        "go back to the choice.*> ",
        r"RF \(.*> ",
        kept=True,
    ),
    Place(
        "really",
        plan_made,
        ("240 215 197", *CAMBERED[1:], "", ""),
        "Was that.*> ",
        STORE,
        kept=True,
    ),
    Place("which one", plan_with_trims, ("a",), "which one> ", CHOICE),
    Place("riding trims", plan_with_trims, ("1",), "riding trims.*> ", CHOICE),
    Place("why amend", plan_at_change, ("amend run 1 laps 9",), "why> ", MADE),
    Place("corrected", plan_at_change, ("amend RF 220 215 210", "slip"), CORRECT, MADE),
    Place("made", plan_at_change, (), MADE),
    Place("is that right", plan_at_change, ("0.5",), "Is that right.*> ", MADE),
    Place("take it back", plan_at_change, ("b",), "Take the choice back.*> ", MADE),
    Place("offer", plan_at_offer, (), "take or leave .*> "),
    Place("run after the offer", plan_at_offer, ("",), FIRST_TIRE, "take or leave .*> "),
]


@pytest.mark.parametrize("place", PLACES, ids=lambda place: place.name)
def test_left_at_any_prompt_in_any_way_it_stands_there_again(
    guide_with, tmp_path: Path, place: Place
) -> None:
    left_in_every_way(guide_with, tmp_path, place)


def test_a_real_terminal_is_left_in_every_way_too(terminal_with, tmp_path: Path) -> None:
    (place,) = (place for place in PLACES if place.name == "anything else")
    left_in_every_way(terminal_with, tmp_path, place)


def left_in_every_way(guide_with: Callable[..., Keyboard], folder: Path, place: Place) -> None:
    path = place.plan(folder)
    stored = path.read_bytes()
    guide = guide_with("day.toml")
    guide.types(*place.typed)
    guide.sees(place.prompt)
    for how in ("killed", "end of input", "q"):
        guide.leaves(how)
        assert path.read_bytes() == stored, f"{how} stored something"
        guide = guide_with("day.toml")
        if place.kept:
            guide.sees(KEPT)
            guide.types("")
        guide.sees(place.back_at or place.prompt)
        if place.back_at:
            guide.types(*(place.typed if not place.kept else place.typed[-1:]))
            guide.sees(place.prompt)


UP, LEFT, HOME, DELETE = "\x1b[A", "\x1b[D", "\x1b[H", "\x1b[3~"


@pytest.mark.parametrize("terminal", ["xterm-256color", "dumb"])
def test_a_line_is_edited_with_the_arrows_and_earlier_lines_come_back(
    terminal_with, tmp_path, terminal: str
) -> None:
    path = plan_new(tmp_path)
    guide = terminal_with("day.toml", TERM=terminal)
    guide.sees(FIRST_TIRE)
    guide.types(f"227 215 203{LEFT * 5}1{DELETE}")  # 227 211 203
    guide.sees(asks("RR"))
    guide.types("b")
    guide.sees(asks("RF", "227 211 203"))
    guide.types(f"{UP}{UP}{HOME}{DELETE * 3}226")
    guide.sees(asks("RR"))
    guide.types(*CAMBERED[1:], "", "")
    guide.sees("Stored as step 1")
    assert day_of(path).good[0].run.tires["RF"] == (226.0, 211.0, 203.0)


def test_several_lines_pasted_are_several_answers(terminal_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = terminal_with("day.toml")
    guide.sees(FIRST_TIRE)
    guide.types("\n".join(CAMBERED), "", "")
    guide.sees("Stored as step 1")
    assert day_of(path).good[0].run == run(CAMBERED)


def test_ctrl_c_leaves_quietly_and_the_run_being_typed_is_kept(terminal_with, tmp_path) -> None:
    plan_new(tmp_path)
    guide = terminal_with("day.toml")
    guide.types(*CAMBERED, "")
    guide.sees(STORE)
    guide.leaves("ctrl-c")
    assert "treadgate guide day.toml" in guide.seen
    assert "Traceback" not in guide.seen
    guide = terminal_with("day.toml")
    guide.sees(KEPT)
    guide.types("")
    guide.sees(STORE)


def test_the_command_to_go_on_can_be_pasted_however_long_the_path(guide_with, tmp_path) -> None:
    folder = tmp_path / "a folder of the season with blanks in it" / "and of a second day in it"
    folder.mkdir(parents=True)
    path = plan_new(folder)
    guide = guide_with(str(path))
    guide.sees(FIRST_TIRE)
    guide.leaves("q")
    said = ESCAPES.sub("", guide.seen).rstrip().splitlines()[-1].strip()
    assert said == f"treadgate guide '{path.relative_to(tmp_path)}'"


@pytest.mark.parametrize("how", ["killed", "end of input", "q"])
def test_left_before_the_plan_is_begun_nothing_is_left_behind(
    guide_with, tmp_path, how: str
) -> None:
    guides = [guide_with() for _ in BEGINNING]
    for answered, (guide, question) in enumerate(zip(guides, BEGINNING, strict=True)):
        guide.types(*[""] * answered)
        guide.sees(question)
        guide.leaves(how)
        assert list(tmp_path.iterdir()) == []


def test_what_was_typed_of_a_run_before_a_kill_is_what_gets_stored(terminal_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = terminal_with("day.toml")
    guide.types(*CAMBERED, "laps 9; hot 34 32 27 27.5")
    guide.sees("so far: laps 9; hot RF 34 RR 32 LR 27 LF 27.5")
    guide.sees(ANYTHING)
    guide.leaves("killed")
    guide = terminal_with("day.toml")
    shown = guide.sees(KEPT)
    assert "227" in shown
    guide.types("", "", "")
    guide.sees("Stored as step 1")
    last = day_of(path).last
    assert last is not None
    hot = {"LF": 27.5, "RF": 34.0, "LR": 27.0, "RR": 32.0}
    assert last.run == run(CAMBERED, laps=9, hot=hot)


def test_a_draft_from_before_the_run_was_stored_is_not_offered(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED[:2])
    guide.sees(r"LR \(.*> ")
    guide.leaves("killed")
    recorded(path, CAMBERED)
    plans.step(path, lambda day, at: moves.choose(day, "1", at))
    plans.step(path, lambda day, at: moves.made(day, at))
    shown = guide_with("day.toml").sees(FIRST_TIRE)
    assert "Go on with it" not in shown


def test_a_damaged_draft_counts_for_nothing(guide_with, tmp_path) -> None:
    plan_new(tmp_path)
    (tmp_path / ".day.toml.draft").write_bytes(b"tires = {LF = [\xff")
    assert "Go on with it" not in guide_with("day.toml").sees(FIRST_TIRE)


def test_left_to_right_as_the_car_stands_stores_the_same_readings(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types("across")
    guide.sees(FIRST_TIRE)
    guide.types(CAMBERED[0], CAMBERED[1])
    guide.sees(r"LR \(outer middle inner\)> ")
    turned = [" ".join(reversed(text.split())) for text in CAMBERED[2:]]
    guide.types(*turned, "", "")
    guide.sees("Stored as step 1")
    assert day_of(path).good[0].run == run(CAMBERED)


@pytest.mark.parametrize("said", ["LR", "lr", "LR:", "RF", "LF"])
def test_the_name_of_a_tire_is_never_an_order(guide_with, tmp_path, said: str) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED[:2])
    guide.sees(asks("LR"))
    guide.types(said)
    assert "Give three numbers" in guide.sees(asks("LR"))
    guide.types(*CAMBERED[2:], "", "")
    guide.sees("Stored as step 1")
    assert day_of(path).good[0].run == run(CAMBERED)


@pytest.mark.parametrize(
    "typed",
    [
        [" ".join(CAMBERED)],
        ["LF 208/210/212 RF 227/215/203", "RR=211,210,209", "196-195-194"],
        ["1 2 3", "b", *CAMBERED],
        ["227 215", "227 2150 203", "227 x 203", "", "RF", *CAMBERED],
    ],
    ids=["one line", "by name and with any separator", "back", "mistakes are asked again"],
)
def test_twelve_numbers_can_be_typed_in_many_ways(guide_with, tmp_path, typed: list[str]) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*typed)
    guide.sees(ANYTHING)
    guide.types("", "")
    guide.sees("Stored as step 1")
    assert day_of(path).good[0].run == run(CAMBERED)
    assert "Traceback" not in guide.seen


@pytest.mark.parametrize(
    ("answer", "stored"),
    [("s", (211, 210, 209)), ("k", (311, 210, 209)), ("212 211 210", (212, 211, 210))],
    ids=["the suggested is taken", "kept as typed", "typed again"],
)
def test_a_doubtful_reading_is_asked_about_before_it_is_stored(
    guide_with, tmp_path, answer: str, stored: tuple[float, float, float]
) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*SLIPPED, "")
    shown = guide.sees("RR k/s/again> ")
    assert "was 211 °F meant?" in " ".join(shown.split())
    guide.types("")
    guide.sees("RR k/s/again> ")
    assert kinds(path) == []
    guide.types(answer, "")
    guide.sees("Stored as step 1")
    last = day_of(path).last
    assert last is not None
    assert last.run.tires["RR"] == stored


@pytest.mark.parametrize(
    ("answer", "stored"),
    [
        ("s", (190.0, 211.0)),
        ("k", (211.0, 190.0)),
        ("191 190 189 211 211 211", (190.0, 211.0)),
        ("RR 212 211 210; LR 190 190 190", (190.0, 211.0)),
    ],
    ids=["the suggested is taken", "kept as typed", "typed again", "typed again by name"],
)
def test_two_tires_typed_in_each_others_place_are_asked_about(
    guide_with, tmp_path, answer: str, stored: tuple[float, float]
) -> None:
    path = plan_with_a_run(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*EXCHANGED, "")
    asked = flat(guide.sees("LR RR k/s/again> "))
    assert "LR and RR fit all runs so far if exchanged, and not as typed" in asked
    assert "s takes LR 190 190 190, RR 211 211 211" in asked
    guide.types(answer)
    guide.sees(STORE)
    guide.types("")
    guide.sees("Stored as step 2")
    last = day_of(path).last
    assert last is not None
    assert tuple(sum(last.run.tires[corner]) / 3 for corner in ("LR", "RR")) == stored


@pytest.mark.parametrize(
    ("answer", "stored"),
    [
        ("s", (18, 28, 17, 26)),
        ("k", (28, 26, 17, 18)),
        ("cold 28 25.5 17 18", (18, 28, 17, 25.5)),
        ("28 25.5 17 18", (18, 28, 17, 25.5)),
        ("1.93 1.76 1.17 1.24 bar", (18, 28, 17, 25.5)),
        ("193 176 117 124kPa", (18, 28, 17, 25.5)),
    ],
    ids=["the suggested is taken", "kept as typed", *("typed again",) * 4],
)
def test_exchanged_pressures_are_asked_about_before_they_are_stored(
    guide_with, tmp_path, answer: str, stored: tuple[float, ...]
) -> None:
    path = plan_new(tmp_path)
    recorded(path, IN_BAND, cold=dict(zip(CORNERS, (18.0, 28.0, 17.0, 26.0), strict=True)))
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "cold 26 18 17 28", "", "x")
    shown = flat(guide.sees("pressures k/s/again> "))
    assert "Then it is LF 18, RF 28, RR 26." in shown
    guide.types("b", "", answer)
    guide.sees(ANYTHING)
    guide.sees(STORE)
    assert len(kinds(path)) == 1
    guide.types("")
    guide.sees("Stored as step 2")
    last = day_of(path).last
    assert last is not None
    assert last.run.cold == pytest.approx(dict(zip(CORNERS, stored, strict=True)), abs=0.1)


def test_bar_typed_at_a_doubt_needs_no_word_before_it(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "hot 1.9 1.8 1.6 1.6", "")
    for corner, bar in (("LF", "160kPa"), ("RF", "1.9bar"), ("LR", "LR 1.6bar"), ("RR", "1.8 bar")):
        assert f"{corner} 1." in guide.sees("pressures k/again> ")
        guide.types(bar)
    guide.sees(STORE)
    guide.types("")
    guide.sees("Stored as step 1")
    last = day_of(path).last
    assert last is not None
    assert last.run.hot == pytest.approx({"RF": 27.6, "RR": 26.1, "LR": 23.2, "LF": 23.2}, abs=0.05)


def test_a_pressure_that_can_only_be_kpa_is_not_taken_for_a_slip_of_a_digit(
    guide_with, tmp_path
) -> None:
    plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "cold RF 193")
    said = flat(guide.sees(ANYTHING))
    said = flat(guide.sees(ANYTHING))
    assert "193kPa if it is in kPa" in said
    assert "digit" not in said


def flat(text: str) -> str:
    return " ".join(text.split())


def test_of_a_line_partly_wrong_the_right_things_are_kept(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED)
    assert "hot 34 32 27 27.5 (RF RR LR LF)" in flat(guide.sees(ANYTHING))
    guide.types("cold 26 23 16 16; hot 34 31 20 20; air 250; lpas 9")
    shown = flat(guide.sees("so far: .*\n"))
    assert "Not taken: air 250" in shown
    assert "Not taken: lpas 9" in shown
    assert "Kept from this line: cold 26 23 16 16; hot 34 31 20 20" in shown
    guide.types("", "")
    guide.sees("Stored as step 1")
    last = day_of(path).last
    assert last is not None
    cold = {"LF": 16.0, "RF": 26.0, "LR": 16.0, "RR": 23.0}
    hot = {"LF": 20.0, "RF": 34.0, "LR": 20.0, "RR": 31.0}
    assert last.run == run(CAMBERED, cold=cold, hot=hot)


@pytest.mark.parametrize("answer", ["", "b", "n"])
def test_an_own_change_can_be_thought_better_of(guide_with, tmp_path, answer: str) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.types("o", "?")
    guide.sees("your own change> ")
    assert "toe at front, in in; + is more toe-in" in flat(guide.sees("your own change> "))
    guide.types(answer)
    guide.sees("Back to the choice")
    guide.sees(CHOICE)
    assert kinds(path) == ["run"]


def test_a_choice_can_be_taken_back_before_it_is_made(guide_with, tmp_path) -> None:
    path = plan_at_change(tmp_path)
    guide = guide_with("day.toml")
    guide.types("b", "n")
    guide.sees("Take the choice back")
    guide.sees(MADE)
    assert kinds(path) == ["run", "choice"]
    guide.types("b", "")
    guide.sees(CHOICE)
    assert kinds(path) == ["run", "choice", "taken-back"]


def test_a_question_mark_is_a_question_wherever_a_day_is_begun(guide_with, tmp_path) -> None:
    guide = guide_with()
    for question in BEGINNING:
        guide.sees(question)
        guide.types("?")
        assert "Enter" in guide.sees(question)
        guide.types("")
    guide.sees(FIRST_TIRE)
    assert [path.name[:4] for path in tmp_path.glob("*.toml")] == ["day-"]


def test_a_day_begun_with_a_car_file_tells_what_was_understood_of_it(guide_with, tmp_path) -> None:
    scales = "[scales]\nLF = 765\nRF = 678\nLR = 772\nRR = 585\n"
    (tmp_path / "car.toml").write_text(f"{scales}[settings]\ncross = {{car = 54}}\n", "utf-8")
    guide = guide_with("day.toml", "--car", "car.toml", columns=200)
    guide.types("", "", "")  # track, turns, laps
    said = guide.sees(FIRST_TIRE)
    assert "settings.cross says 54 %, [scales] make it 51.8 %: the scales are used." in said
    assert "Known of the car: 2800 lb" in said
    assert "it could be computed with settings.spring, dimensions.wheelbase" in said


def test_a_lesson_that_cannot_be_used_ends_the_guide(guide_with, tmp_path) -> None:
    (tmp_path / "taught.toml").write_text("format = 9\n", "utf-8")
    guide = guide_with("--taught", "taught.toml")
    guide.types("day.toml", "", "", "", "")  # name, car file, track, turns, laps
    assert "This file is of format 9" in guide.ends()
    assert not (tmp_path / "day.toml").exists()


def test_a_doubted_change_is_asked_about_by_its_own_corner_and_knob(guide_with, tmp_path) -> None:
    path = plan_at_change(tmp_path)
    guide = guide_with("day.toml")
    guide.types("?")
    guide.sees(MADE)
    assert "not made yet" in guide.sees(MADE)
    guide.types("", " ".join(["240 215 197", *CAMBERED[1:]]), "", "")
    really = r"Was that really the change\? .*> "
    assert "for example RF camber +0.75" in flat(guide.sees(really))
    for answer in ("?", "no", "camber"):
        guide.types(answer)
        assert "RF camber +0.75" in flat(guide.sees(really))
    assert kinds(path) == ["run", "choice", "made"]


def test_readings_are_not_dropped_by_a_return(guide_with, tmp_path) -> None:
    plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "", "n")
    guide.sees(r"afresh\? \[y/N\]> ")
    guide.types("")
    guide.sees(STORE)
    guide.types("n", "y")
    guide.sees("Dropped")


def test_an_empty_answer_at_the_choice_is_told_what_can_be_typed(guide_with, tmp_path) -> None:
    plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("")
    shown = flat(guide.sees(CHOICE))
    assert "Give an answer." in shown
    assert "m moves on" in shown


def test_a_bundle_is_not_resized_and_one_of_several_is(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    recorded(path, ["227 215 203", "225 210 195", "210 195 180", "220 210 190"])
    single = next(
        number
        for number, each in enumerate(day_of(path).table().candidates, 1)
        if [change.setting for change in each.changes] == [("camber", "RF")]
    )
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types("a 1 0.5")
    assert "Only a single change can be resized; this is a bundle." in flat(guide.sees(CHOICE))
    guide.types(f"a {single} 0.5")
    guide.sees(r"RF camber \+0\.50 deg")


@pytest.mark.parametrize("typed", ["a 1 -1.0", "a 1 1.0"])
def test_a_change_with_trims_riding_along_takes_another_amount(
    guide_with, tmp_path, typed: str
) -> None:
    path = tmp_path / "day.toml"
    crew = Crew(path)
    crew.start()
    crew.record(tires(split={"RF": 20.0}, crown={"RR": 6.0}), "--cold", "RR=25")
    crew.choose("--own", "camber:RF:0.75", "--reason", "carefully")
    crew.made()
    crew.record(tires(split={"RF": 7.0}, crown={"RR": 7.0}))
    (first, *_) = crew.status()["candidates"]
    assert [change["trim"] for change in first["changes"]] == [False, True]
    guide = guide_with("day.toml")
    guide.sees(CHOICE)
    guide.types(typed)
    guide.sees(r"RR pressure 25\.0 → 24\.0 psi \(-1\.0\)")
    guide.types("")
    guide.sees(MADE)
    guide.types("24")  # the setting it came to, the trim as chosen
    assert "from 25.0 psi to 24.0 psi" in flat(guide.sees("Is that right.*> "))


def test_where_only_a_bundle_is_offered_no_other_amount_is(tmp_path) -> None:
    path = plan_new(tmp_path)
    recorded(path, ["227 215 203", "225 210 195", "210 195 180", "220 210 190"])
    bundle, single, *_ = day_of(path).table().candidates
    assert "another amount" in choice._answers([bundle, single])
    assert "another amount" not in choice._answers([bundle])


def test_too_few_numbers_are_told_what_is_wanted(guide_with, tmp_path) -> None:
    plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types("hello")
    guide.sees("Give three numbers: inner middle outer.")


def test_another_amount_and_what_it_really_came_out_at_are_stored(guide_with, tmp_path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.types("?", "a", "-3", "a", "0.5", "y")
    guide.sees(r"RF camber \+0\.50 deg")
    guide.sees(MADE)
    pending = day_of(path).pending
    assert pending is not None
    assert [(c.setting, c.amount) for c in pending.changes] == [(("camber", "RF"), 0.5)]
    guide.types("n", "camber:RF:0.75", "y")
    guide.sees(FIRST_TIRE)
    made = planfile.load(path).step[-1]
    assert isinstance(made, MadeStep)
    assert [(c.setting, c.amount) for c in made.changes] == [(("camber", "RF"), 0.75)]


@pytest.mark.parametrize(
    ("typed", "amount"),
    [("0.75", -0.75), ("+0.5", 0.5), ("24.5", -0.5), ("24", -1.0), ("pressure:RR:-1.5", -1.5)],
)
def test_what_it_came_out_at_is_an_amount_or_the_setting(
    guide_with, tmp_path, typed: str, amount: float
) -> None:
    path = tmp_path / "day.toml"
    crew = Crew(path)
    crew.start()
    crew.record(tires(crown={"RR": 6.0}), "--cold", "RR=25")
    crew.choose("--own", "pressure:RR:-0.5", "--reason", "a little")
    guide = guide_with("day.toml")
    guide.sees(MADE)
    guide.types(typed)
    assert f"from 25.0 psi to {25 + amount:.1f} psi" in flat(guide.sees("Is that right.*> "))
    guide.types("")
    guide.sees(FIRST_TIRE)
    made = planfile.load(path).step[-1]
    assert isinstance(made, MadeStep)
    assert [(c.setting, c.amount) for c in made.changes] == [(("pressure", "RR"), amount)]


@pytest.mark.parametrize(("answer", "stored"), [("s", 33.0), ("y", 33.0), ("k", 20.0)])
def test_hot_pressures_in_another_order_are_asked_about(
    guide_with, tmp_path, answer: str, stored: float
) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "cold 26 24 16 16; hot 20 33 20 30", "")
    asked = flat(guide.sees("pressures k/s/again> "))
    assert "Then it is LF 20, RF 33, RR 30." in asked
    guide.types(answer, "")
    guide.sees("Stored as step 1")
    last = day_of(path).last
    assert last is not None
    assert last.run.hot["RF"] == stored


def test_an_amount_beyond_the_most_in_one_move_is_said_before_it_is_taken(
    guide_with, tmp_path
) -> None:
    plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.types("a", "2.5")
    asked = flat(guide.sees(r"Take this\? \[Y/n\]> "))
    assert "! RF camber by +2.50 deg: the rules allow 2.00 deg in one move." in asked


def test_an_own_change_is_stored_with_its_reason(guide_with, tmp_path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.types("o", "pressure RF", "pressure:RF:-1 cross:car:0.5", "", "tried it last year")
    asked = flat(guide.sees(r"Take this\? \[Y/n\]> "))
    assert re.search(r"Expected: RF crown [-+].* balance [-+]", asked)
    guide.types("")
    guide.sees(MADE)
    step = planfile.load(path).step[-1]
    assert isinstance(step, ChoiceStep)
    assert step.reason == "tried it last year"
    assert step.chosen is not None
    assert [c.setting for c in step.chosen.changes] == [("pressure", "RF"), ("cross", "car")]


def test_a_crew_types_its_own_words(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types(*CAMBERED, "push in the center")
    guide.sees("so far: feel tight middle")
    guide.types("feel free off")
    guide.sees("so far: feel tight middle, loose exit")
    guide.types("", "", "a 1 1/2deg", "n", "o RF camber +1deg toe 1/8in", "to try", "")
    guide.sees(r"RF camber \+0\.50 deg")
    guide.sees(MADE)
    pending = day_of(path).pending
    assert pending is not None
    assert [(c.setting, c.amount) for c in pending.changes] == [
        (("camber", "RF"), 1.0),
        (("toe", "front"), 0.125),
    ]
    guide.types("camber RF +0.5 deg", "n", "RF +1 camber, toe -1/8in", "")
    guide.sees(FIRST_TIRE)
    made = planfile.load(path).step[-1]
    assert isinstance(made, MadeStep)
    assert [c.amount for c in made.changes] == [1.0, -0.125]


def amended_by_command(path: Path, *given: str) -> AmendStep:
    """Return the step that the command adds to a copy of the plan."""
    copy = path.with_name("copy.toml")
    copy.write_bytes(path.read_bytes())
    assert run_command("amend", copy, *given).status == 0
    step = planfile.load(copy).step[-1]
    copy.unlink()
    assert isinstance(step, AmendStep)
    return step


@pytest.mark.parametrize(
    ("start", "typed", "given"),
    [
        (
            plan_at_choice,
            ["amend", "", "RF 226 215 204; laps 11; push off", "misread"],
            ["1", "--tire", "RF=226/215/204", "--laps", "11", "--feel", "tight", "--where", "exit"],
        ),
        (
            plan_at_change,
            ["amend run 1", "b", "amend", "run 1", "hot RF 34; LF 27", "b", "hot RF 35", "misread"],
            ["1", "--hot", "RF=35"],
        ),
        (plan_at_offer, ["amend RF 226 215 204", "misread"], ["1", "--tire", "RF=226/215/204"]),
        (
            plan_at_offer,
            ["", "amend 1", "no tread; no before", "misread"],
            ["1", *(f"--tread{w}={c}=none" for c in CORNERS for w in ("", "-before"))],
        ),
    ],
    ids=["choice", "change", "offer", "first tire"],
)
def test_an_entry_is_put_right_in_the_guide_as_by_the_command(
    guide_with, tmp_path, start: Callable[[Path], Path], typed: list[str], given: list[str]
) -> None:
    path = start(tmp_path)
    wanted = amended_by_command(path, *given, "--reason", "misread")
    guide = guide_with("day.toml")
    guide.types(*typed)
    assert " → " in guide.sees(CORRECT)
    assert not any(isinstance(step, AmendStep) for step in planfile.load(path).step)
    guide.types("")
    guide.sees("step 1 is corrected")
    step = planfile.load(path).step[-1]
    assert isinstance(step, AmendStep)
    assert attrs.evolve(step, time=wanted.time) == wanted


def test_what_was_made_is_put_right_while_a_run_is_typed_and_the_run_stays(
    guide_with, tmp_path
) -> None:
    path = plan_at_change(tmp_path)
    plans.step(path, lambda day, at: moves.made(day, at))
    wanted = amended_by_command(path, "3", "--actual", "camber:RF:0.5", "--reason", "half of it")
    guide = guide_with("day.toml")
    guide.types("?", *CAMBERED[:2], "amend 2", "amend 3", "?", "laps 9", "0.5 deg", "half of it")
    assert "amend run 2" in flat(guide.sees(asks("RR")))
    assert "Step 2 is a decision" in flat(guide.sees(SHOULD_BE))
    shown = flat(guide.sees(CORRECT))
    assert "RF camber +1.50 deg" in shown
    assert "RF camber +0.50 deg" in shown
    guide.types("n", "b", "amend 3 actual RF camber +0.5", "half of it", "")
    guide.sees("Back. Nothing was corrected.")
    guide.sees("Stored as step 4: step 3 is corrected.")
    guide.sees(asks("LR"))
    step = planfile.load(path).step[-1]
    assert isinstance(step, AmendStep)
    assert attrs.evolve(step, time=wanted.time) == wanted
    guide.leaves("killed")
    guide = guide_with("day.toml")
    assert CAMBERED[0].split()[0] in guide.sees(KEPT)
    guide.types("", *CAMBERED[2:], "", "")
    guide.sees("Stored as step 5")
    last = day_of(path).last
    assert last is not None
    assert last.run == run(CAMBERED)


def test_a_run_half_typed_goes_on_where_putting_right_asks_for_a_choice(
    guide_with, tmp_path
) -> None:
    path = plan_new(tmp_path)
    guide = guide_with("day.toml")
    guide.types("amend")
    guide.sees("nothing to correct")
    recorded(path, IN_BAND)
    guide.types("q")
    guide = guide_with("day.toml")
    guide.types(*IN_BAND[:2], "amend RF 230 215 200", "misread", "")
    guide.sees(r"step 2.*in the camber stage, a choice is due")
    guide.types(*IN_BAND[2:], "", "")  # it was run before the choice came up
    guide.sees("Stored as step 3")
    last = day_of(path).last
    assert last is not None
    assert last.run == run(IN_BAND)


def test_moving_on_to_confirm_and_ending_there_completes_the_day(guide_with, tmp_path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.types("m", "track closes", "")
    guide.sees(FIRST_TIRE)
    guide.types("m", "?", "no time")
    assert "Give a reason" in guide.sees("ends the day for good.*> ")
    guide.types("")  # a slip on Enter ends nothing
    guide.sees(FIRST_TIRE)
    guide.types("m", "no time", "y")
    assert "The day was ended before the confirming run." in guide.ends()
    assert day_of(path).stage == "complete"


def test_an_offer_against_uneven_wear_can_be_taken(guide_with, tmp_path) -> None:
    path = plan_at_offer(tmp_path)
    guide = guide_with("day.toml")
    assert "cross weight (wedge)" in guide.sees("take or leave .*> ")
    guide.types("1", "")
    guide.sees(MADE)
    assert (day_of(path).stage, day_of(path).due) == ("cross", "change")


def test_one_plan_in_the_folder_is_offered_and_one_of_several_is_picked(
    guide_with, tmp_path
) -> None:
    plan_at_choice(tmp_path)
    guide = guide_with()
    assert "day.toml: round 1, camber, choice due" in guide.sees(KEPT)
    guide.types("")
    guide.sees(CHOICE)
    guide.leaves("q")
    starting.start(tmp_path / "next.toml")
    (tmp_path / "rules-like.toml").write_text('format = 1\nid = "x"\n')
    guide = guide_with()
    guide.sees(r"which one \[1-2.*> ")
    guide.types("7", "2")
    assert "next.toml" in guide.sees(FIRST_TIRE)


def test_no_color_gives_no_colour_and_plain_gives_no_escape_at_all(terminal_with, tmp_path) -> None:
    plan_at_choice(tmp_path)
    coloured, without = terminal_with("day.toml"), terminal_with("day.toml", NO_COLOR="1")
    plain = terminal_with("day.toml", "--plain")
    for guide in (coloured, without, plain):
        guide.sees(CHOICE)
    assert COLOURS.search(coloured.seen)
    assert not COLOURS.search(without.seen)
    assert "\x1b" not in plain.seen
    pages = [
        [row.rstrip() for row in ESCAPES.sub("", guide.seen).splitlines()]
        for guide in (coloured, without, plain)
    ]
    assert pages[0] == pages[1] == pages[2]


def test_notes_are_shown_as_they_were_typed_and_never_obeyed(guide_with, tmp_path) -> None:
    path = plan_new(tmp_path)
    recorded(path, CAMBERED, note="[red]fast[/red] [link=x]y :smile: \x1b[2J\x1b]0;owned\x07 end")
    guide = guide_with("day.toml", "--full")
    shown = guide.sees(CHOICE)
    assert "[red]fast[/red] [link=x]y :smile: [2J]0;owned end" in " ".join(shown.split())
    assert "\x1b[2J" not in guide.seen
    assert "\x1b]0" not in guide.seen
    assert "\x07" not in guide.seen


def test_a_plan_that_cannot_be_used_is_refused_with_its_status(terminal_with, tmp_path) -> None:
    (tmp_path / "day.toml").write_text("format = 99\n")
    guide = terminal_with("day.toml")
    assert "format 99" in guide.ends()
    assert guide.status == 3


def test_a_plan_changed_from_elsewhere_meanwhile_is_not_written_over(guide_with, tmp_path) -> None:
    path = plan_at_choice(tmp_path)
    guide = guide_with("day.toml")
    guide.types("1")
    guide.sees(r"Take this\? .*> ")
    plans.step(path, lambda day, at: moves.choose(day, "1", at))
    guide.types("")
    assert "changed from elsewhere" in guide.sees("Enter tries again> ")
    guide.types("")
    guide.sees(MADE)
    assert kinds(path) == ["run", "choice"]


def test_a_whole_run_goes_in_through_pipes(tmp_path: Path) -> None:
    path = plan_new(tmp_path)
    typed = "\n".join([" ".join(CAMBERED), "feel tight entry", "", "", "q", ""])
    done = subprocess.run(
        [sys.executable, "-m", "planner", "guide", "day.toml"],
        cwd=tmp_path,
        input=typed,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=30,
        check=True,
    )
    assert "\x1b" not in done.stdout
    last = day_of(path).last
    assert last is not None
    assert last.run == run(CAMBERED, felt={"entry": "tight"})


HOSTILE = [
    *(
        "",
        " ",
        "?",
        "? 99",
        "b",
        "back",
        "lr",
        "LR",
        "across",
        "imo",
        "-",
        "--",
        ":",
        "::",
        "/",
        ",",
        ";",
        "=",
        "n",
    ),
    *("1e9 1 1", "nan nan nan", "inf 1 2", "9" * 400, "1 2 3 4", "LF", "LF LF 1 2 3", "XX 1 2 3"),
    *(
        "LF=",
        "205\x00 1 2",
        "\x1b[A\x1b[B",
        "\u202e205",
        "２０５ ２０５ ２０５",
        "²⁰⁵ 1 2",
        "½ 1 2",
    ),
    *("a", "a 1", "a 1 x", "a 99 1", "0", "-1", "1.5", "o :", "o pressure:RF:nan", "o x:y:z"),
    *("o toe:front:1e400", "camber:RF:0", "pressure:RF:1e309", "no", "no hot", "hot", "hot x"),
    *("hot 1 2 3", "hot 900 1 1 1", "laps x", "laps 1e3", "laps -1", "times 1:x", "times :"),
    *(
        "tread RF",
        "tread 1 2",
        "again RF 1 2 3; order LF",
        "order LF LF",
        "feel odd",
        "feel tight x",
    ),
    *(
        "flag x",
        "delay -1",
        "track x",
        "air 999",
        "note",
        "note ;;; laps",
        "e",
        "k",
        "s",
        "m",
        "é" * 9,
    ),
]


@pytest.mark.parametrize("start", [plan_new, plan_at_choice, plan_at_change, plan_at_offer])
def test_nothing_that_can_be_typed_breaks_it(tmp_path: Path, start: Callable) -> None:
    start(tmp_path)
    typed = "\n".join([*HOSTILE, " ".join(CAMBERED), *HOSTILE, "", *HOSTILE]).encode() + b"\xff\n"
    done = subprocess.run(
        [sys.executable, "-m", "planner", "guide", "day.toml"],
        cwd=tmp_path,
        input=typed,
        capture_output=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr.decode()[-2000:]
    assert done.stderr == b""
