"""Where the day stands, as the status object that other programs read."""

from datetime import datetime
from typing import Any

import attrs

from planner.advice.another_run import AnotherRun
from planner.advice.candidate import Candidate
from planner.advice.own_change import beyond_most
from planner.car import changes as changing
from planner.car import limits
from planner.car.changes import Change, Setting, between_steps
from planner.judging.heat import TooHot
from planner.judging.outcomes import Outcome
from planner.judging.patterns import Pattern
from planner.plan import amendments, care, drift, left_open, on_car
from planner.plan.amendments import Rested
from planner.plan.day import Day
from planner.plan.steps import AmendStep, ChoiceStep, MadeStep, RunStep
from planner.plan.tire_sets import TireSet
from planner.plan.unjudged import unjudged
from planner.review import levels
from planner.review.levels import LevelSeen
from planner.run import lap_times
from planner.run.readings import PHASES, Run
from planner.trade import units
from planner.trade.cautions import CAUTIONS
from planner.trade.estimate import Estimate
from planner.words import at_the_car, offers, story
from planner.words import changes as change_words
from planner.words import drift as drift_words
from planner.words import outcomes as outcome_words
from planner.words import patterns as pattern_words
from planner.words import remarks as remark_words
from planner.words import runs as run_words


def build(day: Day, plan_name: str, at: datetime | None = None) -> dict[str, Any]:
    """Return the status object; all numbers in degF, psi, lb, in, deg.

    Parameters
    ----------
    at : what time it is, where that matters.
    """
    last = day.last
    shown = day.good[-1] if day.good and last is not None and not last.void else None
    table, ended = day.table(), left_open.unconfirmed(day)
    never = unjudged(day, day.good)
    return {
        "plan": plan_name,
        "format": day.plan.format,
        "rules": day.plan.rules.id,
        "units": units.JSON_UNITS,
        "round": day.round,
        "stage": day.stage,
        "due": day.due,
        "step": len(day.plan.step),
        "laps": day.plan.laps,
        "turns": day.plan.turns,
        "track": day.plan.track,
        "one_change": day.plan.one_change,
        "readings": None if last is None else {c: list(t) for c, t in last.run.tires.items()},
        "figures": None if shown is None else shown.figures.as_dict(),
        "laps_run": None if last is None else _laps(last.run),
        **_driver(None if last is None else last.run),
        "sets": [_set(each, day) for each in day.tires.sets.values()],
        "levels": [_level(each) for each in levels.of(day)],
        "settings": [each.as_dict() for each in on_car.setup(day) if each.is_known],
        "void": "" if last is None else run_words.void(last.void),
        "patterns": [_pattern(p, day) for p in shown.patterns] if shown else [],
        "expected_out": None if last is None else last.expected_out,
        "come_in": [_too_hot(each, day) for each in day.too_hot],
        "beside": [remark_words.says(each, day.plan.units) for each in day.remarks],
        "doubt": ""
        if last is None or last.doubt is None
        else remark_words.doubt(last.doubt, day.plan.units),
        "advice": [
            *filter(None, (drift_words.resumed(day, at),)),
            *(drift_words.says(each, day.plan.units) for each in drift.advice(day)),
        ],
        "candidates": [_candidate(each, _showing(day), day) for each in table.candidates],
        "again": None if day.another_run is None else _again(day.another_run),
        "held_back": [offers.held_back(held) for held in table.held_back],
        "left_open": [attrs.asdict(each) for each in left_open.left_open(day)],
        "unconfirmed": None if ended is None else {"step": ended.step, "reason": ended.reason},
        "unjudged": None
        if never is None
        else {"corners": list(never.corners), "stages": list(never.stages)},
        "amended": put_right(day),
        "pending": _pending(day),
        "last_outcome": None if day.outcome is None else _outcome(day.outcome, day),
        "cautions": cautions(day),
    }


def put_right(day: Day) -> list[dict[str, Any]]:
    """Return what was corrected so far, with the choices that rested on what it was before."""
    steps = day.plan.step
    marked = amendments.all_rested(steps)
    choices = {n: marked[n - 1] for n, step in enumerate(steps, 1) if isinstance(step, ChoiceStep)}
    return [
        {
            "step": number,
            "amends": step.amends,
            "reason": step.reason,
            "choices_before": [
                choice for choice, marks in choices.items() if number in {m.by for m in marks}
            ],
        }
        for number, step in enumerate(steps, start=1)
        if isinstance(step, AmendStep)
    ]


def rested_on(day: Day, made: int | None = None) -> tuple[Rested, ...]:
    """Return what the choice of a change rested on that has been corrected since.

    Parameters
    ----------
    made : the step that put the change on the car; None for the one now to be made.
    """
    steps = day.plan.step[: made or len(day.plan.step)]
    choices = [n for n, step in enumerate(steps, start=1) if isinstance(step, ChoiceStep)]
    return amendments.rested(day.plan.step, choices[-1]) if choices else ()


def cautions(day: Day) -> list[str]:
    """Return the cautions that matter at this point of the day, in words."""
    return [*of_the_settings(day), *(CAUTIONS[key] for key in care.due(day))]


def of_the_settings(day: Day) -> list[str]:
    """Return what to say of a change of odd size, and of settings past the rules file."""
    return [*odd_sizes(day), *_past_the_rules(day)]


def odd_sizes(day: Day) -> list[str]:
    """Say where a chosen change is more than the rules' most, or in no whole steps of the car.

    Putting back an earlier change is as large as that was, and nothing is said of it.
    """
    pending = day.pending
    if pending is None or pending.puts_back is not None:
        return []
    past_rules = changing.beyond_rules(pending.changes, day.limits.room)
    beyond = beyond_most(pending.changes, day.book, day.limits.room)
    between = between_steps(pending.changes, day.limits.room)
    return [
        *(f"{change_words.beyond_rules(each)}." for each in past_rules),
        *(f"{change_words.on_solid_axle(each)}." for each in _on_solid_axle(day)),
        *(f"{change_words.beyond_most(each)}." for each in beyond),
        *(f"{change_words.between_steps(each)}." for each in between),
    ]


def _past_the_rules(day: Day) -> list[str]:
    """Say which pressures stand past the rules file since the last step, or from the morning."""
    last = day.steps[-1] if day.steps else None
    new: set[Setting] = set(day.settings) if last is None else set()
    if isinstance(last, MadeStep):
        new = {change.setting for change in last.changes}
    elif isinstance(last, RunStep):
        new = {("pressure", corner) for corner in last.run.cold}
    stands = {setting: value for setting, value in day.settings.items() if setting in new}
    found = limits.past_rules(day.limits, stands)
    return [f"{change_words.stands_past_rules(each)}." for each in found]


def _on_solid_axle(day: Day) -> list[Setting]:
    changes = day.pending.changes if day.pending is not None else ()
    return [c.setting for c in changes if day.book.fixed.get(c.setting) == "solid-axle"]


def _too_hot(found: TooHot, day: Day) -> dict[str, Any]:
    return {
        "corner": found.corner,
        "strip": found.strip,
        "value": found.reads,
        "limit": found.limit,
        "says": remark_words.too_hot(found, day.plan.units),
    }


def _driver(run: Run | None) -> dict[str, Any]:
    """Return the driver's first word and its part of the corner, and the word for each part."""
    return {
        "feel": None if run is None else run.feel,
        "where": None if run is None else run.where,
        "felt": {phase: None if run is None else run.felt_in(phase) for phase in PHASES},
    }


def _set(tires: TireSet, day: Day) -> dict[str, Any]:
    """Return a set of tires and what was run on it."""
    return {
        "name": tires.name,
        "state": tires.state,
        "laps": tires.laps,
        "heat_cycles": tires.cycles,
        "on_car": tires == day.tires.now,
    }


def _level(seen: LevelSeen) -> dict[str, Any]:
    """Return how another set of tires or part of the day reads [degF]."""
    kind, name = seen.level
    apart = {name: _prediction(at) for name, at in seen.apart.items()}
    return {"kind": kind, "name": name, "against": seen.against[1], "apart": apart}


def _laps(run: Run) -> dict[str, Any] | None:
    if not run.lap_times:
        return None
    summary = lap_times.summary(run.lap_times)
    return {
        "best": summary.best,
        "mean": round(summary.mean, 3),
        "falloff": None if summary.falloff is None else round(summary.falloff, 3),
        "falloff_error": (
            None if summary.falloff_error is None else round(summary.falloff_error, 3)
        ),
        "counted": list(summary.counted),
    }


def _pattern(pattern: Pattern, day: Day) -> dict[str, Any]:
    latest = day.good[-1]
    beside = day.evidence_for(pattern, latest.step, latest.run)
    return {
        "id": pattern.id,
        "stage": pattern.stage,
        "corner": pattern.corner,
        "value": round(pattern.value, 3),
        "limit": pattern.limit,
        "strength": pattern.strength,
        "error": round(pattern.error, 3),
        "chance": round(pattern.chance, 3),
        "masked_by": list(pattern.masked_by),
        "says": pattern_words.says(pattern, day.book, day.plan.units),
        "evidence": [pattern_words.beside(each) for each in beside],
        "left_open": pattern.key in day.left_open,
    }


def _again(again: AnotherRun) -> dict[str, Any]:
    """Return what the car run once more as it is would take and settle."""
    return {
        "minutes": again.minutes,
        "says": offers.another_run(again),
        "unsettled": [
            {"figure": e.figure, "out": round(e.out, 3), "settles": round(e.settles, 3)}
            for e in again.unsettled
        ],
    }


def _showing(day: Day) -> tuple[Pattern, ...]:
    return day.good[-1].patterns if day.good else ()


def _pending(day: Day) -> dict[str, Any] | None:
    if day.pending is None:
        return None
    patterns = story.patterns_then(amendments.last_choice(day.plan.step), day)
    rested = [each.as_dict() for each in rested_on(day)]
    return _candidate(day.pending, patterns, day) | {"rested_on": rested}


def _candidate(candidate: Candidate, patterns: tuple[Pattern, ...], day: Day) -> dict[str, Any]:
    book, system = day.book, day.plan.units
    return {
        "id": candidate.id,
        "title": offers.title(candidate),
        "pattern": candidate.pattern,
        "why": offers.why(candidate, patterns, book, system),
        "source": offers.source(candidate, book),
        "rests_on": offers.rests_on(candidate, system),
        "how": [said for line in day.how(candidate) for said in at_the_car.how(line)],
        "changes": [_change(change) for change in candidate.changes],
        "aims": [*candidate.answers, *candidate.trims_answer],
        "predicted": {n: _prediction(p) for n, p in candidate.predicted.items()} or None,
        "chance": None if candidate.chance is None else round(candidate.chance, 3),
        "spoils": None if candidate.spoils is None else round(candidate.spoils, 3),
        "minutes": candidate.minutes,
        "cautions": [CAUTIONS[key] for key in candidate.cautions],
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "knob": change.knob,
        "corner": change.corner,
        "amount": change.amount,
        "unit": change.unit,
        "from": change.before,
        "to": change.after,
        "trim": change.trim,
    }


def _prediction(at: Estimate) -> dict[str, float]:
    return {"mean": round(at.mean, 3), "sd": round(at.sd, 3)}


def _outcome(outcome: Outcome, day: Day) -> dict[str, Any]:
    return {
        "verdict": outcome.verdict,
        "verdict_words": "" if day.judged is None else change_words.verdicts(day.judged, day.book),
        "chance": None if outcome.chance is None else round(outcome.chance, 3),
        "step": outcome.step,
        "together_with": [] if day.judged is None else list(day.judged.beside),
        "says": outcome_words.says(outcome, day.plan.units),
        "rested_on": [each.as_dict() for each in rested_on(day, outcome.step)],
        "figures": [
            {
                "figure": part.figure,
                "before": round(part.before, 3),
                "after": round(part.after, 3),
                "expected": None if part.expected is None else round(part.expected, 3),
                "target": part.target,
                "verdict": part.verdict,
                "chance": None if part.chance is None else round(part.chance, 3),
            }
            for part in outcome.figures
        ],
    }
