"""Stagger against published examples and the cone rolled out from scratch."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis.stagger import (
    Place,
    circumference_at,
    stagger,
    stagger_for_turn,
    turning_radius,
)
from planner.errors import Refusal


def test_western_racing() -> None:
    # Western Racing, "Natural turning radius": diameters 27.91 and 29.38 in, track 60 in, about
    # 1140 in (95 ft); recomputed 60 × 27.91 / 1.47 = 1139 in, at the inner tire.
    radius = turning_radius(29.38 * math.pi, 27.91 * math.pi, 60, at="inner")
    assert radius == pytest.approx(1139, abs=0.5)
    assert radius == pytest.approx(60 * 27.91 / (29.38 - 27.91))
    assert radius / 12 == pytest.approx(95, abs=0.1)


def test_circle_track() -> None:
    # Circle Track, "Racing Tire Technology", May 2004: 86 in outside, 83.5 in inside.
    assert stagger(86, 83.5) == 2.5


def test_equal_tires_roll_straight() -> None:
    assert turning_radius(85, 85, 60) == math.inf
    assert stagger_for_turn(1e9, 60, 85) == pytest.approx(0, abs=1e-5)


lengths = st.floats(70, 95)


@settings(max_examples=50)
@given(inner=lengths, more=st.floats(0.2, 6), track=st.floats(50, 70))
@pytest.mark.parametrize("at", ["inner", "middle", "outer"])
def test_radius_and_stagger_are_inverses(
    inner: float, more: float, track: float, at: Place
) -> None:
    outer = inner + more
    feet = turning_radius(outer, inner, track) / 12
    size = {"inner": inner, "middle": (inner + outer) / 2, "outer": outer}[at]
    assert stagger_for_turn(feet, track, size, at=at) == pytest.approx(more)
    spread = {"inner": -track / 2, "middle": 0.0, "outer": track / 2}[at]
    assert turning_radius(outer, inner, track, at=at) == pytest.approx(feet * 12 + spread)


@settings(max_examples=50)
@given(radius=st.floats(60, 1000), banking=st.floats(0, 36), track=st.floats(50, 70))
def test_banked_turn_rolled_out(radius: float, banking: float, track: float) -> None:
    # From scratch: each tire's contact goes round a level circle; in one lap of the turn both
    # tires make the same number of turns, so circumferences go as those circles.
    level = track / 2 * math.cos(math.radians(banking))
    inside, outside = radius * 12 - level, radius * 12 + level
    outer = 83.5 * outside / inside
    wanted = stagger_for_turn(radius, track, 83.5, banking, at="inner")
    assert wanted == pytest.approx(outer - 83.5)
    assert wanted <= stagger_for_turn(radius, track, 83.5, 0, at="inner")


def test_circumference_grows_with_air_along_two_readings() -> None:
    assert circumference_at(24, (20, 85.5), (28, 86.5)) == pytest.approx(86)
    assert circumference_at(24, (28, 86.5), (20, 85.5)) == pytest.approx(86)
    assert circumference_at(30, (20, 85.5), (28, 86.5)) == pytest.approx(86.75)
    assert circumference_at(20, (20, 85.5), (28, 86.5)) == 85.5


def test_refusals() -> None:
    for where, call in (
        ("tires.circumference", lambda: stagger(0, 85)),
        ("tires.circumference", lambda: stagger(85, math.nan)),
        ("tires.circumference", lambda: turning_radius(83, 85, 60)),
        ("dimensions.track_rear", lambda: turning_radius(86, 85, 0)),
        ("track.radius", lambda: stagger_for_turn(2, 60, 85)),
        ("track.radius", lambda: stagger_for_turn(-180, 60, 85)),
        ("track.banking", lambda: stagger_for_turn(180, 60, 85, 80)),
        ("dimensions.track_rear", lambda: stagger_for_turn(180, math.nan, 85)),
        ("tires.circumference", lambda: stagger_for_turn(180, 60, -1)),
        ("tires.circumference", lambda: circumference_at(24, (20, 85), (20, 86))),
        ("tires.circumference", lambda: circumference_at(24, (20, 86), (28, 85))),
        ("tires.circumference", lambda: circumference_at(24, (20, 0), (28, 85))),
        ("pressure", lambda: circumference_at(24, (-20, 84), (28, 85))),
        ("pressure", lambda: circumference_at(40, (20, 85), (28, 86))),
        ("pressure", lambda: circumference_at(math.nan, (20, 85), (28, 86))),
    ):
        with pytest.raises(Refusal) as caught:
            call()
        assert (caught.value.code, caught.value.where) == ("bad-value", where)
        assert caught.value.hint
