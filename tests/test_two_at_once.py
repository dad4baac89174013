"""Two at once on one plan: no step is lost, and whoever comes second is told what is new."""

import errno
import fcntl
import json
import os
import socket
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest
from garage import RF_INNER_HOT, RR_OVER, Crew, stand, tire_options, tires
from keyboard import Keyboard
from test_guide import ANYTHING, CAMBERED, CHOICE, FIRST_TIRE, KEPT, MADE, STORE, run

from planner.plan import moves
from planner.plan.steps import RunStep
from planner.storage import lock, planfile, plans, saving
from planner.trade.refusals import Refusal, Unusable

VOID = run(CAMBERED, flags=("lockup",))  # judges nothing, so that a run is due again

HAMMER = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[3])
from test_two_at_once import VOID
from planner.storage import plans, saving
from planner.plan import moves
from planner.plan import moves
from planner.storage import plans
from planner.trade.refusals import Refusal
done = told = 0
print("ready", flush=True)
sys.stdin.readline()
while done < int(sys.argv[2]):
    try:
        plans.step(Path(sys.argv[1]), lambda day, at: moves.record(day, VOID, at))
        done += 1
    except Refusal as refusal:
        assert refusal.code in ("moved-on", "locked"), refusal.message
        told += "Recorded since then" in refusal.message
print(done, told)
"""


# --- commands -------------------------------------------------------------------------------


def hammer(path: Path, processes: int, records: int, script: str = HAMMER) -> tuple[int, int]:
    """Record from several processes at once; return how many did, and how often one was told."""
    command = [sys.executable, "-c", script, str(path), str(records), str(Path(__file__).parent)]
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1"}
    children = [
        subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment
        )
        for _ in range(processes)
    ]
    for child in children:  # all have loaded the program before the first begins
        assert child.stdout.readline() == "ready\n"
    for child in children:
        child.stdin.write("\n")
        child.stdin.flush()
    answers = [child.communicate(timeout=120)[0].split() for child in children]
    assert [child.returncode for child in children] == [0] * processes
    return sum(int(done) for done, _ in answers), sum(int(told) for _, told in answers)


def test_many_processes_record_at_once_and_every_success_is_a_step(begun: Crew) -> None:
    done, told = hammer(begun.path, processes=3, records=6)
    steps = planfile.load(begun.path).step
    assert (done, len(steps)) == (18, 18)
    assert told > 0  # they did get in each other's way
    assert [step.time for step in steps] == sorted(step.time for step in steps)


def test_by_whatever_name_a_plan_is_reached_it_is_held_for_all(
    begun: Crew, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lock, "PATIENCE", 0.05)
    link = tmp_path / "today.toml"
    link.symlink_to(begun.path)
    with saving.locked(link):
        answer = begun.tries("record", *tire_options(RF_INNER_HOT))
    assert (answer.status, answer.error["code"]) == (3, "locked")


@pytest.mark.parametrize(
    ("step", "told"),
    [
        (["record", *tire_options(RR_OVER)], "step 2, a choice"),
        (["choose", "1"], "step 2, a choice"),
        (["made", "--after", "1"], "step 2, a choice"),
        (["amend", "1", "--flag", "traffic", "--reason", "seen", "--after", "1"], "step 2, a"),
    ],
)
def test_a_command_decided_on_what_is_past_stores_nothing_and_tells_it(
    begun: Crew, step: list[str], told: str
) -> None:
    begun.record(RF_INNER_HOT)  # step 1: what everybody has seen
    begun.choose(1)  # step 2: from elsewhere
    before = begun.path.read_bytes()
    if step[0] == "made":
        assert stand(begun.status()) == ("camber", "change")  # legal, but not what was seen
    answer = begun.tries(*step)
    assert answer.status == 2
    assert told in answer.error["message"]
    assert answer.error["code"] == ("moved-on" if "--after" in step else "not-due")
    assert begun.path.read_bytes() == before


def test_a_number_of_the_table_that_means_something_else_now_is_not_taken(begun: Crew) -> None:
    seen = begun.record({**RF_INNER_HOT, "LF": (190.0, 210.0, 230.0)})
    assert len(seen["candidates"]) > 1
    begun.tries("amend", "1", "--tire", "LF=210/210/210", "--reason", "misread")
    answer = begun.tries("choose", "2", "--after", seen["step"])
    assert (answer.status, answer.error["code"]) == (2, "moved-on")
    assert "step 2, step 1 corrected at" in answer.error["message"]
    assert "treadgate status" in answer.error["try"]
    now = begun.status()
    begun.choose(1, "--after", now["step"])


@pytest.mark.parametrize("after", [0, 5])
def test_after_another_step_than_the_last_is_refused(begun: Crew, after: int) -> None:
    begun.record(RF_INNER_HOT)
    answer = begun.tries("choose", "1", "--after", after)
    assert (answer.status, answer.error["code"]) == (2, "moved-on")
    assert ("step 1, a run at" if after == 0 else "It holds 1 step, not 5") in answer.error[
        "message"
    ]
    assert begun.tries("choose", "1", "--after", "-1").status == 2


def test_a_record_while_another_one_is_at_it_is_told_of_it(begun: Crew, monkeypatch) -> None:
    """The other one gets the lock first, after this one has looked at the plan."""
    real = lock.on

    def late(path: Path) -> Any:
        monkeypatch.setattr(lock, "on", real)
        plans.step(begun.path, lambda day, at: moves.record(day, VOID, at))
        return real(path)

    monkeypatch.setattr(lock, "on", late)
    answer = begun.tries("record", *tire_options(RF_INNER_HOT))
    assert (answer.status, answer.error["code"]) == (2, "moved-on")
    assert "step 1, a run that judges nothing at" in answer.error["message"]
    assert len(planfile.load(begun.path).step) == 1


def test_an_editor_that_saves_in_the_middle_of_a_step_is_not_written_over(begun: Crew) -> None:
    """No lock keeps an editor out; the file is looked at once more before it is replaced."""
    begun.record(RF_INNER_HOT)

    def choose(day, at):
        begun.rewrite('track = "', 'track = "Näsby') if "track" in begun.text() else begun.rewrite(
            "laps = 10", "laps = 11"
        )
        return moves.choose(day, "1", at)

    with pytest.raises(Refusal) as refused:
        plans.step(begun.path, choose)
    assert refused.value.code == "moved-on"
    assert "laps = 11" in begun.text()
    assert len(planfile.load(begun.path).step) == 1


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda text: text.replace("[225,", "[226,"), "Step 1, a run at"),
        (lambda text: text.replace("laps = 10", "laps = 11"), "other than its steps"),
        (lambda text: text[: text.index("[[step]]")], "It holds 0 steps now, where it held 1"),
        (lambda text: text.replace("created = 20", "created = 19"), "the plan of another day"),
    ],
)
def test_what_is_new_is_told_whatever_it_is(begun: Crew, change, told: str) -> None:
    begun.record(RF_INNER_HOT)
    seen = plans.open_plan(begun.path)
    text = begun.text().partition("\n")[2]  # without its first line nothing counts the steps
    begun.path.write_text(change(text), "utf-8")
    with pytest.raises(Refusal) as refused:
        plans.step(begun.path, lambda day, at: moves.choose(day, "1", at), seen=seen)
    assert refused.value.code == "moved-on"
    assert told in refused.value.message


# --- the guide ------------------------------------------------------------------------------


def typed_up_to_storing(guide: Keyboard, readings: list[str] = CAMBERED) -> None:
    guide.sees(FIRST_TIRE)
    guide.types(" ".join(readings))
    guide.sees(ANYTHING)
    guide.types("track 95", "")
    guide.sees(STORE)


def test_two_guides_type_the_same_run_and_it_is_stored_once(begun: Crew, terminal_with) -> None:
    one = terminal_with("day.toml")
    typed_up_to_storing(one)
    other = terminal_with("day.toml")
    other.sees(KEPT)
    other.types("n")
    other.sees(FIRST_TIRE)
    other.types(" ".join(CAMBERED))
    other.sees(ANYTHING)
    other.types("")
    other.sees(STORE)
    one.types("")
    one.sees("Stored as step 1")
    one.sees(CHOICE)
    other.types("")
    shown = " ".join(other.sees("Enter tries again> ").split())
    assert "changed from elsewhere" in shown
    assert "Recorded since then: step 1, a run at" in shown
    other.types("")
    shown = " ".join(other.sees(CHOICE).split())
    assert "The run you typed is in the plan: it was recorded elsewhere." in shown
    (step,) = planfile.load(begun.path).step
    assert step.run.track_temp == 95  # the first one's


def test_a_run_typed_while_another_was_recorded_is_kept_and_offered(
    begun: Crew, guide_with
) -> None:
    guide = guide_with("day.toml")
    typed_up_to_storing(guide)
    begun.record(RR_OVER)  # another run, from another terminal
    guide.types("")
    assert "step 1, a run at" in " ".join(guide.sees("Enter tries again> ").split())
    guide.types("")
    shown = " ".join(guide.sees(CHOICE).split())
    assert "The run you typed is not in the plan, and no run is due now" in shown
    assert "track 95" in shown
    assert "treadgate amend day.toml STEP --tire RF=227/215/203" in shown
    guide.types("1", "", "")
    shown = " ".join(guide.sees(r"Is it the run that is due now\? \[y/n\]> ").split())
    assert "typed before the plan was changed from elsewhere" in shown
    guide.types("", "y")
    guide.sees(STORE)
    guide.types("")
    guide.sees("Stored as step 4")
    last = planfile.load(begun.path).step[-1]
    assert isinstance(last, RunStep)
    assert last.run.tires["RF"] == (227.0, 215.0, 203.0)
    assert last.run.track_temp == 95


def test_a_run_typed_while_an_entry_was_put_right_goes_in_after_it(begun: Crew, guide_with) -> None:
    begun.record(tires(), "--flag", "lockup")
    guide = guide_with("day.toml")
    typed_up_to_storing(guide)
    begun._does("amend", "1", "--note", "both front", "--reason", "seen")
    guide.types("")
    assert "step 1 corrected at" in " ".join(guide.sees("Enter tries again> ").split())
    guide.types("", "y", "")
    guide.sees("Stored as step 3")
    guide.sees(CHOICE)
    kinds = [type(step).__name__ for step in planfile.load(begun.path).step]
    assert kinds == ["RunStep", "AmendStep", "RunStep"]


def test_a_change_made_twice_from_two_windows_is_stored_once(begun: Crew, guide_with) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    guide = guide_with("day.toml")
    guide.sees(MADE)
    begun.made()
    guide.types("")
    shown = " ".join(guide.sees("Enter tries again> ").split())
    assert "Recorded since then: step 3, the change made at" in shown
    guide.types("")
    guide.sees(FIRST_TIRE)
    assert len(planfile.load(begun.path).step) == 3


# --- locks that are not there, and locks left behind ------------------------------------------


@pytest.fixture(params=["ENOLCK", "EOPNOTSUPP", "ENOSYS"])
def no_locks(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder that knows no locks of the system, as network folders may be."""

    def refused(_handle: int, _how: int) -> None:
        raise OSError(getattr(errno, request.param), os.strerror(getattr(errno, request.param)))

    monkeypatch.setattr(fcntl, "flock", refused)


@pytest.mark.usefixtures("no_locks")
def test_without_locks_a_marker_holds_the_plan(begun: Crew, monkeypatch) -> None:
    begun.record(RF_INNER_HOT)
    marker = begun.path.with_name("day.toml.held")
    assert not marker.exists()
    monkeypatch.setattr(lock, "PATIENCE", 0.05)
    with saving.locked(begun.path):
        assert marker.exists()
        assert begun.tries("choose", "1").error["code"] == "locked"
    assert not marker.exists()
    begun.choose(1)


@pytest.mark.usefixtures("no_locks")
@pytest.mark.parametrize(
    ("left_by", "age", "free"),
    [
        ("dead here", 0, True),
        ("alive here", 0, False),
        ("alive here", 61, True),
        ("elsewhere", 0, False),
        ("elsewhere", 61, True),
        ("nobody knows", 0, False),
        ("nobody knows", 61, True),
    ],
)
def test_a_marker_left_behind_does_not_block_the_day(
    begun: Crew, monkeypatch, left_by: str, age: float, free: bool
) -> None:
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    text = {
        "dead here": f"{socket.gethostname()} {dead.pid} x\n",
        "alive here": f"{socket.gethostname()} {os.getpid()} x\n",
        "elsewhere": f"pit-wall {dead.pid} x\n",
        "nobody knows": "",
    }[left_by]
    marker = begun.path.with_name("day.toml.held")
    marker.write_text(text)
    then = marker.stat().st_mtime - age
    os.utime(marker, (then, then))
    monkeypatch.setattr(lock, "PATIENCE", 0.0)
    answer = begun.tries("record", *tire_options(RF_INNER_HOT))
    assert answer.status == (0 if free else 3)
    assert marker.exists() is not free
    left = {path.name for path in begun.path.parent.iterdir()}
    assert left <= {"day.toml", "day.toml.previous", "day.toml.lock", "day.toml.held"}


def test_many_at_once_lose_nothing_where_there_are_no_locks(begun: Crew) -> None:
    without = HAMMER.replace(
        "done = told",
        "import fcntl, errno\n"
        "def refused(*_): raise OSError(errno.ENOLCK, 'No locks available')\n"
        "fcntl.flock = refused\n"
        "done = told",
    )
    done, _ = hammer(begun.path, processes=2, records=5, script=without)
    assert (done, len(planfile.load(begun.path).step)) == (10, 10)


def test_the_hold_of_one_thread_is_not_that_of_another(begun: Crew, monkeypatch) -> None:
    monkeypatch.setattr(lock, "PATIENCE", 0.05)
    found: list[str] = []

    def second() -> None:
        try:
            with saving.locked(begun.path):
                found.append("held twice")
        except Unusable as refusal:
            found.append(refusal.code)

    with saving.locked(begun.path):
        thread = threading.Thread(target=second)
        thread.start()
        thread.join()
    assert found == ["locked"]


def test_the_answer_of_a_second_look_is_json(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    answer = begun.tries("made", "--after", 0)
    assert json.loads(answer.out)["error"]["where"] == str(begun.path)
