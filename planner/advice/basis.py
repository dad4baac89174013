"""What the size of an offer rests on: the car's own answer, its file, typical cars, or a rule."""

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
    if basis.kind == "rule-of-thumb" and now.book.goes_by_typical_cars(setting):
        basis = attrs.evolve(basis, kind="typical")
    times = _times_moved(setting, now)
    if not times:
        return basis
    answer = now.outlook.answer(figure, setting)
    return attrs.evolve(basis, answered=Answered(setting, times, figure, answer))


def _times_moved(setting: Setting, now: Situation) -> int:
    """Return how often a setting was moved today."""
    return sum(any(c.setting == setting and c.amount for c in past.made) for past in now.past)
