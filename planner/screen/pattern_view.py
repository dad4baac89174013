"""What the tires show, and what came of the last change."""

from collections.abc import Iterator

from rich.console import RenderableType

from planner.judging.patterns import Pattern
from planner.plan.day import Day
from planner.rulebook.rules import TUNING_ORDER
from planner.screen import paper
from planner.words import changes as change_words
from planner.words import figures as figure_words
from planner.words import findings
from planner.words import outcomes as outcome_words
from planner.words import patterns as pattern_words
from planner.words.figures import in_words
from planner.words.outcomes import in_short


def patterns(day: Day) -> Iterator[RenderableType]:
    """Yield the patterns, judged on all runs so far, in tuning order, with what backs them."""
    if not day.good:
        return
    found = day.good[-1].patterns
    yield paper.heading("What the runs so far show, in tuning order")
    if not found:
        yield paper.indented("Nothing out of band.", 2)
    for stage in (*TUNING_ORDER, None):
        for pattern in (p for p in found if p.stage == stage):
            yield paper.hanging(stage or "also", _in_words(pattern, day), paper.MARGIN)
            latest = day.good[-1]
            for each in day.evidence_for(pattern, latest.step, latest.run):
                yield paper.hanging("", f"- {pattern_words.beside(each)}", paper.MARGIN)
    for apart in findings.apart(day):
        yield paper.hanging("also", apart, paper.MARGIN)


def _in_words(pattern: Pattern, day: Day) -> str:
    marks = []
    if pattern.key in day.left_open:
        marks.append("left as it is")
    if pattern.holds and pattern.stage == day.stage and day.due == "choice":
        marks.append("fix now")
    says = pattern_words.says(pattern, day.book, day.plan.units)
    return f"{says} [{', '.join(marks)}]" if marks else says


def outcome(day: Day) -> Iterator[RenderableType]:
    """Yield what came of the last change, figure by figure, while the last run is what tells."""
    past, system = day.judged, day.plan.units
    came = None if day.last is None else day.last.outcome
    if past is None or came is None or past != day.past[-1]:
        return
    yield paper.heading(f"Last change (step {came.step}): {change_words.verdicts(past, day.book)}")
    if not came.figures:
        yield paper.indented(outcome_words.says(came, system), 2)
    for part in came.figures:
        before, after = (
            figure_words.value(part.figure, degrees, system)
            for degrees in (part.before, part.after)
        )
        text = f"{in_words(part.figure)} {before} → {after}"
        if part.expected is not None:
            text += f", expected {figure_words.value(part.figure, part.expected, system)}"
        yield paper.indented(f"{text}: {in_short(part.verdict)}", 2)
