"""Somebody at the keyboard of the program: in this process, or at a real terminal.

Both are driven alike: `types` puts lines in, `sees` waits for words, `leaves` and `ends` end it.
"""

import io
import os
import re
import signal
import sys
import threading
from collections import deque
from pathlib import Path
from typing import Any, Protocol

import pexpect
import pytest

from planner import commands

ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
ROWS = 40
PATIENCE = 60  # s; a guide that neither asks nor ends by then hangs


class Keyboard(Protocol):
    """A conversation with the program.

    Attributes
    ----------
    seen : all that was waited for so far, as the terminal got it.
    status : the exit status; None before the end.
    """

    seen: str
    status: int | None

    def sees(self, pattern: str) -> str:
        """Wait for the pattern and return everything shown up to it, without escape codes."""

    def types(self, *lines: str) -> None:
        """Type lines, each at the prompt that comes up."""

    def leaves(self, how: str) -> None:
        """Leave in one of the ways there are, some of them rude."""

    def ends(self) -> str:
        """Wait for the program to end by itself and return what it said last."""

    def close(self) -> None:
        """Put an end to it."""


class Terminal:
    """A process of its own at a pseudo-terminal."""

    def __init__(
        self, folder: Path, *given: str, columns: int = 80, rows: int = ROWS, **environment: str
    ) -> None:
        gone = ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "LINES")
        kept = {k: v for k, v in os.environ.items() if k not in gone}
        self.seen = ""
        self._child = pexpect.spawn(
            sys.executable,
            ["-m", "planner", *given],
            cwd=str(folder),
            env=kept | {"TERM": "xterm-256color", "OPENBLAS_NUM_THREADS": "1"} | environment,
            dimensions=(rows, columns),
            encoding="utf-8",
            timeout=PATIENCE,
        )
        self._child.delaybeforesend = None

    @property
    def status(self) -> int | None:
        return self._child.exitstatus

    def sees(self, pattern: str) -> str:
        self._child.expect(pattern)
        shown = self._child.before + self._child.after
        self.seen += shown
        return ESCAPES.sub("", shown)

    def types(self, *lines: str) -> None:
        for line in lines:
            self._child.sendline(line)

    def leaves(self, how: str) -> None:
        if how == "killed":
            self._child.kill(signal.SIGKILL)
        elif how == "end of input":
            self._child.sendeof()
        elif how == "ctrl-c":
            self._child.sendintr()
        else:
            self._child.sendline("q")
        self.ends()

    def ends(self) -> str:
        self._child.expect(pexpect.EOF)
        self.seen += self._child.before
        last = ESCAPES.sub("", self._child.before)
        self.close()
        return last

    def close(self) -> None:
        """Wait for the end that was seen to come, or put an end to it, however busy the machine."""
        if self._child.closed:
            return
        if not self._child.flag_eof:
            self._child.kill(signal.SIGKILL)
        self._child.wait()
        self._child.close()


class _Killed(BaseException):
    """The process is no more; raised when the test is over, so that the thread ends."""


class _Screen(io.StringIO):
    """A terminal to write on."""

    def isatty(self) -> bool:
        return True


class Scripted(io.TextIOBase):
    """The program in a thread of this process, and the standard input it reads.

    Program and test take turns: the program goes on to its next question only when the test waits
    for something not shown yet, and then the test stands still. So nothing depends on who is
    quicker. After a kill the thread stands at its question until the test is over.
    """

    def __init__(self, folder: Path, *given: str, columns: int = 80) -> None:
        self._folder, self._given, self._columns = folder, given, columns
        self.seen = ""
        self.status: int | None = None
        self._over = False
        self._screen, self._unread, self._read = _Screen(), "", 0
        self._lines: deque[str | type[BaseException]] = deque()
        self._program, self._test = threading.Semaphore(0), threading.Semaphore(0)
        self._thread = threading.Thread(target=self._runs, daemon=True)

    # --- the program's side

    def _runs(self) -> None:
        try:
            self._program.acquire()
            commands.main(self._given)
        except SystemExit as done:
            self.status = done.code if isinstance(done.code, int) else 0
        except _Killed:
            pass
        finally:
            self._over = True
            self._test.release()

    def isatty(self) -> bool:
        return True

    def readline(self, *_: Any) -> str:  # type: ignore[override]
        self._test.release()
        self._program.acquire()
        answer = self._lines.popleft()
        if not isinstance(answer, str):
            raise answer
        self._screen.write(answer.rstrip("\n") + "\n")  # as a terminal shows what is typed
        return answer

    # --- the test's side

    def _goes_on(self) -> bool:
        """Let the program go on to its next question or its end; say whether it could."""
        begun = self._thread.ident is not None
        if self._over or (begun and not self._lines):
            return False
        if not begun:
            self._thread.start()
        with pytest.MonkeyPatch.context() as patch:
            patch.chdir(self._folder)
            for name in ("NO_COLOR", "FORCE_COLOR"):
                patch.delenv(name, raising=False)
            patch.setenv("TERM", "xterm-256color")
            patch.setenv("COLUMNS", str(self._columns))
            patch.setenv("LINES", str(ROWS))
            patch.setattr(sys, "stdin", self)
            patch.setattr(sys, "stdout", self._screen)
            patch.setattr(sys, "stderr", self._screen)
            self._program.release()
            assert self._test.acquire(timeout=PATIENCE), "the program neither asks nor ends"
        shown = self._screen.getvalue()
        self._unread, self._read = self._unread + shown[self._read :], len(shown)
        return True

    def _take(self, end: int) -> str:
        shown, self._unread = self._unread[:end], self._unread[end:]
        self.seen += shown
        return ESCAPES.sub("", shown)

    def sees(self, pattern: str) -> str:
        wanted = re.compile(pattern, re.DOTALL)
        while (found := wanted.search(self._unread)) is None:
            assert self._goes_on(), f"{pattern!r} is not shown, but {self._unread[-1500:]}"
        return self._take(found.end())

    def types(self, *lines: str) -> None:
        self._lines += [f"{line}\n" for line in lines]

    def leaves(self, how: str) -> None:
        if how == "killed":
            self._over = True
            self._take(len(self._unread))
            return
        ways: dict[str, str | type[BaseException]] = {
            "end of input": "",
            "ctrl-c": KeyboardInterrupt,
        }
        self._lines.append(ways.get(how, "q\n"))
        self.ends()

    def ends(self) -> str:
        while self._goes_on():
            pass
        assert self._over, f"it does not end, but asks: {self._unread[-1500:]}"
        return self._take(len(self._unread))

    def close(self) -> None:
        if not self._thread.is_alive():
            return
        self._lines = deque([_Killed])
        self._over = False
        self._goes_on()
        self._thread.join()
