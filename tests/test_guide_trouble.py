"""The guide when the file is in trouble: nothing that was typed has to be typed twice."""

from collections.abc import Callable
from pathlib import Path

import pytest
from garage import RF_INNER_HOT, Crew, stand
from keyboard import Keyboard
from test_guide import ANYTHING, CAMBERED, CHOICE, FIRST_TIRE, KEPT, MADE, STORE

from planner.guide import draft
from planner.storage import planfile

AGAIN = r"try again \[Enter/s\]> "
PLACE = r"another place, such as .*> "
TYPED = {"RF": (227.0, 215.0, 203.0), "LF": (208.0, 210.0, 212.0)}


@pytest.fixture
def stick(tmp_path: Path) -> Crew:
    """A crew whose plan lies on a stick that can be pulled out."""
    (tmp_path / "stick").mkdir()
    crew = Crew(tmp_path / "stick" / "day.toml")
    crew.start()
    return crew


@pytest.fixture
def guide(stick: Crew, guide_with: Callable[..., Keyboard]) -> Callable[[], Keyboard]:
    return lambda: guide_with(f"{stick.path.parent.name}/{stick.path.name}")


def pulled_out(stick: Crew) -> Path:
    folder = stick.path.parent
    return folder.rename(folder.with_name("away"))


def put_in_again(stick: Crew) -> None:
    stick.path.parent.with_name("away").rename(stick.path.parent)


def says(guide: Keyboard, prompt: str) -> str:
    return " ".join(guide.sees(prompt).split())


def types_a_run(guide: Keyboard) -> None:
    guide.sees(FIRST_TIRE)
    guide.types(" ".join(CAMBERED))
    guide.sees(ANYTHING)
    guide.types("track 95; note later on", "")
    guide.sees(STORE)


def test_a_stick_put_in_again_and_the_run_is_stored_as_it_was_typed(guide, stick: Crew) -> None:
    talk = guide()
    types_a_run(talk)
    pulled_out(stick)
    talk.types("")
    shown = says(talk, AGAIN)
    assert "The plan is gone" in shown
    assert "plug the stick back in" in shown
    assert "What you typed is still here" in shown
    talk.types("")  # too early
    assert "The plan is gone" in says(talk, AGAIN)
    talk.types("what?")
    assert "is not an answer" in says(talk, AGAIN)
    put_in_again(stick)
    talk.types("")
    talk.sees("Stored as step 1")
    talk.sees(CHOICE)
    (step,) = planfile.load(stick.path).step
    assert {corner: step.run.tires[corner] for corner in TYPED} == TYPED
    assert (step.run.track_temp, step.run.note) == (95, "later on")


def test_without_the_stick_the_day_goes_on_in_another_place(
    guide, stick: Crew, tmp_path: Path
) -> None:
    stick.record(RF_INNER_HOT, "--flag", "lockup")
    talk = guide()
    types_a_run(talk)
    away = pulled_out(stick)
    before = sorted(away.iterdir())
    talk.types("")
    talk.sees(AGAIN)
    talk.types("s")
    talk.sees(PLACE)
    talk.types("nowhere/day.toml")
    assert "There is no such folder" in says(talk, PLACE)
    talk.types("q")
    talk.sees(AGAIN)
    talk.types("s", "rescued.toml")
    assert "The day goes on in rescued.toml" in says(talk, "Stored as step 2")
    talk.sees(CHOICE)
    talk.leaves("q")
    rescued = Crew(tmp_path / "rescued.toml")
    assert stand(rescued.status()) == ("camber", "choice")
    first, second = planfile.load(rescued.path).step
    assert first.void
    assert second.run.tires["RF"] == TYPED["RF"]
    assert sorted(away.iterdir()) == before
    put_in_again(stick)
    assert len(planfile.load(stick.path).step) == 1


def test_left_without_the_stick_what_was_typed_can_be_written_down(guide, stick: Crew) -> None:
    talk = guide()
    types_a_run(talk)
    pulled_out(stick)
    talk.types("")
    talk.sees(AGAIN)
    talk.types("q")
    said = " ".join(talk.ends().split())
    assert "not on disk" in said
    assert "treadgate record stick/day.toml --tire RF=227/215/203 --tire RR=211/210/209" in said
    assert "track 95; note later on" in said


def test_a_draft_that_cannot_be_kept_is_said_once_and_the_typing_goes_on(
    guide, stick: Crew
) -> None:
    draft.place(stick.path).mkdir()  # in the way of the draft, but not of the plan
    talk = guide()
    talk.sees(FIRST_TIRE)
    talk.types(CAMBERED[0])
    shown = says(talk, r"RR \(inner middle outer\)> ")
    assert "What you type cannot be kept" in shown
    assert "leave this window open" in shown
    talk.types(CAMBERED[1])
    assert "cannot be kept" not in says(talk, r"LR \(inner middle outer\)> ")
    talk.types(" ".join(CAMBERED[2:]))
    talk.sees(ANYTHING)
    talk.types("")
    talk.sees(STORE)
    talk.types("")
    talk.sees("Stored as step 1")
    assert planfile.load(stick.path).step[0].run.tires["RF"] == TYPED["RF"]


def test_left_with_a_draft_that_was_not_kept_it_is_shown(guide, stick: Crew) -> None:
    draft.place(stick.path).mkdir()
    talk = guide()
    talk.sees(FIRST_TIRE)
    talk.types(CAMBERED[0])
    talk.sees(r"RR \(inner middle outer\)> ")
    talk.types("q")
    assert "--tire RF=227/215/203" in " ".join(talk.ends().split())


def test_left_with_a_draft_that_was_kept_nothing_needs_to_be_written_down(guide) -> None:
    talk = guide()
    talk.sees(FIRST_TIRE)
    talk.types(CAMBERED[0])
    talk.sees(r"RR \(inner middle outer\)> ")
    talk.types("q")
    assert "not on disk" not in " ".join(talk.ends().split())
    again = guide()
    again.sees(KEPT)


def test_a_plan_damaged_meanwhile_waits_until_it_is_mended(guide, stick: Crew) -> None:
    stick.record(RF_INNER_HOT)
    talk = guide()
    talk.sees(CHOICE)
    whole = stick.path.read_bytes()
    stick.path.write_bytes(whole[:-40])
    talk.types("1", "")
    shown = says(talk, AGAIN)
    assert "treadgate mend stick/day.toml" in shown
    assert stick.path.read_bytes() == whole[:-40]
    stick.path.write_bytes(whole)
    talk.types("")
    talk.sees(MADE)
    assert len(planfile.load(stick.path).step) == 2


def test_a_plan_that_went_back_is_told_and_what_was_seen_can_be_kept(
    guide, stick: Crew, tmp_path: Path
) -> None:
    stick.record(RF_INNER_HOT)
    talk = guide()
    talk.sees(CHOICE)
    planfile.previous(stick.path).replace(stick.path)  # as from a stick that has lost the last save
    talk.types("1", "")
    assert "It holds 0 steps now, where it held 1" in says(talk, "Enter tries again> ")
    talk.types("")
    assert "has seen are missing from the file" in says(talk, AGAIN)
    talk.types("s", "rescued.toml")
    talk.sees(CHOICE)
    talk.leaves("q")
    assert len(planfile.load(tmp_path / "rescued.toml").step) == 1
    assert len(planfile.load(stick.path).step) == 0
