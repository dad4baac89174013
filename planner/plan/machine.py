"""The state machine of a test day: which stage, what is due, and what may come next.

`MOVES` is the whole of it. A state is a stage and what is due in it, such as ``camber:choice``.
``good_run`` is a run that counts, ``bad_run`` one that judges nothing; ``take`` chooses a candidate
or the crew's own change, ``take_back`` drops that choice, ``made`` puts it on the car; ``move_on``
leaves the stage as it is. ``later`` is no step: the hours, or another set of tires, may have done
as much as the fault a choice is due for; then the car is run as it stands first, unless the crew
moves on from that run with a reason.
"""

from collections.abc import Callable, Iterator
from functools import cache
from typing import Literal, cast

import attrs
from transitions import Machine, MachineError

from planner.rulebook.rules import TUNING_ORDER, TuningStage

Stage = Literal["camber", "pressure", "cross", "balance", "corners", "confirm", "complete"]
Due = Literal["run", "choice", "change", "nothing"]
Trigger = Literal["good_run", "bad_run", "take", "take_back", "move_on", "made", "tell", "later"]
Condition = Literal[
    "always",
    "a_fault_shows",
    "nothing_shows",
    "confirmed",
    "not_yet",
    "proved",
    "unproved",
    "an_offer_lies",
    "void_by_now",
    "a_fault_stands",
    "nothing_stands",
    "overtaken",
    "a_fault_counts",
]

START = "camber:run"


@attrs.frozen
class Evidence:
    """What a move is decided on.

    Attributes
    ----------
    fault : earliest stage that shows a clear pattern the crew has not left as it is.
    enough : so little is expected to be out of band that the day may end.
    as_set : the car was run as it was left: its cold pressures were what they were set to.
    offer : a change is offered though no stage is held (uneven wear).
    void : the last run judges nothing, and neither does any other since the last change.
    judged : a run judges the car since the last change.
    overtaken : what it showed may be gone by now (`baseline`).
    """

    fault: TuningStage | None = None
    enough: bool = True
    as_set: bool = True
    offer: bool = False
    void: bool = False
    judged: bool = False
    overtaken: bool = False


@attrs.frozen
class Move:
    """One row of the table.

    ``STAGE`` stands for each of the five tuning stages, in ``dest`` for the same one;
    ``FAULT`` for the earliest stage that shows a fault. ``when`` names the conditions below.
    """

    trigger: Trigger
    source: str
    dest: str
    when: Condition


MOVES: tuple[Move, ...] = (
    Move("good_run", "STAGE:run", "FAULT:choice", "a_fault_shows"),
    Move("good_run", "STAGE:run", "complete:nothing", "proved"),
    Move("good_run", "STAGE:run", "confirm:run", "unproved"),
    Move("good_run", "confirm:run", "FAULT:choice", "a_fault_shows"),  # a new round begins
    Move("good_run", "confirm:run", "complete:nothing", "confirmed"),
    Move("good_run", "confirm:run", "confirm:run", "not_yet"),
    Move("good_run", "complete:nothing", "FAULT:choice", "a_fault_shows"),  # one run more
    Move("good_run", "complete:nothing", "complete:nothing", "nothing_shows"),
    Move("bad_run", "complete:nothing", "complete:nothing", "always"),
    Move("bad_run", "STAGE:run", "STAGE:run", "always"),
    Move("bad_run", "confirm:run", "confirm:run", "always"),
    Move("good_run", "STAGE:choice", "FAULT:choice", "a_fault_shows"),  # run again, unchanged
    Move("good_run", "STAGE:choice", "complete:nothing", "proved"),
    Move("good_run", "STAGE:choice", "confirm:run", "unproved"),
    Move("bad_run", "STAGE:choice", "STAGE:run", "void_by_now"),
    Move("bad_run", "STAGE:choice", "FAULT:choice", "a_fault_stands"),
    Move("bad_run", "STAGE:choice", "confirm:run", "nothing_stands"),
    Move("later", "STAGE:choice", "STAGE:run", "overtaken"),
    Move("move_on", "STAGE:run", "FAULT:choice", "a_fault_counts"),  # by the run before
    Move("take", "STAGE:choice", "STAGE:change", "always"),
    Move("take", "confirm:run", "cross:change", "an_offer_lies"),
    Move("tell", "STAGE:run", "STAGE:change", "always"),  # changed without a choice
    Move("tell", "confirm:run", "cross:change", "always"),
    Move("made", "STAGE:change", "STAGE:run", "always"),
    Move("take_back", "STAGE:change", "STAGE:run", "void_by_now"),
    Move("take_back", "STAGE:change", "FAULT:choice", "a_fault_stands"),
    Move("take_back", "STAGE:change", "confirm:run", "nothing_stands"),
    Move("move_on", "STAGE:choice", "FAULT:choice", "a_fault_shows"),
    Move("move_on", "STAGE:choice", "confirm:run", "nothing_shows"),
    Move("move_on", "confirm:run", "complete:nothing", "always"),
)


def _is_proved(seen: Evidence) -> bool:
    return seen.fault is None and seen.enough and seen.as_set


CONDITIONS: dict[Condition, Callable[[Evidence], bool]] = {
    "always": lambda _: True,
    "a_fault_shows": lambda seen: seen.fault is not None,
    "nothing_shows": lambda seen: seen.fault is None,
    "confirmed": _is_proved,
    "not_yet": lambda seen: seen.fault is None and not _is_proved(seen),
    "proved": lambda seen: _is_proved(seen) and not seen.offer,
    "unproved": lambda seen: seen.fault is None and (seen.offer or not _is_proved(seen)),
    "an_offer_lies": lambda seen: seen.offer,
    "void_by_now": lambda seen: seen.void,
    "a_fault_stands": lambda seen: seen.fault is not None and not seen.void,
    "nothing_stands": lambda seen: seen.fault is None and not seen.void,
    "overtaken": lambda seen: seen.overtaken,
    "a_fault_counts": lambda seen: seen.fault is not None and seen.judged,
}


def expanded() -> Iterator[tuple[str, str, str, Callable[[Evidence], bool]]]:
    """Yield the table with STAGE and FAULT spelled out: trigger, source, destination, condition."""
    for move in MOVES:
        holds = CONDITIONS[move.when]
        for source, dest in _each_stage(move):
            if "FAULT" not in dest:
                yield move.trigger, source, dest, holds
                continue
            for fault in TUNING_ORDER:
                yield move.trigger, source, dest.replace("FAULT", fault), _with_fault(holds, fault)


def _each_stage(move: Move) -> list[tuple[str, str]]:
    """Return source and destination of a move, for each stage where STAGE stands in it."""
    if "STAGE" not in move.source:
        return [(move.source, move.dest)]
    return [
        (move.source.replace("STAGE", stage), move.dest.replace("STAGE", stage))
        for stage in TUNING_ORDER
    ]


def _with_fault(
    holds: Callable[[Evidence], bool], fault: TuningStage
) -> Callable[[Evidence], bool]:
    return lambda seen: holds(seen) and seen.fault == fault


@attrs.frozen
class Place:
    """Where a day stands in the machine: the stage, what is due in it, and which round it is."""

    state: str = START
    round: int = 1

    @property
    def stage(self) -> Stage:
        """The stage, without what is due in it."""
        return cast(Stage, self.state.partition(":")[0])

    @property
    def due(self) -> Due:
        """What is due in the stage."""
        return cast(Due, self.state.partition(":")[2])


def go(place: Place, trigger: Trigger, seen: Evidence) -> Place | None:
    """Return where a move leads from a place on this evidence; None where it is not legal."""
    at = _At(place.state)
    try:
        moved = _table().events[trigger].trigger(at, seen)
    except MachineError:
        return None
    if not moved:
        return None
    there = Place(at.state, place.round)
    begins = place.stage in ("confirm", "complete") and there.due == "choice"
    return attrs.evolve(there, round=place.round + 1) if begins else there


@attrs.define
class _At:
    """What `transitions` moves; made for one question and thrown away."""

    state: str


@cache
def _table() -> Machine:
    """Return the table as a machine of `transitions`. It moves nothing of its own."""
    moves = list(expanded())
    states = {START} | {end for _, source, dest, _ in moves for end in (source, dest)}
    table = Machine(
        model=None,
        states=sorted(states),
        initial=START,
        auto_transitions=False,
    )
    for trigger, source, dest, condition in moves:
        table.add_transition(trigger, source, dest, conditions=condition)
    return table
