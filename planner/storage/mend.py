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

from planner.files import records, toml_files
from planner.plan.steps import Plan, Step
from planner.storage import plan_tables, planfile, seal
from planner.storage.seal import Seal
from planner.trade.refusals import Unusable

BEFORE = "the version before the last save"
MOST_TOLD = 6  # differences that are told one by one

_STEP = re.compile(r"^[ \t]*\[\[[ \t]*step[ \t]*\]\][ \t]*(?:#.*)?$", re.MULTILINE)
_TABLE = re.compile(r"^[ \t]*\[", re.MULTILINE)
_CONFLICT = re.compile(
    r"^<<<<<<<[^\n]*\n(?P<ours>.*?)(?:^\|\|\|\|\|\|\|[^\n]*\n.*?)?"
    r"^=======[^\n]*\n(?P<theirs>.*?)^>>>>>>>[^\n]*\n?",
    re.MULTILINE | re.DOTALL,
)

Table = dict[str, Any]
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
class _Part:
    """A step as it stands in a file: its tables, or why they cannot be read."""

    line: int
    table: Table
    trouble: str = ""


@attrs.frozen
class _Torn:
    """A file taken apart."""

    head: Table
    parts: tuple[_Part, ...]
    lost: tuple[str, ...] = ()
    seal: Seal | None = None


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
    kept = None if before is None else _torn(_lenient(before))
    found = []
    for source, text in _sides(_lenient(raw)):
        torn = _torn(text)
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


def _lenient(raw: bytes) -> str:
    """Return the text of a file whatever its bytes; what is none stands there as U+FFFD."""
    for mark, encoding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if raw.startswith(mark):
            return raw.decode(encoding, "replace").replace("\r\n", "\n")
    return raw.decode("utf-8-sig", "replace").replace("\r\n", "\n")


def _sides(text: str) -> Iterator[tuple[str, str]]:
    """Yield the versions a file holds, each with what it is: several where it was merged."""
    if _CONFLICT.search(text) is None:
        yield "the file", text
        return
    for side, name in (("ours", "first"), ("theirs", "second")):
        yield (
            f"the file, {name} side of every conflict",
            _CONFLICT.sub(lambda found, side=side: found[side], text),  # type: ignore[misc]
        )


def _torn(text: str) -> _Torn:
    """Take a file apart at its steps and read each by itself."""
    begins = [found.start() for found in _STEP.finditer(text)]
    ends = [*begins[1:], len(text)] if begins else []
    top = text[: begins[0]] if begins else text
    head, lost = _head(top)
    parts = (
        _part(text[begin:end], text.count("\n", 0, begin) + 1)
        for begin, end in zip(begins, ends, strict=True)
    )
    return _Torn(head, tuple(parts), lost, seal.seal_of(text))


def _head(text: str) -> tuple[Table, tuple[str, ...]]:
    """Return what stands above the steps, table by table where it cannot be read as a whole."""
    whole, trouble = _read(text)
    if not trouble:
        return whole, ()
    starts = [0, *(found.start() for found in _TABLE.finditer(text))]
    head: Table = {}
    lost = []
    for begin, end in zip(starts, [*starts[1:], len(text)], strict=True):
        line = text.count("\n", 0, begin) + 1
        table, why = _read(text[begin:end])
        if not why:
            why = _joined(head, table)
        if why:
            lost.append(f"line {line}: {text[begin:end].strip()[:40]!r} cannot be read: {why}")
    return head, tuple(lost)


def _joined(into: Table, table: Table) -> str:
    """Put a table into another; say why not where both have the same key."""
    for key, value in table.items():
        if key not in into:
            into[key] = value
        elif isinstance(value, dict) and isinstance(into[key], dict):
            if why := _joined(into[key], value):
                return why
        else:
            return f"{key} is there twice"
    return ""


def _part(text: str, line: int) -> _Part:
    data, trouble = _read(text)
    if trouble:
        return _Part(line, {}, trouble)
    (table,) = data["step"]
    return _Part(line, table)


def _read(text: str) -> tuple[Table, str]:
    """Return the tables of a text, or why there are none."""
    if "\ufffd" in text:
        return {}, "there are bytes in it that are no text"
    try:
        return toml_files.parse_toml(text.encode("utf-8", "replace"), "", "plan"), ""
    except Unusable as error:
        return {}, error.message.removeprefix("The plan file is ").removeprefix("not valid TOML: ")


def _alone(source: str, torn: _Torn, path: Path, replays: Replays) -> Saved | None:
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


def _merged(source: str, torn: _Torn, kept: _Torn, path: Path, replays: Replays) -> Saved | None:
    """Return the version before with what the file has beyond it."""
    remarks: list[str] = []
    head = torn.head
    if _wrong(head, None, path):
        head = kept.head
        remarks.append("what stands above the steps cannot be read, and is taken from there")
    readable = [p for p in torn.parts if not p.trouble and not _wrong(head, p.table, path)]
    steps = [part.table for part in kept.parts if not part.trouble]
    beyond = list(readable)
    for number, table in enumerate(steps, 1):
        if (same := next((part for part in beyond if part.table == table), None)) is not None:
            beyond.remove(same)
            continue
        other = next((part for part in beyond if _identity(part.table) == _identity(table)), None)
        if other is None:
            remarks.append(f"step {number} cannot be read in the file, and is taken from there")
            continue
        beyond.remove(other)
        said = differences(table, other.table)
        remarks.append(
            f"step {number} from line {other.line} differs, and is taken from there: {said}"
        )
    last = steps[-1].get("time") if steps else None
    steps += [part.table for part in beyond if not _earlier(part.table.get("time"), last)]
    return _longest(f"{source}, and {BEFORE}", torn, head, steps, remarks, path, replays)


def _identity(step: Table) -> tuple[str, str]:
    return str(step.get("kind")), str(step.get("time"))


def _earlier(time: Any, than: Any) -> bool:
    try:
        return bool(time < than)
    except TypeError:
        return than is not None


def _longest(
    source: str,
    torn: _Torn,
    head: Table,
    steps: list[Table],
    remarks: list[str],
    path: Path,
    replays: Replays,
) -> Saved | None:
    """Return the plan with as many of the steps, from the first on, as can have happened."""
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


@attrs.frozen
class Conflict:
    """A place where a file holds two versions: its line, and the lines that only one side has."""

    line: int
    first: tuple[str, ...]
    second: tuple[str, ...]


def conflicts(raw: bytes) -> tuple[Conflict, ...]:
    """Return where a merge has left two versions in a file, and in what they differ."""
    text = _lenient(raw)
    found = []
    for each in _CONFLICT.finditer(text):
        first, second = (
            [row.strip() for row in each[side].splitlines()] for side in ("ours", "theirs")
        )
        line = text.count("\n", 0, each.start()) + 1
        found.append(Conflict(line, _only(first, second), _only(second, first)))
    return tuple(found)


def _only(rows: list[str], other: list[str]) -> tuple[str, ...]:
    there = {*other, ""}
    return tuple(_short(row, 100) for row in rows if row not in there)


def edited(raw: bytes, before: bytes | None, name: str) -> str:
    """Say in what a file differs from the version before its last save, or ``""``.

    Parameters
    ----------
    name : of that version. The step that was added by the last save is not in it.
    """
    now, was = _torn(_lenient(raw)), _torn(_lenient(before or b""))
    if not was.head or now.head.get("created") != was.head.get("created"):
        return ""
    said = [differences(was.head, now.head)] if now.head != was.head else []
    for number, (new, old) in enumerate(zip(now.parts, was.parts, strict=False), 1):
        if new.trouble or old.trouble or new.table == old.table:
            continue
        if _identity(new.table) != _identity(old.table):
            said.append(f"step {number} is another one")
            break
        said.append(f"step {number}: {differences(old.table, new.table)}")
    if said:
        more = f"; and {len(said) - MOST_TOLD} more" if len(said) > MOST_TOLD else ""
        return f"Against {name}: {'; '.join(said[:MOST_TOLD])}{more}."
    if len(now.parts) == len(was.parts) + 1:
        return (
            f"Up to step {len(was.parts)} it holds what {name} holds: it was edited in step "
            f"{len(now.parts)}, or in comments and blanks."
        )
    return ""


def differences(old: Any, new: Any) -> str:
    """Say in which keys two tables differ, each with both values."""
    found = list(_differing(old, new, ""))
    more = f", and {len(found) - MOST_TOLD} more" if len(found) > MOST_TOLD else ""
    return ", ".join(found[:MOST_TOLD]) + more


def _differing(old: Any, new: Any, at: str) -> Iterator[str]:
    if old == new:
        return
    if isinstance(old, dict) and isinstance(new, dict):
        for key in dict.fromkeys((*old, *new)):
            yield from _differing(old.get(key), new.get(key), f"{at}.{key}" if at else key)
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for number, (one, other) in enumerate(zip(old, new, strict=True), 1):
            yield from _differing(one, other, f"{at}[{number}]")
    else:
        yield f"{at} is {_short(new)} and was {_short(old)}"


def _short(value: Any, most: int = 30) -> str:
    if value is None:
        return "not there"
    text = str(value)
    return text if len(text) <= most else f"{text[: most - 1]}…"
