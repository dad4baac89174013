"""Heat in a tire: three tread strips, carcass, and gas with rim, step by step through the laps."""

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import spread

Array = npt.NDArray[np.float64]

STRIPS = slice(0, 3)
CARCASS, GAS = 3, 4
NODES = 5

F_PER_K = 1.8  # exact; NIST SP 811, appendix B.9


@attrs.frozen(eq=False)
class Around:
    """What a tire stands in or rolls through.

    Attributes
    ----------
    air, track : temperatures [degF].
    speed : [m/s], one for each setup; 0 in the pits.
    cooling : factor of each tire on what the air takes [1].
    """

    air: float
    track: float
    speed: Array
    cooling: Array


@attrs.frozen
class Tire:
    """Heat capacities and conductances of one tire. All from memory, of the right size only.

    Attributes
    ----------
    to_carcass : conductance from one strip to the carcass [W/K]: 5 mm of rubber of 0.25 W/(m K)
        over a strip's area.
    between : between neighbouring strips [W/K]: the same rubber, and a little through the belts.
    to_gas : from the carcass to gas and rim [W/K].
    rim : from gas and rim to the air [W/K].
    track : from one strip to the track, rolling [W/K].
    still, moving : film of the air, h = still + moving v**0.8 [W/(m² K)], v in m/s.
    strip, carcass, gas : heat capacity of one tread strip, of belts and sidewalls, and of gas and
        rim [J/K]: about 1.1 and 4 kg of rubber at 1900 J/(kg K), and the air with the 2 kg of
        steel nearest to it.
    strip_area, carcass_area : faces that meet the air, one strip and both sidewalls [m²].
    """

    to_carcass: float = spread.near(9.0, 0.1)
    between: float = spread.near(0.3, 0.2)
    to_gas: float = 45.0
    rim: float = 3.0
    track: float = spread.near(1.5, 0.2)
    still: float = 9.0
    moving: float = spread.near(3.0, 0.04)
    strip: float = 2100.0
    carcass: float = 7600.0
    gas: float = 900.0
    strip_area: float = 0.175
    carcass_area: float = 0.45

    def losses(self, around: Around) -> tuple[Array, Array]:
        """Return the conductance of every node to air and to track [W/K], shape (..., 4, 5).

        Notes
        -----
        The film of the passing air is h = h0 + h1 v**0.8, with the exponent of turbulent flow
        along a wall (common practice, no source). A tire that stands gives the track nothing.
        """
        speed = around.speed
        film = ((self.still + self.moving * speed**0.8) * around.cooling)[..., None]
        area = np.array([self.strip_area] * 3 + [self.carcass_area, 0.0])
        to_air = film * area + np.array([0.0, 0.0, 0.0, 0.0, self.rim])
        on_track = np.array([self.track] * 3 + [0.0, 0.0])
        to_track = np.where(speed[..., None] > 0, on_track, 0.0)
        return to_air, to_track + np.zeros_like(to_air)

    def exchange(self) -> Array:
        """Return the conductance matrix between the nodes [W/K]; rows sum to zero."""
        matrix = np.zeros((NODES, NODES))
        pairs = [(0, 1, self.between), (1, 2, self.between), (CARCASS, GAS, self.to_gas)]
        pairs += [(strip, CARCASS, self.to_carcass) for strip in range(3)]
        for one, other, conductance in pairs:
            matrix[one, other] += conductance
            matrix[other, one] += conductance
        np.fill_diagonal(matrix, -matrix.sum(axis=1))
        return matrix

    def capacities(self, left: Array) -> Array:
        """Return the heat capacity of every node [J/K], shape (..., 4, 5).

        Parameters
        ----------
        left : tread on each strip, as a share of the new one [1]; half a strip's rubber is base
            that does not wear (from memory).
        """
        out = np.empty((*left.shape[:-1], NODES))
        out[..., STRIPS] = self.strip * (0.5 + 0.5 * left)
        out[..., CARCASS] = self.carcass
        out[..., GAS] = self.gas
        return out

    def advance(
        self,
        temperatures: Array,
        power: Array,
        left: Array,
        around: Around,
        seconds: Array,
        steps: int,
    ) -> Array:
        """Return the temperatures [degF] after a stretch of constant power.

        Parameters
        ----------
        temperatures : of the nodes, shape (..., 4, 5) [degF].
        power : into every node [W].
        left : tread on each strip, as a share of the new one [1].
        around : air, track and speed.
        seconds : length of the stretch [s], shape (..., 1).
        steps : into how many equal steps it is cut.

        Notes
        -----
        C dT/dt = P + G T − a (T − T_air) − r (T − T_track), by explicit Euler steps: G is the
        matrix of `exchange`, a and r the conductances of `losses`. The fastest node, a strip,
        answers within about a minute, the steps are near a second. Every step keeps the heat
        exactly.
        """
        to_air, to_track = self.losses(around)
        loss = to_air + to_track
        matrix = self.exchange()
        source = power + (to_air * around.air + to_track * around.track) / F_PER_K
        rate = (seconds / steps)[..., None] / self.capacities(left)
        gain = rate * source * F_PER_K
        now = temperatures
        for _ in range(steps):
            now = now + gain + rate * (now @ matrix - loss * now)
        return now
