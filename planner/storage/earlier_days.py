"""The earlier days of a car, as they lie in a folder."""

from datetime import datetime
from pathlib import Path

import attrs

from planner.car.car_file import Car
from planner.plan.day import Day
from planner.storage import plan_folder
from planner.trade.corners import Turns


@attrs.frozen
class EarlierDays:
    """What was found.

    Attributes
    ----------
    days : the oldest first.
    skipped : plans that could not be used, each with a word why.
    """

    days: tuple[Day, ...] = ()
    skipped: tuple[str, ...] = ()


def of(folder: Path, car: Car, turns: Turns, before: datetime) -> EarlierDays:
    """Return the days of a car that were begun before another, on tracks that turn its way.

    A plan that was edited by hand is skipped: nobody knows whether its numbers were read.
    """
    shelf = plan_folder.shelf(folder)
    skipped = [f"{path.name} skipped: {why.message}" for path, why in shelf.unusable]
    days = []
    for opened in shelf.plans:
        plan = opened.day.plan
        if opened.day.car.car.known_by != car.car.known_by or plan.created >= before:
            continue
        if opened.kept.touched:
            skipped.append(f"{opened.path.name} skipped: edited by hand since it was written.")
        elif plan.turns != turns:
            skipped.append(f"{opened.path.name} skipped: its track turns the other way.")
        else:
            days.append(opened.day)
    return EarlierDays(tuple(days), tuple(skipped))
