"""Makes the sample plans by running the program, every reading of them invented.

``python sample_plans/make.py`` puts them beside this file; ``python sample_plans/make.py FOLDER``
somewhere else. A plan that is there already is not overwritten: remove it first.
"""

import contextlib
import io
import json
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from planner import commands
from planner.storage import planfile

HERE = Path(__file__).parent
CAR = HERE / "river-bend-car.toml"
METRIC_CAR = HERE / "marlpit-car.toml"
CORNERS = ("LF", "RF", "LR", "RR")


class Crew:
    """A crew at work: the clock on the wall, and the commands given by it."""

    def __init__(self, plan: Path, date: str, zone: str) -> None:
        self.plan = plan
        self.date = date
        self.zone = zone

    def at(self, time: str, command: str, *arguments: str) -> Any:
        """Give a command at a time of the day; it must be accepted. Return what it printed."""
        moment = datetime.fromisoformat(f"{self.date}T{time}:00{self.zone}")
        out = io.StringIO()
        with _clock(moment), contextlib.redirect_stdout(out):
            try:
                commands.main([command, str(self.plan), *arguments, "--json"])
            except SystemExit as done:
                if done.code != 0:
                    at = f"{self.plan.name}, {time}, {command}"
                    raise RuntimeError(f"{at}: {out.getvalue()}") from None
        return json.loads(out.getvalue())

    def run(self, time: str, tires: str, *rest: str) -> None:
        """Record a run: four tires LF RF LR RR, each inner/middle/outer."""
        self.at(time, "record", *each("--tire", tires), *rest)

    def take(self, time: str, wanted: str, *rest: str) -> None:
        """Choose the candidate that is ``knob:place`` alone, ``all at once`` or ``put back``."""
        offered = self.at(time, "status")["candidates"]
        found = next((one["id"] for one in offered if wanted in _names(one)), None)
        if found is None:
            titles = [one["title"] for one in offered]
            raise RuntimeError(f"{self.plan.name}, {time}: {wanted} is not offered: {titles}")
        self.at(time, "choose", found, *rest)


def _names(candidate: Any) -> set[str]:
    """Return what a candidate may be asked for by."""
    head = candidate["title"].partition(":")[0].lower()
    if head in ("put back", "all at once"):
        return {head}
    own = [change for change in candidate["changes"] if not change["trim"]]
    return {f"{change['knob']}:{change['corner']}" for change in own}


@contextlib.contextmanager
def _clock(moment: datetime) -> Iterator[None]:
    """Let the program see a fixed time."""
    kept = planfile.now
    planfile.now = lambda: moment
    try:
        yield
    finally:
        planfile.now = kept


def each(option: str, values: str) -> list[str]:
    """Repeat an option for LF, RF, LR and RR."""
    pairs = zip(CORNERS, values.split(), strict=True)
    return [word for corner, value in pairs for word in (option, f"{corner}={value}")]


def weather(track: float, air: float) -> list[str]:
    """Return the weather as options."""
    return ["--track-temp", f"{track:g}", "--air-temp", f"{air:g}"]


def day_begun(plan: Path) -> None:
    """A day just begun: the car file, and the first run."""
    crew = Crew(plan, "2025-04-26", "-05:00")
    crew.at("09:20", "start", "--car", str(CAR), "--runs", "10")
    crew.run(
        "09:48",
        "196/197/199 226/218/208 206/205/204 213/211/207",
        *each("--cold", "16 26 16 24"),
        *weather(72, 58),
        "--feel=tight",
        "--where=middle",
        "--lap-times=18.02,17.66,17.60,17.59,17.61,17.62,17.66,17.67,17.70,17.71",
        "--note=first time out since the winter",
    )


def half_way(plan: Path) -> None:
    """Left half-way: cross weight moved once, new tires on, and still too much cross."""
    crew = Crew(plan, "2025-06-14", "-05:00")
    crew.at("16:30", "start", "--car", str(CAR), "--sets", "2", "--runs-per-set", "6")
    crew.run(
        "16:55",
        "202/209/221 238/230/217 217/216/215 218/220/213",
        *weather(118, 86),
        "--set=1 scuffed",
    )
    crew.take("17:00", "all at once")
    crew.at("17:24", "made", "--actual", "camber:LF:-0.75")
    crew.run(
        "17:45",
        "208/207/212 229/229/226 218/217/215 218/219/215",
        *each("--cold", "16 26 16 24"),
        *each("--hot", "20 34 20 29.5"),
        *weather(111, 83),
    )
    crew.take("17:50", "cross:car", "--no-trims", "--reason=one thing at a time tonight")
    crew.at("18:01", "made")
    crew.run(
        "18:22",
        "209/210/212 228/227/225 217/215/214 219/219/217",
        *weather(106, 81),
        "--set=2 new",
        "--feel=neutral",
        "--note=rain coming: packed up after this one",
    )


def finished(plan: Path) -> None:
    """A whole day, with a spoiled run, and a change that did harm and was put back."""
    crew = Crew(plan, "2025-05-17", "-05:00")
    crew.at("09:05", "start", "--car", str(CAR), "--runs", "16", "--minutes", "420")
    crew.run(
        "09:31",
        "194/195/200 232/225/215 202/201/200 208/213/204",
        *each("--cold", "16 26 16 24"),
        *each("--hot", "20 34 20.5 30"),
        *weather(84, 66),
        "--feel=tight",
        "--where=middle",
        "--lap-times=17.92,17.61,17.58,17.55,17.57,17.60,17.62,17.63,17.66,17.68",
        "--note=as it raced last month",
    )
    crew.take("09:36", "camber:RF")
    crew.at("09:52", "made")
    crew.run(
        "10:10",
        "203/205/207 262/250/244 208/208/206 214/218/210",
        "--flag=lockup",
        "--note=locked the RF into turn three",
    )
    crew.run(
        "10:31",
        "197/199/201 227/227/224 206/204/202 214/213/210",
        *each("--tread-before", "8/8/8 8/8/8 8/8/8 8/8/8"),
        *each("--tread", "7.4/7.5/7.5 6.5/6.6/6.6 7.4/7.5/7.5 6.9/7/7"),
        *weather(90, 69),
        "--feel=tight",
        "--where=exit",
    )
    crew.take("10:36", "cross:car")
    crew.at("10:46", "made")
    crew.run(
        "11:33",
        "200/202/204 229/228/224 199/198/197 212/212/209",
        *weather(96, 72),
        "--feel=tight",
        "--where=exit",
        "--lap-times=17.70,17.48,17.45,17.46,17.49,17.47,17.50,17.52,17.55,17.56",
    )
    crew.take("11:38", "stagger:rear", "--reason=quick to try: the larger tire is mounted")
    crew.at("11:52", "made")
    crew.run(
        "12:10",
        "200/203/206 234/232/228 200/199/198 210/211/206",
        *weather(99, 74),
        "--feel=tight",
        "--where=exit",
        "--lap-times=17.74,17.60,17.58,17.61,17.62,17.60,17.65,17.66,17.70,17.72",
    )
    crew.take("12:14", "put back")
    crew.at("12:25", "made")
    crew.run(
        "13:05",
        "200/203/204 230/228/226 200/199/198 214/213/210",
        *weather(104, 76),
        "--feel=tight",
        "--where=exit",
    )
    crew.take("13:10", "spring:RR")
    crew.at("13:34", "made")
    crew.run(
        "13:55",
        "200/202/204 218/217/214 202/201/200 214/213/211",
        *each("--tread", "6.6/6.7/6.7 5.3/5.3/5.4 6.7/6.8/6.8 5.8/5.8/6"),
        *weather(101, 77),
        "--feel=neutral",
        "--lap-times=17.61,17.40,17.37,17.36,17.38,17.39,17.38,17.41,17.42,17.44",
    )
    crew.run(
        "14:25",
        "200/202/205 219/218/215 203/202/201 214/213/211",
        *weather(98, 76),
        "--delay=35",
        "--order=RF,RR,LR,LF",
        "--again=RF=219/219/216",
        "--note=happy",
    )


def metric_day(plan: Path) -> None:
    """A track that turns right, temperatures in degrees Celsius, a car file known in part."""
    crew = Crew(plan, "2025-09-06", "+10:00")
    crew.at("10:00", "start", "--car", str(METRIC_CAR), "--units", "metric", "--laps", "12")
    crew.run("10:25", "106/102/96 90/92/93 97/99/96 88/88/87", *weather(31, 22))
    crew.take("10:30", "camber:LF")
    crew.at("10:48", "made", "--actual", "camber:LF:0.75")
    crew.run(
        "11:10",
        "102/101/99 91/92/93 97/101/96 88/89/88",
        *each("--cold", "207kPa 165kPa 193kPa 159kPa"),
        *weather(33, 23),
        "--feel=tight",
        "--where=entry",
    )
    crew.take("11:15", "camber:LF")


PLANS: dict[str, Callable[[Path], None]] = {
    "day-begun.toml": day_begun,
    "half-way.toml": half_way,
    "finished.toml": finished,
    "metric-day.toml": metric_day,
}


def into(folder: Path) -> None:
    """Make all sample plans in a folder.

    Raises
    ------
    FileExistsError
        One is there already; nothing was made.
    """
    for name in PLANS:
        if (folder / name).exists():
            raise FileExistsError(f"{folder / name} is there already: remove it first")
    with tempfile.TemporaryDirectory() as bench:
        for name, make in PLANS.items():
            (Path(bench) / name).mkdir()  # a day of its own: it hears of no other
            make(Path(bench) / name / name)
        for name in PLANS:
            shutil.copyfile(Path(bench) / name / name, folder / name)


if __name__ == "__main__":
    try:
        into(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
    except FileExistsError as error:
        sys.exit(str(error))
