"""TOML as it is written, read back by the reader of the standard library."""

import tomllib
from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from planner.files import toml_text

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
values = st.one_of(
    texts,
    st.booleans(),
    st.integers(-(2**53), 2**53),
    st.floats(allow_nan=False, allow_infinity=False),
    st.datetimes().map(lambda moment: moment.replace(tzinfo=UTC, microsecond=0)),
)
nested = st.recursive(
    values,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(texts, nested, max_size=6))
def test_what_is_written_reads_the_same(tables) -> None:
    assert tomllib.loads(toml_text.dumps(tables)) == tables


def test_a_step_is_a_few_lines() -> None:
    step = {
        "kind": "run",
        "time": datetime(2024, 5, 4, 9, 30, tzinfo=UTC),
        "tires": {"LF": (194.0, 195.0, 200.0), "RF": (232.0, 225.5, 215.0)},
        "laps": [17.92, 17.61],
    }
    plan = {"format": 1, "car": {"scales": {"LF": 700.0}}, "step": [step]}
    assert toml_text.dumps(plan).splitlines() == [
        "format = 1",
        "",
        "[car]",
        "scales = {LF = 700}",
        "",
        "[[step]]",
        'kind = "run"',
        "time = 2024-05-04 09:30:00+00:00",
        "tires = {LF = [194, 195, 200], RF = [232, 225.5, 215]}",
        "laps = [17.92, 17.61]",
    ]
