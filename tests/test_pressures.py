"""Recorded pressures against the gas law: a slow leak shows, the expected build-up does not.

Gauge 20 psi at 70 degF comes to 23.9 psi at 130 degF at sea level: absolute zero at -460 degF and
14.7 psi, worked in a public mailing-list post (fot list, July 2002); recomputed here.
"""

import pytest
from garage import GOOD, Crew, book, day_of, run, run_command, tire_options, tires

from planner.car.at_the_car import HotPressure
from planner.car.car_file import Car
from planner.judging.pressures import (
    HIGH_HOT,
    LOST,
    LOST_HOT,
    LOW_HOT,
    ODD,
    findings,
    losing,
    questions,
)
from planner.plan.day import Day
from planner.trade.corners import CORNERS
from planner.words.patterns import says
from planner.words.slips import of_air

COLD = {"LF": 16.0, "RF": 26.0, "LR": 16.0, "RR": 24.0}
SETTINGS = {("pressure", corner): psi for corner, psi in COLD.items()}
AIR = 70.0


def by_gas_law(cold: float, cold_f: float, hot_f: float) -> float:
    """Return the hot gauge pressure of a closed tire, at sea level."""
    return (cold + 14.696) * (hot_f + 459.67) / (cold_f + 459.67) - 14.696


def built_up() -> dict[str, float]:
    """Return hot pressures as they should be: the gas gets part of the tread's rise."""
    from planner.chassis.pressure import gas_temperature

    return {c: by_gas_law(COLD[c], AIR, gas_temperature(GOOD[c], AIR)) for c in CORNERS}


def shown(settings=SETTINGS, **pressures):
    """Return what a run with these pressures shows, by pattern and corner."""
    found = findings(run(tires(), **pressures), GOOD, settings)
    return {(pattern.id, pattern.corner): pattern for pattern in found}


def test_the_gas_law_of_this_test_gives_the_published_value() -> None:
    assert by_gas_law(20.0, 70.0, 130.0) == pytest.approx(23.9, abs=0.05)


def test_the_expected_build_up_shows_nothing() -> None:
    hot = built_up()
    assert all(hot[corner] > COLD[corner] + 2 for corner in CORNERS)
    assert shown(cold=COLD, hot=hot, air_temp=AIR) == {}


@pytest.mark.parametrize("corner", CORNERS)
def test_a_tire_that_lost_air_in_the_run_shows_a_slow_leak(corner: str) -> None:
    hot = built_up()
    hot[corner] -= 3.0
    ((key, pattern),) = shown(cold=COLD, hot=hot, air_temp=AIR).items()
    assert key == (LOW_HOT, corner)
    assert pattern.value == pytest.approx(-3.0, abs=0.01)
    assert "suspect a slow leak" in says(pattern, book(), "us")
    assert pattern.stage is None  # information: no stage is held by it


@pytest.mark.parametrize("share", [0.5, 0.52])
def test_tires_that_all_stay_cooler_than_taken_do_not_all_leak(share: float) -> None:
    hot = {c: by_gas_law(COLD[c], AIR, AIR + share * (GOOD[c] - AIR)) for c in CORNERS}
    assert hot["RF"] < built_up()["RF"] - 1.9
    assert shown(cold=COLD, hot=hot, air_temp=AIR) == {}
    for corner in CORNERS:  # but one that is low beside them does
        low = hot | {corner: hot[corner] - 3.0}
        ((key, pattern),) = shown(cold=COLD, hot=low, air_temp=AIR).items()
        assert (key, pattern.value) == ((LOW_HOT, corner), pytest.approx(-3.0, abs=0.01))


def test_with_fewer_than_three_tires_the_stated_share_is_all_there_is() -> None:
    hot = {c: by_gas_law(COLD[c], AIR, AIR + 0.5 * (GOOD[c] - AIR)) for c in ("LF", "RF")}
    assert (LOW_HOT, "RF") in shown(cold=COLD, hot=hot, air_temp=AIR)


@pytest.mark.parametrize(
    ("hot", "meant"),
    [
        ((30.0, 19.5, 20.5, 33.0), "LF 19.5, RF 33, RR 30"),  # typed LF RF LR RR
        ((33.0, 20.0, 30.0, 20.0), "LF 20, RF 33, LR 20, RR 30"),
        ((20.0, 33.0, 30.0, 20.0), "LR 20, RR 30"),
        ((20.0, 33.0, 20.0, 30.0), ""),
    ],
)
def test_hot_pressures_typed_in_another_order_are_asked_about(hot, meant: str) -> None:
    typed = dict(zip(("LF", "RF", "LR", "RR"), hot, strict=True))
    asked = questions(run(tires(), hot=typed), COLD, ("RF", "RR", "LR", "LF"))
    assert len(asked) == bool(meant)
    if meant:
        assert asked[0].when == "hot"
        assert asked[0].odd == "exchanged"
        assert f"Then it is {meant}." in of_air(asked[0])
        assert asked[0].instead is not None
        assert sorted(asked[0].instead.values()) == sorted(hot)


@pytest.mark.parametrize(
    ("psi", "odd"), [(63.0, "impossible"), (17.0, "impossible"), (17.4, "lost"), (23.0, "lost")]
)
def test_a_hot_pressure_that_cannot_be_is_asked_about_by_itself(psi: float, odd: str) -> None:
    (asked,) = questions(run(tires(), cold=COLD, hot={"RF": psi, "LF": 20.0}), {})
    assert (asked.corner, asked.instead) == ("RF", None)
    assert (asked.odd, asked.read, asked.cold) == (odd, {"RF": psi}, 26.0)
    assert not questions(run(tires(), hot={"RF": psi}), {})  # nothing to hold it against


def test_a_tire_that_built_up_too_much_has_damp_air_or_was_set_warm() -> None:
    hot = built_up() | {"RF": built_up()["RF"] + 3.0}
    ((key, pattern),) = shown(cold=COLD, hot=hot, air_temp=AIR).items()
    assert key == (HIGH_HOT, "RF")
    assert "damp air" in says(pattern, book(), "us")


@pytest.mark.parametrize("short", [-1.5, 1.5])
def test_within_what_the_estimate_is_good_for_nothing_is_said(short: float) -> None:
    hot = built_up() | {"RF": built_up()["RF"] + short}
    assert shown(cold=COLD, hot=hot, air_temp=AIR) == {}


def test_without_an_air_temperature_nothing_is_said_of_hot_pressures() -> None:
    leaking = {corner: psi + 0.5 for corner, psi in COLD.items()}
    assert set(shown(cold=COLD, hot=leaking, air_temp=AIR)) == {(LOW_HOT, c) for c in CORNERS}
    assert shown(cold=COLD, hot=leaking) == {}


def test_hot_pressures_that_cannot_belong_to_the_cold_ones_are_questioned_in_any_weather() -> None:
    exchanged = {"LF": 34.0, "RF": 20.0, "LR": 20.5, "RR": 30.0}
    found = shown(cold=COLD, hot=exchanged)
    # RF may have lost six psi, whoever mixed up what: it is protected until it was looked at.
    assert set(found) == {(ODD, "LF"), (LOST_HOT, "RF")}
    assert says(found[ODD, "LF"], book(), "us").startswith("LF: 34.0 psi hot from 16.0 cold")
    assert says(found[LOST_HOT, "RF"], book(), "us") == (
        "RF: 20.0 psi hot, less than its 26.0 cold: it is losing air, or one of the two is a slip"
    )


def test_a_hot_pressure_without_its_own_cold_goes_by_the_setting_of_the_plan() -> None:
    hot = {"LF": built_up()["LF"] - 3.0}
    assert set(shown(hot=hot, air_temp=AIR)) == {(LOW_HOT, "LF")}
    assert shown(settings={}, hot=hot, air_temp=AIR) == {}


def test_a_cold_pressure_below_what_was_set_shows_whatever_the_weather() -> None:
    ((key, pattern),) = shown(cold=COLD | {"RR": 22.5}).items()
    assert key == (LOST, "RR")
    assert "22.5 psi cold, but 24.0 was set" in says(pattern, book(), "us")


def test_a_cold_pressure_off_by_what_a_gauge_reads_to_shows_nothing() -> None:
    assert shown(cold=COLD | {"RR": 23.5}) == {}
    assert shown(cold=COLD | {"RR": 26.0}) == {}  # more air is no leak


def test_without_pressures_nothing_is_said() -> None:
    assert shown(air_temp=AIR) == {}


def test_a_leak_stands_in_the_status_and_holds_no_stage(crew: Crew, tmp_path) -> None:
    car = tmp_path / "car.toml"
    inside = ", ".join(f"{corner} = {psi}" for corner, psi in COLD.items())
    car.write_text(f"[settings]\npressure = {{{inside}}}\n")
    crew.start("--car", car)
    hot = built_up() | {"LR": built_up()["LR"] - 4.0}
    options = [f"--hot={corner}={psi:.1f}" for corner, psi in hot.items()]
    status = crew.record(tires(), *options, "--air-temp", AIR)
    (pattern,) = status["patterns"]
    assert (pattern["id"], pattern["corner"], pattern["stage"]) == (LOW_HOT, "LR", None)
    assert (status["stage"], status["due"]) == ("confirm", "run")


# --- a reading that cannot be ---------------------------------------------------------------


def from_a_slip(corner: str = "LR", hot: float = 9.0) -> dict:
    """Return the pressures of a run in which one hot reading cannot be: 9 psi from 16 cold."""
    return {"cold": COLD, "hot": built_up() | {corner: hot}, "air_temp": AIR}


@pytest.mark.parametrize("air", [{"air_temp": AIR}, {"air_temp": None}])
def test_a_reading_that_cannot_be_is_no_leak(air) -> None:
    found = shown(**from_a_slip() | air)
    assert set(found) == {(ODD, "LR")}
    assert not losing(found.values())
    assert "read it again" in says(found[ODD, "LR"], book(), "us")


@pytest.mark.parametrize("corner", CORNERS)
def test_it_masks_nothing_and_takes_no_offer_away(corner: str) -> None:
    """It held back the tire's air, whose fault then masked all that leans on the tire."""
    over = tires(GOOD | {"RF": 227.0}, crown={corner: 6.0})
    car = Car(settings={"pressure": COLD})
    plain, odd = (
        day_of(over, car=car, **pressures)
        for pressures in ({"cold": COLD, "air_temp": AIR}, from_a_slip(corner))
    )
    assert plain.table() == odd.table()
    assert any(c.changes[0].setting == ("pressure", corner) for c in odd.table().candidates)
    apart = [p for p in odd.good[-1].patterns if not p.id.startswith("pressure.odd")]
    assert list(plain.good[-1].patterns) == apart


def test_nothing_is_computed_from_it() -> None:
    car = Car(settings={"pressure": COLD})
    over = tires(crown={"LR": 6.0})
    sound = day_of(over, car=car, **from_a_slip(hot=20.0))
    odd = day_of(over, car=car, **from_a_slip())

    def foretold(day: Day) -> list[HotPressure]:
        told = day.how(day.table().candidates[0])
        return [each for each in told if isinstance(each, HotPressure)]

    assert foretold(sound)
    assert not foretold(odd)  # no hot pressure is foretold from it


def test_it_does_not_count_for_what_most_tires_show() -> None:
    """Three tires build up by a share of half; a fourth that cannot be leaves them so."""
    hot = {c: by_gas_law(COLD[c], AIR, AIR + 0.5 * (GOOD[c] - AIR)) for c in CORNERS}
    assert shown(cold=COLD, hot=hot | {"LF": 9.0}, air_temp=AIR).keys() == {(ODD, "LF")}


@pytest.mark.parametrize(("hot", "leaks"), [(15.5, True), (11.0, True), (10.6, False)])
def test_a_loss_that_a_tire_may_run_with_keeps_its_protection(hot: float, leaks: bool) -> None:
    over = tires(crown={"LR": 6.0, "RR": 6.0})
    car = Car(settings={"pressure": COLD})
    day = day_of(over, car=car, cold=COLD, hot={"LR": hot})
    held = [h for h in day.table().held_back if h.why == "losing-air"]
    assert [h.setting for h in held] == ([("pressure", "LR")] if leaks else [])
    assert bool([p for p in day.good[-1].patterns if p.id == LOST_HOT]) == leaks


def test_it_is_asked_about_at_entry(begun: Crew) -> None:
    options = [*(f"--cold={c}={p}" for c, p in COLD.items()), "--hot=LR=9"]
    answer = run_command("record", begun.path, *tire_options(tires()), *options)
    assert "Look again" in answer.out + answer.err
    assert "LR 9 psi hot from 16 cold is impossible" in answer.out + answer.err
