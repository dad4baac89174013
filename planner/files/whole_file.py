"""Files written whole or not at all: a name leads to the old content or to all of the new.

Once `put` or `put_new` has returned, content and name are on the disk, as far as the system
confirms it, and survive a power cut.
"""

import contextlib
import errno
import os
import re
import shutil
import stat
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

from planner.trade.refusals import Refusal

T = TypeVar("T")

LONGEST_NAME = 200  # bytes; file systems take 255, and the files beside a plan have longer names

# Windows lets nobody replace a file that another program has open, a virus scanner say, which is
# soon done with it. Elsewhere a refusal is meant.
PATIENCE = 1.0 if os.name == "nt" else 0.0  # s

# What Windows refuses in names, and sticks formatted for it do everywhere.
_NOT_IN_NAMES = re.compile(r'[<>:"|?*\x00-\x1f]')
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)

# Answers of file systems that have no such call; anything else is trouble with the disk.
_NO_SUCH_CALL = {
    getattr(errno, name)
    for name in ("EINVAL", "ENOSYS", "ENOTSUP", "EOPNOTSUPP", "EBADF", "EISDIR", "EACCES", "EPERM")
    if hasattr(errno, name)
}


class Unsure(OSError):
    """The file stands under its name, but the disk did not confirm that it will stay."""


def put(path: Path, content: bytes, like: Path | None = None) -> None:
    """Write a file in the place of one that may be there.

    Parameters
    ----------
    like : whoever may read and write that file may this one; when None, who may now, or whoever
        may as a rule.

    Raises
    ------
    Unsure
        It is written, but the disk did not confirm it.
    OSError
        It cannot be written; what was there stands.
    """
    with ready(path, content, like=like) as place:
        place()


def put_new(path: Path, content: bytes, like: Path | None = None) -> None:
    """Write a file of a new name.

    Parameters
    ----------
    like : as of `put`.

    Raises
    ------
    FileExistsError
        There is a file of that name already; it stands.
    Unsure
        It is written, but the disk did not confirm it.
    OSError
        It cannot be written.
    """
    with ready(path, content, _name, like) as place:
        place()


def cannot_write(path: Path, error: OSError, said: str) -> Refusal:
    """Return what to tell the user where a file could not be written.

    Parameters
    ----------
    said : what could not be done, such as ``The page cannot be written``.
    """
    return Refusal(
        "cannot-write",
        f"{said}: {error.strerror or error}.",
        where=str(path),
        hint="allow writing to it, then try again"
        if isinstance(error, PermissionError)
        else "look at the folder, the disk and its free space, then try again",
    )


def copy_new(path: Path, target: Path) -> None:
    """Keep a file, of any size, under a new name too; raises as `put_new` does."""
    try:
        os.link(path, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        put_new(target, path.read_bytes(), path)
    else:
        _sync_folder(target.parent)


def read(path: Path, most: int) -> bytes:
    """Read a file; of one longer than `most` bytes, only so much as shows that it is.

    Raises
    ------
    OSError
        It cannot be read, or it is no file but a folder, a pipe or a device.
    """
    if not stat.S_ISREG(_patiently(path.stat).st_mode):
        raise OSError(errno.EINVAL, "it is not a file")

    def whole() -> bytes:
        with path.open("rb") as file:
            return file.read(most + 1)

    return _patiently(whole)


def sweep(path: Path) -> None:
    """Take away what a process that was killed while it wrote this file has left beside it.

    For whoever holds the right to write the file: nobody else may be at it.
    """
    with contextlib.suppress(OSError):
        for left in path.parent.iterdir():
            if _is_leftover(left.name, path.name):
                with contextlib.suppress(OSError):
                    left.unlink()


def refused_name(name: str, *, windows: bool) -> str:
    """Return why a file cannot be called so, or ``""``.

    Parameters
    ----------
    windows : by the rules of Windows too.
    """
    if len(os.fsencode(name)) > LONGEST_NAME:
        return f"its name is longer than {LONGEST_NAME} bytes"
    if windows and (found := _NOT_IN_NAMES.search(name)):
        return f"Windows does not allow {found[0]!r} in a name"
    if windows and _DEVICES.fullmatch(name):
        return "Windows reserves this name for a device"
    if windows and name.endswith((" ", ".")):
        return "Windows does not allow a blank or full stop at the end of a name"
    return ""


@contextlib.contextmanager
def ready(
    path: Path,
    content: bytes,
    name: Callable[[Path, Path], None] | None = None,
    like: Path | None = None,
) -> Iterator[Callable[[], None]]:
    """Write a file, and give it its name only when what is yielded is called.

    Whatever may fail for want of room fails before that.

    Parameters
    ----------
    name : gives the finished file its name; in the place of another, when None.
    like : as of `put`.

    Raises
    ------
    Unsure
        It has its name, but the disk did not confirm it.
    OSError
        It cannot be written or named, or what is there is no file or read-only; it stands.
    """
    model = path if name is None and _is_ours(path) and like is None else like
    new = path.with_name(f".{path.name}.{os.getpid()}.new")
    with contextlib.suppress(FileNotFoundError):
        new.unlink()  # of a dead process that had the same number
    try:
        _write(new, content, 0o666 if model is None else 0o600)
        if model is not None:
            with contextlib.suppress(OSError):  # whoever may read and write it still may
                shutil.copymode(model, new)

        def place() -> None:
            _patiently(lambda: (name or os.replace)(new, path))
            _sync_folder(path.parent)

        yield place
    finally:
        with contextlib.suppress(OSError):
            new.unlink()


def _is_ours(path: Path) -> bool:
    """Say whether there is a file to write over; refuse what is none, or is read-only."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    if not stat.S_ISREG(mode):
        raise OSError(errno.EINVAL, "it is not a file but a folder, a pipe or a device")
    if not mode & 0o222:
        raise PermissionError(errno.EACCES, "it is read-only")
    return True


def _write(new: Path, content: bytes, mode: int) -> None:
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(new, flags, mode)
    try:
        left = memoryview(content)
        while left:
            left = left[os.write(handle, left) :]
        _sync(handle)
    finally:
        os.close(handle)


def _sync(handle: int) -> None:
    """Have the system put a file on the disk itself."""
    try:
        import fcntl

        full = fcntl.F_FULLFSYNC  # type: ignore[attr-defined]  # macOS: fsync leaves the drive out
    except (ImportError, AttributeError):
        os.fsync(handle)
        return
    try:
        fcntl.fcntl(handle, full)
    except OSError:  # a file system without it, such as a network folder
        os.fsync(handle)


def _sync_folder(folder: Path) -> None:
    """Have a renaming put on the disk. Windows has no such call, and its file system needs none."""
    if os.name != "posix":
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
        try:
            _sync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        if error.errno not in _NO_SUCH_CALL:
            raise Unsure(error.errno, error.strerror or str(error)) from None


def _name(new: Path, path: Path) -> None:
    """Give a finished file its name; fails where there is a file of that name."""
    try:
        os.link(new, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links, such as that of a memory stick
        path.open("xb").close()
        os.replace(new, path)


def _patiently(call: Callable[[], T]) -> T:
    """Call again for a while where another program is in the way; see `PATIENCE`."""
    until = time.monotonic() + PATIENCE
    while True:
        try:
            return call()
        except PermissionError:
            if time.monotonic() >= until:
                raise
            time.sleep(0.02)


def _is_leftover(found: str, name: str) -> bool:
    return re.fullmatch(rf"\.{re.escape(name)}\.\d+\.new", found) is not None
