"""Whether chances can be taken at their word: of faults said to be there with 30 %, 30 % are."""

from collections.abc import Sequence
from math import sqrt

import attrs
from crews import Ended, Said

AROUND = (0.1, 0.3, 0.5, 0.7, 0.9)  # chances asked about
REACH = 0.05  # a chance this far from one of them goes with it


@attrs.frozen
class Row:
    """Of the faults given about the same chance: how many, what was said, what was so.

    Attributes
    ----------
    around : the chance asked about.
    count : how often one of about this size was given.
    said : mean of the chances given.
    were : share of them that were there.
    by_chance : standard error of `were` less `said`.
    """

    around: float
    count: int
    said: float
    were: float
    by_chance: float

    @property
    def is_kept(self) -> bool:
        """Whether it is off by no more than chance would have it 19 times in 20."""
        return abs(self.were - self.said) <= 1.96 * self.by_chance


def rows(ends: Sequence[Ended]) -> list[Row]:
    """Return what was said and what was so, around each of some chances.

    Notes
    -----
    A fault is asked about after every run, so its answers go together within a day. The days are
    independent. So the standard error is that of a sum over the days [1]_: the root of the summed
    squares of each day's (there - said), over the count.

    References
    ----------
    .. [1] W. G. Cochran, *Sampling Techniques*, 3rd ed., Wiley, 1977, ch. 9A: single-stage cluster
       sampling, clusters of unequal sizes.
    """
    found = []
    for around in AROUND:
        days = [[each for each in end.said if _is_about(each, around)] for end in ends]
        every = [each for day in days for each in day]
        if not every:
            continue
        off = [sum(each.there - each.chance for each in day) for day in days]
        found.append(
            Row(
                around,
                len(every),
                sum(each.chance for each in every) / len(every),
                sum(each.there for each in every) / len(every),
                sqrt(sum(each**2 for each in off)) / len(every),
            )
        )
    return found


def _is_about(each: Said, chance: float) -> bool:
    return chance - REACH <= each.chance < chance + REACH


def calibration(ends: Sequence[Ended]) -> str:
    """Return the table in Markdown."""
    lines = [
        "| faults given about | how many | said, mean | were there | standard error |",
        "| --- | --- | --- | --- | --- |",
    ]
    for each in rows(ends):
        lines.append(
            f"| {each.around:.0%} | {each.count} | {each.said:.1%} | {each.were:.1%} "
            f"| {each.by_chance:.1%}{'' if each.is_kept else ', not by chance'} |"
        )
    return "\n".join(lines)
