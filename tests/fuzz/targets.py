"""The parsers, each as a function of bytes that may only return or refuse.

`test_parsers.py` gives them what is known; `parsers.py` what a fuzzer makes of it.
"""

import contextlib
import json
import os
import tempfile
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import states

from planner.car import car_file as files_of_cars
from planner.car import changes
from planner.export import spreadsheet, status_object
from planner.files import toml_files
from planner.guide import extras, tires
from planner.learning import season, taught
from planner.learning.observed import Priors, mistakes
from planner.rehearsal import faults
from planner.rulebook import checks as rulebooks
from planner.rulebook.mirrored import for_turns
from planner.run import csv_file, driver, from_options
from planner.run import typed as entry
from planner.storage import plans, repair
from planner.trade import plain_text
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import SHARE
from planner.trade.refusals import Refusal
from planner.words import one_setting
from planner.worksheets import inputs, reading
from planner.worksheets.quantities import QUANTITIES

HERE = Path(tempfile.gettempdir()) / f"treadgate-fuzz-{os.getpid()}"


@contextlib.contextmanager
def _file(content: bytes, name: str) -> Iterator[Path]:
    """Put the bytes into a file, for parsers that read one."""
    HERE.mkdir(exist_ok=True)
    path = HERE / name
    path.write_bytes(content)
    try:
        yield path
    finally:
        for each in HERE.iterdir():
            each.unlink()
        HERE.rmdir()


def plan(content: bytes) -> None:
    """Read a plan, and say where it stands."""
    with _file(content, "day.toml") as path:
        opened = plans.open_plan(path)
    plain_text.as_json(status_object.build(opened.day, "day.toml"))


def mended(content: bytes) -> None:
    """Look a damaged plan over."""
    with _file(content, "day.toml") as path:
        repair.look_over(path)


def rules(content: bytes) -> None:
    """Read a rules file, and turn it to the right."""
    problems, book = rulebooks.examine(toml_files.parse_toml(content, "rules.toml", "rules"))
    assert (book is None) == bool(problems)
    if book is not None:
        for_turns(book, "right")


def car_file(content: bytes) -> None:
    """Read a car file, and what is on the car."""
    problems, found = files_of_cars.examine(toml_files.parse_toml(content, "car.toml", "car"))
    assert (found is None) == bool(problems)
    if found is not None:
        files_of_cars.starting_settings(found)


def taught_file(content: bytes) -> None:
    """Read what a car has taught."""
    with _file(content, "taught.toml") as path:
        found = taught.read(path)
    priors = Priors(dict.fromkeys(found.told.settings, dict.fromkeys(SHARE, Estimate(1.0, 1.0))))
    told = season.today([season.DayTold(found.date, found.told)], priors, date.max)
    assert not mistakes(told)


def run_file(content: bytes) -> None:
    """Read a run from TOML."""
    with _file(content, "run.toml") as path:
        from_options.from_options(from_options.from_file(path, "us").texts, "us")


def table(content: bytes) -> None:
    """Read the temperatures of a run from CSV."""
    with _file(content, "run.csv") as path:
        assert len(csv_file.read(path, "metric").tires) == len(CORNERS)


def typed(content: bytes) -> None:
    """Read a line in every way a line is read."""
    text = content.decode("utf-8", "replace")
    readers: tuple[Callable[[], object], ...] = (
        lambda: entry.number(text, "--x", "1"),
        lambda: entry.tire(text, "--tire", "us"),
        lambda: entry.temperature(text, "--air-temp", "metric"),
        lambda: entry.pressure(text, "--cold"),
        lambda: entry.tread(text, "--tread"),
        lambda: entry.lap_times(text, "--lap-times"),
        lambda: entry.corners(text, "--order"),
        lambda: entry.at_corner(text, "--tire", "LF=1/2/3"),
        lambda: changes.parse(text, "--own"),
        lambda: changes.parse_all(text, ""),
        lambda: changes.amount(text, "--amount", "0.5", "toe"),
        lambda: driver.felt(text, "--feel"),
        lambda: driver.phase(text, "--where"),
        lambda: one_setting.parse(text),
        lambda: faults.parse([text]),
        lambda: tires.read(text, CORNERS, CORNERS, "across", "us"),
        lambda: extras.add({}, text, "imo", CORNERS),
        lambda: extras.amendment(text, "across", CORNERS),
        lambda: reading.pair(text),
        lambda: reading.corners_listed([text], "--at"),
    )
    for read in readers:
        with contextlib.suppress(Refusal):
            read()
    for name, quantity in QUANTITIES.items():
        known = inputs.Known({name: (text,) if quantity.places else text}, None)
        with contextlib.suppress(Refusal):
            if quantity.places:
                known.places(name)
            else:
                known.number(name)


def shown(content: bytes) -> None:
    """Make a text plain, for a terminal, for JSON, for a table."""
    text = content.decode("utf-8", "surrogateescape")
    assert plain_text.line(plain_text.line(text)) == plain_text.line(text)
    json.loads(plain_text.as_json({"x": text}))
    spreadsheet.text(("x",), [(text,)]).encode()


TARGETS: dict[str, Callable[[bytes], None]] = {
    "plan": plan,
    "mended": mended,
    "rules": rules,
    "car": car_file,
    "taught": taught_file,
    "run": run_file,
    "table": table,
    "typed": typed,
    "shown": shown,
}


def seeds(name: str) -> Iterator[bytes]:
    """Yield what a target reads on a good day."""
    samples = sorted(states.SAMPLES.glob("*.toml"))
    if name in ("plan", "mended"):
        yield from (path.read_bytes() for path in samples if not path.stem.endswith("car"))
        yield states.plan("choice")
    elif name == "rules":
        yield from (path.read_bytes() for path in sorted((states.ROOT / "rules").glob("*.toml")))
    elif name == "car":
        yield from (path.read_bytes() for path in samples if path.stem.endswith("car"))
    else:
        yield from (text.encode() for text in _TEXTS[name])


_TEXTS = {
    "taught": (
        'format = 1\ncar = "c"\nrules = "paved-oval"\nturns = "left"\ndate = "2024-05-04"\n'
        "runs = 3\n"
        '[told]\nanswers = ["camber.RF split.RF"]\nrows = [[2.5, 0.5]]\n',
    ),
    "run": (
        'tire = {LF = [205, 212, 209], RF = "225/224/221", LR = [1, 2, 3], RR = [208, 210, 206]}\n'
        'laps = 10\nlap_times = [19.82]\ncold = {LF = 18.5}\ntread = {LF = ["90%", "85%", "80%"]}\n'
        'order = ["LF", "RR"]\nagain = {LF = [203, 210, 207]}\nflag = ["traffic"]\n'
        'note = "windy"\n',
    ),
    "table": (
        "corner,inner,middle,outer\nLF,205,212,209\nRF,225,224,221\nLR,198,200,197\nRR,208,210,206\n",
        "sep=;\nLF_in;LF_mid;LF_out;RF i;RF m;RF o;LRI;LRM;LRO;rr inner c;rr mid;rr out\n"
        + ";".join(["20,5"] * 12),
        'corner,position,temp_c,unit,run\nLF,inner,95,"degF",1\n',
    ),
    "typed": (
        *(
            "205/212/209",
            "LF=205,212 209",
            "35 °C",
            "1.5bar",
            "90%/85%/80%",
            "1:02.4 19,8",
            "LF;RR",
        ),
        *("pressure:RF:-1.0", "camber.RF=+1.5", "hot 27 34 27 32; note x", "front=250", "20=85.5"),
        *(
            "LF 205 212 209 RF 225-224-221",
            "again RF 203 210 207",
            "loose in, tight off; flag lockup",
        ),
    ),
    "shown": ("note \x1b[2J [red]x[/] =1+1; =2", "שלום 205 🏁", "\x80\x9b31m\u2028\u202e"),
}
