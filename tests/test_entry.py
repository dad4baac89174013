"""What a person may type, and what is refused."""

from pathlib import Path

import pytest
from garage import RF_INNER_HOT, Crew, run, tires

from planner.car import changes
from planner.run import driver, from_options, readings, typed
from planner.run.readings import PHASES, Again
from planner.trade import knobs
from planner.trade.corners import CORNERS
from planner.trade.refusals import Refusal

SAME = (205.0, 212.0, 209.0)
HEARD = ("loose", "neutral", "tight")
AT_ENDS = {"entry": "tight", "exit": "tight"}


@pytest.mark.parametrize(
    "text",
    [
        "205/212/209",
        "205 212 209",
        "205,212,209",
        "205, 212, 209",
        "205;212;209",
        "205|212|209",
        "205-212-209",
        "205 – 212 – 209",
        "  205 / 212 / 209 ",
        "205.0/212,0/209.0",
        "205\t212\t209",
        "+205/212/209",
    ],
)
def test_three_temperatures_in_many_ways(text: str) -> None:
    assert typed.tire(text, "--tire LF", "us") == SAME


def test_decimal_commas_and_negative_temperatures() -> None:
    assert typed.tire("95,5/96,25/97", "--tire LF", "us") == (95.5, 96.25, 97.0)
    assert typed.tire("95,5 96,25 97,0", "--tire LF", "us") == (95.5, 96.25, 97.0)
    assert typed.tire("-5/-4/-3", "--tire LF", "us") == (-5.0, -4.0, -3.0)


@pytest.mark.parametrize(
    "text",
    [
        "205/212",
        "205/212/209/210",
        "205/212/",
        "hot/212/209",
        "205/2l2/209",
        "nan/212/209",
        "inf/212/209",
        "1e3/212/209",
        "2 0 5/212/209",
        "9" * 400 + "/212/209",
        "",
        "0x20/212/209",
        "205..5/212/209",
    ],
)
def test_what_is_not_three_numbers_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(Refusal) as caught:
        typed.tire(text, "--tire LF", "us")
    assert caught.value.code == "bad-value"
    assert caught.value.where == "--tire LF"
    assert "205/212/209" in caught.value.hint
    assert len(caught.value.message) < 200


def test_celsius_is_turned_into_fahrenheit() -> None:
    # 0, 100 and 37 degC are 32, 212 and 98.6 degF by the definition of the scales.
    assert typed.tire("0/100/37", "--tire LF", "metric") == pytest.approx((32.0, 212.0, 98.6))


@pytest.mark.parametrize(
    ("text", "system", "fahrenheit"),
    [
        ("95", "us", 95.0),
        ("35", "metric", 95.0),
        ("35C", "us", 95.0),
        ("35 °C", "us", 95.0),
        ("95F", "metric", 95.0),
        ("95 °f", "metric", 95.0),
        ("-40", "metric", -40.0),
        ("21,5", "metric", 70.7),
    ],
)
def test_weather_may_carry_its_own_unit(text, system, fahrenheit) -> None:
    assert typed.temperature(text, "--air-temp", system) == pytest.approx(fahrenheit)


@pytest.mark.parametrize(
    ("text", "psi"),
    [("22", 22.0), ("22.5psi", 22.5), ("22,5 PSI", 22.5), ("151.685kPa", 22.0), ("1.5bar", 21.756)],
)
def test_pressures_in_psi_kilopascal_and_bar(text: str, psi: float) -> None:
    # 1 psi = 6.894757 kPa: NIST SP 811.
    assert typed.pressure(text, "--cold LF") == pytest.approx(psi, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "three", "unit"),
    [
        ("7.5/7/6.5", (7.5, 7.0, 6.5), "32nds"),
        ("90%/85%/80%", (90.0, 85.0, 80.0), "percent"),
        ("90/85/80%", (90.0, 85.0, 80.0), "percent"),
        ("90 % 85 % 80 %", (90.0, 85.0, 80.0), "percent"),
    ],
)
def test_tread_as_depth_or_percent(text, three, unit) -> None:
    assert typed.tread(text, "--tread") == (three, unit)


@pytest.mark.parametrize(
    ("text", "times"),
    [
        ("19.82,19.79,19.8", (19.82, 19.79, 19.8)),
        ("19.82 19.79", (19.82, 19.79)),
        ("1:02.4 1:02.1", (62.4, 62.1)),
        ("19,82;19,79", (19.82, 19.79)),
        ("", ()),
    ],
)
def test_lap_times(text: str, times) -> None:
    assert typed.lap_times(text, "--lap-times") == pytest.approx(times)


@pytest.mark.parametrize(
    "text",
    ["19.82,fast", ":20", "1:", "1:2:3:4x", "1:-2", "1:99.9", "1:60", "1.5:20", "-1:02", "1:+2"],
)
def test_lap_times_that_are_none(text: str) -> None:
    with pytest.raises(Refusal):
        typed.lap_times(text, "--lap-times")


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (lambda text: typed.number(text, "--x", "1"), "1,000"),
        (lambda text: typed.number(text, "--x", "1"), "+1,000"),
        (lambda text: typed.pressure(text, "--cold"), "1,000"),
        (lambda text: typed.pressure(text, "--cold"), "152,000kPa"),
        (lambda text: typed.temperature(text, "--air-temp", "us"), "1,000F"),
        (lambda text: typed.three(text, "--tire"), "1,000 212 209"),
        (lambda text: typed.lap_times(text, "--lap-times"), "19,820 19,790"),
        (lambda text: typed.lap_times(text, "--lap-times"), "19,820"),
        (lambda text: changes.parse(text, "--own"), "spring:RF:+1,000"),
        (lambda text: changes.parse(text, "--own"), "RF spring -1,000 lb/in"),
        (lambda text: changes.amount(text, "--amount", "1", "spring"), "1,000"),
    ],
)
def test_a_comma_with_exactly_three_digits_is_asked_about(read, text: str) -> None:
    with pytest.raises(Refusal, match=" may be ") as caught:
        read(text)
    for meant in caught.value.hint.split(", or "):  # what it says to type will do
        for comma in ("1,000", "19,820", "152,000"):
            assert comma not in meant


@pytest.mark.parametrize(
    ("text", "number"),
    [("0,125", 0.125), (",125", 0.125), ("1,00", 1.0), ("1,0000", 1.0), ("1000,125", 1000.125)],
)
def test_other_commas_are_decimal(text: str, number: float) -> None:
    assert typed.number(text, "--x", "1") == number


@pytest.mark.parametrize("text", ["9%0", "90/85/8%0", "%90/85/80", "90%%/85/80"])
def test_a_percent_sign_stands_behind_a_number(text: str) -> None:
    with pytest.raises(Refusal):
        typed.tread(text if "/" in text else f"{text}/85/80", "--tread")


@pytest.mark.parametrize("text", ["lf", " LF ", "Lf"])
def test_corners_in_any_case(text: str) -> None:
    assert typed.corner(text, "--tire") == "LF"


@pytest.mark.parametrize("text", ["FL", "", "left front", "L"])
def test_no_corner(text: str) -> None:
    with pytest.raises(Refusal, match="not a corner of the car"):
        typed.corner(text, "--tire")


@pytest.mark.parametrize("text", ["LF,LR,RR,RF", "lf lr rr rf", "LF/LR/RR/RF", "LF;LR, RR RF"])
def test_the_order_of_reading(text: str) -> None:
    assert typed.corners(text, "--order") == ("LF", "LR", "RR", "RF")


@pytest.mark.parametrize("text", ["LF", "LF=", "205/212/209", "=205/212/209"])
def test_what_is_not_corner_and_value(text: str) -> None:
    with pytest.raises(Refusal):
        typed.at_corner(text, "--tire", "LF=205/212/209")


@pytest.mark.parametrize(
    ("text", "change"),
    [
        ("pressure:RF:-1.0", ("pressure", "RF", -1.0)),
        (" Pressure : rf : +1 ", ("pressure", "RF", 1.0)),
        ("cross:car:0.5", ("cross", "car", 0.5)),
        ("bar:FRONT:-25", ("bar", "front", -25.0)),
        ("RF camber +1", ("camber", "RF", 1.0)),
        ("camber RF +1", ("camber", "RF", 1.0)),
        ("camber RF:+1", ("camber", "RF", 1.0)),
        ("+1 camber rf", ("camber", "RF", 1.0)),
        ("RF pressure +1psi", ("pressure", "RF", 1.0)),
        ("pressure RF 1.0 psi", ("pressure", "RF", 1.0)),
        ("pressure RF - 1,5 lb", ("pressure", "RF", -1.5)),
        ("pressure RF 6.894757 kPa", ("pressure", "RF", 1.0)),
        ("camber LF -0.5deg", ("camber", "LF", -0.5)),
        ("camber:LF:−0.5°", ("camber", "LF", -0.5)),
        ("spring RR 50lb", ("spring", "RR", 50.0)),
        ("spring RR 50 lb/in", ("spring", "RR", 50.0)),
        ("cross 2%", ("cross", "car", 2.0)),
        ("toe 1/8in", ("toe", "front", 0.125)),
        ('front toe -1/16"', ("toe", "front", -0.0625)),
        ("wedge -1%", ("cross", "car", -1.0)),
        ("cross weight -0.5%", ("cross", "car", -0.5)),
        ("RR air -1", ("pressure", "RR", -1.0)),
        ("front sway bar +25", ("bar", "front", 25.0)),
        ("RR tire pressure +0.5", ("pressure", "RR", 0.5)),
        ("panhard +1/2in", ("panhard", "rear", 0.5)),
        ("rear panhard bar -1 in", ("panhard", "rear", -1.0)),
        ("track bar +1", ("panhard", "rear", 1.0)),
        ("let a pound out of the right rear", ("pressure", "RR", -1.0)),
        ("right front camber a degree less negative", ("camber", "RF", 1.0)),
        ("half a pound out of RR", ("pressure", "RR", -0.5)),
    ],
)
def test_a_change_as_it_is_typed(text, change) -> None:
    assert changes.parse(text, "--own") == change


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        (0.09375, "+3/32 in"),
        (0.0938, "+3/32 in"),  # as it is rounded to be compared
        (-0.0625, "-1/16 in"),
        (0.0, "+0.0000 in"),
        (1.0, "+1.0000 in"),
        (0.08, "+0.0800 in"),  # 2 mm: no tape in inches has it
    ],
)
def test_toe_is_shown_as_the_tape_has_it_and_reads_back(amount: float, shown: str) -> None:
    assert knobs.shown("toe", amount) == shown
    if amount:
        read = changes.parse(f"front toe {shown}", "--own")
        assert read == ("toe", "front", pytest.approx(amount, abs=1e-4))


def test_other_knobs_stay_decimal() -> None:
    assert knobs.shown("camber", 0.25) == "+0.25 deg"
    assert knobs.shown("stagger", 0.5) == "+0.50 in"


def test_an_example_to_type_has_no_zeros_at_its_end() -> None:
    typed = [knobs.as_typed("camber", 1.0), knobs.as_typed("pressure", -0.25)]
    assert typed == ["+1", "-0.25"]
    assert knobs.as_typed("toe", 0.09375 / 2) == "+3/64"


def test_wedge_by_the_round_is_told_where_a_turn_belongs() -> None:
    with pytest.raises(Refusal, match="jack at one corner") as caught:
        changes.parse_all("half a round of wedge out", "")
    for example in str(caught.value.hint).split(", or "):
        assert changes.parse_all(example, "")


@pytest.mark.parametrize(
    "text",
    [
        "pressure:RF",
        "pressure:RF:1:2",
        "wing:RF:1",
        "pressure:front:1",
        "cross:RF:1",
        "bar:car:1",
        "pressure:RF:lots",
        "pressure:RF:nan",
        "pressure:RF:inf",
        "pressure:RF:",
        "::",
        "camber RF 1psi",
        "toe 1/8 in psi",
        "toe 1/0",
        "camber +1",
        "bar +50",
        "RX camber +1",
        "RF camber +1 RR camber +1",
    ],
)
def test_a_change_that_cannot_be(text: str) -> None:
    with pytest.raises(Refusal) as caught:
        changes.parse(text, "--own")
    assert caught.value.code == "bad-value"
    assert caught.value.hint.startswith("--own ")


@pytest.mark.parametrize(
    ("said", "feel"),
    [
        ("tight", "tight"),
        ("Push", "tight"),
        ("pushing", "tight"),
        ("understeer", "tight"),
        ("free", "loose"),
        ("oversteer", "loose"),
        ("neutral", "neutral"),
        ("good", "neutral"),
    ],
)
def test_what_a_driver_says_is_one_of_three_words(said: str, feel: str) -> None:
    assert driver.feel(said, "--feel") == feel


@pytest.mark.parametrize(
    ("said", "phase"),
    [
        ("in", "entry"),
        ("going in", "entry"),
        ("entry", "entry"),
        ("center", "middle"),
        ("centre", "middle"),
        ("in the middle", "middle"),
        ("mid corner", "middle"),
        ("off", "exit"),
        ("coming off the corner", "exit"),
        ("on exit", "exit"),
        ("a little on exit", "exit"),
    ],
)
def test_where_a_driver_says_it_is(said: str, phase: str) -> None:
    assert driver.phase(said, "--where") == phase


@pytest.mark.parametrize("said", ["", "the", "in and off", "entry exit", "turn three", "wet"])
def test_where_nobody_knows_it_is(said: str) -> None:
    with pytest.raises(Refusal, match="not one of entry, middle, exit"):
        driver.phase(said, "--where")


@pytest.mark.parametrize(
    ("said", "felt"),
    [
        ("loose", {"all": "loose"}),
        ("loose entry, tight exit", {"entry": "loose", "exit": "tight"}),
        ("loose in tight off", {"entry": "loose", "exit": "tight"}),
        ("Loose in, good in the middle, tight off", dict(zip(PHASES, HEARD, strict=True))),
        ("tight exit; loose entry", {"entry": "loose", "exit": "tight"}),
        ("in loose, off tight", {"entry": "loose", "exit": "tight"}),
        ("tight in and off", {"entry": "tight", "exit": "tight"}),
        ("tight in and off, loose in the middle", {**AT_ENDS, "middle": "loose"}),
        ("a bit loose on entry but pushing coming off", {"entry": "loose", "exit": "tight"}),
        ("neutral, tight exit", {"all": "neutral", "exit": "tight"}),
    ],
)
def test_a_driver_says_a_word_for_each_part_of_the_corner(said: str, felt: dict) -> None:
    heard = driver.felt(said, "--feel")
    assert heard == felt
    # What is kept reads as what was said.
    assert driver.felt(driver.spoken(heard), "--feel") == heard


@pytest.mark.parametrize(
    "said",
    [
        *("", "entry", "loose tight", "loose entry, tight entry", "loose in, fine, tight"),
        *("in loose off tight", "loose wet", "wet", "a bit"),
    ],
)
def test_what_no_driver_can_mean_is_refused(said: str) -> None:
    with pytest.raises(Refusal) as caught:
        driver.felt(said, "--feel")
    assert caught.value.where == "--feel"


@pytest.mark.parametrize(
    "text",
    ["camber:RF:0.001", "camber:RF:-0.004", "pressure:RF:0.04", "spring:RF:0.4", "toe:front:1e-5"],
)
def test_an_amount_too_small_to_show_is_refused(text: str) -> None:
    with pytest.raises(Refusal, match="too little to show"):
        changes.parse(text, "--own")


def test_no_amount_leads_from_a_setting_to_the_same_setting(begun: Crew) -> None:
    begun.record(RF_INNER_HOT)
    for options in (["1", "--amount", "0.001"], ["--own", "camber:RF:0.001", "--reason", "x"]):
        answer = begun.tries("choose", *options)
        assert (answer.status, answer.error["code"]) == (2, "bad-value")
    begun.choose(1)
    assert begun.tries("made", "--actual", "camber:RF:0.001").status == 2
    begun.made("--actual", "camber:RF:0")  # it was not made


def test_several_changes_on_a_line_are_told_apart() -> None:
    line = "RF camber +1deg RR pressure -1 psi, cross +0.5 and RF spring 25 lb/in; toe 1/8"
    assert changes.parse_all(line, "") == [
        ("camber", "RF", 1.0),
        ("pressure", "RR", -1.0),
        ("cross", "car", 0.5),
        ("spring", "RF", 25.0),
        ("toe", "front", 0.125),
    ]


def test_an_amount_that_is_a_slip_is_refused_with_what_will_do() -> None:
    with pytest.raises(Refusal) as caught:
        changes.parse("pressure:RF:1e9", "--own")
    assert caught.value.hint == "at most 30 psi, either way"


# --- values that cannot be true -------------------------------------------------------------


@pytest.mark.parametrize(
    ("rest", "where"),
    [
        ({"laps": -1}, "--laps"),
        ({"laps": 1001}, "--laps"),
        ({"lap_times": (19.8, 2.0)}, "--lap-times, lap 2"),
        ({"cold": {"LF": 81.0}}, "--cold LF"),
        ({"hot": {"RR": -1.0}}, "--hot RR"),
        ({"tread": {"LF": (33.0, 7.0, 7.0)}}, "--tread LF inner"),
        ({"tread": {"LF": (7.0, 7.0, 101.0)}, "tread_unit": "percent"}, "--tread LF outer"),
        ({"tread_before": {"LF": (7.0, -0.1, 7.0)}}, "--tread-before LF middle"),
        ({"track_temp": 201.0}, "--track-temp"),
        ({"air_temp": -61.0}, "--air-temp"),
        ({"delay": -1.0}, "--delay"),
        ({"order": ("LF", "LF")}, "--order"),
        ({"order": ("RF", "LF"), "again": Again("LF", SAME)}, "--again"),
        ({"again": Again("LF", (205.0, 212.0, 700.0))}, "--again LF outer"),
    ],
)
def test_a_value_that_cannot_be_true_is_refused_by_its_option(rest, where) -> None:
    with pytest.raises(Refusal) as caught:
        readings.check(run(tires(), **rest))
    assert caught.value.where == where


@pytest.mark.parametrize("corner", CORNERS)
def test_all_four_tires_are_needed(corner: str) -> None:
    three = {c: t for c, t in tires().items() if c != corner}
    with pytest.raises(Refusal, match=corner) as caught:
        readings.check(run(three))
    assert caught.value.code == "missing-tire"
    assert f"--tire {corner}=" in caught.value.hint


def test_a_digit_too_many_is_guessed() -> None:
    with pytest.raises(Refusal) as caught:
        readings.check(run(tires() | {"LF": (205.0, 2120.0, 209.0)}))
    assert caught.value.where == "--tire LF middle"
    assert "212" in caught.value.hint


# --- readings from a file -------------------------------------------------------------------

WIDE = "corner,inner,middle,outer\nLF,205,212,209\nRF,225,224,221\nLR,198,200,197\nRR,208,210,206\n"


def from_file(tmp_path: Path, name: str, content: str | bytes, **given: object):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return from_options.from_options(given, "us", path)


def test_a_table_with_a_row_a_tire(tmp_path: Path) -> None:
    assert from_file(tmp_path, "r.csv", WIDE).tires == {
        "LF": (205.0, 212.0, 209.0),
        "RF": (225.0, 224.0, 221.0),
        "LR": (198.0, 200.0, 197.0),
        "RR": (208.0, 210.0, 206.0),
    }


@pytest.mark.parametrize(
    "content",
    [
        WIDE.replace(",", ";"),
        WIDE.replace(",", ";").replace("205", "205,0"),
        WIDE.replace("\n", "\r\n"),
        WIDE.replace("\n", "\r"),
        "\ufeff" + WIDE,
        WIDE + "\n\n , , ,\n",
        WIDE.replace("corner,inner", "Corner, Inner ").replace("LF", " lf "),
        "corner,position,temperature\n"
        + "".join(
            f"{c},{p},{t}\n"
            for c, three in (
                ("RR", (208, 210, 206)),
                ("LF", (205, 212, 209)),
                ("RF", (225, 224, 221)),
                ("LR", (198, 200, 197)),
            )
            for p, t in zip(("inner", "middle", "outer"), three, strict=True)
        ),
    ],
)
def test_the_same_table_in_other_shapes(tmp_path: Path, content: str) -> None:
    wanted = from_file(tmp_path, "wide.csv", WIDE).tires
    assert from_file(tmp_path, "other.csv", content).tires == wanted


@pytest.mark.parametrize(
    ("content", "where"),
    [
        ("", "row 1"),
        ("a,b,c\n", "row 1"),
        (WIDE.replace("212", "hot"), "row 2, column middle"),
        (WIDE.replace("RF", "FR"), "row 3, column corner"),
        (WIDE.replace("225,224,221", "225,224"), "row 3"),
        (WIDE.replace("225,224,221", "225,5,224,221"), "row 3"),
        (WIDE + "LF,1,2,3\n", "row 6"),
        (WIDE.replace("RR,208,210,206\n", ""), "r.csv"),
        (WIDE.replace("205", "1" * 200_000), "r.csv"),
        (b"corner,inner\xff", "r.csv"),
        ("corner,position,temperature\nLF,top,205\n", ""),
    ],
)
def test_a_table_that_cannot_be_used_is_refused_by_row(tmp_path: Path, content, where) -> None:
    with pytest.raises(Refusal) as caught:
        from_file(tmp_path, "r.csv", content)
    assert caught.value.exit_status == 2
    assert where in caught.value.where


TOML = """
tire = {LF = [205, 212, 209], RF = "225/224/221", LR = [198, 200.5, 197], RR = [208, 210, 206]}
laps = 10
lap_times = [19.82, 19.79]
cold = {LF = 18.5}
tread = {LF = ["90%", "85%", "80%"]}
air_temp = 71.5
order = ["LF", "LR", "RR", "RF"]
again = {LF = [203, 210, 207]}
feel = "tight"
where = "exit"
flag = ["traffic"]
note = "windy"
"""


def test_a_run_in_a_toml_file(tmp_path: Path) -> None:
    this = from_file(tmp_path, "r.toml", TOML)
    assert this.tires["RF"] == (225.0, 224.0, 221.0)
    assert (this.laps, this.lap_times, this.cold) == (10, (19.82, 19.79), {"LF": 18.5})
    assert (this.tread, this.tread_unit) == ({"LF": (90.0, 85.0, 80.0)}, "percent")
    assert this.again == Again("LF", (203.0, 210.0, 207.0))
    assert this.order == ("LF", "LR", "RR", "RF")
    assert (this.feel, this.where, this.flags) == ("tight", "exit", ("traffic",))
    assert (this.air_temp, this.note) == (71.5, "windy")


def test_options_beside_a_file_win(tmp_path: Path) -> None:
    this = from_file(tmp_path, "r.toml", TOML, laps="12", feel="loose")
    assert (this.laps, this.feel, this.where) == (12, "loose", "exit")


@pytest.mark.parametrize(
    "said",
    [
        '"loose entry, tight exit"',
        '["tight exit", "loose in"]',
        '{entry = "loose", exit = "tight"}',
    ],
)
def test_a_toml_run_may_hold_a_word_for_each_part_of_the_corner(tmp_path: Path, said) -> None:
    content = TOML.replace('feel = "tight"\nwhere = "exit"', f"feel = {said}")
    assert from_file(tmp_path, "r.toml", content).felt == {"entry": "loose", "exit": "tight"}


@pytest.mark.parametrize(
    "content",
    [
        "tyre = 1",
        "tire = 5",
        'tire = {LF = "205/212"}',
        "tire = {FL = [1, 2, 3]}",
        "laps = 10.5",
        "laps = true",
        'feel = "odd"',
        'feel = {entry = "odd"}',
        'feel = {nowhere = "tight"}',
        'where = "exit"',
        "flag = [1]",
        "again = {}",
        "laps = ",
        "air_temp = inf",
    ],
)
def test_a_toml_run_that_cannot_be_used_is_refused(tmp_path: Path, content: str) -> None:
    with pytest.raises(Refusal) as caught:
        from_file(tmp_path, "r.toml", content)
    assert caught.value.exit_status == 2


def test_a_value_of_a_toml_run_is_named_by_its_key(tmp_path: Path) -> None:
    with pytest.raises(Refusal) as caught:
        from_file(tmp_path, "r.toml", "tire = {LF = [205, true, 209]}")
    assert caught.value.where == f"{tmp_path / 'r.toml'}, tire.LF"


def test_a_toml_run_is_in_the_unit_of_the_plan(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_text('tire = {LF = [95, 100, 105], RF = "95/100/105"}\nair_temp = 20\n', "utf-8")
    this = from_options.from_options({}, "metric", path)
    assert this.tires["LF"] == this.tires["RF"] == pytest.approx((203.0, 212.0, 221.0))
    assert this.air_temp == pytest.approx(68.0)


@pytest.mark.parametrize("name", ["r.txt", "r", "r.json"])
def test_other_files_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(Refusal, match=r"\.toml or a \.csv"):
        from_file(tmp_path, name, WIDE)


def test_a_file_that_is_not_there_is_refused(begun: Crew, tmp_path: Path) -> None:
    for name in ("none.csv", "none.toml"):
        answer = begun.tries("record", "--from", tmp_path / name)
        assert answer.status == 2
        assert str(tmp_path / name) in answer.error["where"]


def test_tread_in_two_units_is_refused(begun: Crew) -> None:
    options = ["--tread", "LF=90%/90%/90%", "--tread", "RF=7/7/7"]
    before = begun.text()
    answer = begun.tries("record", *options)
    assert (answer.status, answer.error["where"]) == (2, "--tread")
    assert begun.text() == before
