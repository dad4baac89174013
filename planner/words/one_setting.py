"""The life of one setting: when it was moved, from what to what, why, and what came of it."""

import re
from collections.abc import Collection
from typing import Any

import attrs

from planner.advice.past import Past
from planner.car import car_file
from planner.car.changes import Change, Setting
from planner.plan import amendments
from planner.plan.day import Day
from planner.plan.steps import ChoiceStep, RunStep
from planner.review import timeline
from planner.trade import knobs
from planner.trade.refusals import Refusal, quoted
from planner.words import amendments as amendment_words
from planner.words import changes as change_words
from planner.words import offers, story
from planner.words import outcomes as outcome_words


@attrs.frozen
class Event:
    """One thing that happened to a setting.

    Attributes
    ----------
    kind : ``moved``, or ``set`` where a pressure was read before a run.
    before, after : the setting; None where it is not known.
    amount : how far it was moved; None where it was set.
    why : what it was to fix.
    reason : the crew's.
    came : what came of it, in words, or ``""``; `verdict` in one, `verdict_words` in a few.
    rested : marks of what the choice rested on that has been corrected since.
    amended_by : amendments of the step; `amended_words` says them with their dates.
    """

    step: int
    time: str
    kind: str
    before: float | None
    after: float | None
    amount: float | None = None
    trim: bool = False
    why: str = ""
    reason: str = ""
    verdict: str | None = None
    verdict_words: str = ""
    came: str = ""
    rested: tuple[amendments.Rested, ...] = ()
    amended_by: tuple[int, ...] = ()
    amended_words: tuple[str, ...] = ()


@attrs.frozen
class Life:
    """A setting from the start of the day until now; None where it is not known."""

    setting: Setting
    start: float | None
    now: float | None
    events: tuple[Event, ...]

    @property
    def unit(self) -> str:
        """The unit of the setting."""
        return knobs.KNOBS[self.setting[0]].unit

    def as_dict(self) -> dict[str, Any]:
        """Return the life as it goes into JSON."""
        return {
            "knob": self.setting[0],
            "corner": self.setting[1],
            "unit": self.unit,
            "start": self.start,
            "now": self.now,
            "events": [
                {
                    "step": each.step,
                    "time": each.time,
                    "kind": each.kind,
                    "from": each.before,
                    "to": each.after,
                    "amount": each.amount,
                    "trim": each.trim,
                    "why": each.why,
                    "reason": each.reason,
                    "verdict": each.verdict,
                    "came": each.came,
                    "rested_on": [mark.as_dict() for mark in each.rested],
                    "amended_by": list(each.amended_by),
                }
                for each in self.events
            ],
        }


def parse(text: str, known_settings: Collection[Setting] = ()) -> Setting:
    """Read ``KNOB:CORNER``, ``KNOB.CORNER`` or the two words in any order.

    Where a knob is there only once, its place need not be named.

    Parameters
    ----------
    known_settings : of the plan, to be shown where there is no such knob.

    Raises
    ------
    Refusal
        There is no such knob, or none there.
    """
    words = [word for word in re.split(r"[:.,/\s]+", text.lower()) if word]
    known = next((knobs.KNOBS[word] for word in words if word in knobs.KNOBS), None)
    if known is None:
        shown = [":".join(setting) for setting in known_settings] or ["pressure:RF"]
        raise Refusal(
            "bad-value",
            f"unknown knob {quoted(text)}; use one of {', '.join(knobs.KNOBS)}.",
            where="--knob",
            hint=f"--knob {' or '.join(shown)}",
        )
    words.remove(known.name)
    if not words and len(known.places) == 1:
        return known.name, known.places[0]
    found = next((each for each in known.places if [each.lower()] == words), None)
    if found is None:
        places = ", ".join(known.places)
        at = f"is not at {quoted(' '.join(words))}; it is at {places}."
        raise Refusal(
            "bad-value",
            f"{known.name} {at if words else f'is there at {places}: which?'}",
            where="--knob",
            hint=" or ".join(f"--knob {known.name}:{each}" for each in known.places),
        )
    return known.name, found


def of(day: Day, setting: Setting) -> Life:
    """Return the life of a setting, by the values now in force.

    Every change made appears with its amount and reason, a riding trim with its own aim. A cold
    pressure read before a run sets the pressure, and appears where it differs from what was known.
    """
    start = car_file.starting_settings(day.plan.car).get(setting)
    now = start
    events: list[Event] = []
    past = {each.step: each for each in day.past}
    chosen: tuple[int, ChoiceStep] | None = None
    for number, step in enumerate(day.steps, start=1):
        time = step.time.isoformat()
        by = amendments.amended_by(day.plan.step, number)
        by_words = tuple(amendment_words.named(day.plan.step, each) for each in by)
        if isinstance(step, ChoiceStep):
            chosen = number, step
        elif number in past:
            made = past[number]
            for change in made.made:
                if change.setting != setting or not (change.amount or by):
                    continue
                assert chosen is not None
                why, verdict, words, came = _judged(change, made, chosen[0], day)
                after = None if now is None else round(now + change.amount, 6)
                events.append(
                    Event(
                        number,
                        time,
                        "moved",
                        now,
                        after,
                        change.amount,
                        change.trim,
                        why,
                        chosen[1].reason,
                        verdict,
                        words,
                        came,
                        amendments.rested(day.plan.step, chosen[0]),
                        by,
                        by_words,
                    )
                )
                now = after
        elif isinstance(step, RunStep) and setting[0] == "pressure":
            read = {str(corner): psi for corner, psi in step.run.cold.items()}.get(setting[1])
            if read is None:
                continue
            if now is None or knobs.rounded("pressure", read) != knobs.rounded("pressure", now):
                run = timeline.of(day).run_at(number)
                why = f"read cold before run {run.number}"
                event = Event(number, time, "set", now, read, why=why)
                events.append(attrs.evolve(event, amended_by=by, amended_words=by_words))
            now = read
    return Life(setting, start, now, tuple(events))


def _judged(change: Change, past: Past, choice: int, day: Day) -> tuple[str, str | None, str, str]:
    """Return why a setting was moved, the verdict on that, in words too, and what came of it.

    Only the figures that the setting was moved for count; other settings have lives of their own.
    """
    outcome, system = past.outcome, day.plan.units
    aims = past.candidate.trim_aims(day.book) if change.trim else {}
    aim = aims.get(change.setting)
    if aim is None:
        why = story.because(choice, day)
        if outcome is None:
            return why, None, "", ""
        aimed = past.candidate.own_aims(day.book)
        own = [each for each in aimed if each.corner == change.corner] or aimed
        names = {name for each in own for name in each.figures}
        parts = [part for part in outcome.figures if part.figure in names]
        came = "; ".join(outcome_words.figure(part, system) for part in parts)
        came = came or outcome_words.says(outcome, system)
        came = "; ".join(filter(None, (came, change_words.together(past))))
        return why, outcome.verdict, change_words.verdict(past), came
    why = f"riding along for {offers.trim_reason(past.candidate, change, day.book, system)}"
    parts = [] if outcome is None else [p for p in outcome.figures if p.figure in aim.figures]
    if not parts:
        return why, None, "", ""
    verdict = parts[0].verdict
    came = "; ".join(outcome_words.figure(part, system) for part in parts)
    return why, verdict, outcome_words.in_short(verdict), came
