"""When drift can no longer be told from effect: go back to the baseline, or write the weather down.

Source: go back to the baseline at the end of a test to see what the track did meanwhile, *Circle
Track*, "Track Testing Tips", May 2004. The sizes are from memory.
"""

from collections.abc import Iterator
from math import sqrt

from planner.plan.day import Day
from planner.trade import units

BLINDFOLD = 4  # good runs without a track temperature after which it is asked for


def advice(day: Day) -> Iterator[str]:
    """Yield what the crew should do so that weather is not taken for setup."""
    if day.stage == "complete" or len(day.good) < 2:
        return
    temperatures = [good.run.track_temp for good in day.good]
    recorded = [t for t in temperatures if t is not None]
    missing = temperatures[-1] is None and len(recorded) < 2
    if len(temperatures) >= BLINDFOLD and missing:
        yield (
            "write down the track temperature with every run: without it a hotter track may be "
            "taken for a change that worked"
        )
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
    unknown = abs(shift) * spread
    if unknown > known.priors.noise.reading:
        system = day.plan.units
        hotter = "hotter" if shift > 0 else "cooler"
        yield (
            f"the track is {units.difference(abs(shift), system, signed=False)} {hotter} than it "
            "was; what that alone did to the tires is known only to "
            f"{units.difference(unknown, system, signed=False)}. This asks for no run now: before "
            "the levels of first and last runs are compared, run the setup the day began with "
            "once more"
        )
