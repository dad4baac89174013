"""What a change does on a car of which no car file tells: computed for the cars typical of a class.

The rules file states those cars, in the form of a car file.
"""

from collections.abc import Iterable, Mapping, Sequence
from math import sqrt
from statistics import fmean, variance

from planner.car.car_file import Car, starting_settings
from planner.car.car_model import CarModel, missing_for_effects, with_spread
from planner.car.changes import Setting
from planner.run.readings import Run
from planner.trade.corners import CORNERS, Turns
from planner.trade.estimate import Estimate


def missing(car: Car) -> tuple[str, ...]:
    """Return the keys that a typical car lacks for its effects to be computed."""
    settings = starting_settings(car)
    stagger = () if ("stagger", "rear") in settings else ("settings.stagger",)
    return tuple(key.strip("[]") for key in (*missing_for_effects(car, settings), *stagger))


def as_model(car: Car, turns: Turns, heat: float) -> CarModel:
    """Return the model of a typical car, all of whose tires average so much [degF]."""
    warm = dict.fromkeys(CORNERS, heat)
    return CarModel(car, starting_settings(car), {}, Run({}), warm, turns)


def effects(
    cars: Sequence[Car], settings: Iterable[Setting], turns: Turns, heat: float
) -> dict[Setting, Mapping[str, Estimate]]:
    """Return the effects of knobs that move load, per unit, on the tire averages.

    Parameters
    ----------
    cars : the typical cars.
    settings : whose effects are wanted.
    turns : which way the track turns; with ``both`` the tires work in left and right turns.
    heat : average of every tire, in which the effects are counted [degF].

    Returns
    -------
    dict
        For each setting, effects [degF per unit of the knob]; empty where no car can be computed.

    Notes
    -----
    The mean is that over the n cars. The next car differs from it as these differ from one
    another, by s² (1 + 1/n) with s² their sample variance (a further draw from the same normal
    population); to that comes the model's own relative error, as for a car file.
    """
    models = [as_model(car, turns, heat) for car in cars]
    return {setting: _effects(models, setting) for setting in settings}


def _effects(models: Sequence[CarModel], setting: Setting) -> dict[str, Estimate]:
    """Return the effects of one setting."""
    cars = [slopes for model in models if (slopes := model.slopes(*setting)) is not None]
    found = {}
    for name in (f"average.{corner}" for corner in CORNERS):
        values = [slopes[name] for slopes in cars if name in slopes]
        if values:
            count = len(values)
            between = sqrt(variance(values) * (1 + 1 / count)) if count > 1 else 0.0
            found[name] = with_spread(fmean(values), setting[0], between)
    return found
