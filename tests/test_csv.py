"""Readings in CSV, in the layouts crews and loggers keep them."""

import contextlib
from pathlib import Path

import pytest
from garage import Answer, Crew
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.run import csv_file, from_options
from planner.trade.corners import CORNERS, STRIPS
from planner.trade.refusals import Refusal

TIRES = {
    "LF": (205.0, 212.0, 209.0),
    "RF": (225.0, 224.0, 221.0),
    "LR": (198.0, 200.0, 197.0),
    "RR": (208.0, 210.0, 206.0),
}
WIDE_HEADS = [f"{c}_{s}" for c in CORNERS for s in STRIPS]
WIDE_ROW = [f"{value:g}" for three in TIRES.values() for value in three]


def celsius(value: float) -> str:
    return f"{(value - 32) * 5 / 9:.4f}"


def recorded(crew: Crew, content: str | bytes, *options: object) -> Answer:
    """Record from a table, as a run that judges nothing, so that another may follow."""
    table = crew.path.with_name("run.csv")
    table.write_bytes(content if isinstance(content, bytes) else content.encode())
    return crew.tries("record", "--from", table, "--flag", "lockup", *options)


def taken(answer: Answer) -> dict[str, list[float]]:
    assert answer.status == 0, answer.out
    return answer.data["readings"]


def same(found: dict[str, list[float]]) -> None:
    for corner, three in TIRES.items():
        assert found[corner] == pytest.approx(three, abs=1e-3)


def table(heads: list[str], rows: list[list[str]], comma: str = ",") -> str:
    return "".join(comma.join(row) + "\n" for row in (heads, *rows))


LONG = [[c, s, f"{TIRES[c][n]:g}"] for c in CORNERS for n, s in enumerate(STRIPS)]


@pytest.mark.parametrize(
    "content",
    [
        table(["temperature", "corner", "position"], [[v, c, s] for c, s, v in LONG]),
        table(["Tire", "Pos", "Temp"], LONG[::-1]),
        table(["corner", "position", "temperature"], LONG, "\t"),
        table(["corner", "position", "temperature"], LONG, ";").replace("205", "205,0"),
        "sep=;\n" + table(["corner", "position", "temperature"], LONG, ";"),
        table(
            ["wheel", "edge", "reading"],
            [[{"L": "left ", "R": "right "}[c[0]] + {"F": "front", "R": "rear"}[c[1]], s[0], v]
             for c, s, v in LONG],
        ),
        table(["outer", "corner", "inner", "middle"],
              [[f"{o:g}", c, f"{i:g}", f"{m:g}"] for c, (i, m, o) in TIRES.items()]),
        table(["Tire", "In", "Mid", "Out"],
              [[c, *(f"{v:g}" for v in three)] for c, three in TIRES.items()]),
        table(WIDE_HEADS, [WIDE_ROW]),
        table(WIDE_HEADS[::-1], [WIDE_ROW[::-1]], "\t"),
        table([f"{c} {s}" for c in CORNERS for s in STRIPS], [WIDE_ROW]),
        table([f"{c}{s}" for c in CORNERS for s in "IMO"], [WIDE_ROW]),
        table([f"{s}-{c.lower()}" for c in CORNERS for s in ("in", "mid", "out")], [WIDE_ROW]),
        table([f"{s} {c} temp (°F)" for c in CORNERS for s in STRIPS], [WIDE_ROW]),
        table(WIDE_HEADS, [[f"{v},0" for v in WIDE_ROW]], ";"),
        table(WIDE_HEADS, [WIDE_ROW]).encode("utf-16"),
        "\n\n" + table(WIDE_HEADS, [WIDE_ROW]).replace("\n", "\r\n"),
    ],
)  # fmt: skip
def test_every_layout_gives_the_same_readings(begun: Crew, content: str | bytes) -> None:
    same(taken(recorded(begun, content)))


@pytest.mark.parametrize(
    "heads",
    [["corner", "position", "temperature (°C)"], ["corner", "position", "temp_c"],
     ["corner", "position", "Temp [deg C]"], ["corner", "position", "tire temp, Celsius"]],
)  # fmt: skip
def test_celsius_in_the_header_wins_over_a_plan_in_fahrenheit(begun: Crew, heads) -> None:
    rows = [[c, s, celsius(float(v))] for c, s, v in LONG]
    heads = [head.replace(",", "") for head in heads]
    same(taken(recorded(begun, table(heads, rows))))


def test_fahrenheit_in_the_header_wins_over_a_metric_plan(crew: Crew) -> None:
    crew.start("--units", "metric")
    same(taken(recorded(crew, table(["corner", "position", "temp (F)"], LONG))))


def test_without_a_unit_the_plan_decides(crew: Crew) -> None:
    crew.start("--units", "metric")
    rows = [[c, s, celsius(float(v))] for c, s, v in LONG]
    same(taken(recorded(crew, table(["corner", "position", "temperature"], rows))))


def test_a_unit_a_column_a_row_or_a_number_is_heeded(begun: Crew) -> None:
    heads = [h + "_c" if h.startswith("LF") else h for h in WIDE_HEADS]
    row = [celsius(float(v)) if n < 3 else v for n, v in enumerate(WIDE_ROW)]
    same(taken(recorded(begun, table(heads, [row]))))
    rows = [[c, s, v, "degF"] if c != "RR" else [c, s, celsius(float(v)), "°C"] for c, s, v in LONG]
    same(taken(recorded(begun, table(["corner", "position", "temp", "unit"], rows))))


def test_the_degree_sign_of_older_programs_is_read(begun: Crew) -> None:
    rows = [[c, s, celsius(float(v))] for c, s, v in LONG]
    content = table(["corner", "position", "temperature (°C)"], rows).encode("latin-1")
    same(taken(recorded(begun, content)))


def test_columns_that_are_not_read_are_named(begun: Crew) -> None:
    rows = [["x", *row, "7"] for row in LONG]
    answer = recorded(begun, table(["who", "corner", "position", "temp", "LF psi"], rows))
    same(taken(answer))
    assert "Columns not read: who, LF psi." in answer.err


def test_a_row_a_run_takes_the_last_or_the_one_asked_for(begun: Crew) -> None:
    other = ["190"] * 12
    content = table(["time", *WIDE_HEADS], [["9:00", *WIDE_ROW], ["9:40", *other]])
    assert taken(recorded(begun, content))["RF"] == [190.0] * 3
    answer = recorded(begun, content, "--row", 1)
    same(taken(answer))
    assert "holds 2 runs; number 1 was read (row 2)" in answer.err


def test_a_column_called_run_keeps_runs_apart(begun: Crew) -> None:
    rows = [["3", *row] for row in LONG] + [["4", c, s, "190"] for c, s, _ in LONG]
    content = table(["run", "corner", "position", "temperature"], rows)
    assert taken(recorded(begun, content))["LF"] == [190.0] * 3
    same(taken(recorded(begun, content, "--row", 1)))


@pytest.mark.parametrize("row", [0, 3, -1])
def test_a_run_that_is_not_in_the_file_is_refused(begun: Crew, row: int) -> None:
    before = begun.text()
    answer = recorded(begun, table(WIDE_HEADS, [WIDE_ROW, WIDE_ROW]), "--row", row)
    assert (answer.status, answer.error["where"]) == (2, "--row")
    assert begun.text() == before


def test_row_without_a_file_or_for_one_run_is_refused(begun: Crew) -> None:
    assert begun.tries("record", "--row", 1).error["where"] == "--row"
    assert (
        recorded(begun, table(["corner", "inner", "middle", "outer"], []), "--row", 2).status == 2
    )


@pytest.mark.parametrize(
    ("content", "where"),
    [
        (table(WIDE_HEADS, [[*WIDE_ROW[:4], "hot", *WIDE_ROW[5:]]]), "row 2, column RF_middle"),
        (table(WIDE_HEADS, [WIDE_ROW[:-1]]), "row 2"),
        (table(WIDE_HEADS, [[*WIDE_ROW, "5"]]), "row 2"),
        (table(WIDE_HEADS, []), "run.csv"),
        (table(WIDE_HEADS[1:], [WIDE_ROW[1:]]), "run.csv"),
        (table(["LF_in", *WIDE_HEADS], [["1", *WIDE_ROW]]), "column LF_inner"),
        (table(["corner", "position", "temp"], [*LONG, LONG[0]]), "row 14"),
        (table(["corner", "position", "temp"], [["XX", "inner", "200"]]), "row 2, column corner"),
        (table(["corner", "position", "temp"], [["LF", "top", "200"]]), "row 2, column position"),
        (
            table(["corner", "position", "temp_c"], [["LF", "inner", "hot"]]),
            "row 2, column temp_c",
        ),
        (table(["corner", "position", "temp", "unit"], [["LF", "inner", "2", "K"]]), "column unit"),
        (table(["corner", "position", "temp_c", "temp_f"], []), "column temp_f"),
        (table(["LF", "RF", "LR", "RR"], [["1", "2", "3", "4"]]), "row 1"),
        ("\n\nname,colour\n", "row 3"),
        (b"corner,inner\xff\xfe", "run.csv"),
        (b"\xff\xfea", "run.csv"),
    ],
)
def test_what_cannot_be_used_is_named_by_row_and_column(begun: Crew, content, where) -> None:
    before = begun.text()
    answer = recorded(begun, content)
    assert answer.status == 2
    assert where in answer.error["where"]
    assert answer.error["message"]
    assert begun.text() == before


def test_options_beside_the_file_win(begun: Crew) -> None:
    content = table(WIDE_HEADS, [WIDE_ROW])
    answer = recorded(begun, content, *(f"--tire={c}=200/200/200" for c in CORNERS))
    assert answer.data["readings"]["RF"] == [200.0] * 3
    assert answer.data["void"] == "the brakes were locked"


@settings(max_examples=60, deadline=None)
@given(
    heads=st.permutations(WIDE_HEADS),
    comma=st.sampled_from([",", ";", "\t"]),
    data=st.lists(st.floats(-30, 300), min_size=12, max_size=12),
    metric=st.booleans(),
)
def test_any_order_of_columns_gives_each_reading_its_place(
    tmp_path_factory: pytest.TempPathFactory, heads, comma, data, metric
) -> None:
    value = dict(zip(WIDE_HEADS, (round(each, 2) for each in data), strict=True))
    point = "," if comma != "," else "."
    row = [f"{value[head]:.2f}".replace(".", point) for head in heads]
    path = tmp_path_factory.mktemp("csv") / "run.csv"
    path.write_text(table([f"{h}{'_c' if metric else ''}" for h in heads], [row], comma), "utf-8")
    run = from_options.from_options(from_options.from_file(path, "us").texts, "us")
    for corner in CORNERS:
        for strip, found in zip(STRIPS, run.tires[corner], strict=True):
            wanted = value[f"{corner}_{strip}"]
            wanted = wanted * 9 / 5 + 32 if metric else wanted
            assert found == pytest.approx(wanted, abs=1e-5)


@settings(max_examples=150, deadline=None)
@given(content=st.one_of(st.binary(max_size=200), st.text(max_size=200).map(str.encode)))
def test_any_file_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    path: Path = tmp_path_factory.mktemp("csv") / "run.csv"
    path.write_bytes(content)
    with contextlib.suppress(Refusal):
        assert len(csv_file.read(path).tires) == 4
