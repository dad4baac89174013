"""The plan file: nothing recorded is lost, nothing damaged is believed."""

import os
import stat
import subprocess
import sys
import time
import tomllib
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from garage import (
    RF_INNER_HOT,
    TIGHT,
    Crew,
    book,
    percent_left,
    run_command,
    stand,
    tire_options,
    tires,
)

from planner.files import toml_files
from planner.plan.fold import replay
from planner.storage import lock, planfile
from planner.trade.corners import CORNERS

EVERYTHING = [
    *("--laps", "12", "--lap-times", "19.82,19.79,20.01", "--delay", "40"),
    *("--cold", "LF=18.5", "--cold", "RR=26", "--hot", "RR=31.25"),
    *percent_left({"LF": 10, "RF": 12, "LR": 11, "RR": 10}),
    *("--order", "LF,LR,RR,RF", "--again", "LF=90/91/92", "--feel", "tight", "--where", "exit"),
    *("--flag", "traffic", "--flag", "caution", "--note", 'windy; "gusts" at turn 3 — später'),
]


def recorded(crew: Crew, *options: str) -> Crew:
    crew.record(RF_INNER_HOT, *options)
    return crew


# --- what could not be read back --------------------------------------------------------------


def test_amending_notes_of_a_long_day_leaves_a_plan_that_is_read(begun: Crew) -> None:
    for _ in range(3):
        begun.record(RF_INNER_HOT, "--flag", "lockup")
    begun.record(RF_INNER_HOT)
    first = len(begun.text())
    for number in range(10):
        begun.tries("amend", 4, "--note", f"gust {number}", "--reason", "forgotten")
    assert len(begun.text()) < first + 10 * 700  # the run once more, and nothing judged
    assert begun.status()["step"] == 14


def test_a_save_that_could_not_be_read_back_is_refused_before_anything_is_written(
    worked: Crew, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(toml_files, "LARGEST_FILE", len(worked.text().encode()) + 5_000)
    before = {path: path.read_bytes() for path in worked.path.parent.iterdir()}
    answer = worked.tries("note", "x" * 9_000)
    assert (answer.status, answer.error["code"]) == (2, "too-large")
    assert "Nothing was stored" in answer.error["message"]
    assert f"treadgate taught {worked.path} taught.toml" in answer.error["try"]
    after = {path: path.read_bytes() for path in worked.path.parent.iterdir()}
    assert {path: after.get(path) for path in before} == before
    assert worked.tries("note", "x" * 90).status == 0
    worked.status()


def test_a_step_that_would_not_come_back_is_refused(worked: Crew, monkeypatch) -> None:
    monkeypatch.setattr(planfile, "now", lambda: datetime.now(timezone(timedelta(seconds=3208))))
    before = worked.text()
    answer = worked.tries("note", "gusty")
    assert (answer.status, answer.error["code"]) == (2, "not-readable")
    assert worked.text() == before


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone of a process cannot be set")
@pytest.mark.parametrize(
    "zone",
    ["Foo+25", "Foo-24:59:59", "LMT-0:53:28", "UTC", "Foo+23:59:59", "nonsense", ""],
)
def test_every_zone_is_recorded_and_read_back(begun: Crew, monkeypatch, zone: str) -> None:
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        begun.record(RF_INNER_HOT)
        (step,) = planfile.load(begun.path).step
        assert abs(step.time.timestamp() - time.time()) < 100
        run_command("why", begun.path)
    finally:
        monkeypatch.undo()
        time.tzset()


# --- round trip -----------------------------------------------------------------------------


@pytest.mark.parametrize("units", ["us", "metric"])
def test_everything_recorded_is_read_back(crew: Crew, units: str) -> None:
    crew.start("--units", units, "--track", "Näsby 1/2", "--laps", "12")
    readings = tires(split={"RF": 20.0})
    if units == "metric":
        readings = {c: tuple((f - 32) * 5 / 9 for f in three) for c, three in readings.items()}
    crew.record(readings, *EVERYTHING, "--track-temp", "30", "--air-temp", "21.5")
    plan = planfile.load(crew.path)
    (step,) = plan.step
    run = step.run
    assert run.tires["RF"] == pytest.approx((225.0, 215.0, 205.0), abs=1e-3)
    wanted_air = 21.5 if units == "us" else 70.7
    assert (run.track_temp, run.air_temp) == pytest.approx(
        (30 if units == "us" else 86, wanted_air), abs=1e-3
    )
    again = 90.0 if units == "us" else 194.0
    assert run.again.corner == "LF"
    assert run.again.tire[0] == pytest.approx(again, abs=1e-3)
    assert (run.laps, run.lap_times, run.delay) == (12, (19.82, 19.79, 20.01), 40.0)
    assert (run.cold, run.hot) == ({"LF": 18.5, "RR": 26.0}, {"RR": 31.25})
    assert (run.tread["RF"], run.tread_unit) == ((88.0, 88.0, 88.0), "percent")
    assert run.order == ("LF", "LR", "RR", "RF")
    assert (run.feel, run.where, run.flags) == ("tight", "exit", ("traffic", "caution"))
    assert run.note == 'windy; "gusts" at turn 3 — später'
    assert (plan.track, plan.laps, plan.units, plan.turns) == ("Näsby 1/2", 12, units, "left")


@pytest.mark.parametrize("units", ["us", "metric"])
def test_saving_what_was_read_changes_no_byte(crew: Crew, units: str) -> None:
    crew.start("--units", units)
    celsius = dict.fromkeys(CORNERS, (93.3, 95.7, 99.1))
    readings = tires(TIGHT, {"RF": 13.7}) if units == "us" else celsius
    crew.record(readings, "--air-temp", "21.4")
    if crew.status()["due"] == "choice":
        crew.changed(1)
    assert planfile.dump(planfile.load(crew.path)) == crew.path.read_bytes()


def test_a_person_can_read_the_plan(begun: Crew) -> None:
    recorded(begun)
    data = tomllib.loads(begun.text())
    assert data["format"] == 1
    (step,) = data["step"]
    assert step["kind"] == "run"
    assert step["run"]["tires"]["RF"] == [225.0, 215.0, 205.0]
    assert "RF = [225, 215, 205]" in begun.text()  # a tire stands on one line


def test_a_metric_plan_is_written_in_celsius(crew: Crew) -> None:
    crew.start("--units", "metric")
    crew.record(dict.fromkeys(CORNERS, (95.0, 96.5, 97.0)))
    assert "LF = [95, 96.5, 97]" in crew.text()


def test_replaying_the_file_gives_the_state_that_was_answered(begun: Crew) -> None:
    moves = [
        lambda: begun.record(tires(TIGHT, {"RF": 20.0})),
        lambda: begun.choose("--move-on", "--reason", "late"),
        lambda: begun.choose(1),
        lambda: begun.made("--actual", "spring:RF:-50"),
        lambda: begun.record(tires(TIGHT), "--flag", "swerve"),
        lambda: begun.record(tires(TIGHT)),
    ]
    for move in moves:
        answered = move()
        again = begun.status()
        for key in ("stage", "due", "round", "step", "void", "readings", "figures"):
            assert again[key] == answered[key], key
        for key in ("patterns", "candidates"):
            assert [x["id"] for x in again[key]] == [x["id"] for x in answered[key]]
        assert (again["last_outcome"] or {}).get("verdict") == (answered["last_outcome"] or {}).get(
            "verdict"
        )


def test_a_day_is_derived_from_its_steps_alone(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    begun.record(tires())
    plan = planfile.load(begun.path)
    one, other = (replay(plan, book()) for _ in range(2))
    assert (one.stage, one.due, one.past, one.settings) == (
        other.stage,
        other.due,
        other.past,
        other.settings,
    )
    assert one.stage == "confirm"


# --- mended by hand -------------------------------------------------------------------------

WRONG = "RF = [225, 215, 205]"
RIGHT = "RF = [212, 221, 212]"


def test_a_reading_mended_by_hand_counts(begun: Crew) -> None:
    recorded(begun)
    begun.rewrite(WRONG, RIGHT)
    status = begun.status()
    assert stand(status) == ("pressure", "choice")
    assert status["readings"]["RF"] == [212.0, 221.0, 212.0]
    assert [p["id"] for p in status["patterns"] if p["strength"] == "clear"] == ["pressure.over"]


def test_a_day_goes_on_from_a_mended_reading(begun: Crew) -> None:
    recorded(begun)
    begun.rewrite(WRONG, RIGHT)
    begun.choose(1)
    assert stand(begun.status()) == ("pressure", "change")
    begun.made()
    assert stand(begun.record(tires())) == ("confirm", "run")
    assert 'id = "camber' not in begun.text()


def test_flagging_a_run_by_hand_counts(begun: Crew) -> None:
    recorded(begun, "--flag", "traffic")
    begun.rewrite('"traffic"', '"lockup"')
    assert stand(begun.status()) == ("camber", "run")
    assert "locked" in begun.status()["void"]


# --- out of order ---------------------------------------------------------------------------


def steps(crew: Crew) -> tuple[str, list[str]]:
    """Return the head of the file and its steps as text."""
    head, *parts = crew.text().split("[[step]]\n")
    return head, ["[[step]]\n" + part.rstrip() + "\n\n" for part in parts]


@pytest.fixture
def worked(begun: Crew) -> Crew:
    """A day of four steps: run, choice, made, run."""
    begun.record(RF_INNER_HOT)
    begun.changed()
    begun.record(tires())
    return begun


@pytest.mark.parametrize(
    ("order", "step", "because"),
    [
        ((1, 0, 2, 3), 1, "a run is due"),
        ((0, 2, 3), 2, "a choice is due"),
        ((0, 1, 3), 3, "a change is due"),
        ((0, 1, 1, 2), 3, "a change is due"),
        ((0, 1, 2, 2), 4, "a run is due"),
        ((2,), 1, "a run is due"),
    ],
)
def test_steps_that_cannot_have_happened_are_refused(worked: Crew, order, step, because) -> None:
    head, parts = steps(worked)
    worked.path.write_text(head + "".join(parts[i] for i in order), "utf-8")
    before = worked.path.read_bytes()
    for command in (["status"], ["record", *tire_options(tires())], ["why"], ["choose", "1"]):
        answer = worked.tries(*command)
        assert answer.status == 3
        assert answer.error["code"] == "out-of-order"
        assert f"Step {step} " in answer.error["message"]
        assert because in answer.error["message"]
        assert answer.error["where"] == f"step {step}"
    assert worked.path.read_bytes() == before


@pytest.mark.parametrize("what", ["choice", "made"])
def test_once_the_day_is_complete_only_a_run_can_follow(worked: Crew, what: str) -> None:
    assert worked.record(tires())["stage"] == "complete"
    head, parts = steps(worked)
    again = next(part for part in parts if f'kind = "{what}"' in part)
    worked.path.write_text(head + "".join([*parts, again]), "utf-8")
    answer = worked.tries("status")
    assert (answer.status, answer.error["code"]) == (3, "out-of-order")
    assert "Step 6 " in answer.error["message"]
    assert "the day is complete" in answer.error["message"]
    worked.path.write_text(head + "".join([*parts, parts[-1]]), "utf-8")
    assert worked.status()["stage"] == "complete"


def test_a_choice_in_another_stage_is_out_of_order(worked: Crew) -> None:
    worked.rewrite('kind = "choice"', 'kind = "choice"  # as below')
    head, choice = worked.text().split('kind = "choice"  # as below')
    other = choice.replace('stage = "camber"', 'stage = "balance"', 1)
    worked.path.write_text(f'{head}kind = "choice"{other}', "utf-8")
    answer = worked.tries("status")
    assert (answer.status, answer.error["code"]) == (3, "out-of-order")
    assert "Step 2" in answer.error["message"]


# --- damage ---------------------------------------------------------------------------------

ROW = ", RR = [210, 210, 210]"


@pytest.mark.parametrize(
    ("old", "new", "code", "said"),
    [
        ("format = 1", "format = 2", "newer-format", "format 2"),
        ("format = 1", 'format = "1"', "not-a-plan", ""),
        ("format = 1", "format = true", "bad-key", "format"),
        ("format = 1", "format = 0", "not-a-plan", ""),
        ("format = 1\n", "", "not-a-plan", ""),
        ("laps = 10", "laps = ", "not-toml", "line 5"),
        ("laps = 10", "laps = 10.5", "bad-key", "laps: must be a whole number"),
        ("laps = 10", "laps = 0", "bad-key", "laps: 0"),
        (
            "laps = 10",
            "laps = 10\nlapz = 11",
            "bad-key",
            "lapz: unknown key; did you mean laps?",
        ),
        (
            'turns = "left"',
            'turns = "straight"',
            "bad-key",
            "turns: must be one of left, right, both",
        ),
        ('turns = "left"', "turns = 1", "bad-key", "turns: must be one of"),
        ("[rules]", "[roles]", "bad-key", "rules: missing"),
        ('id = "paved-oval"', "id = 7", "bad-key", "rules.id: must be text"),
        ('kind = "run"', 'kind = "walk"', "bad-key", "step[1].kind"),
        ('kind = "run"\n', "", "bad-key", "step[1].kind"),
        ("[225,", '["hot",', "bad-key", "step[1].run.tires.RF[1]: must be a number"),
        ("[225,", "[nan,", "bad-key", "tires.RF[1]: must be a finite number"),
        ("[225,", "[2250,", "bad-key", "2250"),
        ("[225, ", "[", "bad-key", "step[1].run.tires.RF: must hold 3 values, not 2"),
        ("RF = [", "FR = [", "bad-key", "tires.FR: unknown key; use one of LF, RF"),
        ("RF = [", "LF = [", "not-toml", "LF"),
        (ROW, "", "bad-key", "RR"),
        ('kind = "made"', 'kind = "choice"', "bad-key", "step[3]"),
        ("camber.RF", "wing.RF", "bad-key", "wing"),
        ('"stands"', '"nonsense"', "bad-key", "nonsense"),
        ('{"split.RF" = [', '{"tilt.RF" = [', "bad-key", "tilt.RF"),
        ('"camber.RF" = 1.5', '"camber.RF" = "much"', "bad-key", "camber.RF: must be a number"),
        (
            '"camber.RF" = 1.5',
            '"camber.RF" = -1e300',
            "bad-key",
            "camber is not changed by -1e+300",
        ),
        ('"camber.RF" = 1.5', '"camber.RF" = nan', "bad-key", "camber.RF: must be a finite number"),
        ("\nchance = ", '\nchance = "good" # ', "bad-key", "chance"),
        ("time = ", 'time = "noon" # ', "bad-key", "time: must be a date and time"),
    ],
)
def test_a_damaged_plan_is_refused_by_key(worked: Crew, old, new, code, said) -> None:
    assert old in worked.text()
    before = worked.text().replace(old, new)
    worked.path.write_text(before, "utf-8")
    answer = worked.tries("status")
    assert answer.status == 3
    error = answer.error
    assert error["code"] == code
    assert said in error["message"]
    assert str(worked.path) in error["where"]
    assert error["try"]
    assert worked.tries("record", *tire_options(tires())).status == 3
    assert worked.text() == before


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "not-a-plan"),
        (b"\x00" * 100, "not-toml"),
        (b"format = 1\n\xff\xfe", "encoding"),
        (b"just words", "not-toml"),
        (b"format = 1", "bad-key"),
        (b"a = " + b"[" * 5000 + b"]" * 5000, "not-toml"),
        (b"format = 99999999999999999999", "newer-format"),
    ],
)
def test_what_is_no_plan_is_refused(crew: Crew, content: bytes, code: str) -> None:
    crew.path.write_bytes(content)
    answer = crew.tries("status")
    assert (answer.status, answer.error["code"]) == (3, code)


def test_a_file_far_too_large_is_refused(crew: Crew, monkeypatch) -> None:

    monkeypatch.setattr(toml_files, "LARGEST_FILE", 1000)
    crew.path.write_bytes(b"#" * 1001)
    assert crew.tries("status").error["code"] == "too-large"


@pytest.mark.parametrize(
    ("line", "key"),
    [
        *(
            (f"certainty = {value}", "certainty")
            for value in ("80", "0", "-1", "0.29", "0.96", "1e9")
        ),
        *(
            (f"budget.{key} = {value}", f"budget.{key}")
            for key in ("runs", "minutes", "sets", "runs_per_set")
            for value in ("-5", "0", "1_000_000")
        ),
        ("in_balance.balance = {mean = 5, runs = 0}", "in_balance.balance.runs"),
    ],
)
def test_what_no_plan_can_be_made_with_is_refused_by_key(begun: Crew, line: str, key: str) -> None:
    begun.rewrite("format = 1\n", f"format = 1\n{line}\n")
    answer = begun.tries("status")
    assert (answer.status, answer.error["code"]) == (3, "bad-key")
    assert f"\n{key}: " in answer.error["message"]
    assert begun.tries("record", *tire_options(tires())).status == 3


def test_every_mistake_is_named_at_once(worked: Crew) -> None:
    worked.rewrite("laps = 10", "laps = 10.5")
    worked.rewrite("LR = [", "XX = [")
    message = worked.tries("status").error["message"]
    for path in ("laps", "step[1].run.tires.XX", "step[4].run.tires.XX"):
        assert path in message


def test_a_truncated_plan_points_to_the_version_before(worked: Crew) -> None:
    content = worked.path.read_bytes()
    worked.path.write_bytes(content[: len(content) - 40])
    answer = worked.tries("status")
    assert answer.status == 3
    kept = planfile.previous(worked.path)
    assert str(kept) in answer.error["try"]
    worked.path.write_bytes(kept.read_bytes())
    assert stand(worked.status()) == ("camber", "run")


def test_windows_line_ends_and_a_byte_order_mark_do_no_harm(worked: Crew) -> None:
    before = worked.status()
    content = b"\xef\xbb\xbf" + worked.path.read_bytes().replace(b"\n", b"\r\n")
    worked.path.write_bytes(content)
    assert worked.status() == before


def test_an_unknown_folder_and_a_plan_that_is_not_there(tmp_path: Path) -> None:
    nowhere = Crew(tmp_path / "nowhere" / "day.toml")
    assert nowhere.tries("start").status == 2
    for command in (["status"], ["made"], ["choose", "1"], ["record", *tire_options(tires())]):
        answer = nowhere.tries(*command)
        assert (answer.status, answer.error["code"]) == (2, "not-found")
        answer = Crew(tmp_path / "day.toml").tries(*command)
        assert (answer.status, answer.error["code"]) == (2, "not-found")
        assert "treadgate start" in answer.error["try"]
    assert list(tmp_path.iterdir()) == []


# --- saving ---------------------------------------------------------------------------------


def test_the_version_before_the_last_save_is_kept(begun: Crew) -> None:
    kept = planfile.previous(begun.path)
    assert not kept.exists()
    versions = [begun.path.read_bytes()]
    for move in (lambda: begun.record(RF_INNER_HOT), lambda: begun.choose(1), begun.made):
        move()
        assert kept.read_bytes() == versions[-1]
        versions.append(begun.path.read_bytes())


def test_a_link_to_a_plan_stays_a_link(begun: Crew, tmp_path: Path) -> None:
    link = tmp_path / "today.toml"
    link.symlink_to(begun.path)
    Crew(link).record(RF_INNER_HOT)
    assert link.is_symlink()
    assert stand(begun.status()) == ("camber", "choice")


def _no_space(*_args, **_kwargs):
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("call", ["replace", "fsync"])
def test_a_save_that_fails_leaves_the_plan_whole(worked: Crew, monkeypatch, call: str) -> None:
    before, names = worked.path.read_bytes(), sorted(worked.path.parent.iterdir())
    with monkeypatch.context() as broken:
        broken.setattr(os, call, _no_space)
        answer = worked.tries("record", *tire_options(tires()))
    assert answer.status in (1, 2)
    assert "No space left" in answer.error["message"]
    assert worked.path.read_bytes() == before
    assert sorted(worked.path.parent.iterdir()) == names
    assert stand(worked.record(tires())) == ("complete", "nothing")


def test_a_save_that_fails_while_writing_leaves_the_plan_whole(worked: Crew, monkeypatch) -> None:
    before, names = worked.path.read_bytes(), sorted(worked.path.parent.iterdir())
    real = os.write

    def half(handle, content):
        real(handle, content[: len(content) // 2])
        _no_space()

    with monkeypatch.context() as broken:
        broken.setattr(os, "write", half)
        answer = worked.tries("record", *tire_options(tires()))
    assert "No space left" in answer.error["message"]
    assert worked.path.read_bytes() == before
    assert sorted(worked.path.parent.iterdir()) == names


def test_a_failure_between_keeping_the_old_and_putting_the_new_leaves_the_plan_whole(
    worked: Crew, monkeypatch
) -> None:
    before, real = worked.path.read_bytes(), os.replace

    def only_the_copy(source, target):
        if Path(target) == worked.path:
            _no_space()
        real(source, target)

    with monkeypatch.context() as broken:
        broken.setattr(os, "replace", only_the_copy)
        assert worked.tries("record", *tire_options(tires())).status in (1, 2)
    assert worked.path.read_bytes() == before
    assert planfile.previous(worked.path).read_bytes() == before


def test_a_file_system_that_cannot_sync_a_folder_saves_all_the_same(
    worked: Crew, monkeypatch
) -> None:
    real = os.fsync

    def files_only(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(22, "Invalid argument")
        real(handle)

    monkeypatch.setattr(os, "fsync", files_only)
    assert stand(worked.record(tires())) == ("complete", "nothing")


def test_a_start_that_fails_leaves_no_plan(crew: Crew, monkeypatch) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(os, "replace", _no_space)
        assert crew.tries("start").status in (1, 2)
    assert not crew.path.exists()
    crew.start()


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_named(worked: Crew) -> None:
    before, folder = worked.path.read_bytes(), worked.path.parent
    folder.chmod(0o555)
    try:
        answer = worked.tries("record", *tire_options(tires()))
        assert stand(worked.status()) == ("confirm", "run")
    finally:
        folder.chmod(0o755)
    assert answer.status == 2
    assert worked.path.read_bytes() == before


def test_a_lock_that_may_not_be_written_is_named(worked: Crew, monkeypatch) -> None:
    from filelock import FileLock

    def refused(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(FileLock, "acquire", refused)
    answer = worked.tries("record", *tire_options(tires()))
    assert (answer.status, answer.error["code"]) == (2, "cannot-write")
    assert "Permission denied" in answer.error["message"]


HOLDER = """
import sys
from pathlib import Path
from planner.storage import planfile, saving
with saving.locked(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.readline()
"""


def test_a_plan_locked_by_another_process_is_left_alone(worked: Crew, monkeypatch) -> None:
    monkeypatch.setattr(lock, "PATIENCE", 0.1)
    before = worked.path.read_bytes()
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(worked.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout.readline() == "held\n"
        answer = worked.tries("record", *tire_options(tires()))
        assert stand(worked.status()) == ("confirm", "run")  # reading needs no lock
        holder.communicate("\n")
    assert (answer.status, answer.error["code"]) == (3, "locked")
    assert worked.path.read_bytes() == before
    # Whoever held it is gone; its lock with it.
    assert stand(worked.record(tires())) == ("complete", "nothing")
