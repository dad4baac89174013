"""The hold on a plan: only one process at a time writes it.

It is a system lock on ``NAME.lock``, which the system releases when a process ends, however it
ends. Where a folder has no such locks, as some network folders do not, a marker ``NAME.held`` takes
its place. A marker left behind by a dead process is ignored once that is known, or once it is older
than `LEASE`.

The marker is not a `filelock.SoftFileLock`, which never gives up the marker of a machine that is
gone, or judges its age by the clock of this machine instead of the folder's.
"""

import contextlib
import errno
import os
import secrets
import socket
import time
from collections.abc import Iterator
from pathlib import Path

PATIENCE = 5.0  # s
LEASE = 60.0  # s; a plan is held for less than one
_PAUSE = 0.05  # s

_NO_LOCKS = {
    getattr(errno, name)
    for name in ("ENOSYS", "ENOLCK", "ENOTSUP", "EOPNOTSUPP", "EINVAL")
    if hasattr(errno, name)
}


class Held(Exception):
    """Another process holds the plan."""


@contextlib.contextmanager
def on(path: Path) -> Iterator[None]:
    """Hold a plan.

    Raises
    ------
    Held
        Another process holds it, and for longer than `PATIENCE`.
    OSError
        The folder cannot be written to, or the lock belongs to another user.
    """
    with contextlib.ExitStack() as stack:
        try:
            stack.enter_context(_by_the_system(path))
        except OSError as error:
            if error.errno not in _NO_LOCKS:
                raise
            stack.enter_context(_by_a_marker(path.with_name(f"{path.name}.held")))
        yield


def place(path: Path) -> Path:
    """Return where the system lock of a plan lies."""
    return path.with_name(f"{path.name}.lock")


@contextlib.contextmanager
def _by_the_system(path: Path) -> Iterator[None]:
    from filelock import FileLock, Timeout  # which who only looks at a plan need not wait for

    lock = FileLock(place(path), timeout=PATIENCE, mode=_mode(path), fallback_to_soft=False)
    try:
        lock.acquire()
    except Timeout:
        raise Held from None
    try:
        yield
    finally:
        with contextlib.suppress(
            OSError
        ):  # what was done stands; the system releases it in the end
            lock.release()


def _mode(path: Path) -> int:
    """Return the file mode of the lock: its owner may take it, and who else may use the plan."""
    try:
        return 0o600 | path.stat().st_mode & 0o066
    except OSError:
        return 0o644


@contextlib.contextmanager
def _by_a_marker(marker: Path) -> Iterator[None]:
    mine = f"{socket.gethostname()} {os.getpid()} {secrets.token_hex(8)}\n"
    until = time.monotonic() + PATIENCE
    while not _set_up(marker, mine):
        if not _cleared(marker) and time.monotonic() >= until:
            raise Held
        time.sleep(_PAUSE)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            if marker.read_text("utf-8") == mine:
                marker.unlink()


def _set_up(marker: Path, text: str) -> bool:
    try:
        with marker.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        return False
    return True


def _cleared(marker: Path) -> bool:
    """Remove a marker whose holder is gone; say whether it was removed."""
    try:
        text = marker.read_text("utf-8", errors="replace")
        if not _abandoned(marker, text):
            return False
        aside = marker.with_name(f"{marker.name}.{secrets.token_hex(8)}")
        marker.rename(aside)  # of several who see it, one gets it
        if aside.read_text("utf-8", errors="replace") != text:
            aside.rename(marker)  # somebody was quicker, and holds the plan by a new one
            return False
        aside.unlink()
    except FileNotFoundError:
        return True
    return True


def _abandoned(marker: Path, text: str) -> bool:
    host, number, *_ = [*text.split(), "", ""]
    if host == socket.gethostname() and number.isdecimal() and not _runs(int(number)):
        return True
    return _now_in(marker.parent) - marker.stat().st_mtime > LEASE


def _runs(process: int) -> bool:
    if os.name != "posix":
        return True  # there is no harmless way to ask; the marker's age decides
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return process > 0


def _now_in(folder: Path) -> float:
    """Return the time by the clock that dates the files of a folder, which may be another's."""
    probe = folder / f".{secrets.token_hex(8)}.now"
    try:
        probe.touch()
        return probe.stat().st_mtime
    finally:
        with contextlib.suppress(OSError):
            probe.unlink()
