"""What the day has taught: every answer of the car, as it was believed and as it is known now."""

from typing import TYPE_CHECKING, Any

import attrs

from planner.car.changes import Setting
from planner.learning.levels import is_level
from planner.learning.observed import name_of
from planner.plan.day import Day, first_model
from planner.trade import knobs
from planner.trade.estimate import Estimate
from planner.trade.refusals import Refusal

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.posterior import Posterior

RULE_OF_THUMB = "rule of thumb"
COMPUTED = "computed from the car file"
EARLIER_DAY = "an earlier day"
NOTHING = "nothing, the rules do not know it"


@attrs.frozen
class Lesson:
    """What the day has taught of one knob and one figure.

    Attributes
    ----------
    figure : the base figure.
    rests_on : what was believed before the first run rests on: one of the four above.
    believed, learned : change of the figure per unit of the knob [degF per unit].
    changes : how often the setting was changed before the last good run.
    """

    setting: Setting
    figure: str
    rests_on: str
    believed: Estimate
    learned: Estimate
    changes: int

    @property
    def unit(self) -> str:
        """The unit of the knob."""
        return knobs.of(self.setting[0]).unit

    def as_dict(self) -> dict[str, Any]:
        """Return the lesson as it goes into JSON [degF per unit]."""
        return {
            "knob": self.setting[0],
            "corner": self.setting[1],
            "unit": self.unit,
            "figure": self.figure,
            "rests_on": self.rests_on,
            "believed": _estimate(self.believed),
            "learned": _estimate(self.learned),
            "changes": self.changes,
        }


def of(day: Day) -> tuple[Lesson, ...]:
    """Return what the day has taught, knob by knob; only answers that a run has told something of.

    Raises
    ------
    Refusal
        It has taught nothing yet.
    """
    found = _learned(day.known) if day.past and day.good else {}
    if not found:
        raise Refusal(
            "nothing-learned",
            "Nothing was changed and run yet, so the car has taught nothing.",
            where="PLAN",
            hint="make a change, run, record it; then again",
        )
    model = first_model(day, day.good[0])

    def rests_on(setting: Setting, figure: str) -> str:
        if name_of(setting, figure) in day.plan.taught.answers:
            return EARLIER_DAY
        if not day.book.adjustments_of(*setting):
            return NOTHING
        return RULE_OF_THUMB if model.effects(*setting) is None else COMPUTED

    answered = [past for past in day.past if past.step < day.good[-1].step]
    changes = [change.setting for past in answered for change in past.made if change.amount]
    return tuple(
        Lesson(setting, figure, rests_on(setting, figure), *estimates, changes.count(setting))
        for (setting, figure), estimates in found.items()
    )


def _learned(known: "Posterior") -> dict[tuple[Setting, str], tuple[Estimate, Estimate]]:
    """Return the answers that the runs said something of, as believed before and as known now."""
    found = {}
    for answer in known.learned():
        if is_level(answer[0]):
            continue
        before, now = known.believed(*answer), known.sensitivity(*answer)
        if round(now.sd, 6) < round(before.sd, 6):
            found[answer] = before, now
    return found


def _estimate(value: Estimate) -> dict[str, float]:
    return {"mean": round(value.mean, 6), "sd": round(value.sd, 6)}
