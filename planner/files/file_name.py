"""Names of files as they are typed: what cannot be one is refused before anything is opened."""

import os
import shlex
from pathlib import Path, PureWindowsPath

from planner.trade.refusals import Refusal, quoted


def trouble(name: str) -> str:
    """Say why there can be no file of this name, or that it is out of reach; or ``""``."""
    if not name.strip():
        return "no name is given"
    try:
        os.stat(name)
    except (FileNotFoundError, NotADirectoryError):
        return ""  # whether it must be there is for the command to say
    except OSError as error:
        return (error.strerror or str(error)).lower()
    except ValueError:
        return "it holds a character that no name can have"
    return ""


def far_away(name: str, folder: str) -> bool:
    r"""Say whether Windows would ask another machine for a file that a file in a folder names.

    A name such as ``\\machine\share\rules.toml`` makes it open a connection. A plan that
    lies on that share itself may name one.
    """
    drive = PureWindowsPath(name).drive
    return drive.startswith("\\\\") and drive.lower() != PureWindowsPath(folder).drive.lower()


def typed(text: str, usual: str = "") -> Path:
    """Return the path of a file that was typed at a prompt; ``~`` is somebody's home.

    Parameters
    ----------
    usual : a name that would do, for the refusal.

    Raises
    ------
    Refusal
        There can be no file of that name.
    """
    try:
        path = Path(text).expanduser()
        why = trouble(str(path)) or ("" if path.name not in ("", "..") else "it names no file")
    except RuntimeError:  # of somebody who is not known here
        path, why = Path(text), "there is no user of that name"
    if why:
        raise Refusal(
            "bad-value",
            f"{quoted(text)} cannot be used: {why}.",
            hint=f"for example {usual or 'car.toml'}",
        )
    return path


def in_command(path: Path) -> str:
    """Return a path as it is typed in a command, blanks and all."""
    return shlex.quote(str(path))


def from_here(path: Path) -> str:
    """Return the same from the folder the program runs in, as short as will do."""
    try:
        inside = path.absolute().relative_to(Path.cwd())
    except (ValueError, OSError):  # it lies elsewhere, or there is no such folder any more
        return in_command(path)
    return min(in_command(path), in_command(inside), key=len)
