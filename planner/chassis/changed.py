"""The car in the turn with one thing on it changed; the cross weight is taken as set again.

Ride height and cross are set again with the jack after springs, ballast and stagger, so the scale
loads stay as far as they can. What a change does before that is in `planner.chassis.springs`,
`ballast` and `stagger`.
"""

from typing import Literal

import attrs

from planner.chassis.checks import checked
from planner.chassis.loads import TurnCar
from planner.chassis.tire_size import unknown_rates, with_air
from planner.trade.corners import REAR, RIGHT, Corner, per_corner
from planner.trade.refusals import Refusal

End = Literal["front", "rear"]


def with_spring(car: TurnCar, corner: Corner, amount: float) -> TurnCar:
    """Return the car with one spring changed.

    Parameters
    ----------
    car : the car before.
    corner : corner of the spring.
    amount : change of the rate at the wheel, positive is stiffer [lb/in].

    Raises
    ------
    Refusal
        No rate would be left.

    Notes
    -----
    The scale loads stay: ride height and cross are set again with the jack.
    """
    rates = {**car.wheel_rate, corner: car.wheel_rate[corner] + amount}
    return attrs.evolve(car, wheel_rate=rates)


def with_bar(car: TurnCar, end: End, amount: float) -> TurnCar:
    """Return the car with one bar changed; bars are taken as unloaded at rest.

    Parameters
    ----------
    car : the car before.
    end : ``"front"`` or ``"rear"``.
    amount : change of the rate at the wheel, positive is stiffer [lb/in].

    Raises
    ------
    Refusal
        The rate would be negative.
    """
    if end == "front":
        return attrs.evolve(car, bar_front=car.bar_front + amount)
    return attrs.evolve(car, bar_rear=car.bar_rear + amount)


def with_stagger(car: TurnCar, amount: float) -> TurnCar:
    """Return the car with the stagger changed.

    Parameters
    ----------
    car : the car before; its stagger must be known.
    amount : change, positive is a larger outside tire [in].

    Raises
    ------
    Refusal
        The present stagger is not known, or the amount not finite.
    """
    if car.stagger is None:
        raise Refusal(
            "bad-value",
            "The present stagger is not known.",
            where="stagger",
            hint="Give the stagger that is on the car [in].",
        )
    return attrs.evolve(car, stagger=car.stagger + amount)


def with_cross(car: TurnCar, percent: float) -> TurnCar:
    """Return the car with the cross changed by the jack.

    Parameters
    ----------
    car : the car before.
    percent : change in percent of the total weight, positive is more on RF and LR [%].

    Raises
    ------
    Refusal
        The percent is not finite, or a corner would be left without load.

    Notes
    -----
    The jack moves load in the warp mode only: front and rear sums stay, and so does the moment
    about the centreline, so the load moved on each axle goes as the other's track. With equal
    tracks it is total × percent / 200 at each corner.
    """
    checked(percent, "cross", "%")
    moved = car.weight * percent / 100 / (car.track_front + car.track_rear)
    front, rear = moved * car.track_rear, moved * car.track_front
    scales = car.scales
    return attrs.evolve(
        car,
        scales={
            "LF": scales["LF"] - front,
            "RF": scales["RF"] + front,
            "LR": scales["LR"] + rear,
            "RR": scales["RR"] - rear,
        },
    )


def with_ballast(
    car: TurnCar, pounds: float, *, rearward_in: float = 0.0, leftward_in: float = 0.0
) -> TurnCar:
    """Return the car with ballast moved.

    Parameters
    ----------
    car : the car before.
    pounds : ballast moved [lb].
    rearward_in, leftward_in : how far [in]; negative is forward, rightward.

    Raises
    ------
    Refusal
        The ballast is negative or a corner would be left without load.

    Notes
    -----
    Moments about an axle and the centreline; the height and the cross percent stay (cross is
    set again with the jack), so each side and each end take half of what is moved.
    """
    checked(pounds, "ballast", "lb", low=0)
    checked(rearward_in, "rearward_in", "in")
    checked(leftward_in, "leftward_in", "in")
    back = pounds * rearward_in / car.wheelbase / 2
    left = pounds * leftward_in / (car.track_front + car.track_rear)

    def scale(corner: Corner) -> float:
        return (
            car.scales[corner]
            + (back if corner in REAR else -back)
            + (-left if corner in RIGHT else left)
        )

    return attrs.evolve(car, scales=per_corner(scale))


def with_panhard(car: TurnCar, amount: float) -> TurnCar:
    """Return the car with the rear panhard (track) bar raised.

    Parameters
    ----------
    car : the car before.
    amount : how far the bar is raised where it crosses the car's centreline, negative is lower
        [in]. Both ends moved raise it there by as much, one end by half of it.

    Raises
    ------
    Refusal
        The amount is not finite.

    Notes
    -----
    The bar holds the axle sideways, and its force meets the middle of the car where it crosses
    the vertical plane through the centreline: that height is the roll centre [1]. The height of
    the whole car's centre of gravity stays.

    References
    ----------
    .. [1] W. F. Milliken, D. L. Milliken, *Race Car Vehicle Dynamics*, SAE, 1995, ch. 17 (from
       memory).
    """
    checked(amount, "panhard", "in")
    return attrs.evolve(car, roll_center_rear=car.roll_center_rear + amount)


def with_pressure(car: TurnCar, corner: Corner, pressure: float, amount: float) -> TurnCar:
    """Return the car with the rate of one tire as more or less air makes it.

    Parameters
    ----------
    car : the car before; its tire rates must be known.
    corner : corner of the tire.
    pressure : of the tire now [psi].
    amount : change, positive is more air [psi].

    Raises
    ------
    Refusal
        The tire rates are not known, or more air is let out than there is.

    Notes
    -----
    Only the rate: the cross weight that the tire's size and rate move at rest is in
    `planner.chassis.tire_size.change_air`, its stagger there in `growth`.
    """
    if car.tire_rate is None:
        raise unknown_rates()
    return attrs.evolve(
        car, tire_rate=with_air(car.tire_rate, {corner: pressure}, {corner: amount})
    )
