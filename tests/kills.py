"""Calls to the system, counted, recorded, and cut short by killing the process in the middle.

Install only in a process of its own (`forked`, or an interpreter of its own): nothing is put back.
"""

import itertools
import json
import os
import signal
import sys
import traceback
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

# Every call by which a file or a folder comes to be otherwise.
CALLS = ("open", "write", "fsync", "replace", "rename", "link", "unlink", "chmod", "truncate")
TIMES = ("before", "byte", "half", "after")
PARTS: dict[str, Callable[[int], int]] = {"byte": lambda _: 1, "half": lambda size: size // 2}


class Calls:
    """The calls of one process from now on; at one of them it may be killed.

    Parameters
    ----------
    at, when : number of the call, and when: before it, in the middle of it (a write, of which so
        much is done) or after it.
    """

    def __init__(self, at: int = -1, when: str = "before") -> None:
        self.made: list[str] = []
        self.log: list[tuple[Any, ...]] = []
        self._at, self._when = at, when
        self._names: dict[int, str] = {}
        for name in CALLS:
            setattr(os, name, self._counted(name, getattr(os, name)))

    def _counted(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **more: Any) -> Any:
            if name == "open" and not _creates(given[1]) and not os.path.isdir(given[0]):
                return real(*given, **more)  # only reads
            struck = len(self.made) == self._at
            self.made.append(name)
            if struck and self._when == "before":
                _die()
            if struck and self._when in PARTS and name == "write":
                real(given[0], given[1][: PARTS[self._when](len(given[1]))])
                _die()
            try:
                done = real(*given, **more)
            finally:
                if struck:
                    _die()
            self._note(name, given, done)
            return done

        return call

    def _note(self, name: str, given: tuple[Any, ...], done: Any) -> None:
        if name == "open":
            self._names[done] = os.fspath(given[0])
            self.log.append((name, os.fspath(given[0])))
        elif name == "write":
            self.log.append((name, self._names.get(given[0], ""), bytes(given[1][:done])))
        elif name == "fsync":
            self.log.append((name, self._names.get(given[0], "")))
        else:
            self.log.append(
                (name, *(os.fspath(each) for each in given if not isinstance(each, int)))
            )


def _creates(flags: int) -> bool:
    return bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def forked(work: Callable[[], Any]) -> tuple[Any, bool]:
    """Do something in a process of its own; return what it returned, and whether it was killed.

    What it returns must be able to stand in JSON.
    """
    read, write = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads that the child never uses
        child = os.fork()
    if child == 0:
        status = 1
        try:
            os.close(read)
            answer = json.dumps(work()).encode()
            with os.fdopen(write, "wb") as pipe:
                pipe.write(answer)
            status = 0
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(status)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        answer = pipe.read()
    _, ended = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(ended) and os.WTERMSIG(ended) == signal.SIGKILL
    assert killed or os.WEXITSTATUS(ended) == 0, "the child failed by itself"
    return (None if killed else json.loads(answer)), killed


def files(folder: Path) -> dict[str, bytes]:
    """Return everything in a folder."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


def put_back(folder: Path, content: dict[str, bytes]) -> None:
    """Make a folder hold this and nothing else."""
    folder.mkdir(exist_ok=True)
    for path in folder.iterdir():
        if path.is_file() and path.name not in content:
            path.unlink()
    for name, data in content.items():
        path = folder / name
        if not path.exists() or path.read_bytes() != data:
            path.write_bytes(data)


def points(made: list[str]) -> list[tuple[int, str]]:
    """Return every point at which a process can be killed among its calls."""
    return [
        (number, when)
        for (number, name), when in itertools.product(enumerate(made), TIMES)
        if when not in PARTS or name == "write"
    ]


def main() -> None:
    """Run the program with the kill that the first two arguments name."""
    at, when, *arguments = sys.argv[1:]
    from planner import commands

    calls = Calls(int(at), when)
    try:
        commands.main(arguments)
    finally:
        sys.stderr.write("\n" + json.dumps(calls.made))


if __name__ == "__main__":
    main()
