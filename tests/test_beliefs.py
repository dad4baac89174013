"""What is believed beforehand: rules and typical cars, the car file."""

from typing import ClassVar

import attrs
import pytest
from garage import GOOD, book, run, tires

from planner.car import air_loads, car_file, typical
from planner.car.car_file import Car
from planner.car.car_model import CarModel
from planner.files import bundled
from planner.learning import beliefs
from planner.trade.estimate import Estimate

RULES = book()
CROSS = ("cross", "car")


@attrs.frozen
class Computed:
    """A car file that lets the effect of some settings be computed."""

    known: dict

    # Nothing is known that the loads could be computed from, for what air does to them.
    car = Car()
    settings: ClassVar = {}
    turns = "left"

    def effects(self, knob: str, place: str):
        return self.known.get((knob, place))

    def basis(self, knob: str) -> str:
        raise AssertionError(knob)

    def how(self, change):
        raise AssertionError(change)


NOTHING = Computed({})
BY_LOADS = {"average.RF": Estimate(1.5, 0.8), "average.LR": Estimate(2.5, 1.0)}


LOADS = ("cross", "spring", "bar", "ballast", "stagger", "panhard")


def test_without_a_car_file_the_rules_and_the_typical_cars_stand() -> None:
    found = beliefs.effects(RULES, NOTHING)
    assert found["camber", "LR"] == {"split.LR": Estimate(-12.0, 5.0)}
    assert len([1 for knob, _ in found if knob == "camber"]) == 4
    loads = [setting for setting in found if setting[0] in LOADS]
    assert len([1 for knob, _ in loads if knob == "spring"]) == 4
    assert {s: found[s] for s in loads} == typical.effects(RULES.typical, loads, "left", 215.0)


def test_a_computed_effect_puts_the_typical_cars_aside_whole() -> None:
    found = beliefs.effects(RULES, Computed({CROSS: BY_LOADS}))
    assert found[CROSS] == BY_LOADS  # not a figure of theirs is left
    assert found["camber", "RF"] == {"split.RF": Estimate(-12.0, 5.0)}


def test_an_effect_that_the_rules_state_stands_for_their_typical_cars() -> None:
    entry = attrs.evolve(RULES.adjustment["cross"], effect=BY_LOADS)
    stated = attrs.evolve(RULES, adjustment={**RULES.adjustment, "cross": entry})
    assert beliefs.effects(stated, NOTHING)[CROSS] == BY_LOADS


@pytest.mark.parametrize("place", ["RF", "RR"])
def test_a_rule_for_one_place_goes_before_the_rule_for_any_corner(place: str) -> None:
    name = {"RF": "spring-rf", "RR": "spring-rr"}[place]
    entry = attrs.evolve(RULES.adjustment[name], effect=BY_LOADS)
    turned = dict(reversed(list({**RULES.adjustment, name: entry}.items())))
    found = beliefs.effects(attrs.evolve(RULES, adjustment=turned), NOTHING)
    assert found["spring", place] == BY_LOADS
    assert found["spring", "LF"] == beliefs.effects(RULES, NOTHING)["spring", "LF"]


def test_a_computed_effect_of_a_knob_the_rules_do_not_know_is_not_asked_for() -> None:
    found = beliefs.effects(RULES, Computed({("bar", "rear"): BY_LOADS}))
    assert ("bar", "rear") not in found


def test_what_air_does_through_the_loads_is_added_to_the_heat_of_its_tire() -> None:
    car = car_file.load(bundled.folder("sample_plans") / "river-bend-car.toml")
    now = car_file.starting_settings(car)
    model = CarModel(car, now, {}, run(tires(GOOD)), GOOD, "left")
    found = beliefs.effects(RULES, model)["pressure", "RR"]
    rule, loads = RULES.adjustment["pressure"].effect_at("RR"), air_loads.effects(model, "RR")
    assert found["crown.RR"] == rule["crown.RR"]
    assert found["average.RF"] == loads["average.RF"]
    assert found["average.RR"].mean == pytest.approx(
        rule["average.RR"].mean + loads["average.RR"].mean
    )
    assert found["average.RR"].sd ** 2 == pytest.approx(
        rule["average.RR"].sd ** 2 + loads["average.RR"].sd ** 2
    )
