"""The day ahead: how many runs it may still take, tried out on cars drawn from what is known."""

import attrs

from planner.advice.outlook import Outlook
from planner.car.changes import Setting
from planner.rulebook.rules import TUNING_ORDER, TuningStage
from planner.trade.numbers import enough

DRAWS = 80
NEARLY = 1.0  # degF out of band that still counts as in


@attrs.frozen
class Forecast:
    """How the rest of the day may go.

    Attributes
    ----------
    runs : mean number of runs still to come; low, high hold 80 % of the draws.
    minutes : mean working and running time [min].
    in_band : share of draws that end truly in band, or within a degree of it.
    """

    runs: float
    low: int
    high: int
    minutes: float
    in_band: float


@attrs.frozen(eq=False)
class DayAhead:
    """The car and the day as they stand, ready to be tried out.

    Attributes
    ----------
    outlook : what is known of the car.
    certainty : how sure to be that nothing is out of band in the end.
    choosing : whether a choice is due now, on readings already taken.
    unseen : what was moved since the last reading, or is to be moved, as (setting, amount).
    minutes : of work that is chosen and not yet done [min].
    working : the stage whose change is chosen or made, and not yet judged.
    one_change : no trims ride along.
    """

    outlook: Outlook
    certainty: float
    choosing: bool
    unseen: tuple[tuple[Setting, float], ...] = ()
    minutes: float = 0.0
    working: TuningStage | None = None
    one_change: bool = False

    def forecast(
        self, *, certainty: float | None = None, without: TuningStage | None = None
    ) -> Forecast:
        """Try the rest of the day out; the same question always gets the same answer.

        Parameters
        ----------
        certainty : instead of the plan's own.
        without : a stage to leave out.
        """
        from planner.advice.drawn_cars import DrawnCars

        sure = self.certainty if certainty is None else certainty
        cars = DrawnCars.of(self.outlook, without, DRAWS)
        runs, minutes, out = cars.driven(
            enough(sure), self.unseen, choosing=self.choosing, one_change=self.one_change
        )
        ordered = sorted(runs.tolist())
        return Forecast(
            runs=sum(ordered) / DRAWS,
            low=ordered[DRAWS // 10],
            high=ordered[-1 - DRAWS // 10],
            minutes=self.minutes + float(minutes.mean()),
            in_band=float((out <= NEARLY).mean()),
        )


def leave_out(ahead: DayAhead, runs_left: float) -> TuningStage | None:
    """Return the stage to leave out where the day will not fit; None where it fits, or none helps.

    Of those whose omission brings the expected number of runs within those left, it is the one
    that leaves least out of band; where none does, the one that saves most. Never
    one that is being worked on: its change is made or chosen already.
    """
    whole = ahead.forecast()
    if whole.runs <= runs_left:
        return None
    free = [stage for stage in reversed(TUNING_ORDER) if stage != ahead.working]
    runs = {stage: ahead.forecast(without=stage).runs for stage in free}
    fitting = [stage for stage in free if runs[stage] <= runs_left]
    if fitting:
        there = dict(ahead.unseen)
        return min(fitting, key=lambda stage: ahead.outlook.loss_of(stage, there))
    best = min(free, key=lambda stage: runs[stage])
    return best if whole.runs - runs[best] > 0.1 else None
