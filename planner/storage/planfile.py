"""The plan file: TOML that a person can read, written so that nothing recorded is lost.

A save keeps the plan as it was under ``NAME.previous``, and then puts the new one in its place;
both files are written whole and synced before they get their names. A save takes the place of the
very file that was read, and of no other that came there in between.
"""

import contextlib
import errno
import hashlib
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import attrs

from planner.car import car_file
from planner.car.changes import Change
from planner.files import toml_files, toml_text, whole_file
from planner.files.file_name import in_command
from planner.plan.steps import (
    FORMAT,
    AmendStep,
    ChoiceStep,
    MadeStep,
    Plan,
    RunStep,
    Step,
)
from planner.run import readings
from planner.storage import lock, plan_tables, seal, since
from planner.storage.seal import Seal
from planner.trade import knobs
from planner.trade.cautions import CAUTIONS
from planner.trade.figures import is_figure
from planner.trade.numbers import LAPS
from planner.trade.refusals import Refusal, Unusable, quoted

ANOTHER_KIND = "another-kind"  # code of the refusal of a file that is no plan at all


@attrs.frozen
class Kept:
    """A plan as it was found in its file.

    Attributes
    ----------
    mark : by which the file is known again; another text has another.
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
        return (
            "This plan is not as the program wrote it: it was edited by hand since, or damaged. "
            "If nobody edited it: treadgate mend PLAN",
        )

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
        content = toml_files.read_bytes(path, "plan")
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
    """Return by what the content of a plan file is known again."""
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
    """Say in which line the step begins that the first complaint is about."""
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
            "This is no plan, but TOML of another kind: a car, rules, a run, or what was learned.",
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
    problems = car_file.mistakes(plan.car)
    if problems:
        raise Unusable(
            "bad-key",
            "The plan's copy of the car file has mistakes:\n"
            + "\n".join(f"car.{problem}" for problem in problems),
            where=str(path),
            hint=_way_back(path),
        )
    problems = _impossible(plan)
    if problems:
        raise Unusable(
            "bad-key",
            "The plan file has mistakes:\n" + "\n".join(problems),
            where=str(path),
            hint=_way_back(path),
        )
    return plan


def _is_of_another_kind(data: Mapping[str, Any]) -> bool:
    """Say whether nothing of a plan is in it; a plan that was damaged holds something of one."""
    of_a_plan = "created" in data or "step" in data or isinstance(data.get("rules"), Mapping)
    return bool(data.keys() - {"format"}) and not of_a_plan


def _impossible(plan: Plan) -> list[str]:
    """Return what has the right shape but cannot be, with the path of its key."""
    found = [] if LAPS.holds(plan.laps) else [f"laps: {plan.laps} laps cannot be"]
    for number, step in enumerate(plan.step, 1):
        at = f"step[{number}]"
        if isinstance(step, RunStep):
            try:
                readings.check(step.run)
            except Refusal as refusal:
                found.append(f"{at}.run: {refusal.message} ({refusal.where})")
            continue
        if isinstance(step, AmendStep):
            earlier = plan.step[: number - 1]
            found += [f"{at}{problem}" for problem in _amend_mistakes(step, earlier)]
        if isinstance(step, ChoiceStep):
            found += [f"{at}.{problem}" for problem in _choice_mistakes(step)]
        if isinstance(step, MadeStep | AmendStep):
            found += [f"{at}.changes: {problem}" for problem in _change_mistakes(step.changes)]
    return found


def _choice_mistakes(step: ChoiceStep) -> Iterator[str]:
    """Yield what cannot be about a choice, with the path from its step."""
    for number, offer in enumerate(step.offered, 1):
        for problem in _change_mistakes(offer.changes):
            yield f"offered[{number}].changes: {problem}"
    chosen = step.chosen
    if chosen is None:
        return
    for problem in _change_mistakes(chosen.changes):
        yield f"chosen.changes: {problem}"
    for key in chosen.cautions:
        if key not in CAUTIONS:
            yield f"chosen.cautions: there is none called {key!r}"
    for name in chosen.predicted:
        if not (is_figure(name) or name.startswith("wear.")):
            yield f"chosen.predicted: there is no figure {name!r}"
    answered = [each.answered for each in chosen.basis if each.answered is not None]
    settings = [each.setting for each in answered]
    settings += [reason.setting for reason in chosen.reasons if hasattr(reason, "setting")]
    for knob, place in settings:
        if not knobs.is_place(knob, place):
            yield f"chosen: there is no {knob} at {place!r}"


def _change_mistakes(changes: Iterable[Change]) -> Iterator[str]:
    for change in changes:
        if not knobs.is_place(change.knob, change.corner):
            yield f"there is no {change.knob} at {change.corner!r}"
        elif not abs(change.amount) <= knobs.KNOBS[change.knob].largest:
            yield f"{change.knob} is not changed by {change.amount:g}"


def _amend_mistakes(step: AmendStep, before: Sequence[Step]) -> list[str]:
    """Return what cannot be about an amendment, after the steps before it."""
    amended = before[step.amends - 1] if 1 <= step.amends <= len(before) else None
    if not isinstance(amended, RunStep | MadeStep):
        return [f".amends: step {step.amends} is no run or change made before"]
    found = []
    if isinstance(amended, RunStep) != (step.run is not None):
        found.append(".run: a run is amended by a run, a change made by changes")
    if isinstance(amended, MadeStep) != bool(step.changes):
        found.append(".changes: a change made is amended by changes, a run by a run")
    if not step.reason.strip():
        found.append(".reason: a reason is wanted")
    if step.run is not None:
        try:
            readings.check(step.run)
        except Refusal as refusal:
            found.append(f".run: {refusal.message} ({refusal.where})")
    for judged in step.judged:
        in_reach = 1 <= judged.step <= len(before) and judged.step >= step.amends
        if not in_reach or not isinstance(before[judged.step - 1], RunStep):
            found.append(f".judged: step {judged.step} is no run it bears on")
    return found


def dump(plan: Plan) -> bytes:
    """Return the plan as the bytes of its file."""
    return seal.sealed(toml_text.dumps(plan_tables.tables(plan)), len(plan.step)).encode()


def create(path: Path, plan: Plan) -> str:
    """Write a new plan file; return the mark it is known by.

    Raises
    ------
    Refusal
        There is a file of that name already, or the folder is not there or not writable.
    """
    why = whole_file.refused_name(path.name, windows=os.name == "nt")
    if why:
        raise Refusal(
            "bad-value", f"A plan cannot be called so: {why}.", where=str(path), hint="day.toml"
        )
    with locked(path):
        if path.exists():
            raise Refusal(
                "exists",
                "There is a file of this name already; it is not overwritten.",
                where=str(path),
                hint=f"treadgate guide {in_command(path)} goes on with it; or give another name",
            )
        return _write(path, dump(plan))


def save(path: Path, plan: Plan, over: str | None = None) -> str:
    """Put the plan in the place of the one on disk, which is kept; call under `locked`.

    Parameters
    ----------
    over : the mark of the file that was read; another that came in its place since then stands.

    Returns
    -------
    str
        The mark of what was written.

    Raises
    ------
    Refusal
        It cannot be written, or another file stands there now.
    """
    return _write(path, dump(plan), over)


def mended(path: Path, plan: Plan, over: str | None) -> Path | None:
    """Put a mended plan in the place of a damaged one; call under `locked`.

    The damaged file is kept under a name of its own, and the version before stays as it is.

    Parameters
    ----------
    over : the mark of the damaged file; None where there was none.

    Returns
    -------
    Path or None
        Where the damaged file is kept now.

    Raises
    ------
    Refusal
        It cannot be written, or another file stands there now.
    """
    aside = None if over is None else _set_aside(path)
    _write(path, dump(plan), over, keep=False)
    return aside


def _set_aside(path: Path) -> Path:
    real = path.resolve()
    for number in range(1, 1000):
        aside = real.with_name(f"{real.name}.damaged" + (f"-{number}" if number > 1 else ""))
        try:
            whole_file.copy_new(real, aside)
        except FileExistsError:
            continue
        except OSError as error:
            raise _cannot_write(path, error) from None
        return aside
    raise _cannot_write(path, OSError(errno.EEXIST, "there are a thousand damaged ones"))


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the plan, so that no other process writes it; see `hold`.

    Raises
    ------
    Unusable
        Another process holds it.
    Refusal
        The folder cannot be written to.
    """
    if not is_there(path.parent):
        raise Refusal(
            "no-folder",
            "There is no such folder.",
            where=str(path.parent),
            hint="make the folder, put the stick back in, or correct the path",
        )
    with contextlib.ExitStack() as stack:
        try:
            stack.enter_context(lock.on(path.resolve()))  # by whatever name it was reached
        except lock.Held:
            raise Unusable(
                "locked",
                "Another process is writing this plan.",
                where=str(path),
                hint="wait for it, or close the other window",
            ) from None
        except OSError as error:
            raise _cannot_write(path, error) from None
        yield


def previous(path: Path) -> Path:
    """Return where the version before the last save is kept."""
    real = path.resolve()
    return real.with_name(real.name + ".previous")


def _write(path: Path, content: bytes, over: str | None = None, *, keep: bool = True) -> str:
    real = path.resolve()  # a link to a plan stays a link
    try:
        old = _old(path, real, over, keep=keep)
        whole_file.sweep(real)
        whole_file.sweep(previous(real))
        with whole_file.ready(real, content) as place:
            if keep and old is not None:
                whole_file.put(previous(real), old)
            _placed(path, place)
    except OSError as error:
        raise _cannot_write(path, error) from None
    return mark_of(content)


def _old(path: Path, real: Path, over: str | None, *, keep: bool) -> bytes | None:
    """Return the file that is to be written over, which must be the one that was read."""
    if not real.exists():
        if over is not None:
            raise FileNotFoundError(errno.ENOENT, "the plan is not there any more")
        return None
    old = whole_file.read(real, toml_files.LARGEST_FILE)
    if mark_of(old) != over and (over is not None or not keep):
        raise _changed_meanwhile(path)
    return old


def _placed(path: Path, place: Callable[[], None]) -> None:
    try:
        place()
    except whole_file.Unsure as error:
        raise Unusable(
            "not-confirmed",
            f"The plan was written, but the disk did not confirm it: {error.strerror}.",
            where=str(path),
            hint=f"treadgate status {in_command(path)} shows whether it is there; then another "
            "disk",
        ) from None


def _changed_meanwhile(path: Path) -> Refusal:
    return Refusal(
        "moved-on",
        "The plan file was changed from elsewhere just now. Nothing was stored.",
        where=str(path),
        hint="look where it stands now, and go on from there",
    )


def _cannot_write(path: Path, error: OSError) -> Refusal:
    return whole_file.cannot_write(path, error, "Nothing was changed: the plan cannot be written")


def _way_back(path: Path) -> str:
    kept = previous(path)
    shows = f"treadgate mend {in_command(path)} shows what can be saved"
    if is_there(kept):
        return f"{shows}; the version before the last save is kept in {kept}"
    return shows


def now() -> datetime:
    """Return the time to record, to the second, with its offset."""
    return datetime.now().astimezone().replace(microsecond=0)
