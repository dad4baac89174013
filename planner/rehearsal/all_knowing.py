"""An all-knowing crew: it sees the true figures and sizes every change on the simulated car.

It is held to the tuning order and to steps, limits and the most in one move, as everybody is: the
fewest runs a day may fairly be expected to take.
"""

from collections.abc import Iterator, Mapping, Sequence

import attrs

from planner.car import changes as changing
from planner.car.changes import Change, Setting
from planner.rehearsal.good_setup import middles
from planner.rehearsal.world import Conditions, World, excesses
from planner.rulebook.rules import TUNING_ORDER, Adjustment, PatternRule, Rulebook, TuningStage
from planner.trade.corners import CORNERS
from planner.trade.figures import Figures
from planner.trade.knobs import Limit
from planner.trade.refusals import Refusal

RUN_MINUTES, CHANGE_MINUTES = 12.0, 8.0  # as the simulated day has them
MOST_CHANGES = 30
BUNDLING: tuple[TuningStage, ...] = ("camber", "pressure")


@attrs.frozen(eq=False)
class Knowing:
    """How the day goes for a crew that knows everything.

    Attributes
    ----------
    runs : driven, the confirming one included.
    made : changes, in order; a bundle is one of them.
    settings : on the car at the end.
    excess : worst excess over a band that is left [degF].
    """

    runs: int
    made: tuple[tuple[Change, ...], ...]
    settings: Mapping[Setting, float]
    excess: float


def day(
    world: World,
    begun: Mapping[Setting, float],
    book: Rulebook,
    limits: Mapping[str, Limit],
) -> Knowing:
    """Take a car through the day, always by what is truly so.

    Parameters
    ----------
    world : the physics.
    begun : what is on the car in the morning.
    book, limits : rules and limits, that bind this crew too.
    """
    settings, at = dict(begun), world.fresh()
    made: list[tuple[Change, ...]] = []
    runs = confirmed = 0
    worst = 0.0
    while confirmed < 2:
        (figures,) = world.figures([settings], at)
        at = _after_run(world, settings, at)
        runs += 1
        out = excesses(figures, book)
        worst = max(out.values(), default=0.0)
        confirmed = 0 if out else confirmed + 1
        if not out:
            continue
        best = _best(world, settings, at, out, book, limits) if len(made) < MOST_CHANGES else ()
        if not best:
            break
        made.append(best)
        for change in best:
            settings[change.setting] = changing.tidy(settings[change.setting] + change.amount)
        at = attrs.evolve(at, minutes=at.minutes + CHANGE_MINUTES)
    return Knowing(runs, tuple(made), settings, worst)


def _after_run(world: World, settings: Mapping[Setting, float], at: Conditions) -> Conditions:
    return Conditions(at.minutes + RUN_MINUTES, world.driven([settings], at).tread[0])


def _best(
    world: World,
    settings: Mapping[Setting, float],
    at: Conditions,
    out: Mapping[str, float],
    book: Rulebook,
    limits: Mapping[str, Limit],
) -> tuple[Change, ...]:
    """Return the best change in the earliest stage that shows a fault; empty for none."""
    rules = {key: book.rule(key.partition(":")[0]) for key in out}
    stage = next(s for s in TUNING_ORDER if any(rule.stage == s for rule in rules.values()))
    shown = {key: rule for key, rule in rules.items() if rule.stage == stage}
    singles = [
        change
        for entry, place, direction in _offers(shown, book, stage)
        for change in _amounts(entry, place, direction, settings, limits)
    ]
    singles = list(dict.fromkeys(singles))
    if not singles:
        return ()
    tried = [(change,) for change in singles]
    found = _figures(world, [_with(settings, each) for each in tried], at)
    (here,) = world.figures([settings], at)
    if stage in BUNDLING:
        bundle = _bundle(singles, found, here, book, stage)
        if bundle:
            return bundle
    for stages in (TUNING_ORDER, (stage,)):  # the whole car; or at least the stage
        scored = [
            (_score(figures, book, stages), number)
            for number, figures in enumerate(found)
            if figures is not None
        ]
        best, number = min(scored)
        if best < _score(here, book, stages):
            return tried[number]
    return ()


def _offers(
    shown: Mapping[str, PatternRule], book: Rulebook, stage: TuningStage
) -> Iterator[tuple[Adjustment, str, str | None]]:
    """Yield every adjustment the rules offer here: entry, place, direction."""
    for key, rule in shown.items():
        for offer in (*rule.offers, *rule.next_cause):
            entry = book.adjustment[offer.use]
            if entry.corner != "same":
                yield entry, entry.corner, offer.direction
            elif stage in BUNDLING:  # who knows everything mends all corners in one go
                for corner in CORNERS:
                    yield entry, corner, None
            else:
                yield entry, key.partition(":")[2], offer.direction


def _amounts(
    entry: Adjustment,
    place: str,
    direction: str | None,
    settings: Mapping[Setting, float],
    limits: Mapping[str, Limit],
) -> Iterator[Change]:
    """Yield every amount in whole steps, up to the most in one move and within the limits."""
    limit = limits.get(entry.knob)
    step = entry.step_on(limit)
    for sign in (1.0, -1.0):
        if direction is not None and (direction == "+") != (sign > 0):
            continue
        for number in range(1, int(entry.most_on(limit) / step + 1e-9) + 1):
            amount = changing.tidy(sign * number * step)
            now = settings[entry.knob, place]
            allowed, _ = changing.within(entry.knob, amount, now, limit, step)
            if allowed == amount:
                yield Change(entry.knob, place, amount)


def _figures(
    world: World, setups: Sequence[Mapping[Setting, float]], at: Conditions
) -> list[Figures | None]:
    """Return the figures of each setup; None for one that cannot be."""
    try:
        return list(world.figures(setups, at))
    except Refusal:
        if len(setups) == 1:
            return [None]
        return [found for setup in setups for found in _figures(world, [setup], at)]


def _with(settings: Mapping[Setting, float], made: Sequence[Change]) -> dict[Setting, float]:
    moved = dict(settings)
    for change in made:
        moved[change.setting] = moved[change.setting] + change.amount
    return moved


def _bundle(
    singles: Sequence[Change],
    found: Sequence[Figures | None],
    here: Figures,
    book: Rulebook,
    stage: TuningStage,
) -> tuple[Change, ...]:
    """Return, for every corner, the change that brings its own figure nearest the aim."""
    rule = next(r for r in book.pattern if r.stage == stage and r.each == "corner")

    def off(figures: Figures, corner: str) -> float:
        return abs(figures[f"{rule.figures[0]}.{corner}"] - rule.aim)

    best: dict[str, tuple[float, Change]] = {}
    for change, figures in zip(singles, found, strict=True):
        corner = change.corner
        if figures is None or corner not in CORNERS:
            continue
        least = best[corner][0] if corner in best else off(here, corner)
        if off(figures, corner) < least:
            best[corner] = (off(figures, corner), change)
    return tuple(change for _, change in best.values())


def _score(figures: Figures, book: Rulebook, stages: Sequence[TuningStage]) -> tuple[float, float]:
    """Return what is out of band in sum [degF], and then how far all figures are from mid-band.

    The second part goes by the square of the distance over the half width of each band.
    """
    out = sum(
        excess
        for key, excess in excesses(figures, book).items()
        if book.rule(key.partition(":")[0]).stage in stages
    )
    far = sum(((figures[name] - mid) / half) ** 2 for name, (mid, half) in middles(book).items())
    return round(out, 6), far
