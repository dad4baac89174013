"""The work bench of one guided day: the conversation, the plan, and where it stands."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import attrs

from planner.files import file_name
from planner.guide import draft as drafts
from planner.guide.draft import Draft, Way
from planner.guide.prompts import Back, Leave, Talk
from planner.plan.day import Day
from planner.run.readings import Run
from planner.storage import plans, since
from planner.storage.plans import Opened
from planner.trade.refusals import Refusal, Unusable, quoted
from planner.trade.units import System

Drives = Callable[[Day], Run]

# Refusals that lie with the file or its place: the same move may do once that is put right.
_OF_THE_FILE = ("cannot-write", "no-folder", "not-found")
# Those after which the plan must be looked at again.
_MOVED = ("moved-on", "not-confirmed")


def beyond_answering(refusal: Refusal) -> bool:
    """Say whether the trouble lies with the file, not with what was typed."""
    return _of_the_file(refusal) or refusal.code in _MOVED


def _of_the_file(refusal: Refusal) -> bool:
    found = isinstance(refusal, Unusable) or refusal.code in _OF_THE_FILE
    return found and refusal.code not in _MOVED


def _other_place(answer: str) -> bool:
    """Say whether the day is to be kept in another place."""
    if answer.lower() not in ("", "s"):
        raise Refusal("bad-value", f"{quoted(answer)} is none of them.", hint="Enter, s or q")
    return answer != ""


@attrs.define
class Bench:
    """What every part of the guide works with; `opened` is read afresh before each question.

    Attributes
    ----------
    way : the order readings are typed in, kept from run to run.
    drives : a simulated car that does the runs; None where a crew types them.
    typed : what is typed of a run and not stored yet.
    on_disk : whether that is beside the plan too.
    """

    talk: Talk
    path: Path
    opened: Opened
    way: Way = "imo"
    drives: Drives | None = None
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
    def steps(self) -> int:
        """How many steps the plan had when it was read."""
        return len(self.day.plan.step)

    @property
    def window(self) -> tuple[float, float]:
        """The working range of the tires [degF]."""
        return self.day.plan.car.tires.window or self.day.book.window

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
                self.talk.say(f"The file does not hold what this window has seen in it. {new}")
                if self._kept_elsewhere("Enter goes on with the file as it is"):
                    continue
            self.opened = opened
            return

    def store(self, move: Callable[[Day, datetime], Day]) -> None:
        """Store one move, provided that the plan still stands where it was read.

        Where the file cannot be written, the crew is asked what to do, and nothing is typed twice.

        Raises
        ------
        Refusal
            The move is not legal, or the plan was changed from elsewhere in between.
        Leave
            The crew leaves; the move is not stored.
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
                self.talk.say(
                    "Go on typing: it is kept in this window until it is stored. Leave the window "
                    "open."
                )
            self.on_disk = False
        else:
            self.on_disk = True

    def forget(self) -> None:
        """Forget what was typed of a run: it is stored, or not wanted."""
        self.typed, self.on_disk = None, True
        drafts.remove(self.path)

    def _wait_out(self, refusal: Refusal) -> None:
        """Say what is wrong with the file, and wait until the crew has put it right."""
        if refusal.code in ("not-found", "no-folder"):  # it was there: nothing is to be begun anew
            refusal = Refusal(
                refusal.code,
                "The plan is not there any more.",
                where=str(self.path),
                hint="put the stick back in, or the file back in its place",
            )
        self.talk.refuse(refusal)
        self.talk.say("What you typed is still here, and everything stored before is safe.")
        self._kept_elsewhere("Enter tries again")

    def _kept_elsewhere(self, otherwise: str) -> bool:
        """Offer to go on in another file; say whether the crew did."""
        answers = f"{otherwise}; s keeps the day in another place and goes on there; q leaves"
        self.talk.hint(answers)
        while self.talk.until("try again [Enter/s]", _other_place, answers):
            try:
                moved = self.talk.until(
                    "another place, such as /home/me/day.toml",
                    self._moved,
                    "A file that is not there yet, where one can be written; b goes back.",
                    back=True,
                )
            except (Back, Leave):
                continue  # back to the question
            self.talk.say(f"The day goes on in {moved.path}. Where it was, {self.path}, it ends.")
            self.opened, self.path = moved, moved.path
            if self.typed is not None:
                self.keep(self.typed)
            return True
        return False

    def _moved(self, answer: str) -> Opened:
        path = file_name.typed(answer, "day.toml")
        return plans.keep_elsewhere(self.opened, path)
