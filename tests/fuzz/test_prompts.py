"""Every prompt of the guide and of a rehearsal, answered as no crew would.

Where the guide asks is read off its source, so that a new prompt must be given a way to it here.
"""

import ast
import contextlib
import io
import re
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import attrs
import hostile
import pexpect
import pytest
import states
from garage import Answer, run_command
from hypothesis import given, settings
from hypothesis import strategies as st
from test_options import TIMES

from planner.guide import prompts
from planner.rehearsal import by_the_plan
from planner.storage import planfile, plans
from planner.trade.refusals import Refusal

GUIDE = Path(prompts.__file__).parent
IN_BAND = "215 215 215 211 210 209 196 195 194 208 210 212"
CAMBERED = "227 215 203 211 210 209 196 195 194 208 210 212"
SLIPPED = "227 215 203 311 210 209 196 195 194 208 210 212"
ASKING = ("ask", "until", "yes", "sure", "reason")
ASKING_FOR_OTHERS = ("or_ask", "_ask", "_settled", "_settle")  # many questions go through these
MOST = 8  # prompts in a row that are not the one looked at; then the conversation ends

# What is answered at each prompt, to come by the one that is looked at.
USUAL: Sequence[tuple[str, str]] = (
    (r"^name of the plan|^car file|^track|^which way|^laps a run", ""),
    (r"^which one \[1-", "1"),
    (r"Go on with it", ""),
    (r"\((inner|outer) middle", IN_BAND),
    (r"^anything else|^Store this run|^made|^Is that right|^drive|tries again|^take or leave", ""),
    (r"in its place|^Leave it out", ""),
    (r"k/s/again|k/again", "k"),  # a tire, or pressures
    (r"Drop these", "n"),
    (r"^choice", "1"),
    (r"riding trims|Take this|Go on like this|Was that really|^try again", ""),
    (r"^which one$", "1"),
    (r"^which step|^Correct it like", ""),
    (r"^step 1 should be", "RF 215 214 213"),
    (r"how much instead", "0.5"),
    (r"^your own change", "pressure:RF:-1"),
    (r"^why", "because"),
    (r"^This ends the day", "y"),
    (r"^another place", "elsewhere.toml"),
    (r"^Is it the run", "y"),
)


@attrs.frozen(eq=False)
class Prompt:
    """A prompt: the words it asks in, the plan it comes up in, and what leads to it.

    Several answers at a prompt on the way are given in turn, the last one from then on.
    """

    words: str
    state: str
    way: Mapping[str, str | tuple[str, ...]] = attrs.field(factory=dict)
    shapes: tuple[str, ...] = ("{}",)
    trouble: str = ""

    def __str__(self) -> str:
        return f"{self.words} ({self.state})"


EXTRAS = tuple(
    f"{word} {{}}"
    for word in (
        *("laps", "times", "hot", "cold", "hot LF", "feel", "feel tight", "flag", "track", "air"),
        *("tread RF", "before RF", "delay", "order", "again RF", "note", "no"),
    )
)
PROMPTS = (
    Prompt("^name of the plan", ""),
    Prompt("^car file", ""),
    Prompt("^track", ""),
    Prompt("^which way", ""),
    Prompt("^laps a run", ""),
    Prompt(r"^which one \[1-", "two"),
    Prompt("^Go on with it", "one"),
    Prompt("^Go on with it", "draft"),
    Prompt(r"^RF \(", "fresh", shapes=("{}", "LF {}", "{} 210 205", "205 {} 3 4 5 6 7 8 9 1 2 3")),
    Prompt(r"^LF \(", "metric", shapes=("{}", "{} 99 98")),
    Prompt("^anything else", "fresh", shapes=("{}", *EXTRAS)),
    Prompt("^Leave it out", "fresh", {"^RF ": "-"}),
    Prompt("in its place", "fresh", {"^anything else": ("laps 9", "laps 8", "")}),
    Prompt("k/s/again", "fresh", {r"^RF \(": SLIPPED}, ("{}", "{} 210 209")),
    Prompt(
        "^pressures k",
        "fresh",
        {"^anything else": ("cold LF 2", "")},
        ("{}", "cold {}", "cold LF {}", "no {}"),
    ),
    Prompt("^Store this run", "fresh", shapes=("{}", "RF {}")),
    Prompt(r"^RF \(", "choice", {"^choice": "r"}),
    Prompt("^Drop these", "fresh", {"^Store this run": "n"}),
    Prompt(
        "and go back to the choice",
        "choice",
        {"^choice": "r", r"^RF \(": ("227 215 203", "b"), r"^RR \(": "b"},
    ),
    Prompt("^choice", "choice", shapes=("{}", "a {}", "a 1 {}", "o {}", "? {}", "o camber:RF:{}")),
    Prompt("^which one$", "trims", {"^choice": "a"}),
    Prompt("^Take this", "choice"),
    Prompt("^Take it all", "little air", {"^choice": "o", "^your own": "LF pressure -3"}),
    Prompt("riding trims", "trims"),
    Prompt("how much instead", "choice", {"^choice": "a", "^Take this": "n", "^which one": "1"}),
    Prompt("^your own change", "choice", {"^choice": "o"}, ("{}", "camber:RF:{}", "{}:RF:1")),
    Prompt("^why$", "choice", {"^choice": "o", "^Take this": "n"}),
    Prompt("^why$", "fresh", {r"^RF \(": "changed RF camber +0.5"}),
    Prompt("^why move on", "choice", {"^choice": "m", "^Go on like": "n"}),
    Prompt("^Go on like this", "choice", {"^choice": "m"}),
    Prompt("^This ends the day", "confirm", {r"^RF \(": "m"}),
    Prompt("^take or leave", "offer", shapes=("{}", "? {}")),
    Prompt("^made", "change", shapes=("{}", "camber:RF:{}")),
    Prompt("^Is that right", "change", {"^made": "0.5"}),
    Prompt("^Take the choice back", "change", {"^made": "b"}),
    Prompt(
        "^Was that really",
        "made",
        {r"^RF \(": f"240 215 197 {IN_BAND[12:]}"},
        ("{}", "camber:RF:{}"),
    ),
    Prompt("^which step", "choice", {"^choice": "amend", "^Correct it like": "n"}, ("{}", "1 {}")),
    Prompt(
        "^step 1 should be",
        "change",
        {"^made": "amend 1", "^Correct it like": "n"},
        ("{}", "RF {} 1 2", *EXTRAS),
    ),
    Prompt("^step 3 should be", "made", {r"^RF \(": "amend 3"}, ("{}", "actual camber:RF:{}")),
    Prompt("^Correct it like", "confirm", {r"^RF \(": "amend run 1 RF 215 214 213"}),
    Prompt("^drive", "rehearsal"),
    Prompt("tries again", "choice", trouble="refused"),
    Prompt("^try again", "choice", trouble="full"),
    Prompt("^another place", "choice", {"^try again": "s"}, trouble="full"),
    Prompt("^Is it the run", "fresh", trouble="overtaken"),
)


@attrs.define(slots=False)
class Nobody(io.TextIOBase):
    """Somebody at the keyboard: knows the way to a prompt, and answers it as told."""

    prompt: Prompt
    answers: list[str]
    asked: str = ""
    given: int = 0
    at: set[tuple[str, int]] = attrs.field(factory=set)
    heard: list[str] = attrs.field(factory=list)
    elsewhere: int = 0
    gone: bool = False

    def readline(self, *_: Any) -> str:
        self.elsewhere += 1
        if self.gone or self.elsewhere > MOST:
            return ""
        if re.search(self.prompt.words, self.asked):
            self.elsewhere = 0
            if self.given == len(self.answers):
                self.gone = True  # the end of the input, now and at every prompt from here
                return ""
            self.given += 1
            return self.answers[self.given - 1].replace("\n", " ") + "\n"
        for words, answer in (*self.prompt.way.items(), *USUAL):
            if re.search(words, self.asked):
                turns = (answer,) if isinstance(answer, str) else answer
                passed = sum(bool(re.search(words, each)) for each in self.heard)
                return turns[min(passed, len(turns)) - 1] + "\n"
        raise AssertionError(f"nothing is known of the prompt {self.asked!r}")

    def isatty(self) -> bool:
        return False


def talked(prompt: Prompt, answers: list[str], folder: Path) -> tuple[Answer, Nobody]:
    """Have one conversation, in the plan and with the trouble that the prompt comes up in."""
    who = Nobody(prompt, answers)
    ask = prompts.Talk.ask

    def noted(self: prompts.Talk, words: str) -> str:
        who.asked = words
        who.heard.append(words)
        frame: Any = sys._getframe(1)
        while frame is not None:
            path = Path(frame.f_code.co_filename)
            if path.parent == GUIDE and path.name != "prompts.py":
                who.at.add((path.name, frame.f_lineno))
            frame = frame.f_back
        return ask(self, words)

    given = _prepared(prompt.state, folder)
    with pytest.MonkeyPatch.context() as patch, contextlib.chdir(folder):
        patch.setattr(prompts.Talk, "ask", noted)
        patch.setattr("sys.stdin", who)
        _make_trouble(prompt.trouble, patch)
        return run_command(*given), who


def _prepared(state: str, folder: Path) -> list[object]:
    """Put the files of a state into the folder; return the command to give there."""
    if state == "":
        return ["guide"]
    if state == "rehearsal":
        return ["rehearse", "--seed", "3", "--plan", "day.toml"]
    wanted = {"one": ["day"], "two": ["day", "other"]}.get(state, ["day"])
    kind = {"one": "fresh", "two": "fresh", "draft": "fresh"}.get(state, state)
    for name in wanted:
        (folder / f"{name}.toml").write_bytes(states.plan(kind))
    if state == "draft":
        half = Prompt("^LF|^RR", "fresh", {r"^RF \(": "227 215 203"})
        talked(half, [], folder)
    return ["guide"] if state in ("one", "two") else ["guide", "day.toml"]


def _make_trouble(kind: str, patch: pytest.MonkeyPatch) -> None:
    step = plans.step

    def troubled(path: Path, move: Any, **rest: Any) -> Any:
        if kind == "refused":
            raise Refusal("moved-on", "Somebody else was quicker.", where="day.toml", hint="look")
        if kind == "overtaken" and not planfile.load(path).step:
            other = run_command("record", path, *_spoiled_run())
            assert other.status == 0, other.err
            raise Refusal("moved-on", "Somebody else was quicker.", where="day.toml", hint="look")
        if kind == "full":
            raise Refusal("cannot-write", "No room is left.", where="day.toml", hint="make room")
        return step(path, move, **rest)

    if kind:
        patch.setattr(plans, "step", _only_in_guide(troubled, step))
    patch.setattr(by_the_plan, "run", _drives())


def _only_in_guide(troubled: Callable[..., Any], step: Callable[..., Any]) -> Callable[..., Any]:
    def chosen(path: Path, move: Any, **rest: Any) -> Any:
        frame: Any = sys._getframe(1)
        in_guide = Path(frame.f_code.co_filename).parent == GUIDE
        return (troubled if in_guide else step)(path, move, **rest)

    return chosen


def _spoiled_run() -> list[str]:
    from garage import RF_INNER_HOT, tire_options

    return [*tire_options(RF_INNER_HOT), "--flag", "lockup"]


def _drives() -> Callable[..., Any]:
    from garage import run, tires

    return lambda *_: run(tires())


def answers_for(prompt: Prompt) -> list[str]:
    """Return the values of `hostile` in the shapes of the prompt, some of them in the usual run."""
    values = [*hostile.NUMBERS, *hostile.TEXTS]
    every = [shape.replace("{}", value) for shape in prompt.shapes for value in values]
    few = 1 if TIMES > 1 else max(1, len(every) // 15)
    at = PROMPTS.index(prompt)
    return ["?", *(each for n, each in enumerate(every) if (n + at) % few == 0)]


@cache
def walked(prompt: Prompt) -> frozenset[tuple[str, int]]:
    """Give all answers at a prompt and check what comes of it; return where it was asked."""
    left = answers_for(prompt)
    seen: set[tuple[str, int]] = set()
    while left:
        with TemporaryDirectory() as made:
            folder = Path(made)
            answer, who = talked(prompt, left, folder)
            told = f"{prompt}: {answer.out[-1500:]} {answer.err[-3000:]}"
            assert who.given, f"never asked: {told}"
            assert answer.status in (0, 2), told
            assert "Traceback" not in answer.err, told
            assert not hostile.steers(answer.out), hostile.steers(answer.out)
            for path in folder.glob("*.toml"):
                hostile.is_sound(path)
            seen |= who.at
            left = left[who.given :]
    return frozenset(seen)


def asked_in_source() -> Iterator[tuple[str, int, int]]:
    """Yield file and lines of every place where the guide asks."""
    for path in GUIDE.glob("*.py"):
        if path.name == "talk.py":
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            whose, _, called = ast.unparse(node.func).rpartition(".")
            if called in ASKING_FOR_OTHERS or (called in ASKING and whose.endswith("talk")):
                yield path.name, node.lineno, node.end_lineno or node.lineno


@pytest.mark.more_in_sweep
@pytest.mark.parametrize("prompt", PROMPTS, ids=str)
def test_any_answer_at_a_prompt_is_taken_or_asked_again(prompt: Prompt) -> None:
    assert walked(prompt)


def test_every_prompt_is_tried() -> None:
    places = list(asked_in_source())
    assert len(places) > 20
    seen = set().union(*(walked(prompt) for prompt in PROMPTS))
    missed = [
        place
        for place in places
        if not any(name == place[0] and place[1] <= line <= place[2] for name, line in seen)
    ]
    assert not missed


KEPT_IN_DAY = ("fresh", "metric", "choice", "trims", "confirm", "offer", "change", "made")


def said_after(answer: Answer, words: str, typed: str) -> str:
    """Return what is said between an answer at a prompt and the next prompt."""
    _, found, after = answer.out.partition(f"{words}> {typed}\n")
    assert found, answer.out[-1500:]
    return after.partition("> ")[0].rpartition("\n")[0]


@pytest.mark.parametrize("prompt", PROMPTS, ids=str)
def test_a_question_mark_tells_something_and_asks_again(prompt: Prompt, tmp_path: Path) -> None:
    answer, who = talked(prompt, ["?", "?"], tmp_path)
    assert who.given == 2, answer.out[-1500:]
    at = next(n for n, words in enumerate(who.heard) if re.search(prompt.words, words))
    assert who.heard[at + 1] == who.heard[at]
    told = said_after(answer, who.heard[at], "?")
    assert len(told.split()) > 3, answer.out[-1500:]


@pytest.mark.parametrize("prompt", PROMPTS, ids=str)
def test_back_goes_back_or_says_that_there_is_nothing_to_go_back_to(
    prompt: Prompt, tmp_path: Path
) -> None:
    answer, who = talked(prompt, ["b"], tmp_path)
    assert who.given == 1, answer.out[-1500:]
    at = next(n for n, words in enumerate(who.heard) if re.search(prompt.words, words))
    said = said_after(answer, who.heard[at], "b")
    assert who.heard[at + 1 :], said
    stays = who.heard[at + 1] == who.heard[at]
    assert stays == ("nothing to go back to" in said or "the first tire" in said), said
    if prompt.trouble != "overtaken" and prompt.state in KEPT_IN_DAY:
        assert (tmp_path / "day.toml").read_bytes() == states.plan(prompt.state)


@pytest.mark.parametrize(
    ("prompt", "answers"),
    [
        (Prompt("^made", "change"), ["700", "camber:RF:11", "9" * 300]),
        (Prompt("^choice", "choice"), ["a 1 700", f"a 1 {'9' * 300}"]),
        (Prompt("^choice", "choice", {"^why$": "r"}), ["o camber:RF:11"]),
    ],
    ids=str,
)
def test_a_change_that_no_car_takes_is_asked_again(
    prompt: Prompt, answers: list[str], tmp_path: Path
) -> None:
    answer, who = talked(prompt, answers, tmp_path)
    assert answer.status == 0, answer.err
    assert who.given == len(answers), answer.out[-1000:]
    assert (tmp_path / "day.toml").read_bytes() == states.plan(prompt.state)
    assert answer.out.count("try:") >= len(answers)


WORDS = st.sampled_from(
    [
        *(
            "",
            "",
            "",
            "y",
            "n",
            "q?",
            "1",
            "2",
            "a",
            "o",
            "m",
            "?",
            "b",
            "e",
            "k",
            "s",
            "lr",
            "across",
            "imo",
        ),
        *(IN_BAND, CAMBERED, SLIPPED, "205 212 209", "RF", "LF 1 2 3", "a 1 0.25", "? 1", "rain"),
        *("pressure:RF:-1.0", "camber:RF:+0.5", "note x; y", "hot 27 34 27 32", "no hot", "laps 9"),
    ]
)


@settings(max_examples=12 * TIMES, deadline=None)
@given(
    state=st.sampled_from(["fresh", "metric", "choice", "change", "made", "confirm", "trims"]),
    lines=st.lists(st.one_of(WORDS, WORDS, hostile.any_text), max_size=25),
)
def test_any_conversation_ends_with_a_plan_that_is_sound(state: str, lines: list[str]) -> None:
    with TemporaryDirectory() as made:
        folder = Path(made)
        answer, _ = talked(Prompt("", state), lines, folder)
        assert answer.status == 0, f"{answer.out[-1500:]} {answer.err[-3000:]}"
        assert not hostile.steers(answer.out), hostile.steers(answer.out)
        hostile.is_sound(folder / "day.toml")


# --- a real terminal -------------------------------------------------------------------------


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[pexpect.spawn]:
    (tmp_path / "day.toml").write_bytes(states.plan("fresh"))
    child = pexpect.spawn(
        sys.executable,
        ["-m", "planner", "guide", "day.toml"],
        cwd=str(tmp_path),
        dimensions=(24, 80),
        encoding="utf-8",
        codec_errors="replace",
        timeout=20,
    )
    child.delaybeforesend = None
    child.expect(r"RF \(.*> ")
    yield child
    child.close(force=True)


def test_what_is_pasted_into_a_terminal_is_taken_line_by_line(terminal, tmp_path: Path) -> None:
    terminal.send("\x1b[200~227 215 203\n211 210 209\n196 195 194\n208 210 212\x1b[201~\n")
    terminal.expect("anything else> ")
    terminal.sendline("note \x16\x1b[2J [red]🏁 שלום")  # Ctrl-V takes the escape as it is
    terminal.expect("so far: note")
    shown = terminal.after
    terminal.expect("anything else> ")
    terminal.send("note " + "word " * 700 + "\n")
    terminal.expect(r"letters; all of it is kept")
    shown += terminal.before
    terminal.expect("anything else> ")
    assert "\x1b[2J" not in shown
    terminal.sendintr()
    terminal.expect(pexpect.EOF)
    assert "Traceback" not in terminal.before
    hostile.is_sound(tmp_path / "day.toml")


def test_a_terminal_that_is_cut_off_leaves_a_sound_plan(terminal, tmp_path: Path) -> None:
    # Ctrl-D in a line that is begun ends nothing, wherever lines can be edited.
    terminal.send("227 215 203\n211 210\x04\x04")
    terminal.expect("211 210")
    terminal.send("\x15")
    terminal.sendeof()
    terminal.expect(pexpect.EOF)
    assert "Traceback" not in terminal.before
    hostile.is_sound(tmp_path / "day.toml")


def test_a_terminal_that_hangs_up_leaves_a_sound_plan(terminal, tmp_path: Path) -> None:
    terminal.send("227 215 203\n211 210")
    terminal.expect("211 210")
    terminal.close()
    hostile.is_sound(tmp_path / "day.toml")
