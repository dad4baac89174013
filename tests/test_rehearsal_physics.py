"""The simulated car: the trade's signs by physics, heat that adds up, wear, noise, cooling."""

import copy
import math
from collections.abc import Callable
from functools import cache

import attrs
import numpy as np
import pytest

from planner.car import car_file
from planner.car.changes import Change, Setting
from planner.chassis.pressure import hot_from_cold
from planner.rehearsal import faults, gas, heat, laps, tread, truth
from planner.rehearsal.body import body
from planner.rehearsal.car import READING_ORDERS, SimulatedCar, invented
from planner.rehearsal.laps import Conditions
from planner.rehearsal.out_of_band import excesses
from planner.rehearsal.truth import Truth
from planner.rehearsal.world import World
from planner.rulebook import rules_file
from planner.trade.corners import CORNERS
from planner.trade.figures import Figures
from planner.trade.refusals import Refusal

CAR = car_file.load(invented())
BOOK = rules_file.load(rules_file.find("paved-oval"))
SEEDS = (None, 1, 2, 3)  # None: the nominal truth

# Knob, size of the move, and what it must do: figures of which the first one rises, and so on.
UP, DOWN = 1.0, -1.0
SIGNS: list[tuple[Setting, float, dict[str, float]]] = [
    (("camber", "LF"), 0.5, {"split.LF": DOWN}),
    (("camber", "RF"), 0.5, {"split.RF": DOWN}),
    (("camber", "LR"), 0.5, {"split.LR": DOWN}),
    (("camber", "RR"), 0.5, {"split.RR": DOWN}),
    # A sixteenth of toe turns each tire by 0.07 deg only: it takes more to show.
    (("toe", "front"), -0.25, {"front_split": UP, "average.LF": UP, "average.RF": DOWN}),
    (("pressure", "LF"), 1.0, {"crown.LF": UP, "average.LF": DOWN}),
    (("pressure", "RF"), 1.0, {"crown.RF": UP, "average.RF": DOWN}),
    (("pressure", "LR"), 1.0, {"crown.LR": UP, "average.LR": DOWN}),
    (("pressure", "RR"), 1.0, {"crown.RR": UP, "average.RR": DOWN}),
    (
        ("cross", "car"),
        1.0,
        {
            "average.RF": UP,
            "average.LR": UP,
            "average.LF": DOWN,
            "average.RR": DOWN,
            "balance": UP,
            "cross_vs_front": UP,
            "cross_vs_right": UP,
        },
    ),
    (("bar", "front"), 50.0, {"balance": UP, "average.RF": UP, "average.RR": DOWN}),
    (("spring", "RR"), 25.0, {"balance": DOWN, "average.RR": UP, "average.RF": DOWN}),
    (("ballast", "rear"), 30.0, {"balance": DOWN, "average.RR": UP, "average.RF": DOWN}),
    (("ballast", "left"), 30.0, {"left_vs_right": UP}),
    (("stagger", "rear"), 0.25, {"balance": DOWN}),
    (("panhard", "rear"), 0.5, {"balance": DOWN}),
]


@cache
def world(seed: int | None) -> World:
    hidden = Truth() if seed is None else truth.draw(np.random.default_rng(seed))
    return World(body(CAR), hidden, 10)


def moved(seed: int | None, setting: Setting, amount: float) -> tuple[Figures, Figures]:
    """Return the true figures without and with a change."""
    here = world(seed)
    start = here.body.start
    changed = {**start, setting: start[setting] + amount}
    before, after = here.figures([start, changed], here.fresh())
    return before, after


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("setting", "amount", "wanted"), SIGNS, ids=lambda v: str(v)[:30])
def test_the_signs_of_the_trade(
    setting: Setting, amount: float, wanted: dict[str, float], seed: int | None
) -> None:
    before, after = moved(seed, setting, amount)
    for name, sign in wanted.items():
        assert sign * (after[name] - before[name]) > 0.1, name


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stiffer_right_front_spring_never_frees_the_car(seed: int | None) -> None:
    # On this car its way into the load transfer is short: banking and the soft left front take
    # most of it back.
    before, after = moved(seed, ("spring", "RF"), 200.0)
    assert after["balance"] > before["balance"]


@pytest.mark.parametrize("corner", CORNERS)
def test_a_change_at_one_tire_stays_there(corner: str) -> None:
    before, after = moved(None, ("camber", corner), 0.5)
    others = [c for c in CORNERS if c != corner]
    for other in others:
        assert after[f"split.{other}"] == pytest.approx(before[f"split.{other}"], abs=0.3)


def test_the_ordinary_car_reads_about_what_the_trade_calls_good() -> None:
    here = world(None)
    (figures,) = here.figures([here.body.start], Conditions(90.0, here.fresh().tread))
    for corner in CORNERS:
        assert 165 < figures[f"average.{corner}"] < 235
    # The camber of its left front is not that of a good setup yet.
    out = excesses(figures, BOOK)
    assert max((beyond for key, beyond in out.items() if "camber" not in key), default=0.0) < 5


def without_wear() -> World:
    here = world(None)
    rubber = attrs.evolve(here.truth.rubber, wear=0.0)
    return attrs.evolve(here, truth=attrs.evolve(here.truth, rubber=rubber))


def test_heat_that_came_in_is_stored_or_has_left(monkeypatch: pytest.MonkeyPatch) -> None:
    # Tread worn away takes its heat capacity along: hold it on.
    here = without_wear()
    came, left = np.zeros(4), np.zeros(4)
    advance = heat.Tire.advance

    def kept_count_of(tire, temperatures, power, left_of, around, seconds, steps):
        for _ in range(steps):
            ways = tire.ways(around)
            to_air, to_track = ways.to_air, ways.to_track
            lost = to_air * (temperatures - around.air) + to_track * (temperatures - around.track)
            came[:] += (power.sum(axis=-1) * seconds / steps)[0]
            left[:] += (lost.sum(axis=-1) / heat.F_PER_K * seconds / steps)[0]
            temperatures = advance(
                tire, temperatures, power, left_of, around, seconds / steps, steps=1
            )
        return temperatures

    monkeypatch.setattr(heat.Tire, "advance", kept_count_of)
    driven = here.driven([here.body.start], here.fresh())
    air, track = here.truth.weather.at(0.0)
    warm = air + laps.SUN_WARMED * (track - air)
    capacity = here.truth.tire.capacities(np.ones((4, 3)))
    stored = (capacity * (driven.tires.temperatures[0] - warm)).sum(axis=-1) / heat.F_PER_K
    assert stored + left == pytest.approx(came, rel=1e-9)
    assert (left > 0).all()
    # Ten laps take about three and a half minutes, a loaded tire makes 3 to 15 kW on the average.
    assert (came / driven.lap_times.sum() > 1500).all()
    assert (came / driven.lap_times.sum() < 20_000).all()


def test_halving_the_steps_hardly_changes_the_temperatures(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    here = world(None)
    coarse = here.driven([here.body.start], here.fresh()).tires.temperatures
    monkeypatch.setattr(laps, "STEPS_TURN", 2 * laps.STEPS_TURN)
    monkeypatch.setattr(laps, "STEPS_STRAIGHT", 2 * laps.STEPS_STRAIGHT)
    fine = here.driven([here.body.start], here.fresh()).tires.temperatures
    assert np.abs(fine - coarse).max() < 1.0


def test_laps_after_laps_bring_a_tire_near_its_steady_heat() -> None:
    # Without wear: tires that lose their grip make less heat from lap to lap.
    def middle(number: int) -> float:
        here = attrs.evolve(without_wear(), per_run=number)
        driven = here.driven([here.body.start], here.fresh())
        return float(driven.tires.temperatures[0, 1, 1])

    rises = np.diff([middle(n) for n in (10, 20, 40, 80)])
    assert rises[0] > rises[1] > rises[2] > 0


def test_shares_across_the_tread_add_up_and_follow_camber_and_pressure() -> None:
    even = tread.shares(np.array(0.0), np.array(0.0))
    assert even == pytest.approx([1 / 3] * 3)
    inner, _, outer = tread.shares(np.array(0.2), np.array(0.0))
    assert outer > inner
    inner, mid, outer = tread.shares(np.array(0.0), np.array(0.2))
    assert mid > inner == outer
    for edge in (-3.0, -0.5, 0.5, 3.0):
        assert tread.shares(np.array(edge), np.array(0.1)).sum() == pytest.approx(1.0)


@pytest.mark.parametrize("hot", [100.0, 160.0, 210.0])
def test_hot_pressure_is_that_of_the_gas_law(hot: float) -> None:
    ours = gas.warmed(np.array([26.0]), 70.0, np.array([hot]))[0]
    assert ours == pytest.approx(hot_from_cold(26.0, 70.0, hot), abs=1e-3)


def test_tires_build_pressure_while_they_run() -> None:
    here = world(None)
    driven = here.driven([here.body.start], here.fresh())
    cold = np.array([here.body.start["pressure", corner] for corner in CORNERS])
    assert (driven.hot[0] - cold > 1.5).all()
    assert (driven.hot[0] - cold < 9.0).all()


def test_tires_wear_where_they_work_hot() -> None:
    here = world(None)
    start = here.body.start
    leaning = {**start, ("camber", "RF"): start["camber", "RF"] + 2.0}
    even, outer = here.driven([start, leaning], here.fresh()).tires.tread
    depth = here.truth.rubber.depth
    worn = depth - even
    assert (worn > 0).all()
    assert worn[1].sum() > worn[0].sum()  # the right front more than the left front
    right_front = depth - outer[1]
    assert right_front[2] > worn[1, 2]
    assert right_front[0] < worn[1, 0]


def test_worn_tires_are_slower() -> None:
    here = world(None)
    new, worn = (
        here.driven([here.body.start], Conditions(0.0, np.full((4, 3), depth))).lap_times.sum()
        for depth in (8.0, 2.0)
    )
    assert worn > new


@pytest.mark.parametrize("seed", SEEDS)
def test_tires_follow_the_track_more_than_the_air(seed: int | None) -> None:
    # Common practice, no source; the contact conducts more than the film of the air.
    here = world(seed)

    def warmed(air: float, track: float) -> float:
        weather = here.truth.weather
        other = attrs.evolve(weather, morning=weather.morning + air, sun=weather.sun + track - air)
        there = attrs.evolve(here, truth=attrs.evolve(here.truth, weather=other))
        before, after = (w.figures([w.body.start], w.fresh())[0].averages() for w in (here, there))
        return float(np.mean([after[c] - before[c] for c in CORNERS]))

    by_air, by_track = warmed(10.0, 0.0), warmed(0.0, 10.0)
    assert 4 < by_track < 8
    assert 1 < by_air < by_track


def test_the_day_warms_and_the_tires_with_it() -> None:
    here = world(None)
    (air, track), (later_air, later_track) = (here.truth.weather.at(m) for m in (0.0, 240.0))
    assert later_air > air
    assert later_track - later_air > track - air
    early, late = (
        here.figures([here.body.start], Conditions(m, here.fresh().tread))[0] for m in (0.0, 240.0)
    )
    assert late["front"] > early["front"] + 2


def test_a_standing_tire_cools_towards_the_air_within_minutes() -> None:
    here = world(None)
    at = here.fresh()
    driven = here.driven([here.body.start], at)
    air, _ = here.truth.weather.at(0.0)

    def average(seconds: float) -> float:
        stood = laps.stand(driven.tires, here.truth, air, seconds)
        return float(stood.temperatures[0, 1, :3].mean())

    hot, minute, later = average(0.0), average(60.0), average(600.0)
    assert hot > minute > later > air
    # The tread alone answers in about ten minutes; the planner's own belief allows 300 to 1200 s.
    assert 200 < 60 / math.log((hot - air) / (minute - air)) < 1800


@pytest.fixture(scope="module")
def car() -> Callable[..., SimulatedCar]:
    @cache
    def made(seed: int) -> SimulatedCar:
        return SimulatedCar(seed, car=CAR, book=BOOK)

    return lambda seed: copy.deepcopy(made(seed))


def test_the_same_seed_is_the_same_day(car: Callable[..., SimulatedCar]) -> None:
    one, other = car(11), SimulatedCar(11, car=CAR, book=BOOK)
    assert one.settings == other.settings
    assert one.faults == other.faults
    assert [one.drive() for _ in range(2)] == [other.drive() for _ in range(2)]
    assert car(12).drive() != car(11).drive()


@pytest.mark.parametrize("seed", range(6))
def test_the_good_setup_is_truly_in_band_and_realistic(
    seed: int, car: Callable[..., SimulatedCar]
) -> None:
    simulated = car(seed)
    at = simulated.world.fresh()
    for minutes in (0.0, 120.0, 240.0):
        (figures,) = simulated.world.figures([simulated.good], Conditions(minutes, at.tread))
        assert not excesses(figures, BOOK)
    for corner in CORNERS:
        assert abs(simulated.good["camber", corner]) <= 6
        assert 10 <= simulated.good["pressure", corner] <= 34
    assert 48 <= simulated.good["cross", "car"] <= 56
    # No tire is made to read right by a heat of its own.
    heats = simulated.world.truth.heat
    assert ((heats >= 0.85) & (heats <= 1.15)).all()


def test_readings_scatter_as_the_rules_say(car: Callable[..., SimulatedCar]) -> None:
    simulated = car(3)
    at = simulated.conditions
    reads, commons = [], []
    for _ in range(100):
        simulated.conditions = at  # the same run again and again
        run = simulated.drive()
        assert simulated.shown is not None
        off = [np.mean(run.tires[c]) - simulated.shown[f"average.{c}"] for c in CORNERS]
        commons.append(np.mean(off))
        inner, _, outer = run.tires["RF"]
        reads.append(inner - outer)
    # Whole degrees add 1/12; the split has twice the variance of a reading.
    assert np.std(reads) == pytest.approx(math.sqrt(2) * BOOK.noise.reading, rel=0.2)
    common = math.hypot(BOOK.noise.run, BOOK.noise.reading / math.sqrt(12))
    assert np.std(commons) == pytest.approx(common, rel=0.2)


def test_crews_read_round_the_car_one_way_or_the_other(car: Callable[..., SimulatedCar]) -> None:
    orders = [car(seed).drive().order for seed in range(6)]
    assert set(orders) == set(READING_ORDERS)
    assert all(order[0] == "RF" for order in orders if order)


def test_the_probe_reads_later_tires_cooler(car: Callable[..., SimulatedCar]) -> None:
    simulated = car(4)
    last = simulated.order[-1]
    again, late = [], []
    at = simulated.conditions
    for _ in range(60):
        simulated.conditions = at
        run = simulated.drive()
        assert simulated.shown is not None
        assert run.order == simulated.order
        assert run.again is not None
        again.append(np.mean(run.again.tire) - np.mean(run.tires["RF"]))
        late.append(
            np.mean(run.tires[last])
            - simulated.shown[f"average.{last}"]
            - np.mean(run.tires["RF"])
            + simulated.shown["average.RF"]
        )
    assert np.mean(again) < -1
    assert np.mean(late) < -1


def test_changes_go_on_the_car_and_come_off_again(car: Callable[..., SimulatedCar]) -> None:
    simulated = car(5)
    before = dict(simulated.settings)
    simulated.apply([Change("camber", "RF", 0.5)])
    assert simulated.settings["camber", "RF"] == before["camber", "RF"] + 0.5
    simulated.stand_at({})
    assert simulated.settings == before


def test_what_is_measured_in_the_morning_is_what_is_on_the_car(
    car: Callable[..., SimulatedCar],
) -> None:
    simulated = car(6)
    settings = car_file.starting_settings(simulated.file())
    for setting, value in simulated.begun.items():
        if setting[0] not in ("ballast", "cross", "stagger", "panhard"):
            assert settings[setting] == pytest.approx(value)
    begun = simulated.begun["panhard", "rear"]
    assert simulated.file().dimensions.roll_center_rear == begun
    # On the scales stands what the pressures make of the cross that was set.
    right = SimulatedCar(6, {}, car=CAR, book=BOOK)
    for setting in (("cross", "car"), ("stagger", "rear")):
        found = car_file.starting_settings(right.file())[setting]
        assert found == pytest.approx(right.good[setting], abs=0.01)


def test_air_let_out_moves_cross_and_stagger_until_they_are_set_again() -> None:
    soft = SimulatedCar(6, {("pressure", "RR"): -4.0}, car=CAR, book=BOOK)
    found = car_file.starting_settings(soft.file())
    # A smaller and softer right rear takes load off itself and off the left front.
    assert 0.1 < found["cross", "car"] - soft.good["cross", "car"] < 1.5
    assert -0.8 < found["stagger", "rear"] - soft.good["stagger", "rear"] < -0.1


def test_faults_are_displacements_from_the_good_setup() -> None:
    given = {("camber", "RF"): 1.5, ("cross", "car"): -2.0}
    simulated = SimulatedCar(7, given, car=CAR, book=BOOK)
    for setting, value in simulated.good.items():
        expected = given.get(setting, 0.0)
        assert simulated.begun[setting] - value == pytest.approx(expected)
    assert excesses(simulated.true_figures(), BOOK)


def test_what_cannot_be_turned_is_neither_set_nor_wrong() -> None:
    camber = attrs.evolve(CAR.limits["camber"], LF="fixed")
    fixed = attrs.evolve(CAR, limits={**CAR.limits, "camber": camber})
    # A left front that is right as it stands.
    settings = {**CAR.settings, "camber": {**CAR.settings["camber"], "LF": 1.5}}
    simulated = SimulatedCar(7, car=attrs.evolve(fixed, settings=settings), book=BOOK)
    assert simulated.good["camber", "LF"] == simulated.begun["camber", "LF"] == 1.5


def test_without_faults_nothing_is_out_of_band() -> None:
    assert excesses(SimulatedCar(7, {}, car=CAR, book=BOOK).true_figures(), BOOK) == {}


def test_a_car_file_that_says_too_little_names_what_is_missing() -> None:
    with pytest.raises(Refusal, match="track\\.radius"):
        body(attrs.evolve(CAR, track=attrs.evolve(CAR.track, radius=None)))


@pytest.mark.parametrize(
    "text", ["camber", "camber.XX=1", "camber.RF=a lot", "camber.RF=nan", "wing.rear=1"]
)
def test_a_fault_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(Refusal):
        faults.parse([text])
