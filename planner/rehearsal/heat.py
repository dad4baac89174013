"""Heat in a tire: three tread strips, carcass, and gas with rim, step by step through the laps."""

import attrs
import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

STRIPS = slice(0, 3)
CARCASS, GAS = 3, 4
NODES = 5

F_PER_K = 1.8  # exact; NIST SP 811, appendix B.9


@attrs.frozen
class Tire:
    """Heat capacities and conductances of one tire. All from memory, the right size only.

    Attributes
    ----------
    strip, carcass, gas : heat capacity of one tread strip, of belts and sidewalls, and of gas and
        rim [J/K]: about 1.1 and 4 kg of rubber at 1900 J/(kg K), and the air with the 2 kg of
        steel nearest to it.
    between : conductance between neighbouring strips [W/K]; rubber of 0.25 W/(m K) and a little
        of what goes through the belts.
    to_carcass : from one strip to the carcass [W/K]: 5 mm of that rubber over a strip's area.
    to_gas : from the carcass to gas and rim [W/K].
    strip_area, carcass_area : faces that meet the air, one strip and both sidewalls [m²].
    rim : conductance from gas and rim to the air [W/K].
    track : from one strip to the track, rolling [W/K].
    still, moving : film of the air, h = still + moving v**0.8 [W/(m² K)], v in m/s.
    """

    strip: float = 2100.0
    carcass: float = 7600.0
    gas: float = 900.0
    between: float = 0.3
    to_carcass: float = 9.0
    to_gas: float = 45.0
    strip_area: float = 0.175
    carcass_area: float = 0.45
    rim: float = 3.0
    track: float = 1.5
    still: float = 9.0
    moving: float = 3.0


@attrs.frozen(eq=False)
class Around:
    """What a tire stands in: air and track temperature [degF] and speed [m/s]."""

    air: float
    track: float
    speed: Array


def film(tire: Tire, speed: Array) -> Array:
    """Return the heat transfer coefficient of the passing air [W/(m² K)], h = h0 + h1 v**0.8.

    The exponent is that of turbulent flow along a wall (common practice, no source).
    """
    passing: Array = tire.still + tire.moving * np.asarray(speed) ** 0.8
    return passing


def losses(tire: Tire, around: Around, cooling: Array) -> tuple[Array, Array]:
    """Return the conductance of every node to air and to track [W/K], shape (..., 4, 5).

    Parameters
    ----------
    cooling : factor of each tire on the air's part [1].
    """
    h = (film(tire, around.speed) * cooling)[..., None]
    area = np.array([tire.strip_area] * 3 + [tire.carcass_area, 0.0])
    to_air = h * area + np.array([0.0, 0.0, 0.0, 0.0, tire.rim])
    rolling = np.asarray(around.speed)[..., None] > 0
    to_track = np.where(rolling, np.array([tire.track] * 3 + [0.0, 0.0]), 0.0)
    return to_air, to_track + np.zeros_like(to_air)


def exchange(tire: Tire) -> Array:
    """Return the conductance matrix between the nodes [W/K]; rows sum to zero."""
    matrix = np.zeros((NODES, NODES))
    pairs = [(0, 1, tire.between), (1, 2, tire.between), (CARCASS, GAS, tire.to_gas)]
    pairs += [(strip, CARCASS, tire.to_carcass) for strip in range(3)]
    for one, other, conductance in pairs:
        matrix[one, other] += conductance
        matrix[other, one] += conductance
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    return matrix


def capacities(tire: Tire, thickness: Array) -> Array:
    """Return the heat capacity of every node [J/K], shape (..., 4, 5).

    Parameters
    ----------
    thickness : tread left of each strip, as a share of the new one [1]; half a strip's rubber is
        base that does not wear (from memory).
    """
    out = np.empty((*thickness.shape[:-1], NODES))
    out[..., STRIPS] = tire.strip * (0.5 + 0.5 * thickness)
    out[..., CARCASS] = tire.carcass
    out[..., GAS] = tire.gas
    return out


@attrs.define
class Account:
    """Heat kept count of over a stretch, per tire [J]: what came in and what went out."""

    came: Array
    left: Array


def advance(
    temperatures: Array,
    power: Array,
    tire: Tire,
    around: Around,
    cooling: Array,
    capacity: Array,
    seconds: Array,
    steps: int,
    account: Account | None = None,
) -> Array:
    """Return the temperatures [degF] after a stretch of constant power.

    Parameters
    ----------
    temperatures : of the nodes, shape (..., 4, 5) [degF].
    power : into every node [W].
    cooling : factor of each tire on the air's part [1].
    capacity : see `capacities` [J/K].
    seconds : length of the stretch [s].
    steps : into how many equal steps it is cut.
    account : kept up to date when given.

    Notes
    -----
    C dT/dt = P + G T − a (T − T_air) − r (T − T_track), by explicit Euler steps: G is the matrix
    of `exchange`, a and r the conductances of `losses`. The fastest node, a strip, answers within
    about a minute, the steps are near a second. Every step keeps the heat exactly.
    """
    to_air, to_track = losses(tire, around, cooling)
    matrix = exchange(tire)
    source = power + (to_air * around.air + to_track * around.track) / F_PER_K
    rate = np.asarray(seconds / steps)[..., None] / capacity
    loss = to_air + to_track
    now = temperatures
    total = np.zeros_like(temperatures)
    gain = rate * source * F_PER_K
    for _ in range(steps):
        total += now
        now = now + gain + rate * (now @ matrix - loss * now)
    if account is not None:
        step = np.asarray(seconds / steps)
        outside = to_air * around.air + to_track * around.track
        account.came += step * power.sum(axis=-1) * steps
        account.left += step * ((loss * total).sum(-1) - steps * outside.sum(-1)) / F_PER_K
    return now
