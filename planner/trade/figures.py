"""The figures a crew reads from twelve temperatures.

Every figure is a weighted sum of twelve *base figures*: the average, split and crown of each
tire. These carry the same information as the twelve readings and do not share reading noise
with one another, so effects, errors and learning are all written in them.
"""

import math
from collections.abc import Mapping, Sequence
from functools import cache

import attrs

from planner.trade.corners import (
    CORNERS,
    FRONT,
    LEFT,
    REAR,
    RIGHT,
    UNREAD,
    Corner,
    Three,
    Turns,
    per_corner,
    was_read,
)

Terms = Mapping[str, float]

# Variance of a base figure as a share of the variance of one reading; see `standard_error`.
_SHARES = {"average": 1 / 3, "split": 2.0, "crown": 2 / 3}
SHARE: Mapping[str, float] = {
    f"{kind}.{corner}": share for kind, share in _SHARES.items() for corner in CORNERS
}
BASE_FIGURES = tuple(SHARE)

PER_CORNER = ("average", "split", "crown", "versus_others")
WHOLE_CAR = (
    "front",
    "rear",
    "left",
    "right",
    "diagonal",
    "balance",
    "cross_vs_front",
    "cross_vs_right",
    "cross_vs_both",
    "front_split",
    "front_split_gap",
    "front_vs_rear",
    "left_vs_right",
)


@attrs.frozen
class Noise:
    """Size of the reading noise [degF], one standard deviation.

    Attributes
    ----------
    reading : of each of the twelve readings, on its own.
    run : common to all tires of one run.
    """

    reading: float = 3.0
    run: float = 2.0


@attrs.frozen
class Figures:
    """All figures of one run [degF]; see `compute`."""

    base: Mapping[str, float]
    turns: Turns = "left"

    def __getitem__(self, name: str) -> float:
        """Return one figure by name, such as ``split.RF`` or ``balance``."""
        return sum(weight * self.base[term] for term, weight in terms(name, self.turns).items())

    def is_known(self, name: str) -> bool:
        """Say whether all that a figure is made of was read."""
        return was_read(self[name])

    def levels(self) -> dict[Corner, float]:
        """Return the average of each tire [degF]; one not read at the mean of the others."""
        averages = self.averages()
        known = [average for average in averages.values() if was_read(average)]
        usual = sum(known) / len(known) if known else UNREAD
        return {c: average if was_read(average) else usual for c, average in averages.items()}

    def averages(self) -> dict[Corner, float]:
        """Return the average of each tire [degF]."""
        return per_corner(lambda corner: self.base[f"average.{corner}"])

    def as_dict(self) -> dict[str, object]:
        """Return the figures object of the status, in its documented shape."""
        per = {
            kind: {corner: self.base[f"{kind}.{corner}"] for corner in CORNERS}
            for kind in ("average", "split", "crown")
        }
        whole = ("front", "rear", "left", "right", "diagonal", "balance")
        names = (*whole, "cross_vs_front", "cross_vs_right")
        return {**per, **{name: self[name] for name in names}}


def compute(tires: Mapping[Corner, Three], turns: Turns = "left") -> Figures:
    """Work out the figures of a run.

    Parameters
    ----------
    tires : readings inner, middle, outer [degF] at each corner.
    turns : which way the track turns; decides which side is the loaded one.

    Returns
    -------
    Figures
        average = (inner + middle + outer)/3, split = inner - outer, crown = middle - average of
        each tire [degF], and the sums made of them; `UNREAD` where a reading is missing.
    """
    base: dict[str, float] = {}
    for corner in CORNERS:
        inner, middle, outer = tires[corner]
        average = (inner + middle + outer) / 3
        base[f"average.{corner}"] = average
        base[f"split.{corner}"] = inner - outer
        base[f"crown.{corner}"] = middle - average
    return Figures(base, turns)


def is_figure(name: str) -> bool:
    """Say whether there is a figure of this name, such as ``split.RF`` or ``balance``."""
    kind, _, corner = name.partition(".")
    return name in WHOLE_CAR or (kind in PER_CORNER and corner in CORNERS)


def mean(runs: Sequence[Figures]) -> Figures:
    """Return the mean figures of several runs, each over those that know it."""
    known = {name: [r.base[name] for r in runs if was_read(r.base[name])] for name in BASE_FIGURES}
    base = {name: sum(at) / len(at) if at else UNREAD for name, at in known.items()}
    return Figures(base, runs[0].turns)


@cache
def terms(name: str, turns: Turns = "left") -> Terms:
    """Return a figure as weights on the base figures.

    On a track that turns right the loaded side is the left one: the diagonal is LF and RR, and
    balance is LF - LR, the left-turn car seen in a mirror.
    """
    outside, inside = (LEFT, RIGHT) if turns == "right" else (RIGHT, LEFT)
    diagonal = (outside[0], inside[1])

    def mean_of(corners: tuple[Corner, ...], sign: float = 1.0) -> dict[str, float]:
        return {f"average.{corner}": sign / len(corners) for corner in corners}

    kind, _, corner = name.partition(".")
    if kind in ("average", "split", "crown"):
        return {name: 1.0}
    if kind == "versus_others":
        others = tuple(other for other in CORNERS if other != corner)
        return mean_of(others, -1.0) | {f"average.{corner}": 1.0}
    sums: dict[str, dict[str, float]] = {
        "front": mean_of(FRONT),
        "rear": mean_of(REAR),
        "left": mean_of(LEFT),
        "right": mean_of(RIGHT),
        "diagonal": mean_of(diagonal),
        "balance": _plus(mean_of(outside[:1]), mean_of(outside[1:], -1.0)),
        "cross_vs_front": _plus(mean_of(diagonal), mean_of(FRONT, -1.0)),
        "cross_vs_right": _plus(mean_of(diagonal), mean_of(outside, -1.0)),
        "cross_vs_both": _plus(
            mean_of(diagonal), _plus(mean_of(FRONT, -0.5), mean_of(outside, -0.5))
        ),
        "front_split": {f"split.{corner}": 0.5 for corner in FRONT},
        "front_split_gap": {"split.LF": 1.0, "split.RF": -1.0},
        "front_vs_rear": _plus(mean_of(FRONT), mean_of(REAR, -1.0)),
        "left_vs_right": _plus(mean_of(LEFT), mean_of(RIGHT, -1.0)),
    }
    return sums[name]


def _plus(one: Terms, other: Terms) -> dict[str, float]:
    total = {key: one.get(key, 0.0) + other.get(key, 0.0) for key in {**one, **other}}
    return {key: weight for key, weight in total.items() if weight}


def corners_averaged(name: str, turns: Turns) -> tuple[Corner, ...]:
    """Return the corners whose average a figure is made with, as the figure is defined.

    Used for masking: a tire with a camber or pressure fault has an average that cannot yet be
    trusted. Crown counts, being the middle against the tire's own average.
    """
    if name in ("cross_vs_front", "cross_vs_right", "cross_vs_both"):
        return CORNERS
    used = terms(name, turns)
    return tuple(c for c in CORNERS if {f"average.{c}", f"crown.{c}"} & used.keys())


def half_difference(name: str, turns: Turns = "left") -> tuple[Corner, Corner] | None:
    """Return the two tires a figure is half the difference of, the first less the second.

    The diagonal against an axle or a side shares a tire with it, which cancels: against the front
    (RF + LR)/2 - (LF + RF)/2 = (LR - LF)/2 is left, against the right (LR - RR)/2.
    """
    found = terms(name, turns)
    tires = {term.partition(".")[2]: weight for term, weight in found.items()}
    first = next((c for c in CORNERS if tires.get(c) == 0.5), None)
    second = next((c for c in CORNERS if tires.get(c) == -0.5), None)
    if len(found) != 2 or first is None or second is None:
        return None
    return first, second


def standard_error(name: str, noise: Noise, *, runs: int = 1) -> float:
    """Return the standard error of one figure [degF] from the noise of the readings.

    Parameters
    ----------
    name : the figure.
    noise : reading noise.
    runs : number of runs of the same car averaged.

    Notes
    -----
    For independent readings of variance s², the variance of an average is s²/3, of a split
    2 s², of a crown (4 + 1 + 1)/9 s²; the three do not correlate. Noise common to the run
    enters through the averages only and cancels in differences between tires. Whichever way the
    track turns, a figure weighs as many tires as heavily.
    """
    used = terms(name)
    own = sum(weight**2 * SHARE[term] for term, weight in used.items())
    common = sum(used.get(f"average.{corner}", 0.0) for corner in CORNERS)
    return math.hypot(math.sqrt(own) * noise.reading, common * noise.run) / math.sqrt(runs)
