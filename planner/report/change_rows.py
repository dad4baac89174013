"""The changes of a day as the report's table has them: what, what for, and what came of it."""

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

import attrs

from planner.advice.past import Past
from planner.car.changes import Change
from planner.judging.outcomes import Verdict
from planner.plan.day import Day
from planner.review.timeline import ChangeSeen
from planner.trade import knobs, units
from planner.trade.plain_text import counted
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import day_table, story
from planner.words import figures as figure_words
from planner.words import patterns as pattern_words
from planner.words.day_table import Answer
from planner.words.figures import in_words
from planner.words.outcomes import in_short

_NOT_JUDGED, _NOT_MADE = "not judged yet", "not made"
_SIGNS: dict[Verdict, str] = {"better": "+", "no-change": "=", "worse": "-", "unclear": "?"}


@attrs.frozen
class ChangeRow:
    """A change as the table has it; `riding` are the parts that rode along."""

    letter: str
    when: str
    made: tuple[str, ...]
    riding: tuple[str, ...]
    because: tuple[str, ...]
    reason: str
    sign: str
    verdict: str
    figures: tuple[str, ...]
    marked: bool


def rows(marks: Sequence[ChangeSeen], day: Day) -> list[ChangeRow]:
    """Return the changes that were made, in their order."""
    return [_row(mark, marks, day) for mark in marks]


def summary(marks: Sequence[ChangeSeen]) -> list[str]:
    """Count the changes, and what came of them."""
    made = [past for mark in marks if (past := mark.made()).is_made]
    said = [counted(len(made), "change")]
    verdicts = ["put back" if past.is_undone else _verdict(past) for past in made]
    verdicts += [_NOT_MADE] * (len(marks) - len(made))
    for verdict in (*map(in_short, _SIGNS), "put back", _NOT_JUDGED, _NOT_MADE):
        count = verdicts.count(verdict)
        if count:
            said.append(f"{count} {verdict}")
    return said


def rested_on(marks: Sequence[ChangeSeen]) -> list[str]:
    """Return what changes rested on that was corrected since, once for all of them."""
    letters: dict[str, list[str]] = {}
    for mark in marks:
        for each in mark.rested:
            letters.setdefault(amendment_words.rested(each), []).append(mark.letter)
    return [f"{', '.join(carry)} {says}" for says, carry in letters.items()]


def _row(mark: ChangeSeen, marks: Sequence[ChangeSeen], day: Day) -> ChangeRow:
    past = mark.made()
    outcome = past.outcome
    on_car = [change for change in past.made if change.amount]
    made = [_part(change, past) for change in on_car if not change.trim]
    made += [
        f"{change_words.named(change.setting)} not made (chosen "
        f"{knobs.shown(change.knob, change.amount)})"
        for change in past.left_out
    ]
    return ChangeRow(
        letter=mark.letter,
        when=f"after run {mark.after_run}",
        made=tuple(made) or ("nothing was changed",),
        riding=tuple(_part(change, past) for change in on_car if change.trim),
        because=tuple(_because(mark, marks, day)),
        reason=mark.chosen.reason,
        sign="" if outcome is None else _SIGNS["no-change" if past.is_undone else outcome.verdict],
        verdict="; ".join(filter(None, (_verdict(past), change_words.together(past)))),
        figures=tuple(_figures(day_table.answers(past, day), day.plan.units)),
        marked=bool(mark.rested),
    )


def _verdict(past: Past) -> str:
    return change_words.verdict(past) or (_NOT_JUDGED if past.is_made else _NOT_MADE)


def _part(change: Change, past: Past) -> str:
    otherwise = change_words.otherwise(past, change)
    say = change_words.briefly if change.trim else change_words.in_words
    return f"{say(change)}{f', {otherwise}' if otherwise else ''}"


def _because(mark: ChangeSeen, marks: Sequence[ChangeSeen], day: Day) -> Iterator[str]:
    """Name what a change was made for; the story has the numbers and the rest of the reason."""
    puts_back = mark.made().candidate.puts_back
    undone = next((each for each in marks if each.made().step == puts_back), None)
    if undone is not None:
        yield f"{undone.letter} made it worse"
        return
    for pattern in story.shown_for(mark.choice, day):
        yield pattern_words.named(pattern.key)


def _figures(answers: Iterable[Answer], system: units.System) -> Iterator[str]:
    """Say what every aimed-at figure came to and what was expected, as far as known."""
    for each in answers:
        name = in_words(each.figure)
        number, value = (
            partial(write, each.figure, system=system)
            for write in (figure_words.number, figure_words.value)
        )
        if each.before is None or each.came is None:
            if each.expected is not None:
                yield f"{name} expected {value(each.expected)}"
            continue
        expected = "" if each.expected is None else f", expected {number(each.expected)}"
        yield f"{name} {number(each.before)} → {value(each.came)}{expected}"
