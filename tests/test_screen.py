"""The views of the day, rendered to text and looked at as a reader would."""

import io
import re
from pathlib import Path
from typing import Any

import attrs
import garage
import pytest
from matplotlib import colormaps
from matplotlib.colors import to_rgb
from rich.console import Console

from planner.judging import across
from planner.plan import moves
from planner.plan.day import Day
from planner.rulebook import rules_file
from planner.run.readings import Run
from planner.screen import car_view, day_view, heat, paper
from planner.storage.planfile import now
from planner.storage.plans import Opened
from planner.trade import units
from planner.trade.corners import UNREAD
from planner.words import offers

WINDOW = (190.0, 240.0)
SKEWED = Run(
    tires={
        "LF": (191.0, 185.0, 171.0),
        "RF": (263.0, 248.0, 231.0),
        "LR": (188.0, 186.0, 165.0),
        "RR": (215.0, 208.0, 206.0),
    }
)


def rendered(parts: Any, width: int = 80) -> str:
    out = io.StringIO()
    paper.put(paper.console(width=width, file=out), parts)
    return out.getvalue()


def car(run: Run = SKEWED, system: units.System = "us", legend: str = "") -> list[str]:
    picture = car_view.car(run.tires, garage.book(), WINDOW, system, legend=legend)
    return rendered([picture]).splitlines()


def shown(width: int, day: Day, path: str = "day.toml") -> str:
    out = io.StringIO()
    day_view.show(Opened(Path(path), day), paper.console(width=width, file=out))
    return out.getvalue()


def row_of(rows: list[str], *words: str) -> str:
    return next(row for row in rows if all(word in row for word in words))


def test_the_car_stands_with_its_front_up_and_its_left_side_left() -> None:
    rows = car()
    front, rear = row_of(rows, "LF", "RF"), row_of(rows, "LR", "RR")
    assert rows.index(front) < rows.index(rear)
    assert front.index("LF") < front.index("RF")
    assert rear.index("LR") < rear.index("RR")


def test_the_strips_lie_as_they_do_on_the_car_with_inner_edges_facing() -> None:
    rows = car()
    names = row_of(rows, "outer").replace("°F", "").split()
    assert names == ["outer", "middle", "inner", "inner", "middle", "outer"]
    numbers = [each.rstrip("+-") for each in row_of(rows, "191", "263").split()]
    assert numbers == ["171", "185", "191", "263", "248", "231"]


@pytest.mark.parametrize(
    ("temperature", "word"),
    [
        (165.0, "cold"),
        (171.0, "cool"),
        (189.9, "cool"),
        (190.0, "in range"),
        (240.0, "in range"),
        (240.1, "hot"),
        (260.0, "hot"),
        (260.1, "very hot"),
    ],
)
def test_heat_is_said_in_a_word(temperature: float, word: str) -> None:
    assert heat.word(temperature, WINDOW) == word


def test_heat_is_said_once_a_tire_and_edges_off_their_average_are_marked_in_letters() -> None:
    rows = car()
    assert [row.split("avg, ")[1].split("  ")[0] for row in rows if "avg" in row] == [
        "cool",
        "cool",
    ]
    assert "LF  182 avg, cool" in rows[1]
    assert "RF  247 avg, hot" in rows[1]
    # LF is 20 across and RF 32: more than the 10 that a split may be, and RF more than twice that.
    assert row_of(rows, "191", "263").split() == ["171--", "185", "191+", "263++", "248", "231--"]
    assert "208" in row_of(rows, "215+", "206")  # 9 across: its inner edge alone is off


@pytest.mark.parametrize("legend", ["beside", "below"])
def test_what_the_marks_mean_stands_with_the_picture(legend: str) -> None:
    text = " ".join(" ".join(car(legend=legend)).split())
    for part in heat.LEGEND:
        assert part in text
    assert max(map(len, car(legend=legend))) <= 80


@pytest.mark.parametrize("bundled", ["paved-oval", "road-course"])
def test_a_strip_is_marked_from_where_the_rules_would_call_the_figure_out(bundled: str) -> None:
    book = rules_file.load(rules_file.find(bundled))
    split, crown = ((high - low) / 2 for low, high in map(book.edges, ("split", "crown")))
    even = (200.0, 200.0, 200.0)
    assert across.levels(even, book) == (0, 0, 0)
    for size, level in ((1.0, 0), (1.01, 1), (2.0, 1), (2.01, 2)):
        off = split / 2 * size
        assert across.levels((200.0 + off, 200.0, 200.0 - off), book) == (level, 0, -level)
        high = crown * size  # the middle is that far above the average, the edges half as far below
        tire = (200.0 - high / 2, 200.0 + high, 200.0 - high / 2)
        assert across.levels(tire, book)[1] == level
    assert across.levels((200.0, UNREAD, 200.0), book) == (None, None, None)


def test_colours_are_those_of_a_published_palette_and_can_be_read() -> None:
    """The anchors of RdBu as matplotlib has them, and the contrast that WCAG 2.1 asks for."""
    for level, step in ((2, 1), (1, 3), (-1, 7), (-2, 9)):
        ink, _, ground = heat.STYLES[level].partition(" on ")
        published = colormaps["RdBu"](step / 10)[:3]  # made of 256 steps between the anchors
        assert to_rgb(ground) == pytest.approx(published, abs=2.5 / 255)
        dark, light = sorted((_luminance(ink), _luminance(ground)))
        assert (light + 0.05) / (dark + 0.05) >= 4.5


def _luminance(colour: str) -> float:
    """Return the relative luminance of a colour, by WCAG 2.1."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_temperatures_are_shown_in_the_plans_unit() -> None:
    rows = car(system="metric")
    assert "128.3" in row_of(rows, "77.2")  # 263 °F and 171 °F
    assert "°C" in rows[0]


def test_a_tire_not_yet_read_is_left_open() -> None:
    text = "\n".join(car(Run(tires={"RF": SKEWED.tires["RF"]})))
    assert text.count("not read yet") == 3


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("stage", garage.STAGES)
def test_no_line_is_wider_than_the_terminal(width: int, stage: str) -> None:
    day = garage.day_of(garage.FAULTS[stage], feel="tight", where="entry", note="n " * 200)
    assert day.stage == stage
    rows = shown(width, day).splitlines()
    assert max(map(len, rows)) <= width
    assert not any(row != row.rstrip() for row in rows)


def test_a_wide_terminal_has_the_figures_beside_the_car_and_a_narrow_one_below() -> None:
    day = garage.day_of(garage.RF_INNER_HOT)
    wide, narrow = shown(120, day).splitlines(), shown(80, day).splitlines()
    assert any("LF" in row and "avg" in row and "average" in row for row in wide)
    below = next(i for i, row in enumerate(narrow) if row.startswith("  average"))
    car_ends = max(i for i, row in enumerate(narrow) if "avg," in row)
    assert below > car_ends


def test_figures_out_of_their_band_are_marked_and_those_in_it_are_not() -> None:
    rows = shown(80, garage.day_of(garage.RF_INNER_HOT)).splitlines()
    split = row_of(rows, "split", "+20.0")
    assert "+20.0*" in split
    assert split.count("*") == 1
    assert "-10 to +10" in split


@pytest.mark.parametrize(
    ("readings", "mark", "together"),
    [
        (garage.tires(), False, False),
        (garage.RF_INNER_HOT, True, False),
        (garage.tires(garage.TOO_MUCH_CROSS), True, False),  # both are out: that holds the stage
        (garage.tires(garage.LF_OVERWORKED), True, True),  # one is
    ],
)
def test_what_a_mark_means_is_said_where_there_is_one(readings, mark: bool, together: bool) -> None:
    text = shown(80, garage.day_of(readings))
    assert ("* outside its band in this run" in text) == mark
    assert ("cross vs front and cross vs right: one of them in band is enough" in text) == together


def test_the_stage_whose_turn_it_is_is_in_brackets() -> None:
    for stage in garage.STAGES:
        order = row_of(shown(80, garage.day_of(garage.FAULTS[stage])).splitlines(), "> confirm")
        assert re.findall(r"\[(\w+)\]", order) == [stage]


def test_patterns_come_in_tuning_order_and_say_what_masks_them() -> None:
    day = garage.day_of(garage.tires(garage.TIGHT, split={"RF": 20.0}))
    text = shown(120, day)
    said = text[text.index("in tuning order") :]
    assert said.index("inner edge") < said.index("pushing")
    assert "masked: fix RF camber first" in said[said.index("pushing") :]


def test_a_candidate_says_what_why_and_what_it_rests_on() -> None:
    day = garage.day_of(garage.RF_INNER_HOT)
    first = day.table().candidates[0]
    text = " ".join(shown(80, day).split())
    assert f"1. {offers.title(first)}" in text
    for word in ("because", "expected", "rests on", f"{first.minutes:.0f} min"):
        assert word in text
    assert offers.rests_on(first, "us") in text


def test_from_and_to_are_shown_where_the_setting_is_known() -> None:
    day = garage.day_of(garage.RF_INNER_HOT)
    assert "present setting not known" in shown(80, day)
    known = attrs.evolve(day, settings={("camber", "RF"): -3.0})
    assert re.search(r"RF camber from -3\.00 deg to -\d\.\d\d deg", shown(80, known))


def test_settings_that_are_not_known_are_said_once_of_a_way() -> None:
    tires = {"LF": (192.0, 194.0, 199.0), "RF": (246.0, 229.0, 214.0)}
    tires |= {"LR": (203.0, 201.0, 199.0), "RR": (209.0, 217.0, 204.0)}
    day = garage.day_of(tires)
    first, second = day.table().candidates[:2]
    assert len(first.changes) > 2
    text = shown(80, day)
    first_way = text[text.index("1. ") : text.index("2. ")]
    assert first_way.count("not known") == 1
    assert first_way.count("riding along: ") == len(first.changes) - 1
    assert len(second.changes) == 1
    known = attrs.evolve(day, settings={("camber", "RF"): -3.0})
    assert "present setting not known of LF camber" in " ".join(shown(80, known).split())


def test_it_ends_with_what_is_due_and_what_to_type() -> None:
    day = garage.day_of(garage.RF_INNER_HOT)
    *_, due, command = shown(120, day, "my day.toml").splitlines()
    assert due == "Due now: choose what to do about the camber stage"
    assert "treadgate choose 'my day.toml' ID" in command
    assert "PLAN" not in command


def test_cautions_are_shown_only_when_they_matter() -> None:
    day = garage.day_of(garage.RF_INNER_HOT)
    assert "stands before anyone reaches under it" in " ".join(shown(80, day).split())
    assert "Take care" not in shown(80, garage.day_of(garage.tires()))


def test_a_short_run_is_told_of_laps_and_locked_brakes_of_brakes() -> None:
    laps, brakes = "So few laps", "After locked brakes"
    for rest, told, not_told in (
        ({"laps": 3}, [laps], [brakes]),
        ({"flags": ("lockup",)}, [brakes], [laps]),
        ({"laps": 3, "flags": ("swerve",)}, [brakes, laps], []),
    ):
        text = " ".join(shown(80, garage.day_of(garage.RF_INNER_HOT, **rest)).split())
        assert all(said in text for said in told)
        assert not any(said in text for said in not_told)


def test_the_chosen_change_is_shown_while_it_is_due() -> None:
    day = moves.choose(garage.day_of(garage.RF_INNER_HOT), "1", now())
    text = shown(80, day)
    assert "To be done on the car" in text
    assert "What could be changed" not in text


def test_a_run_that_does_not_count_says_why_and_shows_no_figures() -> None:
    text = shown(80, garage.day_of(garage.RF_INNER_HOT, flags=("lockup",)))
    assert "does not judge the setup: the brakes were locked" in text
    assert "band" not in text


HOSTILE = "[bold red]x[/] [link=http://a]y :smile: \x1b[2J\x1b]0;t\x07\x9b31m a\nb \u202e z"


@pytest.mark.parametrize("forced", [True, False])
def test_what_people_type_is_shown_as_text(forced: bool) -> None:
    day = garage.day_of(garage.RF_INNER_HOT, note=HOSTILE)
    out = io.StringIO()
    console = Console(
        file=out, width=120, force_terminal=forced, markup=False, emoji=False, highlight=False
    )
    day_view.show(Opened(Path("a[red]b.toml"), day), console)
    text = out.getvalue()
    assert "[bold red]x[/] [link=http://a]y :smile: [2J]0;t31m a b  z" in text
    assert "a[red]b.toml" in text
    for harmful in ("\x1b[2J", "\x1b]", "\x07", "\x9b", "\u202e"):
        assert harmful not in text


def test_piped_output_has_no_escapes_whatever_the_environment_says(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    assert "\x1b" not in shown(80, garage.day_of(garage.RF_INNER_HOT))


def test_a_terminal_that_lacks_a_letter_gets_another_for_it() -> None:
    assert "a → b… 5 °F".encode("ascii", errors="lookalike") == b"a -> b... 5  F"
