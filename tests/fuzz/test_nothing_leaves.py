"""Nothing leaves the machine, nothing is started, and no file but those named is touched.

Every command runs in a process of its own under an audit hook of the interpreter, which sees each
socket, process, file and piece of source that anything in it opens.
"""

import json
import subprocess
import sys
import sysconfig
from pathlib import Path

import attrs
import hostile
import pytest
import states
from garage import RF_INNER_HOT, run_command, tire_options
from test_files import OVAL, put, written

from planner.files import file_name

WATCHED = """
import json, os, sys
seen = {"net": [], "started": [], "opened": [], "sources": []}
NET = ("socket.", "urllib.", "http.", "ftplib.", "smtplib.", "imaplib.", "poplib.", "webbrowser.")
STARTED = ("subprocess.", "os.system", "os.exec", "os.fork", "os.spawn", "os.posix_spawn", "pty.")
def hook(event, given):
    if event.startswith(NET):
        seen["net"].append([event, repr(given)[:200]])
    elif event.startswith(STARTED) or event in ("ctypes.dlopen/user", "os.startfile"):
        seen["started"].append([event, repr(given)[:200]])
    elif event == "open":
        name, mode, flags = given
        if isinstance(name, (str, bytes)):
            writes = bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))
            seen["opened"].append([os.fsdecode(os.path.abspath(name)), writes])
    elif event == "compile":
        source = given[0]
        if source is not None:
            seen["sources"].append(str(source)[:20000])
sys.addaudithook(hook)
from planner.commands import main
try:
    main(json.loads(sys.argv[1]))
except SystemExit as done:
    status = done.code
sys.stderr.write("\\n@@" + json.dumps({"status": status, **seen}))
"""


@attrs.frozen
class Seen:
    """What a command did."""

    status: int
    net: list[list[str]]
    started: list[list[str]]
    opened: list[tuple[str, bool]]
    sources: list[str]


def watched(folder: Path, *arguments: object) -> Seen:
    """Give a command under the hook."""
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, json.dumps([str(each) for each in arguments])],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        input="",
        timeout=120,
        check=False,
        env={
            "PATH": "/usr/bin:/bin",
            "HOME": str(folder / "home"),
            "PYTHONPATH": str(states.ROOT),
            "PYTHONDONTWRITEBYTECODE": "1",
            "OPENBLAS_NUM_THREADS": "1",
            "MPLCONFIGDIR": str(folder / "home"),
        },
    )
    _, _, told = done.stderr.rpartition("\n@@")
    seen = json.loads(told)
    # The plots ask the machine once for the names of its fonts.
    seen["started"] = [each for each in seen["started"] if "'fc-list'" not in each[1]]
    return Seen(**seen)


def own(path: str, folder: Path) -> bool:
    """Say whether a file is the program's, the interpreter's, a font, or in the folder."""
    roots = (
        *(str(states.ROOT / name) for name in ("planner", "rules", "sample_plans", ".venv")),
        *(sysconfig.get_path(name) for name in ("stdlib", "platstdlib", "purelib", "platlib")),
        *(
            sys.prefix,
            sys.base_prefix,
            str(Path(attrs.__file__).parents[1]),  # where the libraries are, wherever that is
            str(folder),
            "/proc/",
            "/sys/",
            "/dev/null",
            "/etc/localtime",
        ),
        *(
            "/usr/share",
            "/usr/lib",
            "/usr/local",
            "/etc/fonts",
            "/var/cache/fontconfig",
            "/dev/urandom",
        ),
    )
    return path.startswith(roots)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "home").mkdir()
    for state in ("fresh", "choice", "complete"):
        (tmp_path / f"{state}.toml").write_bytes(states.plan(state))
    return tmp_path


COMMANDS = (
    ("status", "choice.toml"),
    ("report", "complete.toml", "-o", "day.html"),
    ("export", "complete.toml", "-o", "out"),
    ("guide", "fresh.toml"),
    ("record", "fresh.toml", *tire_options(RF_INNER_HOT), "--note", "http://x.test/?q=1"),
    ("rehearse", "--auto", "--seed", "3"),
)


@pytest.mark.parametrize("given", COMMANDS, ids=lambda given: given[0])
def test_no_command_talks_to_anybody_or_starts_anything(folder: Path, given) -> None:
    seen = watched(folder, *given)
    assert seen.status == 0
    assert not seen.net
    assert not seen.started
    assert seen.opened
    assert not [path for path, _ in seen.opened if not own(path, folder)]
    assert not [path for path, writes in seen.opened if writes and not path.startswith(str(folder))]


def test_the_hook_sees_what_it_is_to_see(folder: Path) -> None:
    for line, kind in (
        ("import socket; socket.socket()", "net"),
        ("import subprocess; subprocess.run(['true'])", "started"),
        ("import os; os.system('true')", "started"),
        ("eval('1+1')", "sources"),
        ("open('/etc/hostname')", "opened"),
    ):
        script = WATCHED.replace("from planner.commands import main\n", "").replace(
            "main(json.loads(sys.argv[1]))", f"{line}; status = 0"
        )
        done = subprocess.run(
            [sys.executable, "-c", script, "[]"],
            capture_output=True,
            text=True,
            check=False,
            cwd=folder,
        )
        assert json.loads(done.stderr.rpartition("@@")[2])[kind], line


def test_hostile_rules_open_nothing_and_are_never_source(folder: Path) -> None:
    secret = folder.parent / f"secret-{folder.name}.toml"
    secret.write_text("password = 'hunter2'\n", "utf-8")
    marker = "0xBADC0DE"
    code = f"__import__('os').system('echo {marker}'); open({str(secret)!r}).read()"
    texts = [code, f"{{{{ {code} }}}}", f"!!python/object/apply:os.system [{marker}]", str(secret)]
    data = OVAL
    for number, text in enumerate(texts):
        data = put(data, ("pattern", number, "says"), text.replace("$", "$$"))
        data = put(data, ("pattern", number, "source"), text)
    data = put(data, ("title",), f"{secret} {code}")
    rules = written(folder, data)
    assert run_command("start", folder / "new.toml", "--rules", rules).status == 0
    for given in (
        ("record", "new.toml", *tire_options(RF_INNER_HOT)),
        ("why", "new.toml"),
    ):
        seen = watched(folder, *given)
        assert seen.status == 0
        assert not seen.net
        assert not seen.started
        assert not [source for source in seen.sources if marker in source]
        assert not [path for path, _ in seen.opened if "secret-" in path]
        assert not [path for path, _ in seen.opened if not own(path, folder)]
    includes = folder / "includes.toml"
    includes.write_text(f"extends = '{secret}'\ninclude = ['{secret}']\nformat = 1\n", "utf-8")
    seen = watched(folder, "rules", "check", includes)
    assert seen.status == 3
    assert not [path for path, _ in seen.opened if "secret-" in path]
    hostile.is_sound(folder / "new.toml")


@pytest.mark.parametrize(
    ("name", "folder", "far"),
    [
        (r"\\box\share\ours.toml", r"C:\days", True),
        ("//box/share/ours.toml", r"C:\days", True),
        (r"\\box\share\ours.toml", r"\\other\share\days", True),
        (r"\\BOX\share\ours.toml", r"\\box\share\days", False),
        (r"C:\rules\ours.toml", r"C:\days", False),
        ("ours.toml", r"\\box\share\days", False),
    ],
)
def test_a_plan_names_no_rules_on_another_machine(name: str, folder: str, far: bool) -> None:
    """On Windows such a name opens a connection; only reasoned about, by its way with paths."""
    assert file_name.far_away(name, folder) is far
