"""A car over its days, for other programs: JSON, and a table with a row a day."""

from collections.abc import Sequence
from typing import Any

import attrs

from planner.export.spreadsheet import Cell, text
from planner.plan import left_open
from planner.review import season
from planner.review.season import CarSeason, DayOfCar
from planner.review.two_days import TwoDays
from planner.trade.figures import BASE_FIGURES
from planner.trade.knobs import KNOBS

_SETTINGS = tuple((knob.name, place) for knob in KNOBS.values() for place in knob.places)
HEADS = (
    *("plan", "date", "car", "track", "runs", "void_runs", "tire_sets"),
    *("track_temp_low", "track_temp_high", "air_temp_low", "air_temp_high", "unit"),
    *("wrong", "changes", "better", "stage", "due", "left_open", "best_lap_s", "falloff_s_per_lap"),
    *(f"first_{name.replace('.', '_')}" for name in BASE_FIGURES),
    *(f"ended_{knob}_{place}" for knob, place in _SETTINGS),
)


def as_dict(car: CarSeason) -> dict[str, Any]:
    """Return a car's season as it goes into JSON [degF, psi, lb, in, deg]."""
    return {
        "car": car.name,
        "id": car.id,
        "days": [_day(day) for day in car.days],
        "tracks": [
            {
                "track": days[-1].track,
                "plans": [str(day.path) for day in days],
                "settings": {
                    ".".join(setting): list(ends) for setting, ends in season.turned(days)
                },
            }
            for days in car.by_track()
        ],
    }


def _day(day: DayOfCar) -> dict[str, Any]:
    laps = day.laps
    return {
        "plan": str(day.path),
        "date": day.date.isoformat(),
        "track": day.track,
        "track_temp": day.track_temp,
        "air_temp": day.air_temp,
        "tire_sets": list(day.sets),
        "runs": len(day.runs),
        "void_runs": len(day.runs) - len(day.day.good),
        "wrong": list(day.wrong),
        "changes": [
            {
                "step": past.step,
                "changes": {".".join(c.setting): c.amount for c in past.made if c.amount},
                "verdict": None if past.outcome is None else past.outcome.verdict,
                "put_back": past.is_undone,
            }
            for past in day.changes
        ],
        "stage": day.day.stage,
        "due": day.day.due,
        "left_open": [attrs.asdict(each) for each in left_open.left_open(day.day)],
        "best_lap": None if laps is None else laps.best,
        "falloff": None if laps is None or laps.falloff is None else round(laps.falloff, 4),
        "begun": {".".join(setting): at for setting, at in day.begun.items()},
        "ended": {".".join(setting): at for setting, at in day.ended.items()},
        "first_run": None if day.first is None else day.first.figures.as_dict(),
    }


def table(car: CarSeason) -> str:
    """Return the season as CSV, a row a day; temperatures in degF whatever the plans' units."""
    return text(HEADS, [_row(day) for day in car.days])


def _row(day: DayOfCar) -> Sequence[Cell]:
    base = {} if day.first is None else day.first.figures.base
    laps = day.laps
    verdicts = [past.outcome.verdict for past in day.changes if past.outcome is not None]
    return (
        day.path.name,
        day.date.isoformat(),
        day.day.car.car.name,
        day.track,
        len(day.runs),
        len(day.runs) - len(day.day.good),
        ", ".join(day.sets),
        *(day.track_temp or (None, None)),
        *(day.air_temp or (None, None)),
        "degF",
        ", ".join(day.wrong),
        len(day.changes),
        verdicts.count("better"),
        day.day.stage,
        day.day.due,
        ", ".join(each.pattern for each in left_open.left_open(day.day)),
        None if laps is None else laps.best,
        None if laps is None else laps.falloff,
        *(base.get(name) for name in BASE_FIGURES),
        *(day.ended.get(setting) for setting in _SETTINGS),
    )


def two_days(found: TwoDays) -> dict[str, Any]:
    """Return two days side by side as they go into JSON."""
    return {
        "days": [_day(found.one), _day(found.other)],
        "settings": {
            ".".join(each.setting): {"one": list(each.one), "other": list(each.other)}
            for each in found.settings
        },
        "figures": {
            each.figure: {
                "one": _first_and_last(each.one),
                "other": _first_and_last(each.other),
                "expected": None
                if each.expected is None
                else {key: round(value, 4) for key, value in attrs.asdict(each.expected).items()},
                "differs": each.differs,
            }
            for each in found.figures
        },
    }


def _first_and_last(values: tuple[float, float]) -> dict[str, float]:
    return dict(zip(("first", "last"), (round(value, 4) for value in values), strict=True))
