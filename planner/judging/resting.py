"""What the crew left as it is rests, unless a run shows it clearly worse."""

from collections.abc import Mapping
from math import hypot, sqrt
from types import MappingProxyType

from planner.rulebook.rules import Band
from planner.trade.estimate import Estimate
from planner.trade.figures import Figures, Noise, standard_error

# Standard errors of the difference of two runs beyond which a figure is clearly worse: one time in
# twenty by the noise of the readings alone, on one side. Common practice, no source.
CLEARLY = 1.645


def is_clearly_worse(
    band: Band,
    then: Figures,
    now: Figures,
    noise: Noise,
    level: Mapping[str, Estimate] = MappingProxyType({}),
) -> bool:
    """Say whether a run shows a pattern clearly worse than the run it was left on.

    Parameters
    ----------
    band : that of the pattern; one without a single edge is never worse.
    then, now : figures of the run it was left on, and of the latest [degF].
    noise : of the readings.
    level : what another set of tires or part of the day did to each figure meanwhile [degF].

    Notes
    -----
    Of several figures the one least beyond the edge decides, as it does in the pattern. With e the
    standard error of that figure in one run, the difference of two runs has the error e sqrt(2),
    and what is not known of the level beside it.
    """
    known = all(run.is_known(name) for run in (then, now) for name in band.figures)
    if not (band.holds_stage and known):
        return False
    before = min(band.beyond(then[name]) for name in band.figures)
    by = {name: level.get(name, Estimate(0.0, 0.0)) for name in band.figures}
    name = min(band.figures, key=lambda each: band.beyond(now[each] - by[each].mean))
    error = hypot(standard_error(name, noise) * sqrt(2), by[name].sd)
    return band.beyond(now[name] - by[name].mean) - before > CLEARLY * error
