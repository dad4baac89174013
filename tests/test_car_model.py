"""What the car file adds: computed effects, turns of the jack, hot pressures, and what it lacks.

The signs are those the trade knows: stiffer at the right rear loosens, more cross weight
tightens, ballast to the rear loosens, more stagger loosens (common practice, no source).
"""

import attrs
import numpy as np
import pytest
from garage import GOOD, TIGHT, Crew, book, day_of, run, run_command, tires

from planner.car import car_file as cars
from planner.car import car_model, changes
from planner.car.at_the_car import HotPressure, KeptCross, NotComputed, at_the_car
from planner.car.basis import Basis
from planner.car.car_model import FOR_EFFECTS, CarModel
from planner.car.known import known
from planner.chassis import at_rest, grip, jacking, weights
from planner.files import bundled
from planner.trade.corners import CORNERS, mirrored
from planner.trade.figures import terms
from planner.words import car as car_words

CAR = cars.load(bundled.folder("sample_plans") / "river-bend-car.toml")
COMPUTED = [
    ("spring", "RR"),
    ("spring", "RF"),
    ("bar", "front"),
    ("cross", "car"),
    ("ballast", "rear"),
    ("ballast", "left"),
    ("stagger", "rear"),
    ("panhard", "rear"),
]


def model_of(car: cars.Car, turns: str = "left", averages=GOOD, moved=None, **rest) -> CarModel:
    """Return the model of a car as its file describes it."""
    now = cars.starting_settings(car)
    return CarModel(car, now, moved or {}, run(tires(averages), **rest), averages, turns)


def without(car: cars.Car, key: str) -> cars.Car:
    """Return the car with one key of its file left out."""
    table, _, name = key.strip("[]").partition(".")
    if not name:
        return attrs.evolve(car, scales={})
    if table == "settings":
        kept = {knob: places for knob, places in car.settings.items() if knob != name}
        return attrs.evolve(car, settings=kept)
    part = attrs.evolve(getattr(car, table), **{name: None})
    return attrs.evolve(car, **{table: part})


def in_mirror(car: cars.Car) -> cars.Car:
    """Return the same car for a track that turns the other way."""

    def swapped(values):
        return {mirrored(place): value for place, value in values.items()}

    return attrs.evolve(
        car,
        car=attrs.evolve(car.car, turns="right"),
        settings={knob: swapped(places) for knob, places in car.settings.items()},
        scales=swapped(car.scales),
        motion_ratio=swapped(car.motion_ratio),
        tires=attrs.evolve(
            car.tires, circumference=swapped(car.tires.circumference), rate=swapped(car.tires.rate)
        ),
    )


def effect_on(name: str, model: CarModel, setting, turns: str = "left") -> float:
    """Return what one unit of a setting does to a figure of the whole car."""
    effects = model.effects(*setting)
    assert effects is not None
    return sum(w * effects[term].mean for term, w in terms(name, turns).items() if term in effects)


def order(car: cars.Car | None, averages=TIGHT):
    """Return what is offered for a tight car, in order."""
    found = day_of(tires(averages), car=car).table().candidates
    return [candidate.changes[0].setting for candidate in found]


# --- what an effect rests on --------------------------------------------------------------------


@pytest.mark.parametrize("key", FOR_EFFECTS)
def test_one_missing_key_is_named_and_typical_cars_stand_for_it(key: str) -> None:
    model = model_of(without(CAR, key))
    wanted = Basis("rule-of-thumb", (key,))
    assert model.basis("bar") == wanted
    assert model.effects("bar", "front") is None
    found = day_of(tires(TIGHT), car=without(CAR, key)).table().candidates
    typical = attrs.evolve(wanted, kind="typical")
    assert {basis for candidate in found for basis in candidate.basis} == {typical}


def test_several_missing_keys_are_all_named() -> None:
    two = model_of(without(without(CAR, "[scales]"), "track.radius")).basis("spring")
    assert two.missing == ("[scales]", "track.radius")
    assert model_of(cars.Car()).basis("spring").missing == FOR_EFFECTS


@pytest.mark.parametrize("turn", [{"radius": 61.0}, {"corner_speed": 160.0}])
def test_a_turn_that_no_car_takes_is_said_and_the_rule_of_thumb_stands(turn: dict) -> None:
    beyond = attrs.evolve(CAR, track=attrs.evolve(CAR.track, **turn))
    model = model_of(beyond)
    assert model.basis("cross").kind == "rule-of-thumb"
    assert "none holds more than" in model.basis("cross").trouble
    assert model.effects("cross", "car") is None
    said = " ".join(car_words.understood(known(beyond, "left")))
    assert "Rules of thumb and typical cars say how the tires answer: " in said
    assert "and how the tires answer to" not in said


def test_with_all_keys_the_candidates_rest_on_the_car() -> None:
    found = day_of(tires(TIGHT), car=CAR).table().candidates
    assert len(found) >= 5
    for candidate in found:
        assert {basis.kind for basis in candidate.basis} == {"computed"}


def started(crew: Crew, car: str, *options: str) -> str:
    """Return what `start` says on the terminal, on one line."""
    sample = bundled.folder("sample_plans") / car
    answer = run_command("start", crew.path, "--car", sample, *options)
    assert answer.status == 0
    return " ".join(answer.out.split())


def test_start_tells_what_it_understood_of_the_car(crew: Crew) -> None:
    said = started(crew, "river-bend-car.toml")
    split = weights.weigh(CAR.scales)
    assert f"2800 lb: front {split.front:.1f} %, left {split.left:.1f} %, cross 51.8 %" in said
    assert "17 settings known." in said
    assert "Computed for this car: the turns of the weight jacks, and how the tires answer" in said


def test_start_tells_what_more_of_a_car_file_would_buy(crew: Crew) -> None:
    said = started(crew, "marlpit-car.toml")
    assert "13 settings known; not given: toe, bar, stagger." in said
    assert "Computed for this car: the turns of the weight jacks. Rules of thumb and" in said
    lacking = [key for key in FOR_EFFECTS if not key.startswith(("[scales]", "settings"))]
    assert f"computed with {', '.join(lacking)}." in said


def test_on_a_road_course_start_promises_no_computed_answers(crew: Crew) -> None:
    said = started(crew, "river-bend-car.toml", "--turns", "both", "--rules", "road-course")
    assert "Computed for this car: the turns of the weight jacks. Rules of thumb and" in said


def test_what_was_understood_is_told_until_the_first_run(crew: Crew) -> None:
    started(crew, "river-bend-car.toml")
    assert "Known of the car" in run_command("status", crew.path).out
    crew.record(tires(GOOD))
    assert "Known of the car" not in run_command("status", crew.path).out


@pytest.mark.parametrize("knob", ["camber", "pressure", "toe"])
def test_what_does_not_act_through_the_loads_is_a_rule_of_thumb_and_no_key_would_help(knob) -> None:
    model = model_of(CAR)
    assert model.basis(knob) == Basis("rule-of-thumb")
    assert model.effects(knob, "RF") is None


def test_stagger_wants_the_stagger_that_is_on_the_car() -> None:
    bare = attrs.evolve(
        without(CAR, "settings.stagger"), tires=attrs.evolve(CAR.tires, circumference={})
    )
    assert model_of(bare).basis("stagger").missing == ("settings.stagger",)
    assert model_of(bare).effects("stagger", "rear") is None
    assert model_of(bare).effects("bar", "front") is not None


def test_the_panhard_bar_wants_the_heights() -> None:
    for key in ("dimensions.cg_height", "dimensions.roll_center_rear"):
        lacking = model_of(without(CAR, key))
        assert lacking.basis("panhard").missing == (key,)
        assert lacking.effects("panhard", "rear") is None
        assert lacking.effects("bar", "front") is not None
    # The height of the bar itself is that of the rear roll centre.
    barred = attrs.evolve(
        without(CAR, "dimensions.roll_center_rear"),
        settings={**CAR.settings, "panhard": {"rear": CAR.dimensions.roll_center_rear}},
    )
    assert model_of(barred).effects("panhard", "rear") == model_of(CAR).effects("panhard", "rear")


def test_a_panhard_bar_raised_earlier_in_the_day_counts_for_the_car_as_it_is() -> None:
    raised = attrs.evolve(CAR, dimensions=attrs.evolve(CAR.dimensions, roll_center_rear=11.0))
    moved = model_of(CAR, moved={("panhard", "rear"): 2.0})
    assert moved.mid_turn() == model_of(raised).mid_turn()
    assert moved.mid_turn() == model_of(CAR).mid_turn({("panhard", "rear"): 2.0})


# --- in the middle of the turn -------------------------------------------------------------------


def test_mid_turn_now_and_after_a_change() -> None:
    model = model_of(CAR)
    now, after = model.mid_turn(), model.mid_turn({("cross", "car"): 1.0})
    assert now == model.mid_turn({}) == model.mid_turn({("camber", "RF"): 1.0})
    assert after.cross > now.cross
    assert after.loads["RF"] > now.loads["RF"]
    stiffer = model.mid_turn({("bar", "front"): 100.0, ("spring", "RR"): -25.0})
    assert stiffer.front_share > model.mid_turn({("bar", "front"): 100.0}).front_share
    assert model.mid_turn({("bar", "front"): 100.0}).front_share > now.front_share


def test_mid_turn_is_none_where_the_file_says_too_little_or_the_car_cannot_take_it() -> None:
    assert model_of(without(CAR, "track.radius")).mid_turn() is None
    assert model_of(CAR, "both").mid_turn() is None
    assert model_of(CAR).mid_turn({("spring", "RF"): -5000.0}) is None
    fast = attrs.evolve(CAR, track=attrs.evolve(CAR.track, corner_speed=190.0))
    assert model_of(fast).mid_turn() is None


def test_only_a_solid_axle_has_a_spring_base() -> None:
    for rear, wrong in (("solid", False), ("independent", True), (None, False)):
        suspension = {"rear": rear} if rear else {}
        problems, _ = cars.examine(
            {"dimensions": {"spring_base_rear": 40.0}, "suspension": suspension}
        )
        assert bool(problems) is wrong
    assert cars.examine(
        {"dimensions": {"spring_base_rear": 40.0}, "suspension": {"rear": "independent"}}
    )[0] == [
        "dimensions.spring_base_rear: only a solid axle has one; leave it out, or write "
        'suspension.rear = "solid"'
    ]


def test_a_spring_base_narrower_than_the_track_moves_load_to_the_other_axle() -> None:
    narrow = attrs.evolve(CAR, dimensions=attrs.evolve(CAR.dimensions, spring_base_rear=40.0))
    assert model_of(narrow).mid_turn().front_share > model_of(CAR).mid_turn().front_share


def test_on_a_road_course_nothing_is_computed() -> None:
    assert model_of(CAR, "both").basis("bar") == Basis("rule-of-thumb")


# --- signs and sizes ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("setting", "tighter"),
    [
        (("spring", "RR"), False),
        (("cross", "car"), True),
        (("ballast", "rear"), False),
        (("stagger", "rear"), False),
        (("bar", "front"), True),
        (("spring", "RF"), True),
        (("panhard", "rear"), False),
    ],
)
@pytest.mark.parametrize("averages", [GOOD, TIGHT])
def test_more_of_a_knob_does_what_the_trade_knows(setting, tighter: bool, averages) -> None:
    assert (effect_on("balance", model_of(CAR, averages=averages), setting) > 0) is tighter


@pytest.mark.parametrize("setting", COMPUTED)
def test_the_effect_of_a_small_amount_is_in_proportion_to_it(monkeypatch, setting) -> None:
    usual = model_of(CAR).effects(*setting)
    monkeypatch.setitem(car_model._SMALL, setting[0], car_model._SMALL[setting[0]] / 2)
    halved = model_of(CAR).effects(*setting)
    largest = max(abs(effect.mean) for effect in usual.values())
    for name, effect in usual.items():
        assert halved[name].mean == pytest.approx(effect.mean, abs=0.02 * largest)


@pytest.mark.parametrize("setting", COMPUTED)
def test_on_a_right_turn_track_the_mirrored_car_answers_the_same_in_the_mirror(setting) -> None:
    knob, place = setting
    left = model_of(CAR).effects(knob, place)
    averages = {mirrored(corner): GOOD[corner] for corner in CORNERS}
    right = model_of(in_mirror(CAR), "right", averages).effects(knob, mirrored(place))
    # Cross weight is counted on RF + LR and left ballast leftward, whichever way the track turns.
    sign = -1.0 if setting in (("cross", "car"), ("ballast", "left")) else 1.0
    for corner in CORNERS:
        mean = left[f"average.{corner}"].mean
        there = right[f"average.{mirrored(corner)}"]
        assert there.mean == pytest.approx(sign * mean, rel=1e-6, abs=1e-9)


def test_a_computed_effect_is_never_taken_for_certain() -> None:
    for setting in COMPUTED:
        for effect in model_of(CAR).effects(*setting).values():
            assert effect.sd >= 0.5 * abs(effect.mean)
            assert effect.sd > 0


def test_the_share_of_heat_from_cornering_is_what_rolling_leaves_of_it() -> None:
    # Beside sliding, a tire is heated by rolling: its load times a coefficient of 0.005 to 0.02
    # (truck tires to bias-ply car tires; Gillespie, Fundamentals of Vehicle Dynamics, ch. 4, from
    # memory), all the way round. Only the sliding in the turns answers to the loads.
    state = grip.balance(model_of(CAR)._turn_car(), model_of(CAR)._turn())
    turns, lap = 2 * np.pi * CAR.track.radius, CAR.track.length * 5280

    def share(corner: str, rolling: float) -> float:
        sliding = state.work[corner] * turns
        rolled = state.loads[corner] * turns + CAR.scales[corner] * (lap - turns)
        return sliding / (sliding + rolling * rolled)

    for corner in ("RF", "RR"):
        assert share(corner, 0.02) < car_model.HEAT_SHARE < share(corner, 0.005)


def test_a_computed_effect_is_that_share_of_what_the_model_says() -> None:
    model = model_of(CAR)
    before, after = (
        grip.balance(model._changed(model._turn_car(), "cross", "car", x), model._turn())
        for x in (0.0, 0.05)
    )
    shift = grip.temperature_shift(before, after, GOOD, grip.AIR_F)
    for corner in CORNERS:
        effect = model.effects("cross", "car")[f"average.{corner}"]
        assert effect.mean == pytest.approx(car_model.HEAT_SHARE * shift[corner] / 0.05, rel=0.02)


def test_a_car_the_model_cannot_hold_gets_no_computed_effect() -> None:
    track = attrs.evolve(CAR.track, corner_speed=190.0)
    assert model_of(attrs.evolve(CAR, track=track)).effects("bar", "front") is None


# --- what it changes ----------------------------------------------------------------------------


def test_without_what_a_car_file_tells_the_order_is_that_of_the_typical_cars() -> None:
    wanted = [offer.use for offer in book().rule("balance.tight").offers]
    entries = [book().adjustment[use] for use in wanted]
    assert set(order(None)) == {(entry.knob, entry.corner) for entry in entries}
    assert order(None)[-1] == ("stagger", "rear")
    assert order(without(CAR, "[scales]")) == order(None)


def test_other_scales_change_the_order_for_the_same_readings() -> None:
    # Over 100 lb more on each front and as much less on each rear tire.
    nose = {"LF": 135.0, "RF": 100.0, "LR": -135.0, "RR": -100.0}
    other = attrs.evolve(CAR, scales={c: CAR.scales[c] + nose[c] for c in CORNERS})
    one, two = order(CAR), order(other)
    assert set(one) == set(two)
    # The heavier front leans on its bar the more.
    bar, spring = ("bar", "front"), ("spring", "RR")
    assert one.index(spring) < one.index(bar)
    assert two.index(bar) < two.index(spring)
    # Stagger would be worth more yet; it is set for the turn and stands last.
    assert one[-1] == two[-1] == ("stagger", "rear")


# --- at the car ---------------------------------------------------------------------------------


def made(knob: str, place: str, amount: float, car: cars.Car = CAR) -> changes.Change:
    return changes.make(knob, place, amount, cars.starting_settings(car))


def suspension() -> at_rest.Suspension:
    return at_rest.Suspension(
        CAR.settings["spring"],
        CAR.motion_ratio,
        tire_rates=CAR.tires.rate,
        bar_front=CAR.settings["bar"]["front"],
        bar_rear=CAR.settings["bar"]["rear"],
    )


def crossed_after(turns: dict[str, float]) -> float:
    """Return the cross weight after turns of the jacks [percent], by the four-spring solver."""
    track_ratio = CAR.dimensions.track_front / CAR.dimensions.track_rear
    moved = jacking.turn_response(
        suspension(), turns, pitch=CAR.jack.pitch, track_ratio=track_ratio
    )
    return weights.weigh({c: CAR.scales[c] + moved.load[c] for c in CORNERS}).cross


@pytest.mark.parametrize("amount", [-1.0, 0.5])
def test_the_turns_of_the_jack_bring_the_cross_weight_they_promise(amount: float) -> None:
    (told,) = at_the_car(made("cross", "car", amount), model_of(CAR))
    assert told.jack == "LR"
    assert (told.turns > 0) == (amount > 0)  # into the LR jack puts weight on LR and RF
    assert told.before == pytest.approx(weights.weigh(CAR.scales).cross)
    assert crossed_after({"LR": told.turns}) == pytest.approx(told.after, abs=0.01)
    assert told.after == pytest.approx(told.before + amount, abs=0.11)
    assert crossed_after(told.all_four) == pytest.approx(told.after_all, abs=0.01)
    assert all(turns * 4 == int(turns * 4) for turns in told.all_four.values())  # by hand


@pytest.mark.parametrize("amount", [-1.0, -0.5, 0.25])
def test_turns_of_the_jack_are_quarters_as_the_calculator_says_them(amount: float) -> None:
    (told,) = at_the_car(made("cross", "car", amount), model_of(CAR))
    wanted = weights.weigh(CAR.scales).cross + amount
    car = bundled.folder("sample_plans") / "river-bend-car.toml"
    worked = run_command("work", "jack", "--car", car, "--cross", f"{wanted:.9f}", "--json").data
    plan = worked["results"]["one_jack"]
    assert 4 * told.turns == round(4 * told.turns)
    assert told.turns == plan["turns"]["LR"]
    assert told.exact == pytest.approx(plan["exact_turns"]["LR"], abs=1e-4)


def test_on_a_right_turn_track_it_is_the_other_jack() -> None:
    change = made("cross", "car", 0.5, in_mirror(CAR))
    (told,) = at_the_car(change, model_of(in_mirror(CAR), "right"))
    assert told.jack == "RR"


def test_without_scales_the_turns_are_asked_for() -> None:
    bare = model_of(without(CAR, "[scales]"))
    assert at_the_car(made("cross", "car", 0.5), bare) == (NotComputed("cross"),)


def test_a_spring_change_names_the_cross_it_leaves_and_the_cross_brought_back() -> None:
    from planner.chassis import springs
    from planner.chassis.at_rest import AtRest, Jack
    from planner.chassis.loads import usual_unsprung

    (told,) = at_the_car(made("spring", "RR", 50.0), model_of(CAR))
    size = CAR.dimensions
    car = AtRest(
        loads=CAR.scales,
        suspension=suspension(),
        track_front=size.track_front,
        track_rear=size.track_rear,
    )
    light = usual_unsprung(sum(CAR.scales.values()), "RR")
    assert light == pytest.approx(0.11 * sum(CAR.scales.values()) / 2)
    done = springs.spring_change(car, "RR", 275.0, unsprung=light, jack=Jack(CAR.jack.pitch))
    assert told == KeptCross(
        "RR",
        done.hand_turns,
        done.turns,
        before=done.cross_before,
        left_alone=done.cross_after,
        brought_back=done.hand_cross,
        unsprung=light,
        frees=True,
        travel=abs(done.hand_turns) * CAR.jack.pitch,
        pressed=(CAR.scales["RR"] - light) / CAR.motion_ratio["RR"] / 275.0,
    )
    assert done.cross_after < done.cross_before  # RR is on the other diagonal
    assert abs(done.hand_cross - done.cross_before) < 0.2
    assert told.turns < 0  # out of the jack


def test_a_spring_change_on_an_unknown_car_asks_for_the_scales_again() -> None:
    change = changes.make("spring", "RR", 50.0, {})
    assert at_the_car(change, model_of(cars.Car())) == (NotComputed("spring"),)


@pytest.mark.parametrize("amount", [-2.0, 1.5])
def test_the_hot_pressure_to_expect_is_that_of_the_gas_law(amount: float) -> None:
    model = model_of(CAR, cold={"RF": 26.0}, hot={"RF": 33.0})
    told, *_ = at_the_car(made("pressure", "RF", amount), model)
    # The same tire as hot as before: absolute pressures in the same ratio; 14.696 psi outside.
    expected = (26.0 + amount + 14.696) * (33.0 + 14.696) / (26.0 + 14.696) - 14.696
    assert told == HotPressure(pytest.approx(expected, abs=0.01), hot=33.0, cold=26.0)


def test_without_a_hot_reading_nothing_is_said_of_it() -> None:
    less = made("pressure", "RF", -1.0)
    for read in ({"cold": {"RF": 26.0}}, {"hot": {"LF": 20.0}}):
        told = at_the_car(less, model_of(CAR, **read))
        assert not any(isinstance(line, HotPressure) for line in told)


def test_ballast_tells_the_new_percentages() -> None:
    (told,) = at_the_car(made("ballast", "rear", 50.0), model_of(CAR))
    total = sum(CAR.scales.values())
    rear = CAR.scales["LR"] + CAR.scales["RR"] + 50.0 / 2  # half the wheelbase: half the weight
    assert told.rear == pytest.approx(100 * rear / total)
    # Moments about the front axle: 50 lb by half the wheelbase put 25 lb on the rear tires.
    assert told.distance == pytest.approx(104.0 / 2)
    assert told.scales["LR"] + told.scales["RR"] == pytest.approx(25.0)
    assert told.scales["LF"] + told.scales["RF"] == pytest.approx(-25.0)


def test_ballast_moved_earlier_in_the_day_counts_for_the_car_as_it_is() -> None:
    light, moved = model_of(CAR), model_of(CAR, moved={("ballast", "rear"): 150.0})
    values = [
        np.array([m.effects("stagger", "rear")[f"average.{c}"].mean for c in CORNERS])
        for m in (light, moved)
    ]
    assert np.abs(values[0] - values[1]).max() > 0.05
