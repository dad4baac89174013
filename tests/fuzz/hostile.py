"""What nobody in his right mind would type, and how to tell that it was only shown.

Shared by the tests of this folder. Some of it is what tired people do type.
"""

import math
import os
import re
import tomllib
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import tomli_w
from hypothesis import strategies as st

from planner.car.changes import Change
from planner.plan.steps import AmendStep, ChoiceStep, MadeStep, Plan, RunStep
from planner.run.readings import Run
from planner.storage import planfile
from planner.trade import knobs

ESCAPES = "\x1b[2J\x1b]0;owned\x07\x1b[31m\x9b31m\x08\x7f\x00"
MARKUP = "[bold red]x[/] [/] [link=http://x.test]y[/link] :smile: [@click=quit]z"
HTML = """<script>alert(1)</script></style></title>"'><img src=http://x.test onerror=alert(1)>"""
RIGHT_TO_LEFT = "\u202eמסלול \u2066מהיר\u2069 مضمار 205"
EMOJI = "🏁👨‍👩‍👧‍👦🔥🇺🇸"
TEMPLATES = "{0.__class__.__mro__} {{ 7 * 7 }} ${value} %(x)s %n $x^2$ \\frac{1}{2}"
FORMULA = '=HYPERLINK("http://x.test")'

NUMBERS = (
    *("nan", "-nan", "inf", "-inf", "1e308", "-1e308", "1e-320", "9" * 400, "-1", "0", "-0", "1,5"),
    *(
        "1_0",
        "0x10",
        "٣",
        "２００",
        "1e",
        "--1",
        "1 2",
        "0." + "3" * 500,
        str(10**30),
        "700",
        "-700",
        "0.0000001",
    ),
)
TEXTS = (
    *(
        "",
        " ",
        "-",
        "lots",
        "none",
        "~",
        "/",
        ".",
        "..",
        "~nobody-here/x",
        "../../../../etc/passwd",
    ),
    *(ESCAPES, MARKUP, HTML, RIGHT_TO_LEFT, EMOJI, TEMPLATES, FORMULA, "a\nb\r\nc\td", "\udcff"),
    *("x" * 10_000, "5" + " " * 1000 + "x", ";" * 3000, "=" * 3000, ":" * 3000, "/" * 3000),
    *("a\u0300" * 200, "\u2028\u2029\ufeff\u00ad", "/dev/zero", "/dev/null", "con.toml" * 40),
)

any_text = st.one_of(
    st.text(max_size=60),
    st.sampled_from(TEXTS),
    st.floats().map(repr),
    st.integers().map(str),
    st.text("0123456789.,-+eE:=/% LFR", max_size=30),
)

# Whatever steers a terminal: all control characters but the end of a line, the escape sequences
# of 7 and 8 bits with them, and what turns the direction of writing.
_STEERING = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069]")
# Colours, and the line that stands while something is worked out.
OUR_OWN = re.compile(r"\x1b\[[0-9;]*m|[A-Z][a-z ]+ …\r +\r")


def steers(shown: str, *, coloured: bool = False) -> str:
    """Return the first thing in an output that would steer a terminal, or ``""``."""
    found = _STEERING.search(OUR_OWN.sub("", shown) if coloured else shown)
    return "" if found is None else repr(shown[max(0, found.start() - 20) : found.end() + 20])


def cells(text: str) -> int:
    """Return how many columns a terminal takes for a text, by the widths Unicode gives."""
    return sum(
        0
        if unicodedata.category(letter) in ("Mn", "Me", "Cf")
        else 2
        if unicodedata.east_asian_width(letter) in "WF"
        else 1
        for letter in text
    )


def is_sound(path: Path) -> None:
    """Fail where a plan does not load, or holds a number that cannot be."""
    plan = planfile.load(path)
    for number in _numbers(tomllib.loads(path.read_text("utf-8"))):
        assert math.isfinite(number), number
        assert abs(number) < 1e6, number
    for step in plan.step:
        if isinstance(step, RunStep):
            _run_is_sound(step.run)
    for change in _changes(plan):
        assert abs(change.amount) <= knobs.of(change.knob).largest, change
        assert change.amount == round(change.amount, 6)


def _run_is_sound(run: Run) -> None:
    again = () if run.again is None else run.again.tire
    taken = [value for tire in run.tires.values() for value in tire if not math.isnan(value)]
    assert taken  # a reading that was not taken is no number; one at least was
    for value in (*again, *taken):
        assert -40 <= value <= 600, value
    for value in (*run.cold.values(), *run.hot.values()):
        assert 0 <= value <= 80, value
    for tread in (*run.tread.values(), *run.tread_before.values()):
        assert all(0 <= value <= 100 for value in tread), tread
    for weather in (run.track_temp, run.air_temp):
        assert weather is None or -60 <= weather <= 200, weather
    assert all(3 <= lap <= 1200 for lap in run.lap_times)
    assert run.laps is None or 0 <= run.laps <= 1000
    assert run.delay is None or 0 <= run.delay <= 3600
    assert len(run.note) <= 10_000


def _changes(plan: Plan) -> Iterator[Change]:
    for step in plan.step:
        if isinstance(step, MadeStep | AmendStep):
            yield from step.changes
        elif isinstance(step, ChoiceStep) and step.chosen is not None:
            yield from step.chosen.changes
        elif isinstance(step, RunStep):
            yield from step.really


def _numbers(value: Any) -> Iterator[float]:
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for each in value:
            yield from _numbers(each)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield value


def as_toml(text: str) -> str:
    """Return a text as it is written in a TOML file."""
    return tomli_w.dumps({"x": text}).removeprefix("x = ").strip()


def content(folder: Path) -> dict[str, bytes]:
    """Return what is in the files of a folder, locks left aside."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix != ".lock" and os.access(path, os.R_OK)
    }
