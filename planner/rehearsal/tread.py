"""How load and sliding heat spread across a tread: camber, side force, toe and pressure."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LEAST_SHARE = 0.03  # of a strip; a tread edge never leaves the ground quite (from memory)

# Which way is outward, corners in the order LF RF LR RR: +1 on the right side of the car.
SIDE: Array = np.array([-1.0, 1.0, -1.0, 1.0])


def edge_shift(
    camber: Array,
    roll: Array,
    side_force: Array,
    toe: Array,
    *,
    per_degree: Array,
    roll_gain: Array,
    flex: Array,
    per_toe: float,
) -> Array:
    """Return the load shift towards the outer edge, as a share of the even load [1].

    Parameters
    ----------
    camber : as set, positive when the top leans away from the centreline [deg].
    roll : of the body, positive towards the right [deg].
    side_force : of the ground on the tire, towards the centreline, over its load [1].
    toe : angle by which a tire points towards the centreline [rad].
    per_degree : shift per degree of camber to the ground [1/deg].
    roll_gain : camber gained per degree of roll [1]; 0 on a solid axle.
    flex : shift per unit of side force over load, by the tire's sideways flex [1].
    per_toe : shift per radian of toe [1/rad].

    Notes
    -----
    s = k (camber + side · gain · roll) + f · side force + t · toe, with side −1 on the left. A
    body rolling right leans the top of a right tire outward and that of a left tire inward. A
    force towards the centreline pushes the tread under the rim and loads the outer edge; a tire
    that points inward makes such a force, so toe-in heats outer edges and toe-out inner ones.
    Straight lines, common practice, no source.
    """
    leaning = camber + SIDE * roll_gain * roll
    shift: Array = per_degree * leaning + flex * side_force + per_toe * toe
    return shift


def crown_shift(hot_psi: Array, flat_psi: Array, per_pressure: Array) -> Array:
    """Return the load shift towards the middle, as a share of the even load [1].

    Parameters
    ----------
    hot_psi : pressure in the running tire [psi].
    flat_psi : pressure at which the tread stands flat under its load [psi].
    per_pressure : shift per relative excess of pressure [1].

    Notes
    -----
    c = k (p / p_flat − 1): a tire with too much air stands on its middle, one with too little on
    its edges. Common practice, no source.
    """
    shift: Array = per_pressure * (hot_psi / flat_psi - 1)
    return shift


def flat_pressure(
    load_lb: Array, at: tuple[float, float], exponent: float, by: Sequence[float] | Array
) -> Array:
    """Return the pressure at which a tread stands flat [psi].

    Parameters
    ----------
    load_lb : load on the tire [lb].
    at : a load [lb] and its flat pressure [psi].
    exponent : with which it grows with load [1].
    by : factor of each tire's own build [1].

    Notes
    -----
    p = p0 (N / N0) ** n: pressure carries the load over the contact area. With n = 1 the area
    would stay; part of the load is carried by a larger area, so n is below 1 (from memory).
    """
    load, pressure = at
    flat: Array = np.asarray(by) * pressure * (load_lb / load) ** exponent
    return flat


def shares(edge: Array, crown: Array) -> Array:
    """Return the shares of the inner, middle and outer strip along a new last axis; they sum to 1.

    inner = (1 − s − c/2)/3, middle = (1 + c)/3, outer = (1 + s − c/2)/3.
    """
    raw = np.stack([1 - edge - crown / 2, 1 + crown, 1 + edge - crown / 2], axis=-1) / 3
    raw = np.maximum(raw, LEAST_SHARE)
    total: Array = raw / raw.sum(axis=-1, keepdims=True)
    return total
