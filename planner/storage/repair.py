"""A plan file looked over for damage, and a mended plan put in its place."""

from pathlib import Path

import attrs

from planner.storage import differences, mend, planfile, plans, saving
from planner.storage.differences import Conflict
from planner.storage.mend import Saved
from planner.trade.refusals import Refusal, Unusable


@attrs.frozen
class Damage:
    """What is wrong with a plan file, and what can be saved of it.

    Attributes
    ----------
    trouble : why it cannot be used or should be looked at; None where it is whole.
    ways : to have a plan again, the one with the most steps first.
    mark : of the file as it was looked at; None where there is none.
    steps : how many it has, where it is whole.
    conflicts : where a merge has left two versions in it.
    """

    path: Path
    trouble: Refusal | None
    ways: tuple[Saved, ...] = ()
    mark: str | None = None
    steps: int = 0
    conflicts: tuple[Conflict, ...] = ()


def look_over(path: Path) -> Damage:
    """Look at a plan file for damage, and for what can be saved of it; nothing is written.

    Raises
    ------
    Refusal, Unusable
        There is no plan and no version before it, or what is wrong is no damage to the plan: it
        is of a newer format, or its rules are missing or have mistakes.
    """
    before = planfile.previous(path)
    try:
        kept = planfile.read(path)
    except Refusal as refusal:
        missing = refusal.code == "not-found" and planfile.is_there(before)
        if refusal.code in ("newer-format", "not-found", "unreadable") and not missing:
            raise
        trouble = refusal
    else:
        plans.rules_of(kept.plan, path)
        try:
            plans.open_kept(path, kept)
        except Unusable as error:
            trouble = error
        else:
            if not kept.touched:
                return Damage(path, None, mark=kept.mark, steps=len(kept.plan.step))
            said = " ".join((planfile.EDITED, *plans.edited(path, kept)))
            trouble = Unusable("edited", said, where=str(path))
    raw = planfile.raw(path)
    ways = mend.ways(
        raw or b"",
        planfile.raw(before),
        path,
        lambda plan: plans.reach(plan, plans.rules_of(plan, path)[0]),
    )
    mark = None if raw is None else planfile.mark_of(raw)
    return Damage(path, trouble, ways, mark, conflicts=differences.conflicts(raw or b""))


def mend_plan(damage: Damage, way: Saved) -> Path | None:
    """Put what was saved in the place of the damaged file; return where that is kept now.

    Raises
    ------
    Refusal, Unusable
        It cannot be written, or the file is not the one any more that was looked at.
    """
    with saving.locked(damage.path):
        return saving.mended(damage.path, way.plan, damage.mark)
