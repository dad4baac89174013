"""Setups as arrays: what is on a simulated car, several setups beside one another."""

from collections.abc import Mapping, Sequence

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting
from planner.trade.corners import CORNERS

Array = npt.NDArray[np.float64]

# Which way is outward, corners in the order LF RF LR RR: +1 on the right side of the car.
SIDE: Array = np.array([-1.0, 1.0, -1.0, 1.0])
TOE_RADIUS_IN = 13.5  # in, at which toe is measured: the tread of an 85 in tire


@attrs.frozen(eq=False)
class Setups:
    """What is on the car; the first axis is that of the setups, corners are LF RF LR RR.

    Attributes
    ----------
    camber : [deg].
    cold : pressure set cold [psi].
    spring : rates of the springs themselves [lb/in].
    bar : front and rear, at the wheel [lb/in].
    toe : angle by which each tire points towards the centreline [rad].
    stagger : of the rear tires [in].
    cross : cross weight [%].
    ballast : lead moved to the rear and to the left [lb].
    panhard : height of the Panhard bar at the centreline [in].
    """

    camber: Array
    cold: Array
    spring: Array
    bar: Array
    toe: Array
    stagger: Array
    cross: Array
    ballast: Array
    panhard: Array

    def times(self, number: int) -> "Setups":
        """Return all of them so many times, one after the other."""
        again = (np.concatenate([each] * number) for each in attrs.astuple(self, recurse=False))
        return Setups(*again)


def beside(setups: Sequence[Mapping[Setting, float]]) -> Setups:
    """Lay setups beside one another; half of the toe is at each front wheel."""

    def of(knob: str, *places: str) -> Array:
        return np.array([[setup[knob, place] for place in places] for setup in setups])

    toe = of("toe", "front") / (4 * TOE_RADIUS_IN)
    return Setups(
        camber=of("camber", *CORNERS),
        cold=of("pressure", *CORNERS),
        spring=of("spring", *CORNERS),
        bar=of("bar", "front", "rear"),
        toe=np.concatenate([toe, toe, 0 * toe, 0 * toe], axis=1),
        stagger=of("stagger", "rear")[:, 0],
        cross=of("cross", "car")[:, 0],
        ballast=of("ballast", "rear", "left"),
        panhard=of("panhard", "rear")[:, 0],
    )
