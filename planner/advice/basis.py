"""What the size of an offer rests on: the car's own answer, the car file, or a rule of thumb."""

import attrs

from planner.advice.situation import Situation
from planner.car.basis import Answered, Basis
from planner.car.changes import Setting


def basis_of(setting: Setting, figure: str, now: Situation) -> Basis:
    """Return what the size of a change rests on.

    Parameters
    ----------
    figure : that the change is for.
    """
    basis = Basis("taught") if setting in now.taught else now.model.basis(setting[0])
    times = _times_moved(setting, now)
    if not times:
        return basis
    answer = now.outlook.answer(figure, setting)
    return attrs.evolve(basis, answered=Answered(setting, times, figure, answer))


def _times_moved(setting: Setting, now: Situation) -> int:
    """Return how often a setting was moved today."""
    return sum(any(c.setting == setting and c.amount for c in past.made) for past in now.past)
