"""What the earlier days of a car say of a day to begin."""

from collections.abc import Mapping, Sequence
from datetime import date
from statistics import fmean
from typing import TYPE_CHECKING

import attrs

from planner.car import car_file
from planner.car.car_file import Car
from planner.car.car_model import CarModel
from planner.car.changes import Setting
from planner.learning import beliefs
from planner.learning.earlier import Usual
from planner.learning.observed import Priors, Told
from planner.plan.day import Day, learned
from planner.plan.fold import own_by_now
from planner.rulebook.own_bands import Own
from planner.rulebook.rules import Rulebook
from planner.run.readings import Run
from planner.trade.figures import BASE_FIGURES

if TYPE_CHECKING:  # numpy comes with it
    from planner.learning.posterior import Array, Posterior
    from planner.learning.taught import Taught


@attrs.frozen
class Memory:
    """What earlier days say.

    Attributes
    ----------
    days : how many there are with a run that judges the setup.
    told : of the car's answers.
    usual : of what the first run should read; None where the car was never at this track.
    own : the car's own figures in balance.
    """

    days: int = 0
    told: Told = Told()
    usual: Usual | None = None
    own: Mapping[str, Own] = attrs.field(factory=dict)


def of_days(days: Sequence[Day], car: Car, track: str, on: date) -> Memory:
    """Return what the earlier days of a car say of another.

    Parameters
    ----------
    days : those days, the oldest first.
    car : as it stands on the day to begin.
    track : of the day to begin; "" where it has no name.
    on : its date.
    """
    ran = [day for day in days if day.good]
    if not ran:
        return Memory()
    from planner.learning import first_run, season

    last = ran[-1]
    told = [season.DayTold(date_of(day), told_by(day)) for day in ran]
    here = [day for day in ran if track and car_file.same(day.plan.track) == car_file.same(track)]
    weather = _weather(here)
    settings = car_file.starting_settings(car)
    predicted = [_predicted(day, settings, weather) for day in here]
    return Memory(
        days=len(ran),
        told=season.today(told, Priors(last.held_from(last.good[0])), on),
        usual=first_run.usual(predicted, weather),
        own={name: each.as_earlier for name, each in own_by_now(last).items()},
    )


def of_file(found: "Taught", car: Car, book: Rulebook, on: date) -> Memory:
    """Return what a file that was carried here by hand says; see `of_days`.

    Parameters
    ----------
    book : today's rules, turned the way the track turns.
    """
    from planner.learning import season

    model = CarModel(car, car_file.starting_settings(car), {}, Run({}), {}, book.turns[0])
    days = [season.DayTold(found.date, found.told)]
    return Memory(
        days=1,
        told=season.today(days, Priors(beliefs.effects(book, model)), on),
        own={name: each.as_earlier for name, each in found.in_balance.items()},
    )


def date_of(day: Day) -> date:
    """Return the date of a day's last good run."""
    return day.steps[day.good[-1].step - 1].time.date()


def told_by(day: Day) -> Told:
    """Return what a day alone says of the car's answers, without what it was told."""
    if not day.past or not day.good:
        return Told()
    from planner.learning import season

    return season.of_day(_alone(day))


def _alone(day: Day) -> "Posterior":
    """Return what the runs of a day say, without what it was told."""
    if not day.plan.taught.rows:
        return day.known
    plan = attrs.evolve(day.plan, taught=Told())
    return learned(plan, day.book, day.good, day.held_from(day.good[0]))


def _weather(days: Sequence[Day]) -> dict[str, float]:
    """Return the mean weather of some days, where it was written down."""
    found = {}
    for name in ("track_temp", "air_temp"):
        values = [g.seen.conditions.get(name) for day in days for g in day.good]
        known = [value for value in values if value is not None]
        if known:
            found[name] = fmean(known)
    return found


def _predicted(
    day: Day, settings: Mapping[Setting, float], weather: Mapping[str, float]
) -> "tuple[Array, Array]":
    """Return the figures of a setup in some weather as a day predicts them."""
    begun = day.begun
    moved = {s: at - begun[s] for s, at in settings.items() if s in begun and at != begun[s]}
    return day.known.at(BASE_FIGURES, moved, weather)
