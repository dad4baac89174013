"""Files written whole or not at all: a name leads to the old content or to all of the new."""

import contextlib
import os
from collections.abc import Callable
from pathlib import Path


def put(path: Path, content: bytes) -> None:
    """Write a file in the place of one that may be there.

    Raises
    ------
    OSError
        It cannot be written; what was there stands.
    """
    _written(path, content, os.replace)


def put_new(path: Path, content: bytes) -> None:
    """Write a file of a new name.

    Raises
    ------
    FileExistsError
        There is a file of that name already; it stands.
    OSError
        It cannot be written.
    """
    _written(path, content, _name)


def _written(path: Path, content: bytes, name: Callable[[Path, Path], None]) -> None:
    new = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        with new.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        name(new, path)
    finally:
        with contextlib.suppress(OSError):
            new.unlink()


def _name(new: Path, path: Path) -> None:
    """Give a finished file its name; fails where there is a file of that name."""
    try:
        os.link(new, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links, such as that of a memory stick
        path.open("xb").close()
        os.replace(new, path)
