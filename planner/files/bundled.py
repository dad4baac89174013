"""Folders that come with the program."""

from pathlib import Path


def folder(name: str) -> Path:
    """Return a folder that comes with the program, such as ``rules``.

    In an installed wheel it lies inside the package, in a checkout beside it.
    """
    package = Path(__file__).parents[1]
    inside = package / name
    return inside if inside.is_dir() else package.parent / name
