"""Every doubt about a car file, and all that a car file may tell, has words."""

from typing import get_args

import pytest

from planner.car.basis import Basis
from planner.car.doubts import (
    BeyondLimit,
    CrossDiffers,
    Doubt,
    Light,
    OddCamber,
    OddCorner,
    OddShare,
    OddTurn,
    StaggerDiffers,
    Unusual,
)
from planner.car.known import Known, Split
from planner.car.usual import InOtherUnit
from planner.words import car as car_words

SCALES = {"LF": 700.0, "RF": 70.0, "LR": 690.0, "RR": 680.5}
READ = "LF 700, RF 70, LR 690, RR 680.5"
MM = InOtherUnit("mm", (1.5,), "in")
WINDOW = Unusual("tires.window", {"1": 88.0, "2": 110.0}, 120.0, 350.0, "°F", ())

DOUBTS: dict[type[Doubt], list[tuple[Doubt, str]]] = {
    CrossDiffers: [
        (
            CrossDiffers(52.5, 51.79),
            "settings.cross says 52.5 %, [scales] make it 51.8 %: the scales are used.",
        )
    ],
    StaggerDiffers: [
        (
            StaggerDiffers(1.5, 2.5, "RR", "LR"),
            "settings.stagger says 1.5 in, tires.circumference makes it 2.5 in (RR less LR): "
            "settings.stagger is used; tape the rear tires again.",
        )
    ],
    BeyondLimit: [
        (
            BeyondLimit(("camber", "RF"), -4.0, -3.5, highest=False, weighed=False),
            "RF camber is -4.00 deg, past the lowest in limits.camber (-3.5): check both; no "
            "change goes further that way.",
        ),
        (
            BeyondLimit(("cross", "car"), 52.0, 51.0, highest=True, weighed=True),
            "cross weight (wedge) is 52.00 % by [scales], past the highest in limits.cross (51): "
            "check both; no change goes further that way.",
        ),
    ],
    Light: [
        (
            Light(590.0, 1300.7),
            "[scales] add up to 590 lb, low for a car with its driver; if these are kg, that is "
            "1301 lb: give them in lb.",
        )
    ],
    OddCorner: [
        (
            OddCorner("RF", SCALES),
            f"scales.RF is far from the other three: look for a slip in {READ} lb.",
        )
    ],
    OddShare: [
        (
            OddShare("front", 30.25, SCALES),
            f"[scales] give 30.2 % front: look for a slip in {READ} lb.",
        )
    ],
    Unusual: [
        (
            WINDOW,
            "tires.window: 88, 110 °F are unusual, 120 to 350 is common; used as given.",
        ),
        (
            Unusual("settings.stagger.rear", {"rear": 38.0}, -0.5, 16.0, "in", (MM,)),
            "settings.stagger.rear: 38 in is unusual, -0.5 to 16 is common; if this is mm, it is "
            "1.5 in: give it in inches.",
        ),
    ],
    OddTurn: [
        (
            OddTurn(60.0, 70.0, 5.5, (("track.radius", InOtherUnit("m", (196.9,), "ft")),)),
            "track.radius 60 ft and track.corner_speed 70 mph make 5.5 g, 0.4 to 3 is common; if "
            "track.radius is m, it is 197 ft.",
        ),
        (
            OddTurn(60.0, 170.0, 32.2, ()),
            "track.radius 60 ft and track.corner_speed 170 mph make 32.2 g, 0.4 to 3 is common; "
            "check both.",
        ),
    ],
    OddCamber: [
        (
            OddCamber("RF", 3.0, "left"),
            "settings.camber.RF: +3 deg; on a track that turns left the RF is usually negative "
            "(common practice, no source): check the sign.",
        )
    ],
}


def test_every_doubt_has_words() -> None:
    assert set(DOUBTS) == set(get_args(Doubt))
    for found in DOUBTS.values():
        for doubt, words in found:
            assert car_words.doubt(doubt) == words


@pytest.mark.parametrize(
    ("springs", "basis", "stagger", "computed"),
    [
        (
            True,
            Basis("computed"),
            True,
            "Computed for this car: the turns of the weight jacks, and how the tires answer to "
            "cross, springs, bars, ballast and stagger. Camber, pressure and toe go by rules of "
            "thumb.",
        ),
        (
            True,
            Basis("computed"),
            False,
            "Computed for this car: the turns of the weight jacks, and how the tires answer to "
            "cross, springs, bars and ballast. Stagger could be too, with settings.stagger.",
        ),
        (
            False,
            Basis("rule-of-thumb", ("[scales]", "track.radius")),
            False,
            "Rules of thumb and typical cars say how the tires answer. For cross, springs, bars, "
            "ballast and stagger it could be computed with [scales], track.radius.",
        ),
        (
            True,
            Basis("rule-of-thumb", trouble="No car holds that."),
            True,
            "Computed for this car: the turns of the weight jacks. Rules of thumb and typical cars "
            "say how the tires answer: No car holds that.",
        ),
        (
            False,
            Basis("rule-of-thumb"),
            True,
            "Rules of thumb and typical cars say how the tires answer: this track turns both ways.",
        ),
    ],
)
def test_what_is_computed_and_what_would_let_more_be(springs, basis, stagger, computed) -> None:
    known = Known(12, None, (), springs, basis, stagger)
    assert car_words.understood(known) == ("Known of the car: 12 settings known.", computed)


def test_the_weight_and_what_is_not_known_are_told() -> None:
    split = Split(2800.0, 51.04, 54.0, 51.79)
    known = Known(12, split, ("toe", "bar"), True, Basis("computed"), True)
    assert car_words.understood(known)[0] == (
        "Known of the car: 2800 lb: front 51.0 %, left 54.0 %, cross 51.8 %; 12 settings known; "
        "not given: toe, bar."
    )
