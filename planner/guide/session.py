"""One sitting at the guide: the conversation, the plan, and where it stands."""

from collections.abc import Callable, Iterable
from pathlib import Path

import attrs
from rich.console import RenderableType

from planner.files import file_name
from planner.guide import draft as drafts
from planner.guide.draft import Draft, Way
from planner.guide.prompts import Back, Leave, Talk
from planner.plan import fold
from planner.plan.day import Day
from planner.plan.wrong_entries import Move
from planner.run.readings import Run
from planner.screen import day_view, paper, window
from planner.storage import plans, since
from planner.storage.plans import Opened
from planner.trade.corners import Corner, reading_order
from planner.trade.refusals import Refusal, Unusable, quoted
from planner.trade.units import System
from planner.words import due as due_words

Drives = Callable[[Day], Run]

# The file or its place is to blame: the same move may go through once that is corrected.
_OF_THE_FILE = ("cannot-write", "no-folder", "not-found")
# Lines that the window shares with the prompt, and with what was said before it.
_PROMPT = 2
# The plan has changed: it must be looked at again.
_MOVED = ("moved-on", "not-confirmed")


def _of_the_file(refusal: Refusal) -> bool:
    found = isinstance(refusal, Unusable) or refusal.code in _OF_THE_FILE
    return found and refusal.code not in _MOVED


def _other_place(answer: str) -> bool:
    """Say whether the day is to be kept in another place."""
    if answer.lower() not in ("", "s"):
        raise Refusal("bad-value", f"{quoted(answer)} is not an answer.", hint="Enter, s or q")
    return answer != ""


@attrs.define
class Session:
    """What every part of the guide works with; `opened` is read afresh before each question.

    Attributes
    ----------
    way : the order readings are typed in, kept from run to run.
    drives : a simulated car that does the runs; None where a crew types them.
    full : everything there is to show is shown, however long.
    typed : what is typed of a run and not yet stored.
    on_disk : whether that lies beside the plan too.
    """

    talk: Talk
    path: Path
    opened: Opened
    way: Way = "imo"
    drives: Drives | None = None
    full: bool = False
    typed: Draft | None = None
    on_disk: bool = True

    @property
    def day(self) -> Day:
        """The day as last read."""
        return self.opened.day

    @property
    def system(self) -> System:
        """The unit temperatures are typed and shown in."""
        return self.day.plan.units

    @property
    def moves_on(self) -> str:
        """What m does where a run is due; ``""`` where it does nothing."""
        if self.day.due != "run" or not fold.can(self.day, "move_on"):
            return ""
        return due_words.moving_on(self.day)

    @property
    def order(self) -> tuple[Corner, ...]:
        """The order tires are read in, and everything that is typed of them without their names."""
        return reading_order(self.day.plan.turns)

    @property
    def steps(self) -> int:
        """How many steps the plan had when it was read."""
        return len(self.day.plan.step)

    def look(self, below: Iterable[RenderableType] = ()) -> None:
        """Show where the day stands, in one window with the prompt.

        Parameters
        ----------
        below : what is shown next, and is to be in the window too.
        """
        console = self.talk.console
        if self.full:
            self.talk.show([paper.rule(console.width)])
            self.talk.show(day_view.everything(self.opened, console.width))
        else:
            lines = len(paper.rows(console, below))
            self.talk.pages(window.parts(self.opened, console, lines + _PROMPT), lines)

    @property
    def quoted_path(self) -> str:
        """The plan as it is named in a command that is typed here, as short as will do."""
        return file_name.from_here(self.path)

    def reread(self) -> None:
        """Read the plan again; where it cannot be read, wait until it can."""
        while True:
            try:
                opened = plans.open_plan(self.path)
            except Refusal as refusal:
                self._wait_out(refusal)
                continue
            if since.lost(self.opened.kept.plan, opened.kept.plan):
                new = since.since(self.opened.kept.plan, opened.kept.plan)
                self.talk.say(f"Steps that this window has seen are missing from the file. {new}")
                if self._kept_elsewhere("Enter goes on with the file as it is"):
                    continue
            self.opened = opened
            return

    def settle(self, ask: Callable[[], Move | None], back: Callable[[], bool]) -> None:
        """Ask until a move is stored; what was wrong with an answer is said each time.

        Parameters
        ----------
        ask : returns what is to be stored, None to be asked again.
        back : the crew goes back; says whether that settles it.

        Raises
        ------
        Refusal
            The file cannot be used, or the plan was changed: no answer here helps.
        """
        while True:
            try:
                move = ask()
                if move is not None:
                    self.store(move)
                    return
            except Back:
                if back():
                    return
            except Refusal as refusal:
                if _of_the_file(refusal) or refusal.code in _MOVED:
                    raise
                self.talk.refuse(refusal)

    def store(self, move: Move) -> None:
        """Store one move, provided that the plan still stands where it was read.

        If the file cannot be written, the crew is asked what to do; nothing is typed twice.

        Raises
        ------
        Refusal
            The move is not legal, or the plan was changed from elsewhere in between.
        Leave
            The crew leaves; nothing is stored.
        """
        while True:
            try:
                self.opened = plans.step(self.path, move, seen=self.opened)
            except Refusal as refusal:
                if not _of_the_file(refusal):
                    raise
                self._wait_out(refusal)
            else:
                return

    def keep(self, draft: Draft) -> None:
        """Keep what is typed of a run: here, and beside the plan where that can be."""
        self.typed = draft
        try:
            drafts.save(self.path, draft)
        except Refusal as refusal:
            if self.on_disk:
                self.talk.refuse(refusal)
                self.talk.say("Go on typing and leave this window open: it keeps what you type.")
            self.on_disk = False
        else:
            self.on_disk = True

    def forget(self) -> None:
        """Forget what was typed of a run: it is stored, or not wanted."""
        self.typed, self.on_disk = None, True
        drafts.remove(self.path)

    def _wait_out(self, refusal: Refusal) -> None:
        """Say what is wrong with the file, and wait until the crew has corrected it."""
        if refusal.code in ("not-found", "no-folder"):  # it was there: nothing is to be begun anew
            refusal = Refusal(
                refusal.code,
                "The plan is gone.",
                where=str(self.path),
                hint="plug the stick back in, or put the file back",
            )
        self.talk.refuse(refusal)
        self.talk.say("What you typed is still here, and everything stored before is safe.")
        self._kept_elsewhere("Enter tries again")

    def _kept_elsewhere(self, otherwise: str) -> bool:
        """Offer to go on in another file; say whether the crew did."""
        answers = f"{otherwise}; s moves the day to another place; q leaves"
        self.talk.hint(answers)
        while self.talk.until("try again [Enter/s]", _other_place, answers):
            try:
                moved = self.talk.until(
                    "another place, such as /home/me/day.toml",
                    self._moved,
                    "The name of a new file, in a folder that can be written to; b goes back.",
                    back=True,
                )
            except (Back, Leave):
                continue  # back to the question
            self.talk.say(f"The day goes on in {moved.path}. {self.path} is left as it is.")
            self.opened, self.path = moved, moved.path
            if self.typed is not None:
                self.keep(self.typed)
            return True
        return False

    def _moved(self, answer: str) -> Opened:
        path = file_name.typed(answer, "day.toml")
        return plans.keep_elsewhere(self.opened, path)
