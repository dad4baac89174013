"""The rules as one car is judged by them: a band about the car's own figure in balance."""

from collections.abc import Mapping

import attrs

from planner.rulebook.rules import PatternRule, Rulebook

LEAST_RUNS = 2  # in balance, before a car's own figure counts: one alone is too weak; from memory
MOST_EARLIER = 2  # runs that earlier days count for at most; from memory


@attrs.frozen
class Own:
    """What a figure of this car reads in balance.

    Attributes
    ----------
    mean : over those runs [degF].
    runs : in balance.
    """

    mean: float
    runs: int

    @property
    def as_earlier(self) -> "Own":
        """The same as another day takes it: it counts for few runs."""
        return Own(self.mean, min(self.runs, MOST_EARLIER))


def joined(own: Own | None, value: float) -> Own:
    """Return what is known of a figure with the value of one run more [degF]."""
    if own is None:
        return Own(value, 1)
    return Own((own.mean * own.runs + value) / (own.runs + 1), own.runs + 1)


def held_against(book: Rulebook, own: Mapping[str, Own]) -> Rulebook:
    """Return the rules with the bands of this car, where it has a history.

    A rule that names a figure of its own (`OwnBand`) is judged by that figure alone; its band is
    as wide as the rule has it, and lies about the mean of the car's runs in balance. One that looks
    for two figures that disagree finds none any more.

    Parameters
    ----------
    book : the rules as their file has them, turned the way the track turns.
    own : by figure.
    """
    found = []
    for rule in book.pattern:
        known = None if rule.own is None else own.get(rule.own.figure)
        if rule.own is None or known is None or known.runs < LEAST_RUNS:
            found.append(rule)
        else:
            found.append(_about(rule, rule.own.figure, known.mean))
    return attrs.evolve(book, pattern=tuple(found))


def _about(rule: PatternRule, figure: str, centre: float) -> PatternRule:
    by = centre - rule.aim
    return attrs.evolve(
        rule,
        figures=(figure,),
        above=None if rule.above is None else rule.above + by,
        below=None if rule.below is None else rule.below + by,
        aim=centre,
    )
