"""What was on the car at every step of a day, where it is known."""

from collections.abc import Iterable, Mapping, Sequence

from planner import changes as changing
from planner.candidates import Past
from planner.changes import Setting
from planner.plan import RunStep, Step


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
        if isinstance(step, RunStep):
            for corner, cold in step.run.cold.items():
                settings["pressure", corner] = cold
        found.append(dict(settings))
    return tuple(found)
