"""What can be saved of a damaged plan file: the steps that can be read and that can have happened.

Nothing is guessed and nothing written here. A file is taken apart at its steps, each is read by
itself, and what cannot be read is named with its line. Where the version before the last save
holds a step that the file has lost, that step is taken from there.
"""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import attrs

from planner.files import records
from planner.plan.steps import Plan, Step
from planner.storage import plan_tables, planfile
from planner.storage.differences import CONFLICT, differences
from planner.storage.torn import Table, TornPlan, identity, lenient, take_apart
from planner.trade.refusals import Unusable

BEFORE = "the version before the last save"

Replays = Callable[[Plan], object]


@attrs.frozen
class Saved:
    """One way to have a plan again.

    Attributes
    ----------
    source : where its steps come from, in words.
    plan : it opens.
    remarks : what is not in it or was taken from elsewhere, with the place in the file.
    """

    source: str
    plan: Plan
    remarks: tuple[str, ...] = ()


@attrs.frozen
class _One:
    step: tuple[Step, ...] = ()


def ways(raw: bytes, before: bytes | None, path: Path, replays: Replays) -> tuple[Saved, ...]:
    """Return every way to have the plan again, the one with the most steps first.

    Parameters
    ----------
    raw : the file.
    before : the version before the last save, where there is one.
    path : of the plan; used in messages.
    replays : raises where the steps of a plan cannot have happened.
    """
    kept = None if before is None else take_apart(lenient(before))
    found = []
    for source, text in _sides(lenient(raw)):
        torn = take_apart(text)
        found.append(_alone(source, torn, path, replays))
        if kept is not None:
            found.append(_merged(source, torn, kept, path, replays))
    if kept is not None:
        found.append(_alone(BEFORE, kept, path, replays))
    different: list[Saved] = []
    for saved in found:
        if saved is not None and all(saved.plan != other.plan for other in different):
            different.append(saved)
    return tuple(sorted(different, key=lambda saved: -len(saved.plan.step)))


def _sides(text: str) -> Iterator[tuple[str, str]]:
    """Yield the versions a file holds, each with what it is: several where it was merged."""
    if CONFLICT.search(text) is None:
        yield "the file", text
        return
    for side, name in (("ours", "first"), ("theirs", "second")):
        yield (
            f"the file, {name} side of every conflict",
            CONFLICT.sub(lambda found, side=side: found[side], text),  # type: ignore[misc]
        )


def _alone(source: str, torn: TornPlan, path: Path, replays: Replays) -> Saved | None:
    """Return the most that can be saved of a file by itself."""
    if _wrong(torn.head, None, path):
        return None
    remarks: list[str] = []
    steps: list[Table] = []
    for number, part in enumerate(torn.parts, 1):
        trouble = part.trouble or _wrong(torn.head, part.table, path)
        if trouble:
            remarks.append(f"step {number} from line {part.line} cannot be read: {trouble}")
            if after := len(torn.parts) - number:
                remarks.append(f"what comes after it ({after}) cannot be kept without it")
            break
        steps.append(part.table)
    return _longest(source, torn, torn.head, steps, remarks, path, replays)


def _merged(
    source: str, torn: TornPlan, kept: TornPlan, path: Path, replays: Replays
) -> Saved | None:
    """Return the version before, with the later steps of the file added."""
    remarks: list[str] = []
    head = torn.head
    if _wrong(head, None, path):
        head = kept.head
        remarks.append("what stands above the steps cannot be read; taken from there")
    readable = [p for p in torn.parts if not p.trouble and not _wrong(head, p.table, path)]
    steps = [part.table for part in kept.parts if not part.trouble]
    beyond = list(readable)
    for number, table in enumerate(steps, 1):
        if (same := next((part for part in beyond if part.table == table), None)) is not None:
            beyond.remove(same)
            continue
        other = next((part for part in beyond if identity(part.table) == identity(table)), None)
        if other is None:
            remarks.append(f"step {number} cannot be read in the file; taken from there")
            continue
        beyond.remove(other)
        said = differences(table, other.table)
        remarks.append(f"step {number} from line {other.line} differs; taken from there: {said}")
    last = steps[-1].get("time") if steps else None
    steps += [part.table for part in beyond if not _earlier(part.table.get("time"), last)]
    return _longest(f"{source}, and {BEFORE}", torn, head, steps, remarks, path, replays)


def _earlier(time: Any, than: Any) -> bool:
    try:
        return bool(time < than)
    except TypeError:
        return than is not None


def _longest(
    source: str,
    torn: TornPlan,
    head: Table,
    steps: list[Table],
    remarks: list[str],
    path: Path,
    replays: Replays,
) -> Saved | None:
    """Return the plan with as many of its first steps as can have happened."""
    dropped: list[str] = []
    while True:
        plan, why = _opens({**head, "step": steps}, path, replays)
        if plan is not None:
            held = torn.seal.steps if torn.seal is not None else 0
            missing = () if len(plan.step) >= held else (f"it held {held} steps when written",)
            return Saved(source, plan, (*missing, *torn.lost, *remarks, *reversed(dropped)))
        if not steps:
            return None
        dropped.append(f"step {len(steps)} cannot be kept: {why}")
        steps = steps[:-1]


def _wrong(head: Table, step: Table | None, path: Path) -> str:
    """Say what is wrong with what stands above the steps, and with one step by itself."""
    if step is not None and step.get("kind") == "amend":  # it leans on the steps before it
        found, _ = records.problems_or_record({"step": [step]}, _One, plan_tables.converter())
        return _by_itself("; ".join(found))
    try:
        planfile.parse({**head, "step": [] if step is None else [step]}, path)
    except Unusable as error:
        return _by_itself("; ".join(error.message.splitlines()[1:]) or error.message)
    return ""


def _by_itself(said: str) -> str:
    """Take out the number that a step has when it stands alone."""
    return re.sub(r"\bstep\[1\]\.?", "", said)


def _opens(tables: Table, path: Path, replays: Replays) -> tuple[Plan | None, str]:
    try:
        plan = planfile.parse(tables, path)
        replays(plan)
    except Unusable as error:
        if error.code == "no-rules":  # that is no damage to the plan
            raise
        return None, error.message
    return plan, ""
