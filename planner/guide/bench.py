"""The work bench of one guided day: the conversation, the plan, and where it stands."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import attrs

from planner import desk
from planner.day import Day
from planner.desk import Opened
from planner.errors import Refusal, Unusable
from planner.guide.draft import Way
from planner.guide.talk import Talk
from planner.readings import Run
from planner.units import System

Drives = Callable[[Day], Run]

# Refusals that no other answer to the same question would help against.
_BEYOND_ANSWERING = ("moved-on", "cannot-write")


def beyond_answering(refusal: Refusal) -> bool:
    """Say whether the trouble lies with the file, not with what was typed."""
    return isinstance(refusal, Unusable) or refusal.code in _BEYOND_ANSWERING


@attrs.define
class Bench:
    """What every part of the guide works with; `opened` is read afresh before each question.

    Attributes
    ----------
    way : the order readings are typed in, kept from run to run.
    drives : a simulated car that does the runs; None where a crew types them.
    """

    talk: Talk
    path: Path
    opened: Opened
    way: Way = "imo"
    drives: Drives | None = None

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

    def reread(self) -> None:
        """Read the plan again."""
        self.opened = desk.open_plan(self.path)

    def store(self, move: Callable[[Day, datetime], Day]) -> None:
        """Store one move, provided that the plan still stands where it was read.

        Raises
        ------
        Refusal
            The move is not legal, or the plan was changed from elsewhere in between.
        """
        expected = self.steps

        def guarded(day: Day, at: datetime) -> Day:
            if len(day.plan.step) != expected:
                raise Refusal(
                    "moved-on",
                    "The plan was changed from elsewhere in the meantime. Nothing was stored.",
                    where=str(self.path),
                    hint="look where it stands now, and go on from there",
                )
            return move(day, at)

        self.opened = desk.step(self.path, guarded)
