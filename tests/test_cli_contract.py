"""The interface other programs drive: commands, options, keys, units and exit statuses."""

import json
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from garage import (
    FAULTS,
    GOOD,
    RF_INNER_HOT,
    TIGHT,
    Answer,
    Crew,
    run_command,
    stand,
    tire_options,
    tires,
)

from planner import __version__
from planner.commands import COMMANDS
from planner.storage import plans
from planner.trade.corners import CORNERS

STATUS_KEYS = {
    *("plan", "format", "rules", "units", "round", "stage", "due", "step", "laps"),
    *("readings", "figures", "patterns", "candidates", "last_outcome", "cautions"),
}
PATTERN_KEYS = {"id", "stage", "corner", "value", "limit", "strength", "masked_by", "says"}
CANDIDATE_KEYS = {
    *("id", "title", "pattern", "why", "source", "changes", "predicted", "chance", "minutes"),
}
CHANGE_KEYS = {"knob", "corner", "amount", "unit", "from", "to", "trim"}
FIGURE_KEYS = {
    *("average", "split", "crown", "front", "rear", "left", "right"),
    *("diagonal", "balance", "cross_vs_front", "cross_vs_right"),
}
UNITS = {
    "camber": "deg",
    "pressure": "psi",
    "toe": "in",
    "cross": "%",
    "spring": "lb/in",
    "bar": "lb/in",
    "ballast": "lb",
    "stagger": "in",
    "panhard": "in",
}


def process(*arguments: object) -> subprocess.CompletedProcess[str]:
    """Run the command line as a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "planner", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


# --- a process of its own -------------------------------------------------------------------


def test_a_day_begins_in_processes_of_their_own(tmp_path: Path) -> None:
    plan = tmp_path / "day.toml"
    begun = process("start", plan, "--json")
    assert (begun.returncode, begun.stderr) == (0, "")
    assert json.loads(begun.stdout)["due"] == "run"
    read = process("record", plan, *tire_options(RF_INNER_HOT), "--json")
    assert read.returncode == 0
    assert json.loads(read.stdout)["stage"] == "camber"
    refused = process("made", plan, "--json")
    assert refused.returncode == 2
    assert json.loads(refused.stdout)["error"]["code"] == "not-due"
    plan.write_text("damaged", "utf-8")
    damaged = process("status", plan, "--json")
    assert damaged.returncode == 3
    assert json.loads(damaged.stdout)["error"]["where"]
    in_words = process("status", plan)
    assert (in_words.returncode, in_words.stdout) == (3, "")
    assert "try:" in in_words.stderr
    for each in (refused, damaged, in_words):
        assert "Traceback" not in each.stdout + each.stderr


def test_a_process_says_in_words_where_the_day_stands(tmp_path: Path) -> None:
    plan = tmp_path / "day.toml"
    assert process("start", plan).returncode == 0
    read = process("record", plan, *tire_options(RF_INNER_HOT))
    assert read.returncode == 0
    assert "RF" in read.stdout
    assert process("why", plan).returncode == 0


@pytest.mark.parametrize("as_json", [True, False])
def test_a_fault_of_the_program_is_owned_up_to(begun: Crew, monkeypatch, as_json: bool) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("of ours")

    monkeypatch.setattr(plans, "open_plan", broken)
    answer = run_command("status", begun.path, *(["--json"] if as_json else []))
    assert answer.status == 1
    assert "ZeroDivisionError: of ours" in answer.err  # what is needed to mend it
    if as_json:
        assert answer.error["code"] == "fault"
    else:
        assert (answer.out, "not yours" in answer.err) == ("", True)


def test_a_command_broken_off_says_so_in_its_status(begun: Crew, monkeypatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(plans, "open_plan", interrupted)
    answer = run_command("status", begun.path)
    assert (answer.status, answer.out) == (130, "")
    assert "Everything recorded is in the plan" in answer.err


@pytest.mark.parametrize("asked", ["why day.toml --json", "status day.toml", "record --help"])
def test_a_reader_that_has_gone_is_no_fault(begun: Crew, asked: str) -> None:
    begun.record(RF_INNER_HOT)
    command = f"{shlex.quote(sys.executable)} -m planner {asked} | true; "
    ended = subprocess.run(
        ["bash", "-c", f'{command} echo "${{PIPESTATUS[0]}}"'],
        cwd=begun.path.parent,
        capture_output=True,
        text=True,
        check=True,
    )
    assert (ended.stdout, ended.stderr) == ("0\n", "")


def test_version_and_help() -> None:
    assert process("--version").stdout.strip().endswith(__version__)
    helped = process("--help")
    assert helped.returncode == 0
    for name in COMMANDS:
        assert name in helped.stdout


@pytest.mark.parametrize("name", [*COMMANDS, "rules list", "rules show", "rules check"])
def test_every_command_has_help(cli, name: str) -> None:
    answer = cli(*name.split(), "--help")
    assert answer.status == 0
    assert "Usage: treadgate " + name in answer.out
    assert answer.err == ""


@pytest.mark.parametrize(
    ("command", "options"),
    [
        ("start", "--rules --car --laps --track --units --json"),
        (
            "record",
            "--tire --from --laps --lap-times --cold --hot --tread --track-temp --air-temp "
            "--delay --order --again --feel --where --flag --note --json",
        ),
        ("choose", "--amount --no-trims --reason --own --move-on --json"),
        ("made", "--actual --json"),
        ("why", "--json"),
        ("status", "--json"),
    ],
)
def test_every_option_of_the_interface_is_there(cli, command: str, options: str) -> None:
    helped = cli(command, "--help").out
    for option in options.split():
        assert f"{option} " in helped.replace("\n", " \n"), option


# --- the status object ----------------------------------------------------------------------


def test_a_fresh_plan(begun: Crew) -> None:
    status = begun.status()
    assert set(status) >= STATUS_KEYS
    assert (status["format"], status["rules"]) == (1, "paved-oval")
    assert (status["round"], status["stage"], status["due"]) == (1, "camber", "run")
    assert (status["step"], status["laps"]) == (0, 10)
    assert status["plan"] == str(begun.path)
    assert status["readings"] is None
    assert status["figures"] is None
    assert status["last_outcome"] is None
    assert status["patterns"] == status["candidates"] == []
    assert status["cautions"]
    assert all(isinstance(text, str) for text in status["cautions"])


def test_how_much_is_expected_out_of_band_says_whether_the_day_is_done(begun: Crew) -> None:
    assert begun.status()["expected_out"] is None
    bad = begun.record(tires(TIGHT, {"RF": 22.0}))
    assert bad["expected_out"] > 1.5  # both faults are far out
    begun.changed(1)
    runs = [begun.record(tires(), "--note", f"again {n}") for n in range(4)]
    ended = [status["due"] == "nothing" for status in runs]
    assert ended == [status["expected_out"] <= 0.05 for status in runs]
    assert runs[-1]["stage"] == "complete"
    assert begun.record(tires(), "--flag", "lockup")["expected_out"] is None


def test_units_are_said(begun: Crew) -> None:
    units = begun.status()["units"]
    wanted = {"temperature": "degF", "pressure": "psi", "weight": "lb", "length": "in"}
    assert units.items() >= (wanted | {"angle": "deg"}).items()


def test_readings_and_figures(begun: Crew) -> None:
    readings = tires(GOOD, {"RF": 6.0}, {"LR": 3.0})
    status = begun.record(readings)
    assert status["readings"] == {corner: list(three) for corner, three in readings.items()}
    figures = status["figures"]
    assert set(figures) >= FIGURE_KEYS
    for kind in ("average", "split", "crown"):
        assert list(figures[kind]) == list(CORNERS)
    assert figures["split"]["RF"] == 6.0  # inner less outer
    assert figures["crown"]["LR"] == 3.0
    assert figures["balance"] == GOOD["RF"] - GOOD["RR"]
    assert figures["cross_vs_front"] == figures["cross_vs_right"] == -7.5


@pytest.mark.parametrize("stage", FAULTS)
def test_patterns_and_candidates_have_their_keys(begun: Crew, stage: str) -> None:
    status = begun.record(FAULTS[stage])
    assert status["patterns"]
    for pattern in status["patterns"]:
        assert set(pattern) >= PATTERN_KEYS
        assert pattern["corner"] in (*CORNERS, None)
        assert pattern["strength"] in ("clear", "borderline")
        assert pattern["says"]
        assert isinstance(pattern["masked_by"], list)
    assert [c["id"] for c in status["candidates"]] == [
        str(number) for number in range(1, len(status["candidates"]) + 1)
    ]
    for candidate in status["candidates"]:
        assert set(candidate) >= CANDIDATE_KEYS
        assert candidate["title"]
        assert candidate["why"]
        assert candidate["source"]
        assert candidate["pattern"] in {p["id"] for p in status["patterns"]}
        assert candidate["chance"] is None or 0 <= candidate["chance"] <= 1
        for at in (candidate["predicted"] or {}).values():
            assert set(at) == {"mean", "sd"}
        for change in candidate["changes"]:
            assert set(change) >= CHANGE_KEYS
            assert change["amount"] != 0
            assert change["unit"] == UNITS[change["knob"]]
            assert change["from"] is None
            assert change["to"] is None


def test_due_names_the_four_kinds(begun: Crew) -> None:
    seen = [begun.status()["due"]]
    seen.append(begun.record(RF_INNER_HOT)["due"])
    seen.append(begun.choose(1)["due"])
    seen.append(begun.made()["due"])
    begun.record(tires())
    seen.append(begun.record(tires())["due"])
    assert seen == ["run", "choice", "change", "run", "nothing"]


def test_the_verdict_has_its_key(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    assert begun.record(tires())["last_outcome"]["verdict"] == "better"


@pytest.mark.parametrize("name", ["day.toml", "a day with spaces.toml", "jour é.toml", "noending"])
def test_any_file_name_will_do(tmp_path: Path, name: str) -> None:
    crew = Crew(tmp_path / name)
    crew.start()
    crew.record(tires())
    assert crew.status()["plan"] == str(tmp_path / name)


# --- JSON and nothing else ------------------------------------------------------------------


@pytest.mark.parametrize(
    "arguments",
    [
        ["status", "{plan}"],
        ["why", "{plan}"],
        ["why", "{plan}", "1"],
        ["record", "{plan}", *tire_options(tires())],
        ["choose", "{plan}", "1"],
        ["choose", "{plan}"],
        ["choose", "{plan}", "1", "--move-on"],
        ["choose", "{plan}", "99"],
        ["made", "{plan}"],
        ["start", "{plan}"],
        ["start"],
        ["status", "{plan}", "--colour"],
        ["rules", "list"],
        ["rules", "show", "paved-oval"],
        ["rules", "show", "gravel"],
        ["rules", "check", "{plan}"],
        ["rules"],
        ["nonsense"],
        [],
    ],
    ids=" ".join,
)
def test_with_json_standard_output_is_one_object(begun: Crew, arguments: list[str]) -> None:
    begun.record(RF_INNER_HOT)
    given = [text.replace("{plan}", str(begun.path)) for text in arguments]
    answer = run_command(*given, "--json")
    assert isinstance(answer.data, dict)
    assert ("error" in answer.data) == (answer.status != 0)
    assert answer.status in (0, 2, 3)
    if answer.status:
        assert answer.error["code"]
        assert answer.error["message"]


def test_without_json_a_refusal_goes_to_standard_error(begun: Crew) -> None:
    answer = run_command("made", begun.path)
    assert (answer.status, answer.out) == (2, "")
    assert "It is not the time" in answer.err
    assert "try:" in answer.err


def test_json_keeps_accents_and_is_utf8(crew: Crew) -> None:
    crew.start("--track", "Kärnan")
    assert process("status", crew.path, "--json").stdout.count("Kärnan") == 1


# --- start ----------------------------------------------------------------------------------


def test_start_takes_its_options(crew: Crew) -> None:
    status = crew.start("--rules", "road-course", "--laps", "4", "--track", "Hill")
    assert (status["rules"], status["laps"], status["track"]) == ("road-course", 4, "Hill")
    assert crew.status()["turns"] == "both"


@pytest.mark.parametrize(
    "options",
    [
        ["--laps", "0"],
        ["--laps", "-3"],
        ["--laps", "1001"],
        ["--laps", "ten"],
        ["--units", "imperial"],
        ["--turns", "up"],
        ["--turns", "both"],  # an oval does not
        ["--rules", "road-course", "--turns", "left"],
        ["--car", "none.toml"],
        ["--nonsense"],
    ],
    ids=" ".join,
)
def test_start_refuses_and_leaves_nothing(crew: Crew, options: list[str]) -> None:
    answer = crew.tries("start", *options)
    assert answer.status == 2
    assert not crew.path.exists()


def test_start_never_overwrites_anything(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "notes.txt")
    crew.path.write_text("shopping list", "utf-8")
    answer = crew.tries("start")
    assert (answer.status, answer.error["code"]) == (2, "exists")
    assert crew.text() == "shopping list"
    assert Crew(tmp_path).tries("start").status == 2  # a folder


def car_file(crew: Crew, text: str) -> Path:
    path = crew.path.with_name("car.toml")
    path.write_text(text, "utf-8")
    return path


def test_the_plan_keeps_its_own_copy_of_the_car(crew: Crew) -> None:
    car = car_file(crew, '[car]\nname = "7"\n[settings]\npressure = {RR = 26.0}\n')
    crew.start("--car", car)
    car.unlink()
    (change,) = crew.record(FAULTS["pressure"])["candidates"][0]["changes"]
    assert (change["from"], change["to"]) == (26.0, 26.0 + change["amount"])


def test_cross_comes_from_the_scales(crew: Crew) -> None:
    scales = "[scales]\nLF = 700\nRF = 640\nLR = 760\nRR = 600\n[settings]\ncross = {car = 50}\n"
    crew.start("--car", car_file(crew, scales))
    (change, *_) = crew.record(FAULTS["cross"])["candidates"][0]["changes"]
    # RF + LR over the total: D. Alexander, "Understanding Corner Weights", Grassroots Motorsports.
    assert change["from"] == pytest.approx(100 * (640 + 760) / 2700, abs=1e-4)


@pytest.mark.parametrize(("turns", "sign"), [("left", 1), ("right", -1)])
@pytest.mark.parametrize("said", ["--turns", "car file"])
def test_stagger_is_the_outside_tire_less_the_inside_one(crew, turns, sign, said) -> None:
    # Outer 86 in and inner 83.5 in: 2.5 in. Circle Track, "Racing Tire Technology", May 2004.
    head = f'[car]\nturns = "{turns}"\n' if said == "car file" else ""
    car = car_file(crew, head + "[tires]\ncircumference = {LR = 83.5, RR = 86}\n")
    crew.start("--car", car, *(["--turns", turns] if said == "--turns" else []))
    swap = {"LF": "RF", "RF": "LF", "LR": "RR", "RR": "LR"}
    readings = tires(TIGHT)
    if turns == "right":
        readings = {swap[corner]: three for corner, three in readings.items()}
    crew.record(readings)
    (change,) = crew.choose("--own", "stagger:rear:0.25", "--reason", "x")["pending"]["changes"]
    assert change["from"] == pytest.approx(sign * 2.5)


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("[car]\nturns = 'up'\n[settings]\ncamber = {LF = 'a'}", ["car.turns", "settings.camber"]),
        ("[scales]\nLF = 600", ["scales"]),
        ("[settings]\nwing = {LF = 1.0}\npressure = {LF = -1.0}", ["settings.wing", "pressure.LF"]),
        ("[limits]\ncamber = {min = 2.0, max = 1.0}", ["limits.camber"]),
        ("[limits]\ncamber = {step = 0.0}\nwing = {}", ["limits.camber.step", "limits.wing"]),
        ("[tires]\nwindow = [240, 190]", ["tires.window"]),
        ("[dimensions]\nwheelbase = 0\nheight = 3", ["dimensions.height"]),
        ("[jack]\npitch = -1.0", ["jack.pitch"]),
        ("wheels = 4", ["wheels"]),
        ("[scales\n", [""]),
    ],
)
def test_mistakes_of_a_car_file_are_named_by_key(crew: Crew, text: str, keys: list[str]) -> None:
    answer = crew.tries("start", "--car", car_file(crew, text))
    assert answer.status == 2
    for key in keys:
        assert key in answer.error["message"]
    assert not crew.path.exists()


SCALES = "LF = 765\nRF = 678\nLR = 772\nRR = 585\n"  # 51.8 % cross


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"[scales]\n{SCALES}[settings]\ncross = {{car = 54}}", ["54 %", "51.8 %", "scales"]),
        (
            "[settings]\nstagger = {rear = 1.5}\n[tires]\ncircumference = {LR = 83.5, RR = 86.0}",
            ["1.5 in", "2.5 in", "RR less LR", "settings.stagger is used"],
        ),
        (
            "[car]\nturns = 'right'\n[settings]\nstagger = {rear = -2.5}\n[tires]\n"
            "circumference = {LR = 86.0, RR = 83.5}",
            ["-2.5 in", "2.5 in", "LR less RR"],
        ),
        ("[scales]\nLF = 347\nRF = 308\nLR = 350\nRR = 265\n", ["1270 lb", "kg", "2800 lb"]),
        (f"[scales]\n{SCALES}".replace("678", "67"), ["scales.RF is far", "RF 67"]),
        ("[scales]\nLF = 690\nRF = 65.8\nLR = 515\nRR = 500\n", ["scales.RF", "RF 65.8"]),
        ("[scales]\nLF = 690\nRF = 658\nLR = 5150\nRR = 500\n", ["scales.LR", "LR 5150"]),
        ("[scales]\nLF = 765\nRF = 330\nLR = 772\nRR = 330\n", ["70.0 % left", "RF 330"]),
        (
            "[dimensions]\ntrack_front = 157\nwheelbase = 104",
            ["dimensions.track_front: 157 in", "cm, it is 62 in"],
        ),
        (
            "[tires]\nwindow = [88, 115]",
            ["tires.window: 88, 115 °F", "°C, they are 190, 239 °F"],
        ),
        ("[motion_ratio]\nLF = 1.54", ["motion_ratio.LF: 1.54"]),
        (
            "[settings]\nspring = {LF = 131, RF = 140, LR = 12.5, RR = 39}",
            ["settings.spring: LR 12.5, RR 39 lb/in", "N/mm, they are 71, 223 lb/in"],
        ),
        ("[settings]\nspring = {LR = 6.2}", ["kg/mm, it is 347 lb/in: give it in lb/in"]),
        ("[settings]\nbar = {front = 10}", ["bar.front: 10 lb/in", "N/mm, it is 57 lb/in"]),
        ("[settings]\npressure = {LF = 76}", ["LF: 76 psi", "kPa, it is 11 psi"]),
        ("[settings]\ntoe = {front = -1.6}", ["toe.front: -1.6 in", "mm, it is -0.063 in"]),
        ("[settings]\nstagger = {rear = 19}", ["stagger.rear: 19 in", "mm, it is 0.748 in"]),
        ("[settings]\ncamber = {RF = -12}", ["settings.camber.RF: -12 deg is unusual"]),
        ("[tires]\nrate = {LF = 228}", ["tires.rate.LF: 228 lb/in", "N/mm, it is 1302 lb/in"]),
        ("[track]\nradius = 61", ["track.radius: 61 ft", "m, it is 200 ft"]),
        ("[track]\nlength = 0.06", ["track.length: 0.06 mile is unusual, 0.1 to 5 is common"]),
        ("[track]\nbanking = 45", ["track.banking: 45 deg is unusual"]),
        ("[track]\ncorner_speed = 17", ["17 mph", "m/s, it is 38 mph"]),
        (
            "[track]\nradius = 180\ncorner_speed = 100",
            ["3.7 g", "track.corner_speed is km/h, it is 62 mph"],
        ),
        (
            "[track]\nradius = 85\ncorner_speed = 75",
            ["4.4 g", "track.radius is m, it is 279 ft", "km/h, it is 46.6 mph"],
        ),
        (
            "[settings]\ncross = {car = 51.49}\n[limits]\ncross = {min = 52, max = 56}",
            ["cross weight (wedge) is 51.49 %, past the lowest in limits.cross (52)"],
        ),
        (
            f"[scales]\n{SCALES}[limits]\ncross = {{max = 51}}",
            ["cross weight (wedge) is 51.79 % by [scales], past the highest in limits.cross (51)"],
        ),
        (
            "[settings]\ncamber = {RF = 3}",
            ["camber.RF: +3 deg", "turns left", "RF is usually negative"],
        ),
        (
            "[settings]\ncamber = {LF = -3}",
            ["camber.LF: -3 deg", "LF is usually positive", "no source"],
        ),
        (
            "[car]\nturns = 'right'\n[settings]\ncamber = {LF = 3, RF = -3}",
            ["camber.LF: +3 deg", "camber.RF: -3 deg", "RF is usually positive"],
        ),
    ],
)
def test_what_in_a_car_file_looks_wrong_is_said_and_taken(crew, text: str, said) -> None:
    answer = crew.tries("start", "--car", car_file(crew, text))
    assert (answer.status, answer.data["due"]) == (0, "run")
    for words in said:
        assert words in answer.err


@pytest.mark.parametrize(
    "text",
    [
        f"[scales]\n{SCALES}[settings]\ncross = {{car = 51.9}}",
        "[settings]\nstagger = {rear = 2.375}\n[tires]\ncircumference = {LR = 83.5, RR = 86.0}",
        "[car]\nturns = 'right'\n[settings]\nstagger = {rear = 2.5}\n[tires]\n"
        "circumference = {LR = 86.0, RR = 83.5}",
        "[scales]\nLF = 420\nRF = 260\nLR = 640\nRR = 360\n",  # 63 % left, 60 % rear
        "[settings]\nbar = {front = 250, rear = 0}",
        "[settings]\ncamber = {RF = 0.75, LF = -1}",
        "[car]\nturns = 'right'\n[settings]\ncamber = {LF = -3, RF = 3}",
        "[settings]\ncross = {car = 52}\n[limits]\ncross = {min = 52}",
        "[track]\nradius = 1000\ncorner_speed = 190\nbanking = 33",
    ],
)
def test_what_agrees_and_can_well_be_is_not_remarked_on(crew, text: str) -> None:
    answer = crew.tries("start", "--car", car_file(crew, text))
    assert (answer.status, answer.err) == (0, "")


def test_no_camber_is_asked_about_where_the_car_turns_both_ways(crew: Crew) -> None:
    car = car_file(crew, "[settings]\ncamber = {LF = -3, RF = -3}")
    answer = crew.tries("start", "--car", car, "--rules", "road-course")
    assert (answer.status, answer.err) == (0, "")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[settings]\ncross = 51.5", "write cross = {car = 51.5}"),
        ("[settings]\ntoe = -0.0625", "write toe = {front = -0.0625}"),
        ("[settings]\npressure = 16", "write pressure = {LF = …, RF = …, LR = …, RR = …}"),
        ("[settings]\nbar = [250, 0]", "write bar = {front = …, rear = …}"),
        ("scales = 2800", "write scales = {LF = …, RF = …, LR = …, RR = …}"),
        ("[tires]\ncircumference = 85", "write circumference = {LF = …, RF = …, LR"),
        ("[limits]\ncross = 52", "write cross = {min = …, max = …, step = …}"),
        ("[settings]\npressure = {RF = 180}", "if that is kPa, write 26.1 psi"),
        (
            "[dimensions]\nweelbase = 104",
            "dimensions.weelbase: unknown key; did you mean wheelbase?",
        ),
        ("[scale]\nLF = 700", "scale: unknown key; did you mean scales?"),
        ("[dimensions]\nwheelbase = 2640", "if that is mm, write 104 in"),
    ],
)
def test_the_right_form_of_an_entry_is_shown(crew: Crew, text: str, said: str) -> None:
    assert said in crew.tries("start", "--car", car_file(crew, text)).error["message"]


def test_the_way_of_the_track_decides_what_stagger_is_held_against(crew) -> None:
    text = "[settings]\nstagger = {rear = 2.5}\n[tires]\ncircumference = {LR = 83.5, RR = 86.0}"
    answer = crew.tries("start", "--car", car_file(crew, text), "--turns", "right")
    assert "makes it -2.5 in (LR less RR)" in answer.err


# --- record ---------------------------------------------------------------------------------


def tries_to_record(crew: Crew, *options: object) -> Answer:
    return crew.tries("record", *tire_options(tires()), *options)


@pytest.mark.parametrize(
    "options",
    [
        ["--feel", "odd"],
        ["--where", "nowhere"],
        ["--flag", "puncture"],
        ["--laps", "ten"],
        ["--laps", "-1"],
        ["--laps", "9.5"],
        ["--cold", "LF=lots"],
        ["--cold", "LF=22", "--cold", "LF=23"],
        ["--cold", "XX=22"],
        ["--hot", "LF"],
        ["--tread", "LF=7/7"],
        ["--tire", "LF=1/2/3"],  # LF twice
        ["--air-temp", "warm"],
        ["--delay", "-1"],
        ["--order", "LF,XX"],
        ["--again", "LF=1/2"],
        ["--lap-times", "quick"],
        ["--from", "none.csv"],
    ],
    ids=" ".join,
)
def test_record_refuses_a_bad_value_and_changes_nothing(begun: Crew, options: list[str]) -> None:
    before = begun.path.read_bytes()
    answer = tries_to_record(begun, *options)
    assert answer.status == 2
    assert answer.error["where"]
    assert begun.path.read_bytes() == before


@pytest.mark.parametrize("corner", CORNERS)
def test_record_wants_all_four_tires(begun: Crew, corner: str) -> None:
    three = {c: t for c, t in tires().items() if c != corner}
    answer = begun.tries("record", *tire_options(three))
    assert (answer.status, answer.error["code"]) == (2, "missing-tire")
    assert corner in answer.error["message"]


def test_record_reads_a_file(begun: Crew) -> None:
    table = begun.path.with_name("run.csv")
    rows = [f"{c},{i},{m},{o}" for c, (i, m, o) in RF_INNER_HOT.items()]
    table.write_text("corner,inner,middle,outer\n" + "\n".join(rows), "utf-8")
    answer = begun.tries("record", "--from", table, "--feel", "tight")
    assert stand(answer.data) == ("camber", "choice")
    assert answer.data["readings"]["RF"] == [225.0, 215.0, 205.0]
    assert {"about": "driver", "says": "tight"} in begun.why(1)[0]["details"]


def test_a_crew_says_it_in_its_own_words_and_the_plan_keeps_the_usual_ones(begun: Crew) -> None:
    begun.record(RF_INNER_HOT, "--feel", "push", "--where", "center")
    step = begun.why(1)[0]
    assert {"about": "driver", "says": "tight in the middle"} in step["details"]
    resized = begun.tries("choose", "1", "--amount", "0.5psi")
    assert (resized.status, resized.error["where"]) == (2, "--amount")
    begun.choose("1", "--amount", "1/2 deg")
    begun.made("--actual", "RF camber +0.75deg", "--actual", "toe 1/8in")
    assert begun.why(3)[0]["headline"] == (
        "on the car: RF camber +0.75 deg (more positive), front toe +1/8 in (more toe-in)"
    )


def test_a_command_that_is_named_can_be_pasted_whatever_the_name_of_the_plan(tmp_path) -> None:
    path = tmp_path / "my day.toml"
    missing = run_command("status", path, "--json")
    assert missing.error["try"] == f"treadgate start '{path}'"
    assert run_command("start", path).status == 0
    again = run_command("start", path, "--json")
    assert f"treadgate guide '{path}' goes on with it" in again.error["try"]


def test_readings_may_be_typed_in_any_order_and_case(begun: Crew) -> None:
    answer = begun.tries(
        *("record", "--tire", "rr=210 210 210", "--tire", "lf=210,210,210"),
        *("--tire", "Rf=215-215-215", "--tire", "LR= 195 / 195 / 195"),
    )
    assert stand(answer.data) == ("confirm", "run")


# --- choose, made, why ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "options",
    [
        [],
        ["1", "--move-on", "--reason", "x"],
        ["1", "--own", "camber:RF:0.5", "--reason", "x"],
        ["--own", "camber:RF:0.5", "--move-on", "--reason", "x"],
        ["--move-on", "--reason", "x", "--amount", "0.5"],
        ["--own", "camber:RF:0.5", "--reason", "x", "--no-trims"],
        ["0"],
        ["9"],
        ["one"],
        ["1", "2"],
        ["1", "--amount", "half"],
        ["--own", "camber:RF:0", "--reason", "x"],
        ["--own", "camber:RF:0.5", "--own", "camber:RF:0.25", "--reason", "x"],
        ["--own", "wing:RF:1", "--reason", "x"],
        ["--own", "camber:RF:0.5"],
        ["--move-on"],
    ],
    ids=" ".join,
)
def test_choose_refuses_what_makes_no_sense_and_changes_nothing(begun: Crew, options) -> None:
    begun.record(RF_INNER_HOT)
    before = begun.path.read_bytes()
    answer = begun.tries("choose", *options)
    assert answer.status == 2
    assert begun.path.read_bytes() == before


def test_an_unknown_candidate_is_told_what_is_on_the_table(begun: Crew) -> None:
    begun.record(tires(split={"RF": 20.0, "LF": -15.0}))
    error = begun.tries("choose", "7").error
    assert error["code"] == "no-candidate"
    assert "1, 2, 3" in error["message"]


def test_no_trims_leaves_the_change_itself(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    pending = begun.choose(1, "--no-trims", "--reason", "plain")["pending"]
    assert [c["trim"] for c in pending["changes"]] == [False]
    assert {"about": "reason", "says": "plain"} in begun.why(2)[0]["details"]


@pytest.mark.parametrize(
    "options", [["--actual", "camber:RF"], ["--actual", "wing:RF:1"], ["--actual", "x"], ["extra"]]
)
def test_made_refuses_a_bad_value_and_changes_nothing(begun: Crew, options: list[str]) -> None:
    begun.record(RF_INNER_HOT)
    begun.choose(1)
    before = begun.path.read_bytes()
    assert begun.tries("made", *options).status == 2
    assert begun.path.read_bytes() == before


def test_why_tells_each_step(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    title = begun.choose(1)["pending"]["title"]
    begun.made()
    told = begun.why()
    assert [(step["step"], step["kind"]) for step in told] == [
        (1, "run"),
        (2, "choice"),
        (3, "made"),
    ]
    assert told[1]["headline"] == title
    because = next(line["says"] for line in told[1]["details"] if line["about"] == "because")
    assert "RF: inner edge 20.0 °F hotter" in because
    assert begun.why(2) == [told[1]]


@pytest.mark.parametrize("step", ["0", "4", "-1", "two"])
def test_why_refuses_a_step_that_is_not_there(begun: Crew, step: str) -> None:
    begun.record(RF_INNER_HOT)
    begun.changed()
    assert begun.tries("why", step).status == 2


# --- rules ----------------------------------------------------------------------------------


def test_rules_are_listed_shown_and_checked(cli) -> None:
    listed = cli("rules", "list", "--json").data["rules"]
    assert [entry["id"] for entry in listed] == ["paved-oval", "road-course"]
    for entry in listed:
        shown = cli("rules", "show", entry["id"], "--json").data
        assert shown["id"] == entry["id"]
        assert shown["title"] == entry["title"]
        assert entry["id"] in cli("rules", "list").out
        assert f'id = "{entry["id"]}"' in cli("rules", "show", entry["id"]).out


def test_a_good_rules_file_checks_out_in_words(cli, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(cli("rules", "show", "paved-oval").out, "utf-8")
    answer = cli("rules", "check", file)
    assert (answer.status, answer.err) == (0, "")
    assert "good" in answer.out
