"""What a car file tells of the car, what is computed from it, and what more would let it be."""

import attrs

from planner.car import car_file
from planner.car.basis import Basis
from planner.car.car_file import Car, Dimensions
from planner.car.car_model import CarModel
from planner.run.readings import Run
from planner.trade.corners import CORNERS, Turns
from planner.trade.knobs import KNOBS

UNASKED = ("ballast", "panhard")  # has no setting; not on every car


@attrs.frozen
class Split:
    """The weight of the car [lb] and its shares [percent]."""

    total: float
    front: float
    left: float
    cross: float


@attrs.frozen
class Known:
    """What a car file has told.

    Attributes
    ----------
    settings : how many.
    split : None without scales.
    lacking : knobs of which it tells nothing.
    springs : whether scales and all four springs are there: turns of the jacks are computed.
    basis : what the answers of the tires to cross weight, springs and bars rest on.
    stagger : whether the stagger on the car is known.
    """

    settings: int
    split: Split | None
    lacking: tuple[str, ...]
    springs: bool
    basis: Basis
    stagger: bool


def known(car: Car, turns: Turns) -> Known | None:
    """Return what a car file tells; None where it tells nothing of the car beside its name.

    Parameters
    ----------
    turns : which way the track turns.
    """
    settings = car_file.starting_settings(car)
    if not settings and car.dimensions == Dimensions() and not car.tires.rate:
        return None
    split = None
    if car.scales:
        from planner.chassis import weights

        weighed = weights.weigh(car.scales)
        split = Split(weighed.total, weighed.front, weighed.left, weighed.cross)
    told = {knob for knob, _ in settings}
    return Known(
        settings=len(settings),
        split=split,
        lacking=tuple(name for name in KNOBS if name not in told and name not in UNASKED),
        springs=bool(car.scales) and all(("spring", corner) in settings for corner in CORNERS),
        basis=CarModel(car, settings, {}, Run({}), {}, turns).basis("cross"),
        stagger=("stagger", "rear") in settings,
    )
