"""Changes made together: one bundle for every corner, and trims that ride along."""

from collections.abc import Sequence

import attrs

from planner.advice import trims
from planner.advice.candidate import Candidate
from planner.advice.situation import Situation, foretold
from planner.advice.sizes import flex_heat, lets_air_out
from planner.car.changes import Setting, moves_of
from planner.trade.corners import CORNERS

# In these stages tires do not mask each other: one bundle may correct every corner at once.
BUNDLING_STAGES = ("camber", "pressure")


def bundle(singles: Sequence[Candidate], now: Situation) -> list[Candidate]:
    """Return one bundle of the first change for every corner, as a list of none or one."""
    if now.stage not in BUNDLING_STAGES:
        return []
    firsts: dict[Setting, Candidate] = {}
    for single in singles:
        if single.own_aims(now.book)[0].corner:
            firsts.setdefault(single.changes[0].setting, single)
    places = [str(corner) for corner in CORNERS]
    parts = sorted(firsts.values(), key=lambda each: places.index(each.changes[0].corner))
    if len(parts) < 2:
        return []
    together = Candidate(
        id="",
        kind="bundle",
        pattern=singles[0].pattern,
        changes=tuple(part.changes[0] for part in parts),
        answers=tuple(key for part in parts for key in part.answers),
        uses=tuple(dict.fromkeys(use for part in parts for use in part.uses)),
        reasons=tuple(reason for part in parts for reason in part.reasons),
        basis=tuple(basis for part in parts for basis in part.basis),
        minutes=sum(part.minutes or 0.0 for part in parts),
        cautions=tuple(dict.fromkeys(c for part in parts for c in part.cautions)),
    )
    return [foretold(together, now)]


def with_trims(candidate: Candidate, now: Situation, *, others: bool) -> Candidate:
    """Return a candidate with the trims that may ride along.

    Parameters
    ----------
    others : at other tires in its stage too. Beside a bundle a single change is there to be made
        alone in its stage.
    """
    ride = trims.riding(
        now.stage,
        moves_of(candidate.changes),
        candidate.aimed(now.book),
        now.outlook,
        now.settings,
        now.limits,
        others=others,
    )
    ride = tuple(trim for trim in ride if not lets_air_out(trim.change, now))
    if not ride:
        return candidate
    entries = [now.book.adjustments_of(*trim.change.setting)[0] for trim in ride]
    cautions = (*candidate.cautions, *(entry.caution for entry in entries if entry.caution))
    laden = attrs.evolve(
        candidate,
        changes=(*candidate.changes, *(trim.change for trim in ride)),
        trims_answer=tuple(trim.pattern for trim in ride),
        reasons=(*candidate.reasons, *flex_heat((trim.change for trim in ride), now)),
        cautions=tuple(dict.fromkeys(cautions)),
        minutes=(candidate.minutes or 0.0) + sum(trim.minutes for trim in ride),
    )
    return foretold(laden, now)


def without_trims(candidate: Candidate, now: Situation) -> Candidate:
    """Return a candidate with its riding trims left out."""
    kept = candidate.own_changes
    ride = [change for change in candidate.changes if change.trim]
    saved = sum(now.book.adjustments_of(*change.setting)[0].minutes for change in ride)
    theirs, own = (
        {entry.caution for change in part for entry in now.book.adjustments_of(*change.setting)}
        for part in (ride, kept)
    )
    alone = attrs.evolve(
        candidate,
        changes=kept,
        trims_answer=(),
        reasons=tuple(r for r in candidate.reasons if r not in flex_heat(ride, now)),
        cautions=tuple(key for key in candidate.cautions if key not in theirs - own),
        minutes=(candidate.minutes or 0.0) - saved,
    )
    return foretold(alone, now)
