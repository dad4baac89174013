"""When drift can no longer be told from effect: go back to the baseline, or write the weather down.

Source: go back to the baseline at the end of a test to see what the track did meanwhile, *Circle
Track*, "Track Testing Tips", May 2004. The sizes are from memory.
"""

from collections.abc import Iterator
from math import sqrt

import attrs

from planner.plan.day import Day

BLINDFOLD = 4  # good runs without a track temperature after which it is asked for


@attrs.frozen
class WriteDown:
    """The track temperature should be written down with every run."""


@attrs.frozen
class RepeatStart:
    """The starting setup should be run once more before early runs are compared with late ones.

    Attributes
    ----------
    shift : how much hotter the track is than at the first run [degF].
    unknown : how much of what that did to the tires is not known [degF].
    """

    shift: float
    unknown: float


Drift = WriteDown | RepeatStart


def advice(day: Day) -> Iterator[Drift]:
    """Yield what the crew should do so that weather is not taken for setup."""
    if day.stage == "complete" or len(day.good) < 2:
        return
    temperatures = [good.run.track_temp for good in day.good]
    recorded = [t for t in temperatures if t is not None]
    missing = temperatures[-1] is None and len(recorded) < 2
    if len(temperatures) >= BLINDFOLD and missing:
        yield WriteDown()
    if len(recorded) < 2 or not day.past:
        return
    shift = recorded[-1] - recorded[0]
    known = day.known
    names = list(known.parameters)
    at = names.index("track_temp") if "track_temp" in names else None
    spread = (
        known.priors.conditions["track_temp"].sd
        if at is None
        else sqrt(max(0.0, float(known.covariance[at, at])))
    )
    if abs(shift) * spread > known.priors.noise.reading:
        yield RepeatStart(shift, abs(shift) * spread)
