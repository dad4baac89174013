"""Answers that are surprised together: what one camber teaches is believed of the others too.

A car whose RF camber answers by a quarter more than believed is likely to answer by more at LF as
well: the same tire, the same track, the same way of reading. So an answer is its believed mean
times (1 + what its family shares + what is its own). The averages of one level (`levels`) are a
family too: what another set or another morning does to all four tires alike.
"""

from collections.abc import Mapping
from math import copysign, sqrt

import attrs

from planner.car.car_model import COMPUTED_KNOBS
from planner.car.changes import Setting
from planner.learning import levels
from planner.trade.estimate import Estimate

# Correlation of the relative surprises within a family: half of what is not known of an answer is
# the car's, half the corner's. From memory, wide.
ALIKE = 0.5


def family(setting: Setting, figure: str) -> str:
    """Return the family of an answer: its knob's and the kind of figure.

    All knobs that move load are one family: what they do to a tire is worked out by one model of
    the loads and one of the heat, and is wrong with them.
    """
    knob = "load" if setting[0] in COMPUTED_KNOBS else setting[0]
    if levels.is_level(setting):
        knob = ".".join(setting)
    return f"{knob} {figure.partition('.')[0]}"


def share(effect: Estimate, alike: float) -> float:
    """Return how far an answer moves when its family is one standard deviation off.

    Parameters
    ----------
    effect : as it is believed.
    alike : correlation within the family, 0 to 1.

    Notes
    -----
    g = sqrt(alike) min(s, |m|) with the sign of m. Where s goes as |m| two answers of a family
    correlate by `alike`. A surprise larger than the answer itself is one of direction; that is
    its own, and an answer believed to be none shares nothing.
    """
    return copysign(sqrt(alike) * min(effect.sd, abs(effect.mean)), effect.mean)


@attrs.frozen
class Shared:
    """What an answer has of its family, and what is its own.

    Attributes
    ----------
    family : name of the family.
    size : see `share`.
    own : standard deviation of the rest.
    """

    family: str
    size: float
    own: float


def shared(
    effects: Mapping[Setting, Mapping[str, Estimate]], alike: float
) -> dict[tuple[Setting, str], Shared]:
    """Return of every answer what it shares."""
    found = {}
    for setting, figures in effects.items():
        for figure, effect in figures.items():
            own = levels.own(setting, figure)
            if own is None:
                size = share(effect, alike)
                own = sqrt(max(0.0, effect.sd**2 - size**2))
            else:
                size = sqrt(max(0.0, effect.sd**2 - own**2))
            found[setting, figure] = Shared(family(setting, figure), size, own)
    return found
