"""A change made earlier in the day, and what came of it."""

import attrs

from planner.advice.candidate import Candidate
from planner.car.changes import Change, Setting, moves_of
from planner.judging.outcomes import Outcome, Verdict
from planner.rulebook.rules import Rulebook
from planner.trade.knobs import rounded


@attrs.frozen
class Past:
    """A change made earlier in the day, and what came of it.

    Attributes
    ----------
    step : that put it on the car.
    candidate : what was chosen.
    made : what was really made.
    outcome : None until a run has judged it.
    beside : steps of the changes that the same run judged, where this one was not alone.
    """

    step: int
    candidate: Candidate
    made: tuple[Change, ...]
    outcome: Outcome | None = None
    beside: tuple[int, ...] = ()

    @property
    def is_made(self) -> bool:
        """Whether anything of it was really changed on the car."""
        return any(change.amount for change in self.made)

    def chosen_instead(self, change: Change) -> float | None:
        """Return the amount chosen where a part came out otherwise, 0 where it was not chosen."""
        wanted = moves_of(self.candidate.changes).get(change.setting, 0.0)
        same = rounded(change.knob, wanted) == rounded(change.knob, change.amount)
        return None if same and wanted else wanted

    @property
    def left_out(self) -> tuple[Change, ...]:
        """The parts that were chosen and of which nothing was changed."""
        made = {change.setting for change in self.made if change.amount}
        return tuple(c for c in self.candidate.changes if c.amount and c.setting not in made)

    @property
    def is_undone(self) -> bool:
        """Whether it put an earlier change back, and the car answered.

        That the figures came nearer then is no progress: they are where they were.
        """
        made = {change.setting: change.amount for change in self.made if change.amount}
        return (
            self.candidate.puts_back is not None
            and not self.beside
            and self.outcome is not None
            and self.outcome.verdict == "better"
            and made == moves_of(self.candidate.changes)
        )

    def trims_apart(self, book: Rulebook) -> tuple[tuple[Setting, Verdict], ...]:
        """Return the riding trims that came out otherwise than the change, with their verdicts."""
        if self.outcome is None:
            return ()
        made = {change.setting for change in self.made if change.amount}
        found = {part.figure: part.verdict for part in self.outcome.figures}
        return tuple(
            (setting, found[name])
            for setting, aim in self.candidate.trim_aims(book).items()
            for name in aim.figures
            if setting in made and found.get(name, self.outcome.verdict) != self.outcome.verdict
        )
