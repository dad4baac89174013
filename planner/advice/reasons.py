"""Why a change is offered, is of its size, or is not offered: keys and numbers."""

from collections.abc import Mapping
from typing import Literal

import attrs

from planner.car.changes import BeyondRules, Cut, Setting
from planner.car.rear_stagger import TurnWants
from planner.rulebook.rules import Way
from planner.run.readings import Feel, Phase, TreadUnit
from planner.trade.corners import Corner
from planner.trade.knobs import CannotTurn


@attrs.frozen
class Shown:
    """What the tires showed, by its key ``id:corner``, when the crew made a change of its own."""

    pattern: str


@attrs.frozen
class CutShort:
    """The setting can go no further."""

    setting: Setting
    cut: Cut


@attrs.frozen
class RuleOfThumb:
    """The bare rule of thumb asks another amount [unit of the knob].

    Attributes
    ----------
    most : the most in one move, where that is what was taken instead.
    """

    setting: Setting
    amount: float
    most: float | None = None


@attrs.frozen
class NextCause:
    """A knob was moved the same way so many times and the pattern still shows."""

    knob: str
    moves: int


@attrs.frozen
class MadeWorse:
    """The change of a step made it worse, or it and others that the same run judged."""

    step: int
    beside: tuple[int, ...] = ()


@attrs.frozen
class NoNearer:
    """All runs together do not expect these figures to come nearer by putting back."""

    figures: tuple[str, ...]


@attrs.frozen
class BeyondMost:
    """A change is larger than the rules make it in one move [unit of the knob]."""

    setting: Setting
    amount: float
    most: float


@attrs.frozen
class Wear:
    """What each tire wears a run now, in `unit`; what is expected stands in the candidate."""

    unit: TreadUnit
    lost: Mapping[Corner, float]


@attrs.frozen
class FlexHeat:
    """Less air makes a tire flex more, and that heats one that is above its working range already.

    Attributes
    ----------
    average, highest : of the tire by all runs, and the end of its working range [degF].
    """

    corner: Corner
    average: float
    highest: float


@attrs.frozen
class DoesNotPay:
    """It is expected to take less off what is out of band than its work is worth."""


@attrs.frozen
class OnSolidAxle:
    """The crew turns the camber of a solid axle."""

    setting: Setting


@attrs.frozen
class AgainstFeel:
    """The change makes worse what the driver felt: it stands beside other causes and another run.

    Attributes
    ----------
    feel, where : what the driver said.
    """

    feel: Feel
    where: Phase | None = None


@attrs.frozen
class OtherCause:
    """What the tires show may come of something that this mends, and the driver felt that.

    Attributes
    ----------
    feel, where : what the driver said.
    """

    feel: Feel
    where: Phase | None = None


WhyNot = (
    CannotTurn
    | Literal[
        "hardly-moves", "other-way", "no-room", "no-way-back", "wear", "losing-air", "turn-wants"
    ]
)
Reason = (
    Shown
    | CutShort
    | RuleOfThumb
    | NextCause
    | MadeWorse
    | NoNearer
    | BeyondMost
    | BeyondRules
    | FlexHeat
    | OnSolidAxle
    | DoesNotPay
    | Wear
    | AgainstFeel
    | OtherCause
    | TurnWants
)
REASON_KINDS: Mapping[type, str] = {
    Shown: "shown",
    CutShort: "cut",
    RuleOfThumb: "rule-of-thumb",
    NextCause: "next-cause",
    MadeWorse: "made-worse",
    NoNearer: "no-nearer",
    BeyondMost: "beyond-most",
    BeyondRules: "beyond-rules",
    FlexHeat: "flex-heat",
    OnSolidAxle: "on-solid-axle",
    DoesNotPay: "does-not-pay",
    Wear: "wear",
    AgainstFeel: "against-feel",
    OtherCause: "other-cause",
    TurnWants: "turn-wants",
}


@attrs.frozen
class Instead:
    """What else to look at, and which way to turn it where that can be told."""

    setting: Setting
    way: Way | None = None


@attrs.frozen
class HeldBack:
    """A change that is not offered.

    Attributes
    ----------
    why : it hardly moves this car; it would have to go against the rules; there is no room left,
        for it, for putting it back, or against uneven wear; the tire may be losing air; the turn
        wants it otherwise; it cannot be turned on this car.
    cut : the end of the room, where there is none left.
    turn_wants : the stagger the turn wants [in], where the change would lead away from it.
    instead : what else to look at, where it cannot be turned any further.
    """

    setting: Setting
    why: WhyNot
    cut: Cut | None = None
    turn_wants: float | None = None
    instead: tuple[Instead, ...] = ()
