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
    speed : [m/s], shape (setups, 1); 0 in the pits.
    patch : area of every strip on the ground, shape (setups, 4, 3) [m²].
    """

    air: float
    track: float
    speed: Array
    patch: Array


@attrs.frozen(eq=False)
class Ways:
    """Where heat goes from each node, and how much of what is made on the surface stays.

    Attributes
    ----------
    to_air, to_track : conductances, shape (setups, 4, 5) [W/K].
    kept : share of the heat on the surface that goes into the strip, shape (setups, 4, 3) [1].
    """

    to_air: Array
    to_track: Array
    kept: Array


@attrs.frozen
class Tire:
    """Heat capacities and conductances of one tire.

    Attributes
    ----------
    to_surface : from a strip's rubber to its surface [W/K]: a third of 5 mm of rubber of
        0.3 W/(m K) over its area, the mean of a slab that is heated from one side. This and what
        follows is from memory, of the right size only.
    to_carcass : from one strip to the carcass [W/K]: 5 mm of that rubber.
    between : between neighbouring strips [W/K]: the same rubber, and a little through the belts.
    to_gas : from the carcass to gas and rim [W/K].
    rim : from gas and rim to the air [W/K].
    contact : conductance of the contact with the track [W/(m² K)], [1]_.
    rubber, asphalt : thermal effusivity, the root of conductivity, density and heat capacity
        [W s½/(m² K)]: of 0.3 W/(m K), 1100 kg/m³, 1900 J/(kg K); and 1.2, 2300, 920.
    kneaded : share of the friction that is hysteresis in the rubber [1].
    wide : width of the contact [m].
    still, moving : film of the air, h = still + moving v**0.8 [W/(m² K)], v in m/s: about a third
        of that on a flat plate in the open, the wheel being covered.
    strip, carcass, gas : heat capacity of one tread strip, of belts and sidewalls, and of gas and
        rim [J/K]: about 1.1 and 4 kg of rubber at 1900 J/(kg K), and the air with the 2 kg of
        steel nearest to it.
    strip_area, carcass_area : faces that meet the air, one strip and both sidewalls, of which the
        inner one is sheltered [m²].

    References
    ----------
    .. [1] F. Farroni, D. Giordano, M. Russo, F. Timpone, "TRT: thermo racing tyre, a physical
       model to predict the tyre temperature distribution", *Meccanica* 49 (2014): 12 000 W/(m² K);
       value from memory.
    """

    to_surface: float = spread.near(31.5, 0.1)
    to_carcass: float = spread.near(10.5, 0.1)
    between: float = spread.near(0.3, 0.2)
    to_gas: float = 45.0
    rim: float = 3.0
    contact: float = spread.near(12_000.0, 0.15)
    rubber: float = 790.0
    asphalt: float = spread.near(1590.0, 0.1)
    kneaded: float = spread.near(0.30, 0.06)
    wide: float = 0.22
    still: float = 9.0
    moving: float = spread.near(2.0, 0.06)
    strip: float = 2100.0
    carcass: float = 7600.0
    gas: float = 900.0
    strip_area: float = 0.175
    carcass_area: float = 0.30

    @property
    def shared(self) -> float:
        """Share that goes into the tire of the heat that is made between it and the track [1].

        Two half-spaces share it as their effusivities ([1]_).

        References
        ----------
        .. [1] H. S. Carslaw, J. C. Jaeger, *Conduction of Heat in Solids*, 2nd ed., Oxford, 1959.
        """
        return self.rubber / (self.rubber + self.asphalt)

    def rubbed(self, sliding: Array, kept: Array) -> Array:
        """Return what of the power of sliding heats the strips [W].

        Notes
        -----
        Rubber rubs in part by being kneaded by the grains of the track, as deep as they are, which
        heats the rubber itself ([1]_); the rest is made on its surface.

        References
        ----------
        .. [1] B. N. J. Persson, "Theory of rubber friction and contact mechanics", *J. Chem.
           Phys.* 115 (2001).
        """
        heats: Array = sliding * (self.kneaded + (1 - self.kneaded) * self.shared * kept)
        return heats

    def on_track(self, patch: Array, speed: Array) -> Array:
        """Return the conductance from the surface of each strip to the track [W/K].

        Notes
        -----
        1/h = 1/h_c + √(π t) / (2 e), e = e_r e_a / (e_r + e_a): contact, and the heat that two
        half-spaces of effusivity e_r and e_a exchange in the time t = length / speed for which a
        piece of tread is on the ground (Carslaw and Jaeger, as above). A tire that stands has
        nothing of the track but the spot it warms: none.
        """
        long = patch.sum(axis=-1, keepdims=True) / self.wide
        moving = speed[..., None] > 0
        seconds = long / np.where(moving, speed[..., None], 1.0)
        both = self.rubber * self.asphalt / (self.rubber + self.asphalt)
        film = 1 / (1 / self.contact + np.sqrt(np.pi * seconds) / (2 * both))
        found: Array = np.where(moving, film * patch, 0.0)
        return found

    def ways(self, around: Around) -> Ways:
        """Return where the heat of every node goes.

        Notes
        -----
        The surface of a strip has next to no heat capacity: it is as warm as what comes in and
        what goes out make it. Seen from the rubber below, it is a resistance in series with air
        and track in parallel. The film of the passing air is h = h0 + h1 v**0.8, with the
        exponent of turbulent flow along a wall (common practice, no source).
        """
        film = (self.still + self.moving * around.speed**0.8)[..., None]
        air = film * self.strip_area
        track = self.on_track(around.patch, around.speed)
        kept = self.to_surface / (self.to_surface + air + track)
        to_air, to_track = (np.zeros((*kept.shape[:-1], NODES)) for _ in range(2))
        to_air[..., STRIPS], to_track[..., STRIPS] = kept * air, kept * track
        to_air[..., CARCASS], to_air[..., GAS] = film[..., 0] * self.carcass_area, self.rim
        return Ways(to_air, to_track, kept)

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
        power : into every node, that made on the surface being what is kept of it [W].
        left : tread on each strip, as a share of the new one [1].
        around : air, track, speed and contact.
        seconds : length of the stretch [s], shape (..., 1).
        steps : into how many equal steps it is cut.

        Notes
        -----
        C dT/dt = P + G T − a (T − T_air) − r (T − T_track), by explicit Euler steps: G is the
        matrix of `exchange`, a and r the conductances of `ways`. The fastest node, a strip,
        answers within about a minute, the steps are near a second. Every step keeps the heat
        exactly.
        """
        ways = self.ways(around)
        loss = ways.to_air + ways.to_track
        matrix = self.exchange()
        source = power + (ways.to_air * around.air + ways.to_track * around.track) / F_PER_K
        rate = (seconds / steps)[..., None] / self.capacities(left)
        gain = rate * source * F_PER_K
        now = temperatures
        for _ in range(steps):
            now = now + gain + rate * (now @ matrix - loss * now)
        return now
