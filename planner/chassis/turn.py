"""A steady banked turn, and the force it asks of the car."""

import math
from typing import Literal

import attrs

from planner.chassis.checks import within
from planner.trade.corners import LEFT, RIGHT, Corner
from planner.trade.refusals import Refusal

Direction = Literal["left", "right"]

GRAVITY_FT = 32.17405  # ft/s², standard gravity; NIST SP 811, appendix B.8
MPH_TO_FT_PER_S = 5280 / 3600
CEILING_G = 2.5  # in the car's plane; no paved short-track tire holds more (from memory)


@attrs.frozen(kw_only=True)
class Turn:
    """A turn and the speed through its middle.

    Attributes
    ----------
    radius_ft : radius of the car's path, measured level [ft].
    banking_deg : banking, positive when the outside is higher [deg].
    speed_mph : speed in the middle of the turn [mph].
    direction : the way the car turns, ``"left"`` or ``"right"``.
    """

    radius_ft: float = attrs.field(validator=within("ft", "radius", above=0))
    banking_deg: float = attrs.field(validator=within("deg", "banking", above=-90, below=90))
    speed_mph: float = attrs.field(validator=within("mph", "speed", above=0))
    direction: Direction = "left"

    def __attrs_post_init__(self) -> None:
        if self.direction not in ("left", "right"):
            raise Refusal(
                "bad-value",
                f"A turn cannot go {self.direction!r}.",
                where="turns",
                hint="Give left or right; a track that turns both ways is two turns.",
            )

    @property
    def outside(self) -> tuple[Corner, Corner]:
        """The outside tires, front first."""
        return RIGHT if self.direction == "left" else LEFT

    @property
    def inside(self) -> tuple[Corner, Corner]:
        """The inside tires, front first."""
        return LEFT if self.direction == "left" else RIGHT


@attrs.frozen
class TurnForce:
    """What the turn asks of the car, as multiples of its weight.

    Attributes
    ----------
    lateral_g : force the tires must give along the track's surface, towards the inside [g].
    normal_g : load square to the track's surface; 1 on a flat track [g].
    """

    lateral_g: float
    normal_g: float


def turn_force(turn: Turn) -> TurnForce:
    """Return the lateral and normal force of a steady banked turn.

    Parameters
    ----------
    turn : radius, banking and speed.

    Raises
    ------
    Refusal
        No tire could hold the speed on the radius.

    Notes
    -----
    With c = v² / (g R): lateral = c cos(b) − sin(b), normal = c sin(b) + cos(b), the
    centripetal force and gravity turned into the track's plane (Sec. 6.3 of [1]). A negative
    lateral value means that the car is slower than the banking alone would hold.

    References
    ----------
    .. [1] OpenStax, *College Physics*, "Centripetal Force", banked curves.
    """
    centripetal = (turn.speed_mph * MPH_TO_FT_PER_S) ** 2 / (GRAVITY_FT * turn.radius_ft)
    banking = math.radians(turn.banking_deg)
    lateral = centripetal * math.cos(banking) - math.sin(banking)
    if lateral > CEILING_G:
        raise Refusal(
            "bad-value",
            f"{turn.speed_mph:g} mph on a radius of {turn.radius_ft:g} ft needs {lateral:.2f} g of "
            f"the tires; none holds more than {CEILING_G:g} g.",
            where="speed, radius",
            hint="Check the speed in the middle of the turn [mph] and the radius [ft].",
        )
    return TurnForce(lateral, centripetal * math.sin(banking) + math.cos(banking))


def force_at(lateral_g: float, banking_deg: float) -> TurnForce:
    """Return the force of a steady turn on a banking, from its lateral part.

    Parameters
    ----------
    lateral_g : force of the tires along the track's surface [g].
    banking_deg : banking [deg].

    Notes
    -----
    The equations of `turn_force` without the speed:
    normal = (lateral + sin(b)) tan(b) + cos(b).
    """
    banking = math.radians(banking_deg)
    normal = (lateral_g + math.sin(banking)) * math.tan(banking) + math.cos(banking)
    return TurnForce(lateral_g, normal)
