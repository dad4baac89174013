"""The steady turn: at which slips, speed and loads forces and moments of the car balance.

Nothing here is shared with the load and grip formulas of the planner.
"""

import math

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal import gas
from planner.rehearsal.body import Body
from planner.rehearsal.setups import SIDE, Setups
from planner.rehearsal.stance import Stance, stand
from planner.rehearsal.truth import Truth
from planner.trade.refusals import Refusal

Array = npt.NDArray[np.float64]

GRAVITY_FT = 32.17405  # ft/s²; NIST SP 811, appendix B.8
HOT_F, COLD_F = 150.0, 70.0  # of the gas in a running tire and in the morning; from memory

UNKNOWNS = 4
NEWTONS = 15  # steps of the search at most
CLOSE = 1e-4  # of weight or of slip at the peak: near enough
PROBE = 1e-5  # step of the slopes
LONGEST = np.array([0.04, 0.04, 0.2, 0.03])  # step of the search
FIRST_LATERAL, FIRST_DRIVEN = 1.0, 0.03  # where it begins
SMOOTH = 6.0  # how sharply the end that slips more decides


@attrs.frozen(eq=False)
class Tires:
    """The four tires in the turn, of several setups; LF RF LR RR.

    Attributes
    ----------
    load : [lb].
    roll : of the body to the right [rad].
    sideways : tangent of the slip angle [1].
    along : slip of the turning wheel [1].
    inward, forward : force [lb].
    """

    load: Array
    roll: Array
    sideways: Array
    along: Array
    inward: Array
    forward: Array


@attrs.frozen(eq=False)
class SteadyTurn:
    """The turn that several setups go through; what is unknown in it is found by `solved`.

    Attributes
    ----------
    body, truth : the car and its tires.
    on : the setups.
    stance : the car as it stands.
    rate : vertical rates of the running tires [lb/in].
    gained : their radius over that with which cross was set [in].
    stagger : of the running tires [in].
    """

    body: Body
    truth: Truth
    on: Setups
    stance: Stance
    rate: Array
    gained: Array
    stagger: Array

    def speed(self, lateral: Array) -> Array:
        """Return the speed [ft/s] for a lateral acceleration in the plane of the track [g].

        a = (v² / g R) cos b − sin b.
        """
        banking = math.radians(self.body.course.banking)
        square = (lateral + math.sin(banking)) * GRAVITY_FT * self.body.course.radius
        speed: Array = np.sqrt(np.maximum(square / math.cos(banking), 1.0))
        return speed

    def normal(self, lateral: Array) -> Array:
        """Return the acceleration square to the track [g]: n = cos b + (v² / g R) sin b."""
        banking = math.radians(self.body.course.banking)
        normal: Array = math.cos(banking) + math.tan(banking) * (lateral + math.sin(banking))
        return normal

    def spun(self) -> Array:
        """Return the slip of the right rear wheel over that of the left one [1].

        Both turn at one speed. The right one goes round the larger circle and has the larger
        tire: stagger / circumference − track / radius of the turn.
        """
        course = self.body.course
        wider = self.body.track[1] / 12 * math.cos(math.radians(course.banking)) / course.radius
        spun: Array = self.stagger / self.body.round_rear - wider
        return spun

    def tires(self, unknown: Array, side_force: Array) -> Tires:
        """Return loads and forces at what is unknown, as `missed` has it.

        Parameters
        ----------
        side_force : that jacks the body [lb].
        """
        front, rear, lateral, driven = unknown.T
        load, roll = self.stance.turning(
            lateral, self.normal(lateral), side_force, self.rate, self.gained
        )
        lean = -SIDE * np.radians(self.on.camber) - self.truth.tread.roll_gain * roll[:, None]
        # All tires push to the left: one on the right that points inward slips more.
        sideways = np.stack([front, front, rear, rear], axis=1) + SIDE * self.on.toe
        apart = self.spun() / 2
        along = np.stack([0 * driven, 0 * driven, driven - apart, driven + apart], axis=1)
        inward, forward = self.truth.slip.forces(sideways, along, load, lean)
        return Tires(load, roll, sideways, along, inward, forward)

    def missed(self, unknown: Array, tires: Tires) -> Array:
        """Return by how much each of four conditions is missed [1], shape (setups, 4).

        Parameters
        ----------
        unknown : tangents of the slip angles front and rear, lateral acceleration [g], mean slip
            of the driven wheels; shape (setups, 4).

        Notes
        -----
        Forces across; moments about the centre of gravity, in which the rear tires push unevenly
        by stagger and a steered front pair drags unevenly; power along: the rear wheels make up
        for what all slip angles and rolling take ([1]_, ch. 5). The driver goes as fast as brings
        the slip of the end that slides more to a share of its peak.

        References
        ----------
        .. [1] W. F. Milliken, D. L. Milliken, *Race Car Vehicle Dynamics*, SAE, 1995.
        """
        front, rear, lateral, _ = unknown.T
        body, weight = self.body, self.body.weight
        inward, forward = tires.inward, tires.forward
        behind = body.behind_front(self.stance.loads)
        at_front, at_rear = inward[:, :2].sum(axis=1), inward[:, 2:].sum(axis=1)
        steer = body.wheelbase / 12 / body.course.radius + front - rear
        pair = (forward[:, 3] - forward[:, 2]) * body.track[1] / 2
        pair -= (inward[:, 1] - inward[:, 0]) * steer * body.track[0] / 2
        taken = at_front * front + at_rear * rear + self.truth.rolling * tires.load.sum(axis=1)
        return np.stack(
            [
                (at_front + at_rear) / weight - lateral,
                (at_front * behind - at_rear * (1 - behind) + pair / body.wheelbase) / weight,
                (forward[:, 2:].sum(axis=1) - taken) / weight,
                self._driven(front, rear, tires) - self.truth.pace,
            ],
            axis=1,
        )

    def _driven(self, front: Array, rear: Array, tires: Tires) -> Array:
        """Return slip over that of the peak, of the end that slides more [1]."""
        weights = tires.load + 1e-6
        peaks = self.truth.slip.at_peak(tires.load) * weights
        front_peak, rear_peak = (
            peaks[:, end].sum(axis=1) / weights[:, end].sum(axis=1)
            for end in (slice(0, 2), slice(2, 4))
        )
        ends = np.abs(front / front_peak) ** SMOOTH + np.abs(rear / rear_peak) ** SMOOTH
        more: Array = (ends / 2) ** (1 / SMOOTH)
        return more


def steady_turn(body: Body, on: Setups, truth: Truth, scaled_with: Array | None) -> SteadyTurn:
    """Return the turn of a car with setups on it, tires hot.

    Parameters
    ----------
    scaled_with : pressures with which cross was set and stagger measured [psi]; None for those
        of each setup.
    """
    base = on.cold if scaled_with is None else np.broadcast_to(scaled_with, on.cold.shape)
    hot = gas.warmed(on.cold, COLD_F, HOT_F)
    gained = truth.casing.radius_gained(hot, base)
    return SteadyTurn(
        body=body,
        truth=truth,
        on=on,
        stance=stand(body, on, truth, scaled_with),
        rate=truth.casing.rate(body.tire_rate * truth.rate_off, hot, body.cold),
        gained=gained,
        stagger=on.stagger + 2 * np.pi * (gained[:, 3] - gained[:, 2]),
    )


def solved(
    body: Body, on: Setups, truth: Truth, scaled_with: Array | None
) -> tuple[SteadyTurn, Array, Tires]:
    """Find the steady turn of every setup: the turn, what was unknown, the tires.

    Raises
    ------
    Refusal
        The car cannot be driven so.

    Notes
    -----
    Newton's method, the slopes by small steps, which are worked out beside the setups themselves.
    The side forces that jack the body are those of the step before.
    """
    count = len(on.cold)
    turn = steady_turn(body, on.times(1 + UNKNOWNS), truth, scaled_with)
    probes = np.repeat(np.vstack([np.zeros(UNKNOWNS), PROBE * np.eye(UNKNOWNS)]), count, axis=0)
    slip = truth.pace * truth.slip.peak
    unknown = np.tile([slip, slip, FIRST_LATERAL, FIRST_DRIVEN], (count, 1))
    force = turn.stance.loads[:count]
    for _ in range(NEWTONS):
        tried = np.tile(unknown, (1 + UNKNOWNS, 1)) + probes
        tires = turn.tires(tried, np.tile(force, (1 + UNKNOWNS, 1)))
        here, *moved = turn.missed(tried, tires).reshape(1 + UNKNOWNS, count, UNKNOWNS)
        inward = tires.inward[:count]
        if max(np.abs(here).max(), np.abs(inward - force).max() / body.weight) < CLOSE:
            alone = steady_turn(body, on, truth, scaled_with)
            return alone, unknown, alone.tires(unknown, force)
        slopes = (np.stack(moved, axis=-1) - here[..., None]) / PROBE
        try:
            step = np.linalg.solve(slopes, -here[..., None])[..., 0]
        except np.linalg.LinAlgError:
            break
        unknown, force = unknown + np.clip(step, -LONGEST, LONGEST), inward
    raise Refusal(
        "bad-value",
        "The simulated car cannot hold a turn with this setup.",
        where="--fault",
        hint="make the fault smaller",
    )
