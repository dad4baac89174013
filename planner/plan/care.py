"""Which cautions apply now, and which of them apply for the first time today."""

from collections.abc import Iterator

from planner.judging import pressures
from planner.plan.day import Day
from planner.plan.steps import RunStep

Care = tuple[str, str]  # the caution, and the tire or run it is about, or nothing


def due(day: Day) -> tuple[str, ...]:
    """Return every caution that applies at this point of the day, each once."""
    found = [key for key, _ in _of_the_work(day)]
    if day.due == "choice":
        found += [key for candidate in day.table().candidates for key in candidate.cautions]
    just_made = day.due == "run" and day.past and day.past[-1].outcome is None
    if just_made and "loosening" in day.past[-1].candidate.cautions:
        found.append("loosening")
    return tuple(dict.fromkeys([*found, *(key for key, _ in _of_the_tires(day))]))


def first_due(day: Day) -> tuple[str, ...]:
    """Return the cautions that apply for the first time today, or to a tire or a run anew.

    What goes with a change is due once that is chosen, not while it lies on the table.
    """
    new = dict.fromkeys((*_of_the_work(day), *_of_the_tires(day)))
    before = day.before
    while before is not None and new:
        for care in (*_of_the_work(before), *_of_the_tires(before)):
            new.pop(care, None)
        before = before.before
    return tuple(dict.fromkeys(key for key, _ in new))


def _of_the_work(day: Day) -> Iterator[Care]:
    if day.last is None:
        yield "rules", ""
    elif day.last.void is not None:
        run = sum(isinstance(step, RunStep) for step in day.steps)
        yield from ((key, str(run)) for key in day.last.void.cautions)
    if day.due == "choice" or day.pending is not None:
        yield "hot", ""
    if day.pending is not None:
        yield from ((key, "") for key in day.pending.cautions)


def _of_the_tires(day: Day) -> Iterator[Care]:
    patterns = day.good[-1].patterns if day.good else ()
    yield from (("leak", corner) for corner in sorted(pressures.losing(patterns)))
    yield from (("heat", p.corner or "") for p in patterns if p.id in day.book.too_warm)
