"""The runs of a day one by one, good or not, by the values now in force."""

from collections.abc import Container
from math import sqrt

import attrs

from planner.car import car_file
from planner.car.changes import Setting
from planner.plan import on_car
from planner.plan.day import Day
from planner.plan.steps import RunStep
from planner.trade import figures as figure
from planner.trade.figures import SHARE, Figures, Noise, standard_error, terms


@attrs.frozen
class SeenRun:
    """A run of the day.

    Attributes
    ----------
    number : of the run, from 1; `step` is that of its step.
    figures : of its readings, put back to one moment where the run counts.
    settings : on the car, where known.
    laps_before : on the tires before it, void runs counted.
    variances : of each figure's readings beyond the noise's, by base figure [degF²].
    """

    number: int
    step: int
    recorded: RunStep
    figures: Figures
    settings: dict[Setting, float]
    laps_before: int
    variances: dict[str, float]

    def error(self, name: str, noise: Noise) -> float:
        """Return the standard error of a figure of this run [degF]."""
        extra = sum(
            weight**2 * self.variances.get(term, 0.0)
            for term, weight in terms(name, self.figures.turns).items()
        )
        return sqrt(standard_error(name, noise, self.figures.turns) ** 2 + extra)


def of_day(day: Day) -> tuple[SeenRun, ...]:
    """Return the runs of a day, oldest first."""
    good = {each.step: each for each in day.good}
    start = car_file.starting_settings(day.plan.car)
    settings = on_car.after_each(start, day.steps, day.past)
    found: list[SeenRun] = []
    laps = 0
    for step, recorded in enumerate(day.steps, start=1):
        if not isinstance(recorded, RunStep):
            continue
        variances: dict[str, float] = {}
        if step in good:
            seen = good[step].seen
            for corner, extra in seen.extra_variance.items():
                for kind, share in SHARE.items():
                    variances[f"{kind}.{corner}"] = share * extra
            for corner, extra in seen.level_variance.items():
                name = f"average.{corner}"
                variances[name] = variances.get(name, 0.0) + extra
            figures = good[step].figures
        else:
            figures = figure.compute(recorded.run.tires, day.plan.turns)
        found.append(
            SeenRun(len(found) + 1, step, recorded, figures, dict(settings[step]), laps, variances)
        )
        laps += day.plan.laps if recorded.run.laps is None else recorded.run.laps
    return tuple(found)


def footnote(day: Day, steps: Container[int] | None = None) -> str:
    """Say of which runs the figures are not those of the readings as read, or ``""``.

    Parameters
    ----------
    steps : of the runs that are shown; None for all.
    """
    corrected = {
        good.step
        for good in day.good
        if (steps is None or good.step in steps) and good.is_corrected
    }
    runs = [number for number, step in enumerate(day.steps, 1) if isinstance(step, RunStep)]
    named = [str(run) for run, step in enumerate(runs, 1) if step in corrected]
    if not named:
        return ""
    return (
        f"Run{'' if len(named) == 1 else 's'} {', '.join(named)}: tires cool while others are "
        "read, so the figures are of the readings put back to one moment and differ from those "
        "as read."
    )


def noise(day: Day) -> Noise:
    """Return the reading noise as the day knows it: the rules', and what repeated runs say."""
    return day.known.priors.noise if day.good else day.book.noise
