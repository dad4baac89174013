"""The plan file: TOML that a person can read, and what is wrong where it cannot be used."""

import hashlib
import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import attrs

from planner.files import toml_files, toml_text, whole_file
from planner.files.file_name import in_command
from planner.plan.steps import (
    FORMAT,
    Plan,
)
from planner.storage import plan_checks, plan_tables, seal, since
from planner.storage.seal import Seal
from planner.trade.refusals import Refusal, Unusable, quoted

ANOTHER_KIND = "another-kind"  # code of the refusal of a file that is no plan at all
_MINUTE = timedelta(minutes=1)
EDITED = "This plan is not as the program wrote it: it was edited by hand since, or damaged."


@attrs.frozen
class Kept:
    """A plan as it was found in its file.

    Attributes
    ----------
    mark : identifies the content of the file.
    seal : what its first line says of it, if there is one.
    """

    plan: Plan
    mark: str
    seal: Seal | None = None

    @property
    def remarks(self) -> tuple[str, ...]:
        """What should be known of the file."""
        if not self.touched:
            return ()
        return (f"{EDITED} If nobody edited it: treadgate mend PLAN",)

    @property
    def touched(self) -> bool:
        """Whether the file is not as the program wrote it."""
        return self.seal is not None and not self.seal.holds


def load(path: Path) -> Plan:
    """Read a plan file; see `read`."""
    return read(path).plan


def read(path: Path, known: Kept | None = None) -> Kept:
    """Read a plan file, with the mark it is known by.

    Parameters
    ----------
    known : what was read before; returned where the file is still the same.

    Raises
    ------
    Refusal
        There is no such file.
    Unusable
        It is damaged, of a newer format, or not a plan; says where and what to do.
    """
    must_exist(path)
    try:
        content = toml_files.read_bytes(path, "plan", toml_files.LARGEST_FILE)
        if known is not None and mark_of(content) == known.mark:
            return known
        text = toml_files.text_of(content, str(path), "plan")
        data = toml_files.parse_text(text, str(path), "plan")
    except Unusable as error:
        hint = "; ".join(part for part in (error.hint, _way_back(path)) if part)
        raise Unusable(error.code, error.message, where=error.where, hint=hint) from None
    try:
        plan = parse(data, path)
    except Unusable as error:
        raise _with_line(error, text) from None
    return Kept(plan, mark_of(content), seal.seal_of(text))


def raw(path: Path) -> bytes | None:
    """Return the bytes of a file whatever they are, no more than a plan can have; None for none.

    Raises
    ------
    Unusable
        It is there and cannot be read.
    """
    try:
        return whole_file.read(path, toml_files.LARGEST_FILE)
    except FileNotFoundError:
        return None
    except OSError as error:
        reason = error.strerror or str(error)
        raise Unusable(
            "unreadable", f"The file cannot be read: {reason}.", where=str(path)
        ) from None


def mark_of(content: bytes) -> str:
    """Return what identifies the content of a plan file."""
    return hashlib.sha256(content).hexdigest()


def refuse_cut_short(kept: Kept, path: Path) -> None:
    """Refuse a plan that holds fewer steps than the program wrote into it.

    Raises
    ------
    Unusable
        Steps were lost; says how many.
    """
    left, found = len(kept.plan.step), kept.seal
    if found is None or found.holds or (found.ends and left >= found.steps):
        return
    raise Unusable(
        "cut-short",
        f"This plan held {since.steps(found.steps)} when the program wrote it, and {left} are left"
        + (": steps were lost or taken out." if found.ends else "; its end is cut off."),
        where=f"{path}, after step {left}",
        hint=f"{_way_back(path)}; where steps are missing on purpose, delete the first line of "
        "the plan",
    )


def _with_line(error: Unusable, text: str) -> Unusable:
    """Add the line on which the step of the first complaint begins."""
    named = re.search(r"^step\[(\d+)\]", error.message, re.MULTILINE)
    begins = [m.start() for m in re.finditer(r"^[ \t]*\[\[step\]\]", text, re.MULTILINE)]
    if named is None or not 1 <= int(named[1]) <= len(begins):
        return error
    line = text.count("\n", 0, begins[int(named[1]) - 1]) + 1
    where = f"{error.where}, step {named[1]} from line {line}"
    return Unusable(error.code, error.message, where=where, hint=error.hint)


def must_exist(path: Path) -> None:
    """Refuse where there is no plan file."""
    if is_there(path):
        return
    gone = not is_there(path.parent)
    raise Refusal(
        "not-found",
        "There is no plan here; its folder is not there either."
        if gone
        else "There is no plan here.",
        where=str(path),
        hint=f"treadgate start {in_command(path)}" + (" once the folder is there" if gone else ""),
    )


def is_there(path: Path) -> bool:
    """Say whether there is such a file or folder; what cannot be looked at is not there."""
    try:
        return path.exists()
    except OSError:  # a folder that may not be entered, a stick that was pulled out
        return False


def parse(data: Mapping[str, Any], path: Path) -> Plan:
    """Turn the tables of a plan file into a plan; see `load`.

    Raises
    ------
    Unusable
        It is no plan, of a newer format, or a key is missing, unknown or holds what it cannot.
    """
    if _is_of_another_kind(data):
        raise Unusable(
            ANOTHER_KIND,
            "This is a TOML file of another kind, not a plan: a car, rules, a run, or what was "
            "learned.",
            where=str(path),
            hint="treadgate days lists the plans of a folder",
        )
    form = data.get("format")
    if isinstance(form, int) and not isinstance(form, bool) and form > FORMAT:
        told = form if form < 10**9 else quoted(hex(form))  # Python writes out no number so long
        raise Unusable(
            "newer-format",
            f"This plan is of format {told}; this program reads up to {FORMAT}.",
            where=f"{path}, format",
            hint="use the newer program that wrote it",
        )
    if form != FORMAT:
        raise Unusable(
            "not-a-plan", "This is not a plan file.", where=f"{path}, format", hint=_way_back(path)
        )
    try:
        plan = plan_tables.plan(data, str(path))
    except Unusable as error:
        raise Unusable(error.code, error.message, where=error.where, hint=_way_back(path)) from None
    problems = plan_checks.mistakes(plan)
    if problems:
        raise Unusable("bad-key", "\n".join(problems), where=str(path), hint=_way_back(path))
    return plan


def _is_of_another_kind(data: Mapping[str, Any]) -> bool:
    """Say whether nothing of a plan is in it; a plan that was damaged holds something of one."""
    of_a_plan = "created" in data or "step" in data or isinstance(data.get("rules"), Mapping)
    return bool(data.keys() - {"format"}) and not of_a_plan


def dump(plan: Plan) -> bytes:
    """Return the plan as the bytes of its file."""
    return seal.sealed(toml_text.dumps(plan_tables.tables(plan)), len(plan.step)).encode()


def previous(path: Path) -> Path:
    """Return where the version before the last save is kept."""
    real = path.resolve()
    return real.with_name(real.name + ".previous")


def _way_back(path: Path) -> str:
    kept = previous(path)
    shows = f"treadgate mend {in_command(path)} shows what can be saved"
    if is_there(kept):
        return f"{shows}; the version before the last save is kept in {kept}"
    return shows


def now() -> datetime:
    """Return the time to record, to the second, with its offset in whole minutes, as TOML has it.

    A zone that nobody can live in is UTC.
    """
    try:
        at = datetime.now().astimezone()
    except ValueError:  # a day or more from UTC
        at = datetime.now(UTC)
    offset = at.utcoffset() or timedelta()
    whole = int(offset / _MINUTE) * _MINUTE
    return at.astimezone(timezone(whole)).replace(microsecond=0)
