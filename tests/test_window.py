"""Every screen of a day fits its window, with the decision in it; a question mark opens the rest.

The day is driven in a real pseudo-terminal, with a simulated car that has several faults.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import attrs
import garage
import pytest
from garage import RF_INNER_HOT, Crew, run_command, tire_options, tires
from keyboard import ESCAPES, Terminal

from planner.car import car_file, changes
from planner.judging.judged_apart import judged_apart
from planner.plan import care
from planner.plan import day as days
from planner.rehearsal.car import SimulatedCar
from planner.rulebook import rules_file
from planner.storage import plans
from planner.trade.cautions import CAUTIONS
from planner.words import changes as change_words
from planner.words import findings

SAMPLES = Path(__file__).parent.parent / "sample_plans"
SIZES = [(80, 24), (100, 30), (120, 40), (120, 24)]
COLOUR = re.compile(r"\x1b\[[0-9;]*(?:[349][0-8]|10[0-7])(?:;[0-9;]*)?m")
# The end of a question; "camber > pressure" is none.
PROMPT = r"(?:outer|else|none|left|10)\)?> $|[\]\)]> $|why> $|anything else> $|as a page: [^\n]*\n"


@attrs.define
class Driven:
    """A crew that types what a simulated car reads, and takes the first way each time.

    Attributes
    ----------
    screens : what stood between two prompts, the prompt last.
    """

    folder: Path
    size: tuple[int, int]
    environment: dict[str, str] = attrs.field(factory=dict)
    screens: list[str] = attrs.field(factory=list)

    def drive(self, runs: int, given: tuple[str, ...] = ()) -> str:
        """Drive so many runs, or to the end; return all that was shown, with its codes."""
        columns, rows = self.size
        path = self.folder / "day.toml"
        guide = Terminal(
            self.folder, "guide", "day.toml", *given, columns=columns, rows=rows, **self.environment
        )
        book = rules_file.load(rules_file.find("paved-oval"))
        car = SimulatedCar(3, car=car_file.load(SAMPLES / "river-bend-car.toml"), book=book)
        read: dict[str, tuple[float, float, float]] = {}
        while True:
            text = guide.sees(PROMPT).replace("\r", "")
            self.screens.append(text.partition("\n")[2] if self.screens else text)
            prompt = text.rpartition("\n")[2]
            if "as a page" in text or (runs == 0 and prompt.startswith("choice")):
                break
            answer = "1" if prompt.startswith("choice") else ""
            tire = re.match(r"(LF|RF|LR|RR) \(", prompt)
            if tire is not None:
                if tire.group(1) == "RF":
                    car.stand_at(days.moved_by(plans.open_plan(path).day.past))
                    read, runs = dict(car.drive().tires), runs - 1
                answer = " ".join(f"{value:g}" for value in read[tire.group(1)])
            guide.types(answer)
        guide.leaves("q")
        return guide.seen


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_no_screen_of_a_day_is_longer_or_wider_than_the_window(size, tmp_path: Path) -> None:
    driven = Driven(tmp_path, size)
    driven.drive(4)
    columns, rows = size
    decisions = [text for text in driven.screens if re.search(r"\nchoice .*> $", text)]
    assert len(decisions) >= 3
    for text in driven.screens:
        lines = text.split("\n")
        assert len(lines) < rows, text
        assert max(map(len, lines)) <= columns, text
    for text in decisions:
        for needed in ("  LF  ", "  RR  ", "Do now ", "1. ", " min", "? more", "m moves on"):
            assert needed in text, text
        is_beside = re.search(r"LF .* avg.* band|avg.*(average|split) +[-+\d]", text) is not None
        assert is_beside == (columns >= 120)
        # The tires were confirmed a question before, and are painted here alone.
        assert text.count("avg") == 4
    stored = [text for text in driven.screens if text.endswith("Store this run? [Y/n/tire/e]> ")]
    assert all(len(text.split("\n")) <= 4 and "avg" not in text for text in stored)


def test_no_color_leaves_the_marks_and_takes_the_colours(tmp_path: Path) -> None:
    for environment in ({}, {"NO_COLOR": "1"}):
        (tmp_path / "day.toml").unlink(missing_ok=True)
        seen = Driven(tmp_path, (80, 24), environment).drive(1)
        assert bool(COLOUR.search(seen)) == (not environment)
        assert re.search(r"\d\+\+? ", ESCAPES.sub("", seen))
    assert "\x1b" not in run_command("status", tmp_path / "day.toml").out


def test_a_caution_is_said_when_it_first_applies_and_not_again(tmp_path: Path) -> None:
    driven = Driven(tmp_path, (80, 24))
    driven.drive(4)
    said = [" ".join(text.split()) for text in driven.screens]
    told = {key: sum(words in text for text in said) for key, words in CAUTIONS.items()}
    assert max(told.values()) == 1
    for key in ("rules", "hot", "inflation"):
        assert told[key] == 1
    at = next(n for n, text in enumerate(said) if CAUTIONS["inflation"] in text)
    assert said[at].endswith("made? [Enter]>")  # with the change it belongs to


def test_a_caution_comes_again_for_another_tire_and_another_spoiled_run(crew: Crew) -> None:
    crew.start()
    for _ in range(2):  # every such run is to be followed by a look
        assert "After locked brakes" in " ".join(
            run_command("record", crew.path, *tire_options(tires()), "--flag", "lockup").out.split()
        )
        crew.tries("note", "looked it over")
        day = plans.open_plan(crew.path).day
        assert care.first_due(day) == ()
        assert "spoiled" in care.due(day)


def test_every_caution_that_applies_is_a_question_away(crew: Crew, guide_with) -> None:
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose(1)
    crew.tries("choose", "--take-back")
    guide = guide_with("day.toml")
    assert CAUTIONS["stands"] not in " ".join(guide.sees(r"choice .*> ").split())
    guide.types("? care")
    said = " ".join(guide.sees(r"choice .*> ").split())
    for caution in crew.status()["cautions"]:
        assert caution in said
    assert CAUTIONS["stands"] in said
    guide.leaves("q")


TOPICS = {
    "why": "too much negative camber",
    "ways": "1. RF camber",
    "chances": "RF split +20.0",
    "effects": "another stage",
    "work": "- RF camber",
    "loads": "not computed",
    "numbers": "-10 to +10",
    "findings": "inner edge 20.0 °F hotter than the outer",
    "ahead": "more run",
    "care": "gloves on",
    "1": "because",
    "why 1": "rule of thumb",
}


def test_a_question_mark_and_a_word_open_one_thing_that_fits(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT)
    guide = Terminal(tmp_path, "guide", "day.toml", rows=24)
    guide.sees(r"choice .*> ")
    for word, says in TOPICS.items():
        guide.types(f"? {word}")
        shown = guide.sees(r"choice \[.*?> ").replace("\r", "").partition("\n")[2]
        assert says in " ".join(shown.split()), shown
        assert shown.count("\n") < 23
    guide.types("?")
    listed = guide.sees(r"choice \[.*?> ")
    assert all(word in listed for word in TOPICS if not word[-1].isdigit())
    guide.types("? nonsense")
    assert "opens nothing" in guide.sees(r"choice \[.*?> ")
    guide.types("? why 9")
    assert "is no way to go on" in guide.sees(r"choice \[.*?> ")
    guide.leaves("q")


def test_all_that_the_window_counts_as_more_ways_is_opened_by_ways(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    front = {"LF": (192.0, 194.0, 199.0), "RF": (246.0, 229.0, 214.0)}
    crew.record({**front, "LR": (203.0, 201.0, 199.0), "RR": (209.0, 217.0, 204.0)})
    guide = Terminal(tmp_path, "guide", "day.toml", rows=24)
    assert " r. again, unchanged" in guide.sees(r"choice .*> ")
    guide.types("? ways")
    shown = guide.sees(r"choice \[.*?> ").partition("? ways")[2]
    assert re.findall(r"^ +(\w)\. ", shown.replace("\r", ""), re.MULTILINE) == ["1", "2", "r"]
    guide.leaves("q")


def test_on_a_day_full_of_alarms_the_window_comes_in_pages_and_loses_none(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    hot = tires({"LF": 212.0, "RF": 284.0, "LR": 206.0, "RR": 267.0}, split={"RF": 50.0})
    crew.record(hot, "--cold", "LF=16", "--hot", "LF=15")
    guide = Terminal(tmp_path, "guide", "day.toml", rows=20)
    screens = [guide.sees("Enter shows more> ")]
    guide.types("")
    screens.append(guide.sees(r"choice \[.*?> "))
    assert all(text.count("\n") < 20 for text in screens)
    said = " ".join("".join(screens).replace("Enter shows more>", "").split())
    for needed in (CAUTIONS["leak"], CAUTIONS["heat"], CAUTIONS["hot"], "Come in, look", "Do now"):
        assert needed in said
    guide.leaves("q")


def test_full_shows_what_the_window_leaves_out(crew: Crew) -> None:
    crew.start()
    crew.record(RF_INNER_HOT, "--note", "rain is coming")
    window, full = (run_command("status", crew.path, *more).out for more in ((), ("--full",)))
    assert window.count("\n") < 24 < full.count("\n")
    for said in ("because", "rests on", "rain is coming", "versus others", "Take care"):
        assert said in full
        assert said not in window


def test_a_figure_that_the_last_run_and_all_runs_judge_differently_has_both(crew: Crew) -> None:
    crew.start()
    for crown in (0.0, 0.3, 5.0):
        crew.record(tires(garage.TIGHT, crown={"LF": crown}))
    day = plans.open_plan(crew.path).day
    (apart,) = judged_apart(day.good[-1].figures, day.known, day.book)
    together = day.known.estimate("crown.LF").mean
    assert (apart.figure, apart.latest, apart.is_out) == ("crown.LF", 5.0, False)
    assert apart.together == pytest.approx(together)
    says = f"LF crown +5.0 this run, {together:+.1f} all runs: counts as in band"
    assert list(findings.apart(day)) == [says]
    assert says in run_command("status", crew.path).out
    assert says in run_command("status", crew.path, "--full").out


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        (RF_INNER_HOT, "camber    RF inner edge 20 hot: take out negative camber"),
        (tires(crown={"LR": -6.0}), "pressure  LR middle 6 cool: put air in"),
        (tires(garage.TOO_MUCH_CROSS), "too hot: take wedge out"),
        (tires(garage.TIGHT), "hotter than RR: push, "),
        (tires(garage.LOOSE), "hotter than RF: loose, "),
    ],
)
def test_findings_are_told_in_peoples_words(readings, says: str, crew: Crew) -> None:
    crew.start()
    crew.record(readings)
    shown = run_command("status", crew.path).out
    assert says in shown
    assert not re.search(r"\w+\.[\w-]+:(LF|RF|LR|RR)", shown)


@pytest.mark.parametrize(
    ("before", "amount", "says"),
    [
        (-3.0, 0.5, "take out negative camber"),
        (-3.0, -0.5, "put in negative camber"),
        (3.0, 0.5, "put in positive camber"),
        (3.0, -0.5, "take out positive camber"),
        (0.0, -0.5, "put in negative camber"),
        (None, 0.5, "take out negative camber"),
    ],
)
def test_camber_goes_by_where_it_stands(before: float | None, amount: float, says: str) -> None:
    known = {} if before is None else {("camber", "RF"): before}
    assert change_words.to_do(changes.make("camber", "RF", amount, known)) == says


@pytest.mark.parametrize("name", ["finished", "half-way", "metric-day"])
def test_the_table_of_a_day_gives_a_run_three_lines_and_breaks_no_word(name: str) -> None:
    plan = SAMPLES / f"{name}.toml"
    shown = run_command("why", plan, "--table").out
    _, _, body = shown.partition("came (as expected)\n")
    rows = re.split(r"^(?=  \d)", body.partition("\n  Run")[0], flags=re.MULTILINE)[1:]
    assert len(rows) == len(run_command("why", plan, "--table", "--json").data["rows"])
    for row in rows:
        assert row.count("\n") <= 4, row  # three of a run, and one where one is too long
    assert sum(row.count("\n") for row in rows) <= 3 * len(rows) + 1
    assert max(map(len, shown.splitlines())) <= 80
    assert not re.search(r"\w+\.[\w-]+:(LF|RF|LR|RR)", shown)
    joined = " ".join(shown.split())
    for word in ("pressure", "split", "camber"):
        assert word in joined


def masks(day: days.Day) -> Iterator[str]:
    yield from (key for pattern in day.good[-1].patterns for key in pattern.masked_by)


def test_what_is_masked_is_folded_into_a_line(crew: Crew) -> None:
    crew.start()
    crew.record(tires(garage.TIGHT, split={"RF": 20.0}))
    day = plans.open_plan(crew.path).day
    hidden = findings.masked(day)
    assert hidden
    assert set(masks(day)) == {"camber.inner-hot:RF"}
    assert f"{hidden} more behind it" in run_command("status", crew.path).out


def test_the_same_change_without_its_trims_is_told_as_that(crew: Crew) -> None:
    crew.start()
    crew.record(tires(split={"RF": 20.0}, crown={"RR": 3.0}))
    first, second, *_ = crew.status()["candidates"]
    alone = [change for change in first["changes"] if not change["trim"]]
    assert len(alone) < len(first["changes"])
    shown = run_command("status", crew.path).out
    said = re.search(r"2\. the same without what rides along: ", shown) is not None
    assert said == (second["changes"] == alone)


def test_the_example_at_made_is_a_whole_step_of_the_car(crew: Crew, guide_with) -> None:
    car = crew.path.with_name("car.toml")
    car.write_text("[limits]\ncamber = {step = 0.5}\n", "utf-8")
    crew.start("--car", car)
    crew.record(RF_INNER_HOT)
    for amount, other in (("1.5", "+1"), ("0.5", "+1")):
        crew.choose(1, "--amount", amount, "--no-trims")
        guide = guide_with("day.toml")
        assert f"such as {other} or RF camber {other};" in " ".join(guide.sees("made.*> ").split())
        guide.leaves("q")
        crew.tries("choose", "--take-back")
