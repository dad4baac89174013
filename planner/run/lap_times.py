"""Lap times of a run: best, mean, fall-off, and whether one run was faster than another."""

import math
from collections.abc import Sequence
from typing import Literal

import attrs

# The first lap is left out when it is slower than the rest would have it by this many standard
# deviations. Common practice, no source.
OUT_LAP = 3.0
OUT_LAP_SHARE = 0.005  # of a lap that an out lap loses at least; from memory
LEAST_FOR_LINE = 5  # laps after it, for a line that says how the tires fall off; from memory
MAD_TO_SD = 1.4826  # of a normal distribution: 1/0.67449
TIMING = 0.01  # s, what a watch resolves; spreads are not taken for smaller than this

SURE = 0.05  # two-sided probability below which two runs are taken to differ

LapVerdict = Literal["faster", "slower", "unclear"]


@attrs.frozen
class Line:
    """A straight line y = intercept + slope · x fitted by least squares.

    Attributes
    ----------
    residual_sd, slope_error, intercept_error : standard errors; None below three points.
    """

    slope: float
    intercept: float
    residual_sd: float | None
    slope_error: float | None
    intercept_error: float | None


@attrs.frozen
class LapSummary:
    """What the lap times of a run say.

    Attributes
    ----------
    best : the fastest lap [s].
    mean, sd : of the counted laps [s]; sd is None for a single lap.
    falloff : how much slower each lap is than the one before [s per lap]; None for a single lap.
    falloff_error : standard error of that; None below three laps.
    counted : numbers of the laps that count, from 1.
    """

    best: float
    mean: float
    sd: float | None
    falloff: float | None
    falloff_error: float | None
    counted: tuple[int, ...]


@attrs.frozen
class LapComparison:
    """Two runs by their mean lap.

    Attributes
    ----------
    difference : mean after less mean before [s]; negative is faster.
    error : standard error of the difference [s]; None when either run has a single lap.
    freedom : degrees of freedom of the test; None likewise.
    p : two-sided probability of a difference at least as large between equal runs; 1 likewise.
    verdict : ``faster`` or ``slower`` when p is below `SURE`, else ``unclear``.
    """

    difference: float
    error: float | None
    freedom: float | None
    p: float
    verdict: LapVerdict


def summary(times: Sequence[float]) -> LapSummary:
    """Summarise the lap times of a run.

    Parameters
    ----------
    times : lap times [s], in order.

    Raises
    ------
    ValueError
        There is no lap.

    Notes
    -----
    The first lap is left out when at least three follow and it is slower than their median by more
    than 3 · 1.4826 · MAD, MAD being the median absolute deviation of those others (taken as no less
    than the resolution of the watch). As tires fall off, laps late in a run hide a slow first one;
    so it is also left out when at least five follow and it is slower than their least-squares line
    foretells by more than 3 standard errors of a single further lap, and by half a percent. No
    other lap is left out. Fall-off is the slope of the least-squares line through the counted laps.
    """
    if not times:
        raise ValueError("there is no lap time")
    counted = _counted(times)
    laps = [times[number - 1] for number in counted]
    mean = math.fsum(laps) / len(laps)
    line = straight_line(counted, laps) if len(laps) > 1 else None
    return LapSummary(
        best=min(times),
        mean=mean,
        sd=math.sqrt(_variance(laps)) if len(laps) > 1 else None,
        falloff=None if line is None else line.slope,
        falloff_error=None if line is None else line.slope_error,
        counted=counted,
    )


def compare(before: Sequence[float], after: Sequence[float]) -> LapComparison:
    """Compare two runs by their mean lap.

    Parameters
    ----------
    before, after : lap times [s], in order; an out lap is left out as in `summary`.

    Raises
    ------
    ValueError
        One of the runs has no lap time.

    Notes
    -----
    Welch's test [1]: t = difference / sqrt(v1/n1 + v2/n2), with degrees of freedom
    (v1/n1 + v2/n2)² / ((v1/n1)²/(n1 - 1) + (v2/n2)²/(n2 - 1)). Where both runs are all of one
    time, the rounding of the watch is their spread (its resolution over sqrt 12).

    Laps of one run are not quite independent (they fall off together), so p is a guide only.

    References
    ----------
    .. [1] B. L. Welch, "The generalization of 'Student's' problem when several different
       population variances are involved", *Biometrika* 34 (1947), 28-35.
    """
    one = [before[number - 1] for number in _counted(before)]
    two = [after[number - 1] for number in _counted(after)]
    if not one or not two:
        raise ValueError("there is no lap time")
    difference = math.fsum(two) / len(two) - math.fsum(one) / len(one)
    if len(one) < 2 or len(two) < 2:
        return LapComparison(difference, None, None, 1.0, "unclear")
    spread_one, spread_two = _variance(one), _variance(two)
    if spread_one + spread_two == 0:
        spread_one = spread_two = TIMING**2 / 12
    first, second = spread_one / len(one), spread_two / len(two)
    error = math.sqrt(first + second)
    freedom = (first + second) ** 2 / (first**2 / (len(one) - 1) + second**2 / (len(two) - 1))
    p = t_two_sided(difference / error, freedom)
    verdict: LapVerdict = "unclear"
    if p < SURE:
        verdict = "faster" if difference < 0 else "slower"
    return LapComparison(difference, error, freedom, p, verdict)


def straight_line(x: Sequence[float], y: Sequence[float]) -> Line:
    """Fit a straight line by least squares.

    Parameters
    ----------
    x, y : at least two points, not all at one x.

    Raises
    ------
    ValueError
        No line can be fitted.
    """
    count = len(x)
    middle_x, middle_y = math.fsum(x) / count, math.fsum(y) / count
    across = math.fsum((a - middle_x) ** 2 for a in x)
    if count < 2 or across == 0:
        raise ValueError("a line wants two points at different x")
    together = math.fsum((a - middle_x) * (b - middle_y) for a, b in zip(x, y, strict=True))
    slope = together / across
    intercept = middle_y - slope * middle_x
    if count < 3:
        return Line(slope, intercept, None, None, None)
    left = math.fsum(
        (b - middle_y - slope * (a - middle_x)) ** 2 for a, b in zip(x, y, strict=True)
    )
    residual = math.sqrt(left / (count - 2))
    return Line(
        slope,
        intercept,
        residual,
        residual / math.sqrt(across),
        residual * math.sqrt(1 / count + middle_x**2 / across),
    )


def t_two_sided(t: float, freedom: float) -> float:
    """Return the probability that Student's t is farther from 0 than this on either side.

    Notes
    -----
    I_x(v/2, 1/2) with x = v/(v + t²) ([1], 26.5.27); for small t from the other end, where 1 - x
    is not lost in rounding.

    References
    ----------
    .. [1] M. Abramowitz and I. A. Stegun, *Handbook of Mathematical Functions*, 1964.
    """
    if t * t < freedom:
        return 1.0 - incomplete_beta(0.5, freedom / 2, t * t / (freedom + t * t))
    return incomplete_beta(freedom / 2, 0.5, freedom / (freedom + t * t))


def incomplete_beta(a: float, b: float, x: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b), for a, b > 0 and 0 <= x <= 1.

    Notes
    -----
    By its continued fraction ([1], 8.17.22), evaluated from the front (Lentz's method), on the
    side of the mean where it converges fast; I_x(a, b) = 1 - I_{1-x}(b, a) gives the other.

    References
    ----------
    .. [1] NIST *Digital Library of Mathematical Functions*, https://dlmf.nist.gov/8.17.
    """
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - incomplete_beta(b, a, 1.0 - x)
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    front = math.exp(log_front + a * math.log(x) + b * math.log1p(-x)) / a
    tiny = 1e-300
    above, below = 1.0, 0.0
    value = 1.0
    for number in range(1000):
        half = number // 2
        if number == 0:
            step = 1.0
        elif number % 2 == 0:
            step = half * (b - half) * x / ((a + 2 * half - 1) * (a + 2 * half))
        else:
            step = -(a + half) * (a + b + half) * x / ((a + 2 * half) * (a + 2 * half + 1))
        below = 1.0 / ((1.0 + step * below) or tiny)
        above = (1.0 + step / above) or tiny
        value *= above * below
        if number and abs(above * below - 1.0) < 1e-15:
            break
    return front * (value - 1.0)


def _counted(times: Sequence[float]) -> tuple[int, ...]:
    """Return the numbers of the laps that count; see `summary`."""
    everything = tuple(range(1, len(times) + 1))
    rest = times[1:]
    if len(rest) < 3:
        return everything
    middle = _median(rest)
    spread = MAD_TO_SD * max(_median([abs(lap - middle) for lap in rest]), TIMING)
    slow = times[0] - middle > OUT_LAP * spread or _slower_than_foretold(times[0], rest)
    return everything[1:] if slow else everything


def _slower_than_foretold(first: float, rest: Sequence[float]) -> bool:
    """Whether a first lap is slower than a straight line through the others predicts."""
    if len(rest) < LEAST_FOR_LINE:
        return False
    after = range(1, len(rest) + 1)  # the lap asked about stands at 0
    line = straight_line(after, rest)
    assert line.residual_sd is not None
    assert line.intercept_error is not None
    sd = max(line.residual_sd, TIMING)
    of_line = line.intercept_error * sd / line.residual_sd if line.residual_sd else 0.0
    least = max(OUT_LAP * math.hypot(sd, of_line), OUT_LAP_SHARE * line.intercept)
    return first - line.intercept > least


def _median(values: Sequence[float]) -> float:
    ordered = sorted(values)
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def _variance(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
