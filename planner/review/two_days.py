"""Two days side by side: what the difference in setting should have done, and what it did."""

from collections.abc import Iterator
from math import sqrt

import attrs

from planner.car.changes import Setting
from planner.learning.observed import two_sided
from planner.review import timeline
from planner.review.season import DayOfCar
from planner.review.two_runs import DIFFERS
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES
from planner.trade.knobs import KNOBS
from planner.trade.refusals import Refusal

FIGURES = (*BASE_FIGURES, "balance")


@attrs.frozen
class SettingOfDays:
    """A setting as each day began and ended with it; None where that is not known."""

    setting: Setting
    one: tuple[float | None, float | None]
    other: tuple[float | None, float | None]


@attrs.frozen
class FigureOfDays:
    """A figure in the first and last run of each day [degF].

    Attributes
    ----------
    expected : of the other day's first run, by all that the one day shows of the car, for the other
        day's setting and weather; its spread holds the reading noise and not what days differ by.
        None where nothing can be expected.
    differs : the reading is farther from that than noise makes it but once in twenty times.
    """

    figure: str
    one: tuple[float, float]
    other: tuple[float, float]
    expected: Estimate | None
    differs: bool


@attrs.frozen(eq=False)
class TwoDays:
    """Two days; those settings alone that are not alike all through."""

    one: DayOfCar
    other: DayOfCar
    settings: tuple[SettingOfDays, ...]
    figures: tuple[FigureOfDays, ...]


def compare(one: DayOfCar, other: DayOfCar) -> TwoDays:
    """Set two days against each other.

    Raises
    ------
    Refusal
        A day has no run that judges the setup.
    """
    for day in (one, other):
        if day.first is None:
            raise Refusal(
                "no-run",
                f"{day.path.name} has no run that judges the setup.",
                where=str(day.path),
                hint="another plan; treadgate season shows those of a folder",
            )
    return TwoDays(one, other, tuple(_settings(one, other)), tuple(_figures(one, other)))


def _settings(one: DayOfCar, other: DayOfCar) -> Iterator[SettingOfDays]:
    for knob in KNOBS.values():
        for place in knob.places:
            setting = knob.name, place
            ends = [(day.begun.get(setting), day.ended.get(setting)) for day in (one, other)]
            if len({value for pair in ends for value in pair}) > 1:
                yield SettingOfDays(setting, *ends)


def _figures(one: DayOfCar, other: DayOfCar) -> Iterator[FigureOfDays]:
    expected, line = _expected(one, other), timeline.of(other.day)
    first = next(run for run in line.runs if run.good is not None)
    for name in FIGURES:
        (was, left), (is_, leaves) = (
            (day.day.good[0].figures[name], day.day.good[-1].figures[name]) for day in (one, other)
        )
        known, differs = expected.get(name), False
        if known is not None:
            spread = sqrt(known.sd**2 + first.error(name, line.noise) ** 2)
            known = Estimate(known.mean, spread)
            differs = two_sided((is_ - known.mean) / spread) < DIFFERS
        yield FigureOfDays(name, (was, left), (is_, leaves), known, differs)


def _expected(one: DayOfCar, other: DayOfCar) -> dict[str, Estimate]:
    """Return what the first run of the other day should read, by all that the one day shows."""
    if one.day.plan.turns != other.day.plan.turns:
        return {}
    seen, begun = other.day.good[0].seen, one.day.begun
    moved = {
        setting: round(at + seen.moved.get(setting, 0.0) - begun[setting], 9)
        for setting, at in other.day.begun.items()
        if setting in begun
    }
    mean, covariance = one.day.known.at(FIGURES, moved, seen.conditions)
    return {
        name: Estimate(float(mean[n]), sqrt(max(0.0, float(covariance[n, n]))))
        for n, name in enumerate(FIGURES)
    }
