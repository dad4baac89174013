"""Changes that the crew sizes: one of its own, or another amount of a candidate."""

from collections.abc import Iterable, Iterator, Sequence

import attrs

from planner.advice.candidate import MOST_TOLD, Candidate, figures_of
from planner.advice.even_wear import wear_after
from planner.advice.reasons import BeyondMost, OnSolidAxle, Reason, Shown
from planner.advice.situation import Situation, cautions, foretold
from planner.advice.sizes import LEAST_ANSWER, flex_heat
from planner.car import changes as changing
from planner.car.basis import Basis
from planner.car.changes import Change, RoomAt, moves_of
from planner.rulebook import aims as aiming
from planner.rulebook.aims import Aim
from planner.rulebook.rules import TUNING_ORDER, Rulebook, TuningStage


def own_change(wanted: Sequence[tuple[str, str, float]], now: Situation) -> Candidate:
    """Return the crew's own change as a candidate.

    Each part aims at the patterns of the stage that its knob is believed to move; one that moves
    none of them at what the rules turn its knob for. The whole aims at all of the stage when
    nothing is known of these knobs.
    """
    made = tuple(changing.make(*each, now.settings) for each in wanted)
    here = aiming.of_keys((pattern.key for pattern in now.open_patterns), now.book)
    parts = [
        tuple(aim for aim in here if _moves(aim, [change], now)) or _acted_on([change], now)
        for change in made
    ]
    aims = tuple(dict.fromkeys(aim for part in parts for aim in part)) or here
    entries = [e for c in made for e in now.book.adjustments_of(*c.setting)[:1]]
    candidate = Candidate(
        id="own",
        kind="own",
        pattern=aims[0].pattern.partition(":")[0] if aims else "",
        changes=made,
        answers=tuple(aim.pattern for aim in aims),
        reasons=(
            *(Shown(pattern.key) for pattern in now.open_patterns),
            *beyond_most(made, now.book, now.limits.room),
            *_against_the_grain(made, now),
        ),
        basis=(Basis("crew"),),
        minutes=sum(e.minutes for e in entries) if len(entries) == len(made) else None,
        cautions=cautions(made, entries, now),
    )
    return foretold(candidate, now, beside=_moved_most(figures_of(aims), made, now))


def rescaled(candidate: Candidate, amount: float, now: Situation) -> Candidate:
    """Return a single-change candidate with another amount; riding trims stay."""
    (old,) = candidate.own_changes
    change = changing.make(old.knob, old.corner, amount, now.settings)
    resized = attrs.evolve(
        candidate,
        changes=(change, *(other for other in candidate.changes if other.trim)),
        reasons=(
            *candidate.reasons,
            *beyond_most((change,), now.book, now.limits.room),
            *changing.beyond_rules((change,), now.limits.room),
        ),
        resized=True,
    )
    resized = foretold(resized, now)
    if candidate.kind == "even-wear":
        resized = attrs.evolve(resized, predicted=wear_after(amount, now))
    return resized


def beyond_most(made: Iterable[Change], book: Rulebook, room: RoomAt) -> tuple[BeyondMost, ...]:
    """Return the changes that are larger than the rules would make them in one move.

    Parameters
    ----------
    room : how far a setting may go; the steps of the car file may be larger.
    """
    return tuple(
        BeyondMost(change.setting, change.amount, most)
        for change in made
        for entry in book.adjustments_of(*change.setting)[:1]
        for most in [entry.most_on(room(*change.setting))]
        if abs(change.amount) > most + 1e-9
    )


def _against_the_grain(made: Sequence[Change], now: Situation) -> Iterator[Reason]:
    """Yield what should be known before a change of the crew's own is made."""
    yield from changing.beyond_rules(made, now.limits.room)
    yield from flex_heat(made, now)
    for change in made:
        if now.limits.room(*change.setting).fixed == "solid-axle":
            yield OnSolidAxle(change.setting)


def _acted_on(made: Sequence[Change], now: Situation) -> tuple[Aim, ...]:
    """Return what the rules turn these knobs for and these would move, by the side it is on.

    What shows now comes before what does not; of that the earliest stage is taken.
    """
    found: list[tuple[TuningStage | None, Aim]] = []
    for rule, aim in aiming.answered_by(moves_of(made), now.book):
        at = now.outlook.after(aim.figures, {}).values()
        above = sum(each.mean for each in at) / len(aim.figures) > aim.target
        if above == (rule.above is not None) and _moves(aim, made, now):
            found.append((rule.stage, aim))
    showing = {pattern.key for pattern in now.patterns}
    shown = tuple(aim for _, aim in found if aim.pattern in showing)
    return shown or tuple(aim for stage, aim in found if stage == found[0][0])


def _moved_most(aimed: Sequence[str], made: Sequence[Change], now: Situation) -> list[str]:
    """Return the figures that hold a stage and are moved most, those aimed at left aside."""
    names = [name for name in now.book.figures_of(TUNING_ORDER) if name not in aimed]
    here, there = (now.outlook.after(names, moves) for moves in ({}, moves_of(made)))
    by = {name: abs(there[name].mean - here[name].mean) for name in names}
    found = [name for name in names if by[name] >= LEAST_ANSWER]
    return sorted(found, key=lambda name: -by[name])[:MOST_TOLD]


def _moves(aim: Aim, made: Sequence[Change], now: Situation) -> bool:
    here = now.outlook.after(aim.figures, {})
    there = now.outlook.after(aim.figures, moves_of(made))
    return any(abs(there[name].mean - here[name].mean) > 1e-9 for name in aim.figures)
