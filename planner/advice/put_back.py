"""Putting back a change that made things worse."""

from collections.abc import Iterator, Sequence

from planner.advice.candidate import Candidate
from planner.advice.past import Past
from planner.advice.reasons import CutShort, HeldBack, MadeWorse, NoNearer, Reason
from planner.advice.situation import Situation, foretold
from planner.advice.sizes import flex_heat
from planner.car import changes as changing
from planner.car.basis import Basis
from planner.car.changes import Change, Setting, moves_of


def put_back(now: Situation) -> list[Candidate | HeldBack]:
    """Return the undoing of the last change where it made things worse, or why there is none.

    It leads no further than a limit, which the car may have stood past in the morning.
    """
    last = now.past[-1] if now.past else None
    if last is None or last.outcome is None or last.outcome.verdict != "worse":
        return []
    judged = [past for past in now.past if past.step == last.step or past.step in last.beside]
    undone: list[Change] = []
    cuts: list[CutShort] = []
    for (knob, place), moved in _moved(judged).items():
        setting, at = (knob, place), now.settings.get((knob, place))
        room = now.limits.room(knob, place)
        amount, cut = changing.within(knob, -moved, at, room, 1e-6)
        if amount:
            undone.append(changing.make(knob, place, amount, now.settings))
        if cut:
            cuts.append(CutShort(setting, cut))
    if not undone:
        return [HeldBack(each.setting, "no-way-back", each.cut) for each in cuts]
    candidate = Candidate(
        id="",
        kind="put-back",
        pattern=last.candidate.pattern,
        changes=tuple(undone),
        answers=last.candidate.answers,
        trims_answer=last.candidate.trims_answer,
        reasons=(
            MadeWorse(last.step, last.beside),
            *cuts,
            *_no_nearer(last, undone, now),
            *flex_heat(undone, now),
        ),
        basis=(Basis("readings"),),
        minutes=last.candidate.minutes,
        cautions=last.candidate.cautions,
        puts_back=last.step,
    )
    return [foretold(candidate, now)]


def _moved(judged: Sequence[Past]) -> dict[Setting, float]:
    """Return how far changes that one run judged have moved every setting."""
    total: dict[Setting, float] = {}
    for change in (change for past in judged for change in past.made):
        total[change.setting] = changing.tidy(total.get(change.setting, 0.0) + change.amount)
    return total


def _no_nearer(last: Past, undone: Sequence[Change], now: Situation) -> Iterator[Reason]:
    """Yield the figures aimed at that all runs together do not expect to come nearer."""
    for aim in last.candidate.aims(now.book):
        here, there = (now.outlook.after(aim.figures, moves) for moves in ({}, moves_of(undone)))
        names = tuple(
            name
            for name in aim.figures
            if abs(there[name].mean - aim.target) >= abs(here[name].mean - aim.target)
        )
        if names:
            yield NoNearer(names)
