"""How the car stands on its tires: a rigid body on four springs, in series with four tires.

At rest and in the turn alike: the loads are those of the whole equilibrium, with tires that can
push but not pull. Nothing here is shared with the load formulas of the planner.
"""

import attrs
import numpy as np
import numpy.typing as npt

from planner.rehearsal.body import Body
from planner.rehearsal.setups import SIDE, Setups
from planner.rehearsal.truth import Truth

Array = npt.NDArray[np.float64]

HEAVE, ROLL, PITCH = 0, 1, 2
WHEELS = slice(3, 7)  # hub heights LF RF LR RR
LEFT_REAR, RIGHT_REAR = 5, 6

OFF_THE_GROUND = 1e-6  # share of its rate that a lifted tire keeps, so that its hub has a place
PATTERNS = 5  # of tires on the ground that are tried


@attrs.frozen(eq=False)
class Stance:
    """The car with several setups on it, as it stands where its cross weight was set.

    Displacements count from there: heave up, roll to the right, pitch nose down, hubs up.

    Attributes
    ----------
    body : what is bolted together.
    loads : scale loads [lb], shape (setups, 4); here and below LF RF LR RR.
    unsprung : weights of the wheels [lb], shape (4,).
    height : of the whole car's centre of gravity [in].
    hub : height of the hubs [in].
    panhard : height of the rear roll centre [in], (setups,).
    camber_gain : camber to the ground that each front wheel gains per angle of roll [1].
    stiffness : of springs and bars on the seven displacements [lb, in, rad], (setups, 7, 7).
    tire_rate : vertical rates of the tires at that place [lb/in], (setups, 4).
    """

    body: Body
    loads: Array
    unsprung: Array
    height: float
    hub: float
    panhard: Array
    camber_gain: float
    stiffness: Array
    tire_rate: Array

    def at_rest(self, rate: Array, gained: Array) -> Array:
        """Return the scale loads [lb] with other tire rates [lb/in] and radii gained [in]."""
        still = np.zeros(len(self.loads))
        return self.turning(still, still + 1.0, 0 * self.loads, rate, gained)[0]

    def turning(
        self, lateral: Array, normal: Array, side_force: Array, rate: Array, gained: Array
    ) -> tuple[Array, Array]:
        """Return the loads on the tires [lb] and the roll to the right [rad].

        Parameters
        ----------
        lateral, normal : acceleration in the plane of the track and square to it [g].
        side_force : of the ground on each tire, to the left [lb].
        rate, gained : of the tires [lb/in], and radius gained since cross was set [in].

        Notes
        -----
        Virtual work on the displacements q: (K − G) q + B (N0 − N) = Q, with N = k (d0 + u − w),
        never below zero, for the hub height w, the radius gained u and the deflection d0 the
        tire had. K is of springs and bars, G the weight of the body that leans out over its
        tires, Q what the turn adds: weight pressed down by banking at the centres of gravity,
        centrifugal force at their heights, and side forces at the ground, which reach the body
        along its links. A front wheel that rises moves its contact outward by 2 h/t, h being the
        height of the roll centre: unequal forces on the two sides therefore jack the body. A
        solid rear axle takes its force at the height of the Panhard bar.
        The pattern of tires on the ground is found by trying.

        References
        ----------
        .. [1] W. F. Milliken, D. L. Milliken, *Race Car Vehicle Dynamics*, SAE, 1995, ch. 17, 18.
        """
        body = self.body
        force = self._turn(lateral, normal, side_force)
        matrix = self.stiffness.copy()
        sprung, _, forward, above = self._sprung()
        behind = -forward / body.wheelbase
        axis = body.roll_center_front * (1 - behind) + self.panhard * behind
        matrix[:, ROLL, ROLL] -= normal * sprung * (above - axis)
        pressed = self.loads / self.tire_rate + gained  # deflection with the hub in its place
        touching = np.ones_like(self.loads, dtype=bool)
        for _ in range(PATTERNS):
            stiff = np.where(touching, rate, OFF_THE_GROUND * rate)
            whole = matrix.copy()
            whole[:, range(3, 7), range(3, 7)] += stiff
            right = force.copy()
            right[:, WHEELS] += stiff * pressed - self.loads
            moved = np.linalg.solve(whole, right[..., None])[..., 0].astype(np.float64)
            deflected = pressed - moved[:, WHEELS]
            if (touching == (deflected > 0)).all():
                break
            touching = deflected > 0
        return np.maximum(rate * deflected, 0.0), moved[:, ROLL]

    def _sprung(self) -> tuple[Array, Array, Array, float]:
        """Return weight of the body [lb], its centre right of the middle and forward, height [in].

        Forward counts from the front axle.
        """
        on_springs = self.loads - self.unsprung
        sprung = on_springs.sum(axis=1)
        across, along = self.body.places
        total = float(self.loads[0].sum())
        light = float(self.unsprung.sum())
        height = (total * self.height - light * self.hub) / (total - light)
        return sprung, on_springs @ across / sprung, on_springs @ along / sprung, height

    def _turn(self, lateral: Array, normal: Array, side_force: Array) -> Array:
        """Return the generalised forces that a turn adds [lb, lb in]."""
        body, light = self.body, self.unsprung
        sprung, right, forward, height = self._sprung()
        added = normal - 1
        force = np.zeros((len(lateral), 7))
        force[:, HEAVE] = -added * sprung
        force[:, ROLL] = added * sprung * right + lateral * sprung * height
        force[:, PITCH] = added * sprung * forward
        force[:, WHEELS] = -added[:, None] * light
        # Front: the contact moves outward by `scrub` as a wheel rises, the hub by `swing`.
        scrub = 2 * body.roll_center_front / body.track[0]
        swing = scrub - (1 - self.camber_gain) * 2 * self.hub / body.track[0]
        outward = SIDE[:2] * (lateral[:, None] * light[:2] * swing - side_force[:, :2] * scrub)
        force += outward @ body.wheel_travel[:2]
        force[:, ROLL] += lateral * light[:2].sum() * self.hub
        # Rear: the axle hangs on the body at the Panhard bar, and may roll for itself.
        at_ground, axle = side_force[:, 2:].sum(axis=1), lateral * light[2:].sum()
        force[:, ROLL] += (axle - at_ground) * self.panhard
        by_itself = at_ground * self.panhard + axle * (self.hub - self.panhard)
        force[:, LEFT_REAR] += by_itself / body.track[1]
        force[:, RIGHT_REAR] -= by_itself / body.track[1]
        return force


def stand(body: Body, on: Setups, truth: Truth, scaled_with: Array | None) -> Stance:
    """Return the car as it stands with setups on it.

    Parameters
    ----------
    scaled_with : pressures with which cross weight was set [psi]; None for those of each setup.

    Notes
    -----
    A crew sets cross again with the jacks after a spring, a bar, lead or another pair of rear
    tires; after air it does not.
    """
    psi = on.cold if scaled_with is None else np.broadcast_to(scaled_with, on.cold.shape)
    springs = np.concatenate([on.spring, on.bar], axis=1)
    travel = body.spring_travel
    stiffness = np.einsum("ri,sr,rj->sij", travel, springs, travel)
    loads = set_with_jacks(body, on, truth)
    return Stance(
        body=body,
        loads=loads,
        unsprung=truth.unsprung * body.weight,
        height=body.cg_height * truth.cg_off,
        hub=truth.hub,
        panhard=on.panhard,
        camber_gain=float(truth.tread.roll_gain[0]),
        stiffness=stiffness,
        tire_rate=truth.casing.rate(body.tire_rate * truth.rate_off, psi, body.cold),
    )


def set_with_jacks(body: Body, on: Setups, truth: Truth) -> Array:
    """Return the scale loads [lb] with the lead moved and the cross weight as it was set.

    Statics: the loads of an axle add up to its weight, their moment about the centreline stays,
    and RF and LR are the cross weight.
    """
    to_rear, to_left = on.ballast.T
    rear = body.rear_weight + to_rear * truth.ballast_rear
    right = body.to_right - to_left * truth.ballast_left * float(np.mean(body.track))
    front, rear_track = body.track
    diagonal = (on.cross / 100 - 0.5) * body.weight
    across_front = (right + diagonal * rear_track) / (front + rear_track)
    across_rear = across_front - diagonal
    ahead = body.weight - rear
    return np.stack(
        [
            ahead / 2 - across_front,
            ahead / 2 + across_front,
            rear / 2 - across_rear,
            rear / 2 + across_rear,
        ],
        axis=1,
    )
