"""Plans written: under their lock, whole or not at all, and the version before kept.

A save keeps the plan as it was under ``NAME.previous``, and then puts the new one in its place;
both files are written whole and synced before they get their names. A save replaces only the file
that was read, never another that took its place in between.
"""

import contextlib
import errno
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import attrs

from planner.files import toml_files, whole_file
from planner.files.file_name import in_command
from planner.plan.steps import Plan
from planner.storage import lock, plan_tables, planfile
from planner.trade.refusals import Refusal, Unusable


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
            "bad-value", f"That name cannot be used: {why}.", where=str(path), hint="day.toml"
        )
    content = _readable(path, plan)
    _refuse_taken(path)  # before a lock is left beside somebody else's file
    with locked(path):
        _refuse_taken(path)
        return _write(path, content)


def _refuse_taken(path: Path) -> None:
    if path.exists():
        raise Refusal(
            "exists",
            "There is a file of this name already; it is not overwritten.",
            where=str(path),
            hint=f"treadgate guide {in_command(path)} goes on with it; or give another name",
        )


def save(path: Path, plan: Plan, over: str | None = None, known: int = 0) -> str:
    """Put the plan in the place of the one on disk, which is kept; call under `locked`.

    Parameters
    ----------
    over : the mark of the file that was read; another file in its place is not overwritten.
    known : how many of its steps were read from there.

    Returns
    -------
    str
        The mark of what was written.

    Raises
    ------
    Refusal
        It cannot be written, could not be read back, or another file stands there now.
    """
    return _write(path, _readable(path, plan, known), over)


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
    content = _readable(path, plan)
    aside = None if over is None else _set_aside(path)
    _write(path, content, over, keep=False)
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
    if not planfile.is_there(path.parent):
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
        except PermissionError as error:
            left = lock.place(path.resolve())  # by another user, perhaps
            raise _cannot_write(left if left.exists() else path, error) from None
        except OSError as error:
            raise _cannot_write(path, error) from None
        yield


def _readable(path: Path, plan: Plan, known: int = 0) -> bytes:
    """Return a plan as the bytes of its file, which can be read back.

    Raises
    ------
    Refusal
        They could not; says why, and what to do.
    """
    content = planfile.dump(plan)
    if len(content) > toml_files.LARGEST_FILE:
        raise Refusal(
            "too-large",
            f"With this the plan would have {len(content):,} bytes; it may have "
            f"{toml_files.LARGEST_FILE:,}. Nothing was stored.",
            where=str(path),
            hint="shorten what you typed; or go on in another plan: treadgate taught "
            f"{in_command(path)} taught.toml, then treadgate start NEXT.toml --taught taught.toml",
        )
    new = planfile.dump(attrs.evolve(plan, step=plan.step[known:]))
    try:
        plan_tables.plan(toml_files.parse_toml(new, str(path), "plan"), str(path))
    except Unusable as error:
        raise Refusal(
            "not-readable",
            f"Nothing was stored: it could not be read back. {error.message}",
            where=str(path),
            hint="leave out what is unusual in it, and report this",
        ) from None
    return content


def _write(path: Path, content: bytes, over: str | None = None, *, keep: bool = True) -> str:
    real = path.resolve()  # a link to a plan stays a link
    try:
        old = _old(path, real, over, keep=keep)
        whole_file.sweep(real)
        whole_file.sweep(planfile.previous(real))
        with whole_file.ready(real, content) as place:
            if keep and old is not None:
                whole_file.put(planfile.previous(real), old, real)
            _placed(path, place)
    except OSError as error:
        raise _cannot_write(path, error) from None
    return planfile.mark_of(content)


def _old(path: Path, real: Path, over: str | None, *, keep: bool) -> bytes | None:
    """Return the file that is to be written over, which must be the one that was read."""
    if not real.exists():
        if over is not None:
            raise FileNotFoundError(errno.ENOENT, "the plan is not there any more")
        return None
    old = whole_file.read(real, toml_files.LARGEST_FILE)
    if planfile.mark_of(old) != over and (over is not None or not keep):
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
