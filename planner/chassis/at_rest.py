"""The car at rest: the springs it stands on, what it weighs and measures, and its weight jacks."""

from collections.abc import Mapping

import attrs

from planner.chassis.checks import each_corner, within
from planner.trade.corners import FRONT, Corner, per_corner

JACK_PITCH = 1.0 / 12.0
"""Travel of a weight jack [in/turn]; twelve threads to the inch: common practice, no source."""

HAND_STEP = 0.25
"""Smallest turn worth asking of a hand on a wrench [turn]: common practice, no source."""


def _all_ones() -> dict[Corner, float]:
    return per_corner(lambda _: 1.0)


@attrs.frozen
class Suspension:
    """The springs the chassis stands on.

    Attributes
    ----------
    spring_rates : rate of each spring [lb/in].
    motion_ratios : spring travel over wheel travel per corner [-]; 1 when left out.
    tire_rates : vertical rate of each tire [lb/in]; None for rigid tires.
    bar_front, bar_rear : anti-roll bar at the wheel [lb/in]: the force at one wheel per inch
        it travels against the other one held still. A bar pushes the left wheel down by
        ``bar * (travel_left - travel_right)``, travel upward, and the right one by the opposite.
    base_front, base_rear : distance between the springs of a solid axle over its track [-]; 1
        where each wheel has its own. Motion ratio is then spring over axle travel at the spring.

    Raises
    ------
    Refusal : a rate or ratio is missing, not a number, or out of range.

    Notes
    -----
    The rate of a spring as felt at the wheel is ``spring_rate * motion_ratio ** 2`` [1].
    A bar stays connected and keeps whatever preload it has with the car on the scales.
    A solid axle is stiff: its springs move ``[(1 + b) / 2, (1 - b) / 2]`` of the travel of the
    near and the far wheel on a base of b, and load the wheels in the same parts (virtual work).
    So they count in full when the axle heaves and by b² when it rolls.

    References
    ----------
    [1] W. F. Milliken, D. L. Milliken, Race Car Vehicle Dynamics, SAE, 1995, chapter 16
       (from memory).
    """

    spring_rates: Mapping[Corner, float] = attrs.field(validator=each_corner("lb/in"))
    motion_ratios: Mapping[Corner, float] = attrs.field(
        factory=_all_ones, validator=each_corner("spring over wheel travel")
    )
    tire_rates: Mapping[Corner, float] | None = attrs.field(
        default=None, validator=each_corner("lb/in")
    )
    bar_front: float = attrs.field(default=0.0, validator=within("lb/in", low=0))
    bar_rear: float = attrs.field(default=0.0, validator=within("lb/in", low=0))
    base_front: float = attrs.field(default=1.0, validator=within("(ratio)", above=0))
    base_rear: float = attrs.field(default=1.0, validator=within("(ratio)", above=0))

    def base(self, corner: Corner) -> float:
        """Return the spring base of a corner's axle over its track [-]."""
        return self.base_front if corner in FRONT else self.base_rear


EQUALLY_STIFF = Suspension(_all_ones())
"""Stands for springs that are not known; how stiff they all are drops out of the loads."""


@attrs.frozen(kw_only=True)
class AtRest:
    """The car on the scales.

    Attributes
    ----------
    loads : scale reading per corner [lb].
    suspension : the springs it stands on; `EQUALLY_STIFF` where they are not known.
    wheelbase : distance between the axles [in]; None where not known.
    track_front, track_rear : distances between tire centers [in]; None where not known.
    cg_height : height of the center of gravity [in]; None where not known.

    Raises
    ------
    Refusal : a length is not above zero.
    """

    loads: Mapping[Corner, float]
    suspension: Suspension = EQUALLY_STIFF
    wheelbase: float | None = attrs.field(default=None, validator=within("in", above=0))
    track_front: float | None = attrs.field(default=None, validator=within("in", above=0))
    track_rear: float | None = attrs.field(default=None, validator=within("in", above=0))
    cg_height: float | None = attrs.field(default=None, validator=within("in", above=0))

    @property
    def track_ratio(self) -> float:
        """Front over rear track [-]; the tracks are taken as equal where one is not known."""
        return track_ratio(self.track_front, self.track_rear)


def track_ratio(front: float | None, rear: float | None) -> float:
    """Return front over rear track [-], 1 where one of them [in] is not known."""
    return 1.0 if front is None or rear is None else front / rear


@attrs.frozen
class Jack:
    """The weight jacks and the hand that turns them.

    Attributes
    ----------
    pitch : travel of a jack along the spring [in/turn].
    step : smallest turn a hand can make [turn].
    """

    pitch: float = attrs.field(default=JACK_PITCH, validator=within("in/turn", above=0))
    step: float = attrs.field(default=HAND_STEP, validator=within("turns", above=0))

    def by_hand(self, turns: float) -> float:
        """Return the turns [turn] to the nearest step."""
        return round(turns / self.step) * self.step
