"""Every option and argument of every command, given what it was not made for.

The commands are taken from the program itself, so that a new option is tried without a word here;
a new command asks for a line in `USED`. `TREADGATE_FUZZ=N` tries N times as many drawn values.
"""

import io
import os
import shutil
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import attrs
import click
import hostile
import pytest
import states
from garage import RF_INNER_HOT, Answer, run_command, sweeping, tire_options
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.commands import cli

TIMES = int(os.environ.get("TREADGATE_FUZZ", "2" if sweeping() else "1"))
PATIENCE = 5.0  # s of the processor's work for one command; the slowest takes a tenth of it

TIRES = tire_options(RF_INNER_HOT)
SCALES = ["--scales", "LF=765,RF=678,LR=772,RR=585"]
SPRINGS = [*SCALES, "--spring", "LF=750,RF=800,LR=200,RR=225"]
SIZES = ["--wheelbase", "104", "--track-front", "62", "--track-rear", "61"]
TURN = ["--radius", "180", "--banking", "10", "--speed", "62", "--turns", "left"]

# A use of every command that does, by the plan it does on. PLAN stands for the plan.
USED: Mapping[str, Sequence[tuple[str, list[str]]]] = {
    "start": [("", ["new.toml"])],
    "guide": [("fresh", ["PLAN"]), ("", ["new.toml"])],
    "status": [("fresh", ["PLAN"]), ("choice", ["PLAN"]), ("complete", ["PLAN"])],
    "record": [
        ("fresh", ["PLAN", *TIRES]),
        ("made", ["PLAN", *TIRES]),
        ("metric", ["PLAN", *TIRES]),
    ],
    "choose": [("choice", ["PLAN", "1"]), ("car", ["PLAN", "1"]), ("road", ["PLAN", "1"])],
    "made": [("change", ["PLAN"])],
    "car": [
        ("choice", ["PLAN", str(states.SAMPLES / "river-bend-car.toml")]),
        ("choice", ["PLAN", "--fixed", "LR camber"]),
    ],
    "note": [("choice", ["PLAN", "gusty"]), ("complete", ["PLAN", "gusty"])],
    "amend": [("choice", ["PLAN", "1", "--note", "n", "--reason", "r"])],
    "mend": [("fresh", ["PLAN"])],
    "rehearse": [("", ["--auto", "--seed", "3", "--plan", "new.toml"])],
    "ahead": [("choice", ["PLAN"])],
    "taught": [("complete", ["PLAN", "taught.toml"]), ("complete", ["PLAN"])],
    "why": [("complete", ["PLAN"])],
    "report": [("spoiled", ["PLAN", "--out", "new.html"])],
    "sheet": [("", ["--out", "new.html"]), ("choice", ["PLAN", "--out", "new.html"])],
    "export": [("complete", ["PLAN", "--output", "out"])],
    "days": [("fresh", ["."])],
    "season": [("complete", [".", "--out", "new.html"])],
    "rules list": [("", [])],
    "rules show": [("", ["paved-oval"])],
    "rules check": [("", [str(Path(__file__).parents[2] / "rules" / "paved-oval.toml")])],
    "work weights": [("", SCALES)],
    "work jack": [("", ["--turn", "LR=1", *SPRINGS])],
    "work ballast": [("", ["--move", "50", "--rearward", "20", *SCALES, *SIZES])],
    "work loads": [("", [*SPRINGS, *SIZES, *TURN])],
    "work pressure": [("", ["--cold", "20", "--cold-temp", "70", "--hot-temp", "180"])],
    "work stagger": [("", ["--outer", "86", "--inner", "83.5", "--track", "61"])],
    "completion": [("", ["bash"])],
    "help": [("", ["figures"])],
}

# Options that stand in the place of what `USED` gives, on the same plan or on another.
ON: Mapping[tuple[str, str], str] = {("amend", "--actual"): "made"}
INSTEAD: Mapping[tuple[str, str], list[str]] = {
    ("choose", "--own"): ["PLAN", "--reason", "ours"],
    ("car", "--fixed"): ["PLAN"],
    ("amend", "--actual"): ["PLAN", "3", "--reason", "r"],
    ("why", "step"): ["PLAN"],
    ("why", "--run"): ["PLAN", "--against", "1"],
    ("why", "--against"): ["PLAN", "--run", "1"],
    ("work jack", "--perch"): SPRINGS,
    ("work jack", "--ride-height"): SPRINGS,
    ("work jack", "--cross"): SPRINGS,
    ("work jack", "--at"): ["--cross", "53", *SPRINGS],
    ("work jack", "--spring-change"): SPRINGS,
    ("work jack", "--free-length"): ["--spring-change", "RF=850", *SPRINGS],
    ("work jack", "--unsprung"): ["--spring-change", "RF=850", *SPRINGS],
    ("work pressure", "--hot"): ["--cold-temp", "70", "--hot-temp", "180"],
    ("work pressure", "--read"): ["--tire-temp", "95", "--reference-temp", "70"],
    ("work pressure", "--tire-temp"): ["--read", "22", "--reference-temp", "70"],
    ("work pressure", "--reference-temp"): ["--read", "22", "--tire-temp", "95"],
    ("work stagger", "--banking"): ["--outer", "86", "--track", "61", "--radius", "180"],
    ("work stagger", "--pressure-pair"): ["--pressure-pair", "18=85", "--at-pressure", "22"],
    ("work stagger", "--at-pressure"): ["--pressure-pair", "18=85", "--pressure-pair", "26=86"],
}


@attrs.frozen
class Place:
    """An option or argument of a command."""

    command: str
    name: str
    metavar: str
    index: int  # of an argument; -1 of an option

    def __str__(self) -> str:
        return f"{self.command} {self.name}"


def commands(
    command: click.Command = cli, path: tuple[str, ...] = ()
) -> Iterator[tuple[str, click.Command]]:
    """Yield every command that can be given, by its words."""
    if not isinstance(command, click.Group):
        yield " ".join(path), command
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        inner = command.get_command(context, name)
        assert inner is not None
        yield from commands(inner, (*path, name))


COMMANDS = dict(commands())


def places() -> Iterator[Place]:
    """Yield every option and argument that takes a value."""
    for words, command in COMMANDS.items():
        index = 0
        for param in command.params:
            if isinstance(param, click.Option):
                if not param.is_flag:
                    yield Place(words, max(param.opts, key=len), param.metavar or "", -1)
            else:
                yield Place(words, str(param.name), param.metavar or "", index)
                index += 1


PLACES = list(places())


def given_to(place: Place, value: str) -> list[str]:
    """Return a value in the shapes the option asks for, bare first."""
    found = [value]
    if "KNOB:" in place.metavar:
        found += [f"camber:RF:{value}", f"{value}:RF:1", f"camber:{value}:1"]
    elif "KNOB." in place.metavar:
        found += [f"camber.RF={value}", f"{value}=1"]
    elif "inner/middle/outer" in place.metavar:
        found += [f"LF={value}/210/205", f"LF=210 {value} 205", f"{value}=1/2/3"]
    elif "CORNER" in place.metavar or "PLACE" in place.metavar:
        found += [f"{'front' if 'PLACE' in place.metavar else 'LF'}={value}", f"{value}=20"]
    elif "S,S" in place.metavar:
        found += [f"19.8,{value}", f"1:{value}", f"{value}:1"]
    elif "PSI=IN" in place.metavar:
        found += [f"{value}=85", f"20={value}"]
    return found


# --- plans at every point of a day -----------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder the commands are given in; the day ends at once where nobody answers."""
    from planner.rehearsal import by_the_plan

    monkeypatch.setattr(by_the_plan, "next_move", lambda *_: None)
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def use(
    place: Place,
    state: str,
    usual: Sequence[str],
    value: str | None,
) -> Answer:
    """Give a command in an emptied folder, with a value in one place."""
    here = Path.cwd()
    for path in here.iterdir():
        shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()
    if state:
        (here / "day.toml").write_bytes(states.plan(state))
    words = ["day.toml" if each == "PLAN" else each for each in usual]
    first = next((at for at, each in enumerate(words) if each.startswith("--")), len(words))
    positional, options = words[:first], words[first:]
    if value is not None and place.index >= 0:
        positional[place.index :] = [value, *positional[place.index + 1 :]]
    elif value is not None:
        if place.name in options:  # the first of it goes, so that it is not there twice
            at = options.index(place.name)
            del options[at : at + 2]
        options.append(f"{place.name}={value}")
    # What begins with a dash would be an option: it is said that it is none.
    arguments = [*options, "--", *positional]
    json_too = ["--json"] if has_json(place.command) else []
    return run_command(*place.command.split(), *json_too, *arguments)


def has_json(command: str) -> bool:
    return any(param.name == "as_json" for param in COMMANDS[command].params)


def holds(
    place: Place, value: str, answer: Answer, before: Mapping[str, bytes], took: float
) -> None:
    """Fail where the program did not take or refuse a value as it should."""
    told = f"{place} given {value[:60]!r}: {answer.out[-600:]} {answer.err[-2000:]}"
    assert answer.status in (0, 2, 3), told
    assert took < PATIENCE, f"{took:.1f} s: {told}"
    for shown in (answer.out, answer.err):
        assert not hostile.steers(shown.replace("\t", " ")), f"{hostile.steers(shown)}: {told}"
    after = hostile.content(Path.cwd())
    if answer.status == 0:
        for name in after:
            if name.endswith("day.toml") or name == "new.toml":
                hostile.is_sound(Path(name))
        return
    assert after == before, f"something was written: {told}"
    if has_json(place.command):
        error = answer.error
        assert error["message"], told
        assert error["try"], told
        assert all(len(line) <= 300 for line in error["message"].splitlines()), told
        assert len(answer.out) < 20_000, told
        said = " ".join(error.values()).lower()
        if error["code"] in NAMED_OTHERWISE:
            assert error["where"], told
            return
    else:
        said = answer.err.lower()
        assert "try:" in said, told
        if "no such folder" in said:
            return
    if value == "" and place.name in ("candidate", "--rules", "rules"):
        return
    known = {place.name.strip("-"), place.metavar.strip("[]").lower(), *ALSO.get(str(place), ())}
    assert any(name and name in said for name in known), told


# Refusals that name a file, its folder or a step of the plan, not the option.
NAMED_OTHERWISE = (
    *("no-folder", "exists", "cannot-write", "not-found", "unreadable", "too-large"),
    "nothing-changed",
)
ALSO = {
    "choose candidate": ("id",),
    "record --from": ("file", ".toml"),
    "amend --from": ("file", ".toml"),
}


def tried(place: Place, value: str, *, uses: int = 1) -> None:
    for state, usual in USED[place.command][:uses]:
        usual = INSTEAD.get((place.command, place.name), usual)
        state = ON.get((place.command, place.name), state)
        shapes = given_to(place, value)
        for shaped in shapes if TIMES > 1 else shapes[len(value) % len(shapes) :][:1]:
            before = {} if not state else {"day.toml": states.plan(state)}
            began = time.process_time()
            answer = use(place, state, usual, shaped)
            holds(place, shaped, answer, before, time.process_time() - began)


# --- the claims ------------------------------------------------------------------------------


def test_every_command_is_tried() -> None:
    assert set(USED) == set(COMMANDS)
    assert len(PLACES) > 150


@pytest.mark.parametrize("words", COMMANDS)
@pytest.mark.usefixtures("folder")
def test_the_usual_use_of_a_command_does(words: str) -> None:
    for state, usual in USED[words]:
        answer = use(Place(words, "", "", -1), state, usual, None)
        assert answer.status == 0, answer.out + answer.err


@pytest.mark.more_in_sweep
@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("place", PLACES, ids=str)
def test_no_option_takes_what_it_was_not_made_for(place: Place) -> None:
    """Every number and every text of `hostile`, spread over the options of each kind."""
    values = (*hostile.NUMBERS, *hostile.TEXTS)
    at = PLACES.index(place)
    mine = values if TIMES > 1 else [v for n, v in enumerate(values) if (n + at) % 7 == 0]
    for value in mine:
        tried(place, value)


@pytest.mark.usefixtures("folder")
@settings(
    max_examples=40 * TIMES,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(place=st.sampled_from(PLACES), value=hostile.any_text)
def test_no_option_takes_what_is_drawn_for_it(place: Place, value: str) -> None:
    tried(place, value, uses=3)


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    ("state", "given", "where"),
    [
        ("choice", ["choose", "PLAN", "1", "--amount", "500"], "--amount"),
        ("choice", ["choose", "PLAN", "1", "--amount", "9" * 300], "--amount"),
        ("choice", ["choose", "PLAN", "1", "--amount", "0.0000001"], "--amount"),
        ("choice", ["choose", "PLAN", "--own", "camber:RF:10.5", "--reason", "r"], "--own"),
        ("choice", ["choose", "PLAN", "--own", "camber:RF:1e-9", "--reason", "r"], "--own"),
        ("car", ["choose", "PLAN", "--own", "pressure:RF:-30", "--reason", "r"], "pressure:RF"),
        ("car", ["choose", "PLAN", "--own", "cross:car:14.9", "--reason", "r"], "cross:car"),
        ("car", ["choose", "PLAN", "--own", "bar:rear:-25", "--reason", "r"], "bar:rear"),
        ("change", ["made", "PLAN", "--actual", "camber:RF:10.5"], "--actual"),
        ("change", ["made", "PLAN", "--actual", "camber:RF:-inf"], "--actual"),
        (
            "fresh",
            ["record", "PLAN", *TIRES, "--lap-times", ",".join(["20"] * 1001)],
            "--lap-times",
        ),
        ("fresh", ["record", "PLAN", *TIRES, "--tread-before", "LF=x/7/7"], "--tread-before"),
    ],
)
def test_what_no_car_has_is_refused(state: str, given: list[str], where: str) -> None:
    Path("day.toml").write_bytes(states.plan(state))
    arguments = ["day.toml" if each == "PLAN" else each for each in given]
    answer = run_command(*arguments, "--json")
    assert answer.status == 2, answer.out[-500:]
    assert where in answer.error["where"]
    assert answer.error["try"]
    assert Path("day.toml").read_bytes() == states.plan(state)


@pytest.mark.usefixtures("folder")
def test_bytes_that_are_no_text_are_kept_as_marks() -> None:
    """An argument that is not UTF-8 reaches the program with halves of characters in it."""
    assert run_command("start", "day.toml", "--track", "a\udcffb", "--json").status == 0
    assert run_command("record", "day.toml", *TIRES, "--note", "\udcff", "--json").status == 0
    own = ["--own", "camber:RF:0.5", "--reason", "\udce9t\udce9"]
    assert run_command("choose", "day.toml", *own, "--json").status == 0
    hostile.is_sound(Path("day.toml"))
    assert "a\ufffdb" in Path("day.toml").read_text("utf-8")
    missing = run_command("status", "\udcff.toml", "--json")
    assert missing.error["code"] == "not-found"


@pytest.mark.usefixtures("folder")
def test_what_is_typed_is_repeated_in_short() -> None:
    Path("day.toml").write_bytes(states.plan("choice"))
    for wish in (
        ["--own", "x" * 9000, "--reason", "r"],
        ["x" * 9000],
        ["--amount", "x" * 9000, "1"],
    ):
        answer = run_command("choose", "day.toml", *wish, "--json")
        assert answer.status == 2
        assert len(answer.out) < 800


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    "note",
    [
        *("con.toml" * 40, "19.8." * 50, "a . b " * 60, "[a]\nb = 1", '"' * 7, "'" * 7, "\\"),
        *("<<<<<<< ours\n=======\n>>>>>>> theirs", "x\n[[step]]\nkind = 'run'", "\r\n#", "\x00"),
        *("# treadgate: 9 steps, sum 0123456789abcdef", "step = []", "\ud83d", "\ufeff"),
    ],
)
def test_a_note_that_looks_like_a_file_does_the_file_no_harm(note: str) -> None:
    Path("day.toml").write_bytes(states.plan("fresh"))
    assert run_command("record", "day.toml", *TIRES, "--note", note, "--json").status == 0
    assert run_command("choose", "day.toml", "1", "--reason", note, "--json").status == 0
    assert run_command("status", "day.toml", "--json").status == 0
    hostile.is_sound(Path("day.toml"))
