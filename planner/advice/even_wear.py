"""Cross weight against uneven wear, where the temperatures are in band."""

import attrs

from planner.advice.candidate import Candidate
from planner.advice.reasons import HeldBack, Wear
from planner.advice.situation import Situation, cautions, foretold
from planner.car import changes as changing
from planner.car.basis import Basis
from planner.judging import wear
from planner.judging.patterns import WEAR_UNEVEN
from planner.trade.corners import CORNERS, per_corner
from planner.trade.estimate import Estimate

CROSS = ("cross", "car")


def even_wear(now: Situation) -> list[Candidate | HeldBack]:
    """Return a small move of cross weight off the diagonal of a tire that wears too fast.

    Only where the wear is uneven while the temperatures are in band. What it should do to the
    wear of all four comes from the rules' ``wear.per_cross``.
    """
    uneven = next((p for p in now.patterns if p.id == WEAR_UNEVEN), None)
    entry = next((a for a in now.book.adjustment.values() if a.knob == "cross"), None)
    if uneven is None or uneven.corner is None or entry is None or now.book.wear.per_cross is None:
        return []
    sign = -1.0 if uneven.corner in ("RF", "LR") else 1.0
    room = now.limits.room(*CROSS)
    step = entry.step_on(room)
    amount, cut = changing.within("cross", sign * step, now.settings.get(CROSS), room, step)
    if amount == 0:
        return [HeldBack(CROSS, "wear", cut)]
    change = changing.make(*CROSS, amount, now.settings)
    loss = wear.worn(now.run, now.earlier)
    candidate = Candidate(
        id="",
        kind="even-wear",
        pattern=WEAR_UNEVEN,
        changes=(change,),
        reasons=(Wear(loss.unit, per_corner(loss.mean)),),
        basis=(Basis("rule-of-thumb"),),
        minutes=entry.minutes,
        cautions=cautions((change,), [entry], now),
    )
    return [attrs.evolve(foretold(candidate, now), predicted=wear_after(amount, now))]


def wear_after(amount: float, now: Situation) -> dict[str, Estimate]:
    """Return the wear of all four tires after a move of cross weight [percent], by the rules."""
    loss, per_cross = wear.worn(now.run, now.earlier), now.book.wear.per_cross
    if per_cross is None:
        return {}
    predicted = {}
    for corner in CORNERS:
        share = (1.0 if corner in ("RF", "LR") else -1.0) * amount / 100
        now_lost = loss.mean(corner)
        predicted[f"wear.{corner}"] = Estimate(
            now_lost * (1 + share * per_cross.mean), abs(now_lost * share * per_cross.sd)
        )
    return predicted
