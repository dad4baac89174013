"""The candidates on the table, and the change that was chosen."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import takewhile

import attrs
from rich.console import RenderableType

from planner.advice.candidates import Candidate, Table
from planner.car.changes import Change
from planner.screen import figure_view, paper
from planner.trade import knobs, units
from planner.trade.cautions import CAUTIONS
from planner.trade.figures import in_words
from planner.trade.units import System

_MARGIN = 10
SHORT = 40  # letters that may well be said twice


def table(on: Table, system: System) -> Iterator[RenderableType]:
    """Yield every candidate, and what is not offered and why."""
    if on.candidates:
        yield paper.heading("What could be changed")
    for number, candidate in enumerate(on.candidates):
        yield from brief(_after(on.candidates[:number], candidate), system)
    for sentence in on.held_back:
        yield paper.indented(f"{sentence[0].upper()}{sentence[1:]}", 2)


def _after(above: Sequence[Candidate], candidate: Candidate) -> Candidate:
    """Return a candidate as it is told below others: what was said there is not said again."""
    for other in above:
        said, says = other.why.split("; "), candidate.why.split("; ")
        same = list(takewhile(lambda pair: pair[0] == pair[1], zip(said, says, strict=False)))
        if same:
            why = "; ".join([f"as for {other.id}", *says[len(same) :]])
            candidate = attrs.evolve(candidate, why=why)
            break
    twin = next((other for other in above if other.rests_on == candidate.rests_on), None)
    if twin is not None and len(candidate.rests_on) > SHORT:
        candidate = attrs.evolve(candidate, rests_on=f"as {twin.id}")
    return candidate


def brief(candidate: Candidate, system: System) -> Iterator[RenderableType]:
    """Yield one candidate: the change, why, what is expected, and what that rests on."""
    yield paper.hanging(f"{candidate.id}.", paper.line(candidate.title, "bold"), 4)
    for change in candidate.changes:
        rides = f"riding along: {change}; " if change.trim else ""
        yield paper.indented(f"{rides}{settings(change)}", 6)
    yield from _facts(candidate, system)


def full(candidate: Candidate, system: System) -> Iterator[RenderableType]:
    """Yield one candidate with everything that is known about it."""
    yield from brief(candidate, system)
    aimed = _aimed(candidate)
    beside = _expected(
        candidate, [name for name in candidate.predicted if name not in aimed], system
    )
    if beside:
        yield _fact("also", beside)
    if candidate.source:
        yield _fact("source", candidate.source)
    for key in candidate.cautions:
        yield _fact("caution", CAUTIONS[key])


def work(candidate: Candidate, system: System) -> Iterator[RenderableType]:
    """Yield what is to be done on the car, one line a part.

    What is to be expected of a change of the crew's own stood on no table, and is told here.
    """
    yield from _parts(change for change in candidate.changes if not change.trim)
    for sentence in candidate.how:
        yield paper.indented(sentence, 4)
    yield from _parts(change for change in candidate.changes if change.trim)
    if candidate.minutes is not None:
        yield paper.indented(f"About {candidate.minutes:.0f} min.", 4)
    expected = _expected(candidate, list(candidate.foretold), system)
    if candidate.is_own and expected:
        yield paper.indented(f"Expected: {expected}.", 4)


def _parts(changes: Iterable[Change]) -> Iterator[RenderableType]:
    for change in changes:
        rides = ", riding along" if change.trim else ""
        yield paper.hanging("-", paper.line(f"{change}{rides}", "bold"), 2)
        yield paper.indented(settings(change), 4)


def settings(change: Change) -> str:
    """Say from where to where a setting goes."""
    if change.before is None or change.after is None:
        return f"{change.corner} {change.knob}: present setting not known"
    before, after = (
        knobs.shown(change.knob, at, signed=False) for at in (change.before, change.after)
    )
    return f"{change.corner} {change.knob} from {before} to {after}"


def _facts(candidate: Candidate, system: System) -> Iterator[RenderableType]:
    yield _fact("because", candidate.why)
    for sentence in candidate.how:
        yield _fact("how", sentence)
    expected = _expected(candidate, _aimed(candidate), system)
    if expected:
        yield _fact("expected", expected)
    costs = [candidate.rests_on]
    if candidate.chance is not None:
        costs.append(f"chance to put the stage right {_percent(candidate.chance)}")
    if candidate.spoils is not None:
        costs.append(f"to upset a figure of another stage {_percent(candidate.spoils)}")
    if candidate.minutes is not None:
        costs.append(f"{candidate.minutes:.0f} min")
    yield _fact("rests on", "; ".join(costs))


def _fact(name: str, text: str) -> RenderableType:
    return paper.hanging(name, text, _MARGIN, start=6)


def _aimed(candidate: Candidate) -> list[str]:
    return list(dict.fromkeys(name for aim in candidate.aims for name in aim.figures))


def _expected(candidate: Candidate, names: list[str], system: System) -> str:
    """Say where figures should end; wear is no temperature and is told in the reason."""
    said = []
    for name in names:
        if name in candidate.predicted and not name.startswith("wear."):
            at = candidate.predicted[name]
            spread = units.difference(at.sd, system, signed=False)
            mean = figure_view.value(name, at.mean, system).removesuffix(units.degree_mark(system))
            said.append(f"{in_words(name)} {mean}± {spread}")
    return ", ".join(said)


def _percent(chance: float) -> str:
    if chance < 0.01:
        return "under 1%"
    return "over 99%" if chance > 0.99 else f"{chance:.0%}"
