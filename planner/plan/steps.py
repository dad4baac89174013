"""The plan: what was recorded, step by step. Where the day stands is replayed from it (`day`)."""

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

import attrs

from planner.advice.candidate import Candidate, Kind
from planner.car.car_file import Car
from planner.car.changes import Change
from planner.judging.doubt import Doubt
from planner.judging.outcomes import Outcome
from planner.judging.patterns import Pattern
from planner.learning.earlier import Usual
from planner.learning.observed import Told
from planner.plan.machine import Stage
from planner.rulebook.own_bands import Own
from planner.run.readings import Run, SetState, Void
from planner.trade.corners import Turns
from planner.trade.numbers import USUAL_CERTAINTY, USUAL_LEAST_LAPS, USUAL_RUNS_PER_SET
from planner.trade.units import System

FORMAT = 1
ROUNDED = 0.001  # of judged numbers: the plan file keeps three decimals


@attrs.frozen
class RulesUsed:
    """Which rules a plan uses: their id or file, and a fingerprint of their content."""

    id: str
    fingerprint: str
    file: str = ""


@attrs.frozen
class RunStep:
    """A run was recorded.

    Attributes
    ----------
    patterns : what its readings showed.
    doubt : an answer to the last change that is hard to believe.
    really : corrections to the change before the run: what it really was.
    void : why it judges nothing.
    outcome : what came of the change before it, if there was one.
    expected_out : how many faults are expected to be there, those left open aside.
    worse : patterns left as they were that it shows clearly worse, as ``id:corner``.
    """

    time: datetime
    run: Run
    patterns: tuple[Pattern, ...] = ()
    doubt: Doubt | None = None
    really: tuple[Change, ...] = ()
    void: Void | None = None
    outcome: Outcome | None = None
    expected_out: float | None = None
    worse: tuple[str, ...] = ()


@attrs.frozen
class Offered:
    """A candidate that was offered and not chosen, in brief.

    Attributes
    ----------
    changes : what it would have changed, riding trims aside.
    expected : where the figures aimed at should have ended [degF].
    chance : that the stage then shows nothing out of band.
    """

    id: str
    changes: tuple[Change, ...]
    kind: Kind = "single"
    expected: Mapping[str, float] = attrs.field(factory=dict)
    chance: float | None = None


@attrs.frozen
class ChoiceStep:
    """A candidate was chosen, or the crew moved on.

    Attributes
    ----------
    stage : the stage the choice was made in.
    offered : what else was offered.
    chosen : the change to make; None when the crew moved on.
    left_open : patterns, as ``id:corner``, left as they are by moving on.
    reason : the crew's.
    """

    time: datetime
    stage: Stage
    offered: tuple[Offered, ...] = ()
    chosen: Candidate | None = None
    left_open: tuple[str, ...] = ()
    reason: str = ""


@attrs.frozen
class TakenBackStep:
    """The choice before it was taken back before the change was made; nothing was touched."""

    time: datetime
    reason: str = ""


@attrs.frozen
class MadeStep:
    """The change was made: what is really on the car, and the crew's word on how it came out."""

    time: datetime
    changes: tuple[Change, ...]
    reason: str = ""


@attrs.frozen
class NoteStep:
    """The crew noted something; nothing follows from it, but for the tires.

    Attributes
    ----------
    about : number of the step it is about; None for the day as it stands.
    set, set_state : the set of tires that went on the car, if that is what was noted; see `Run`.
    """

    time: datetime
    note: str
    about: int | None = None
    set: str = ""
    set_state: SetState | None = None


@attrs.frozen
class Judged:
    """A run judged again with amended numbers; the fields are those of `RunStep`."""

    step: int
    patterns: tuple[Pattern, ...] = ()
    doubt: Doubt | None = None
    void: Void | None = None
    outcome: Outcome | None = None
    expected_out: float | None = None
    worse: tuple[str, ...] = ()

    @classmethod
    def of_run(cls, number: int, run: RunStep) -> "Judged":
        """Return how a run is judged now."""
        return cls(
            number,
            run.patterns,
            run.doubt,
            run.void,
            run.outcome,
            run.expected_out,
            run.worse,
        )

    def of(self, run: RunStep) -> RunStep:
        """Return the run as it is judged here."""
        return attrs.evolve(
            run,
            patterns=self.patterns,
            doubt=self.doubt,
            void=self.void,
            outcome=self.outcome,
            expected_out=self.expected_out,
            worse=self.worse,
        )

    def is_like(self, other: "Judged") -> bool:
        """Say whether another judgement is the same, but for what the plan file rounds away."""
        return _is_like(self, other)


def _is_like(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) < ROUNDED
    if type(one) is not type(other):
        return False
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_is_like(one[key], other[key]) for key in one)
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_is_like, one, other))
    kind = type(one)
    if attrs.has(kind):
        names = (field.name for field in attrs.fields(kind))
        return all(_is_like(getattr(one, name), getattr(other, name)) for name in names)
    return one == other


@attrs.frozen
class AmendStep:
    """A wrong entry found later was corrected. What was recorded first stays in its own step.

    Attributes
    ----------
    amends : number of the run or made step that is corrected.
    reason : how it came to light.
    run : the whole run as it should have been recorded; None where a made step is amended.
    changes : the whole change as it really was made; empty where a run is amended.
    judged : the runs from the amended step on that come out otherwise with the numbers corrected.
    """

    time: datetime
    amends: int
    reason: str
    run: Run | None = None
    changes: tuple[Change, ...] = ()
    judged: tuple[Judged, ...] = ()


@attrs.frozen
class CarStep:
    """A car file was given, or another one: what is known of the car from here on."""

    time: datetime
    car: Car


Step = RunStep | ChoiceStep | TakenBackStep | MadeStep | AmendStep | NoteStep | CarStep
STEP_KINDS: dict[type, Literal["run", "choice", "taken-back", "made", "amend", "note", "car"]] = {
    RunStep: "run",
    ChoiceStep: "choice",
    TakenBackStep: "taken-back",
    MadeStep: "made",
    AmendStep: "amend",
    NoteStep: "note",
    CarStep: "car",
}


@attrs.frozen
class Budget:
    """What the crew has for the day: runs, minutes, and sets of tires of so many runs each."""

    runs: int | None = None
    minutes: float | None = None
    sets: int | None = None
    runs_per_set: int = USUAL_RUNS_PER_SET


@attrs.frozen
class Plan:
    """A whole plan file.

    Attributes
    ----------
    created : when it was begun.
    rules : the rules it uses.
    units : the unit temperatures are typed and shown in.
    laps, least_laps : laps planned for every run, and the fewest that judge anything.
    certainty : chance of being in band at which a figure stops holding its stage.
    budget : what there is for the day.
    one_change : the crew makes one change at a stop, and lets no trims ride along.
    taught : what earlier days of the car say of its answers.
    usual : what they say of the first run; None where the car was never at this track.
    in_balance : the car's own figures in balance on earlier days, by figure.
    turns : which way the track turns.
    car : the plan's own copy of the car file.
    """

    created: datetime
    rules: RulesUsed
    turns: Turns
    laps: int
    certainty: float = USUAL_CERTAINTY
    budget: Budget = Budget()
    one_change: bool = False
    units: System = "us"
    track: str = ""
    car: Car = attrs.field(factory=Car)
    taught: Told = Told()
    usual: Usual | None = None
    in_balance: Mapping[str, Own] = attrs.field(factory=dict)
    least_laps: int = USUAL_LEAST_LAPS
    step: tuple[Step, ...] = ()
    format: int = FORMAT
