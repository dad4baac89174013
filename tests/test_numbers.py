"""A number is declared once: options, prompts, files, worksheets and schema go by the same one."""

import json
import math

import click
import pytest
from garage import Crew, run_command

from planner.car import car_file
from planner.commands import kinds, options
from planner.export import plan_schema
from planner.run import readings
from planner.storage import starting
from planner.trade import numbers
from planner.trade.corners import CORNERS
from planner.trade.knobs import KNOBS
from planner.trade.refusals import Refusal
from planner.worksheets.quantities import QUANTITIES


@pytest.mark.parametrize("key", numbers.CAR)
def test_what_is_usual_can_be(key: str) -> None:
    number = numbers.CAR[key]
    low, high = number.usual or (number.low, number.high)
    assert number.low <= low < high <= number.high


@pytest.mark.parametrize("key", numbers.CAR)
def test_every_number_of_the_car_file_is_held_to_its_bounds(key: str) -> None:
    number = numbers.CAR[key]
    assert number.holds(number.low)
    assert number.holds(number.high)
    assert not number.holds(math.nan)
    table, _, name = key.rpartition(".")
    path = f"{key}.LF"
    for value in (number.low - 1, number.high + 1):
        if key == "tires.window":
            data: object = [value, value + 1]
        elif key in ("scales", "motion_ratio", "tires.circumference", "tires.rate"):
            data = dict.fromkeys(CORNERS, value)
        elif table == "settings":
            data = {KNOBS[name].places[0]: value}
        else:
            data, path = value, key
        whole = {table: {name: data}} if table else {name: data}
        problems, car = car_file.examine(whole)
        assert car is None
        assert any(f"between {number.low:g} and {number.high:g}" in said for said in problems), path


def test_every_worksheet_takes_a_number_as_the_car_file_does() -> None:
    for quantity in QUANTITIES.values():
        if quantity.key and quantity.option not in ("--outer", "--inner", "--cold"):
            declared = numbers.CAR[quantity.key.strip("[]")]
            assert (quantity.low, quantity.high) == (declared.low, declared.high)


@pytest.mark.parametrize("laps", [0, 1001])
def test_laps_are_held_to_one_bound(crew: Crew, laps: int) -> None:
    assert not numbers.LAPS.holds(laps)
    assert crew.tries("start", "--laps", laps).status == 2
    assert run_command("sheet", "--laps", laps).status == 2
    with pytest.raises(Refusal):
        starting.start(crew.path, starting.NewPlan(laps=laps))


def test_the_schema_says_the_same_bounds() -> None:
    schema = json.loads(plan_schema.as_text())
    laps = schema["properties"]["laps"]
    assert (laps["minimum"], laps["maximum"]) == (numbers.LAPS.low, numbers.LAPS.high)
    run = schema["$defs"]["Run"]["properties"]
    for field, number in (
        ("laps", numbers.LAPS_RUN),
        ("delay", numbers.DELAY),
        ("air_temp", numbers.WEATHER),
    ):
        assert (run[field]["minimum"], run[field]["maximum"]) == (number.low, number.high)


def test_one_certainty_is_the_usual_one(crew: Crew) -> None:
    @click.command()
    @options.new_plan_options
    def begin(**_: object) -> None: ...

    (option,) = (param for param in begin.params if param.name == "certainty")
    assert option.type == kinds.within(numbers.CERTAINTY)
    assert f"({numbers.USUAL_CERTAINTY:g})" in option.help
    said = crew.tries("start", "--certainty", 0.99).error["try"]
    assert f"{numbers.USUAL_CERTAINTY:g}, from" in said


def test_what_can_be_set_can_be_read() -> None:
    highest = KNOBS["pressure"].highest
    tires = dict.fromkeys(CORNERS, (200.0, 200.0, 200.0))
    readings.check(readings.Run(tires, cold={"LF": highest}))
    with pytest.raises(Refusal):
        readings.check(readings.Run(tires, cold={"LF": highest + 1}))
