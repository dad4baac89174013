"""What air and a tape do to a tire: its size and its rate, and the loads that follow from both.

A taller tire raises its corner as a longer spring would, a stiffer one as it is pressed less. So
air and stagger move the cross weight and the ride heights of a car that is not scaled again.
"""

import math
from collections.abc import Mapping

import attrs

from planner.chassis.at_rest import AtRest
from planner.chassis.checks import checked
from planner.chassis.jacking import settle
from planner.chassis.weights import check_on_ground, weigh
from planner.trade.corners import Corner, per_corner
from planner.trade.refusals import Refusal

GROWTH_PER_PSI = 0.1
"""Circumference a short-track tire gains [in/psi]; from memory, wide: 0.05 on a radial to 0.2 on a
soft bias-ply tire. `planner.chassis.stagger.circumference_at` takes your own two readings."""

AIR_SHARE = 0.75
"""Share of a tire's vertical rate that its air holds [-]; from memory, wide: 0.6 to 0.9. A bare
membrane would have 1, a solid tire 0."""


def rate_with_air(rate: float, pressure: float, change: float) -> float:
    """Return the vertical rate of a tire with more or less air [lb/in].

    Parameters
    ----------
    rate : at the pressure it has now [lb/in].
    pressure : now [psi].
    change : more air is positive [psi].

    Raises
    ------
    Refusal
        A value is not positive, or more air is let out than there is.

    Notes
    -----
    k = k0 (1 + s dp / p0), `AIR_SHARE` being s: the air carries its part in proportion to its
    pressure, the casing its own whatever the pressure [1].

    References
    ----------
    .. [1] T. D. Gillespie, *Fundamentals of Vehicle Dynamics*, SAE, 1992, ch. 10 (from memory).
    """
    checked(rate, "tire_rate", "lb/in", above=0)
    checked(pressure, "pressure", "psi", above=0)
    checked(change, "change", "psi", above=-pressure)
    return rate * (1 + AIR_SHARE * change / pressure)


def growth(change: float) -> float:
    """Return how much larger around a tire is with more air [in], by `GROWTH_PER_PSI`.

    Parameters
    ----------
    change : more air is positive [psi].
    """
    return GROWTH_PER_PSI * checked(change, "change", "psi")


def rise(around: float) -> float:
    """Return how much higher the hub of a tire stands that is larger around [in].

    Parameters
    ----------
    around : change of circumference [in].

    Notes
    -----
    A circle: dr = dC / 2 pi. The tire is pressed as before.
    """
    return checked(around, "circumference", "in") / (2 * math.pi)


@attrs.frozen
class TireChange:
    """The car with other tires or other air, and nothing set again.

    Attributes
    ----------
    loads : load per corner [lb].
    cross_before, cross_after : share on RF + LR [percent].
    ride_height : change of ride height per corner [in].
    """

    loads: dict[Corner, float]
    cross_before: float
    cross_after: float
    ride_height: dict[Corner, float]


def change_size(car: AtRest, around: Mapping[Corner, float]) -> TireChange:
    """Return what tires of another size do to cross weight and ride heights.

    Parameters
    ----------
    car : the car as it stands. With springs that are not known the four are taken as alike: the
        loads are then nothing to go by.
    around : change of circumference per corner [in]; corners left out stay. For stagger that is
        the outside rear tire, the inside one, or a part on each.

    Raises
    ------
    Refusal
        A bad value, or a wheel that would be off the ground.
    """
    return _risen(car, car, {corner: rise(inches) for corner, inches in around.items()})


def change_air(
    car: AtRest, pressure: Mapping[Corner, float], change: Mapping[Corner, float]
) -> TireChange:
    """Return what air does to cross weight and ride heights.

    Parameters
    ----------
    car : the car as it stands, with the rates of its springs and tires.
    pressure : of each tire whose air changes, now [psi].
    change : more air is positive [psi]; corners left out stay.

    Raises
    ------
    Refusal
        A bad value, the tire rates are not known, or a wheel would be off the ground.

    Notes
    -----
    The tire grows (`growth`) and stiffens (`rate_with_air`). Under its load N the hub then stands
    dC / 2 pi + N (1 / k − 1 / k') higher, before the car settles on its springs.
    """
    before = car.suspension.tire_rates
    if before is None:
        raise unknown_rates()
    rates = with_air(before, pressure, change)
    risen = {
        corner: rise(growth(psi)) + car.loads[corner] * (1 / before[corner] - 1 / rates[corner])
        for corner, psi in change.items()
    }
    changed = attrs.evolve(car.suspension, tire_rates=rates)
    return _risen(car, attrs.evolve(car, suspension=changed), risen)


def with_air(
    rates: Mapping[Corner, float],
    pressure: Mapping[Corner, float],
    change: Mapping[Corner, float],
) -> dict[Corner, float]:
    """Return the tire rates [lb/in] with the air of some tires changed.

    Parameters
    ----------
    rates : vertical rates of the tires now [lb/in].
    pressure : of each tire whose air changes, now [psi].
    change : more air is positive [psi]; corners left out stay.

    Raises
    ------
    Refusal
        A value is not positive, or more air is let out than there is.
    """
    return {**rates} | {
        corner: rate_with_air(rates[corner], pressure[corner], psi)
        for corner, psi in change.items()
    }


def unknown_rates() -> Refusal:
    """Return the refusal of what needs the rates of the tires."""
    return Refusal(
        "bad-value",
        "The rates of the tires are not known.",
        where="tires.rate",
        hint="Give the vertical rates of all four tires [lb/in].",
    )


def _risen(before: AtRest, car: AtRest, risen: Mapping[Corner, float]) -> TireChange:
    """Return the car settled with hubs higher by so much [in]."""
    ratio = before.track_ratio
    moved = settle(
        car.suspension, {}, wheelbase=1.0, track_front=ratio, track_rear=1.0, risen=risen
    )
    loads = per_corner(lambda corner: before.loads[corner] + moved.load[corner])
    return TireChange(
        loads=check_on_ground(loads, "tires"),
        cross_before=weigh(before.loads).cross,
        cross_after=weigh(loads).cross,
        ride_height=moved.ride_height,
    )
