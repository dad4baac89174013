"""What people have typed is shown as text: nothing of it is obeyed, and it breaks no line."""

import contextlib
import io
import itertools
import json
import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path

import hostile
import pytest
import states
from garage import RF_INNER_HOT, TIGHT, Answer, Crew, run_command, tires
from hypothesis import given
from hypothesis import strategies as st

from planner import commands
from planner.screen import paper
from planner.trade import plain_text

OVAL = (states.ROOT / "rules" / "paved-oval.toml").read_text("utf-8")
EVIL = (
    f"{hostile.ESCAPES}{hostile.MARKUP} {hostile.RIGHT_TO_LEFT} {hostile.EMOJI}{hostile.TEMPLATES}"
)
NAME = "\x1b[31m[red]\u202eמסלול.toml"  # a file name may hold all of this


class Terminal(io.StringIO):
    """Standard output that is a terminal."""

    def isatty(self) -> bool:
        return True


def on_terminal(*arguments: object) -> Answer:
    """Give a command as somebody at a colour terminal of 80 columns."""
    out, err = Terminal(), Terminal()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            commands.main([str(argument) for argument in arguments])
        except SystemExit as done:
            status = done.code
    assert isinstance(status, int)
    return Answer(status, out.getvalue(), err.getvalue())


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory: pytest.TempPathFactory) -> Crew:
    """A day in which everything that takes text was given the worst there is."""
    folder = tmp_path_factory.mktemp("evil")
    text = hostile.as_toml(EVIL.replace("$", "$$"))
    rules = folder / "rules.toml"
    spoilt = OVAL.replace('title = "Paved oval"', f"title = {text}")
    lines = []
    for line in spoilt.splitlines():
        key = line.partition(" = ")[0]
        lines.append(f"{key} = {text}" if key in ("source", "says") else line)
    rules.write_text("\n".join(lines), "utf-8")
    car = folder / "car.toml"
    car.write_text(f"[car]\nname = {text}\n[track]\nname = {text}\n", "utf-8")
    crew = Crew(folder / NAME)
    crew.start("--rules", rules, "--car", car, "--track", EVIL)
    crew.record(RF_INNER_HOT, "--note", EVIL, "--feel", "tight")
    crew.choose("--own", "camber:RF:0.5", "--reason", EVIL)
    crew.made()
    crew.record(tires(TIGHT), "--note", EVIL)
    assert crew.tries("amend", 1, "--note", EVIL + "2", "--reason", EVIL).status == 0
    return crew


@pytest.fixture(autouse=True)
def _eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)


VIEWS: Sequence[tuple[str, ...]] = (
    ("status", "PLAN"),
    ("why", "PLAN"),
    ("why", "PLAN", "1"),
    ("why", "PLAN", "2"),
    ("why", "PLAN", "5"),
    ("why", "PLAN", "--table"),
    ("why", "PLAN", "--knob", "camber:RF"),
    ("why", "PLAN", "--run", "1", "--against", "2"),
    ("ahead", "PLAN"),
    ("days", "FOLDER"),
    ("rules", "show", "RULES"),
    ("rules", "check", "RULES"),
    ("export", "PLAN", "--only", "readings"),
    ("export", "PLAN", "--only", "changes"),
    ("export", "PLAN", "--as", "json"),
    ("record", "PLAN", "--note", "x"),
    ("start", "PLAN"),
    ("status", "FOLDER/\x1b[2J\u202e.toml"),
    ("start", "FOLDER/new.toml", "--rules", "\x1b[2J\u202e[/]"),
    ("choose", "PLAN", "\x1b[2J\u202e[/]"),
    ("status", "PLAN", "\x1b[2J\u202e[/]"),
    ("status", "PLAN", "--\x1b[2J\u202e[/]"),
    ("\x1b[2J\u202e[/]",),
)
TABLES = ("days", "export", "rules")  # lines that are as wide as what they hold


def given_to(view: Sequence[str], crew: Crew) -> list[str]:
    folder = str(crew.path.parent)
    names = {"PLAN": str(crew.path), "RULES": str(crew.path.parent / "rules.toml")}
    return [names.get(word, word.replace("FOLDER", folder)) for word in view]


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: " ".join(view).encode("unicode_escape"))
@pytest.mark.parametrize("ask", [on_terminal, run_command], ids=["terminal", "pipe"])
def test_nothing_that_was_typed_steers_the_terminal(spoilt: Crew, view, ask) -> None:
    answer = ask(*given_to(view, spoilt))
    assert answer.status in (0, 2), answer.err
    assert answer.out or answer.err
    coloured = ask is on_terminal
    for shown in (answer.out, answer.err):
        assert not hostile.steers(shown, coloured=coloured), hostile.steers(
            shown, coloured=coloured
        )
        assert "\x1b]8" not in shown  # no link
    if view[0] not in TABLES and answer.status == 0:
        for row in uncoloured(answer.out).splitlines():
            assert hostile.cells(row) <= 80, row


@pytest.mark.parametrize("view", [v for v in VIEWS if "status" in v or "why" in v or "amend" in v])
def test_json_escapes_what_could_steer_a_terminal(spoilt: Crew, view) -> None:
    answer = run_command(*given_to(view, spoilt), "--json")
    assert not hostile.steers(answer.out), hostile.steers(answer.out)
    assert isinstance(answer.data, dict)


def uncoloured(shown: str) -> str:
    return hostile.OUR_OWN.sub("", shown)


def packed(text: str) -> str:
    return "".join(text.split())


def test_markup_and_templates_are_shown_as_they_were_typed(spoilt: Crew) -> None:
    told = packed(uncoloured(on_terminal("why", spoilt.path, "2").out))
    for typed in (hostile.MARKUP, hostile.TEMPLATES, "🏁👨👩👧👦🔥"):
        assert packed(typed) in told
    told = packed(uncoloured(on_terminal("status", spoilt.path, "--full").out))
    assert told.count(packed(hostile.MARKUP)) >= 3  # car, track, note


def test_a_long_note_is_shown_in_short_and_kept_whole(crew: Crew) -> None:
    note = "brake bias two clicks forward, pulls left on the straight; " * 170
    crew.start()
    crew.record(RF_INNER_HOT, "--note", note[:10_000])
    rows = run_command("status", crew.path, "--full").out.splitlines()
    (at,) = [n for n, row in enumerate(rows) if "Note:" in row]
    end = next(n for n, row in enumerate(rows) if "10000 letters" in " ".join(rows[n : n + 2]))
    assert end - at < 8
    assert max(map(len, rows)) <= 80
    whole = packed(run_command("why", crew.path, 1).out)
    assert packed(note[:10_000]) in whole
    assert (
        packed(note[:10_000])
        not in packed(run_command("why", crew.path).out + "x")[:0] + whole[:100]
    )
    answer = crew.tries("amend", 1, "--note", note + "x" * 100, "--reason", "r")
    assert (answer.status, answer.error["code"], answer.error["where"]) == (2, "too-long", "--note")


def test_a_note_of_one_endless_word_is_folded(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT, "--note", "x" * 10_000)
    for command in (
        ("status", crew.path),
        ("status", crew.path, "--full"),
        ("why", crew.path),
        ("why", crew.path, 1),
    ):
        rows = run_command(*command).out.splitlines()
        assert max(map(len, rows)) <= 80


def test_wide_letters_keep_the_columns_of_a_table(tmp_path: Path) -> None:
    for name, track in (("a", "🏁🏁🏁"), ("b", "富士スピードウェイ"), ("c", "Elm")):
        Crew(tmp_path / f"{name}.toml").start("--track", track)
    rows = [row for row in run_command("days", tmp_path).out.splitlines() if ".toml" in row]
    starts = {hostile.cells(row[: row.index("camber")]) for row in rows}
    assert len(rows) == 3
    assert len(starts) == 1, rows


def strong(row: str) -> Iterator[tuple[str, str]]:
    """Yield the letters and digits of a row with their direction."""
    for letter in row:
        kind = unicodedata.bidirectional(letter)
        if kind in ("L", "R", "AL", "EN", "AN"):
            yield letter, kind


def test_after_right_to_left_text_a_latin_word_comes_before_any_number(tmp_path: Path) -> None:
    """Else a terminal that turns such text would carry the number to its other side."""
    crew = Crew(tmp_path / "מסלול.toml")
    car = tmp_path / "car.txt"
    car.write_text('[car]\nname = "מכונית"\n', "utf-8")
    crew.start("--track", "מסלול מהיר", "--car", car)
    shown = run_command("days", tmp_path).out + run_command("status", crew.path).out
    turned = [row for row in shown.splitlines() if any(k == "R" for _, k in strong(row))]
    assert len(turned) >= 3
    for row in turned:
        kinds = [kind for _, kind in strong(row)]
        for before, after in itertools.pairwise(kinds):
            assert not (before in ("R", "AL") and after in ("EN", "AN")), row


@given(text=st.text(max_size=80))
def test_any_text_is_one_plain_line(text: str) -> None:
    line = paper.clean(text)
    assert not hostile.steers(line)
    assert "\n" not in line
    line.encode()  # no halves of characters
    assert paper.clean(line) == line
    assert json.loads(plain_text.as_json({"x": text})) == {"x": text}
    assert not hostile.steers(plain_text.as_json({"x": text}))


def test_a_stdout_of_few_letters_still_gets_json(
    monkeypatch: pytest.MonkeyPatch, begun: Crew
) -> None:
    begun.record(RF_INNER_HOT, "--note", "95 °F → hot 🏁")
    raw = io.BytesIO()
    narrow = io.TextIOWrapper(raw, encoding="ascii", newline="")
    monkeypatch.setattr("sys.stdout", narrow)
    with pytest.raises(SystemExit):
        commands.main(["why", str(begun.path), "--json"])
    narrow.flush()
    assert "95 °F → hot 🏁" in json.dumps(json.loads(raw.getvalue()), ensure_ascii=False)
