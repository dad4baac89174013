"""Worn tread as evidence, and what uneven wear offers.

Hot areas are also the areas that wear: Circle Track, "Race Tire Technology", June 2004. The sizes
(1.25 times, 1.5 times, least wear) are common practice, no source.
"""

import pytest
from garage import LF_OVERWORKED, TIGHT, book, day_of, found, run, tires

from planner.advice.reasons import HeldBack, Wear
from planner.car.car_file import Car
from planner.car.changes import Cut
from planner.judging import wear
from planner.judging.wear import Worn
from planner.run.readings import Run
from planner.trade.corners import CORNERS, mirrored
from planner.trade.knobs import KnobLimits

RULE = book().wear


def depth(**lost: float) -> dict:
    """Return tread before and after for tires that lost this much evenly, in 1/32 in."""
    return {
        "tread_before": dict.fromkeys(CORNERS, (8.0, 8.0, 8.0)),
        "tread": {c: (8.0 - lost.get(c, 1.0),) * 3 for c in CORNERS},
    }


def across(inner: float, middle: float, outer: float, corner: str = "RF") -> dict:
    """Return tread of one tire that lost this much from inner to outer, in 1/32 in."""
    return {
        "tread_before": {corner: (8.0, 8.0, 8.0)},
        "tread": {corner: (8.0 - inner, 8.0 - middle, 8.0 - outer)},
    }


# --- what was lost --------------------------------------------------------------------------


def test_loss_is_before_less_after() -> None:
    loss = wear.worn(run(tires(), **across(1.5, 1.0, 0.5)), [])
    assert loss == Worn({"RF": (1.5, 1.0, 0.5)}, "32nds")
    assert loss.mean("RF") == 1.0


def test_the_run_before_says_how_deep_the_tread_was() -> None:
    first = run(tires(), tread={"RF": (8.0, 8.0, 8.0), "LR": (7.0, 7.0, 7.0)})
    second = run(tires(), tread={"RF": (7.5, 7.5, 7.5)})
    third = run(tires(), tread={"RF": (7.0, 7.25, 7.0), "LR": (6.5, 6.5, 6.5)})
    assert wear.worn(third, [first, second]).lost == {
        "RF": (0.5, 0.25, 0.5),
        "LR": (0.5, 0.5, 0.5),
    }


def test_depth_without_a_depth_before_says_nothing() -> None:
    assert wear.worn(run(tires(), tread={"RF": (7.0, 7.0, 7.0)}), []).lost == {}


def test_percent_left_counts_from_a_new_tire() -> None:
    this = run(tires(), tread={"RF": (90.0, 85.0, 80.0)}, tread_unit="percent")
    assert wear.worn(this, []).lost == {"RF": (10.0, 15.0, 20.0)}


@pytest.mark.parametrize(("state", "lost"), [("new", 15.0), ("scuffed", None)])
def test_tires_that_were_not_new_lose_from_what_was_first_measured(state, lost) -> None:
    first = run(tires(), tread={"RF": (85.0,) * 3}, tread_unit="percent", set_state=state)
    then = run(tires(), tread={"RF": (80.0,) * 3}, tread_unit="percent")
    assert wear.worn(first, []).lost.get("RF") == (lost and (lost,) * 3)
    assert wear.worn(then, [first]).lost["RF"] == (5.0,) * 3


def test_depths_and_percents_are_not_mixed() -> None:
    first = run(tires(), tread={"RF": (8.0, 8.0, 8.0)})
    second = run(tires(), tread={"RF": (90.0, 90.0, 90.0)}, tread_unit="percent")
    assert wear.worn(second, [first]).lost["RF"] == (10.0, 10.0, 10.0)


# --- beside a pattern -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("readings", "key", "agreeing", "contradicting"),
    [
        (tires(split={"RF": 14.0}), "camber.inner-hot:RF", (1.25, 1.0, 1.0), (1.0, 1.0, 1.25)),
        (tires(split={"RF": -14.0}), "camber.outer-hot:RF", (1.0, 1.0, 1.25), (1.25, 1.0, 1.0)),
        (tires(crown={"RF": 5.0}), "pressure.over:RF", (1.0, 1.25, 1.0), (1.25, 1.0, 1.25)),
        (tires(crown={"RF": -5.0}), "pressure.under:RF", (1.25, 1.0, 1.25), (1.0, 1.25, 1.0)),
    ],
)
def test_wear_agrees_with_or_contradicts_a_tires_own_fault(
    readings, key, agreeing, contradicting
) -> None:
    (said,) = found(readings, **across(*agreeing))[key].evidence
    assert said.startswith("wear agrees: ")
    (said,) = found(readings, **across(*contradicting))[key].evidence
    assert said.startswith("wear contradicts: ")
    assert found(readings, **across(1.0, 1.0, 1.0))[key].evidence == ()
    assert found(readings)[key].evidence == ()


def test_wear_just_under_a_quarter_more_says_nothing() -> None:
    pattern = found(tires(split={"RF": 14.0}), **across(1.24, 1.0, 1.0))
    assert pattern["camber.inner-hot:RF"].evidence == ()


def test_less_wear_than_can_be_measured_says_nothing() -> None:
    key, hot = "camber.inner-hot:RF", tires(split={"RF": 14.0})
    assert found(hot, **across(0.5, 0.2, 0.2))[key].evidence
    assert not found(hot, **across(0.49, 0.2, 0.2))[key].evidence
    left = {"tread_unit": "percent", "tread": {"RF": (96.0, 99.0, 99.0)}}
    assert not found(hot, **left)[key].evidence
    left["tread"] = {"RF": (95.0, 99.0, 99.0)}
    assert found(hot, **left)[key].evidence


def test_wear_stands_beside_balance_and_corners() -> None:
    tight = found(tires(TIGHT), **depth(RF=2.0))["balance.tight"]
    assert any(said.startswith("wear agrees: RF lost 2.0") for said in tight.evidence)
    tight = found(tires(TIGHT), **depth(RR=2.0))["balance.tight"]
    assert any(said.startswith("wear contradicts: RR lost 2.0") for said in tight.evidence)
    worked = found(tires(LF_OVERWORKED), **depth(LF=2.0))["corners.overworked:LF"]
    assert any(said.startswith("wear agrees: LF") for said in worked.evidence)
    worked = found(tires(LF_OVERWORKED), **depth(LF=0.5))["corners.overworked:LF"]
    assert any(said.startswith("wear contradicts: the others") for said in worked.evidence)


def test_wear_never_makes_or_hides_a_temperature_pattern() -> None:
    assert set(found(tires(TIGHT), **depth(RR=4.0))) == set(found(tires(TIGHT)))


# --- uneven wear ----------------------------------------------------------------------------


@pytest.mark.parametrize("corner", CORNERS)
@pytest.mark.parametrize(("lost", "shows"), [(1.5, True), (1.49, False)])
def test_a_corner_that_wears_half_again_as_fast_is_named(corner, lost, shows) -> None:
    patterns = found(tires(), **depth(**{corner: lost}))
    assert list(patterns) == ([f"wear.uneven:{corner}"] if shows else [])
    if shows:
        pattern = patterns[f"wear.uneven:{corner}"]
        assert pattern.value == pytest.approx(1.5)
        assert pattern.stage is None
        assert not pattern.holds


def test_uneven_wear_is_named_only_while_the_temperatures_are_in_band() -> None:
    assert not any(key.startswith("wear") for key in found(tires(TIGHT), **depth(RF=3.0)))


def test_uneven_wear_needs_all_four_tires() -> None:
    three = depth(RF=3.0)
    del three["tread"]["LR"]
    assert found(tires(), **three) == {}


def test_tread_that_grew_is_no_wear() -> None:
    assert found(tires(), **depth(LF=-1.0, RF=-1.0, LR=-1.0, RR=-0.5)) == {}


def test_one_tire_worn_and_three_not_at_all_can_be_said() -> None:
    patterns = found(tires(), **depth(LF=0.0, RF=1.0, LR=0.0, RR=0.0))
    assert list(patterns) == ["wear.uneven:RF"]


@pytest.mark.parametrize(
    ("corner", "amount"), [("RF", -0.25), ("LR", -0.25), ("LF", 0.25), ("RR", 0.25)]
)
@pytest.mark.parametrize("turns", ["left", "right"])
def test_a_small_move_of_cross_off_that_corners_diagonal_is_offered(corner, amount, turns) -> None:
    readings = tires()
    if turns == "right":
        readings = {mirrored(c): three for c, three in readings.items()}
    day = day_of(readings, turns=turns, **depth(**{corner: 2.0}))
    assert (day.stage, day.due) == ("confirm", "run")  # it holds no gate
    (offer,) = day.table().candidates
    (change,) = offer.changes
    assert (change.knob, change.corner, change.amount) == ("cross", "car", amount)
    assert offer.pattern == "wear.uneven"
    # 4 % of a tire's wear per percent of cross: a quarter percent is 1 %.
    wears = {name: at.mean for name, at in offer.predicted.items()}
    share = {c: (1 if c in ("RF", "LR") else -1) * amount * 0.04 for c in CORNERS}
    assert wears == pytest.approx(
        {f"wear.{c}": (2.0 if c == corner else 1.0) * (1 + share[c]) for c in CORNERS}
    )
    assert wears[f"wear.{corner}"] < 2.0
    (wear_now,) = [reason for reason in offer.reasons if isinstance(reason, Wear)]
    assert wear_now.lost == {c: 2.0 if c == corner else 1.0 for c in CORNERS}


def test_the_offer_against_wear_keeps_to_the_limits() -> None:
    def table(**limit: float):
        car = Car(settings={"cross": {"car": 52.0}}, limits={"cross": KnobLimits(**limit)})
        return day_of(tires(), car=car, **depth(RF=2.0)).table()

    assert len(table(min=51.0).candidates) == 1
    assert table(min=51.9).candidates == ()
    assert table(min=51.9).held_back == (
        HeldBack(("cross", "car"), "wear", Cut(51.9, highest=False, whose="car-file")),
    )


def test_a_road_course_has_no_cross_to_offer() -> None:
    readings = tires(dict.fromkeys(CORNERS, 200.0), dict.fromkeys(CORNERS, 9.0))
    day = day_of(readings, name="road-course", turns="both", **depth(RF=2.0))
    assert [p.key for p in day.good[-1].patterns] == ["wear.uneven:RF"]
    assert day.table().candidates == ()


def test_without_tread_there_is_nothing_to_say() -> None:
    assert wear.worn(Run(tires()), []).lost == {}
    assert wear.fastest(Worn({}, "32nds"), RULE) is None
