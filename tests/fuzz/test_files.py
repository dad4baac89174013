"""Rules, car and taught files are data: hostile ones are refused by key, none is executed."""

import copy
import os
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hostile
import pytest
import states
import tomli_w
from garage import RF_INNER_HOT, TIGHT, Crew, run_command, tires
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_options import TIMES

from planner.car import car_file
from planner.learning import taught
from planner.rulebook import checks

OVAL = tomllib.loads((states.ROOT / "rules" / "paved-oval.toml").read_text("utf-8"))
CAR = tomllib.loads((states.SAMPLES / "river-bend-car.toml").read_text("utf-8"))
BAD_NUMBERS = (float("nan"), float("inf"), 10**400, 1e308, float("-inf"), -1e308)
PATIENCE = 10.0  # s of the processor's work for one command with rules of the largest size


def leaves(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the path of every value that is no table."""
    if isinstance(data, dict | list):
        for key, value in data.items() if isinstance(data, dict) else enumerate(data):
            yield from leaves(value, (*path, key))
    else:
        yield path


def put(data: Any, path: tuple[Any, ...], value: Any) -> Any:
    """Return a copy with one value another."""
    new = at = copy.deepcopy(data)
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    return new


def numbers_of(data: Any) -> list[tuple[Any, ...]]:
    return [
        path
        for path in leaves(data)
        if isinstance(read(data, path), int | float) and path != ("format",)
    ]


def read(data: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        data = data[key]
    return data


def key_of(path: tuple[Any, ...]) -> str:
    return next(str(key) for key in reversed(path) if isinstance(key, str))


# --- numbers ---------------------------------------------------------------------------------


@pytest.mark.more_in_sweep
@pytest.mark.parametrize("value", BAD_NUMBERS[:: 1 if TIMES > 1 else 3], ids=str)
def test_no_number_of_the_rules_is_one_that_would_make_them_never_show(value: float) -> None:
    paths = numbers_of(OVAL)
    assert len(paths) > 100
    for path in paths:
        problems, book = checks.examine(put(OVAL, path, value))
        assert book is None, path
        assert any(key_of(path) in problem for problem in problems), (path, problems)


@pytest.mark.parametrize("value", BAD_NUMBERS, ids=str)
def test_no_number_of_a_car_file_is_infinite_or_none(value: float) -> None:
    paths = numbers_of(CAR)
    assert len(paths) > 40
    for path in paths:
        problems, car = car_file.examine(put(CAR, path, value))
        assert car is None, path
        assert any(key_of(path) in problem for problem in problems), (path, problems)


TAUGHT = {
    "format": 1,
    "car": "c",
    "rules": "paved-oval",
    "turns": "left",
    "date": "2024-05-04",
    "runs": 3,
    "told": {"answers": ["camber.RF split.RF"], "rows": [[2.5, 0.5]]},
}


@pytest.mark.parametrize("value", BAD_NUMBERS, ids=str)
def test_no_number_of_a_taught_file_is_infinite_or_none(tmp_path: Path, value: float) -> None:
    path = tmp_path / "taught.toml"
    for at in (0, 1):
        path.write_text(tomli_w.dumps(put(TAUGHT, ("told", "rows", 0, at), value)), "utf-8")
        answer = run_command("start", tmp_path / "d.toml", "--taught", path, "--json")
        assert answer.status == 2
        assert "told.rows[1]" in answer.error["message"]
        assert answer.error["try"]


def test_steps_so_small_that_trying_them_would_take_all_day_are_refused() -> None:
    for path, value in (
        (("adjustment", "camber", "step"), 1e-9),
        (("adjustment", "camber", "step"), 5e-324),
        (("adjustment", "spring-rf", "most"), 1e7),
    ):
        problems, _ = checks.examine(put(OVAL, path, value))
        assert any(f"adjustment.{path[1]}.{path[2]}" in problem for problem in problems), problems
    for step in (1e-9, 5e-324, 0.0, -1.0):
        problems, _ = car_file.examine(put(CAR, ("limits", "camber", "step"), step))
        assert any(problem.startswith("limits.camber.step") for problem in problems)


# --- names and texts -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    ["", " ", "a:b", "a b", "\x1b[2J", "раved-oval", "a\u202eb", "x" * 61, "../x", "{0}", "a\nb"],
)
def test_a_name_in_the_rules_is_letters_that_cannot_be_mistaken(name: str) -> None:
    for path in (("id",), ("pattern", 0, "id")):
        problems, book = checks.examine(put(OVAL, path, name))
        assert book is None
        assert any("is no name" in problem for problem in problems)
    renamed = put(OVAL, ("adjustment", name), OVAL["adjustment"]["camber"])
    assert any("is no name" in problem for problem in checks.examine(renamed)[0])


@pytest.mark.parametrize("key", ["says", "source"])
def test_a_text_of_the_rules_is_no_book(key: str) -> None:
    problems, _ = checks.examine(put(OVAL, ("pattern", 0, key), "x" * 2001))
    assert any(f"pattern[1].{key}" in problem for problem in problems)


def test_names_of_a_car_have_room_on_the_screen() -> None:
    for path in (("car", "name"), ("track", "name")):
        assert car_file.examine(put(CAR, path, "x" * 301))[1] is None
        assert car_file.examine(put(CAR, path, "x" * 300))[1] is not None


def test_texts_of_the_rules_are_filled_in_and_not_executed(crew: Crew, tmp_path: Path) -> None:
    says = "{0.__class__} {corner.__init__.__globals__} %(corner)s {{ 7*7 }} `id` $$(id) $corner"
    rules = put(OVAL, ("pattern", 0, "says"), says)
    crew.start("--rules", written(tmp_path, rules))
    (shown,) = crew.record(RF_INNER_HOT)["patterns"]
    filled, _, means = shown["says"].removeprefix("RF: ").rpartition(": ")
    assert means == "too much negative camber"
    assert filled == says.replace("$$", "$").replace("$corner", "RF")


@pytest.mark.parametrize(
    "says", ["$corner.__class__", "${corner.__class__}", "${0}", "$ {x}", "$__init__"]
)
def test_a_placeholder_reaches_nothing_but_its_own_words(says: str) -> None:
    data = put(OVAL, ("pattern", 0, "says"), says)
    problems, book = checks.examine(data)
    # "$corner.__class__" is the corner, then words; everything else is none.
    assert (book is not None) == says.startswith("$corner"), problems


def written(folder: Path, data: Any, name: str = "rules.toml") -> Path:
    path = folder / name
    path.write_text(tomli_w.dumps(data), "utf-8")
    return path


# --- size and time ---------------------------------------------------------------------------


def test_more_patterns_than_are_looked_at_are_refused_in_a_word(tmp_path: Path) -> None:
    many = put(OVAL, ("pattern",), [OVAL["pattern"][0] | {"id": f"p{n}"} for n in range(500)])
    began = time.process_time()
    answer = run_command("rules", "check", written(tmp_path, many), "--json")
    assert (answer.status, answer.error["code"]) == (3, "bad-rules")
    assert "pattern: 500 of them; at most 60" in answer.error["message"]
    assert time.process_time() - began < PATIENCE
    for key, held in (
        ("adjustment", {f"a{n}": OVAL["adjustment"]["camber"] for n in range(61)}),
        ("figures", ["balance"] * 13),
        ("offers", [{"use": "camber"}] * 13),
    ):
        path = (key,) if key == "adjustment" else ("pattern", 0, key)
        assert (
            f"at most {60 if key == 'adjustment' else 12}"
            in checks.examine(put(OVAL, path, held))[0][0]
        )


def test_a_file_of_mistakes_is_not_poured_over_the_screen(tmp_path: Path) -> None:
    path = written(tmp_path, OVAL | {f"key{n}": n for n in range(80)})
    answer = run_command("rules", "check", path)
    assert answer.status == 3
    assert len(answer.err.splitlines()) < 60
    assert "more" in answer.err


@pytest.mark.all_draws
def test_rules_of_the_largest_size_still_judge_a_run(crew: Crew, tmp_path: Path) -> None:
    """As many patterns, offers and steps as are taken, and one fault at every corner."""
    camber, hot = OVAL["adjustment"]["camber"], OVAL["pattern"][0]
    fine = {f"a{n}": camber | {"step": 0.1, "most": 10.0} for n in range(58)}
    full = [
        hot | {"id": f"p{n}", "offers": [{"use": f"a{m}"} for m in range(12 if n < 3 else 4)]}
        for n in range(4)
    ]
    rest = [hot | {"id": f"q{n}", "stage": "corners", "offers": []} for n in range(56)]
    for each in rest[:40]:
        each["offers"] = [{"use": "camber"}]
    for each in rest[40:]:
        del each["stage"]
    both = {"camber": camber, "pressure": OVAL["adjustment"]["pressure"]}
    data = OVAL | {"adjustment": fine | both, "pattern": [*full, *rest]}
    assert len(data["adjustment"]) == checks.MOST_ADJUSTMENTS
    assert len(data["pattern"]) == checks.MOST_PATTERNS
    crew.start("--rules", written(tmp_path, data))
    began = time.process_time()
    shown = crew.record(tires(split=dict.fromkeys(("LF", "RF", "LR", "RR"), 20.0)))
    took = time.process_time() - began
    assert len(shown["patterns"]) > 200
    assert took < 3 * PATIENCE, took


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 50_000,
        "a = " + "{x = " * 20_000,
        ".".join("a" * 20_000) + " = 1",
        "[" + ".".join("a" * 20_000) + "]",
        "format = 0x" + "f" * 100_000,
        "format = " + "9" * 5000,
        'id = """' + "x" * 3_000_000,
        "x = 1\n" * 50_000,
        "".join(f"k{n} = 1\n" for n in range(100_000)),
        "[[pattern]]\n" * 100_000,
        "laps = 1e999999999",
        "noise = {reading = nan, run = nan}",
        "pattern = [[[[[[]]]]]]",
        "pattern = [{figures = {}}, 5, [], {id = []}]",
        "adjustment = {camber = 5, x = {effect = 7}, y = {effect = {a = 1}}}",
        "id = 2024-05-04T09:00:00Z",
        "\x00",
        "extends = '/etc/passwd'\ninclude = ['/etc/shadow']",
        "__class__ = 1\n__init__ = {__globals__ = 1}",
    ],
    ids=range(19),
)
def test_a_hostile_rules_file_is_refused_soon(tmp_path: Path, text: str) -> None:
    path = tmp_path / "rules.toml"
    path.write_text(text, "utf-8")
    began = time.process_time()
    answer = run_command("rules", "check", path, "--json")
    assert time.process_time() - began < PATIENCE
    assert answer.status == 3, answer.err
    assert answer.error["message"]
    assert str(path) in answer.error["where"]
    assert len(answer.out) < 20_000


@pytest.mark.parametrize(
    "target", ["/dev/zero", "/dev/random", "/dev/stdin", "/proc/self/mem", "/"]
)
@pytest.mark.parametrize("kind", ["--rules", "--car", "--taught", "--from", "plan"])
def test_a_link_to_no_ordinary_file_does_not_hang(tmp_path: Path, target: str, kind: str) -> None:
    link = tmp_path / "evil.toml"
    link.symlink_to(target)
    answer = {
        "--from": lambda: run_command("record", written_plan(tmp_path), "--from", link, "--json"),
        "plan": lambda: run_command("status", link, "--json"),
    }.get(kind, lambda: run_command("start", tmp_path / "n.toml", kind, link, "--json"))()
    assert answer.status in (2, 3), answer.err
    assert answer.error["message"]


def written_plan(folder: Path) -> Path:
    path = folder / "day.toml"
    path.write_bytes(states.plan("fresh"))
    return path


@pytest.mark.parametrize("kind", ["--rules", "--car", "--from"])
def test_a_pipe_that_nobody_writes_to_does_not_hang(tmp_path: Path, kind: str) -> None:
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    if kind == "--from":
        answer = run_command("record", written_plan(tmp_path), "--from", pipe, "--json")
    else:
        answer = run_command("start", tmp_path / "n.toml", kind, pipe, "--json")
    assert answer.status in (2, 3)


# --- anything in any place -------------------------------------------------------------------

ANY_VALUE = st.one_of(
    st.floats(),
    st.integers(),
    st.booleans(),
    hostile.any_text,
    st.lists(st.integers(), max_size=3),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
    st.sampled_from([-1.0, 0, 1e-6, 0.5, 1e3, "RF", "same", "car", "camber", "above", "+"]),
)


def as_a_file(data: Any) -> Any:
    """Return the tables as they are read back from a file; None where they cannot be in one."""
    try:
        return tomllib.loads(tomli_w.dumps(data))
    except (TypeError, ValueError):
        return None


def spoiled(data: Any, spots: list[tuple[Any, Any]]) -> Any:
    """Return the tables with some values another, as `as_a_file` has them."""
    for path, value in spots:
        data = put(data, path, value)
    return as_a_file(data)


@settings(
    max_examples=30 * TIMES,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    spots=st.lists(
        st.tuples(st.sampled_from(list(leaves(OVAL))), ANY_VALUE), min_size=1, max_size=3
    )
)
def test_rules_that_are_taken_can_be_used(tmp_path: Path, spots: list[tuple[Any, Any]]) -> None:
    data = spoiled(OVAL, spots)
    if data is None:
        return
    problems, book = checks.examine(data)
    assert (book is None) == bool(problems)
    if book is None:
        return
    crew = Crew(tmp_path / "day.toml")
    for old in tmp_path.glob("day*"):
        old.unlink()
    started = run_command("start", crew.path, "--rules", written(tmp_path, data), "--json")
    assert started.status in (0, 2), started.err  # 2: for tracks that turn otherwise
    if started.status:
        return
    for readings in (RF_INNER_HOT, tires(TIGHT)):
        status = crew.record(readings)
        if status["candidates"]:
            crew.changed()
        hostile.is_sound(crew.path)


@settings(
    max_examples=25 * TIMES,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    spots=st.lists(st.tuples(st.sampled_from(list(leaves(CAR))), ANY_VALUE), min_size=1, max_size=3)
)
def test_a_car_file_that_is_taken_can_be_used(tmp_path: Path, spots: list[tuple[Any, Any]]) -> None:
    data = spoiled(CAR, spots)
    if data is None:
        return
    problems, car = car_file.examine(data)
    assert (car is None) == bool(problems)
    if car is None:
        return
    crew = Crew(tmp_path / "day.toml")
    for old in tmp_path.glob("day*"):
        old.unlink()
    crew.start("--car", written(tmp_path, data, "car.txt"))
    status = crew.record(tires(TIGHT))
    if status["candidates"]:
        crew.choose(1)
    hostile.is_sound(crew.path)


def test_a_taught_file_that_is_sound_is_taken(tmp_path: Path) -> None:
    path = written(tmp_path, TAUGHT, "taught.toml")
    assert len(taught.read(path).told.rows) == 1
