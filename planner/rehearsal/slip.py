"""Force against slip of one tire, with its load and its camber; for whole arrays."""

import math

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import spread

Array = npt.NDArray[np.float64]

REFERENCE_LB = 700.0  # load that friction and peak slip are given for
LEAST_FRICTION = 0.3  # of the friction at that load, however heavy the load


@attrs.frozen
class Slip:
    """Force against slip. From memory: racing slicks, of the right size only.

    Attributes
    ----------
    friction : most force over load, at the reference load and the best camber [1].
    falls : share of it lost per reference load of load more [1].
    peak : slip of the most force, the tangent of the slip angle, at the reference load [1].
    peak_grows : share that it grows per reference load more [1].
    shape : of the curve [1]; beyond the peak it falls towards sin(shape · π/2).
    by_lean : slip that leaning into the turn is worth, per radian [1].
    best_lean : into the turn, with the most friction [rad].
    off_lean : share of friction lost per radian squared away from it [1].
    """

    friction: float = spread.near(1.13, 0.03)
    falls: float = spread.between(0.12, 0.08, 0.16)
    peak: float = spread.near(0.14, 0.08)
    peak_grows: float = 0.15
    shape: float = 1.5
    by_lean: float = spread.near(0.10, 0.2)
    best_lean: float = 0.035
    off_lean: float = spread.near(4.0, 0.25)

    def most(self, load: Array, lean: Array) -> Array:
        """Return the most force [lb] under a load [lb], leaning into the turn [rad].

        D = μ0 (1 − f (N/N0 − 1)) (1 − c (γ − γ0)²) N.
        """
        heavier = load / REFERENCE_LB - 1
        by_load = np.maximum(1 - self.falls * heavier, LEAST_FRICTION)
        by_lean = np.maximum(1 - self.off_lean * (lean - self.best_lean) ** 2, LEAST_FRICTION)
        most: Array = self.friction * by_load * by_lean * load
        return most

    def at_peak(self, load: Array) -> Array:
        """Return the slip of the most force [1] under a load [lb]."""
        slip: Array = self.peak * (1 + self.peak_grows * (load / REFERENCE_LB - 1))
        return slip

    def steepness(self, load: Array) -> Array:
        """Return force over load, for each unit of a small slip [1]."""
        steep: Array = self.shape * self._to_peak() / self.at_peak(load) * self.friction
        return steep

    def _to_peak(self) -> float:
        return math.tan(math.pi / (2 * self.shape))

    def forces(
        self, sideways: Array, along: Array, load: Array, lean: Array
    ) -> tuple[Array, Array]:
        """Return the force into the turn and forward [lb].

        Parameters
        ----------
        sideways : tangent of the slip angle, positive pushes into the turn [1].
        along : slip of the turning wheel, positive drives [1].
        load : [lb].
        lean : of the top of the wheel into the turn, to the ground [rad].

        Notes
        -----
        The magic formula without its curvature factor, F = D sin(C atan(B s)), with B from the
        slip of the peak, B s_p = tan(π / 2C). Both slips count alike, s² = (σ + k γ)² + κ², and
        the force goes along the slip (isotropic combined slip); camber shifts the sideways part
        ([1]_, ch. 1 and 4, from memory).

        References
        ----------
        .. [1] H. B. Pacejka, *Tire and Vehicle Dynamics*, 3rd ed., Butterworth-Heinemann, 2012.
        """
        across = sideways + self.by_lean * lean
        slip = np.sqrt(across**2 + along**2) + 1e-9
        steep = self._to_peak() / self.at_peak(load)
        force = self.most(load, lean) * np.sin(self.shape * np.arctan(steep * slip))
        return force * across / slip, force * along / slip
