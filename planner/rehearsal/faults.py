"""Faults: knobs of a simulated car that are off from where they should be."""

from collections.abc import Iterable, Mapping

import attrs
import numpy as np

from planner.car.changes import Setting, tidy
from planner.car.limits import Limits
from planner.rulebook.rules import Rulebook
from planner.trade import knobs
from planner.trade.corners import CORNERS
from planner.trade.refusals import Refusal, quoted


@attrs.frozen
class Usual:
    """A fault as crews find it: smallest and largest size, and how often beside the others."""

    least: float
    most: float
    weight: float


# From memory: what is found wrong on a car that comes to a track it was not set up for.
USUAL: dict[Setting, Usual] = {
    **{("camber", corner): Usual(0.75, 2.0, 1.0) for corner in CORNERS},
    **{("pressure", corner): Usual(1.5, 4.0, 1.0) for corner in CORNERS},
    ("toe", "front"): Usual(0.0625, 0.1875, 0.5),
    ("cross", "car"): Usual(1.0, 2.5, 2.0),
    ("spring", "LF"): Usual(75.0, 200.0, 0.4),
    ("spring", "RF"): Usual(75.0, 200.0, 0.5),
    ("spring", "LR"): Usual(25.0, 75.0, 0.5),
    ("spring", "RR"): Usual(25.0, 75.0, 0.5),
    ("bar", "front"): Usual(50.0, 150.0, 1.0),
    ("stagger", "rear"): Usual(0.25, 0.75, 1.0),
    ("panhard", "rear"): Usual(0.5, 1.5, 0.7),
    ("ballast", "rear"): Usual(20.0, 80.0, 0.7),
    ("ballast", "left"): Usual(20.0, 80.0, 0.5),
}
FEWEST, MOST = 3, 6


def draw(
    chance: np.random.Generator,
    good: Mapping[Setting, float],
    limits: Limits,
    book: Rulebook,
) -> dict[Setting, float]:
    """Draw the faults of a day, in whole steps and within the limits of the car."""
    places = list(USUAL)
    weights = np.array([USUAL[place].weight for place in places])
    number = int(chance.integers(FEWEST, MOST + 1))
    drawn = chance.choice(len(places), size=number, replace=False, p=weights / weights.sum())
    found: dict[Setting, float] = {}
    for index in sorted(int(each) for each in drawn):
        setting = places[index]
        usual = USUAL[setting]
        entry = book.adjustments_of(*setting)
        step = entry[0].step if entry else usual.least
        size = round(float(chance.uniform(usual.least, usual.most)) / step) * step
        drawn_first = tidy(size if chance.random() < 0.5 else -size)
        for amount in (drawn_first, -drawn_first):
            if amount and _possible(setting, good[setting] + amount, limits):
                found.setdefault(setting, amount)
    return found


def with_faults(
    good: Mapping[Setting, float], faults: Mapping[Setting, float]
) -> dict[Setting, float]:
    """Return what is on a car whose knobs are off the good setup by these faults.

    Raises
    ------
    Refusal
        A fault takes a knob where it cannot go.
    """
    on_car = dict(good)
    for setting, amount in faults.items():
        value = tidy(good[setting] + amount)
        knob, place = setting
        if not _possible(setting, value, Limits()):
            unit = knobs.KNOBS[knob].unit
            raise _refused(f"{place} {knob} cannot be {value:g} {unit}.", "make the fault smaller")
        on_car[setting] = value
    return on_car


def _possible(setting: Setting, value: float, limits: Limits) -> bool:
    knob, place = setting
    room = limits.room(knob, place)
    if room.fixed:
        return False
    low = -np.inf if room.min is None else room.min
    high = np.inf if room.max is None else room.max
    if knob in ("pressure", "spring"):
        low = max(low, 1.0)
    elif (knob, place) in (("stagger", "rear"), ("bar", "front"), ("bar", "rear")):
        low = max(low, 0.0)
    return bool(low <= value <= high)


def parse(texts: Iterable[str]) -> dict[Setting, float]:
    """Read faults typed as ``knob.place=amount``, such as ``camber.RF=+1.5``.

    Raises
    ------
    Refusal
        A text is not of that shape, the knob or place does not exist, or the amount is absurd.
    """
    found: dict[Setting, float] = {}
    for text in texts:
        name, equals, number = text.partition("=")
        knob, _, place = name.strip().partition(".")
        if not equals or not knobs.is_place(knob, place):
            known = ", ".join(f"{k.name}.{k.places[0]}" for k in knobs.KNOBS.values())
            raise _refused(
                f"{quoted(text)} is not KNOB.PLACE=AMOUNT for a knob of the car.",
                f"for example camber.RF=+1.5; knobs: {known}",
            )
        try:
            amount = float(number)
        except ValueError:
            amount = float("nan")
        largest, unit = knobs.KNOBS[knob].largest, knobs.KNOBS[knob].unit
        if not abs(amount) <= largest:
            raise _refused(
                f"A fault of {knob} must be a number of {unit}, {largest:g} at most; "
                f"{quoted(number)} is not.",
                "for example camber.RF=+1.5",
            )
        if (knob, place) in found:
            raise _refused(f"{knob}.{place} is given twice.", "give each fault once")
        found[knob, place] = amount
    return found


def _refused(says: str, hint: str) -> Refusal:
    return Refusal("bad-value", says, where="--fault", hint=hint)
