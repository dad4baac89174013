"""What a crew asks of the car in the middle of the turn: loads, cross weight, front share, lift."""

import math

import attrs

from planner.chassis.loads import TurnCar, TurnLoads, lift_off, turn_loads
from planner.chassis.turn import Turn
from planner.trade.corners import Corner


@attrs.frozen
class MidTurn:
    """The car in the middle of a steady turn.

    Attributes
    ----------
    loads : load per tire [lb].
    cross : dynamic cross weight: the share of the load on RF + LR [percent].
    front_share : front share of the whole lateral load transfer [percent]; None where nothing
        moves.
    lifted : wheels off the ground.
    lateral_g : lateral force along the track's surface [g].
    lift_off : lateral force at which each inside wheel leaves the ground [g]; None where no
        short-track tire could bring it there.
    """

    loads: dict[Corner, float]
    cross: float
    front_share: float | None
    lifted: tuple[Corner, ...]
    lateral_g: float
    lift_off: dict[Corner, float | None]


def mid_turn(car: TurnCar, turn: Turn) -> MidTurn:
    """Return what the car does in the middle of a turn.

    Parameters
    ----------
    car : scale loads, rates and dimensions; once as it is and once with a change
        (`planner.chassis.changed`) gives what the change does.
    turn : radius, banking, speed and direction.

    Raises
    ------
    Refusal
        No tire could hold the speed, the springs cannot hold the body up, or the car goes over.
    """
    return seen_in(car, turn, turn_loads(car, turn))


def seen_in(car: TurnCar, turn: Turn, state: TurnLoads) -> MidTurn:
    """Return the same of loads that are worked out already."""
    loads, share = state.loads, state.transfer.front_share
    return MidTurn(
        loads=loads,
        cross=100 * (loads["RF"] + loads["LR"]) / sum(loads.values()),
        front_share=None if math.isnan(share) else 100 * share,
        lifted=state.lifted,
        lateral_g=state.force.lateral_g,
        lift_off=lift_off(car, turn),
    )
