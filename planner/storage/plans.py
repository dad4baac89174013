"""Plans opened, and moved on by a step under their lock, with their rules and clock.

Both the commands and the guide work through this; neither opens a plan file itself.
"""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import attrs

from planner.files.file_name import in_command
from planner.plan.day import Day
from planner.plan.fold import advance, begin, by_now, replay
from planner.plan.steps import Plan
from planner.rulebook import rules_file
from planner.rulebook.mirrored import for_turns
from planner.rulebook.rules import Rulebook
from planner.storage import differences, planfile, saving, since
from planner.storage.planfile import Kept
from planner.trade.refusals import Refusal, Unusable
from planner.words import due


@attrs.frozen
class Opened:
    """A plan, opened: the day it stands for, and what should be mentioned about it.

    Attributes
    ----------
    kept : the plan as it is in its file; a change from elsewhere shows against it.
    at : when it was opened or last moved on; None where that does not matter.
    """

    path: Path
    day: Day
    remarks: tuple[str, ...] = ()
    kept: Kept = attrs.Factory(lambda self: Kept(self.day.plan, ""), takes_self=True)
    at: datetime | None = None


def open_plan(path: Path, *, afresh: bool = True) -> Opened:
    """Read a plan and its rules, and work out where the day stands.

    Parameters
    ----------
    afresh : judge the last run again in any case (see `replay`), not only where the plan or its
        rules are no longer as they were when it was judged.

    Raises
    ------
    Refusal, Unusable
        See `planfile.load`, `rulebook.load` and `day.replay`.
    """
    return open_kept(path, planfile.read(path), afresh=afresh)


def step(
    path: Path,
    move: Callable[[Day, datetime], Day],
    *,
    seen: Opened | None = None,
    after: int | None = None,
) -> Opened:
    """Open a plan, make one move on it, and save it, all under its lock.

    Parameters
    ----------
    seen : the plan as it was looked at when the move was decided on; as it is now, when None.
    after : how many steps it had when it was looked at, where that is known.

    Raises
    ------
    Refusal, Unusable
        The move is not legal, the plan was changed since it was looked at (says what is new), or
        it cannot be read or written. In every case nothing was stored.
    """
    looked = planfile.read(path) if seen is None else seen.kept
    with saving.locked(path):
        now = planfile.read(path, looked)
        opened = seen if seen is not None and now is seen.kept else open_kept(path, now)
        if now.mark != looked.mark:
            raise _moved_on(path, since.since(looked.plan, now.plan))
        if after is not None and after != len(now.plan.step):
            held = f"It holds {since.steps(len(now.plan.step))}, not {after}."
            raise _moved_on(path, since.since_step(after, now.plan) or held)
        at = planfile.now()
        try:
            stepped = by_now(move(by_now(opened.day, at), at), at)
        except Refusal as refusal:
            raise _with_what_is_due(refusal, opened.day) from None
        mark = saving.save(path, stepped.plan, now.mark, len(now.plan.step))
    return attrs.evolve(opened, day=stepped, kept=Kept(stepped.plan, mark), at=at)


def keep_elsewhere(opened: Opened, path: Path) -> Opened:
    """Keep a plan as it was last seen in a new file, where its own cannot be reached.

    Raises
    ------
    Refusal
        There is a file of that name already, or it cannot be written.
    """
    mark = saving.create(path, opened.kept.plan)
    return attrs.evolve(opened, path=path, kept=Kept(opened.kept.plan, mark))


def open_kept(path: Path, kept: Kept, *, afresh: bool = True) -> Opened:
    """Return a plan that was read, with its rules, at where its day stands.

    Raises
    ------
    Refusal, Unusable
        See `open_plan`.
    """
    book, remarks = rules_of(kept.plan, path)
    try:
        untouched = kept.seal is not None and kept.seal.holds
        afresh = afresh or not untouched or bool(remarks)
        day = replayed(kept.plan, book, untouched=untouched, afresh=afresh)
    except Unusable as error:
        hint = "; ".join((error.hint, f"treadgate mend {in_command(path)} shows what can be saved"))
        raise Unusable(error.code, error.message, where=error.where, hint=hint) from None
    planfile.refuse_cut_short(kept, path)
    remarks = (*kept.remarks, *edited(path, kept), *remarks)
    at = planfile.now()
    return Opened(path, by_now(day, at), remarks, kept, at)


def edited(path: Path, kept: Kept) -> tuple[str, ...]:
    """Return how a plan that is not as it was written differs, where that can be found."""
    if not kept.touched:
        return ()
    before = planfile.previous(path)
    try:
        said = differences.edited(planfile.raw(path) or b"", planfile.raw(before), before.name)
    except Unusable:  # the version before cannot be read
        return ()
    return (said,) if said else ()


def replayed(plan: Plan, book: Rulebook, *, untouched: bool, afresh: bool = True) -> Day:
    """Work out where a plan stands; see `replay`.

    Parameters
    ----------
    untouched : it is as the program wrote it, so that a failure is a fault of the program. Steps
        put together by hand or by damage may contradict each other in ways nobody thought of.
    """
    try:
        return replay(plan, book, afresh=afresh)
    except Refusal:
        raise
    except Exception as error:
        if untouched:
            raise
        raise Unusable(
            "out-of-order",
            "The steps of this plan do not fit together: one refers to a step that never happened.",
            where="steps",
            hint="put the steps back as they were",
        ) from error


def reach(plan: Plan, book: Rulebook) -> tuple[int, str]:
    """Return how many of the first steps of a plan can have happened, and why not the next."""
    day = begin(plan, book)
    for number, step in enumerate(plan.step, start=1):
        try:
            day = advance(day, step, afresh=number == len(plan.step))
        except Refusal as refusal:
            return number - 1, refusal.message
        except Exception:  # as in `replayed`
            return number - 1, "it refers to a step that never happened"
    return len(plan.step), ""


def _moved_on(path: Path, what: str) -> Refusal:
    return Refusal(
        "moved-on",
        f"The plan was changed from elsewhere in the meantime. Nothing was stored. {what}",
        where=str(path),
        hint=f"treadgate status {in_command(path)} shows where it stands now; go on from there",
    )


def _with_what_is_due(refusal: Refusal, day: Day) -> Refusal:
    """Add what to type, and the last step, which may have come from elsewhere."""
    if refusal.code != "not-due":
        return refusal
    message, steps = refusal.message, day.plan.step
    if steps:
        message += f" Recorded last: step {len(steps)}, {since.in_words(steps[-1])}."
    return Refusal(refusal.code, message, where=refusal.where, hint=due.next_command(day))


def rules_of(plan: Plan, path: Path) -> tuple[Rulebook, tuple[str, ...]]:
    """Return the rules of a plan, turned as its track turns, and what to say of them.

    Raises
    ------
    Unusable
        They are not to be found, have mistakes, or are for other tracks.
    """
    try:
        rules_path = rules_file.find(plan.rules.file or plan.rules.id, beside=path.parent)
    except Refusal:
        raise Unusable(
            "no-rules",
            f"Cannot find the rules of this plan: {plan.rules.file or plan.rules.id}.",
            where=f"{path}, rules",
            hint="put the file back there, or correct rules.file in the plan",
        ) from None
    book = rules_file.load(rules_path)
    if plan.turns not in book.turns:
        raise Unusable(
            "bad-key",
            f"The {book.id} rules are for tracks that turn {' or '.join(book.turns)}.",
            where=f"{path}, turns",
            hint=f'turns = "{book.turns[0]}"',
        )
    remarks: tuple[str, ...] = ()
    if book.fingerprint != plan.rules.fingerprint:
        remarks = (
            f"The {book.id} rules have changed since this plan was begun: earlier steps stay as "
            "they were judged, new advice uses the rules as they are now.",
        )
    return for_turns(book, plan.turns), remarks
