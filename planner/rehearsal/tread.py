"""How load and heat spread across a tread: camber, side force and pressure."""

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import spread
from planner.rehearsal.setups import SIDE

Array = npt.NDArray[np.float64]

LEAST_SHARE = 0.05  # of a strip; a tread edge never leaves the ground quite (from memory)
LEAST_DEFLECTION = 0.2  # in, of a tire that runs


@attrs.frozen(eq=False)
class Tread:
    """How the tread of each tire takes its load; corners as LF RF LR RR. All from memory.

    Attributes
    ----------
    wide : distance between the middles of the outer strips [in].
    follows : share of the tilt that the tread keeps, the sidewalls giving way for the rest [1].
    roll_gain : camber gained per degree of roll [1]; a solid rear axle gains none.
    flex : load shift per unit of side force over load, by the tire's sideways flex [1].
    per_pressure : load shift to the middle per relative excess of pressure [1].
    flat_load, flat_psi : a load [lb], and the pressure [psi] at which a tread stands flat under it.
    flat_by : factor of each tire's own build on that pressure [1].
    flat_grows : exponent with which that pressure grows with load [1].
    """

    wide: float = 6.6
    follows: Array = spread.four(0.8, 0.8, 0.8, 0.8, share=0.15, own=0.08)
    roll_gain: Array = spread.four(0.6, 0.6, 0.0, 0.0, share=0.1)
    flex: Array = spread.four(0.16, 0.16, 0.16, 0.16, share=0.10, own=0.08)
    per_pressure: Array = spread.four(1.2, 1.2, 1.2, 1.2, share=0.15, own=0.08)
    flat_by: Array = spread.four(1.0, 1.0, 1.0, 1.0, share=0.03, own=0.03)
    flat_load: float = 900.0
    flat_psi: float = 26.0
    flat_grows: float = 0.72

    def edge_shift(self, camber: Array, roll: Array, side_force: Array, deflection: Array) -> Array:
        """Return the load shift towards the outer edge, as a share of the even load [1].

        Parameters
        ----------
        camber : as set, positive when the top leans away from the centreline [deg].
        roll : of the body, positive towards the right [deg].
        side_force : of the ground on the tire, towards the centreline, over its load [1].
        deflection : of the tire under its load [in].

        Notes
        -----
        s = c w γ / 2d + f · side force, with γ = camber + side · gain · roll, side −1 on the left.
        A row of springs that is pressed in by d in its middle and tilted by γ is pressed in by
        d ± γ w/2 at its edges. A body rolling right leans the top of a right tire outward and
        that of a left tire inward. A force towards the centreline pushes the tread under the rim
        and loads the outer edge.
        """
        leaning = np.radians(camber + SIDE * self.roll_gain * roll)
        pressed = np.maximum(deflection, LEAST_DEFLECTION)
        shift: Array = self.follows * self.wide / 2 * leaning / pressed + self.flex * side_force
        return shift

    def crown_shift(self, hot_psi: Array, flat_psi: Array) -> Array:
        """Return the load shift towards the middle, as a share of the even load [1].

        Parameters
        ----------
        hot_psi : pressure in the running tire [psi].
        flat_psi : pressure at which the tread stands flat under its load [psi].

        Notes
        -----
        c = k (p / p_flat − 1): a tire with too much air stands on its middle, one with too little
        on its edges. Common practice, no source.
        """
        shift: Array = self.per_pressure * (hot_psi / flat_psi - 1)
        return shift

    def flat_pressure(self, load_lb: Array) -> Array:
        """Return the pressure [psi] at which a tread stands flat under a load [lb].

        p = p0 (N / N0) ** n: pressure carries the load over the contact area. With n = 1 the area
        would stay; part of the load is carried by a larger area, so n is below 1 (from memory).
        """
        grown: Array = (load_lb / self.flat_load) ** self.flat_grows
        flat: Array = self.flat_by * self.flat_psi * grown
        return flat


def shares(edge: Array, crown: Array) -> Array:
    """Return the shares of the inner, middle and outer strip along a new last axis; they sum to 1.

    inner = (1 − s − c/2)/3, middle = (1 + c)/3, outer = (1 + s − c/2)/3.
    """
    raw = np.stack([1 - edge - crown / 2, 1 + crown, 1 + edge - crown / 2], axis=-1) / 3
    raw = np.maximum(raw, LEAST_SHARE)
    total: Array = raw / raw.sum(axis=-1, keepdims=True)
    return total
