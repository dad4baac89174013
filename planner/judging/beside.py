"""What stands beside the temperatures after a change: an answer that surprises, the lap times."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from planner.judging.outcomes import Outcome
from planner.judging.patterns import Pattern
from planner.learning.observed import Observation
from planner.rulebook.rules import Rulebook
from planner.run import lap_times
from planner.run.readings import Run
from planner.trade import units
from planner.trade.figures import in_words

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.response import Posterior

# An answer this unlikely by all that was known is questioned before it is believed.
DOUBTFUL = 0.01


def doubt(
    figures: Sequence[str], before: "Posterior", seen: Observation, system: units.System
) -> str:
    """Question a change that did not answer as it should have, or return ``""``.

    Parameters
    ----------
    figures : that the change before the run aimed at.
    before : what was known without the run.
    seen : the run.
    system : units the words are written in.
    """
    if not figures:
        return ""
    from planner.learning.response import surprise

    most = min(surprise(before, seen, figures), key=lambda each: each.probability)
    # Several figures were looked at, so the least likely of them must be less likely still.
    if most.probability * len(figures) > DOUBTFUL:
        return ""
    reads, expected = (
        units.difference(each, system) for each in (most.observed, most.predicted.mean)
    )
    spread = units.difference(most.predicted.sd, system, signed=False)
    return (
        f"{in_words(most.figure)} reads {reads} where {expected} was expected, "
        f"give or take {spread}: less than {DOUBTFUL:.0%} likely. Was it changed the "
        "other way, or not changed at all? Is something broken or loose?"
    )


def driver(run: Run, patterns: Iterable[Pattern], book: Rulebook) -> str:
    """Set the driver's word beside the temperatures where they show nothing of it, or ``""``."""
    if run.feel in (None, "neutral"):
        return ""
    shown = {book.rule(p.id).feel for p in patterns if p.stage is not None}
    if shown & {"tight", "loose"}:
        return ""  # said as evidence of that pattern
    return (
        f"the driver says {run.feel}, the tires by all runs so far show neither tight nor loose: "
        "both are kept"
    )


def laps(before: Run, after: Run, outcome: Outcome | None) -> str:
    """Compare the lap times of two runs in words, or return ``""`` where there are none."""
    if not before.lap_times or not after.lap_times:
        return ""
    compared = lap_times.compare(before.lap_times, after.lap_times)
    if compared.error is None:
        return f"mean lap {compared.difference:+.2f} s (one lap alone says little)"
    text = f"mean lap {compared.difference:+.2f} ± {compared.error:.2f} s: {compared.verdict}"
    weather = [
        name
        for name, was, now in (
            ("track", before.track_temp, after.track_temp),
            ("air", before.air_temp, after.air_temp),
        )
        if was is not None and now is not None and abs(now - was) >= 5
    ]
    if weather:
        text += f" (the {' and the '.join(weather)} changed too)"
    if outcome is not None and outcome.verdict == "better" and compared.verdict == "slower":
        text += "; the temperatures came nearer, but the car lost time"
    if outcome is not None and outcome.verdict == "worse" and compared.verdict == "faster":
        text += "; the temperatures went away, but the car gained time"
    return text
