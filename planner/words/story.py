"""Why each change was made: the steps of a plan retold, one by one."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs

from planner.advice.candidate import Candidate
from planner.car import car_file
from planner.judging.patterns import Pattern
from planner.plan import amendments, way
from planner.plan.amendments import Rested
from planner.plan.day import Day
from planner.plan.steps import (
    STEP_KINDS,
    AmendStep,
    CarStep,
    ChoiceStep,
    MadeStep,
    NoteStep,
    RunStep,
    Step,
    TakenBackStep,
)
from planner.trade import knobs
from planner.trade.refusals import Refusal
from planner.words import amend_story, at_the_car, offers, run_story
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import patterns as pattern_words
from planner.words import tire_sets as set_words
from planner.words import way as way_words
from planner.words.figures import difference, in_words

MARK = "!"  # beside the number of a step that rested on a value no longer in force


@attrs.frozen
class Told:
    """One step, told: a headline and what stands behind it, line by line.

    Attributes
    ----------
    date : as 2026-05-09.
    when : the time of day, with the date where that is not the one of the first step.
    rested : what it rested on that has been corrected since.
    amended_by : the steps that corrected this one.
    amends : the step that this one corrects.
    """

    step: int
    kind: str
    time: str
    headline: str
    details: tuple[tuple[str, str], ...]
    rested: tuple[Rested, ...] = ()
    amended_by: tuple[int, ...] = ()
    amends: int | None = None
    date: str = ""
    when: str = ""

    @property
    def label(self) -> str:
        """The number of the step, marked where it rested on a value no longer in force."""
        return f"{self.step}{MARK if self.rested else ''}"

    def as_dict(self) -> dict[str, Any]:
        """Return the step as it goes into JSON."""
        return {
            "step": self.step,
            "kind": self.kind,
            "time": self.time,
            "headline": self.headline,
            "details": [{"about": about, "says": says} for about, says in self.details],
            "rested_on": [each.as_dict() for each in self.rested],
            "amended_by": list(self.amended_by),
            "amends": self.amends,
            "date": self.date,
        }


@attrs.frozen
class Source:
    """Where a rule that the day used comes from; `name` is the rule as a reader knows it."""

    rule: str
    source: str
    name: str


def tell(day: Day, only: int | None = None) -> tuple[Told, ...]:
    """Return the day as a story.

    Parameters
    ----------
    day : the day.
    only : one step by its number; None for all. A change made, told alone, is told with the
        choice behind it.

    Raises
    ------
    Refusal
        There is no step of that number.
    """
    steps = day.plan.step
    if only is not None and not 1 <= only <= len(steps):
        known = f"steps 1 to {len(steps)}" if steps else "no steps yet"
        raise Refusal(
            "no-step",
            f"There is no step {only}; the plan has {known}.",
            where="STEP",
            hint="treadgate why PLAN",
        )
    runs = 0
    told: list[Told] = []
    marked = amendments.all_rested(steps)
    carried: dict[Rested, list[int]] = {}
    for number, marks in enumerate(marked, start=1):
        for mark in marks:
            if only in (None, number):
                carried.setdefault(mark, []).append(number)
    for number, step in enumerate(steps, start=1):
        if isinstance(step, RunStep):
            runs += 1
            step = _as_judged(step, day, number)
        if amendments.amended_by(steps, number):  # what was first recorded, the amendment tells
            step = day.steps[number - 1]
        if only in (None, number):
            told.append(_told(number, step, runs, day, marked, carried))
    if only is None:
        return tuple(told)
    (one,) = told
    behind = _choice_behind(only, day) if isinstance(steps[only - 1], MadeStep) else ()
    return (attrs.evolve(one, details=(*one.details, *behind, *_in_turn(only, day))),)


def patterns_then(choice: int, day: Day) -> tuple[Pattern, ...]:
    """Return what the run before a choice showed, as it was judged then."""
    before = day.plan.step[: choice - 1]
    judged = (
        amendments.judged_before(number, before)
        for number in range(len(before), 0, -1)
        if isinstance(before[number - 1], RunStep)
    )
    return next((run.patterns for run in judged if not run.void), ())


def shown_for(choice: int, day: Day) -> tuple[Pattern, ...]:
    """Return the patterns that a change was chosen for, as its run was judged then.

    One of the crew's own was chosen on all that the tires showed in its stage.
    """
    step = day.plan.step[choice - 1]
    assert isinstance(step, ChoiceStep)
    assert step.chosen is not None
    patterns = patterns_then(choice, day)
    if step.chosen.is_own:
        return tuple(each for each in patterns if each.holds and each.stage == step.stage)
    keys = step.chosen.answers
    return tuple(each for each in patterns if each.key in keys) or tuple(
        each for each in patterns if each.id == step.chosen.pattern
    )


def because(choice: int, day: Day) -> str:
    """Return why a change was chosen, the crew's own reason aside."""
    step = day.plan.step[choice - 1]
    assert isinstance(step, ChoiceStep)
    assert step.chosen is not None
    return offers.why(step.chosen, patterns_then(choice, day), day.book, day.plan.units)


def _choice_behind(number: int, day: Day) -> Iterator[tuple[str, str]]:
    """Tell the choice that a made step carried out."""
    at = amendments.last_choice(day.plan.step[: number - 1])
    step = day.plan.step[at - 1]
    assert isinstance(step, ChoiceStep)
    assert step.chosen is not None
    yield "chosen", f"step {at}: {_chosen_headline(step.chosen)}"
    yield "shown then" if step.chosen.is_own else "because", because(at, day)
    if step.reason:
        yield "reason", step.reason


def _in_turn(number: int, day: Day) -> Iterator[tuple[str, str]]:
    """Tell what the change of a choice, or of a made step, does in the middle of the turn."""
    step = day.plan.step[number - 1]
    at = number if isinstance(step, ChoiceStep) else amendments.last_choice(day.plan.step[:number])
    choice = day.plan.step[at - 1] if isinstance(step, ChoiceStep | MadeStep) else step
    if isinstance(choice, ChoiceStep) and choice.chosen is not None:
        found = day.at(at - 1).in_turn(choice.chosen)
        for sentence in () if found is None else at_the_car.in_the_turn(found):
            yield "in the turn", sentence


def _as_judged(step: RunStep, day: Day, number: int) -> RunStep:
    """Return the run as the day stands on it: the last one is judged afresh."""
    if day.last is not None and number == len(day.plan.step):
        return day.last
    return step


def sources(day: Day) -> tuple[Source, ...]:
    """Return where the rules come from that the day used, in the order they were first used.

    A rule is used when its pattern held a stage or was answered by a change that was chosen and not
    taken back; the source of the change is that of its size and direction.
    """
    found: dict[tuple[str, str], Source] = {}

    def used(rule: str, source: str, name: str) -> None:
        if source:
            found.setdefault((rule, source), Source(rule, source, name))

    taken_back = [
        amendments.last_choice(day.plan.step[:at])
        for at, step in enumerate(day.plan.step)
        if isinstance(step, TakenBackStep)
    ]
    for number, step in enumerate(day.plan.step, start=1):
        if isinstance(step, RunStep):
            for pattern in step.patterns:
                if pattern.holds and day.book.knows(pattern.id, pattern.stage):
                    name = pattern_words.named(pattern.id)
                    used(pattern.id, day.book.rule(pattern.id).source, name)
        elif isinstance(step, ChoiceStep) and step.chosen is not None and number not in taken_back:
            title = offers.title(step.chosen)
            used(title, offers.source(step.chosen, day.book), title)
    return tuple(found.values())


def _told(
    number: int,
    step: Step,
    runs: int,
    day: Day,
    marked: Sequence[tuple[Rested, ...]],
    carried: Mapping[Rested, Sequence[int]],
) -> Told:
    """Tell a step; a mark that several steps carry is explained at the first of them."""
    rested, by = marked[number - 1], amendments.amended_by(day.plan.step, number)
    amended = None
    if isinstance(step, RunStep):
        headline, details = (
            run_story.headline(step, number, runs, day),
            run_story.details(step, day, number),
        )
    elif isinstance(step, ChoiceStep):
        headline = f"moved on from the {step.stage} stage"
        if step.chosen is not None:
            headline = _chosen_headline(step.chosen)
        details = _choice(step, number, day)
    elif isinstance(step, TakenBackStep):
        headline, details = "the choice is taken back; nothing was changed", _taken_back(step)
    elif isinstance(step, MadeStep):
        headline, details = _made_headline(step), _made(step)
    elif isinstance(step, NoteStep):
        headline, details = note(step), _put_on(step, number, day)
    elif isinstance(step, CarStep):
        headline, details = "a car file was given", _car(step)
    else:
        amended = step.amends
        headline, details = (
            amend_story.headline(step, day),
            amend_story.details(number, step, day, marked),
        )
    said = []
    for mark in rested:
        first, *others = carried[mark]
        if first == number:
            too = (
                f" ({amendment_words.steps(others)}, marked {MARK}, rested on it too)"
                if others
                else ""
            )
            said.append(("marked", f"{amendment_words.rested(mark)}{too}: {_reason(mark.by, day)}"))
    for at in by:
        by_step = amendment_words.named(day.plan.step, at)
        said.append(("amended", f"by {by_step}: {_reason(at, day)}; shown as corrected"))
    noted = (
        ("note", f"{each.note} (step {at})")
        for at, each in enumerate(day.plan.step, start=1)
        if isinstance(each, NoteStep) and each.about == number
    )
    went = way.way(day, number)
    led = () if went is None else (("went", way_words.says(went)),)
    time = step.time.strftime("%H:%M")
    return Told(
        number,
        STEP_KINDS[type(step)],
        time,
        headline,
        (*said, *details, *led, *noted),
        rested,
        by,
        amended,
        step.time.date().isoformat(),
        amendment_words.clock(day.plan.step, number),
    )


def _put_on(step: NoteStep, number: int, day: Day) -> Iterator[tuple[str, str]]:
    """Tell which set of tires went on, if that was noted."""
    if step.set:
        yield "tires", f"{set_words.named(day.at(number).tires.now)} went on"


def _car(step: CarStep) -> Iterator[tuple[str, str]]:
    """Tell what a car file says in short: its name, and the settings of that moment."""
    if step.car.car.name:
        yield "car", step.car.car.name
    told = (
        f"{change_words.named(setting)} {knobs.shown(setting[0], at, signed=False)}"
        for setting, at in car_file.starting_settings(step.car).items()
    )
    yield "on the car", ", ".join(told) or "nothing is said of the settings"


def note(step: NoteStep) -> str:
    """Say what was noted, and of which step."""
    about = "" if step.about is None else f" to step {step.about}"
    return f"note{about}: {step.note}"


def _reason(number: int, day: Day) -> str:
    step = day.plan.step[number - 1]
    if isinstance(step, AmendStep):
        return step.reason
    return "the run said what the change before it really was"


def _chosen_headline(chosen: Candidate) -> str:
    return f"{offers.title(chosen)}{change_words.riding(chosen.changes)}"


def _choice(step: ChoiceStep, number: int, day: Day) -> Iterator[tuple[str, str]]:
    yield "stage", step.stage
    chosen = step.chosen
    if chosen is None:
        yield "left as is", pattern_words.listed(step.left_open) or "nothing was open"
    else:
        yield "shown then" if chosen.is_own else "because", because(number, day)
        rests_on = offers.rests_on(chosen, day.plan.units)
        yield "rests on", f"{rests_on} ({offers.source(chosen, day.book)})"
        for name in chosen.foretold(day.book):
            at = chosen.predicted.get(name)
            if at is not None:
                mean = difference(at.mean, day.plan.units)
                spread = difference(at.sd, day.plan.units, signed=False)
                yield "expected", f"{in_words(name)} {mean}, give or take {spread}"
        for change in chosen.changes:
            if change.trim:
                reason = offers.trim_reason(chosen, change, day.book, day.plan.units)
                yield "riding along", f"{change_words.briefly(change)}: {reason}"
    taken = "" if chosen is None else offers.title(chosen)
    for other in dict.fromkeys(map(offers.title, step.offered)):  # with and without trims once
        if other != taken:
            yield "not taken", other
    if step.reason:
        yield "reason", step.reason


def _taken_back(step: TakenBackStep) -> Iterator[tuple[str, str]]:
    if step.reason:
        yield "reason", step.reason


def _made_headline(step: MadeStep) -> str:
    real = [
        f"{change_words.in_words(change)}{', riding trim' if change.trim else ''}"
        for change in step.changes
        if change.amount
    ]
    return f"on the car: {', '.join(real)}" if real else "nothing changed"


def _made(step: MadeStep) -> Iterator[tuple[str, str]]:
    if step.reason:
        yield "reason", step.reason
    for change in step.changes:
        if change.before is not None and change.after is not None:
            before = knobs.number(change.knob, change.before, signed=False)
            after = knobs.shown(change.knob, change.after, signed=False)
            yield f"{change.corner} {change.knob}", f"{before} → {after}"
