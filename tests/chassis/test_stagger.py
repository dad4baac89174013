"""Stagger against published examples and the cone rolled out from scratch."""

import math

import pytest
from garage import bad_value, refusal_of
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chassis.stagger import (
    Place,
    circumference_at,
    stagger,
    stagger_for_turn,
    turning_radius,
)
from planner.trade.refusals import Refusal


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
        ("circumference", lambda: stagger(0, 85)),
        ("circumference", lambda: stagger(85, math.nan)),
        ("circumference", lambda: turning_radius(83, 85, 60)),
        ("track", lambda: turning_radius(86, 85, 0)),
        ("radius", lambda: stagger_for_turn(2, 60, 85)),
        ("radius", lambda: stagger_for_turn(-180, 60, 85)),
        ("banking", lambda: stagger_for_turn(180, 60, 85, 90)),
        ("track", lambda: stagger_for_turn(180, math.nan, 85)),
        ("circumference", lambda: stagger_for_turn(180, 60, -1)),
        ("circumference", lambda: circumference_at(24, (20, 85), (20, 86))),
        ("circumference", lambda: circumference_at(24, (20, 86), (28, 85))),
        ("circumference", lambda: circumference_at(24, (20, 0), (28, 85))),
        ("pressure", lambda: circumference_at(24, (-20, 84), (28, 85))),
        ("pressure", lambda: circumference_at(40, (20, 85), (28, 86))),
        ("pressure", lambda: circumference_at(math.nan, (20, 85), (28, 86))),
    ):
        with pytest.raises(Refusal) as caught:
            call()
        assert (caught.value.code, caught.value.where) == ("bad-value", where)
        assert caught.value.hint


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: stagger(0, 85), "circumference is 0 in; it must be a number above 0."),
        (lambda: stagger(85, 0), "circumference is 0 in; it must be a number above 0."),
        (
            lambda: turning_radius(86, 85, 0),
            "track is 0 in; it must be a number above 0.",
        ),
        (
            lambda: stagger_for_turn(180, 0, 85),
            "track is 0 in; it must be a number above 0.",
        ),
        (
            lambda: stagger_for_turn(180, 60, 0),
            "circumference is 0 in; it must be a number above 0.",
        ),
        (
            lambda: stagger_for_turn(180, 60, 85, -90),
            "banking is -90 deg; it must be a number above -90 and below 90.",
        ),
        (lambda: stagger_for_turn(0, 60, 85), "radius is 0 ft; it must be a number above 0."),
        (
            lambda: circumference_at(24, (0, 85), (28, 86)),
            "pressure is 0 psi; it must be a number above 0.",
        ),
        (
            lambda: circumference_at(24, (20, 85), (28, 0)),
            "circumference is 0 in; it must be a number above 0.",
        ),
        (
            lambda: circumference_at(37, (20, 85), (28, 86)),
            "pressure is 37 psi; it must be a number above 0 and at least 12 and at most 36.",
        ),
    ],
)
def test_refusals_name_value_unit_and_limits(call, message) -> None:
    assert refusal_of(call).message == message


@pytest.mark.parametrize(
    ("call", "where", "message", "hint"),
    [
        (
            lambda: turning_radius(83, 85, 60),
            "circumference",
            "The outside tire (83 in) is smaller than the inside one (85 in).",
            "Give the larger tire as the outside one [in]; the axle turns towards the other.",
        ),
        (
            lambda: stagger_for_turn(2, 60, 85),
            "radius",
            "A turn of 2 ft has its centre inside a track of 60 in.",
            "Give the radius of the car's path in feet, the track in inches.",
        ),
        (
            lambda: stagger_for_turn(2.5, 60, 85),
            "radius",
            "A turn of 2.5 ft has its centre inside a track of 60 in.",
            "Give the radius of the car's path in feet, the track in inches.",
        ),
        (
            lambda: circumference_at(24, (28, 85), (20, 86)),
            "circumference",
            "86 in at 20 psi and 85 in at 28 psi do not show how the tire grows with air.",
            "Measure the same tire [in] at two pressures [psi] a few psi apart.",
        ),
        (
            lambda: circumference_at(20, (20, 85), (20, 86)),
            "circumference",
            "85 in at 20 psi and 86 in at 20 psi do not show how the tire grows with air.",
            "Measure the same tire [in] at two pressures [psi] a few psi apart.",
        ),
    ],
)
def test_refusals_say_what_is_wrong_where_and_what_to_type(call, where, message, hint) -> None:
    assert refusal_of(call).as_dict() == bad_value(message, where, hint)


def test_lengths_under_one_inch_and_the_ends_of_every_range_are_let_through() -> None:
    assert stagger(0.75, 0.5) == 0.25
    assert turning_radius(0.75, 0.5, 0.5) == pytest.approx(0.5 * 0.625 / 0.25)
    # 1 ft is 12 in: 0.5 in × 0.75 in / 12 in.
    assert stagger_for_turn(1, 0.5, 0.75) == pytest.approx(0.03125)
    for banking, cosine in ((-10, 0.98481), (45, 0.70711)):  # cosines from tables
        # A track of 60 in and a tire of 84 in on 200 ft: 60 × 84 / 2400 = 2.1 in when level.
        assert stagger_for_turn(200, 60, 84, banking) == pytest.approx(2.1 * cosine, rel=1e-5)


def test_the_pressure_may_lie_as_far_outside_the_readings_as_they_lie_apart() -> None:
    # 1 in over 8 psi: 12 psi is 1 in below the smaller, 36 psi 1 in above the larger.
    assert circumference_at(12, (20, 85), (28, 86)) == pytest.approx(84)
    assert circumference_at(36, (20, 85), (28, 86)) == pytest.approx(87)
    assert circumference_at(24, (20, 85), (28, 85)) == 85  # a tire that does not grow
    assert circumference_at(0.5, (0.5, 0.25), (0.75, 0.5)) == 0.25


def test_level_track_and_middle_of_the_axle_unless_said_otherwise() -> None:
    assert stagger_for_turn(180, 60, 85) == stagger_for_turn(180, 60, 85, 0.0, "middle")
    assert turning_radius(86, 84, 60) == turning_radius(86, 84, 60, "middle")
