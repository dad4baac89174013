"""The report of a day: one page that holds all of it, is safe with any text, and prints on two."""

import html
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import browser
import pytest
from bench.long_day import long_day
from garage import GOOD, RF_INNER_HOT, RR_OVER, Crew, book, run_command, tires
from pages import Page, asks_nothing_of_the_network

from planner.plan.steps import ChoiceStep, MadeStep, RunStep
from planner.report import charts, panels, plots
from planner.review import timeline
from planner.screen import heat
from planner.storage import planfile, plans
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS
from planner.words import changes as change_words
from planner.words import patterns as pattern_words

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_plans"
FINISHED = SAMPLES / "finished.toml"
HOSTILE = (
    """<script>alert("1")</script> & 'two' {{ 7 * 7 }} $x^2$ \u202eevil <img src=http://x.test/>"""
)


def reported(plan: Path, page: Path) -> Page:
    answer = run_command("report", plan, "-o", page, "--json")
    assert answer.status == 0, answer.out + answer.err
    return Page(page.read_text("utf-8"))


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    page = tmp_path_factory.mktemp("report") / "day.html"
    reported(FINISHED, page)
    return page


@pytest.fixture
def day(finished: Path) -> Page:
    return Page(finished.read_text("utf-8"))


@pytest.fixture
def spoiled(crew: Crew) -> Crew:
    """A crew whose only run was spoiled: nothing is drawn, and the report is quick."""
    crew.start()
    crew.record(tires(GOOD), "--flag", "lockup")
    return crew


def spaced(text: str) -> str:
    return " ".join(text.split())


def change_rows(page: Page) -> list[str]:
    """Return the rows of the table of changes, each as its text."""
    (table,) = re.findall(r'<table class="changes">(.*?)</table>', page.source, re.DOTALL)
    return [spaced(html.unescape(re.sub(r"<[^>]+>", " ", r))) for r in table.split("<tr>")[2:]]


def test_every_step_of_the_story_is_there_with_all_its_reasons(day: Page) -> None:
    steps = run_command("why", FINISHED, "--json").data["steps"]
    assert len(steps) > 10
    for step in steps:
        assert spaced(step["headline"]) in day.text
        for detail in step["details"]:
            assert spaced(detail["says"]) in day.text, detail


def test_every_change_has_a_letter_its_verdict_and_the_crews_reason(day: Page) -> None:
    plan = planfile.load(FINISHED)
    made = [step for step in plan.step if isinstance(step, MadeStep)]
    rows = change_rows(day)
    assert [row[0] for row in rows] == list("ABCDEFGHIJ"[: len(made)])
    verdicts = ["better", "no change", "worse", "back to where it was", "better"]
    assert "5 changes, 2 better, 1 no change, 1 worse, 1 put back" in day.text
    for row, step, verdict in zip(rows, made, verdicts, strict=True):
        assert verdict in row
        for change in step.changes:
            assert change_words.briefly(change) in row
    assert all(row.count("(") == row.count(")") for row in map(str, rows))  # nothing cut off
    reasons = [step.reason for step in plan.step if isinstance(step, ChoiceStep) and step.reason]
    assert reasons
    assert all(any(f"crew: {reason}" in row for row in rows) for reason in reasons)


def test_the_changes_say_what_was_expected_as_the_table_of_why_does(day: Page) -> None:
    rows = run_command("why", FINISHED, "--table", "--json").data["rows"]
    expected = [row["figures"] for row in rows if row["made"]]
    assert len(expected) == len(change_rows(day))
    for text, figures in zip(change_rows(day), expected, strict=True):
        for each in figures:
            assert f"→ {each['came']:+.1f} °F, expected {each['expected']:+.1f}" in text


def test_every_reason_of_a_change_stands_beside_it_and_a_step_by_its_letter(day: Page) -> None:
    rows = change_rows(day)
    plan = planfile.load(FINISHED)
    made = [at for at, step in enumerate(plan.step, start=1) if isinstance(step, MadeStep)]
    assert "C made it worse" in rows[3]
    assert not any(f"step {at}" in row for row in rows for at in made)


def test_a_change_that_came_out_otherwise_says_so_and_one_not_made_counts_as_none(
    tmp_path: Path,
) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", SAMPLES / "river-bend-car.toml")
    status = crew.record(tires(split={"LF": 14.0, "RF": 20.0}))
    chosen = {c["corner"]: c["amount"] for c in status["candidates"][0]["changes"]}
    crew.choose(1)
    crew.made("--actual", "camber:RF:0.75", "--actual", "pressure:RF:0.5")
    crew.record(RR_OVER)
    crew.changed()
    crew.record(RR_OVER)
    amend = run_command("amend", crew.path, 6, "--actual", "pressure:RR:0", "--reason", "forgotten")
    assert amend.status == 0, amend.err
    page = reported(crew.path, tmp_path / "day.html")
    first, second = change_rows(page)
    as_chosen = f"LF camber {chosen['LF']:+.2f} deg (more positive) RF camber +0.75 deg"
    assert as_chosen in first
    assert f"RF camber +0.75 deg (more positive), chosen {chosen['RF']:+.2f} deg" in first
    assert "RF pressure +0.5 psi (more air), not chosen" in first
    for corner in ("LF", "RF"):  # all at once has a reason for every tire
        assert pattern_words.named(f"camber.inner-hot:{corner}") in first
    assert "RR pressure not made (chosen -0.5 psi)" in second
    assert second.endswith("not made")
    assert "not judged yet" not in page.text
    assert "3 runs, 1 change, 1 better, 1 not made." in page.text


def sections(page: Page) -> list[str]:
    """Return the headings of a page in their order."""
    found = re.findall(r"<h2>(.*?)</h2>|<summary>(.*?)</summary>|<h3>(Take care)", page.source)
    return [next(filter(None, each)) for each in found]


def test_page_one_is_for_the_crew_chief_and_the_plots_and_the_story_come_after_it(
    day: Page,
) -> None:
    assert sections(day) == [
        "What was wrong, and where it stands",
        "What was changed, and what it did",
        "Setting sheet, before → after",
        "The tires from above",
        "The figures over the day, stage by stage",
        "The story, step by step",
    ]
    one, two, fold = re.split(r'<section class="page two">|<details', day.source)
    assert 'class="plot"' not in one
    assert two.count('class="plot"') == 8
    assert "<article" in fold
    printed = day.source.partition("@media print")[2]
    assert ".page.two, .fold.printed { break-before: page; }" in printed
    assert re.search(r"\.plots figure,.*break-inside: avoid", printed)


def test_the_story_is_folded_on_screen_and_off_in_print_unless_asked_for(
    day: Page, spoiled: Crew, tmp_path: Path
) -> None:
    assert '<details class="fold">' in day.source
    printed = day.source.partition("@media print")[2]
    assert ".fold { display: none; }" in printed
    assert ".fold.printed { display: block;" in printed
    page = tmp_path / "story.html"
    assert run_command("report", spoiled.path, "--story", "-o", page).status == 0
    assert '<details class="fold printed" open>' in page.read_text("utf-8")


def wrong_rows(page: Page) -> list[str]:
    """Return the rows of the table of faults, each as its text."""
    (table,) = re.findall(r'<table class="findings">(.*?)</table>', page.source, re.DOTALL)
    return [spaced(html.unescape(re.sub(r"<[^>]+>", " ", r))) for r in table.split("<tr>")[2:]]


def test_every_fault_that_held_a_stage_stands_there_with_what_became_of_it(day: Page) -> None:
    held = [
        pattern.key
        for step in planfile.load(FINISHED).step
        if isinstance(step, RunStep) and not step.void
        for pattern in step.patterns
        if pattern.holds
    ]
    rows = wrong_rows(day)
    names = {pattern_words.named(key) for key in held}
    assert len(names) == len(rows) == 4
    assert all(any(row.startswith(f"{name} run 1") for row in rows) for name in names)
    (split,) = (row for row in rows if "RF split" in row)
    last = run_command("status", FINISHED, "--json").data
    assert last["stage"] == "complete"
    assert re.search(r"RF split \+17\.0 → \+\d\.\d °F \(band -10 to \+10\) A in band$", split)
    (balance,) = (row for row in rows if "balance +" in row)
    assert balance.endswith("(band 0 to +10) B C D E in band")
    assert "Nothing was left open." in day.text


def test_a_fault_still_there_and_one_left_as_it_is_say_so(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT)
    (row,) = wrong_rows(reported(crew.path, tmp_path / "open.html"))
    assert row.endswith("still out of band")
    assert "→" not in row  # one run: there is no then and now
    crew.choose("--move-on", "--reason", "rain is coming")
    crew.record(RF_INNER_HOT)
    page = reported(crew.path, tmp_path / "left.html")
    assert wrong_rows(page)[0].endswith("left as it is")
    assert "Left as it is:" in page.text
    assert "Nothing was left open" not in page.text


def test_cautions_stand_with_the_steps_they_belong_to_and_once(day: Page) -> None:
    one, _, story = day.source.partition("<details")
    limits = html.escape(CAUTIONS["rules"])
    assert one.count(limits) == 1
    for key in ("hot", "stands", "inflation", "loosening", "spoiled"):
        assert CAUTIONS[key] not in one
        assert story.count(CAUTIONS[key]) == 1
    (spoiled,) = re.findall(r"judges nothing: the brakes.*?</article>", story, re.DOTALL)
    assert CAUTIONS["spoiled"] in spoiled


def test_first_and_last_temperatures_lie_as_they_do_across_the_car(day: Page) -> None:
    runs = [s.run for s in planfile.load(FINISHED).step if isinstance(s, RunStep) and not s.void]
    expected = []
    for run in (runs[0], runs[-1]):
        for corner in CORNERS:
            strips = list(zip(("inner", "middle", "outer"), run.tires[corner], strict=True))
            across = strips[::-1] if corner in ("LF", "LR") else strips
            expected += [f"{strip} {value:.0f}" for strip, value in across]
    cells = re.findall(r'<div class="strip"[^>]*><small>(\w+)</small><b>([\d.]+)</b>', day.source)
    assert [" ".join(cell) for cell in cells] == expected


def test_figures_put_back_to_one_moment_have_one_footnote(day: Page) -> None:
    assert day.text.count("Run 8: tires cool while others are read") == 1  # it was read again


def test_edges_off_their_tires_average_have_a_mark_and_its_colour(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    hot = tires(
        {"LF": 150.0, "RF": 280.0, "LR": 200.0, "RR": 210.0}, split={"RF": 24.0, "LR": 14.0}
    )
    crew.record(hot)
    page = reported(crew.path, tmp_path / "day.html")
    marks = re.findall(
        r"--paper:(#\w+);--ink:#\w+\"><small>\w+</small><b>\d+</b><small>([+-]+)", page.source
    )
    assert dict(mark[::-1] for mark in marks) == {
        mark: heat.STYLES[level].partition(" on ")[2] for level, mark in heat.MARKS.items() if mark
    }
    words = re.findall(r'<span class="word">([\w ]+)</span>', page.source)
    assert words == ["cold", "very hot", "in range", "in range"]


def test_on_paper_the_tires_are_ink_on_white(day: Page) -> None:
    _, _, printed = day.source.partition("@media print")
    (rule,) = re.findall(r"\.strip, \.chip \{([^}]*)\}", printed)
    assert "background: #fff; color: #111;" in rule
    assert "background:#" not in day.source  # nothing inline that would win over that


def test_the_setting_sheet_says_before_and_after(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", SAMPLES / "river-bend-car.toml")
    crew.record(RF_INNER_HOT)
    crew.choose("--own", "camber:RF:1.0", "--own", "ballast:left:20", "--reason", "ours")
    crew.made("--actual", "camber:RF:0.75")
    page = reported(crew.path, tmp_path / "day.html")
    sheet = page.text[page.text.index("Setting sheet, before → after") :]
    assert "camber deg 3.00 -3.25 → -2.50 0.50 -0.50" in sheet
    assert "ballast lb left not known, moved +20 lb" in sheet
    assert "stagger in rear 1.50" in sheet


def test_without_any_setting_known_it_says_so(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT)
    text = reported(crew.path, tmp_path / "day.html").text
    assert "No setting is known" in text
    assert "No pressure is known." in text
    assert "No lap was timed." in text
    assert "No change was made." in text


@pytest.fixture
def figures(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """The matplotlib figures of the finished day, by the key of their plot."""
    kept: dict[str, Any] = {}

    def keep(figure: Any, key: str, title: str, says: str) -> str:
        assert title
        assert says
        figure.canvas.draw()
        kept[key] = figure
        return ""

    monkeypatch.setattr(plots, "_svg", keep)
    day = plans.open_plan(FINISHED).day
    line = timeline.of(day)
    seen, marks = line.runs, line.made
    charts.stages(day, seen, marks)
    charts.pressures(seen, marks)
    charts.laps(seen, marks)
    return kept


def span(axes: Any) -> tuple[float, float]:
    (patch,) = axes.patches
    heights = patch.get_path().transformed(patch.get_patch_transform()).vertices[:, 1]
    return min(heights), max(heights)


def test_bands_are_drawn_where_the_rules_have_them(figures: dict[str, Any]) -> None:
    expected = [(-10, 10), (-6, 6), (-3, 3), (-10, -5), (0, 10), (-25, 25)]
    for number, band in enumerate(expected, start=1):
        (axes,) = figures[f"stage{number}"].axes
        assert span(axes) == pytest.approx(band)
        assert axes.patches[0].get_hatch()


def test_a_band_open_on_one_side_is_drawn_to_the_edge() -> None:
    line = plots.Line("", (plots.Point(1, 5.0, 1.0),), plots.STYLES["LF"])
    svg = plots.figure_plot("k", "t", "s", [line], (None, 4.0), plots.Axis(1, frozenset()), "°F")
    assert "<title" in svg


def test_points_are_what_holds_the_stage_with_its_error(figures: dict[str, Any]) -> None:
    plan = planfile.load(FINISHED)
    (axes,) = figures["stage5"].axes
    (bars,) = axes.containers
    runs = [step for step in plan.step if isinstance(step, RunStep)]
    at = dict(zip(bars.lines[0].get_xdata(), bars.lines[0].get_ydata(), strict=True))
    checked = 0
    for number, step in enumerate(runs, start=1):
        assert (number in at) == (not step.void)
        for pattern in step.patterns:
            if pattern.id == "balance.tight":
                assert at[number] == pytest.approx(pattern.value, abs=6e-4)  # as the file has it
                checked += 1
    assert checked > 3


def test_changes_stand_between_the_runs_and_void_runs_in_brackets(figures: dict[str, Any]) -> None:
    (axes,) = figures["stage1"].axes
    letters = {text.get_text(): text.xy[0] for text in axes.texts}
    runs = 0
    expected = {}
    for step in planfile.load(FINISHED).step:
        runs += isinstance(step, RunStep)
        if isinstance(step, MadeStep):
            expected["ABCDEFGHIJ"[len(expected)]] = runs + 0.5
    assert letters == expected
    assert "(2)" in [label.get_text() for label in axes.get_xticklabels()]


def test_lines_differ_without_their_colours(figures: dict[str, Any]) -> None:
    looks = {(style.marker, str(style.dash), style.filled) for style in plots.STYLES.values()}
    assert len(looks) == 4
    assert len({style.marker for style in plots.STYLES.values()}) == 4
    assert {"pressures", "laps"} <= set(figures)


def test_every_stage_of_both_rules_has_a_panel() -> None:
    for name in ("paved-oval", "road-course"):
        rules = book(name)
        drawn_kinds = {kind for panel in panels.panels(rules) for kind in panel.kinds}
        assert drawn_kinds == {f for rule in rules.pattern if rule.stage for f in rule.figures}
    split = next(p for p in panels.panels(book("road-course")) if p.kinds == ("split",))
    assert split.band == (0.0, 18.0)


def test_plots_can_be_read_aloud_and_no_id_is_there_twice(day: Page) -> None:
    svgs = re.findall(r'<svg class="plot".*?</svg>', day.source, re.DOTALL)
    assert len(svgs) == 8
    for svg in svgs:
        assert 'role="img"' in svg
        key = re.search(r'aria-labelledby="(\S+) (\S+)"', svg)
        assert key is not None
        (title,) = re.findall(rf'<title id="{key[1]}">(.+?)</title>', svg)
        (desc,) = re.findall(rf'<desc id="{key[2]}">(.+?)</desc>', svg, re.DOTALL)
        assert "run by run" in title
        assert re.search(r"[Rr]un \d", desc)
        assert "Change A after run 1: RF camber" in desc
    ids = re.findall(r'\sid="([^"]+)"', day.source)
    assert len(ids) == len(set(ids))
    used = set(re.findall(r'(?:href="|url\()#([^")]+)', day.source))
    assert used <= set(ids)


def test_nothing_is_asked_of_the_network(day: Page) -> None:
    assert asks_nothing_of_the_network(day.source)
    assert not asks_nothing_of_the_network('<img src="http://x.test/a.png">')


def test_the_same_day_gives_the_same_bytes(finished: Path, tmp_path: Path) -> None:
    again = tmp_path / "again.html"
    subprocess.run(
        [sys.executable, "-m", "planner", "report", FINISHED, "-o", again, "--json"],
        cwd=ROOT,
        env=os.environ | {"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "MPLBACKEND": "pdf"},
        capture_output=True,
        check=True,
    )
    assert again.read_bytes() == finished.read_bytes()


def test_any_text_appears_as_text(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    car = tmp_path / "car.toml"
    car.write_text(f"[car]\nname = {json.dumps(HOSTILE)}\n", "utf-8")
    crew.start("--car", car, "--track", HOSTILE)
    crew.record(RF_INNER_HOT, "--note", HOSTILE)
    crew.choose("--own", "camber:RF:1.0", "--reason", HOSTILE)
    crew.made()
    page = reported(crew.path, tmp_path / "day.html")
    assert asks_nothing_of_the_network(re.sub(r"&lt;.*?&gt;", "", page.source))
    assert "<script" not in page.source
    assert "\u202e" not in page.source
    shown = spaced(HOSTILE.replace("\u202e", ""))
    assert page.text.count(shown) >= 5  # title, head, note, reason twice


def test_a_metric_day_is_in_celsius(tmp_path: Path) -> None:
    page = reported(SAMPLES / "metric-day.toml", tmp_path / "day.html")
    assert "°C" in page.text
    assert "°F" not in page.source
    assert "<b>102.0</b>" in page.source
    assert "band -5.6 to +5.6 °C" in page.text


def test_an_unfinished_day_says_where_it_stands_and_what_is_due(tmp_path: Path) -> None:
    text = reported(SAMPLES / "half-way.toml", tmp_path / "half.html").text
    assert "The day is not complete: it stands in the cross stage" in text
    status = run_command("status", SAMPLES / "half-way.toml", "--json").data
    for candidate in status["candidates"]:
        assert f"{candidate['id']}. {candidate['title']}" in text
    for sentence in status["cautions"]:
        assert sentence in text


def test_a_change_just_made_is_marked_and_not_judged_yet(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RR_OVER, "--cold", "RR=24")
    crew.changed()
    text = reported(crew.path, tmp_path / "day.html").text
    assert "1 run, 1 change, 1 not judged yet." in text
    assert "RR crown expected +" in text
    assert "24.0 → 2" in text


def test_a_stage_left_as_it_is_keeps_its_reason(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose("--move-on", "--reason", "rain is coming")
    text = reported(crew.path, tmp_path / "day.html").text
    assert "moved on from the camber stage" in text
    assert "rain is coming" in text


def test_an_amendment_between_choice_and_change_is_told_and_counts(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.choose(1)
    mended = ["--tire", "RF=226/215/204", "--reason", "misheard on the radio"]
    amended = run_command("amend", crew.path, 1, *mended, "--json")
    assert amended.status == 0, amended.out
    crew.made()
    page = reported(crew.path, tmp_path / "day.html")
    assert "<small>inner</small><b>226</b>" in page.source
    assert "run 1 +22.0 °F" in page.source
    assert "misheard on the radio" in page.text
    assert "Change A after run 1: RF camber" in page.source


def test_the_head_tells_the_day_itself_and_when_it_was_put_right(tmp_path: Path) -> None:
    plan = tmp_path / "day.toml"
    plan.write_bytes(FINISHED.read_bytes())
    steps = len(planfile.load(plan).step)
    why = ("--tire", "RF=230/225/215", "--reason", "misread")
    assert run_command("amend", plan, 1, *why).status == 0
    page = reported(plan, tmp_path / "day.html")
    on = f"{planfile.load(plan).step[-1].time:%d %b %Y}"
    (head,) = re.findall(r'<p class="quiet facts">(.*?)</p>', page.source)
    assert "<span>09:31 to 14:25</span>" in head
    assert f"<span>amended on {on}</span>" in head
    (says,) = re.findall(
        r'<p class="small quiet"><span class="mark">!</span> (.*?)</p>', page.source
    )
    letters, said = says.split(" rested on ")
    assert said == f"step 1 as first recorded; step {steps + 1} has corrected it since"
    assert page.text.count(said) == 2  # below the table, and in the story
    marked = [row[0] for row in change_rows(page) if row[1:3] == " !"]
    assert marked == letters.split(", ") == list("ABCDE")
    choice = next(
        at for at, step in enumerate(planfile.load(plan).step, 1) if isinstance(step, ChoiceStep)
    )
    assert f"{choice}! · 09:36" in page.text


def test_an_entry_put_right_on_the_day_has_its_time_in_the_head(
    spoiled: Crew, tmp_path: Path
) -> None:
    assert "amended" not in reported(spoiled.path, tmp_path / "before.html").text
    run_command("amend", spoiled.path, 1, "--note", "seat moved", "--reason", "forgot it")
    at = f"{planfile.load(spoiled.path).step[-1].time:%H:%M}"
    assert f"amended at {at}" in reported(spoiled.path, tmp_path / "day.html").text


def test_a_reading_mended_in_the_file_counts(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RF_INNER_HOT)
    crew.rewrite("215, 205]", "215, 215]")
    page = reported(crew.path, tmp_path / "day.html")
    assert "<small>outer</small><b>215</b>" in page.source
    assert "run 1 +10.0 °F" in page.source


def test_a_day_of_spoiled_runs_only_shows_the_last_and_draws_nothing(
    spoiled: Crew, tmp_path: Path
) -> None:
    page = reported(spoiled.path, tmp_path / "day.html")
    assert "it judges nothing: the brakes were locked" in page.text
    assert "No run judges the setup yet" in page.text
    assert 'class="plot"' not in page.source
    assert "After locked brakes or a swerve look the car and the tires over" in page.text


def test_hot_pressures_alone_are_drawn_with_their_names(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(tires(GOOD), "--hot", "RF=34")
    page = reported(crew.path, tmp_path / "day.html")  # a warning would be an error
    (plot,) = re.findall(r'aria-labelledby="pressures-title.*?</svg>', page.source, re.DOTALL)
    assert ">RF</text>" in plot


def test_an_empty_plan_has_nothing_to_report(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    answer = run_command("report", crew.path, "-o", tmp_path / "day.html", "--json")
    assert answer.status == 2
    assert answer.error["code"] == "nothing-recorded"
    assert "treadgate sheet" in answer.error["try"]
    assert not (tmp_path / "day.html").exists()


def test_a_page_is_overwritten_only_when_told_to(spoiled: Crew, tmp_path: Path) -> None:
    folder = tmp_path / "pages"
    folder.mkdir()
    page = folder / "day.html"
    reported(spoiled.path, page)
    first = page.read_bytes()
    spoiled.record(tires(GOOD), "--flag", "swerve")
    answer = run_command("report", spoiled.path, "-o", page, "--json")
    assert answer.status == 2
    assert answer.error["code"] == "exists"
    assert page.read_bytes() == first
    forced = run_command("report", spoiled.path, "-o", page, "--force", "--json")
    assert forced.status == 0
    assert page.read_bytes() != first
    assert [path.name for path in folder.iterdir()] == ["day.html"]


def test_a_plan_is_never_overwritten_by_a_page(spoiled: Crew) -> None:
    before = spoiled.text()
    answer = run_command("report", spoiled.path, "-o", spoiled.path, "--force", "--json")
    assert answer.status == 2
    assert answer.error["code"] == "exists"
    assert spoiled.text() == before


def test_a_page_nobody_has_placed_stands_beside_the_plan(spoiled: Crew) -> None:
    page = spoiled.path.with_name("day.html")
    assert spoiled.tries("report").data["report"] == str(page)
    before = page.read_bytes()
    taken = spoiled.tries("report")
    assert (taken.status, taken.error["code"]) == (2, "exists")
    assert page.read_bytes() == before
    assert spoiled.tries("report", "--force").status == 0
    assert spoiled.tries("status").status == 0


def test_what_json_says_and_how_it_ends(spoiled: Crew, tmp_path: Path) -> None:
    page = tmp_path / "day.html"
    plan = spoiled.path
    answer = run_command("report", plan, "-o", page, "--json")
    assert answer.data == {"report": str(page), "plan": str(plan), "runs": 1, "changes": 0}
    missing = run_command("report", tmp_path / "none.toml", "-o", page, "--json")
    assert (missing.status, missing.error["code"]) == (2, "not-found")
    nowhere = run_command("report", plan, "-o", tmp_path / "no" / "day.html", "--json")
    assert (nowhere.status, nowhere.error["code"]) == (2, "no-folder")
    damaged = tmp_path / "damaged.toml"
    damaged.write_text("damaged", "utf-8")
    assert run_command("report", damaged, "-o", tmp_path / "x.html", "--json").status == 3
    assert not (tmp_path / "x.html").exists()
    in_words = run_command("report", plan, "-o", tmp_path / "words.html")
    assert "1 run (1 judging nothing), 0 changes" in in_words.out


@pytest.mark.parametrize("command", [["status"], ["why"], ["report", "--help"], ["sheet"]])
def test_only_the_report_waits_for_the_plots(command: list[str], tmp_path: Path) -> None:
    name, *rest = command
    given = [name, str(FINISHED), *rest]
    if name == "sheet":
        given = [name, "-o", str(tmp_path / "sheet.html")]
    code = (
        "import sys\nfrom planner import commands\n"
        f"try:\n    commands.main({given!r})\n"
        "except SystemExit as done:\n    assert done.code == 0\n"
        "loaded = {'matplotlib', 'jinja2'} & set(sys.modules)\n"
        f"assert loaded == {{'jinja2'}} & {{'jinja2' if {name == 'sheet'} else ''}}, loaded\n"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True)


@pytest.fixture(scope="module")
def ten_runs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of a day of ten runs on which something new is wrong after every change."""
    folder = tmp_path_factory.mktemp("ten")
    plan = long_day(28)
    assert sum(isinstance(step, RunStep) for step in plan.step) == 10
    (folder / "ten.toml").write_bytes(planfile.dump(plan))
    reported(folder / "ten.toml", folder / "ten.html")
    return folder / "ten.html"


PAPER = {"letter": (740, 987), "A4": (718, 1054)}  # px inside the margins of the pages, at 96 an in


@pytest.mark.sweep
@pytest.mark.parametrize("paper", PAPER)
@pytest.mark.parametrize("page", ["finished", "ten_runs"])
def test_a_day_of_up_to_ten_runs_prints_on_two_full_pages(
    page: str, paper: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    of_day: Path = request.getfixturevalue(page)
    assert browser.printed_pages(of_day, tmp_path, paper) == 2
    width, height = PAPER[paper]
    for part in (".one", ".two"):
        script = f"d.querySelector('{part}').getBoundingClientRect().height"
        used = browser.measured(of_day, tmp_path, width, script, printed=True)
        assert 0.65 * height < used <= height, part


@pytest.mark.sweep
def test_the_story_is_printed_when_asked_for(tmp_path: Path) -> None:
    page = tmp_path / "story.html"
    assert run_command("report", FINISHED, "--story", "-o", page).status == 0
    assert browser.printed_pages(page, tmp_path) > 2


@pytest.mark.sweep
@pytest.mark.parametrize("page", ["finished", "ten_runs"])
def test_a_phone_shows_it_without_zoom_and_nothing_runs_off_the_side(
    page: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    of_day: Path = request.getfixturevalue(page)
    assert browser.width_at(of_day, tmp_path, 390) <= 390
    assert browser.smallest_letters(of_day, tmp_path, 390) >= 10.5


@pytest.mark.sweep
def test_long_words_do_not_run_off_a_phone(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--track", "T" * 300)
    crew.record(RF_INNER_HOT, "--note", "n" * 500)
    reported(crew.path, tmp_path / "day.html")
    assert browser.width_at(tmp_path / "day.html", tmp_path, 390) <= 390


def test_a_setting_known_by_a_later_reading_is_shown_as_it_stands(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RR_OVER)
    crew.choose("--own", "pressure:RR:-2", "--reason", "a try")
    crew.made()
    crew.record(RR_OVER, "--cold", "RR=28.5")
    assert run_command("report", crew.path).status == 0
    page = Page(crew.path.with_suffix(".html").read_text("utf-8"))
    assert "not known → 28.5" in page.text
    assert "moved" not in page.text.partition("Setting sheet")[2].partition("The story")[0]


def test_a_step_after_midnight_carries_its_date(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(RR_OVER)
    crew.changed()
    crew.record(RR_OVER)
    text = re.sub(r"(?m)^time = .*$", "time = 2026-05-09T23:40:00-04:00", crew.text())
    head, _, last = text.rpartition("2026-05-09T23:40:00-04:00")
    crew.path.write_text(f"{head}2026-05-10T00:20:00-04:00{last}", "utf-8")
    told = " ".join(run_command("why", crew.path, "--plain").out.split())
    assert "Step 4, 10 May 2026, 00:20: run 2" in told
    assert "Step 3, 23:40: on the car" in told
    assert run_command("report", crew.path).status == 0
    page = Page(crew.path.with_suffix(".html").read_text("utf-8"))
    assert "run 2, 10 May 2026, 00:20" in page.text
