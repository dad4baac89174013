"""Sets of tires and parts of the day in words: what was run on them, and how they read."""

from collections.abc import Iterator, Mapping

from planner.car.changes import Setting
from planner.plan.day import Day
from planner.plan.tire_sets import TireSet
from planner.review import levels
from planner.trade.estimate import Estimate
from planner.trade.knobs import PART
from planner.trade.plain_text import counted
from planner.trade.units import System
from planner.words.figures import difference, in_words

# Standard errors beyond which a shift is told: one time in twenty by chance. Common practice.
CLEARLY = 1.96


def named(tires: TireSet) -> str:
    """Name a set, and what it is where that was said: ``set 2 (new)``."""
    return f"set {tires.name}" + (f" ({tires.state})" if tires.state else "")


def run_on(tires: TireSet) -> str:
    """Say what was run on a set."""
    return f"{named(tires)}: {tires.laps} laps, {counted(tires.cycles, 'heat cycle')}"


def on_car(day: Day) -> str:
    """Say which set is on the car and what was run on it; ``""`` where nobody named one."""
    return run_on(day.tires.now) if day.tires.are_told else ""


def says(day: Day) -> Iterator[str]:
    """Say how other sets and parts of the day read, in units of the plan; see `levels.of`."""
    for seen in levels.of(day):
        one, other = _name(seen.level, day), _name(seen.against, day)
        yield f"{one} against {other}: {shifts(seen.apart, day.plan.units)}"


def changed(day: Day) -> Iterator[str]:
    """Say the same where the last run that counts was on another set, or began another part."""
    if len(day.good) > 1 and day.good[-1].level != day.good[-2].level:
        yield from says(day)


def _name(level: Setting, day: Day) -> str:
    kind, place = level
    if kind == PART:
        return f"part {place} of the day"
    return f"set {day.tires.sets[place].name}"


def shifts(found: Mapping[str, Estimate], system: System) -> str:
    """Tell the base figures that stand out of their errors, the clearest first, three at most."""
    clear = [name for name, at in found.items() if abs(at.mean) > CLEARLY * at.sd]
    clear.sort(key=lambda name: -abs(found[name].mean) / found[name].sd)
    told = ", ".join(f"{in_words(name)} {_by(found[name], system)}" for name in clear[:3])
    return told or "no shift beyond the noise"


def _by(at: Estimate, system: System) -> str:
    return f"{difference(at.mean, system)} ± {difference(at.sd, system, signed=False)}"
