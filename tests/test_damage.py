"""Damaged files: refused with the place and the way back, never believed, never mended unasked."""

import contextlib
import cProfile
import itertools
import json
import os
import re
import resource
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from functools import cache
from pathlib import Path
from typing import Any

import kills
import pytest
from garage import (
    RF_INNER_HOT,
    RR_OVER,
    Answer,
    Crew,
    run_command,
    stand,
    sweeping,
    tire_options,
    tires,
)
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.advice import ahead
from planner.files import toml_files
from planner.plan import moves
from planner.storage import mend, planfile, plans, repair, seal
from planner.trade.refusals import Refusal, Unusable

sweep = pytest.mark.sweep
ROOT = Path(__file__).parent.parent
SAMPLES = ("day-begun", "half-way", "finished", "metric-day")
LONG_AND_METRIC = ("finished", "metric-day")
# What cannot be used is refused by one of these, and by none that tells of a fault of the program.
CODES = {
    *("not-toml", "bad-key", "encoding", "not-a-plan", "cut-short", "out-of-order", "conflict"),
    *("too-large", "newer-format", "no-rules", "unreadable"),
}


@cache
def sample(name: str) -> bytes:
    return (ROOT / "sample_plans" / f"{name}.toml").read_bytes()


@cache
def plan_of(name: str) -> Any:
    return planfile.load(ROOT / "sample_plans" / f"{name}.toml")


def opened(folder: Path, content: bytes, before: bytes | None = None) -> plans.Opened | Refusal:
    """Open a plan of this content; whatever comes of it, the file stays as it is."""
    path = folder / "day.toml"
    path.write_bytes(content)
    kept = planfile.previous(path)
    if before is None:
        kept.unlink(missing_ok=True)
    else:
        kept.write_bytes(before)
    names = sorted(each.name for each in folder.iterdir())
    try:
        got: plans.Opened | Refusal = plans.open_plan(path)
    except Refusal as refusal:
        got = refusal
    assert path.read_bytes() == content
    assert sorted(each.name for each in folder.iterdir()) == names
    if isinstance(got, Refusal):
        assert isinstance(got, Unusable)
        assert got.code in CODES
        assert got.message
        assert got.where.startswith(("step", str(path)))
        assert "treadgate mend" in got.hint or got.code in ("newer-format", "no-rules")
        if before is not None and got.code not in ("newer-format", "no-rules", "out-of-order"):
            assert str(kept) in got.hint
    return got


@pytest.fixture(scope="module")
def six_steps(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The files of a day of six steps, a minute or more between them."""
    crew = Crew(tmp_path_factory.mktemp("worked") / "day.toml")
    crew.start()
    begun_at = planfile.now()
    clock = (begun_at + timedelta(minutes=minute) for minute in itertools.count(1))
    with pytest.MonkeyPatch.context() as set_ahead:
        set_ahead.setattr(planfile, "now", lambda: next(clock))
        set_ahead.setattr(ahead, "DRAWS", 2)
        crew.record(RF_INNER_HOT)
        crew.changed()
        crew.record(RR_OVER)
        crew.changed()
    return kills.files(crew.path.parent)


@pytest.fixture
def worked(crew: Crew, six_steps: dict[str, bytes]) -> Crew:
    """A crew with a day of six steps, the last a change made."""
    kills.put_back(crew.path.parent, six_steps)
    return crew


# --- cut off, and bits turned over -------------------------------------------------------------

many = settings(
    max_examples=120 if sweeping() else 25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    database=None,
    derandomize=True,
)


@pytest.mark.parametrize("name", LONG_AND_METRIC)
@many
@given(data=st.data())
def test_a_plan_cut_off_anywhere_is_refused(tmp_path: Path, name: str, data: st.DataObject) -> None:
    whole = sample(name)
    at = data.draw(st.integers(0, len(whole.rstrip()) - 1))
    assert isinstance(opened(tmp_path, whole[:at], before=b""), Unusable)


@pytest.mark.parametrize("name", SAMPLES)
def test_a_plan_cut_off_between_two_steps_is_refused_too(tmp_path: Path, name: str) -> None:
    """What is left is a plan in every respect; the first line of the file knows better."""
    whole = sample(name)
    count = len(plan_of(name).step)
    at = -1
    for left in range(count):
        at = whole.index(b"[[step]]", at + 1)
        refusal = opened(tmp_path, whole[:at])
        assert isinstance(refusal, Unusable)
        assert refusal.code == "cut-short"
        assert f"held {count} step" in refusal.message
        assert f"{left} are left; its end is cut off" in refusal.message
        assert f"after step {left}" in refusal.where


@pytest.mark.parametrize("name", LONG_AND_METRIC)
@many
@given(data=st.data())
def test_a_bit_turned_over_is_refused_or_said_or_did_no_harm(
    tmp_path: Path, name: str, data: st.DataObject
) -> None:
    whole = bytearray(sample(name))
    at = data.draw(st.integers(0, len(whole) - 1))
    whole[at] ^= 1 << data.draw(st.integers(0, 7))
    got = opened(tmp_path, bytes(whole))
    if isinstance(got, plans.Opened):
        said = any("not as the program wrote it" in remark for remark in got.remarks)
        assert said or got.kept.plan == plan_of(name)


@pytest.mark.parametrize("name", LONG_AND_METRIC)
@many
@given(data=st.data())
def test_bytes_written_over_never_give_another_plan_unsaid(
    tmp_path: Path, name: str, data: st.DataObject
) -> None:
    whole = sample(name)
    at = data.draw(st.integers(0, len(whole)))
    gone = data.draw(st.integers(0, 600))
    put = data.draw(st.binary(max_size=40) | st.sampled_from([b"\0" * 512, b"[[step]]\n", b'"""']))
    got = opened(tmp_path, whole[:at] + put + whole[at + gone :])
    if isinstance(got, plans.Opened):
        said = any("not as the program wrote it" in remark for remark in got.remarks)
        assert said or got.kept.plan == plan_of(name)


def test_a_reading_that_became_another_is_said_until_the_next_step(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.rewrite("[225,", "[229,")
    answer = begun.tries("status")
    assert (answer.status, answer.data["readings"]["RF"][0]) == (0, 229.0)
    assert "not as the program wrote it" in answer.err
    assert "treadgate mend" in answer.err
    answer = begun.tries("choose", "1")
    assert "not as the program wrote it" in answer.err
    assert begun.tries("status").err == ""


def test_line_ends_byte_order_marks_and_blanks_at_the_end_are_no_damage(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    text = begun.path.read_bytes()
    for other in (text.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + text, text + b"\n \n", text[:-1]):
        begun.path.write_bytes(other)
        assert begun.tries("status").err == ""


def test_a_plan_without_its_first_line_is_not_checked(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    text = begun.text().partition("\n")[2]
    begun.path.write_text(text[: text.index("[[step]]")], "utf-8")
    answer = begun.tries("status")
    assert (answer.status, answer.err) == (0, "")
    assert stand(answer.data) == ("camber", "run")


def test_steps_added_by_hand_are_an_edit_and_steps_taken_out_are_a_loss(begun: Crew) -> None:
    begun.record(tires(), "--flag", "lockup")
    text = begun.text()
    step = text[text.index("[[step]]") :]
    begun.path.write_text(f"{text}\n{step}", "utf-8")
    assert "not as the program wrote it" in begun.tries("status").err
    begun.path.write_text(text.replace(step, ""), "utf-8")
    answer = begun.tries("record", *tire_options(tires()))
    assert (answer.status, answer.error["code"]) == (3, "cut-short")
    assert "delete the first line" in answer.error["try"]


def test_an_outcome_without_a_change_before_it_is_refused(worked: Crew) -> None:
    text = worked.text().partition("\n")[2]
    head, *steps = text.split("[[step]]\n")
    del steps[2]  # the change that the run after it judges
    worked.path.write_text("[[step]]\n".join([head, *steps]), "utf-8")
    answer = worked.tries("status")
    assert (answer.status, answer.error["code"]) == (3, "out-of-order")
    assert "treadgate mend" in answer.error["try"]
    assert len(worked.tries("mend").data["ways"]) == 3


def test_the_seal_counts_and_sums_up() -> None:
    text = seal.sealed("format = 1\n", 1)
    assert text.startswith("# treadgate: 1 step, sum ")
    assert seal.seal_of(text) == seal.Seal(1, True)
    assert seal.seal_of(text.replace("format = 1", "format = 2")) == seal.Seal(1, False)
    assert seal.seal_of("format = 1\n") is None
    assert seal.seal_of(text.replace("\n", "\r\n")) == seal.Seal(1, True)


# --- what other programs do to files -------------------------------------------------------------


def conflict(text: str) -> str:
    both = "<<<<<<< mine\nlaps = 10\n\n||||||| before\nlaps = 9\n=======\nlaps = 12\n>>>>>>> his\n"
    return text.replace("laps = 10\n", both)


Turned = Callable[[bytes], bytes]
ELSEWHERE: dict[str, tuple[Turned, str, str, str]] = {
    "UTF-16": (lambda raw: raw.decode().encode("utf-16"), "encoding", "UTF-16", "line 1"),
    "UTF-16 big": (
        lambda raw: b"\xfe\xff" + raw.decode().encode("utf-16-be"),
        *("encoding", "UTF-16", "line 1"),
    ),
    "UTF-16 without mark": (
        lambda raw: raw.decode().encode("utf-16-le"),
        *("not-toml", "zero bytes", "line 1"),
    ),
    "UTF-32": (lambda raw: raw.decode().encode("utf-32"), "encoding", "UTF-32", "line 1"),
    "Latin-1": (
        lambda raw: raw.replace(b"laps = 10", b'laps = 10\ntrack = "N\xe4sby"'),
        *("encoding", "byte 0xe4 stands in line 6", "line 6"),
    ),
    "zero bytes": (lambda raw: raw[:400] + b"\0" * 4096, "not-toml", "zero bytes", "line "),
    "conflict": (
        lambda raw: conflict(raw.decode()).encode(),
        "conflict",
        "line 5, 8, 10",
        "line 5",
    ),
    "conflict, CRLF": (
        lambda raw: conflict(raw.decode()).replace("\n", "\r\n").encode(),
        *("conflict", "line 5, 8, 10", "line 5"),
    ),
    "half a string": (
        lambda raw: raw.replace(b'id = "paved-oval"', b'id = "paved-oval'),
        *("not-toml", "line 8", "line 8"),
    ),
    "nested arrays": (
        lambda raw: raw + b"x = " + b"[" * 9000 + b"]" * 9000,
        *("not-toml", "nested too deeply", ""),
    ),
    "nested tables": (
        lambda raw: raw + b"x = " + b"{a = " * 3000 + b"1" + b"}" * 3000,
        *("not-toml", "nested too deeply", ""),
    ),
    "nested keys": (
        lambda raw: raw + b".".join([b"a"] * 100_000) + b" = 1\n",
        *("not-toml", "nested too deeply", "line "),
    ),
    "nested quoted keys": (
        lambda raw: raw + b"[" + b" . ".join([b'"a"', b"'b'"] * 20_000) + b"]\n",
        *("not-toml", "nested too deeply", "line "),
    ),
    "garbage of 50 MB": (lambda raw: raw + b"\xa5garbage" * 6_250_000, "too-large", "large", ""),
    "a binary": (lambda _: bytes(range(256)) * 40, "encoding", "zero bytes", "line 1"),
    "a page": (lambda _: b"<!doctype html>\n<p>What?\n", "not-toml", "line 1", "line 1"),
    "nothing": (lambda _: b"", "not-a-plan", "", ""),
    "a number of a million digits": (
        lambda raw: raw.replace(b"laps = 10", b"laps = " + b"9" * 1_000_000),
        *("not-toml", "", ""),
    ),
}


@pytest.mark.parametrize("how", ELSEWHERE)
def test_what_others_do_to_a_plan_is_refused_by_name_place_and_way_back(
    begun: Crew, how: str
) -> None:
    begun.record(RF_INNER_HOT)
    turn, code, said, place = ELSEWHERE[how]
    content = turn(begun.path.read_bytes())
    begun.path.write_bytes(content)
    for command in (["status"], ["record", *tire_options(tires())], ["why"]):
        answer = begun.tries(*command)
        assert (answer.status, answer.error["code"]) == (3, code)
        assert said in answer.error["message"]
        assert answer.error["where"].startswith(str(begun.path))
        assert place in answer.error["where"]
        assert f"treadgate mend {begun.path}" in answer.error["try"]
        assert str(planfile.previous(begun.path)) in answer.error["try"]
        assert answer.err == ""
    assert begun.path.read_bytes() == content


def test_a_mistake_by_hand_is_named_with_the_line_its_step_begins_at(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    begun.rewrite('kind = "choice"', 'kind = "chance"')
    lines = begun.text().splitlines()
    begins = [number for number, line in enumerate(lines, 1) if line == "[[step]]"]
    error = begun.tries("status").error
    assert "step[2].kind" in error["message"]
    assert f"step 2 from line {begins[1]}" in error["where"]


SLOWEST = ("nested keys", "garbage of 50 MB", "nested arrays", "UTF-16")


@pytest.mark.parametrize(
    "how", [how if how in SLOWEST else pytest.param(how, marks=sweep) for how in ELSEWHERE]
)
def test_damage_takes_neither_long_nor_much_memory(tmp_path: Path, how: str) -> None:
    path = tmp_path / "day.toml"
    path.write_bytes(ELSEWHERE[how][0](sample("finished")))

    def bounded() -> int:
        resource.setrlimit(resource.RLIMIT_CPU, (10, 10))
        with contextlib.suppress(Unusable):
            planfile.read(path)
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    used, killed = kills.forked(bounded)
    assert not killed
    here = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert used < here + 100_000  # kB


def commands_for(kind: str, path: Path, crew: Crew) -> Answer:
    """Give a command that reads a file of this kind."""
    if kind == "car":
        return run_command("start", crew.path, "--car", path, "--json")
    if kind == "rules":
        return run_command("rules", "check", path, "--json")
    if kind == "taught":
        return run_command("start", crew.path, "--taught", path, "--json")
    crew.start()
    return crew.tries("record", "--from", path)


@pytest.mark.parametrize("kind", ["car", "rules", "taught", "readings"])
@pytest.mark.parametrize(
    "how", ["UTF-16", "conflict", "nested keys", "garbage of 50 MB", "zero bytes", "a binary"]
)
def test_other_files_are_refused_as_a_plan_is(
    crew: Crew, tmp_path: Path, kind: str, how: str
) -> None:
    turn, code, said, place = ELSEWHERE[how]
    path = tmp_path / "file.toml"
    path.write_bytes(turn(sample("day-begun")))
    answer = commands_for(kind, path, crew)
    assert answer.status == (3 if kind == "rules" else 2)
    assert answer.error["code"] == code
    assert said in answer.error["message"]
    assert str(path) in answer.error["where"]
    assert place in answer.error["where"]


def test_a_pipe_or_a_device_is_no_plan_and_is_not_waited_for(crew: Crew) -> None:
    os.mkfifo(crew.path)
    for path in (crew.path, Path("/dev/zero")):
        answer = run_command("status", path, "--json")
        assert (answer.status, answer.error["code"]) == (3, "unreadable")
        assert "not a file" in answer.error["message"]


def test_a_plan_that_cannot_be_read_is_said_to_be_so(begun: Crew, monkeypatch) -> None:
    def failing(*_given: Any) -> bytes:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr("planner.files.whole_file.read", failing)
    answer = begun.tries("status")
    assert (answer.status, answer.error["code"]) == (3, "unreadable")
    assert "Input/output error" in answer.error["message"]


# --- formats -------------------------------------------------------------------------------------


def test_mend_leaves_a_newer_format_and_missing_rules_alone(begun: Crew) -> None:
    whole = begun.text()
    for old, new, code in (
        ("format = 1", "format = 2", "newer-format"),
        ('id = "paved-oval"', 'id = "ours"', "no-rules"),
    ):
        begun.path.write_text(whole.replace(old, new), "utf-8")
        answer = begun.tries("mend", "--yes")
        assert (answer.status, answer.error["code"]) == (3, code)
        assert begun.text() == whole.replace(old, new)


# --- mend ----------------------------------------------------------------------------------------


def lines_of(crew: Crew) -> list[str]:
    return [type(step).__name__ for step in planfile.load(crew.path).step]


def test_a_whole_plan_is_left_alone(worked: Crew) -> None:
    before = kills.files(worked.path.parent)
    answer = worked.tries("mend", "--yes")
    assert (answer.status, answer.data) == (
        0,
        {"plan": str(worked.path), "state": "whole", "steps": 6},
    )
    assert "is whole: 6 steps. Nothing to mend" in run_command("mend", worked.path).out
    assert kills.files(worked.path.parent) == before


def test_without_an_answer_nothing_is_written(worked: Crew) -> None:
    worked.path.write_bytes(worked.path.read_bytes()[:-60])
    before = kills.files(worked.path.parent)
    answer = worked.tries("mend")
    assert answer.status == 3
    assert set(answer.data) == {"error", "ways"}
    assert "--yes" in answer.data["error"]["try"]
    assert [len(way["steps"]) for way in answer.data["ways"]] == [5]
    shown = run_command("mend", worked.path)
    assert shown.status == 3
    assert "5 steps, from the file" in shown.out
    assert "1. a run at" in shown.out
    assert "Nothing was written" in shown.err
    assert kills.files(worked.path.parent) == before


def test_a_cut_off_end_costs_the_last_step_only(worked: Crew) -> None:
    damaged = worked.path.read_bytes()[:-60]
    kept = planfile.previous(worked.path).read_bytes()
    worked.path.write_bytes(damaged)
    answer = worked.tries("mend", "--yes")
    assert (answer.status, answer.data["state"], answer.data["steps"]) == (0, "mended", 5)
    assert any("step 6 from line" in remark for remark in answer.data["remarks"])
    assert any("it held 6 steps" in remark for remark in answer.data["remarks"])
    aside = Path(answer.data["damaged"])
    assert aside.name == "day.toml.damaged"
    assert aside.read_bytes() == damaged
    assert planfile.previous(worked.path).read_bytes() == kept
    assert lines_of(worked) == ["RunStep", "ChoiceStep", "MadeStep", "RunStep", "ChoiceStep"]
    assert worked.tries("status").err == ""
    assert stand(worked.made()) == ("pressure", "run")


def flip(content: bytes, where: bytes, nth: int = 0) -> bytes:
    at = -1
    for _ in range(nth + 1):
        at = content.index(where, at + 1)
    return content[: at + 2] + bytes([content[at + 2] ^ 1]) + content[at + 3 :]


@pytest.mark.parametrize("nth", [0, 1, 2, 4])
def test_a_step_that_cannot_be_read_is_taken_from_the_version_before(
    worked: Crew, nth: int
) -> None:
    whole = planfile.load(worked.path)
    content = worked.path.read_bytes()
    begins = [found.start() for found in re.finditer(rb"\[\[step\]\]", content)][nth]
    worked.path.write_bytes(content[:begins] + flip(content[begins:], b'kind = "'))
    assert worked.tries("status").status == 3
    answer = worked.tries("mend", "--yes")
    assert (answer.status, answer.data["steps"]) == (0, 6)
    assert "version before" in answer.data["from"]
    assert any(f"step {nth + 1}" in remark for remark in answer.data["remarks"])
    assert planfile.load(worked.path) == whole


@pytest.mark.parametrize("nth", [0, 2, 4])
def test_where_a_step_no_longer_begins_the_last_one_is_kept_all_the_same(
    worked: Crew, nth: int
) -> None:
    whole = planfile.load(worked.path)
    worked.path.write_bytes(flip(worked.path.read_bytes(), b"[[step]]", nth))
    assert worked.tries("mend", "--yes").data["steps"] == 6
    assert planfile.load(worked.path) == whole


def test_what_stands_above_the_steps_is_taken_from_the_version_before(worked: Crew) -> None:
    whole = planfile.load(worked.path)
    worked.path.write_bytes(flip(worked.path.read_bytes(), b"created"))
    answer = worked.tries("mend", "--yes")
    assert any("above the steps" in remark for remark in answer.data["remarks"])
    assert planfile.load(worked.path) == whole


def test_a_changed_reading_is_shown_beside_the_one_before_and_asked_about(worked: Crew) -> None:
    whole = planfile.load(worked.path)
    worked.rewrite("[225,", "[229,")
    edited = worked.path.read_bytes()
    answer = worked.tries("mend")
    assert (answer.status, answer.data["error"]["code"]) == (3, "edited")
    ways = answer.data["ways"]
    assert ways[0]["from"] == "the file"
    assert ways[0]["remarks"] == []
    told = "Against day.toml.previous: step 1: run.tires.RF[1] is 229 and was 225."
    assert told in answer.data["error"]["message"]
    assert told in worked.tries("status").err
    (said,) = ways[1]["remarks"]
    assert "step 1 from line" in said
    assert "run.tires.RF[1] is 229 and was 225" in said
    assert worked.path.read_bytes() == edited
    worked.tries("mend", "--take", "2")
    assert planfile.load(worked.path) == whole
    worked.path.write_bytes(edited)
    assert worked.tries("mend", "--yes").data["from"] == "the file"
    assert worked.tries("status").err == ""
    assert "[229," in worked.text()
    assert len(list(worked.path.parent.glob("*.damaged*"))) == 2


def test_an_edit_of_the_last_step_is_told_as_far_as_it_can_be(worked: Crew) -> None:
    worked.path.write_text(worked.text().replace("# end", "# a comment\n# end"), "utf-8")
    said = "Up to step 5 it holds what day.toml.previous holds: it was edited in step 6, or in"
    assert said in worked.tries("status").err
    worked.rewrite("laps = 10\n", "laps = 12\n")
    assert "Against day.toml.previous: laps is 12 and was 10." in worked.tries("status").err


def test_of_a_merged_plan_either_side_can_be_kept(worked: Crew) -> None:
    text = worked.text()
    last = text[text.rindex("[[step]]") :]
    other = last.replace("= -0.5", "= -1").replace("# end\n", "")
    assert other != last
    worked.path.write_text(
        text.replace(last, f"<<<<<<< mine\n{last}=======\n{other}>>>>>>> his\n"), "utf-8"
    )
    assert worked.tries("status").error["code"] == "conflict"
    answer = worked.tries("mend")
    ways = answer.data["ways"]
    assert [len(way["steps"]) for way in ways][:2] == [6, 6]
    (conflict,) = answer.data["conflicts"]
    assert conflict["line"] == worked.text().split("<<<<<<<")[0].count("\n") + 1
    assert conflict["first"] == ['changes = {"pressure.RR" = -0.5}', "# end"]
    assert conflict["second"] == ['changes = {"pressure.RR" = -1}']
    shown = run_command("mend", worked.path).out
    for side in ("first", "second"):
        assert f"  {side:8}{conflict[side][0]}" in shown
    assert "first side" in ways[0]["from"]
    assert "second side" in ways[1]["from"]
    assert worked.tries("mend", "--take", "2").status == 0
    assert planfile.load(worked.path).step[-1].changes[0].amount == -1.0


@pytest.mark.parametrize("how", ELSEWHERE)
def test_whatever_others_did_what_was_there_can_be_saved(worked: Crew, how: str) -> None:
    kept = planfile.load(planfile.previous(worked.path))
    whole = planfile.load(worked.path)
    damaged = ELSEWHERE[how][0](worked.path.read_bytes())
    worked.path.write_bytes(damaged)
    answer = worked.tries("mend", "--yes")
    assert answer.status == 0
    assert Path(answer.data["damaged"]).read_bytes() == damaged
    now = planfile.load(worked.path)
    assert now.step in (kept.step, whole.step)
    if how in ("UTF-16", "UTF-16 big", "Latin-1", "half a string"):
        assert now.step == whole.step


def test_a_plan_that_is_gone_comes_back_from_the_version_before(worked: Crew) -> None:
    worked.path.unlink()
    answer = worked.tries("mend", "--yes")
    assert (answer.data["state"], answer.data["steps"], answer.data["damaged"]) == (
        "mended",
        5,
        None,
    )
    assert len(planfile.load(worked.path).step) == 5


def test_of_nothing_nothing_is_saved(crew: Crew) -> None:
    assert crew.tries("mend").error["code"] == "not-found"
    crew.path.write_bytes(b"garbage")
    answer = crew.tries("mend", "--yes")
    assert (answer.status, answer.error["code"]) == (3, "nothing-saved")
    assert crew.path.read_bytes() == b"garbage"
    assert not list(crew.path.parent.glob("*.damaged*"))


def test_a_way_that_there_is_not_is_refused(worked: Crew) -> None:
    worked.path.write_bytes(worked.path.read_bytes()[:-60])
    before = worked.path.read_bytes()
    assert worked.tries("mend", "--take", "9").status == 2
    assert worked.path.read_bytes() == before


def test_a_plan_written_to_meanwhile_is_not_mended_over(worked: Crew) -> None:
    whole = worked.path.read_bytes()
    worked.path.write_bytes(whole[:-60])
    damage = repair.look_over(worked.path)
    worked.path.write_bytes(whole)
    with pytest.raises(Refusal) as refused:
        repair.mend_plan(damage, damage.ways[0])
    assert refused.value.code == "moved-on"
    assert worked.path.read_bytes() == whole
    worked.path.unlink()
    gone = repair.look_over(worked.path)
    worked.path.write_bytes(whole)
    with pytest.raises(Refusal):
        repair.mend_plan(gone, gone.ways[0])
    assert worked.path.read_bytes() == whole


@pytest.mark.parametrize("answer", ["", "1", "7"])
def test_mend_asks_at_the_terminal(worked: Crew, guide_with, answer: str) -> None:
    damaged = worked.path.read_bytes()[:-60]
    worked.path.write_bytes(damaged)
    asked = guide_with(worked.path.name, command="mend")
    shown = asked.sees(r"which one to keep\? \[1, Enter writes nothing\]> ")
    assert "5 steps, from the file" in shown
    asked.types(answer)
    if answer == "7":
        asked.sees("not on the list")
        asked.types("")
    said = asked.ends()
    assert asked.status == 0
    if answer == "1":
        assert len(planfile.load(worked.path).step) == 5
    else:
        assert "Nothing was written" in said
        assert worked.path.read_bytes() == damaged


def test_killed_while_it_mends_the_damaged_file_or_the_mended_one_is_there(worked: Crew) -> None:
    damaged = worked.path.read_bytes()[:-60]
    worked.path.write_bytes(damaged)
    before = kills.files(worked.path.parent)
    damage = repair.look_over(worked.path)

    def mending(at: int = -1, when: str = "before") -> list[str]:
        calls = kills.Calls(at, when)
        repair.mend_plan(damage, damage.ways[0])
        return calls.made

    made, _ = kills.forked(mending)
    for at, when in kills.points(made):
        kills.put_back(worked.path.parent, before)
        _, killed = kills.forked(lambda at=at, when=when: mending(at, when))
        assert killed
        after = kills.files(worked.path.parent)
        assert after["day.toml.previous"] == before["day.toml.previous"]
        if after["day.toml"] != damaged:
            assert len(planfile.load(worked.path).step) == 5
            assert after["day.toml.damaged"] == damaged


@pytest.mark.parametrize("name", LONG_AND_METRIC)
@settings(many, max_examples=75 if sweeping() else 12)
@given(data=st.data())
def test_whatever_is_saved_opens_and_holds_only_steps_that_were_there(
    tmp_path: Path, name: str, data: st.DataObject
) -> None:
    whole = sample(name)
    at = data.draw(st.integers(0, len(whole)))
    gone = data.draw(st.integers(0, 900))
    put = data.draw(
        st.sampled_from([b"", b"\0" * 512, b"[[step]]\n", b'"""', b"\xff", b"<<<<<<< a"])
    )
    path = tmp_path / "day.toml"
    content = whole[:at] + put + whole[at + gone :]
    path.write_bytes(content)
    damage = None
    with contextlib.suppress(Unusable):  # its rules, or a newer format
        damage = repair.look_over(path)
    if damage is None:
        return
    steps = plan_of(name).step
    for way in damage.ways:
        kept = way.plan.step
        same = sum(one == other for one, other in zip(kept, steps, strict=False))
        assert len(kept) <= len(steps)
        assert same >= len(kept) - 1  # one may read otherwise; then the seal does not fit
    assert path.read_bytes() == content


def test_a_side_of_a_conflict_is_all_that_a_way_needs() -> None:
    text = "a\n<<<<<<< x\nb\n||||||| o\nz\n=======\nc\n>>>>>>> y\nd\n"
    assert [side for _, side in mend._sides(text)] == ["a\nb\nd\n", "a\nc\nd\n"]


# --- mend: by position, every step named ---------------------------------------------------------


def spoiled(crew: Crew, number: int) -> None:
    """Make a step of the file unreadable."""
    content = crew.path.read_bytes()
    begins = [found.start() for found in re.finditer(rb"\[\[step\]\]", content)][number - 1]
    crew.path.write_bytes(content[:begins] + flip(content[begins:], b'kind = "'))


@pytest.mark.parametrize("spoil", [2, 5])
@pytest.mark.parametrize(
    "clock",
    [
        [datetime(2024, 5, 4, 14, minute, tzinfo=UTC) for minute in (50, 40, 30, 20, 10)],
        [datetime(2024, 5, 4, 14, 30, tzinfo=UTC)] * 5,
        [datetime(year, 1, 1, tzinfo=UTC) for year in (9999, 1, 1970, 2038, 9998)],
        [
            datetime(2024, 5, 4, 14, 30, tzinfo=timezone(timedelta(hours=hours)))
            for hours in (14, -12, 0, 23, -23)
        ],
    ],
    ids=["backwards", "one second", "edges", "zones"],
)
def test_steps_are_joined_by_their_place_not_by_the_clock(
    worked: Crew, monkeypatch: pytest.MonkeyPatch, spoil: int, clock: list[datetime]
) -> None:
    for number, now in enumerate(clock):
        monkeypatch.setattr(planfile, "now", lambda now=now: now)
        assert worked.tries("note", f"gust {number}").status == 0
    for command in (("status",), ("why",), ("export", "--as", "json"), ("ahead",)):
        assert worked.tries(*command).status == 0
    whole = planfile.load(worked.path)
    spoiled(worked, spoil)
    assert worked.tries("mend", "--yes").data["steps"] == 11
    assert planfile.load(worked.path) == whole


def test_a_note_about_a_step_is_saved_with_the_rest(worked: Crew) -> None:
    worked.tries("note", "gusty", "--about", "1")
    worked.tries("amend", "1", "--note", "seat moved", "--reason", "forgotten")
    worked.tries("note", "rain")
    whole = planfile.load(worked.path)
    planfile.previous(worked.path).unlink()
    worked.path.write_bytes(worked.path.read_bytes()[:-60])
    assert worked.tries("mend", "--yes").data["steps"] == 8
    assert planfile.load(worked.path).step == whole.step[:8]


def test_every_step_that_is_not_kept_is_named(worked: Crew) -> None:
    planfile.previous(worked.path).unlink()
    spoiled(worked, 3)
    (way,) = worked.tries("mend").data["ways"]
    assert len(way["steps"]) == 2
    assert any("step 3 from line" in remark for remark in way["remarks"])
    assert "steps 4 to 6 cannot be kept without step 3" in way["remarks"]


def test_what_stands_in_neither_version_is_named(worked: Crew) -> None:
    worked.tries("note", "gusty")
    before = planfile.previous(worked.path)
    spoiled(worked, 4)
    broken = worked.path.read_bytes()
    before.write_bytes(broken[: broken.rindex(b"[[step]]")])
    ways = worked.tries("mend").data["ways"]
    assert {len(way["steps"]) for way in ways} == {3}
    for way in ways:
        assert any("step 4" in remark for remark in way["remarks"])
        assert any("cannot be kept without step 4" in remark for remark in way["remarks"])


def mending_calls(crew: Crew, notes: int) -> int:
    for number in range(notes):
        assert crew.tries("note", f"gust {number}").status == 0
    spoiled(crew, 2)
    assert planfile.previous(crew.path).exists()
    profile = cProfile.Profile()
    damage = profile.runcall(repair.look_over, crew.path)
    assert len(damage.ways[0].plan.step) == notes
    return sum(entry.callcount for entry in profile.getstats())


def test_mending_twice_the_day_works_twice_as_much(tmp_path: Path) -> None:
    calls = []
    for notes in (40, 80):
        crew = Crew(tmp_path / f"{notes}.toml")
        crew.start()
        calls.append(mending_calls(crew, notes))
    assert calls[1] < 2.2 * calls[0]


# --- consoles ------------------------------------------------------------------------------------


def shown_on(console: str, *arguments: object) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "planner", *map(str, arguments)],
        capture_output=True,
        check=False,
        env=os.environ | {"PYTHONIOENCODING": console, "OPENBLAS_NUM_THREADS": "1"},
    )


@pytest.mark.parametrize("console", ["ascii", "cp1252"])
def test_a_damaged_plan_is_shown_on_any_console(tmp_path: Path, console: str) -> None:
    path = tmp_path / "näsby.toml"
    path.write_bytes(sample("half-way")[:-60])
    done = shown_on(console, "mend", path)
    assert done.returncode == 3
    assert b"Traceback" not in done.stderr
    done = shown_on(console, "mend", path, "--yes", "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout.decode(console))["state"] == "mended"
    done = shown_on(
        console, "made" if b'kind = "choice"' in path.read_bytes()[-3000:] else "why", path
    )
    assert b"Traceback" not in done.stderr


def test_a_refusal_that_lies_with_the_file_leaves_the_move_untried(begun: Crew) -> None:
    begun.path.write_bytes(begun.path.read_bytes()[:30])
    tried: list[int] = []
    with pytest.raises(Unusable):
        plans.step(begun.path, lambda day, at: tried.append(1) or moves.made(day, at))
    assert not tried
    assert toml_files.LARGEST_FILE < 5_000_000


def test_mend_does_not_empty_a_day_unasked(begun: Crew) -> None:
    """One impossible digit in the first run: nothing after it can be kept, so nothing is taken."""
    begun.record(RF_INNER_HOT)
    text = begun.text().replace("[225,", "[2250,")
    begun.path.write_text(text, "utf-8")
    planfile.previous(begun.path).unlink()
    answer = begun.tries("mend", "--yes")
    assert answer.status == 2
    assert "That would keep nothing that was recorded" in answer.error["message"]
    assert "2250" in answer.error["message"]
    assert "by hand" in answer.error["try"]
    assert begun.text() == text
    assert begun.tries("mend", "--take", "1").data["steps"] == 0


@pytest.mark.parametrize("other", ["rules/paved-oval.toml", "sample_plans/river-bend-car.toml"])
@pytest.mark.parametrize("command", ["status", "why", "mend"])
def test_toml_of_another_kind_is_no_damaged_plan(command: str, other: str) -> None:
    answer = run_command(command, Path(__file__).parents[1] / other, "--json")
    assert (answer.status, answer.error["code"]) == (3, "another-kind")
    assert "treadgate days" in answer.error["try"]
