"""What stands beside the temperatures of a run: lap times, and a driver the tires do not back.

Derived from the runs whenever it is asked for; nothing of it is kept in a plan.
"""

from collections.abc import Iterable, Mapping
from typing import Literal

import attrs

from planner.judging.heat import TooHot
from planner.judging.outcomes import Outcome, Verdict
from planner.judging.patterns import Pattern
from planner.learning.earlier import OutOfCharacter
from planner.rulebook.rules import Rulebook
from planner.run import lap_times
from planner.run.lap_times import LapVerdict
from planner.run.readings import Feel, Part, ReadingRemark, Run

WEATHER_MOVED = 5.0  # degF by which track or air must differ to be named; from memory


@attrs.frozen
class LapsCompared:
    """The mean lap of a run against that of the run before.

    Attributes
    ----------
    difference, error : now less before, and its standard error [s]; None where one lap was timed.
    verdict : faster, slower or the same.
    weather : what else changed between the runs.
    against : what the temperatures say of the last change, where the laps say the opposite.
    """

    difference: float
    error: float | None
    verdict: LapVerdict
    weather: tuple[Literal["track", "air"], ...] = ()
    against: Verdict | None = None


@attrs.frozen
class DriverAlone:
    """The driver felt what the tires show nothing of."""

    felt: Mapping[Part, Feel]


Remark = TooHot | LapsCompared | DriverAlone | OutOfCharacter | ReadingRemark


def remarks(
    before: Run | None,
    run: Run,
    patterns: Iterable[Pattern],
    outcome: Outcome | None,
    book: Rulebook,
) -> tuple[LapsCompared | DriverAlone, ...]:
    """Return what stands beside the temperatures of a run.

    Parameters
    ----------
    before : the good run before it, if there is one.
    patterns, outcome : what the run showed, and what came of the change before it.
    """
    found = (None if before is None else _laps(before, run, outcome), _driver(run, patterns, book))
    return tuple(each for each in found if each is not None)


def _driver(run: Run, patterns: Iterable[Pattern], book: Rulebook) -> DriverAlone | None:
    if {"tight", "loose"}.isdisjoint(run.felt.values()):
        return None
    showing = {pattern.id for pattern in patterns if pattern.stage is not None}
    felt = {rule.feel for rule in book.pattern if rule.id in showing}
    return None if felt & {"tight", "loose"} else DriverAlone(run.felt)


def _laps(before: Run, after: Run, outcome: Outcome | None) -> LapsCompared | None:
    if not before.lap_times or not after.lap_times:
        return None
    compared = lap_times.compare(before.lap_times, after.lap_times)
    weather: list[Literal["track", "air"]] = []
    if _moved(before.track_temp, after.track_temp):
        weather.append("track")
    if _moved(before.air_temp, after.air_temp):
        weather.append("air")
    opposite = {("better", "slower"), ("worse", "faster")}
    against = None
    if outcome is not None and (outcome.verdict, compared.verdict) in opposite:
        against = outcome.verdict
    return LapsCompared(
        compared.difference, compared.error, compared.verdict, tuple(weather), against
    )


def _moved(was: float | None, now: float | None) -> bool:
    return was is not None and now is not None and abs(now - was) >= WEATHER_MOVED
