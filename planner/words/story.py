"""Why each change was made: the steps of a plan retold, one by one."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs

from planner.advice.candidate import Candidate
from planner.advice.outlook import Outlook
from planner.car.changes import Change
from planner.judging.outcomes import Outcome
from planner.judging.patterns import NOTICED, Pattern
from planner.plan import amendments, way
from planner.plan.amendments import Rested
from planner.plan.day import Day
from planner.plan.steps import (
    STEP_KINDS,
    AmendStep,
    ChoiceStep,
    Judged,
    MadeStep,
    RunStep,
    Step,
    TakenBackStep,
)
from planner.run.readings import Again, Run
from planner.trade import figures as figure
from planner.trade import knobs, units
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import in_words
from planner.trade.refusals import Refusal
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import offers
from planner.words import outcomes as outcome_words
from planner.words import patterns as pattern_words
from planner.words import remarks as remark_words
from planner.words import runs as run_words
from planner.words import way as way_words

MARK = "!"  # beside the number of a step that rested on a value no longer in force


@attrs.frozen
class Told:
    """One step, told: a headline and what stands behind it, line by line.

    Attributes
    ----------
    date : as 2026-05-09.
    when : the time of day, with the date of an amendment made on another day than the step it
        puts right.
    rested : what it rested on that has been put right since.
    amended_by : the steps that put this one right.
    amends : the step that this one puts right.
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
    """Where a rule that the day used comes from."""

    rule: str
    source: str


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
        if only in (None, number):
            told.append(_told(number, step, runs, day, marked, carried))
    if only is not None and isinstance(steps[only - 1], MadeStep):
        (made,) = told
        return (attrs.evolve(made, details=(*made.details, *_choice_behind(only, day))),)
    return tuple(told)


def patterns_then(choice: int, day: Day) -> tuple[Pattern, ...]:
    """Return what the run showed that a choice was made on, as it was judged then."""
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

    def used(rule: str, source: str) -> None:
        if source:
            found.setdefault((rule, source), Source(rule, source))

    taken_back = [
        amendments.last_choice(day.plan.step[:at])
        for at, step in enumerate(day.plan.step)
        if isinstance(step, TakenBackStep)
    ]
    for number, step in enumerate(day.plan.step, start=1):
        if isinstance(step, RunStep):
            for pattern in step.patterns:
                if pattern.holds and day.book.knows(pattern.id, pattern.stage):
                    used(pattern.id, day.book.rule(pattern.id).source)
        elif isinstance(step, ChoiceStep) and step.chosen is not None and number not in taken_back:
            used(offers.title(step.chosen), offers.source(step.chosen, day.book))
    return tuple(found.values())


def _told(
    number: int,
    step: Step,
    runs: int,
    day: Day,
    marked: Sequence[tuple[Rested, ...]],
    carried: Mapping[Rested, Sequence[int]],
) -> Told:
    """Tell a step; a mark that several carry is said at the first of them, for all."""
    rested, by = marked[number - 1], amendments.amended_by(day.plan.step, number)
    amended = None
    if isinstance(step, RunStep):
        headline, details = _run_headline(step, number, runs, day), _run(step, day, number)
    elif isinstance(step, ChoiceStep):
        headline = f"moved on from the {step.stage} stage"
        if step.chosen is not None:
            headline = _chosen_headline(step.chosen)
        details = _choice(step, number, day)
    elif isinstance(step, TakenBackStep):
        headline, details = "the choice is taken back; nothing was changed", _taken_back(step)
    elif isinstance(step, MadeStep):
        headline, details = _made_headline(step), _made(step)
    else:
        amended = step.amends
        headline, details = _amend_headline(step, day), _amend(number, step, day, marked)
    said = []
    for mark in rested:
        first, *others = carried[mark]
        if first == number:
            too = f" ({_steps(others)}, marked {MARK}, rested on it too)" if others else ""
            said.append(("marked", f"{amendment_words.rested(mark)}{too}: {_reason(mark.by, day)}"))
    for at in by:
        by_step = amendment_words.named(day.plan.step, at)
        said.append(("amended", f"by {by_step}: {_reason(at, day)}; told as first recorded"))
    went = way.way(day, number)
    led = () if went is None else (("went", way_words.says(went)),)
    time = step.time.strftime("%H:%M")
    date = "" if amended is None else amendment_words.on_another_day(day.plan.step, number)
    return Told(
        number,
        STEP_KINDS[type(step)],
        time,
        headline,
        (*said, *details, *led),
        rested,
        by,
        amended,
        step.time.date().isoformat(),
        f"{date}, {time}" if date else time,
    )


def _steps(numbers: Sequence[int]) -> str:
    """Name steps, those that follow each other by the first and the last of them."""
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][-1] + 1:
            spans[-1] = [spans[-1][0], number]
        else:
            spans.append([number])
    said = ", ".join(" to ".join(map(str, span)) for span in spans)
    return f"step{'' if len(numbers) == 1 else 's'} {said}"


def _reason(number: int, day: Day) -> str:
    step = day.plan.step[number - 1]
    if isinstance(step, AmendStep):
        return step.reason
    return "the run said what the change before it really was"


def _amend_headline(step: AmendStep, day: Day) -> str:
    if step.run is None:
        return f"step {step.amends} put right: what was really made"
    runs = sum(isinstance(each, RunStep) for each in day.plan.step[: step.amends])
    return f"step {step.amends} put right: run {runs}"


def _amend(
    number: int, step: AmendStep, day: Day, marked: Sequence[tuple[Rested, ...]]
) -> Iterator[tuple[str, str]]:
    yield "reason", step.reason
    was = amendments.before(day.plan.step, number)
    if isinstance(was, Run):
        assert step.run is not None
        yield from _differing(was, step.run, day.plan.units)
    else:
        yield "was", change_words.listed(was) or "nothing changed"
        yield "now", change_words.listed(step.changes) or "nothing"
    before = [
        n
        for n, each in enumerate(day.plan.step[: number - 1], start=1)
        if isinstance(each, ChoiceStep) and any(m.step == step.amends for m in marked[n - 1])
    ]
    if before:
        yield "bears on", f"chosen before this was known: {_steps(before)}"
    before_it = day.plan.step[: number - 1]
    otherwise = [
        said
        for judged in step.judged
        for said in _judged_again(judged, amendments.judged_before(judged.step, before_it), day)
    ]
    if step.judged and not otherwise:
        otherwise = [("judged again", "nothing else changes")]
    yield from otherwise


def _judged_again(judged: Judged, first: Judged | RunStep, day: Day) -> Iterator[tuple[str, str]]:
    """Tell how a run judges otherwise than before, with the numbers put right.

    Another number that leads to the same judgement is not told.
    """
    if judged.void != first.void:
        now = f"judges nothing: {run_words.void(judged.void)}" if judged.void else "counts"
        yield "judged again", f"step {judged.step}: {now}"
    if judged.void:
        return
    if not _alike(judged.outcome, first.outcome):
        yield "judged again", f"step {judged.step}: {_verdict_again(judged, first, day)}"
    was, now_shown = ({p.key: p for p in each.patterns} for each in (first, judged))
    for key, pattern in now_shown.items():
        if key not in was or was[key].strength != pattern.strength:
            says = pattern_words.says(pattern, day.book, day.plan.units)
            yield "judged again", f"step {judged.step} now shows {says}"
    gone = pattern_words.listed(key for key in was if key not in now_shown)
    if gone:
        yield "judged again", f"step {judged.step} no longer shows {gone}"


def _verdict_again(judged: Judged, first: Judged | RunStep, day: Day) -> str:
    """Say what came of a change by the numbers put right, and what was said of it before."""
    was, now = (
        "" if each.outcome is None else _verdicts(each.outcome, day) for each in (first, judged)
    )
    if judged.outcome is None:
        return f"{was} → judges no change any more"
    verdict = f"{was} → {now}" if was and was != now else f"still {now}" if was else now
    return f"{verdict}; {outcome_words.says(judged.outcome, day.plan.units)}"


def _verdicts(outcome: Outcome, day: Day) -> str:
    past = next(each for each in day.past if each.step == outcome.step)
    return change_words.verdicts(attrs.evolve(past, outcome=outcome), day.book)


def _alike(now: Outcome | None, was: Outcome | None) -> bool:
    """Say whether two judgements of a change come to the same."""
    if now is None or was is None:
        return now is was
    pairs = list(zip(now.figures, was.figures, strict=False))
    near = all(
        one is other or (one is not None and other is not None and abs(one - other) < NOTICED)
        for here, there in pairs
        for one, other in (
            (here.before, there.before),
            (here.after, there.after),
            (here.expected, there.expected),
        )
    )
    verdicts = [[part.verdict for part in each.figures] for each in (now, was)]
    return near and now.verdict == was.verdict and verdicts[0] == verdicts[1]


def _differing(was: Run, now: Run, system: units.System) -> Iterator[tuple[str, str]]:
    """Tell every part of a run that was put right: what it was and what it is."""
    for field in attrs.fields(Run):
        one, other = getattr(was, field.name), getattr(now, field.name)
        if one == other:
            continue
        name = field.name.replace("_", " ")
        if isinstance(one, Mapping):
            for corner in CORNERS:
                if one.get(corner) != other.get(corner):
                    before, after = (
                        _value(field.name, each.get(corner), system) for each in (one, other)
                    )
                    yield name, f"{corner} {before} → {after}"
        else:
            before, after = (_value(field.name, each, system) for each in (one, other))
            yield name, f"{before} → {after}"


def _value(name: str, value: Any, system: units.System) -> str:
    """Write a part of a run, temperatures in the plan's unit."""
    if value in (None, "", ()):
        return "none"
    if isinstance(value, Again):
        return f"{value.corner} {_value('tires', value.tire, system)}"
    if name in ("tires", "track_temp", "air_temp"):
        values = value if isinstance(value, tuple) else (value,)
        shown = "/".join(f"{units.in_plan_unit(each, system):.4g}" for each in values)
        return f"{shown} {units.degree_mark(system)}"
    if name in ("cold", "hot"):
        return knobs.shown("pressure", value, signed=False)
    if isinstance(value, tuple):
        return ("/" if name.startswith("tread") else ", ").join(
            f"{each:g}" if isinstance(each, float) else str(each) for each in value
        )
    return f"{value:g}" if isinstance(value, float) else str(value)


def _run_headline(step: RunStep, number: int, runs: int, day: Day) -> str:
    """Say what a run judged, and what it judges by the numbers put right since."""
    in_force = day.steps[number - 1]
    assert isinstance(in_force, RunStep)
    headline = f"run {runs}"
    if step.void:
        headline = f"run {runs}, judges nothing: {run_words.void(step.void)}"
    elif step.outcome is not None:
        headline += f"; the change of step {step.outcome.step}: {_verdicts(step.outcome, day)}"
    if step.void == in_force.void and _came(step, day) == _came(in_force, day):
        return headline
    if in_force.void:
        again = f"judges nothing: {run_words.void(in_force.void)}"
    elif in_force.outcome is None:
        again = "counts" if step.void else "judges no change any more"
    elif step.outcome is not None:
        again = _verdicts(in_force.outcome, day)
    else:
        again = f"the change of step {in_force.outcome.step}: {_verdicts(in_force.outcome, day)}"
    return f"{headline}{';' if step.void else ','} judged again: {again}"


def _came(run: RunStep, day: Day) -> str:
    return "" if run.void or run.outcome is None else _verdicts(run.outcome, day)


def _run(step: RunStep, day: Day, number: int) -> Iterator[tuple[str, str]]:
    system = day.plan.units
    averages = figure.compute(step.run.tires, day.plan.turns).averages()
    tires = ", ".join(
        f"{corner} {'/'.join(f'{units.in_plan_unit(v, system):.0f}' for v in tire)}"
        f" (average {units.temperature(averages[corner], system)})"
        for corner, tire in step.run.tires.items()
    )
    yield "read", tires
    yield from _beside(step.run, system)
    if step.outcome is not None:
        yield "outcome", outcome_words.says(step.outcome, system)
        yield from (("learned", said) for said in _learned(step.outcome.step, day, number))
    for remark in day.remarks_on(number, step):
        yield "beside", remark_words.says(remark, system)
    if step.doubt is not None:
        yield "doubt", remark_words.doubt(step.doubt, system)
    for change in step.really:
        yield "corrected", f"the change before was really {change_words.in_words(change)}"
    for pattern in step.patterns:
        says = pattern_words.says(pattern, day.book, system)
        yield "shows", f"{says}{_sureness(pattern, system)}"
        for each in day.evidence_for(pattern, number, step.run):
            yield "beside", pattern_words.beside(each)
    if not step.patterns and not step.void:
        yield "shows", "nothing out of band"


def _sureness(pattern: Pattern, system: units.System) -> str:
    """Tell how well a figure that holds a stage is known, or ``""``."""
    if pattern.stage is None or not pattern.error:
        return ""
    error = units.difference(pattern.error, system, signed=False)
    return f" [± {error}; {pattern.chance:.0%} out]"


def _learned(changed_at: int, day: Day, number: int) -> Iterator[str]:
    """Tell what a run taught of the knobs that the change before it moved.

    What is known now as it was believed before the first run, no run has taught.
    """
    past = next((each for each in day.past if each.step == changed_at), None)
    runs = sum(run.step <= number for run in day.good)
    if past is None or not runs:
        return
    outlook = Outlook(day.known_by(runs), day.book)
    for change in past.made:
        aims = past.candidate.aims(day.book)
        own = tuple(aim for aim in aims if aim.corner == change.corner)
        for aim in (own or aims)[:1]:
            name, amount = aim.figures[0], _telling_amount(change, day)
            now, before = (
                _answer(at, amount, day.plan.units)
                for at in (
                    outlook.answer(name, change.setting),
                    outlook.believed(name, change.setting),
                )
            )
            if change.amount and now != before:
                per = change.unit
                if amount != 1:
                    per = knobs.shown(change.knob, amount, signed=False)
                yield f"{change.corner} {change.knob}: {in_words(name)} {now} per {per}"


def _answer(at: Estimate, amount: float, system: units.System) -> str:
    mean = units.difference(at.mean * amount, system)
    return f"{mean} ± {units.difference(at.sd * amount, system, signed=False)}"


def _telling_amount(change: Change, day: Day) -> float:
    """Return how much of a knob its answer is told for: one unit, or what the rules turn of it.

    A pound of ballast does nothing that could be read, an inch of toe is never turned.
    """
    entries = day.book.adjustments_of(*change.setting)
    return min(max(1.0, entries[0].step), entries[0].most) if entries else 1.0


def _beside(run: Run, system: units.System) -> Iterator[tuple[str, str]]:
    if run.feel:
        yield "driver", f"{run.feel}{f', {run.where}' if run.where else ''}"
    if run.lap_times:
        yield "laps", run_words.laps(run.lap_times)
    weather = [
        f"{name} {units.temperature(value, system)}"
        for name, value in (("track", run.track_temp), ("air", run.air_temp))
        if value is not None
    ]
    if weather:
        yield "weather", ", ".join(weather)
    for name, pressures in (("cold", run.cold), ("hot", run.hot)):
        if pressures:
            yield name, ", ".join(f"{corner} {psi:.1f} psi" for corner, psi in pressures.items())
    if run.flags:
        yield "flags", ", ".join(run.flags)
    if run.note:
        yield "note", run.note


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
                mean = units.difference(at.mean, day.plan.units)
                spread = units.difference(at.sd, day.plan.units, signed=False)
                yield "expected", f"{in_words(name)} {mean}, give or take {spread}"
        for change in chosen.changes:
            if change.trim:
                reason = offers.trim_reason(chosen, change, day.book, day.plan.units)
                yield "riding along", f"{change_words.briefly(change)}: {reason}"
    for other in step.offered:
        if chosen is None or offers.title(other) != offers.title(chosen):
            yield "not taken", offers.title(other)
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
    for change in step.changes:
        if change.before is not None and change.after is not None:
            places = knobs.KNOBS[change.knob].decimals
            yield (
                f"{change.corner} {change.knob}",
                f"{change.before:.{places}f} → {change.after:.{places}f} {change.unit}",
            )
