"""Files written whole or not at all, on every system there is a counterpart for."""

import ast
import fcntl
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from garage import RF_INNER_HOT, Crew, run_command, tire_options

from planner.files import whole_file
from planner.guide import draft
from planner.storage import lock, planfile, saving

ROOT = Path(__file__).parent.parent
# Modules and calls that only some systems have.
SOME_ONLY = {
    "fcntl",
    "termios",
    "tty",
    "pty",
    "pwd",
    "grp",
    "resource",
    "syslog",
    "msvcrt",
    "winreg",
}
SOME_ONLY |= {"fork", "geteuid", "getuid", "chown", "mkfifo", "sync", "fdatasync", "O_DIRECTORY"}
SOME_ONLY |= {"O_NOFOLLOW", "SIGKILL", "SIGHUP", "SIGALRM", "alarm", "startfile", "uname", "setsid"}


def test_what_others_may_do_with_a_plan_they_still_may(begun: Crew) -> None:
    begun.path.chmod(0o664)
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    assert stat.S_IMODE(begun.path.stat().st_mode) == 0o664
    assert stat.S_IMODE(begun.path.with_name("day.toml.lock").stat().st_mode) & 0o600 == 0o600


def test_a_new_file_takes_no_place(tmp_path: Path) -> None:
    path = tmp_path / "taught.toml"
    whole_file.put_new(path, b"one")
    with pytest.raises(FileExistsError):
        whole_file.put_new(path, b"other")
    assert path.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [path]


def test_where_there_are_no_links_a_new_file_takes_no_place_either(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_given: object) -> None:
        raise PermissionError(1, "Operation not permitted")  # as on a memory stick

    monkeypatch.setattr(os, "link", refused)
    path = tmp_path / "taught.toml"
    whole_file.put_new(path, b"one")
    with pytest.raises(FileExistsError):
        whole_file.put_new(path, b"other")
    whole_file.copy_new(path, tmp_path / "copy.toml")
    assert (path.read_bytes(), (tmp_path / "copy.toml").read_bytes()) == (b"one", b"one")
    assert len(list(tmp_path.iterdir())) == 2


@pytest.mark.parametrize(("busy", "patience", "done"), [(3, 1.0, True), (10**9, 0.1, False)])
def test_a_file_another_program_has_open_is_waited_for(
    begun: Crew, monkeypatch: pytest.MonkeyPatch, busy: int, patience: float, done: bool
) -> None:
    """As on Windows, where a virus scanner looks at every new file."""
    before = begun.path.read_bytes()
    real, tries = os.replace, []

    def replace(source: str, target: str) -> None:
        tries.append(target)
        if len(tries) <= busy:
            raise PermissionError(13, "The process cannot access the file")
        real(source, target)

    monkeypatch.setattr(whole_file, "PATIENCE", patience)
    with monkeypatch.context() as scanner:
        scanner.setattr(os, "replace", replace)
        options = ["--tire", "LF=210/210/210", "--tire", "RF=225/215/205"]
        options += ["--tire", "LR=195/195/195", "--tire", "RR=210/210/210"]
        answer = begun.tries("record", *options)
    assert len(tries) > 3
    if done:
        assert answer.status == 0
        assert len(planfile.load(begun.path).step) == 1
    else:
        assert (answer.status, answer.error["code"]) == (2, "cannot-write")
        assert begun.path.read_bytes() == before


@pytest.mark.parametrize("able", [True, False])
def test_where_syncing_leaves_the_drive_out_the_drive_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, able: bool
) -> None:
    """As on macOS, unless the folder is on the network and cannot."""
    asked, synced, real = [], [], os.fsync

    def control(handle: int, command: int) -> int:
        asked.append((handle, command))
        if not able:
            raise OSError(45, "Operation not supported")
        return 0

    def sync(handle: int) -> None:
        synced.append(handle)
        real(handle)

    monkeypatch.setattr(fcntl, "F_FULLFSYNC", 51, raising=False)
    monkeypatch.setattr(fcntl, "fcntl", control)
    monkeypatch.setattr(os, "fsync", sync)
    whole_file.put(tmp_path / "day.toml", b"all of it")
    assert [command for _, command in asked] == [51, 51]  # of the file and of the folder
    assert len(synced) == (0 if able else 2)


@pytest.mark.parametrize(
    ("name", "here", "windows"),
    [
        ("day.toml", "", ""),
        ("Näsby 1-2.toml", "", ""),
        ("a" * 196 + ".toml", "longer", "longer"),
        ("ä" * 100 + ".toml", "longer", "longer"),
        ("con.toml", "", "device"),
        ("COM1", "", "device"),
        ("com.toml", "", ""),
        ("console.toml", "", ""),
        ("turn 3: wet.toml", "", "':'"),
        ("what?.toml", "", "'?'"),
        ("a\tb.toml", "", "'\\t'"),
        ("day.", "", "full stop"),
    ],
)
def test_names_that_make_trouble(name: str, here: str, windows: str) -> None:
    for why, wanted in (
        (whole_file.refused_name(name, windows=False), here),
        (whole_file.refused_name(name, windows=True), windows),
    ):
        assert (wanted in why) if wanted else why == ""


def test_a_name_too_long_for_the_files_beside_it_is_refused_at_the_start(tmp_path: Path) -> None:
    path = tmp_path / ("a" * 230 + ".toml")
    answer = run_command("start", path, "--json")
    assert (answer.status, answer.error["code"]) == (2, "bad-value")
    assert "longer than 200" in answer.error["message"]
    longest = Crew(tmp_path / ("a" * 195 + ".toml"))
    longest.start()
    longest.record(RF_INNER_HOT)
    longest.path.write_bytes(longest.path.read_bytes()[:-60])
    assert longest.tries("mend", "--take", "1").status == 0


def test_export_writes_whole_files_or_none(begun: Crew, tmp_path: Path) -> None:
    begun.record(RF_INNER_HOT)
    target = tmp_path / "day.json"
    target.write_text("old", "utf-8")

    def full(*_given: object) -> int:
        raise OSError(28, "No space left on device")

    with pytest.MonkeyPatch.context() as broken:
        broken.setattr(os, "write", full)
        answer = run_command(
            "export", begun.path, "--as", "json", "-o", target, "--force", "--json"
        )
    assert answer.status == 2
    assert target.read_text("utf-8") == "old"


def test_nothing_that_only_some_systems_have_is_used_without_a_counterpart() -> None:
    """`whole_file` asks for `fcntl` and does without; every other module leaves it alone."""
    found = set()
    for path in sorted((ROOT / "planner").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or "", *(alias.name for alias in node.names)]
            elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                names = [node.attr] if node.value.id in ("os", "signal") else []
            found |= {(path.name, name) for name in names if name in SOME_ONLY}
    assert found == {("whole_file.py", "fcntl")}
    source = (ROOT / "planner" / "files" / "whole_file.py").read_text("utf-8")
    assert "except (ImportError, AttributeError)" in source


# --- what may be written over, and who may read it -------------------------------------------

POSIX = pytest.mark.skipif(os.name != "posix", reason="modes, pipes and devices of POSIX")


@POSIX
@pytest.mark.parametrize("mode", [0o444, 0o555, 0o400])
def test_a_read_only_plan_is_left_alone_and_said_to_be(begun: Crew, mode: int) -> None:
    begun.path.chmod(mode)
    before = begun.path.read_bytes()
    answer = begun.tries("note", "gusty")
    assert (answer.status, answer.error["code"]) == (2, "cannot-write")
    assert "it is read-only" in answer.error["message"]
    assert begun.path.read_bytes() == before
    assert stat.S_IMODE(lock.place(begun.path).stat().st_mode) & 0o600 == 0o600
    begun.path.chmod(0o644)
    begun.tries("note", "gusty")
    assert begun.status()["step"] == 1


@POSIX
@pytest.mark.parametrize("mode", [0o200, 0o600, 0o640, 0o664])
def test_the_lock_is_for_whoever_may_use_the_plan(begun: Crew, mode: int) -> None:
    lock.place(begun.path).unlink()
    begun.path.chmod(mode)
    with saving.locked(begun.path):
        found = stat.S_IMODE(lock.place(begun.path).stat().st_mode)
    assert found == 0o600 | mode & 0o066


@POSIX
@pytest.mark.parametrize("umask", [0o022, 0o000])
def test_what_stands_beside_a_private_plan_is_as_private(begun: Crew, umask: int) -> None:
    begun.record(RF_INNER_HOT)  # .previous is there, for all to read
    begun.changed()
    begun.path.chmod(0o600)
    was = os.umask(umask)
    try:
        begun.record(RF_INNER_HOT)
        plan = planfile.load(begun.path)
        draft.save(begun.path, draft.fresh(plan))
        folder = begun.path.parent
        for command in (
            ("report", begun.path),
            ("sheet", begun.path, "-o", folder / "sheet.html"),
            ("export", begun.path, "-o", folder / "tables"),
            ("taught", begun.path, folder / "taught.toml"),
        ):
            assert run_command(*command).status == 0
        begun.path.write_bytes(begun.path.read_bytes()[:-200])
        assert run_command("mend", begun.path, "--yes").status == 0
    finally:
        os.umask(was)
    modes = {
        str(each.relative_to(folder)): stat.S_IMODE(each.stat().st_mode)
        for each in folder.rglob("*")
        if each.is_file() and each.name != "day.toml.lock"
    }
    assert len(modes) >= 10
    assert set(modes.values()) == {0o600}, modes


@POSIX
@pytest.mark.parametrize("kind", ["fifo", "device", "folder", "fifo behind a link"])
@pytest.mark.parametrize("command", ["report", "sheet", "export", "taught", "start"])
def test_only_a_file_is_written_over(begun: Crew, tmp_path: Path, kind: str, command: str) -> None:
    begun.record(RF_INNER_HOT)
    target = made = tmp_path / "out.html"
    if kind == "device":
        target = made = Path(os.devnull)
    elif kind == "folder":
        target.mkdir()
    else:
        os.mkfifo(target)
    if kind == "fifo behind a link":
        target = tmp_path / "link.html"
        target.symlink_to(made)
    before = target.stat()
    arguments = {
        "report": ("report", begun.path, "-o", target, "--force"),
        "sheet": ("sheet", begun.path, "-o", target, "--force"),
        "export": ("export", begun.path, "--as", "json", "-o", target, "--force"),
        "taught": ("taught", begun.path, target),
        "start": ("start", target),
    }[command]
    answer = run_command(*arguments)  # and none of them waits for a reader
    if command == "export" and kind == "folder":
        assert answer.status == 0
    else:
        assert answer.status == 2, answer.err
        assert "Traceback" not in answer.err
    assert stat.S_IFMT(target.stat().st_mode) == stat.S_IFMT(before.st_mode)
    assert target.stat().st_ino == before.st_ino


# --- the lock --------------------------------------------------------------------------------


def test_an_unlock_that_fails_is_no_failure_of_the_save(
    begun: Crew, monkeypatch: pytest.MonkeyPatch
) -> None:
    from filelock import FileLock

    released = FileLock.release

    def fails(self: FileLock, force: bool = False) -> None:
        released(self, force)
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(FileLock, "release", fails)
    assert begun.record(RF_INNER_HOT)["step"] == 1
    monkeypatch.undo()
    assert begun.status()["step"] == 1


def test_a_lock_of_another_user_is_named(begun: Crew, monkeypatch: pytest.MonkeyPatch) -> None:
    from filelock import FileLock

    def refused(*_given: object, **_options: object) -> None:
        raise PermissionError(13, "Permission denied")  # root would be let in

    lock.place(begun.path).touch()
    monkeypatch.setattr(FileLock, "acquire", refused)
    answer = begun.tries("record", *tire_options(RF_INNER_HOT))
    assert (answer.status, answer.error["where"]) == (2, str(lock.place(begun.path)))


def test_a_refused_start_leaves_no_lock_behind(tmp_path: Path) -> None:
    taken = tmp_path / "car.toml"
    taken.write_text("[car]\n", "utf-8")
    assert run_command("start", taken).status == 2
    assert run_command("start", tmp_path / "day.toml", "--laps", "5000").status == 2
    assert list(tmp_path.iterdir()) == [taken]


def test_a_draft_belongs_to_the_plan_not_to_a_link(begun: Crew, tmp_path: Path) -> None:
    link = tmp_path / "link.toml"
    link.symlink_to(begun.path)
    plan = planfile.load(begun.path)
    draft.save(link, draft.fresh(plan))
    assert draft.load(begun.path, plan) == draft.fresh(plan)
    draft.remove(begun.path)
    assert draft.load(link, plan) is None


# --- the world it runs in --------------------------------------------------------------------


@pytest.mark.parametrize(
    "world",
    [
        {"MPLBACKEND": "module://matplotlib_inline.backend_inline"},
        {"MPLBACKEND": "nonsense"},
        {"TZ": "Foo+25"},
        {"PYTHONIOENCODING": "cp037"},
        {"PYTHONIOENCODING": "ascii"},
    ],
)
def test_no_world_is_met_with_a_traceback(begun: Crew, world: dict[str, str]) -> None:
    begun.record(RF_INNER_HOT)
    for command in (
        ["report", "day.toml", "--force"],
        ["note", "day.toml", "gusty °"],
        ["why", "day.toml"],
        ["status", "nowhere.toml"],
    ):
        ran = subprocess.run(
            [sys.executable, "-m", "planner", *command],
            capture_output=True,
            cwd=begun.path.parent,
            env={**os.environ, "PYTHONPATH": str(ROOT), **world},
            check=False,
        )
        assert ran.returncode == (2 if "nowhere.toml" in command else 0), ran.stderr
        for encoding in ("cp037", "latin-1"):
            assert "Traceback" not in ran.stderr.decode(encoding)


@pytest.mark.skipif(os.name != "posix", reason="a signal of POSIX")
def test_ctrl_c_during_start_up_leaves_no_traceback(begun: Crew, tmp_path: Path) -> None:
    (tmp_path / "click.py").write_text("import os, signal\nos.kill(os.getpid(), signal.SIGINT)\n")
    ran = subprocess.run(
        [sys.executable, "-m", "planner", "status", begun.path],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join((str(tmp_path), str(ROOT)))},
        check=False,
    )
    assert (ran.returncode, ran.stdout, ran.stderr) == (130, "", "")
