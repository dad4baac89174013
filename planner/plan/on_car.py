"""What was on the car at every step of a day, as far as known, and what is on it now."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import attrs

from planner.advice.past import Past
from planner.car import car_file
from planner.car import changes as changing
from planner.car.changes import Setting
from planner.plan.day import Day, moved_by
from planner.plan.steps import CarStep, RunStep, Step
from planner.trade import knobs
from planner.trade.knobs import KNOBS


@attrs.frozen
class OnCar:
    """A setting now and at the start, with the decimals of its knob.

    Attributes
    ----------
    begun, now : what the day began with (a pressure as read before the first run), and what is on
        the car; None where it is not known.
    moved, times : how far it was moved by changes in sum, and by how many.
    """

    knob: str
    place: str
    begun: float | None
    now: float | None
    moved: float
    times: int

    @property
    def unit(self) -> str:
        """The unit of the setting."""
        return KNOBS[self.knob].unit

    @property
    def is_known(self) -> bool:
        """Whether anything is known of it."""
        return self.begun is not None or self.now is not None or self.times > 0

    def as_dict(self) -> dict[str, Any]:
        """Return the setting as it goes into JSON."""
        return {
            "knob": self.knob,
            "corner": self.place,
            "value": self.now,
            "unit": self.unit,
            "begun": self.begun,
            "moved": self.moved,
            "times": self.times,
        }


def setup(day: Day) -> tuple[OnCar, ...]:
    """Return every setting there could be, in the order of the knobs, by the values in force."""
    begun = dict(car_file.starting_settings(day.plan.car))
    first = next((step for step in day.steps if isinstance(step, RunStep)), None)
    if first is not None:
        begun |= {("pressure", corner): cold for corner, cold in first.run.cold.items()}
    moved = moved_by(day.past)
    turned = [c.setting for past in day.past for c in past.made if c.amount]
    return tuple(
        OnCar(
            knob.name,
            place,
            _rounded(knob.name, begun.get((knob.name, place))),
            _rounded(knob.name, day.settings.get((knob.name, place))),
            knobs.rounded(knob.name, moved.get((knob.name, place), 0.0)),
            turned.count((knob.name, place)),
        )
        for knob in KNOBS.values()
        for place in knob.places
    )


def _rounded(knob: str, value: float | None) -> float | None:
    return None if value is None else knobs.rounded(knob, value)


def after_each(
    start: Mapping[Setting, float], steps: Sequence[Step], past: Iterable[Past]
) -> tuple[Mapping[Setting, float], ...]:
    """Return the settings before the first step and after each, by the values now in force.

    Parameters
    ----------
    start : settings the day began with.
    steps : with amended values in their place.
    past : changes as they were really made.
    """
    made = {each.step: each.made for each in past}
    settings = dict(start)
    found = [dict(settings)]
    for number, step in enumerate(steps, start=1):
        for change in made.get(number, ()):
            if change.setting in settings:
                moved = settings[change.setting] + change.amount
                settings[change.setting] = changing.tidy(moved)
        if isinstance(step, CarStep):
            settings |= car_file.starting_settings(step.car)
        if isinstance(step, RunStep):
            for corner, cold in step.run.cold.items():
                settings["pressure", corner] = cold
        found.append(dict(settings))
    return tuple(found)
