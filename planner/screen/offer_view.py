"""The candidates on the table, and the change that was chosen."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import takewhile

import attrs
from rich.console import RenderableType

from planner.advice.candidate import Candidate
from planner.car.changes import Change
from planner.plan.day import Day
from planner.screen import paper
from planner.trade.cautions import CAUTIONS
from planner.words import at_the_car, offers
from planner.words import changes as change_words
from planner.words import figures as figure_words
from planner.words.figures import difference, in_words
from planner.words.ways import percent

_MARGIN = 10
SHORT = 40  # letters that may well be said twice


@attrs.frozen
class _Told:
    """What is shown of a candidate: its reasons, and what its size rests on."""

    id: str
    reasons: tuple[str, ...]
    rests_on: str

    def below(self, above: Iterable["_Told"]) -> "_Told":
        """Return it without what was already said of the candidates above it."""
        reasons, rests_on = self.reasons, self.rests_on
        for other in above:
            pairs = zip(other.reasons, reasons, strict=False)
            same = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], pairs))
            if same:
                reasons = (f"as for {other.id}", *reasons[same:])
                break
        twin = next((other for other in above if other.rests_on == rests_on), None)
        if twin is not None and len(rests_on) > SHORT:
            rests_on = f"as {twin.id}"
        return _Told(self.id, reasons, rests_on)


def table(day: Day) -> Iterator[RenderableType]:
    """Yield every candidate, and what is not offered and why."""
    on = day.table()
    if on.candidates:
        yield paper.heading("What could be changed")
    told = [_told(candidate, day) for candidate in on.candidates]
    for number, candidate in enumerate(on.candidates):
        yield from _brief(candidate, told[number].below(told[:number]), day)
    for held in on.held_back:
        sentence = offers.held_back(held)
        yield paper.indented(f"{sentence[0].upper()}{sentence[1:]}", 2)
    if day.another_run is not None and day.another_run.unsettled:
        yield paper.hanging("-", f"Or {offers.another_run(day.another_run)}.", 4)


def full(candidate: Candidate, day: Day) -> Iterator[RenderableType]:
    """Yield one candidate with everything that is known about it."""
    yield from _brief(candidate, _told(candidate, day), day)
    beside = _beside(candidate, day)
    if beside:
        yield _fact("also", beside)
    found = day.in_turn(candidate)
    for sentence in () if found is None else at_the_car.in_the_turn(found):
        yield _fact("in turn", sentence)
    source = offers.source(candidate, day.book)
    if source:
        yield _fact("source", source)
    for key in candidate.cautions:
        yield _fact("caution", CAUTIONS[key])


def side_effects(candidate: Candidate, day: Day) -> Iterator[RenderableType]:
    """Yield what else a candidate moves, and how likely it upsets another stage."""
    beside = _beside(candidate, day)
    if beside:
        yield _fact("also", beside)
    if candidate.spoils is not None:
        says = f"{percent(candidate.spoils)} likely to upset a figure of another stage"
        yield _fact("risk", says)


def _beside(candidate: Candidate, day: Day) -> str:
    """Say what else it moves."""
    aimed = candidate.aimed(day.book)
    others = [name for name in candidate.predicted if name not in aimed]
    return _expected(candidate, others if len(others) < len(candidate.predicted) else (), day)


def parts(candidate: Candidate) -> Iterator[RenderableType]:
    """Yield every change of a candidate in a line, riding trims last."""
    for change in sorted(candidate.changes, key=lambda each: each.trim):
        rides = ", riding along" if change.trim else ""
        yield paper.hanging("-", paper.line(f"{change_words.sized(change)}{rides}", "bold"), 2)


def work(day: Day) -> Iterator[tuple[bool, RenderableType]]:
    """Yield what is to be done on the car for the chosen change, one line a part.

    With each line whether it may be left out where room is short: how a part is done. What is to be
    expected of a change of the crew's own stood on no table, and is told here.
    """
    chosen = day.pending
    if chosen is None:
        return
    yield from ((False, part) for part in parts(chosen))
    for sentence in _how(chosen, day):
        yield True, paper.indented(sentence, 4)
    if chosen.minutes is not None:
        yield False, paper.indented(f"About {chosen.minutes:.0f} min.", 4)
    expected = _expected(chosen, chosen.foretold(day.book), day)
    if chosen.is_own and expected:
        yield False, paper.indented(f"Expected: {expected}.", 4)


def _told(candidate: Candidate, day: Day) -> _Told:
    system = day.plan.units
    return _Told(
        candidate.id,
        offers.reasons(candidate, day.good[-1].patterns, day.book, system),
        offers.rests_on(candidate, system),
    )


def _settings(changes: Sequence[Change]) -> Iterator[str]:
    """Yield what rides along and from where to where each goes, and once what is not known."""
    unknown = [change for change in changes if change.before is None and not change.is_other]
    for change in changes:
        told = [f"riding along: {change_words.in_words(change)}"] if change.trim else []
        if change not in unknown:
            told.append(change_words.from_to(change))
        if told:
            yield "; ".join(told)
    if unknown:
        names = ", ".join(change_words.named(change.setting) for change in unknown)
        of_these = f" of {names}" if len(unknown) < len(changes) else ""
        yield f"present setting not known{of_these}"


def _brief(candidate: Candidate, told: _Told, day: Day) -> Iterator[RenderableType]:
    """Yield one candidate: the change, why, what is expected, and what that rests on."""
    yield paper.hanging(f"{candidate.id}.", paper.line(offers.title(candidate), "bold"), 4)
    for sentence in _settings(candidate.changes):
        yield paper.indented(sentence, 6)
    yield _fact("because", "; ".join(told.reasons))
    for sentence in _how(candidate, day):
        yield _fact("how", sentence)
    aimed = candidate.aimed(day.book)
    foretold = [name for name in aimed if name in candidate.predicted]
    expected = _expected(candidate, foretold or candidate.predicted, day)
    if expected:
        yield _fact("expected", expected)
    costs = [told.rests_on]
    if candidate.chance is not None:
        costs.append(f"chance to fix the stage {percent(candidate.chance)}")
    if candidate.spoils is not None:
        costs.append(f"to upset a figure of another stage {percent(candidate.spoils)}")
    if candidate.minutes is not None:
        costs.append(f"{candidate.minutes:.0f} min")
    yield _fact("rests on", "; ".join(costs))


def _how(candidate: Candidate, day: Day) -> Iterator[str]:
    return (said for line in day.how(candidate) for said in at_the_car.how(line))


def _fact(name: str, text: str) -> RenderableType:
    return paper.hanging(name, text, _MARGIN, start=6)


def _expected(candidate: Candidate, names: Iterable[str], day: Day) -> str:
    """Say where figures should end; wear is no temperature and is told in the reason."""
    said = []
    system = day.plan.units
    for name in names:
        if name in candidate.predicted and not name.startswith("wear."):
            at = candidate.predicted[name]
            spread = difference(at.sd, system, signed=False)
            mean = figure_words.number(name, at.mean, system)
            said.append(f"{in_words(name)} {mean} ± {spread}")
    return ", ".join(said)
