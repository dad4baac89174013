"""A corrected entry, retold: what it was, what it is, what is judged differently for it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import attrs

from planner.judging.outcomes import Outcome
from planner.judging.patterns import NOTICED
from planner.plan import amendments
from planner.plan.amendments import Rested
from planner.plan.day import Day
from planner.plan.steps import (
    AmendStep,
    ChoiceStep,
    Judged,
    RunStep,
)
from planner.run.readings import Again, Run
from planner.trade import knobs, units
from planner.trade.corners import CORNERS, was_read
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import outcomes as outcome_words
from planner.words import patterns as pattern_words
from planner.words import run_story
from planner.words import runs as run_words


def headline(step: AmendStep, day: Day) -> str:
    """Say which step was corrected."""
    if step.run is None:
        return f"step {step.amends} corrected: what was really made"
    runs = sum(isinstance(each, RunStep) for each in day.plan.step[: step.amends])
    return f"step {step.amends} corrected: run {runs}"


def details(
    number: int, step: AmendStep, day: Day, marked: Sequence[tuple[Rested, ...]]
) -> Iterator[tuple[str, str]]:
    """Tell why, old and new, what rested on it, and what is judged differently.

    Parameters
    ----------
    number : of the step.
    marked : what each step of the plan rested on that is no longer in force.
    """
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
        yield "bears on", f"chosen before this was known: {amendment_words.steps(before)}"
    before_it = day.plan.step[: number - 1]
    otherwise = [
        said
        for judged in step.judged
        for said in _judged_again(judged, amendments.judged_before(judged.step, before_it), day)
    ]
    runs = (each for each in before_it[step.amends - 1 :] if isinstance(each, RunStep))
    if not otherwise and any(runs):
        otherwise = [("judged again", "nothing else changes")]
    yield from otherwise


def _judged_again(judged: Judged, first: Judged | RunStep, day: Day) -> Iterator[tuple[str, str]]:
    """Tell what a run judges differently by the corrected numbers.

    A changed number that leads to the same judgement is not mentioned.
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
    """Say what came of a change by the corrected numbers, and what was said before."""
    was, now = (
        "" if each.outcome is None else run_story.verdicts(each.outcome, day)
        for each in (first, judged)
    )
    if judged.outcome is None:
        return f"{was} → no longer judges a change"
    verdict = f"{was} → {now}" if was and was != now else f"still {now}" if was else now
    return f"{verdict}; {outcome_words.says(judged.outcome, day.plan.units)}"


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
    """Tell every corrected part of a run: what it was and what it is."""
    for field in attrs.fields(Run):
        one, other = getattr(was, field.name), getattr(now, field.name)
        if one == other:
            continue
        name = field.name.replace("_", " ")
        if field.name == "felt":
            yield "driver", f"{run_words.felt(one) or 'none'} → {run_words.felt(other) or 'none'}"
        elif isinstance(one, Mapping):
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
        shown = "/".join(
            f"{units.in_plan_unit(each, system):.4g}" if was_read(each) else "-" for each in values
        )
        return f"{shown} {units.degree_mark(system)}"
    if name in ("cold", "hot"):
        return knobs.shown("pressure", value, signed=False)
    if isinstance(value, tuple):
        return ("/" if name.startswith("tread") else ", ").join(
            f"{each:g}" if isinstance(each, float) else str(each) for each in value
        )
    return f"{value:g}" if isinstance(value, float) else str(value)
