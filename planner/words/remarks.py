"""What a run said beside its temperatures, in words."""

from planner.judging.doubt import DOUBTFUL, Doubt
from planner.judging.heat import TooHot
from planner.judging.remarks import DriverAlone, LapsCompared, Remark
from planner.learning.earlier import OutOfCharacter
from planner.trade.plain_text import counted
from planner.trade.units import System
from planner.words import figures, runs
from planner.words.figures import difference, in_words


def says(remark: Remark, system: System) -> str:
    """Say one such thing."""
    if isinstance(remark, TooHot):
        return too_hot(remark, system)
    if isinstance(remark, LapsCompared):
        return _laps(remark)
    if isinstance(remark, DriverAlone):
        return (
            f"the driver says {runs.felt(remark.felt)}, the tires by all runs so far show neither "
            "tight nor loose: both are kept"
        )
    if isinstance(remark, OutOfCharacter):
        return _out_of_character(remark, system)
    return runs.cooling(remark, system)


def too_hot(found: TooHot, system: System) -> str:
    """Say that a tire must be looked at before anything else."""
    reads, limit = (figures.temperature(each, system) for each in (found.reads, found.limit))
    return (
        f"come in, look at the tire: {found.corner} {found.strip} read {reads}. At {limit} and "
        "more rubber can blister or come apart: look for blisters, cords and a soft tread, and "
        "ask the tire maker before it goes out again"
    )


def _out_of_character(found: OutOfCharacter, system: System) -> str:
    by = found.read - found.usual.mean
    apart = difference(abs(by), system, signed=False)
    more, less = ("hotter", "cooler") if figures.is_level(found.figure) else ("above", "below")
    usual = figures.value(found.figure, found.usual.mean, system)
    spread = difference(found.usual.sd, system, signed=False)
    which = "what this setup has" if not figures.is_level(found.figure) else "than this setup has"
    return (
        f"{in_words(found.figure)} {apart} {more if by > 0 else less} {which} been here "
        f"({usual}, give or take {spread}, by {counted(found.days, 'day')}): "
        "look at the car before any change"
    )


def _laps(compared: LapsCompared) -> str:
    if compared.error is None:
        return f"mean lap {compared.difference:+.2f} s (one lap alone says little)"
    text = f"mean lap {compared.difference:+.2f} ± {compared.error:.2f} s: {compared.verdict}"
    if compared.weather:
        text += f" (the {' and the '.join(compared.weather)} changed too)"
    if compared.against == "better":
        text += "; tires moved nearer their target, but the laps got slower"
    if compared.against == "worse":
        text += "; tires moved off target, but the laps got faster"
    return text


def doubt(found: Doubt, system: System) -> str:
    """Say which answer is hard to believe, and ask what may have happened."""
    reads, expected = (
        figures.value(found.figure, each, system) for each in (found.reads, found.expected.mean)
    )
    spread = difference(found.expected.sd, system, signed=False)
    return (
        f"{in_words(found.figure)} reads {reads} where {expected} was expected, give or take "
        f"{spread}: less than {DOUBTFUL:.0%} likely. Was it changed the other way, or not changed "
        "at all? Is something broken or loose?"
    )
