"""The ways to go on, short: what to do now, what it takes and should do, and the others."""

from planner.advice.candidate import Candidate
from planner.plan.day import Day
from planner.words import changes, figures, offers
from planner.words.figures import difference, in_words


def do_now(candidate: Candidate) -> str:
    """Say what is turned and how far, riding trims aside; of several parts in short."""
    several = len(candidate.own_changes) > 1
    return offers.titled(candidate, changes.briefly if several else changes.sized)


def with_it(candidate: Candidate) -> str:
    """Say what rides along; ``""`` where nothing does."""
    return ", ".join(changes.briefly(change) for change in candidate.changes if change.trim)


def worth(candidate: Candidate) -> str:
    """Say what a way takes, and how likely it fixes its stage."""
    said = [] if candidate.minutes is None else [f"{candidate.minutes:.0f} min"]
    return ", ".join([*said, *([] if candidate.chance is None else [percent(candidate.chance)])])


def effect(candidate: Candidate, day: Day) -> str:
    """Say where the figures that it is for stand by all runs, and where they should end."""
    said, system = [], day.plan.units
    for name in candidate.foretold(day.book):
        at = candidate.predicted.get(name)
        if at is not None and not name.startswith("wear."):
            now = figures.number(name, day.known.estimate(name).mean, system)
            spread = difference(at.sd, system, signed=False).split()[0]
            mean = figures.number(name, at.mean, system)
            said.append(f"{in_words(name)} {now} → {mean} ± {spread}")
    return ", ".join(said)


def in_a_line(candidate: Candidate, first: Candidate | None = None) -> str:
    """Say another way in one line: what, how long it takes, how likely it fixes the stage.

    Parameters
    ----------
    first : the way to go now, where it stands above this one.
    """
    rides = sum(change.trim for change in candidate.changes)
    what = offers.kind(candidate) + changes.with_trims(candidate.own_changes, rides)
    if first is not None and not rides and candidate.own_changes == first.own_changes:
        what = "the same without what rides along"
    took = worth(candidate)
    return f"{what}: {took}" if took else what


def percent(chance: float) -> str:
    """Write a chance in whole percent, its ends in words."""
    if chance < 0.01:
        return "under 1%"
    return "over 99%" if chance > 0.99 else f"{chance:.0%}"
