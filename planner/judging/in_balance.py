"""Runs in balance, from which a car's own figures are taken."""

from collections.abc import Collection, Mapping, Sequence

from planner.judging.patterns import MASKING_STAGES, Pattern
from planner.rulebook.own_bands import Own, joined
from planner.rulebook.rules import Rulebook
from planner.run.readings import Run
from planner.trade.figures import Figures


def with_run(
    own: Mapping[str, Own],
    run: Run,
    figures: Figures,
    patterns: Sequence[Pattern],
    book: Rulebook,
    left_open: Collection[str],
) -> dict[str, Own]:
    """Return what is known of the car's own figures with one run more, where it was in balance.

    It was when its balance figure is in band, the driver complained of nothing, and nothing held a
    stage that the crew did not leave as it is: what the rules had the crew change is not the car's
    own. A camber or pressure fault spoils the averages even where it is left.

    Parameters
    ----------
    own : before it, by figure.
    patterns : that the run showed.
    left_open : patterns that the crew left as they are after it.
    """
    held = [p for p in patterns if p.holds]
    faults = any(p.key not in left_open for p in held)
    spoilt = any(p.stage in MASKING_STAGES and p.corner for p in held)
    complaint = not {"tight", "loose"}.isdisjoint(run.felt.values())
    if faults or spoilt or complaint or not _balanced(figures, book):
        return dict(own)
    named = dict.fromkeys(rule.own.figure for rule in book.pattern if rule.own is not None)
    known = [figure for figure in named if figures.is_known(figure)]
    return {**own, **{figure: joined(own.get(figure), figures[figure]) for figure in known}}


def _balanced(figures: Figures, book: Rulebook) -> bool:
    """Say whether the figures that a driver feels are known, and in their bands."""
    for rule in book.pattern:
        if rule.feel is None or rule.stage is None:
            continue
        for name in rule.figures:
            low, high = book.edges(name)
            at = figures[name]
            if not figures.is_known(name) or (low is not None and at < low):
                return False
            if high is not None and at > high:
                return False
    return True
