"""How to keep weather and setup apart, in words."""

from planner.plan.drift import Drift, WriteDown
from planner.trade.units import System
from planner.words.figures import difference


def says(drift: Drift, system: System) -> str:
    """Say what to write down, or what to run again, and why."""
    if isinstance(drift, WriteDown):
        return (
            "write down the track temperature with every run: without it a hotter track may be "
            "taken for a change that worked"
        )
    shift, unknown = (
        difference(each, system, signed=False) for each in (abs(drift.shift), drift.unknown)
    )
    return (
        f"the track is {shift} {'hotter' if drift.shift > 0 else 'cooler'} than it was, and what "
        f"that alone did to the tires is uncertain by {unknown}. No extra run now. Repeat the "
        "starting setup before comparing early runs with late ones"
    )
