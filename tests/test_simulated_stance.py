"""How the simulated car stands: loads against a textbook, statics from scratch, lifted wheels."""

import attrs
import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import fsolve

from planner.car import car_file
from planner.rehearsal.body import body
from planner.rehearsal.car import invented
from planner.rehearsal.setups import beside
from planner.rehearsal.stance import Stance, stand
from planner.rehearsal.steady_turn import solved
from planner.rehearsal.truth import Truth

Array = npt.NDArray[np.float64]

CAR = body(car_file.load(invented()))
RIGID = 1e9


def standing(truth: Truth | None = None) -> Stance:
    return stand(CAR, beside([CAR.start]), truth or Truth(), None)


def textbook() -> Stance:
    """Return the car of Barton and Fieldhouse, *Automotive Chassis Engineering*, p. 174 [N, m]."""
    g, track, base, behind = 9.81, 1.46, 2.6, 0.46
    sprung, front, rear = 1280 * g, 140 * g, 180 * g
    loads = np.array([sprung * (1 - behind) + front] * 2 + [sprung * behind + rear] * 2) / 2
    axis = 0.07 * (1 - behind) + 0.32 * behind
    hub = (140 * 0.280 + 180 * 0.300) / 320  # the book has one for each axle
    height = (sprung * (axis + 0.365) + (front + rear) * hub) / (sprung + front + rear)
    # The split of roll stiffness is the book's own, from its 1556 and 671 N.
    stiff = 28_650 * np.array([1556, 671]) / (1556 + 671) * 2 / track**2
    car = attrs.evolve(
        CAR,
        scales=loads,
        wheelbase=base,
        track=(track, track),
        roll_center_front=0.07,
        cg_height=height,
        ratio=np.ones(4),
        spring_base=np.ones(2),
    )
    springs = np.array([[stiff[0], stiff[0], stiff[1], stiff[1], 0.0, 0.0]])
    travel = car.spring_travel
    return Stance(
        body=car,
        loads=loads[None, :],
        unsprung=np.array([front, front, rear, rear]) / 2,
        height=height,
        hub=hub,
        panhard=np.array([0.32]),
        camber_gain=0.0,  # as the book takes it, front wheels stay upright
        stiffness=np.einsum("ri,sr,rj->sij", travel, springs, travel),
        tire_rate=np.full((1, 4), RIGID),
    )


def test_load_transfer_is_that_of_a_textbook() -> None:
    car = textbook()
    lateral = np.array([0.6])
    weights = car.loads.sum()
    behind = car.loads[0, 2:].sum() / weights
    # Each axle holds its share; which tire of it does makes no difference but for jacking.
    side = 0.6 * weights * np.array([[1 - behind, 1 - behind, behind, behind]]) / 2
    loads, roll = car.turning(lateral, np.ones(1), side, car.tire_rate, np.zeros((1, 4)))
    moved = (loads - car.loads)[0]
    assert -moved[0] == pytest.approx(1556 + 195 + 158, rel=0.01)
    assert -moved[2] == pytest.approx(671 + 760 + 218, rel=0.01)
    assert moved[1] == pytest.approx(-moved[0], rel=1e-3)
    assert roll[0] / (0.6 * 9.81) == pytest.approx(0.0194, rel=0.01)


def test_the_car_that_is_scaled_stands_as_it_was_set() -> None:
    car = standing()
    at_rest = car.at_rest(car.tire_rate, np.zeros((1, 4)))
    assert at_rest[0] == pytest.approx(CAR.scales, abs=1e-6)


@pytest.mark.parametrize(
    ("corner", "gained"), [(0, 0.2), (3, -0.15), (3, -12.0)], ids=["taller", "smaller", "lifted"]
)
def test_a_tire_of_another_size_moves_load_as_statics_from_scratch_say(
    corner: int, gained: float
) -> None:
    car = standing()
    growth = np.zeros((1, 4))
    growth[0, corner] = gained
    found = car.at_rest(car.tire_rate, growth)[0]
    expected = from_scratch(car, growth[0])
    assert found == pytest.approx(expected, abs=2.0)
    assert found.sum() == pytest.approx(CAR.weight, abs=2.0)


def from_scratch(car: Stance, growth: Array) -> Array:
    """Return loads [lb] by Newton's laws of body and wheels, solved by scipy.

    Springs push between body and wheel, tires between wheel and ground; springs that were loaded
    so that the car stood as scaled.
    """
    half = np.array([CAR.track[0], CAR.track[0], CAR.track[1], CAR.track[1]]) / 2
    right = half * np.array([-1, 1, -1, 1])
    ahead = np.array([0.0, 0.0, -CAR.wheelbase, -CAR.wheelbase])
    start, ratio, base = CAR.start, CAR.ratio, CAR.spring_base
    rate = np.array([start["spring", c] for c in ("LF", "RF", "LR", "RR")])
    light = car.unsprung.sum()
    sprung = CAR.weight - light
    height = (CAR.weight * car.height - light * car.hub) / sprung
    behind = (car.loads[0] - car.unsprung)[2:].sum() / sprung
    front_axis, rear_axis = CAR.roll_center_front, car.panhard[0]
    over_axis = height - front_axis * (1 - behind) - rear_axis * behind

    def loads(hubs: Array) -> Array:
        pressed = car.loads[0] / car.tire_rate[0] + growth - hubs
        return np.maximum(car.tire_rate[0] * pressed, 0.0)

    def missing(unknown: Array) -> Array:
        rise, roll, pitch, *hubs = unknown
        hubs = np.array(hubs)
        above = rise - roll * right - pitch * ahead  # of the body over each wheel
        push = np.zeros(4)  # of the springs on the body more than at first
        push[:2] = rate[:2] * ratio[:2] ** 2 * (hubs - above)[:2]
        across = base * right[2:]
        axle = hubs[2:].mean() + (hubs[3] - hubs[2]) / CAR.track[1] * across
        at_springs = rise - roll * across - pitch * ahead[2:]
        push[2:] = rate[2:] * (axle - at_springs)
        bar = start["bar", "front"] * ((hubs - above)[1] - (hubs - above)[0])
        ground = loads(hubs) - car.loads[0]
        front = ground[:2] - push[:2] - np.array([-bar, bar])
        rear = [
            ground[2:].sum() - push[2:].sum(),
            ground[2:] @ right[2:] - push[2:] @ across,
        ]
        spread = np.concatenate([right[:2], across])
        on_body = [
            push.sum(),
            push @ spread + bar * CAR.track[0] - sprung * over_axis * roll,
            push @ ahead,
        ]
        return np.array([*front, *rear, *on_body])

    return loads(fsolve(missing, [0.0, 0.0, 0.0, *np.where(growth < -1, growth, 0.0)])[3:])


@pytest.mark.parametrize("lateral", [0.5, 1.0, 2.1])
def test_loads_in_the_turn_hold_weight_and_moment(lateral: float) -> None:
    # At 2.1 g the left front is off the ground, and the rest carries all of it.
    car, normal = standing(), 1.2
    side = lateral * car.loads
    loads, roll = car.turning(
        np.array([lateral]), np.array([normal]), side, car.tire_rate, np.zeros((1, 4))
    )
    right, ahead = CAR.places
    weight = CAR.weight
    assert loads.sum() == pytest.approx(normal * weight, abs=2.0)
    assert (loads[0] @ ahead) == pytest.approx(normal * car.loads[0] @ ahead, rel=1e-3)
    over = loads[0] @ right - normal * car.loads[0] @ right
    upright = lateral * weight * car.height
    assert over > upright  # the body leans out
    assert over == pytest.approx(upright + normal * weight * 0.9 * car.height * roll[0], rel=0.03)
    assert (loads[0].min() == 0) == (lateral == 2.1)


def test_the_steady_turn_balances() -> None:
    setups = beside([CAR.start, {**CAR.start, ("cross", "car"): 53.0}])
    truth = Truth()
    turn, unknown, tires = solved(CAR, setups, truth, None)
    lateral = unknown[:, 2]
    assert tires.inward.sum(axis=1) == pytest.approx(lateral * CAR.weight, rel=1e-3)
    # v² / R into the turn and gravity, turned by the banking.
    banking, speed = np.radians(CAR.course.banking), turn.speed(lateral)
    level = speed**2 / 32.174 / CAR.course.radius
    assert level * np.cos(banking) - np.sin(banking) == pytest.approx(lateral, rel=1e-5)
    normal = level * np.sin(banking) + np.cos(banking)
    assert tires.load.sum(axis=1) == pytest.approx(normal * CAR.weight, rel=2e-3)
    # What drives makes up for what slides: power in is power out.
    slid = (tires.inward * tires.sideways).sum(axis=1)
    rolled = truth.rolling * tires.load.sum(axis=1)
    assert tires.forward.sum(axis=1) == pytest.approx(slid + rolled, rel=0.02)
    # More cross: the front slides more, against the rear.
    front, rear = unknown[:, 0], unknown[:, 1]
    assert front[1] - rear[1] > front[0] - rear[0]


def test_a_car_with_more_stagger_than_the_turn_wants_turns_in() -> None:
    less, more = {**CAR.start, ("stagger", "rear"): 1.0}, {**CAR.start, ("stagger", "rear"): 2.0}
    _, unknown, tires = solved(CAR, beside([less, more]), Truth(), None)
    apart = tires.forward[:, 3] - tires.forward[:, 2]
    assert apart[1] > apart[0]
    assert unknown[1, 0] < unknown[0, 0]


def test_springs_that_stand_closer_together_hold_the_roll_less() -> None:
    sized = car_file.load(invented())
    wide, narrow = (
        body(attrs.evolve(sized, dimensions=attrs.evolve(sized.dimensions, spring_base_rear=base)))
        for base in (55.0, 40.0)
    )
    loads = [
        solved(each, beside([each.start]), Truth(), None)[2].load[0] for each in (wide, narrow)
    ]
    # The rear takes less of the roll, and the front more.
    assert loads[1][1] - loads[1][0] > loads[0][1] - loads[0][0]
    assert loads[1][3] - loads[1][2] < loads[0][3] - loads[0][2]
