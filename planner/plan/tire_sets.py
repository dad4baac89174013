"""Sets of tires: which one a run was on, and what has been run on each, counted from the runs."""

from collections.abc import Mapping

import attrs

from planner.plan.steps import NoteStep
from planner.run.readings import Run, SetState

FIRST = "1"  # the set the day begins on, where nobody names it


@attrs.frozen
class TireSet:
    """One set of tires, as far as the day has run it.

    Attributes
    ----------
    name : as the crew first wrote it.
    state : what the crew last said of it; None where nothing was said.
    laps : run on it today, void runs counted.
    cycles : heat cycles of today: one for every run that turned a lap (common practice, no source).
    """

    name: str
    state: SetState | None = None
    laps: int = 0
    cycles: int = 0


@attrs.frozen
class TireSets:
    """All sets of the day, in the order they came on the car.

    Attributes
    ----------
    sets : by their names in small letters.
    on : which of them is on the car.
    """

    sets: Mapping[str, TireSet] = attrs.field(factory=dict)
    on: str = FIRST

    @property
    def now(self) -> TireSet:
        """The set on the car."""
        return self.sets.get(self.on, TireSet(self.on))

    @property
    def several(self) -> bool:
        """Whether more than one was run."""
        return len(self.sets) > 1

    @property
    def are_told(self) -> bool:
        """Whether the crew has said anything of its tires."""
        return self.several or self.now.state is not None

    def put_on(self, told: Run | NoteStep) -> "TireSets":
        """Return the sets with the one that a run or a note names on the car, or else the same."""
        on = told.set.casefold() or self.on
        here = self.sets.get(on, TireSet(told.set or on))
        here = attrs.evolve(here, state=told.set_state or here.state)
        return TireSets({**self.sets, on: here}, on)

    def driven(self, laps: int) -> "TireSets":
        """Return the sets with some laps more on the one that is on the car."""
        here = self.now
        here = attrs.evolve(here, laps=here.laps + laps, cycles=here.cycles + (laps > 0))
        return attrs.evolve(self, sets={**self.sets, self.on: here})
