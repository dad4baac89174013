"""What another run of the car as it stands is worth: which verdicts it is expected to settle.

The other answer to a doubtful reading, beside the offers: nothing is changed, the car goes again.
"""

from math import sqrt
from statistics import NormalDist

import attrs

from planner.advice.choices import RUN_MINUTES
from planner.advice.situation import Situation
from planner.judging.outcomes import SURE
from planner.trade.estimate import Estimate

_STANDARD = NormalDist()


@attrs.frozen
class Unsettled:
    """A figure that may be in band or out, and what another run would do about that.

    Attributes
    ----------
    figure : the one that decides.
    out : chance that it is out of band, by all runs so far.
    settles : chance that it is known after another run, one way or the other.
    """

    figure: str
    out: float
    settles: float


@attrs.frozen
class AnotherRun:
    """Another run, unchanged: what it takes, and what it may settle, the likeliest first."""

    minutes: float
    unsettled: tuple[Unsettled, ...] = ()

    @property
    def settling(self) -> tuple[Unsettled, ...]:
        """What it is more likely to settle than not."""
        return tuple(each for each in self.unsettled if each.settles > 0.5)


def another_run(now: Situation) -> AnotherRun:
    """Return what another run of the car as it stands is expected to settle of what shows now.

    A figure is settled when it is in band, or out, with the chance `SURE`.
    """
    known = now.outlook.known
    found: dict[str, Unsettled] = {}
    for pattern in now.patterns:
        band = now.book.band(pattern.key)
        if band is None or not band.holds_stage:
            continue
        means, after = known.after_another_run(band.figures)
        beyond = [band.beyond(each.mean) for each in means]
        # All figures must be beyond the edge: the one least so decides.
        at = beyond.index(min(beyond))
        out = _STANDARD.cdf(beyond[at] / means[at].sd) if means[at].sd else float(beyond[at] > 0)
        if 1 - SURE < out < SURE:
            settles = chance_settled(Estimate(beyond[at], means[at].sd), after[at])
            name = band.figures[at]
            if name not in found or found[name].settles < settles:
                found[name] = Unsettled(name, out, settles)
    return AnotherRun(RUN_MINUTES, tuple(sorted(found.values(), key=lambda each: -each.settles)))


def chance_settled(beyond: Estimate, after: float, sure: float = SURE) -> float:
    """Return the chance that a figure is settled once its spread has shrunk.

    Parameters
    ----------
    beyond : how far it is beyond the edge of its band now [degF].
    after : its standard deviation after another run [degF].
    sure : the chance of being out, or in, from which it is settled.

    Notes
    -----
    With the figure now N(m, s²) and N(m', s'²) after the run, m' itself is N(m, s² - s'²) before
    it. It is settled when abs(m') >= z s', z the quantile of `sure`; so the chance is
    P((m - z s')/w) + P((-m - z s')/w) with w² = s² - s'² and P the standard normal distribution.
    """
    needed = _STANDARD.inv_cdf(sure) * after
    moves = sqrt(max(0.0, beyond.sd**2 - after**2))
    far, near = beyond.mean - needed, -beyond.mean - needed
    if moves == 0:
        return float(max(far, near) >= 0)
    return _STANDARD.cdf(far / moves) + _STANDARD.cdf(near / moves)
