"""What candidates are worked out from, and what is expected of one."""

from collections.abc import Iterable, Mapping, Sequence

import attrs

from planner.advice.candidate import Candidate
from planner.advice.outlook import TIRE_KNOBS, Outlook
from planner.advice.past import Past
from planner.advice.reasons import OtherCause
from planner.car.car_model import CarModel
from planner.car.changes import Change, Setting, moves_of
from planner.car.limits import Limits
from planner.judging.patterns import Pattern
from planner.rulebook.rules import Adjustment, Rulebook, TuningStage
from planner.run.readings import Run
from planner.trade.figures import Figures


@attrs.frozen
class Situation:
    """Everything the candidates are worked out from.

    Attributes
    ----------
    stage : whose turn it is.
    figures, patterns, run : of the last good run, and what all runs show.
    settings, limits : what is on the car, and how far it may go.
    model : what the car file makes of a change.
    outlook : what all runs say of the car.
    past, earlier : the changes made, and the runs before the last.
    taught : settings whose effect an earlier day has taught.
    one_change : the crew makes one change at a stop.
    """

    stage: TuningStage
    figures: Figures
    patterns: tuple[Pattern, ...]
    book: Rulebook
    settings: Mapping[Setting, float]
    limits: Limits
    run: Run
    model: CarModel
    outlook: Outlook
    past: tuple[Past, ...] = ()
    earlier: tuple[Run, ...] = ()
    taught: frozenset[Setting] = frozenset()
    one_change: bool = False

    def stands(self, setting: Setting, amount: float) -> float | None:
        """Return where a setting stands, as far as it is known, before it is turned.

        A tire of which only the hot pressure is known had no more than that when it was cold, so
        no more than that can be let out.
        """
        knob, place = setting
        known = self.settings.get(setting)
        if known is None and knob == "pressure" and amount < 0:
            return {str(corner): psi for corner, psi in self.run.hot.items()}.get(place)
        return known

    @property
    def open_patterns(self) -> tuple[Pattern, ...]:
        """What holds the stage."""
        return tuple(p for p in self.patterns if p.holds and p.stage == self.stage)


def foretold(candidate: Candidate, now: Situation, beside: Sequence[str] = ()) -> Candidate:
    """Return a candidate with what is expected of it: `predicted`, `chance` and `spoils`.

    Parameters
    ----------
    beside : further figures to predict, after those aimed at.
    """
    outlook, moves = now.outlook, moves_of(candidate.changes)
    if any(isinstance(reason, OtherCause) for reason in candidate.reasons):
        # Heat that does not come of the load cannot be foretold from the load.
        return attrs.evolve(candidate, predicted=outlook.after((balance_figure(now),), moves))
    aimed = candidate.aimed(now.book)
    touched = [name for change in candidate.changes for name in _touched(change, now)]
    return attrs.evolve(
        candidate,
        predicted=outlook.after(tuple(dict.fromkeys([*aimed, *beside, *touched])), moves),
        chance=outlook.stage_chance(now.stage, moves),
        spoils=outlook.upset(now.stage, moves),
    )


def turns_balance(made: Sequence[Change], now: Situation) -> float:
    """Return how far changes move the balance figure [degF]: up is toward tight, down loose.

    Nought for what acts at its own tire alone.
    """
    if all(change.knob in TIRE_KNOBS for change in made):
        return 0.0
    balance = balance_figure(now)
    here, there = (now.outlook.after((balance,), m)[balance] for m in ({}, moves_of(made)))
    return there.mean - here.mean


def balance_figure(now: Situation) -> str:
    """Return the figure that holds front against rear on this track."""
    return "front_vs_rear" if now.figures.turns == "both" else "balance"


def cautions(
    made: Sequence[Change], entries: Iterable[Adjustment], now: Situation
) -> tuple[str, ...]:
    """Return which cautions go with some changes: those of the rules, and of freeing the car up."""
    found = [entry.caution for entry in entries if entry.caution]
    if turns_balance(made, now) < 0:
        found.append("loosening")
    return tuple(dict.fromkeys(found))


def _touched(change: Change, now: Situation) -> Sequence[str]:
    return tuple(now.outlook.known.priors.effects.get(change.setting, {}))
