"""What can be saved of a damaged plan file: the steps that can be read and that can have happened.

Nothing is guessed and nothing written here. A file is taken apart at its steps, each is read by
itself, and what cannot be read is named with its line. Where the version before the last save
holds a step that the file has lost, that step is taken from there.
"""

import bisect
import itertools
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import attrs

from planner.files import records
from planner.plan.steps import Plan, Step
from planner.storage import plan_checks, plan_tables, planfile
from planner.storage.differences import CONFLICT, differences
from planner.storage.torn import Part, Table, TornPlan, identity, lenient, take_apart
from planner.trade.refusals import Unusable

BEFORE = "the version before the last save"

Reach = Callable[[Plan], tuple[int, str]]


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


def ways(raw: bytes, before: bytes | None, path: Path, reach: Reach) -> tuple[Saved, ...]:
    """Return every way to have the plan again, the one with the most steps first.

    Parameters
    ----------
    raw : the file.
    before : the version before the last save, where there is one.
    path : of the plan; used in messages.
    reach : tells how many of the first steps of a plan can have happened, and why not the next.
    """
    kept = None if before is None else take_apart(lenient(before))
    found = []
    for source, text in _sides(lenient(raw)):
        torn = take_apart(text)
        found.append(_alone(source, torn, path, reach))
        if kept is not None:
            found.append(_merged(source, torn, kept, path, reach))
    if kept is not None:
        found.append(_alone(BEFORE, kept, path, reach))
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


def _alone(source: str, torn: TornPlan, path: Path, reach: Reach) -> Saved | None:
    """Return the most that can be saved of a file by itself."""
    if _wrong_head(torn.head, path):
        return None
    remarks: list[str] = []
    steps: list[Table] = []
    for number, part in enumerate(torn.parts, 1):
        if trouble := _wrong(part):
            remarks.append(f"step {number} from line {part.line} cannot be read: {trouble}")
            remarks += _without_it(number, len(torn.parts))
            break
        steps.append(part.table)
    return _longest(source, torn, torn.head, steps, remarks, path, reach)


def _merged(source: str, torn: TornPlan, kept: TornPlan, path: Path, reach: Reach) -> Saved | None:
    """Return the version before, with the later steps of the file added."""
    head, said = torn.head, []
    if _wrong_head(head, path):
        head = kept.head
        said.append("what stands above the steps cannot be read; taken from there")
    now, was = (
        [attrs.evolve(part, trouble=_wrong(part)) for part in each.parts] for each in (torn, kept)
    )
    in_place = all(
        each.seal is not None and each.seal.steps == len(each.parts) for each in (torn, kept)
    )
    alike = all(
        one.trouble or other.trouble or one.table.get("kind") == other.table.get("kind")
        for one, other in zip(now, was, strict=False)
    )
    steps, remarks = (_by_position if in_place and alike else _by_content)(now, was)
    return _longest(f"{source}, and {BEFORE}", torn, head, steps, said + remarks, path, reach)


def _by_position(now: Sequence[Part], was: Sequence[Part]) -> tuple[list[Table], list[str]]:
    """Return the steps of two versions, and remarks, where both have all of theirs."""
    steps: list[Table] = []
    remarks: list[str] = []
    for number, (new, old) in enumerate(itertools.zip_longest(now, was), 1):
        known = next((each for each in (old, new) if each is not None and not each.trouble), None)
        if known is None:
            trouble = next(each.trouble for each in (new, old) if each is not None)
            remarks.append(f"step {number} cannot be read: {trouble}")
            remarks += _without_it(number, max(len(now), len(was)))
            break
        steps.append(known.table)
        if known is old:
            remarks += _against(number, new, old)
    return steps, remarks


def _against(number: int, new: Part | None, old: Part) -> list[str]:
    """Say what a step that is taken from the version before has against the file."""
    if new is None or new.trouble:
        return [f"step {number} cannot be read in the file; taken from there"]
    if new.table == old.table:
        return []
    said = differences(old.table, new.table)
    return [f"step {number} from line {new.line} differs; taken from there: {said}"]


def _by_content(now: Sequence[Part], was: Sequence[Part]) -> tuple[list[Table], list[str]]:
    """Return the steps of two versions, and remarks, where a step may have lost its beginning.

    Both are gone through in order; what follows the last step they share was added since.
    """
    places: dict[object, list[int]] = {}
    for at, part in enumerate(now):
        if not part.trouble:
            for key in (repr(part.table), identity(part.table)):
                places.setdefault(key, []).append(at)
    steps: list[Table] = []
    remarks: list[str] = []
    found: set[int] = set()
    end = lost = 0  # where the shared part ends; steps of the version before since then
    for number, old in enumerate(was, 1):
        if old.trouble:
            remarks.append(f"step {number} cannot be read in {BEFORE}: {old.trouble}")
            remarks += _without_it(number, len(was))
            break
        steps.append(old.table)
        lost += 1
        same = _first(places.get(repr(old.table), ()), end)
        same = _first(places.get(identity(old.table), ()), end) if same is None else same
        remarks += _against(number, None if same is None else now[same], old)
        if same is not None:
            found.add(same)
            end, lost = same + 1, 0
    for at, part in enumerate(now):
        if at in found:
            continue
        if not part.trouble:
            if at < end:
                remarks.append(f"what stands from line {part.line} is not in {BEFORE}; left out")
            else:
                steps.append(part.table)
        elif at >= end:
            remarks.append(f"what stands from line {part.line} cannot be read: {part.trouble}")
            if not lost:  # it was added since
                remarks += _without_it(len(steps) + 1, len(steps) + len(now) - at)
                break
            lost = 0
    return steps, remarks


def _first(places: Sequence[int], least: int) -> int | None:
    """Return the first of some places in order that is no less than one."""
    at = bisect.bisect_left(places, least)
    return places[at] if at < len(places) else None


def _without_it(number: int, last: int) -> list[str]:
    """Name the steps that cannot be kept because one before them is not."""
    if last <= number:
        return []
    which = f"step {last}" if last == number + 1 else f"steps {number + 1} to {last}"
    return [f"{which} cannot be kept without step {number}"]


def _longest(
    source: str,
    torn: TornPlan,
    head: Table,
    steps: list[Table],
    remarks: list[str],
    path: Path,
    reach: Reach,
) -> Saved | None:
    """Return the plan with as many of its first steps as can have happened."""
    dropped: list[str] = []
    while True:
        plan, count, why = _opens({**head, "step": steps}, path, reach)
        if plan is not None and count == len(steps):
            held = torn.seal.steps if torn.seal is not None else 0
            missing = () if count >= held else (f"it held {held} steps when written",)
            return Saved(source, plan, (*missing, *torn.lost, *remarks, *dropped))
        if not steps:
            return None
        last = count + 1
        dropped = [f"step {last} cannot be kept: {why}", *_without_it(last, len(steps)), *dropped]
        steps = steps[:count]


def _wrong_head(head: Table, path: Path) -> str:
    """Say what is wrong with what stands above the steps."""
    try:
        planfile.parse({**head, "step": []}, path)
    except Unusable as error:
        return error.message
    return ""


def _wrong(part: Part) -> str:
    """Say what is wrong with one step by itself, whatever stands before it."""
    if part.trouble:
        return part.trouble
    table = {"step": [part.table]}
    found, one = records.problems_or_record(table, _One, plan_tables.converter())
    if one is not None:
        found = list(plan_checks.by_itself(one.step[0]))
    return "; ".join(re.sub(r"\bstep\[1\]\.?", "", each) for each in found)


def _opens(tables: Table, path: Path, reach: Reach) -> tuple[Plan | None, int, str]:
    """Return the plan, how many of its first steps can have happened, and why not the next."""
    try:
        plan = planfile.parse(tables, path)
    except Unusable as error:
        named = [int(number) for number in re.findall(r"^step\[(\d+)\]", error.message, re.M)]
        count = min(named, default=len(tables["step"])) - 1
        return None, max(0, count), error.message
    return (plan, *reach(plan))
