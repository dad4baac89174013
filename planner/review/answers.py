"""A car's answers over its days, and every change ever made with what came of it."""

from collections import Counter
from collections.abc import Iterator, Sequence

import attrs

from planner.car.changes import Setting
from planner.learning.observed import Priors, answer_of
from planner.plan import memory
from planner.review.season import DayOfCar
from planner.trade.estimate import Estimate


@attrs.frozen
class AnswerOverDays:
    """An answer as it is expected of a new day, after more and more days [degF per unit].

    Attributes
    ----------
    expected : after no day, after the first, and so on.
    alone : what each day by itself says, what was believed included; None where it says nothing.
    """

    setting: Setting
    figure: str
    expected: tuple[Estimate, ...]
    alone: tuple[Estimate | None, ...]

    @property
    def narrowed(self) -> float:
        """The spread after all days over that before the first."""
        return self.expected[-1].sd / self.expected[0].sd


def over_days(days: Sequence[DayOfCar]) -> tuple[AnswerOverDays, ...]:
    """Return, of every knob that was moved, the answer of which most was learned.

    Parameters
    ----------
    days : the oldest first; on tracks that turn the way the last one does.
    """
    ran = [day.day for day in days if day.day.good]
    if not ran:
        return ()
    from planner.learning import season

    priors = Priors(ran[-1].held_from(ran[-1].good[0]))
    told = [season.DayTold(memory.date_of(day), memory.told_by(day)) for day in ran]
    after = [
        season.answers(season.today(told[:count], priors, each.on), priors)
        for count, each in enumerate([told[0], *told])
    ]
    alone = [season.answers(each.told, priors) for each in told]
    found: dict[Setting, AnswerOverDays] = {}
    for name in after[-1]:
        setting, figure = answer_of(name)
        believed = priors.effects[setting][figure]
        steps = tuple(each.get(name, believed) for each in after)
        one = AnswerOverDays(setting, figure, steps, tuple(each.get(name) for each in alone))
        if setting not in found or one.narrowed < found[setting].narrowed:
            found[setting] = one
    return tuple(sorted(found.values(), key=lambda each: each.narrowed))


@attrs.frozen
class Turned:
    """One knob turned one way, over all days.

    Attributes
    ----------
    up : whether the setting was raised.
    sizes : the smallest and largest change.
    came : how often what came of it, by verdict; changes put back as ``put-back``, those no run has
        judged as ``not-judged``.
    """

    setting: Setting
    up: bool
    sizes: tuple[float, float]
    came: dict[str, int]

    @property
    def times(self) -> int:
        """How often it was done."""
        return sum(self.came.values())


def index(days: Sequence[DayOfCar]) -> tuple[Turned, ...]:
    """Return every change ever made, riding trims aside, what was done most often first."""
    found: dict[tuple[Setting, bool], list[tuple[float, str]]] = {}
    for setting, amount, came in _changes(days):
        found.setdefault((setting, amount > 0), []).append((abs(amount), came))
    rows = [
        Turned(
            setting,
            up,
            (min(size for size, _ in made), max(size for size, _ in made)),
            dict(Counter(came for _, came in made)),
        )
        for (setting, up), made in found.items()
    ]
    return tuple(sorted(rows, key=lambda row: -row.times))


def _changes(days: Sequence[DayOfCar]) -> Iterator[tuple[Setting, float, str]]:
    for day in days:
        for past in day.changes:
            verdict = "not-judged" if past.outcome is None else past.outcome.verdict
            for change in past.made:
                if change.amount and not change.trim and not change.is_other:
                    came = "put-back" if past.is_undone else verdict
                    yield change.setting, change.amount, came
