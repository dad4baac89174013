"""The moves: each adds one step to a plan, or refuses and changes nothing.

`record`, `choose`, `choose_own`, `take_back`, `move_on`, `made`, `note`, `amend_run` and
`amend_made` return the day with one more step, `changed` with two. Nothing here reads a file, a
clock or a terminal.
"""

from collections.abc import Callable, Sequence
from datetime import datetime

import attrs

from planner.advice.candidate import Candidate
from planner.advice.do_now import without_trims
from planner.advice.own_change import own_change, rescaled
from planner.car import changes as changing
from planner.car.basis import Basis
from planner.car.car_file import Car
from planner.plan import amendments
from planner.plan.day import Day, moved_since_last_good
from planner.plan.fold import advance, can
from planner.plan.machine import Due
from planner.plan.steps import (
    AmendStep,
    CarStep,
    ChoiceStep,
    MadeStep,
    NoteStep,
    Offered,
    RunStep,
    TakenBackStep,
)
from planner.rulebook.rules import Rulebook, TuningStage
from planner.run import readings
from planner.run.readings import Run, SetState
from planner.trade.refusals import Refusal


def record(day: Day, run: Run, at: datetime, really: Sequence[tuple[str, str, float]] = ()) -> Day:
    """Record a run; where a choice is due or the day is complete, of the car as it was.

    Parameters
    ----------
    really : (knob, place, amount) where the change before it was not what `made` was told.

    Raises
    ------
    Refusal
        The chosen change is not made yet, a value cannot be true, or there is no change to
        correct.
    """
    if day.due == "change":
        _need(day, "run", "record a run")
    if day.due != "run" and day.last is not None and run == day.last.run:
        raise Refusal(
            "same-run",
            "This run is in the plan already, with the very same readings.",
            where="--tire",
            hint='if the car ran again and read the same, say so: --note "ran again"',
        )
    readings.check(run, day.plan.units)
    if really and not day.on_trial:
        raise Refusal(
            "nothing-made",
            "No change was made since the last run, so there is none to correct.",
            where="--really",
            hint="omit --really",
        )
    _refuse_twice(really, "--really")
    corrections = tuple(changing.make(*each, {}) for each in day.in_settings(really, "--really"))
    return advance(day, RunStep(at, run, really=corrections), afresh=True)


def choose(
    day: Day,
    candidate_id: str,
    at: datetime,
    *,
    amount: float | None = None,
    trims: bool = True,
    reason: str = "",
) -> Day:
    """Take a candidate, with another amount or without its riding trims if wanted.

    Raises
    ------
    Refusal
        No choice is due, there is no such candidate, or the amount cannot be used.
    """
    table = day.table()
    if not (day.stage == "confirm" and table.candidates):
        _need(day, "choice", "choose")
    chosen = next((c for c in table.candidates if c.id == candidate_id), None)
    if chosen is None:
        ids = ", ".join(c.id for c in table.candidates) or "none"
        raise Refusal(
            "no-candidate",
            f"There is no candidate {candidate_id!r}; on the table: {ids}.",
            where="ID",
            hint="treadgate status PLAN shows them; --own KNOB:CORNER:AMOUNT is for your own",
        )
    if not trims:
        chosen = without_trims(chosen, day.situation(_tuning(day)))
    if amount is not None:
        chosen = _with_amount(day, chosen, amount)
    return _take(day, chosen, reason, at)


def choose_own(
    day: Day, wanted: Sequence[tuple[str, str, float]], reason: str, at: datetime
) -> Day:
    """Take the crew's own change.

    Parameters
    ----------
    wanted : (knob, place, amount) of every part.
    reason : why; must not be empty.

    Raises
    ------
    Refusal
        No choice is due, no reason is given, an amount is 0, or a limit would be crossed.
    """
    _need(day, "choice", "choose")
    _need_reason(reason, "A change of your own")
    return _take(day, _own(day, wanted, "--own"), reason, at)


def _own(day: Day, wanted: Sequence[tuple[str, str, float]], where: str) -> Candidate:
    """Return the crew's own change, or one that it made, as a candidate.

    Raises
    ------
    Refusal
        An amount is 0, a knob is there twice, or a limit would be crossed.
    """
    _refuse_twice(wanted, where)
    wanted = day.in_settings(wanted, where)
    for knob, place, amount in wanted:
        if amount == 0:
            raise Refusal(
                "bad-value",
                f"{knob} at {place} by 0 is no change.",
                where=where,
                hint="give the amount, or omit this part",
            )
    if not day.good:
        parts = tuple(changing.make(*each, day.settings) for each in wanted)
        own = Candidate("own", parts, "own", basis=(Basis("crew"),))
    else:
        own = own_change(wanted, day.situation(_tuning(day)))
        if moved_since_last_good(day):  # nobody can tell what it does by itself
            own = attrs.evolve(own, predicted={}, chance=None, spoils=None)
    changing.refuse_beyond_limits(own.changes, day.limits.room, where)
    return own


def take_back(day: Day, reason: str, at: datetime) -> Day:
    """Take back the choice of a change that is not yet made; the choice is due again.

    Raises
    ------
    Refusal
        No change is due.
    """
    _need(day, "change", "take a choice back")
    return advance(day, TakenBackStep(at, reason))


def move_on(day: Day, reason: str, at: datetime) -> Day:
    """Leave the stage as it is and go on; in `confirm`, end the day without the confirming run.

    Where the car was to be run as it stands before a choice, go on to that choice.

    Raises
    ------
    Refusal
        There is nothing to move on from, or no reason is given.
    """
    if not can(day, "move_on"):
        _need(day, "choice", "move on")
    _need_reason(reason, "Moving on")
    left = tuple(p.key for p in day.open_patterns) if day.due == "choice" else ()
    step = ChoiceStep(at, day.stage, _offered(day), left_open=left, reason=reason)
    return advance(day, step)


def made(
    day: Day, at: datetime, actual: Sequence[tuple[str, str, float]] = (), reason: str = ""
) -> Day:
    """Record that the chosen change is on the car, as chosen or as it really came out.

    Parameters
    ----------
    actual : (knob, place, amount) of what differs from the choice or was added to it.
    reason : why it came out differently, if that is to be kept.

    Raises
    ------
    Refusal
        No change is due, or a limit would be crossed.
    """
    _need(day, "change", "make a change")
    _refuse_twice(actual, "--actual")
    assert day.pending is not None
    amounts = {change.setting: change.amount for change in day.pending.changes}
    trims = {change.setting for change in day.pending.changes if change.trim}
    for knob, place, amount in day.in_settings(actual, "--actual"):
        amounts[knob, place] = amount
    changes = tuple(
        changing.make(*setting, amount, day.settings, trim=setting in trims)
        for setting, amount in amounts.items()
    )
    changing.refuse_beyond_limits(changes, day.limits.room, "--actual")
    return advance(day, MadeStep(at, changes, reason))


def changed(day: Day, actual: Sequence[tuple[str, str, float]], reason: str, at: datetime) -> Day:
    """Tell what was changed on the car without a choice here, where a run is due.

    Two steps are added: the crew's own choice, and the change made.

    Parameters
    ----------
    actual : (knob, place, amount) of every part.
    reason : why; must not be empty.

    Raises
    ------
    Refusal
        No run is due, no reason is given, an amount is 0, or a limit would be crossed.
    """
    _need(day, "run", "tell a change made without a choice")
    _need_reason(reason, "A change made without a choice here")
    own = _own(day, actual, "--actual")
    chosen = _take(day, own, reason, at)
    return made(chosen, at)


def note(
    day: Day,
    text: str,
    at: datetime,
    about: int | None = None,
    tires: tuple[str, SetState | None] = ("", None),
) -> Day:
    """Note something, about a step or about the day as it stands.

    Parameters
    ----------
    tires : the set that went on the car, and what it is, if that is noted.

    Raises
    ------
    Refusal
        Nothing is said, or there is no such step.
    """
    if not text.strip():
        raise Refusal("nothing-given", "The note is empty.", where="TEXT", hint='"gusty in turn 3"')
    amendments.refuse_unknown(day.plan.step, about)
    return advance(day, NoteStep(at, text, about, *tires))


def take_car(day: Day, car: Car, at: datetime) -> Day:
    """Take in a car file in the course of the day; what was decided before stays as decided.

    Raises
    ------
    Refusal
        The file is for a track that turns the other way.
    """
    way = car.car.turns
    if way is not None and way != day.plan.turns:
        raise Refusal(
            "bad-value",
            f"The car file says the track turns {way}; this plan's turns {day.plan.turns}.",
            where="car.turns",
            hint=f'turns = "{day.plan.turns}", or leave it out',
        )
    car = attrs.evolve(car, car=attrs.evolve(car.car, turns=day.plan.turns))
    return advance(day, CarStep(at, car))


def amend_run(
    day: Day, number: int, correct: Callable[[Run], Run], reason: str, at: datetime
) -> Day:
    """Correct a recorded run; `amendments` says what that means for the steps after it.

    Parameters
    ----------
    number : of the step that recorded it.
    correct : makes the run as it should have been recorded from the one in force.
    reason : how the mistake came to light; must not be empty.

    Raises
    ------
    Refusal
        There is no such run, nothing is changed, no reason is given, or a value cannot be true.
    """
    amended = amendments.amendable(day.steps, number)
    if not isinstance(amended, RunStep):
        raise Refusal(
            "not-a-run",
            f"Step {number} is a change made, not a run.",
            where="STEP",
            hint="--actual KNOB:CORNER:AMOUNT says what was really made",
        )
    _need_reason(reason, "Correcting an entry")
    run = correct(amended.run)
    if run == amended.run:
        raise _nothing_changed(number, "--tire RF=205/212/209")
    readings.check(run, day.plan.units)
    return advance(day, AmendStep(at, number, reason, run=run), afresh=True)


def amend_made(
    day: Day, number: int, actual: Sequence[tuple[str, str, float]], reason: str, at: datetime
) -> Day:
    """Correct what a change really was; `amendments` says what that means for later steps.

    Parameters
    ----------
    number : of the step that said it was made.
    actual : (knob, place, amount) of every part that was different.
    reason : how the mistake came to light; must not be empty.

    Raises
    ------
    Refusal
        There is no such step, nothing is changed, no reason is given, or a limit would be crossed.
    """
    amended = amendments.amendable(day.steps, number)
    if not isinstance(amended, MadeStep):
        raise Refusal(
            "not-a-change",
            f"Step {number} is a run, not a change made.",
            where="STEP",
            hint="--tire, --cold, --flag and the other options of record correct a run",
        )
    _need_reason(reason, "Correcting an entry")
    _refuse_twice(actual, "--actual")
    past = next(each for each in day.past if each.step == number)
    made_so_far = {change.setting: change for change in past.made}
    settings = day.at(number - 1).settings
    parts = day.at(number - 1).in_settings(actual, "--actual")
    really = {(knob, at): changing.make(knob, at, by, settings) for knob, at, by in parts}
    changed = made_so_far | really
    if {s: c.amount for s, c in changed.items()} == {s: c.amount for s, c in made_so_far.items()}:
        raise _nothing_changed(number, "--actual pressure:RF:-1.0")
    changing.refuse_beyond_limits(really.values(), day.limits.room, "--actual")
    bare = tuple(changing.make(*each.setting, each.amount, {}) for each in changed.values())
    return advance(day, AmendStep(at, number, reason, changes=bare), afresh=True)


def _refuse_twice(parts: Sequence[tuple[str, str, float]], option: str) -> None:
    """Refuse two amounts for the same knob at the same place."""
    given = [(knob, place) for knob, place, _ in parts]
    twice = next((each for each in given if given.count(each) > 1), None)
    if twice is not None:
        raise Refusal(
            "bad-value",
            f"{twice[0]} at {twice[1]} is given twice.",
            where=option,
            hint=f"{option} once for each knob and place",
        )


def _nothing_changed(number: int, example: str) -> Refusal:
    return Refusal(
        "nothing-changed",
        f"Nothing given differs from what step {number} already holds.",
        where=f"step {number}",
        hint=f"give what it should have been, such as {example}",
    )


def _take(day: Day, chosen: Candidate, reason: str, at: datetime) -> Day:
    told = {*chosen.foretold(day.book), *chosen.aimed(day.book)}
    told |= {name for name in chosen.predicted if name.startswith("wear.")}
    kept = {name: at for name, at in chosen.predicted.items() if name in told}
    others = tuple(each for each in _offered(day) if each.id != chosen.id)
    chosen = attrs.evolve(chosen, predicted=kept)
    return advance(day, ChoiceStep(at, day.stage, others, chosen=chosen, reason=reason))


def _with_amount(day: Day, chosen: Candidate, amount: float) -> Candidate:
    own = [change for change in chosen.changes if not change.trim]
    if len(own) != 1:
        raise Refusal(
            "bad-value",
            f"Only a single change can be given another amount; this one has {len(own)} parts.",
            where="--amount",
            hint="choose it as it is, or give each part with --own",
        )
    (change,) = own
    if amount * change.amount <= 0:
        raise Refusal(
            "bad-value",
            f"{amount:g} does not go the same way as this candidate ({change.amount:+g}).",
            where="--amount",
            hint=f"--amount {change.amount:g}, more or less of it; --own for the other way",
        )
    resized = rescaled(chosen, amount, day.situation(_tuning(day)))
    changing.refuse_beyond_limits(resized.changes, day.limits.room, "--amount")
    return resized


def _tuning(day: Day) -> TuningStage:
    """Return the stage a change belongs to; one taken at `confirm` is against uneven wear."""
    return "cross" if day.stage == "confirm" or day.stage == "complete" else day.stage


def in_brief(candidate: Candidate, book: Rulebook) -> Offered:
    """Return a candidate in brief, as it is kept with the choice of another."""
    aimed = (name for name in candidate.aimed(book) if name in candidate.predicted)
    return Offered(
        candidate.id,
        tuple(attrs.evolve(change, before=None, after=None) for change in candidate.own_changes),
        candidate.kind,
        {name: candidate.predicted[name].mean for name in aimed},
        candidate.chance,
    )


def _offered(day: Day) -> tuple[Offered, ...]:
    return tuple(in_brief(each, day.book) for each in day.table().candidates)


def _need(day: Day, due: Due, what: str) -> None:
    if day.due != due:
        complete = day.due == "nothing"
        stands = (
            "the day is complete" if complete else f"in the {day.stage} stage a {day.due} is due"
        )
        raise Refusal("not-due", f"It is not the time to {what}: {stands}.", where="PLAN")


def _need_reason(reason: str, what: str) -> None:
    if not reason.strip():
        raise Refusal(
            "no-reason",
            f"{what} needs a reason: next month somebody will ask.",
            where="--reason",
            hint='--reason "why"',
        )
