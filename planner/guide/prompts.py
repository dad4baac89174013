"""Talking with the crew: questions, answers, and leaving at any of them."""

import re
import sys
from collections.abc import Callable, Iterable
from io import TextIOWrapper
from typing import IO, TextIO, TypeVar

from rich.console import Console, RenderableType

from planner.run.readings import MOST_WORDS
from planner.screen import paper
from planner.trade.refusals import Refusal, quoted

T = TypeVar("T")

MOST_TYPED = MOST_WORDS + 10  # letters of a line: a note, and the word before it
BACK = ("b", "back")
NOTHING_BEFORE = "nothing-before"  # code of the refusal to go back any further
_QUIT = ("q", "quit")
# What keys that type nothing send: arrows and the like, and the marks around something pasted.
_KEYS = re.compile(r"\x1b(?:\[[0-9;?]{0,20}[A-Za-z~]|O[A-Z])")
_OPTION = re.compile(r"--(?=[a-z])")


class Leave(Exception):
    """The crew leaves the guide here."""


class Aside(Exception):
    """Something else was stored: look again at what is due."""


class Back(Exception):
    """The crew goes back to the question before."""


Tell = str | Callable[[], None]  # what a question mark tells, or what tells it


class Talk:
    """One conversation on a terminal, or through pipes.

    Parameters
    ----------
    console : where questions and answers are shown.
    typed : where answers are read; standard input when None.
    """

    def __init__(self, console: Console, typed: TextIO | None = None) -> None:
        self.console = console
        self._typed = sys.stdin if typed is None else typed
        self._echo = not self._typed.isatty()
        if isinstance(self._typed, TextIOWrapper):
            # A broken byte from a worn keyboard cable is a typing error, not the end of the day.
            self._typed.reconfigure(errors="replace")

    def show(self, parts: Iterable[RenderableType]) -> None:
        """Print the parts one below the other."""
        paper.put(self.console, parts)

    def pages(self, parts: Iterable[RenderableType], below: int = 0) -> None:
        """Print the parts a window at a time; b leaves the rest out.

        Parameters
        ----------
        below : how many lines come after the parts, in the same window as the last of them.
        """
        rows = paper.rows(self.console, parts)
        room = paper.height(self.console) - 2 if self.console.is_terminal else len(rows) + below
        while rows and len(rows) + below > room:
            self._put(rows[:room])
            rows = rows[room:]
            if self.ask("Enter shows more").lower() in BACK:
                return
        self._put(rows)

    def _put(self, rows: Iterable[str]) -> None:
        self.console.file.writelines(f"{row}\n" for row in rows)
        self.console.file.flush()

    def say(self, text: str, style: str = "") -> None:
        """Print a paragraph."""
        self.show([paper.line(text, style)])

    def hint(self, text: str) -> None:
        """Print a paragraph that stands back a little."""
        self.show([paper.hint(text)])

    def command(self, text: str) -> None:
        """Print a command on one line, however long, so that it can be pasted."""
        self.console.file.write(f"  {paper.clean(text)}\n")
        self.console.file.flush()

    def refuse(self, refusal: Refusal) -> None:
        """Say what was wrong, where, and what to type instead."""
        for row in refusal.message.splitlines():
            self.say(row, "bold")
        if refusal.where:
            self.show([paper.indented(f"where: {_typed(refusal.where)}", 2)])
        if refusal.hint:
            self.show([paper.indented(f"try:   {_typed(refusal.hint)}", 2)])

    def ask(self, prompt: str) -> str:
        """Ask for a line and return it cleaned; raises `Leave` when the crew leaves."""
        while len(answer := self._line(prompt)) > MOST_TYPED:
            self.refuse(_endless(answer))
        return answer

    def _line(self, prompt: str) -> str:
        out = self.console.file
        try:
            typed = self._read(f"{paper.clean(prompt)}> ")
        except KeyboardInterrupt:
            typed = ""
        if not typed:
            out.write("\n")
            raise Leave
        answer = paper.clean(_KEYS.sub("", typed)).strip()
        if self._echo:
            # Typed answers are seen anyway; piped ones would leave the prompts in a heap.
            out.write(answer + "\n")
        if answer.lower() in _QUIT:
            raise Leave
        return answer

    def _read(self, prompt: str) -> str:
        """Show the prompt and return the line that is typed; ``""`` at the end of the input.

        At a terminal the line can be edited, and the arrows bring back the lines before it; those
        are kept no longer than the program runs.
        """
        if _edits_lines(self._typed, self.console.file):
            try:
                return input(prompt) + "\n"
            except EOFError:
                return ""
        self.console.file.write(prompt)
        self.console.file.flush()
        return self._typed.readline()

    def until(self, prompt: str, read: Callable[[str], T], tell: Tell, *, back: bool = False) -> T:
        """Ask until the answer can be read; says each time what was wrong with it.

        Parameters
        ----------
        tell : what a question mark shows before the question comes again.
        back : there is a question before this one that the crew may go back to.

        Raises
        ------
        Back
            The crew goes back.
        """
        while True:
            answer = self.ask(prompt)
            if answer == "?":
                if isinstance(tell, str):
                    self.hint(tell)
                else:
                    tell()
                continue
            if back and answer.lower() in BACK:
                raise Back
            try:
                return read(answer)
            except Refusal as refusal:
                self.refuse(or_first(refusal, answer))

    def yes(self, question: str, tell: str, *, back: bool = False) -> bool:
        """Ask a question that Enter answers with yes; where one can go `back`, that is a no."""
        return self._yes_or_no(f"{question} [Y/n]", yes, tell, back=back)

    def sure(self, question: str, tell: str) -> bool:
        """Ask before something is lost: Enter answers no."""
        return self._yes_or_no(f"{question} [y/N]", _sure, tell, back=True)

    def _yes_or_no(
        self, prompt: str, read: Callable[[str], bool], tell: str, *, back: bool
    ) -> bool:
        try:
            return self.until(prompt, read, tell, back=back)
        except Back:
            return False

    def reason(self, question: str) -> str:
        """Ask for a reason until there is one; raises `Back` when the crew goes back."""
        return self.until(
            question,
            _some,
            "Give a reason: next month somebody will ask. A few words will do; b goes back.",
            back=True,
        )


def _edits_lines(typed: TextIO, shown: IO[str]) -> bool:
    """Say whether lines are typed at a terminal that this system can edit them at."""
    if typed is not sys.stdin or shown is not sys.stdout:
        return False
    if not (typed.isatty() and shown.isatty()):
        return False
    try:
        import readline  # only where somebody types
    except ImportError:
        return False
    # Several lines pasted at once are several answers, as they are without editing.
    readline.parse_and_bind("set enable-bracketed-paste off")
    for mark in ("200", "201"):  # around what is pasted, at a terminal that was left to send it
        readline.parse_and_bind(f'"\\e[{mark}~": ""')
    return True


def or_first(refusal: Refusal, answer: str) -> Refusal:
    """Return what is wrong with an answer, such as going back from the first question."""
    if answer.lower() not in BACK or refusal.code == NOTHING_BEFORE:
        return refusal
    return Refusal(
        NOTHING_BEFORE, "There is nothing to go back to here.", hint=refusal.hint or "q leaves"
    )


def _endless(answer: str) -> Refusal:
    return Refusal(
        "too-long",
        f"This line has {len(answer)} letters; at most {MOST_WORDS} are taken.",
        hint="shorten it, or keep it in a file and name the file here",
    )


def yes(answer: str) -> bool:
    """Read a yes, which Enter is too, or a no."""
    if answer.lower() in ("", "y", "yes"):
        return True
    if answer.lower() in ("n", "no"):
        return False
    raise Refusal("bad-value", f"{quoted(answer)} is neither yes nor no.", hint="Enter or y, or n")


def _sure(answer: str) -> bool:
    if answer.lower() in ("y", "yes"):
        return True
    if answer.lower() in ("", "n", "no"):
        return False
    raise Refusal("bad-value", f"{quoted(answer)} is neither yes nor no.", hint="y, or Enter or n")


def _some(answer: str) -> str:
    if not answer:
        raise Refusal(
            "no-reason", "Give a reason: next month somebody will ask.", hint="a few words"
        )
    return answer


def _typed(text: str) -> str:
    """Write a key or a hint as it is typed here, without the dashes of an option."""
    return _OPTION.sub("", text).strip()
