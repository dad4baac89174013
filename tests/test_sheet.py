"""The sheets for the clipboard: a blank one for a run, and one of the car before the day."""

import re
from pathlib import Path

import browser
import pytest
from garage import RF_INNER_HOT, RR_OVER, TIGHT, Crew, run_command, tires
from pages import Page, asks_nothing_of_the_network

from planner.commands import record
from planner.guide import extras
from planner.run.readings import FEELS, FLAGS, PHASES
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, reading_order

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_plans"


def sheet(folder: Path, *given: object) -> Page:
    page = folder / "sheet.html"
    answer = run_command("sheet", *given, "-o", page, "--force", "--json")
    assert answer.status == 0, answer.out + answer.err
    return Page(page.read_text("utf-8"))


def tire_boxes(page: Page) -> dict[str, list[str]]:
    """Return the three big boxes of every tire, from left to right."""
    return {
        corner: re.findall(r"<small>(\w+)</small>", inside)
        for corner, inside in re.findall(
            r'<div class="tire (\w\w)">.*?<div class="three big">(.*?)</div></div>',
            page.source,
            re.DOTALL,
        )
    }


def test_three_boxes_a_tire_lie_as_the_car_stands(tmp_path: Path) -> None:
    page = sheet(tmp_path)
    left, right = ["outer", "middle", "inner"], ["inner", "middle", "outer"]
    assert tire_boxes(page) == {"LF": left, "RF": right, "LR": left, "RR": right}


@pytest.mark.parametrize("turns", ["left", "right"])
def test_tires_are_numbered_in_the_order_the_guide_asks_for_them(
    turns: str, tmp_path: Path
) -> None:
    page = sheet(tmp_path, "--turns", turns)
    numbers = dict(
        re.findall(r'<b class="name">(\w\w)</b> <span class="turn">(\d)</span>', page.source)
    )
    order = reading_order(turns)  # type: ignore[arg-type]
    assert [int(numbers[corner]) for corner in order] == [1, 2, 3, 4]
    tires_typed = re.findall(r"--tire (\w\w)=inner/middle/outer", page.source)
    assert tuple(tires_typed) == order
    assert f"again {order[0]} at the end" in page.text


def test_its_words_are_those_of_the_guide_and_its_options_those_of_record(tmp_path: Path) -> None:
    page = sheet(tmp_path)
    bold = set(re.findall(r"<b>([\w ]+)</b>", page.source))
    assert bold == set(extras.WORDS) - {"before"}
    options = {option for parameter in record.command.params for option in parameter.opts}
    named = set(re.findall(r"--[a-z-]+", page.source.partition("To type it in")[2]))
    assert named <= options
    assert named == {f"--{extras._OPTIONS.get(w, w).replace('_', '-')}" for w in bold} | {
        "--tire",
        "--where",
    }
    ticks = re.findall(r'<span class="tick"><i></i>(\w+)</span>', page.source)
    assert ticks == [*FEELS * len(PHASES), *FLAGS]
    assert re.findall(r"<em>(\w+)</em>", page.source) == list(PHASES)  # a word for each


def test_what_the_sheet_says_to_type_is_taken(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    page = sheet(tmp_path, crew.path)
    (line,) = re.findall(r"<code>treadgate (record [^<]*)</code>", page.source)
    (order,) = re.findall(r"<code>--order ([\w,]+)</code>", page.source)
    words = line.replace("day.toml", str(crew.path)).replace("inner/middle/outer", "205/207/206")
    first = order[:2]
    more = ["--laps", "10", "--lap-times", "19.8,19.7", "--cold", "LF=20", "--hot", "LF=24"]
    more += ["--tread", "LF=7/7/7", "--track-temp", "90", "--air-temp", "70", "--delay", "40"]
    more += ["--order", order, "--again", f"{first}=200/201/200", "--feel", "tight"]
    more += ["--where", "entry", "--set", "2 new", "--flag", "traffic", "--note", "as written"]
    assert run_command(*words.split(), *more, "--json").status == 0


def test_for_a_plan_it_says_what_is_due_and_the_laps_planned(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--laps", 12, "--track", "Old <b>Mill</b>")
    first = sheet(tmp_path, crew.path)
    assert "Due now: a run of 12 laps, then twelve temperatures." in first.text
    assert "laps (planned 12)" in first.text
    assert "Old <b>Mill</b> camber stage" in first.text
    assert "<b>Mill" not in first.source
    assert len(re.findall(r"<div><small>\d+</small></div>", first.source)) == 12
    crew.record(RF_INNER_HOT)
    due = sheet(tmp_path, crew.path)
    title = crew.status()["candidates"][0]["title"]
    assert f"1. {title}" in due.text
    crew.choose(1)
    chosen = sheet(tmp_path, crew.path)
    assert title in chosen.text
    assert "made as chosen" in chosen.text
    assert "came out different" in chosen.text
    crew.made()
    judged = sheet(tmp_path, crew.path)
    assert "This run judges: RF camber" in judged.text
    assert "<label>run<span>2</span></label>" in judged.source


def test_pressures_the_plan_knows_stand_beside_their_lines(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RR_OVER, "--cold", "RR=24")
    crew.changed()
    after = crew.status()
    page = sheet(tmp_path, crew.path)
    assert len(re.findall(r"\(set [\d.]+ psi\)", page.source)) == 1
    assert "(set 24.0 psi)" not in page.source
    assert after["due"] == "run"


def test_a_complete_day_has_no_sheet_and_metric_is_celsius(tmp_path: Path) -> None:
    page = tmp_path / "none.html"
    refused = run_command("sheet", SAMPLES / "finished.toml", "-o", page, "--json")
    assert (refused.status, refused.error["code"]) == (2, "not-due")
    assert not page.exists()
    metric = sheet(tmp_path, SAMPLES / "metric-day.toml")
    assert "°C" in metric.text
    assert "°F" not in metric.source
    assert "°C" in sheet(tmp_path, "--units", "metric").text


def test_nothing_is_asked_of_the_network(tmp_path: Path) -> None:
    assert asks_nothing_of_the_network(sheet(tmp_path).source)


def test_what_json_says_and_how_it_ends(tmp_path: Path) -> None:
    page = tmp_path / "blank.html"
    answer = run_command("sheet", "-o", page, "--json")
    assert answer.data == {"sheet": str(page), "plan": None, "stands": None}
    taken = run_command("sheet", "-o", page, "--json")
    assert (taken.status, taken.error["code"]) == (2, "exists")
    plan = SAMPLES / "half-way.toml"
    stands = run_command("sheet", plan, "-o", page, "--force", "--json").data["stands"]
    assert stands == {"stage": "cross", "due": "choice"}
    both = run_command("sheet", plan, "--laps", 5, "-o", page, "--force", "--json")
    assert (both.status, both.error["code"]) == (2, "usage")
    assert run_command("sheet", "--json").error["code"] == "usage"
    assert "print it" in run_command("sheet", "-o", tmp_path / "words.html").out


def test_a_sheet_nobody_has_placed_stands_beside_the_plan_by_its_run(crew: Crew) -> None:
    crew.start()
    assert crew.tries("sheet").data["sheet"] == str(crew.path.with_name("day-run-1.html"))
    crew.record(tires(TIGHT))
    assert crew.tries("sheet").data["sheet"] == str(crew.path.with_name("day-run-2.html"))
    taken = crew.tries("sheet")
    assert (taken.status, taken.error["code"]) == (2, "exists")


def six_to_choose_from(folder: Path) -> Path:
    crew = Crew(folder / "tight.toml")
    crew.start("--car", SAMPLES / "river-bend-car.toml", "--laps", 20)
    crew.record(tires(TIGHT))
    assert len(crew.status()["candidates"]) >= 5
    return crew.path


@pytest.mark.sweep
@pytest.mark.parametrize("kind", ["blank", "change due", "many candidates"])
def test_it_prints_on_one_page_and_fits_a_phone(kind: str, tmp_path: Path) -> None:
    given = {
        "blank": list,
        "change due": lambda: [SAMPLES / "metric-day.toml"],
        "many candidates": lambda: [six_to_choose_from(tmp_path)],
    }[kind]()
    sheet(tmp_path, *given)
    assert browser.printed_pages(tmp_path / "sheet.html", tmp_path) == 1
    assert browser.width_at(tmp_path / "sheet.html", tmp_path, 390) <= 390


def setup(folder: Path, *given: object) -> Page:
    return sheet(folder, "--setup", *given)


def known_rows(page: Page) -> dict[str, list[str]]:
    """Return what is written in the rows of the sheet, by the name of the row."""
    rows = re.findall(r'<tr><th scope="row">(.*?)</th>(.*?)</tr>', page.source)
    return {
        re.sub(r"\s*<small>.*", "", name): re.findall(r'class="known">(.*?)</td>', cells)
        for name, cells in rows
    }


def test_a_setup_sheet_holds_what_the_car_file_says(tmp_path: Path) -> None:
    page = setup(tmp_path, "--car", SAMPLES / "river-bend-car.toml")
    rows = known_rows(page)
    assert rows["camber"] == ["3.00", "-3.25", "0.50", "-0.50"]
    assert rows["pressure"] == ["16.0", "26.0", "16.0", "24.0"]
    assert rows["scales"] == ["765", "678", "772", "585"]
    assert rows["circumference"] == ["81.50", "84.00", "83.50", "85.00"]
    assert rows["toe"] == ["-1/16"]
    assert rows["front bar"] == ["250"]
    assert rows["panhard"] == [""]  # not given: room to write
    # 765 + 678 + 772 + 585 = 2800; front 1443, left 1537, RF + LR 1450
    assert "2800 lb: front 51.5 %, left 54.9 %, cross 51.8 %" in page.text
    for said in ("River Bend Oval", "banking 10°", "wheelbase 104 in", "by 0.25", "190 to 240 °F"):
        assert said in page.text
    assert CAUTIONS["rules"] in page.text


def test_and_has_room_for_what_nobody_computes(tmp_path: Path) -> None:
    rows = known_rows(setup(tmp_path))
    assert {"shock, compression", "shock, rebound", "gear", "tape", "ride height"} <= rows.keys()
    assert not any(any(cells) for cells in rows.values())  # of no car all is to be written
    assert "From " not in setup(tmp_path).text


def test_from_a_plan_it_is_the_car_as_it_stands_with_what_is_open_there(tmp_path: Path) -> None:
    page = setup(tmp_path, SAMPLES / "finished.toml")
    rows = known_rows(page)
    told = run_command("why", SAMPLES / "finished.toml", "--setup", "--json").data["settings"]
    now = {(each["knob"], each["corner"]): each["value"] for each in told}
    assert [float(at) for at in rows["camber"]] == [now["camber", c] for c in CORNERS]
    assert [float(at) for at in rows["spring"]] == [now["spring", c] for c in CORNERS]
    assert rows["spring"][3] == "275"  # the file it began with says 225
    assert "after finished.toml, 17 May 2025" in page.text
    assert "The day is complete" in page.text
    assert "hot pressures last read: LF 20.0 psi, RF 34.0 psi" in page.text
    assert "run 2: locked the RF into turn three" in page.text
    assert "weigh the car" in page.text
    assert "set 1: 80 laps, 8 heat cycles" in page.text


def test_from_a_plan_it_says_what_was_left_and_what_was_changed_that_is_no_knob(
    tmp_path: Path,
) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--track", "Old <b>Mill</b>")
    crew.record(RF_INNER_HOT)
    crew.choose("--move-on", "--reason", "rain is coming")
    crew.made("--other", "RR shock 2 clicks softer", "--reason", "loose off")
    crew.record(RF_INNER_HOT)
    page = setup(tmp_path, crew.path)
    assert "rain is coming" in page.text
    assert "RR shock 2 clicks softer" in page.text
    assert "Old <b>Mill</b>" in page.text
    assert asks_nothing_of_the_network(page.source)


def test_where_a_setup_sheet_goes_and_what_it_refuses(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    assert crew.tries("sheet", "--setup").data["sheet"] == str(tmp_path / "day-setup.html")
    car = tmp_path / "ours.toml"
    car.write_text('[car]\nname = "Ours"\n', "utf-8")
    beside = run_command("sheet", "--setup", "--car", car, "--json")
    assert beside.data["sheet"] == str(tmp_path / "ours-setup.html")
    for given in (
        [crew.path, "--setup", "--car", car],  # a plan has its own
        ["--car", car, "-o", tmp_path / "x.html"],  # for a run sheet
        ["--setup", "--laps", 5, "-o", tmp_path / "x.html"],
        ["--setup"],  # nowhere to go
    ):
        refused = run_command("sheet", *given, "--json")
        assert (refused.status, refused.error["code"]) == (2, "usage"), given
    assert not (tmp_path / "x.html").exists()


@pytest.mark.sweep
@pytest.mark.parametrize("kind", ["blank", "car", "plan"])
def test_a_setup_sheet_prints_on_one_page_and_fits_a_phone(kind: str, tmp_path: Path) -> None:
    given = {
        "blank": [],
        "car": ["--car", SAMPLES / "river-bend-car.toml"],
        "plan": [SAMPLES / "finished.toml"],
    }[kind]
    setup(tmp_path, *given)
    for paper in ("letter", "A4"):
        assert browser.printed_pages(tmp_path / "sheet.html", tmp_path, paper) == 1
    assert browser.width_at(tmp_path / "sheet.html", tmp_path, 390) <= 390
