"""What the size of a change rests on."""

from typing import Literal

import attrs

from planner.car.changes import Setting
from planner.trade.estimate import Estimate

BasisKind = Literal["rule-of-thumb", "typical", "computed", "taught", "crew", "readings"]


@attrs.frozen
class Answered:
    """What the car itself has answered today.

    Attributes
    ----------
    times : how often the setting was moved.
    figure, per_unit : the figure it was moved for, and what one unit does to that [degF per unit].
    """

    setting: Setting
    times: int
    figure: str
    per_unit: Estimate


@attrs.frozen
class Basis:
    """What the size of a change rests on.

    Attributes
    ----------
    kind : a rule of thumb; computed for the cars the rules call typical; computed from the car
        file; taught by an earlier day; the crew's own judgement; the readings before and after the
        change that is put back.
    missing : keys of the car file that would let it be computed for this car.
    trouble : why the car and the turn of the file do not go together.
    answered : what has set it right since.
    """

    kind: BasisKind = "rule-of-thumb"
    missing: tuple[str, ...] = ()
    trouble: str = ""
    answered: Answered | None = None
