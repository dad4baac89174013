"""The stagger of the rear tires held against what the turn of the car file wants."""

import attrs

from planner.car.car_file import Car, rear_tires
from planner.car.changes import Change
from planner.trade.refusals import Refusal


@attrs.frozen
class TurnWants:
    """What the turn wants of a change of stagger.

    Attributes
    ----------
    stagger : with which the rear axle rolls freely through the turn [in]; None where not known.
    before, after : the stagger on the car, and after the change [in]; None where not known.
    missing : keys of the car file that the check would need.
    """

    stagger: float | None = None
    before: float | None = None
    after: float | None = None
    missing: tuple[str, ...] = ()

    @property
    def away(self) -> bool:
        """Whether the change leads away from what the turn wants, as far as that is known."""
        if self.stagger is None or self.before is None or self.after is None:
            return False
        return abs(self.after - self.stagger) > abs(self.before - self.stagger)


def wanted(car: Car, change: Change) -> TurnWants | None:
    """Return what the turn wants of a change; None where it is not of stagger."""
    if change.knob != "stagger":
        return None
    from planner.chassis.stagger import stagger_for_turn

    round_, track, size = car.tires.circumference, car.track, car.dimensions
    outside, inside = rear_tires(car)
    rear = [round_[corner] for corner in (outside, inside) if corner in round_]
    known = {
        "track.radius": track.radius is not None,
        "dimensions.track_rear": size.track_rear is not None,
        f"tires.circumference.{outside}": bool(rear),
        "settings.stagger": change.before is not None,
    }
    missing = tuple(key for key, is_known in known.items() if not is_known)
    if missing or track.radius is None or size.track_rear is None:
        return TurnWants(missing=missing)
    try:
        free = stagger_for_turn(
            track.radius, size.track_rear, sum(rear) / len(rear), track.banking or 0.0
        )
    except Refusal:  # no such turn can be; the doubts about the car file say so
        return TurnWants()
    return TurnWants(free, change.before, change.after)
