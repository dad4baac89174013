"""Do now: the stage's own change and what rides along, sized together.

What rides along are trims: a tire's camber or pressure, or the toe, moved beside the change because
a stop is made anyway. They may be of any stage; knobs that move load are turned in their own.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import attrs

from planner.advice.candidate import Candidate
from planner.advice.choices import Choices, Stands, choices
from planner.advice.outlook import TIRE_KNOBS, Outlook
from planner.advice.reasons import Reason
from planner.advice.situation import Situation, cautions, foretold
from planner.advice.sizes import explained, flex_heat
from planner.car import changes as changing
from planner.car.changes import Change, Setting
from planner.car.limits import Limits
from planner.judging import pressures
from planner.judging.patterns import EVEN
from planner.rulebook import aims
from planner.rulebook.rules import TUNING_ORDER, Rulebook, TuningStage, Way
from planner.trade.corners import CORNERS

if TYPE_CHECKING:  # numpy comes with it
    from planner.advice.together import Sized

# What a change must take off the loss (`judging.expected`) to be worth a stop where no fault is
# more likely there than not; from memory, weighed in trials (tests/bench).
WORTH = 0.03
# A fault this likely beside the likeliest of its stage is looked at with it.
BESIDE = 0.5


def holding(
    outlook: Outlook, limits: Limits, stands: Stands, enough: float, *, one_change: bool = False
) -> frozenset[str]:
    """Return the faults that hold their stage, as ``id:corner``; none when the car is right.

    Every fault more likely there than not holds its stage. Where there is none, and more is
    expected to be out of band than a day may end with, that stage is held in which one change, with
    all that may ride along, leaves least: the earliest of those nearly as good. If none is worth a
    stop, another run is.

    Parameters
    ----------
    limits, stands : how far every setting may go, and where it stands.
    enough : expected number of faults with which the day may end.
    one_change : nothing rides along.
    """
    faults, bands = outlook.faults, outlook.bands
    if float(faults.count) <= enough:
        return frozenset()
    chance = outlook.chances
    likely = frozenset(key for key, each in chance.items() if each > EVEN)
    if likely:
        return likely
    gains = {
        stage: _gain(stage, outlook, limits, stands, one_change)
        for stage in TUNING_ORDER
        if float(faults.chance[bands.of_stage(stage)].sum()) >= WORTH
    }
    most_gained = max(gains.values(), default=0.0)
    if most_gained < WORTH:
        return frozenset()
    stage = next(stage for stage, gain in gains.items() if gain >= most_gained - WORTH)
    here = {band.key: chance[band.key] for band in bands.bands if band.rule.stage == stage}
    most = max(here.values())
    return frozenset(key for key, each in here.items() if each >= BESIDE * most)


def _gain(
    stage: TuningStage, outlook: Outlook, limits: Limits, stands: Stands, one_change: bool
) -> float:
    """Return what a change in a stage takes off the loss, 0 where nothing of its own is turned."""
    book = outlook.book
    own, tires = (
        {setting: choices(setting, book, limits, stands) for setting in settings}
        for settings in (dict.fromkeys(_own(stage, book)), _tires(book))
    )
    found = outlook.best_with_one(own, {}) if one_change else _best(outlook, own, tires)
    if not any(setting in found.moves for setting in own):
        return 0.0
    return float(outlook.faults.loss) - found.total


def _best(
    outlook: Outlook, own: Mapping[Setting, Choices], tires: Mapping[Setting, Choices]
) -> "Sized":
    """Return the moves that leave least: all knobs of the tires, and one of those that move load.

    Two that move load at once would not tell what each of them did.
    """
    load = {setting: each for setting, each in own.items() if setting[0] not in TIRE_KNOBS}
    tire = {setting: each for setting, each in own.items() if setting[0] in TIRE_KNOBS}
    return outlook.best_with_one(load, {**tire, **tires})


def do_now(singles: Sequence[Candidate], now: Situation) -> list[Candidate]:
    """Return the change to make now, with its parts, as a list of none or one.

    None for a crew that makes one change at a stop: the best of the singles comes first.

    Parameters
    ----------
    singles : what is offered for the patterns of the stage, one knob each.
    """
    if now.one_change:
        return []
    own: dict[Setting, Candidate] = {}
    for single in singles:
        own.setdefault(single.changes[0].setting, single)
    book, outlook = now.book, now.outlook
    moves = _best(
        outlook,
        {
            setting: choices(setting, book, now.limits, now.stands, _way(single.changes[0].amount))
            for setting, single in own.items()
        },
        {setting: _riding(setting, now) for setting in _tires(book) if setting not in own},
    ).moves
    parts = [setting for setting in own if setting in moves]
    if not parts:
        return []
    changes = [changing.make(*setting, moves[setting], now.settings) for setting in parts]
    trims = [
        changing.make(*setting, amount, now.settings, trim=True)
        for setting, amount in moves.items()
        if setting not in own
    ]
    made = (*sorted(changes, key=_by_corner), *sorted(trims, key=_by_corner))
    entries = [book.adjustments_of(*change.setting)[0] for change in made]
    behind = [own[change.setting] for change in made if not change.trim]
    answers = [key for single in behind for key in single.answers]
    together = Candidate(
        id="",
        kind="single" if len(parts) == 1 else "bundle",
        changes=made,
        answers=tuple(dict.fromkeys(answers)),
        trims_answer=tuple(_aim_of(change, book) for change in made if change.trim),
        uses=tuple(dict.fromkeys(use for single in behind for use in single.uses)),
        reasons=(
            *(
                reason
                for change, single in zip(made, behind, strict=False)
                for reason in _reasons(change, single, now)
            ),
            *flex_heat([change for change in made if change.trim], now),
        ),
        basis=tuple(basis for single in behind for basis in single.basis),
        minutes=sum(entry.minutes for entry in entries),
        cautions=cautions(made, entries, now),
    )
    return [foretold(together, now)]


def without_trims(candidate: Candidate, now: Situation) -> Candidate:
    """Return a candidate with its riding trims left out."""
    kept = candidate.own_changes
    ride = [change for change in candidate.changes if change.trim]
    saved = sum(now.book.adjustments_of(*change.setting)[0].minutes for change in ride)
    theirs, own = (
        {entry.caution for change in part for entry in now.book.adjustments_of(*change.setting)}
        for part in (ride, kept)
    )
    alone = attrs.evolve(
        candidate,
        changes=kept,
        trims_answer=(),
        reasons=tuple(r for r in candidate.reasons if r not in flex_heat(ride, now)),
        cautions=tuple(key for key in candidate.cautions if key not in theirs - own),
        minutes=(candidate.minutes or 0.0) - saved,
    )
    return foretold(alone, now)


def _reasons(change: Change, single: Candidate, now: Situation) -> Sequence[Reason]:
    """Return why a part is of its size: as by itself, or as it is sized with the others."""
    if single.changes[0].amount == change.amount:
        return single.reasons
    aim = aims.of_key(single.answers[0], now.book)
    assert aim is not None
    return explained(change, aim, now.book.adjustment[single.uses[0]], None, now)


def _own(stage: TuningStage, book: Rulebook) -> Iterator[Setting]:
    """Yield what is turned for the faults of a stage."""
    for band in book.stage_bands:
        if band.rule.stage == stage:
            yield from book.settings(band)


def _tires(book: Rulebook) -> Iterator[Setting]:
    """Yield what may ride along: the knobs that act on their own tire, as the rules have them."""
    places = {"toe": ("front",)}
    for knob in TIRE_KNOBS:
        for place in places.get(knob, CORNERS):
            if book.adjustments_of(knob, place):
                yield knob, place


def _riding(setting: Setting, now: Situation) -> Choices:
    """Return what a trim may be: what the rules turn the knob for, and no air out of a leak."""
    found = choices(setting, now.book, now.limits, now.stands)
    kept = tuple(
        amount
        for amount in found.amounts
        if _key_of(setting, _way(amount), now.book) is not None
        and not (setting[0] == "pressure" and amount < 0 and setting[1] in _leaking(now))
    )
    return attrs.evolve(found, amounts=kept)


def _leaking(now: Situation) -> frozenset[str]:
    return frozenset(pressures.losing(now.patterns))


def _aim_of(change: Change, book: Rulebook) -> str:
    """Return the pattern that a trim is for."""
    key = _key_of(change.setting, _way(change.amount), book)
    assert key is not None
    return key


def _key_of(setting: Setting, way: Way, book: Rulebook) -> str | None:
    """Return the first pattern for which the rules turn a knob this way."""
    return next(
        (
            band.key
            for band in book.stage_bands
            for offer in band.rule.offers
            if band.setting(book.adjustment[offer.use]) == setting
            and offer.direction in (None, way)
        ),
        None,
    )


def _way(amount: float) -> Way:
    return "+" if amount > 0 else "-"


def _by_corner(change: Change) -> int:
    """Return where a corner comes in the listing; the whole car comes last."""
    places = [str(corner) for corner in CORNERS]
    return places.index(change.corner) if change.corner in places else len(places)
