"""Recorded pressures against what the gas law expects: a slow leak shows, damp air shows."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import permutations

import attrs

from planner.car.changes import Setting
from planner.judging.patterns import Pattern
from planner.run.readings import Run
from planner.run.slips import AirQuestion
from planner.trade.corners import CORNERS, Corner, was_read

LOST = "pressure.lost"
LOST_HOT = "pressure.lost-hot"
LOW_HOT = "pressure.low-hot"
HIGH_HOT = "pressure.high-hot"
ODD = "pressure.odd"


def losing(patterns: Iterable[Pattern]) -> frozenset[Corner]:
    """Return the tires that may be losing air, by what their pressures show.

    A pressure that cannot be tells nothing of a tire, neither that it leaks nor that it is sound.
    """
    return frozenset(
        pattern.corner
        for pattern in patterns
        if pattern.corner is not None and pattern.id in (LOST, LOST_HOT, LOW_HOT)
    )


def questions(
    run: Run, known: Mapping[Corner, float], order: Sequence[Corner] = CORNERS
) -> tuple[AirQuestion, ...]:
    """Return the doubts about hot pressures that can hardly come of the cold ones.

    Where they can as if typed as LF RF LR RR, or else once some have changed places, tires
    building up about alike, that was perhaps meant.

    Parameters
    ----------
    known : the cold pressures that should be in the tires [psi], where that is known.
    order : the one in which pressures without names are taken.
    """
    from planner.chassis.pressure import belong_together, may_have_leaked

    cold = {**known, **run.cold}
    both = [c for c in CORNERS if c in run.hot and cold.get(c, 0.0) > 0]
    if all(belong_together(cold[corner], run.hot[corner]) for corner in both):
        return ()

    def unlike(order: Iterable[float]) -> float:
        share = [psi / cold[corner] for corner, psi in zip(both, order, strict=True)]
        return max(share) - min(share)

    orders = permutations(run.hot[corner] for corner in both)
    can = [
        order
        for order in orders
        if all(belong_together(cold[c], psi) for c, psi in zip(both, order, strict=True))
    ]
    if not can:
        return tuple(
            AirQuestion(
                corner,
                "hot",
                "lost" if may_have_leaked(cold[corner], run.hot[corner]) else "impossible",
                {corner: run.hot[corner]},
                cold[corner],
            )
            for corner in both
            if not belong_together(cold[corner], run.hot[corner])
        )
    as_read = dict(zip(CORNERS, (run.hot.get(corner, 0.0) for corner in order), strict=True))
    in_order = tuple(as_read[corner] for corner in both)
    meant = dict(zip(both, in_order if in_order in can else min(can, key=unlike), strict=True))
    off = {corner: run.hot[corner] for corner in both if meant[corner] != run.hot[corner]}
    return (AirQuestion(next(iter(off)), "hot", "exchanged", off, instead={**run.hot, **meant}),)


def findings(
    run: Run, averages: Mapping[Corner, float], settings: Mapping[Setting, float]
) -> tuple[Pattern, ...]:
    """Return what the pressures of a run show; information only, no stage is held.

    Parameters
    ----------
    run : the run, with its cold and hot pressures [psi] and the air temperature [degF].
    averages : average of each tire's tread after the run [degF].
    settings : what was on the car before the run, by the plan.

    Notes
    -----
    A cold reading is held against the setting the plan knows. A hot one is held against the gas
    law from this run's cold pressure, the tire's gas taken at the air temperature cold and at a
    stated share of the tread's rise hot (`chassis.pressure.gas_temperature`). A tire is low when
    it is so by the share that most tires show as well: where all build up less than the stated
    share would have them, the gas is cooler than taken, and no four tires leak at once. Without
    an air temperature nothing is said of it. A pair that does not belong together is left out of
    the gas law, of what most tires show too: of a reading that cannot be nothing follows.
    """
    if not run.cold and not run.hot:
        return ()
    odd = _odd(run, settings)
    apart = {pattern.corner for pattern in odd}
    sound = {corner: psi for corner, psi in run.hot.items() if corner not in apart}
    return (
        *odd,
        *_lost(run, settings),
        *_against_gas_law(attrs.evolve(run, hot=sound), averages, settings),
    )


def _odd(run: Run, settings: Mapping[Setting, float]) -> list[Pattern]:
    """Return hot pressures that do not belong to the cold ones, whatever the weather."""
    from planner.chassis.pressure import MOST_BUILD_UP, belong_together, may_have_leaked

    found = []
    for corner, hot in run.hot.items():
        cold = run.cold.get(corner, settings.get(("pressure", corner)))
        if cold is None or cold <= 0 or belong_together(cold, hot):
            continue
        limit = cold if hot < cold else cold * (1 + MOST_BUILD_UP)
        kind = LOST_HOT if may_have_leaked(cold, hot) else ODD
        found.append(Pattern(kind, hot, limit, corner=corner, numbers={"cold": cold}))
    return found


def _lost(run: Run, settings: Mapping[Setting, float]) -> list[Pattern]:
    from planner.chassis.pressure import COLD_TOLERANCE

    found = []
    for corner, cold in run.cold.items():
        known = settings.get(("pressure", corner))
        if known is not None and known - cold > COLD_TOLERANCE:
            numbers = {"cold": cold, "known": known}
            found.append(
                Pattern(LOST, cold - known, -COLD_TOLERANCE, corner=corner, numbers=numbers)
            )
    return found


def _against_gas_law(
    run: Run, averages: Mapping[Corner, float], settings: Mapping[Setting, float]
) -> list[Pattern]:
    air = run.air_temp
    if air is None or not run.hot:
        return []
    from planner.chassis.pressure import (
        GAS_SHARE,
        HOT_TOLERANCE,
        compare,
        gas_share_shown,
        gas_temperature,
    )

    hot = {corner: psi for corner, psi in run.hot.items() if was_read(averages[corner])}
    was = {c: settings[s] for c in CORNERS if (s := ("pressure", str(c))) in settings}
    cold = {**was, **run.cold}
    share = gas_share_shown(cold, hot, averages, air)
    by_others, stated = (
        compare(
            cold,
            dict.fromkeys(CORNERS, air),
            hot,
            {corner: gas_temperature(averages[corner], air, taken) for corner in hot},
            tolerance=HOT_TOLERANCE,
        )
        for taken in (share, GAS_SHARE)
    )
    found = []
    for corner in stated:
        check = by_others[corner] if by_others[corner].low else stated[corner]
        if not (by_others[corner].low or check.high):
            continue
        numbers = {"cold": cold[corner], "hot": check.measured, "expected": check.expected}
        found.append(
            Pattern(
                LOW_HOT if check.low else HIGH_HOT,
                check.difference,
                -HOT_TOLERANCE if check.low else HOT_TOLERANCE,
                corner=corner,
                numbers=numbers,
            )
        )
    return found
