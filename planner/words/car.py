"""The car file in words: what is known of the car, and which entries to check."""

from collections.abc import Mapping

from planner.car.doubts import (
    CORNERING,
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
from planner.car.known import Known
from planner.car.usual import InOtherUnit
from planner.trade.corners import CORNERS, Corner
from planner.trade.knobs import shown
from planner.trade.units import near
from planner.words.changes import named


def understood(known: Known) -> tuple[str, str]:
    """Say what is known of a car, and what is computed from that or could be."""
    facts = [f"{known.settings} settings known"]
    if known.split is not None:
        split = known.split
        facts.insert(
            0,
            f"{split.total:.0f} lb: front {split.front:.1f} %, left {split.left:.1f} %, cross "
            f"{split.cross:.1f} %",
        )
    if known.lacking:
        facts.append(f"not given: {', '.join(known.lacking)}")
    return f"Known of the car: {'; '.join(facts)}.", _computed(known)


_BY_RULES = "Rules of thumb and typical cars say how the tires answer"


def _computed(known: Known) -> str:
    """Say what is computed for a car, what is a rule of thumb, and what would change that."""
    jack = "the turns of the weight jacks" if known.springs else ""
    answers = ""
    if known.basis.missing:
        rest = (
            f"{_BY_RULES}. For cross, springs, bars, ballast and stagger it could be computed "
            f"with {', '.join(known.basis.missing)}."
        )
    elif known.basis.trouble:
        rest = f"{_BY_RULES}: {known.basis.trouble}"
    elif known.basis.kind == "rule-of-thumb":
        rest = f"{_BY_RULES}: this track turns both ways."
    elif known.stagger:
        answers = "how the tires answer to cross, springs, bars, ballast and stagger"
        rest = "Camber, pressure and toe go by rules of thumb."
    else:
        answers = "how the tires answer to cross, springs, bars and ballast"
        rest = "Stagger could be too, with settings.stagger."
    computed = ", and ".join(filter(None, (jack, answers)))
    return " ".join(filter(None, (computed and f"Computed for this car: {computed}.", rest)))


def doubt(found: Doubt) -> str:
    """Say what to check, with its numbers."""
    if isinstance(found, CrossDiffers):
        return (
            f"settings.cross says {found.said:g} %, [scales] make it {found.measured:.1f} %: the "
            "scales are used."
        )
    if isinstance(found, StaggerDiffers):
        return (
            f"settings.stagger says {found.said:g} in, tires.circumference makes it "
            f"{found.measured:g} in ({found.outside} less {found.inside}): settings.stagger is "
            "used; tape the rear tires again."
        )
    if isinstance(found, BeyondLimit):
        return _beyond_limit(found)
    if isinstance(found, Light):
        return (
            f"[scales] add up to {found.total:.0f} lb, low for a car with its driver; if these are "
            f"kg, that is {found.as_kg:.0f} lb: give them in lb."
        )
    if isinstance(found, OddCorner):
        return (
            f"scales.{found.corner} is far from the other three: look for a slip in "
            f"{_read(found.scales)} lb."
        )
    if isinstance(found, OddShare):
        return (
            f"[scales] give {found.percent:.1f} % {found.share}: look for a slip in "
            f"{_read(found.scales)} lb."
        )
    if isinstance(found, Unusual):
        return _unusual(found)
    return _odd_turn(found) if isinstance(found, OddTurn) else _odd_camber(found)


def _beyond_limit(found: BeyondLimit) -> str:
    knob, _ = found.setting
    weighed = " by [scales]" if found.weighed else ""
    return (
        f"{named(found.setting)} is {shown(knob, found.value, signed=False)}{weighed}, past the "
        f"{'highest' if found.highest else 'lowest'} in limits.{knob} ({found.edge:g}): check "
        "both; no change goes further that way."
    )


def _read(scales: Mapping[Corner, float]) -> str:
    return ", ".join(f"{corner} {scales[corner]:g}" for corner in CORNERS)


def _unusual(found: Unusual) -> str:
    alone = len(found.values) == 1
    read = ", ".join(
        f"{value:g}" if alone or place.isdigit() else f"{place} {value:g}"
        for place, value in found.values.items()
    )
    return (
        f"{found.key}: {read} {found.unit} {'is' if alone else 'are'} unusual, {found.low:g} to "
        f"{found.high:g} is common; {_otherwise(found) or 'used as given'}."
    )


def _otherwise(found: Unusual) -> str:
    """Say in which other unit these would be usual, and what they are then; ``""`` for none."""
    if not found.otherwise:
        return ""
    are, they, them = (
        ("this is", "it is", "it") if len(found.values) == 1 else ("these are", "they are", "them")
    )
    said = " or ".join(f"if {are} {each.unit}, {they} {_values(each)}" for each in found.otherwise)
    return f"{said}: give {them} in {'inches' if found.unit == 'in' else found.unit}"


def _values(each: InOtherUnit) -> str:
    return f"{', '.join(near(value) for value in each.values)} {each.ours}"


def _odd_turn(found: OddTurn) -> str:
    said = "; or ".join(
        f"if {key} is {each.unit}, it is {_values(each)}" for key, each in found.otherwise
    )
    return (
        f"track.radius {found.radius:g} ft and track.corner_speed {found.speed:g} mph make "
        f"{found.held:.1f} g, {CORNERING[0]:g} to {CORNERING[1]:g} is common; "
        f"{said or 'check both'}."
    )


def _odd_camber(found: OddCamber) -> str:
    usual = "negative" if found.camber > 0 else "positive"
    return (
        f"settings.camber.{found.corner}: {found.camber:+g} deg; on a track that turns "
        f"{found.turns} the {found.corner} is usually {usual} (common practice, no source): check "
        "the sign."
    )
