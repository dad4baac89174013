"""What takes longer than a second says so on the terminal, and is gone when it is done."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def told(what: str) -> Iterator[None]:
    """Show what is being worked out until it is done; nothing where nobody watches.

    It stands on standard error, in plain letters: a pipe, a file and `--json` get nothing of it.
    """
    watched = sys.stderr.isatty()
    if watched:
        sys.stderr.write(f"{what} …")
        sys.stderr.flush()
    try:
        yield
    finally:
        if watched:
            sys.stderr.write(f"\r{' ' * (len(what) + 2)}\r")
            sys.stderr.flush()
