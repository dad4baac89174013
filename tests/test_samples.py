"""The sample plans: made by the program, standing where the README says, with what it promises."""

import importlib.util
import re
from pathlib import Path
from types import ModuleType

import pytest
from garage import CORNERS, TIGHT, Crew, run_command, tires
from pages import asks_nothing_of_the_network

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_plans"
PROMISED = re.findall(
    r"^\| `sample_plans/([\w-]+\.toml)` \| (\w+) \| (\w+) \|",
    (ROOT / "README.md").read_text("utf-8"),
    re.MULTILINE,
)
# Numbers are compared to so many figures, since the last ones may differ from machine to machine.
FIGURES = 5


def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_samples", SAMPLES / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def afresh(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("afresh")
    maker().into(folder)
    return folder


def rounded(text: str) -> str:
    text = re.sub(r"^(# .* sum )[0-9a-f]+", r"\1", text)  # of all the figures there are
    return re.sub(r"-?\d+\.\d+", lambda found: f"{float(found[0]):.{FIGURES}g}", text)


def steps(name: str) -> list[dict]:
    return run_command("why", SAMPLES / name, "--json").data["steps"]


def told(name: str) -> str:
    answer = run_command("why", SAMPLES / name)
    assert answer.status == 0
    return answer.out


def test_the_readme_names_every_sample() -> None:
    assert {name for name, _, _ in PROMISED} == set(maker().PLANS)
    cars = {path.name for path in SAMPLES.glob("*-car.toml")}
    assert {path.name for path in SAMPLES.glob("*.toml")} == set(maker().PLANS) | cars


@pytest.mark.parametrize(("name", "stage", "due"), PROMISED)
def test_stands_where_the_readme_says(name: str, stage: str, due: str) -> None:
    answer = run_command("status", SAMPLES / name, "--json")
    assert answer.status == 0, answer.out
    assert answer.err == ""  # no word of changed rules
    assert (answer.data["stage"], answer.data["due"]) == (stage, due)
    assert run_command("status", SAMPLES / name).status == 0
    assert told(name)


@pytest.mark.parametrize("name", [name for name, _, _ in PROMISED])
def test_is_what_the_program_makes_of_its_readings(name: str, afresh: Path) -> None:
    fresh, kept = (folder / name for folder in (afresh, SAMPLES))
    assert rounded(fresh.read_text("utf-8")) == rounded(kept.read_text("utf-8"))


def test_made_twice_it_is_the_same_to_the_byte(afresh: Path, tmp_path: Path) -> None:
    maker().PLANS["half-way.toml"](tmp_path / "half-way.toml")
    assert (tmp_path / "half-way.toml").read_bytes() == (afresh / "half-way.toml").read_bytes()


def test_making_them_never_overwrites_one(tmp_path: Path) -> None:
    (tmp_path / "finished.toml").write_text("ours", "utf-8")
    with pytest.raises(FileExistsError, match=r"finished\.toml is there already: remove it first"):
        maker().into(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["finished.toml"]
    assert (tmp_path / "finished.toml").read_text("utf-8") == "ours"


def test_a_day_begun_has_its_car_and_one_run() -> None:
    assert [step["kind"] for step in steps("day-begun.toml")] == ["run"]
    status = run_command("status", SAMPLES / "day-begun.toml", "--json").data
    assert status["candidates"][0]["changes"][0]["from"] == -3.25  # from the car file


def test_half_way_came_through_camber_and_pressure_to_a_second_cross_change() -> None:
    text = told("half-way.toml")
    assert "All at once: LF camber" in text
    assert "LF camber -0.75 deg" in text  # as it came out, not as chosen
    status = run_command("status", SAMPLES / "half-way.toml", "--json").data
    assert status["last_outcome"]["verdict"] == "unclear"  # new tires went on with the change
    assert [each["state"] for each in status["sets"]] == ["scuffed", "new"]
    assert status["last_outcome"]["figures"][0]["figure"] == "cross_vs_front"
    assert status["candidates"][0]["changes"][0]["knob"] == "cross"


def test_a_finished_day_has_a_change_that_did_harm_and_was_put_back() -> None:
    headlines = [step["headline"] for step in steps("finished.toml")]
    worse = next(i for i, headline in enumerate(headlines) if headline.endswith(": worse"))
    assert headlines[worse - 1] == "on the car: rear stagger +0.50 in (larger outside tire)"
    assert headlines[worse + 1].startswith("Put back: rear stagger -0.50 in")
    assert headlines[worse + 2].startswith("on the car: rear stagger -0.50 in")


def test_a_finished_day_has_a_spoiled_run_repeated_and_a_masked_pattern() -> None:
    text = " ".join(told("finished.toml").split())
    assert "judges nothing: the brakes were locked" in text
    assert "the run is due again: the brakes were locked" in text
    assert "masked: fix RF camber" in text


def test_a_finished_day_was_written_down_as_a_crew_would() -> None:
    text = (SAMPLES / "finished.toml").read_text("utf-8")
    for key in ("tread", "tread_before", "lap_times", "cold", "hot", "track_temp", "air_temp"):
        assert re.search(rf"^{key} = |^\[step\.run\.{key}\]", text, re.MULTILINE), key
    for key in ("felt", "note", "delay", "order", "flags"):
        assert re.search(rf"^{key} = ", text, re.MULTILINE), key
    assert 'again = {corner = "RF"' in text


def test_a_metric_day_turns_right_and_keeps_celsius() -> None:
    path = SAMPLES / "metric-day.toml"
    status = run_command("status", path, "--json").data
    assert status["turns"] == "right"
    assert status["readings"]["LF"][0] == pytest.approx(102 * 1.8 + 32)
    assert "[102," in path.read_text("utf-8")
    assert "band, °C" in run_command("status", path, "--full").out


# The same car with more of its weight on the front; invented like the first.
HEAVY_FRONT = {"LF": 900, "RF": 778, "LR": 637, "RR": 485}


def balance_candidates(folder: Path, car: str) -> list[str]:
    """Return the knobs a tight car is offered, best first, by the car file."""
    folder.mkdir()
    (folder / "car.toml").write_text(car, "utf-8")
    crew = Crew(folder / "day.toml")
    crew.start("--car", folder / "car.toml")
    status = crew.record(tires(TIGHT))
    assert status["stage"] == "balance"
    changed = [candidate["changes"][0] for candidate in status["candidates"]]
    return [f"{change['knob']}:{change['corner']}" for change in changed]


def test_other_scales_reorder_what_is_offered_for_the_same_readings(tmp_path: Path) -> None:
    car = (SAMPLES / "river-bend-car.toml").read_text("utf-8")
    heavy = car
    for corner in CORNERS:
        heavy, changed = re.subn(
            rf"^{corner} = \d{{3}}$", f"{corner} = {HEAVY_FRONT[corner]}", heavy, flags=re.MULTILINE
        )
        assert changed == 1
    as_it_is = balance_candidates(tmp_path / "as-it-is", car)
    heavier = balance_candidates(tmp_path / "heavier", heavy)
    assert set(as_it_is) == set(heavier)
    # The heavier front leans on its bar the more.
    assert as_it_is.index("spring:RR") < as_it_is.index("bar:front")
    assert heavier.index("bar:front") < heavier.index("spring:RR")
    # Stagger would be worth more yet; it is set for the turn and stands last.
    assert as_it_is[-1] == heavier[-1] == "stagger:rear"


@pytest.mark.all_draws
def test_the_picture_of_the_guide_is_what_it_shows() -> None:
    spec = importlib.util.spec_from_file_location("pictures", SAMPLES / "pictures.py")
    assert spec is not None
    assert spec.loader is not None
    pictures = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(pictures)
    drawn = pictures.guide()
    assert drawn == (SAMPLES / "guide.svg").read_text("utf-8"), "python sample_plans/pictures.py"
    assert asks_nothing_of_the_network(drawn)


def test_the_picture_of_the_report_is_small() -> None:
    picture = (SAMPLES / "report.png").read_bytes()
    assert picture.startswith(b"\x89PNG\r\n\x1a\n")
    assert 600 <= int.from_bytes(picture[16:20]) <= 1000  # px wide
    assert len(picture) < 150_000
