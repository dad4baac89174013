"""README.md, DEVELOPERS.md and the pages of help say what is so: commands, options, session."""

import io
import re
import shlex
import subprocess
import tomllib
from collections.abc import Iterator
from pathlib import Path

import attrs
import click
import pytest
from garage import Answer, book, run_command

from planner import commands
from planner.car.car_file import Car
from planner.commands import cli
from planner.trade.corners import CORNERS
from planner.trade.knobs import KNOBS
from planner.words import diagram, help_pages

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")
CODE = "\n".join(re.findall(r"`[^`]+`|^```.*?^```", README, re.DOTALL | re.MULTILINE))
PAGES = {topic: help_pages.page(topic) for topic in help_pages.TOPICS}
EXAMPLE = re.compile(r"^ {4}(treadgate .*)$", re.MULTILINE)
MOST_LINES = 250

START = (
    "python3 -m venv .venv && .venv/bin/pip install -q . && .venv/bin/treadgate guide",
    "python3 -m venv .venv && .venv/bin/pip install -q -e '.[test]' && .venv/bin/python -m pytest",
)
ALLOWED = {"README.md", "DEVELOPERS.md", "pyproject.toml", "planner", "rules", "tests"}
ALLOWED |= {"sample_plans"}
LEFT_BY_TOOLS = {"build", "dist", "__pycache__"}


def all_commands(
    command: click.Command = cli, name: str = "treadgate"
) -> Iterator[tuple[str, click.Command]]:
    """Yield every command that does something, with its full name."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        for part in command.list_commands(context):
            found = command.get_command(context, part)
            assert found is not None
            yield from all_commands(found, f"{name} {part}")
    else:
        yield name, command


COMMANDS = dict(all_commands())


def options(command: click.Command) -> set[str]:
    return {
        option
        for parameter in command.params
        if isinstance(parameter, click.Option)
        for option in parameter.opts
        if option.startswith("--")
    }


def fenced(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


def test_the_two_commands_stand_alone_in_their_fences() -> None:
    assert [block.rstrip("\n") for block in fenced(README, "sh")] == list(START)


def test_the_check_runs_exactly_the_test_command_of_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    (extraction,) = re.findall(r"^command=\$\((.*)\)$", script, re.MULTILINE)
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", extraction],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == START[1] + "\n"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_in_the_readme(name: str) -> None:
    assert re.search(rf"`{re.escape(name)}\b", README)


def test_every_command_in_the_readme_is_one() -> None:
    for words in re.findall(r"`(treadgate [a-z][^`]*)`", README):
        named = words.split()
        known = {" ".join(named[:2]), " ".join(named[:3])}
        assert known & {*COMMANDS, "treadgate rules", "treadgate work"}, words


@pytest.mark.parametrize(
    "name", [name for name in COMMANDS if not name.startswith("treadgate work ")]
)
def test_every_option_is_on_a_page_of_help(name: str) -> None:
    text = "\n".join(PAGES.values())
    missing = {
        option for option in options(COMMANDS[name]) if not re.search(rf"{option}(?![a-z-])", text)
    }
    assert not missing


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_on_a_page_of_help(name: str) -> None:
    assert re.search(rf"^ *{re.escape(name)}\b", "\n".join(PAGES.values()), re.MULTILINE)


def test_every_option_named_is_one() -> None:
    known = {"--help"}.union(*(options(command) for command in COMMANDS.values()))
    scoreboard = (ROOT / "tests" / "bench" / "scoreboard.py").read_text("utf-8")
    known |= set(re.findall(r'add_argument\(\s*"(--[a-z-]+)"', scoreboard))
    for text in (CODE, *PAGES.values()):
        assert set(re.findall(r"(?<![-\w])--[a-z][a-z-]*", text)) <= known


def test_every_pattern_is_on_the_page_of_the_stages() -> None:
    rules = (ROOT / "rules" / "paved-oval.toml").read_text("utf-8")
    found = re.findall(r'^id = "(\w+\.[\w-]+)"$', rules, re.MULTILINE)
    assert len(found) > 10
    for each in found:
        assert re.search(rf"{re.escape(each)}(?![\w-])", PAGES["stages"]), each


def test_every_knob_is_on_the_page_of_changes_with_its_unit_and_what_more_of_it_means() -> None:
    for knob in KNOBS.values():
        entry = re.search(rf"^{knob.name}[,:].*?\n  .*?$", PAGES["changes"], re.DOTALL | re.M)
        assert entry is not None, knob.name
        unit = {"%": "percent"}.get(knob.unit, knob.unit)
        assert unit in entry[0], entry[0]
        if knob.places != CORNERS:
            assert all(f"{knob.name}:{place}" in entry[0] for place in knob.places)


def test_the_bands_in_the_readme_are_those_of_the_oval_rules() -> None:
    rules = book()
    told = re.findall(r"^\| ([\w ,]+) \|.*\| ([\d+−]+) to ([\d+−]+) \|$", README, re.MULTILINE)
    assert len(told) == 7
    for names, low, high in told:
        edges = tuple(float(each.replace("−", "-")) for each in (low, high))
        for name in names.split(", "):
            expected = rules.window if name == "average" else rules.edges(name.replace(" ", "_"))
            assert edges == expected, name


def test_every_group_of_the_car_file_is_on_its_page() -> None:
    for field in attrs.fields(Car):
        assert f"[{field.name}]" in PAGES["car"], field.name


@pytest.mark.parametrize("topic", help_pages.TOPICS)
def test_a_page_of_help_is_printed_as_it_is_and_fits_a_terminal(topic: str) -> None:
    answer = run_command("help", topic)
    assert answer.status == 0
    assert answer.out == PAGES[topic] + "\n"
    lines = EXAMPLE.sub("", PAGES[topic]).splitlines()
    assert max(map(len, lines)) < 80
    assert not re.search(r"[`|]|\*\*", PAGES[topic])


def test_help_lists_its_pages_and_refuses_what_is_none() -> None:
    listed = re.findall(r"^  (\w+) +\S", run_command("help").out, re.MULTILINE)
    assert listed == list(help_pages.TOPICS)
    assert {path.stem for path in (ROOT / "planner/words/help").iterdir()} == set(listed)
    refused = run_command("help", "nonsense")
    assert refused.status == 2
    assert "figures" in refused.err


def _do(line: str) -> Answer:
    """Run a line as a shell would; `>` keeps what it prints."""
    command, _, kept = line.partition(" > ")
    answer = run_command(*shlex.split(command)[1:])
    if kept:
        Path(kept).write_text(answer.out, "utf-8")
    return answer


@pytest.mark.parametrize("topic", help_pages.TOPICS)
def test_the_examples_of_a_page_run(
    topic: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    samples = ROOT / "sample_plans"
    for name, sample in {
        "saturday.toml": "day-begun.toml",
        "last.toml": "finished.toml",
        "car.toml": "river-bend-car.toml",
    }.items():
        (tmp_path / name).write_bytes((samples / sample).read_bytes())
    monkeypatch.chdir(tmp_path)
    examples = EXAMPLE.findall(PAGES[topic])
    assert examples
    for line in examples:
        answer = _do(line)
        assert answer.status == 0, f"{line}\n{answer.out}{answer.err}"


def test_every_page_is_named_in_the_readme() -> None:
    for topic in help_pages.TOPICS:
        assert re.search(rf"treadgate help`?:?.*\b{topic}\b", README), topic
    for topic in re.findall(r"treadgate help ([a-z]+)", README + "\n".join(PAGES.values())):
        assert topic in help_pages.TOPICS


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_a_guide_is_short_and_shows_pictures_that_are_there(text: str) -> None:
    assert len(text.splitlines()) <= MOST_LINES
    for picture in re.findall(r"!\[[^]]+\]\(([^)]+)\)", text):
        assert (ROOT / picture).is_file(), picture


def test_the_session_in_the_readme_is_what_the_guide_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (session,) = re.findall(r"<!-- session -->\n```text\n(.*?)^```$", README, re.DOTALL | re.M)
    pieces = session.split("[…]\n")
    typed = re.findall(r"^\S.*?> ?(.*)$", pieces[0], re.MULTILINE)
    chosen = re.findall(r"^\S.*?> ?(.*)$", pieces[1], re.MULTILINE)
    answers = ["", *typed, "", *chosen, "q"]  # laps; storing the run
    car = ROOT / "sample_plans" / "river-bend-car.toml"
    out = io.StringIO()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(answers) + "\n"))
    monkeypatch.setattr("sys.stdout", out)
    with pytest.raises(SystemExit):
        commands.main(["guide", "saturday.toml", "--car", str(car)])
    said = re.sub(r" +$", "", out.getvalue(), flags=re.MULTILINE)
    at = 0
    for piece in pieces:
        assert piece in said[at:], f"not said (any more):\n{piece}\n--- but:\n{said[at:]}"
        at = said.index(piece, at) + len(piece)


def test_the_diagram_is_that_of_the_machine() -> None:
    (drawn,) = fenced(DEVELOPERS, "mermaid")
    assert drawn.rstrip("\n") == diagram.drawn()


def test_the_oldest_libraries_that_are_tested_are_those_that_are_allowed() -> None:
    allowed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    pinned = dict(
        line.split("==") for line in (ROOT / ".ci" / "oldest.txt").read_text("utf-8").split()
    )
    for library in allowed:
        name, oldest = library.split(">=")
        assert f"{pinned[name]}.".startswith(f"{oldest}."), library


def test_nothing_else_lies_at_the_top() -> None:
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert {name for name in found if not name.endswith(".egg-info")} - LEFT_BY_TOOLS <= ALLOWED


def test_what_the_guide_for_developers_names_is_there() -> None:
    """Every `module.name` and `Class.name` in it; rooms are held by `test_rooms.py`."""
    text: dict[str, str] = {}
    for path in (ROOT / "planner").rglob("*.py"):
        text[path.stem] = text.get(path.stem, "") + path.read_text("utf-8")
    everything = "\n".join(text.values())
    classes = set(re.findall(r"^class (\w+)", everything, re.MULTILINE))
    named = re.findall(r"`([A-Za-z_]\w+)\.([A-Za-z_]\w+)(?:\(\))?`", DEVELOPERS)
    known = [pair for pair in named if pair[0] in {*text, *classes} and pair[1] != "py"]
    assert len(known) > 25
    for place, name in known:
        code = text.get(place, everything)
        defined = re.search(rf"\b(def|class) {name}\b|^\s*(self\.)?{name}\b.*[:=]", code, re.M)
        assert defined, f"`{place}.{name}` is not there (any more)"
