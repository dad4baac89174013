"""Pages and tables for other programs: what people typed is text in them and nothing else."""

import csv
import io
import math
import re
from pathlib import Path

import browser
import hostile
import matplotlib.text
import pytest
import states
from garage import RF_INNER_HOT, TIGHT, Answer, Crew, run_command, tires
from hypothesis import given, settings
from hypothesis import strategies as st
from pages import Page, asks_nothing_of_the_network

from planner.export import spreadsheet
from planner.run import csv_file
from planner.trade.refusals import Refusal

TITLE = "owned"
RUNS = (
    f"<script>document.title='{TITLE}'</script>"
    f"""<img src=x onerror="document.title='{TITLE}'">"""
    f"""</title></style></svg><svg onload="document.title='{TITLE}'">"""
)
EVIL = f"{hostile.HTML} {RUNS} javascript:alert(1) {hostile.TEMPLATES} {hostile.ESCAPES}"
TEMPLATES = states.ROOT / "planner" / "report" / "templates"


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory: pytest.TempPathFactory) -> Crew:
    """A day with plots in its report, and markup in everything that takes text."""
    folder = tmp_path_factory.mktemp("evil")
    text = hostile.as_toml(EVIL[:290])
    car = folder / "car.toml"
    car.write_text(f"[car]\nname = {text}\n[settings]\ncamber = {{RF = -3.0}}\n", "utf-8")
    crew = Crew(folder / "day <script>1.toml")
    crew.start("--car", car, "--track", EVIL[:290])
    crew.record(RF_INNER_HOT, "--note", EVIL, "--cold", "LF=20", "--lap-times", "19.8,19.9,19.8")
    crew.choose("--own", "camber:RF:0.5", "--reason", EVIL)
    crew.made()
    crew.record(tires(TIGHT), "--note", EVIL, "--hot", "LF=25")
    return crew


def paged(crew: Crew, kind: str) -> Path:
    page = crew.path.with_name(f"{kind}.html")
    answer = run_command(kind, crew.path, "-o", page, "--force", "--json")
    assert answer.status == 0, answer.out + answer.err
    return page


@pytest.fixture(scope="module", params=["report", "sheet"])
def page(request: pytest.FixtureRequest, spoilt: Crew) -> Path:
    return paged(spoilt, request.param)


def test_nothing_in_a_page_runs_or_loads(page: Path) -> None:
    source = page.read_text("utf-8")
    parsed = Page(source)
    assert not {tag for tag, _ in parsed.tags} & {"script", "iframe", "object", "embed", "img", "a"}
    for tag, attributes in parsed.tags:
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            assert "javascript:" not in (value or "")
            if name in ("href", "xlink:href", "src", "action"):
                assert (value or "").startswith("#"), (tag, name, value)
    assert asks_nothing_of_the_network(re.sub(r"&lt;.*?&gt;", "", source))
    assert "javascript:alert(1)" in parsed.text  # as text
    assert not hostile.steers(source.replace("\t", " "))


def test_nothing_typed_gets_into_the_styles(page: Path) -> None:
    (styles,) = re.findall(r"<style>\n(.*?)\n</style>", page.read_text("utf-8"), re.DOTALL)
    kind = "day" if page.stem == "report" else "sheet"
    own = [(TEMPLATES / f"{name}.css").read_text("utf-8").rstrip("\n") for name in ("house", kind)]
    assert styles.split() == "\n".join(own).split()
    for attribute in re.findall(r'style="([^"]*)"', page.read_text("utf-8")):
        assert re.fullmatch(r"[\w#:;,.() %'-]*", attribute), attribute


def test_a_page_says_itself_that_nothing_may_run(page: Path) -> None:
    (policy,) = [
        attributes["content"]
        for tag, attributes in Page(page.read_text("utf-8")).tags
        if tag == "meta" and attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy is not None
    assert policy.startswith("default-src 'none';")
    assert "script-src" not in policy


@pytest.mark.sweep
def test_in_a_browser_nothing_runs(page: Path, tmp_path: Path) -> None:
    shown = browser._run(tmp_path, "--dump-dom", page.as_uri())
    assert f"<title>{TITLE}" not in shown
    assert "javascript:alert(1)" in shown
    if page.stem == "sheet":
        return  # of the same making; a browser takes its time
    # A second wall: what got in by some fault of ours would not run either.
    source = page.read_text("utf-8").replace("</body>", f"{RUNS}</body>")
    let_in = tmp_path / "let-in.html"
    let_in.write_text(source, "utf-8")
    assert f"<title>{TITLE}" not in browser._run(tmp_path, "--dump-dom", let_in.as_uri())
    let_in.write_text(re.sub(r"<meta http-equiv[^>]*>", "", source), "utf-8")
    assert f"<title>{TITLE}" in browser._run(tmp_path, "--dump-dom", let_in.as_uri())


def test_no_word_of_the_crew_is_given_to_the_plots(
    spoilt: Crew, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lone dollar or backslash would be read as mathematics there."""
    given: set[str] = set()
    put = matplotlib.text.Text.set_text

    def noted(self: matplotlib.text.Text, text: object) -> None:
        given.add(str(text))
        put(self, text)

    monkeypatch.setattr(matplotlib.text.Text, "set_text", noted)
    paged(spoilt, "report")
    assert {"LF", "run"} <= given
    assert not {text for text in given if re.search(r"[$\\<{_^]|owned", text)}


# --- tables out ------------------------------------------------------------------------------

FORMULAS = (
    *("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "＝1", "＋1", "－1", "＠1"),
    *(
        "x;=1",
        "x; +1",
        "x\n-1",
        '";=1',
        "x\r\n@1",
        hostile.FORMULA,
        "'=1",
        "x;;\t=cmd|' /C calc'!A0",
    ),
)


@pytest.mark.parametrize("text", FORMULAS)
def test_no_text_is_run_as_a_formula_wherever_a_cell_is_seen_to_begin(text: str) -> None:
    content = spreadsheet.text(("note", "value"), [(text, -1.5)])
    for separator in (",", ";"):
        for row in csv.reader(io.StringIO(content, newline=""), delimiter=separator):
            for cell in row:
                number = re.fullmatch(r'"?-?\d+(\.\d+)?', cell.rpartition(",")[2])
                assert not re.match(r"\s*[=+\-@＝＋－＠]", cell) or number, (separator, row)
    for row in content.split("\n")[1:]:  # a reader that knows no quotation marks
        assert not re.match(r"\s*[=+@＝＋＠]", row), row
    (_, (_, value)) = csv.reader(io.StringIO(content, newline=""))
    assert value == "-1.5"


def test_every_text_of_every_table_is_made_harmless(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT, "--note", f"=1+1{hostile.ESCAPES}")
    crew.choose("--own", "camber:RF:-0.5", "--reason", "+cmd|' /C calc'!A0")
    crew.made()
    crew.record(tires(), "--note", "@x")
    crew.tries("amend", 1, "--note", "-2 turns\x00", "--reason", "=r")
    assert crew.tries("export", "-o", tmp_path / "out").status == 0
    for name in spreadsheet.TABLES:
        text = (tmp_path / "out" / f"{name}.csv").read_text("utf-8")
        assert not hostile.steers(text)
        for row in csv.reader(io.StringIO(text, newline="")):
            for cell in row:
                assert re.fullmatch(r"-?\d+(\.\d+)?", cell) or not re.match(r"\s*[=+\-@]", cell)
    changes = (tmp_path / "out" / "changes.csv").read_text("utf-8")
    assert ",-0.5," in changes  # a number stays one
    assert "'+cmd" in changes


@given(text=st.text(max_size=60))
def test_any_text_comes_back_from_a_table_in_one_cell(text: str) -> None:
    content = spreadsheet.text(("note", "value"), [(text, 2.0)])
    assert not hostile.steers(content)
    assert len(list(csv.reader(io.StringIO(content, newline="")))) == 2


# --- tables in -------------------------------------------------------------------------------

HEADS = ",".join(f"{c}_{s}" for c in ("LF", "RF", "LR", "RR") for s in ("in", "mid", "out"))
ROW = ",".join(["205"] * 12)
GOOD = f"{HEADS}\n{ROW}\n"


def recorded(crew: Crew, content: bytes) -> Answer:
    table = crew.path.with_name("run.csv")
    table.write_bytes(content)
    return crew.tries("record", "--from", table, "--flag", "lockup")


@pytest.mark.parametrize(
    ("content", "where"),
    [
        (GOOD.replace("205", "=1+1", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "=cmd|' /C calc'!A0", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "nan", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "-inf", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "1e308", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "9" * 400, 1), "row 2, column LF_in"),
        (GOOD.replace("205", "9" * 300, 1), "row 2, column LF_in"),
        (GOOD.replace("205", "2050", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "\x1b[2J", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "5" + " " * 9000 + "x", 1), "row 2, column LF_in"),
        (GOOD.replace("205", "2\x005", 1), "row 2"),
        (GOOD.encode("utf-16-le"), "row 1"),  # without its mark it is full of nulls
        (GOOD.replace("205", "205°", 1).encode("cp437"), "row 2"),
        (GOOD + "x" * 10_000_000, "run.csv"),
        (GOOD + "x" * 4_000_000, "row 3"),
        (GOOD + '"' + "x" * 19_000, "row 3"),
        (",".join("a" for _ in range(5000)) + "\n", "row 1"),
        ("a" * 30_000 + "\n", "row 1"),
        ("\n" * 1_000_000 + "a,b\n", "row 1000001"),
        (f"{HEADS},{HEADS}\n{ROW},{ROW}\n", "column LF_in"),
        (f"{HEADS},\x1b[2J{'y' * 5000}\n{ROW},1,2\n", "row 2"),
        (b"\x00" * 100, "row 1"),
        (b"PK\x03\x04\x14\x00\x06\x00" + b"\x00" * 50, "row 1"),
    ],
    ids=range(23),
)  # fmt: skip
def test_a_hostile_table_is_refused_by_row_and_column(
    begun: Crew, content: str | bytes, where: str
) -> None:
    before = begun.text()
    answer = recorded(begun, content.encode() if isinstance(content, str) else content)
    assert answer.status == 2
    error = answer.error
    assert where in error["where"]
    assert error["message"]
    assert error["try"]
    assert len(answer.out) < 4000
    assert not hostile.steers(answer.out)
    assert begun.text() == before


@pytest.mark.parametrize("mark", ["\ufeff", "\ufeffsep=,\n", "sep=,\r\n"])
def test_the_marks_of_spreadsheets_are_no_trouble(begun: Crew, mark: str) -> None:
    assert recorded(begun, f"{mark}{GOOD}".encode()).status == 0


def test_columns_not_read_are_named_in_short(begun: Crew) -> None:
    heads = ",".join(f"\x1b[31mcolumn {n} {'z' * 60}" for n in range(100))
    table = begun.path.with_name("run.csv")
    table.write_text(f"{HEADS},{heads}\n{ROW}{',' * 100}\n", "utf-8")
    answer = run_command("record", begun.path, "--from", table)
    assert answer.status == 0
    (said,) = [row for row in answer.err.splitlines() if "Columns not read" in row]
    assert len(said) < 1200
    assert said.endswith("and 80 more.")
    assert not hostile.steers(answer.err)


@settings(max_examples=60, deadline=None)
@given(cell=hostile.any_text, at=st.integers(0, 11))
def test_any_cell_is_read_or_refused_by_its_place(
    tmp_path_factory: pytest.TempPathFactory, cell: str, at: int
) -> None:
    cells = ["205"] * 12
    cells[at] = cell.encode(errors="replace").decode()
    out = io.StringIO()
    csv.writer(out).writerows([HEADS.split(","), cells])
    path = tmp_path_factory.mktemp("csv") / "run.csv"
    path.write_text(out.getvalue(), "utf-8", newline="")
    refused = None
    try:
        tires = csv_file.read(path).tires
        # An empty cell is a reading that was not taken.
        read = [value for tire in tires.values() for value in tire if not math.isnan(value)]
        assert all(-40 <= value <= 600 for value in read)
        assert len(read) == 12 or not cell.strip().strip("-")
    except Refusal as refusal:
        refused = refusal
    if refused is not None:
        assert "row " in refused.where
        assert refused.hint
        assert len(refused.message) < 400
