"""The car file for another day: that of the plan, with the settings as they stand now."""

from collections.abc import Mapping
from typing import Any

import tomli_w

from planner.files import records
from planner.plan.day import Day
from planner.review.car_left import as_it_stands
from planner.trade import plain_text
from planner.trade.knobs import KNOBS


def text(day: Day, plan_name: str) -> str:
    """Return the car file as TOML, with remarks on what no longer holds.

    Parameters
    ----------
    plan_name : name of the plan's file.

    Notes
    -----
    Settings that the day has moved are rounded as they are shown. A moved cross weight is put
    into the scales (`weights.loads_for_cross`); scales and circumferences that moved ballast and
    stagger have made untrue are left out.
    """
    car, remarks = as_it_stands(day)
    steps = len(day.plan.step)
    head = [f"The car of {plan_name} as it stood after step {steps}. Every key is optional."]
    comments = [f"# {plain_text.line(remark)}" for remark in (*head, *remarks)]
    tables = records.plain().unstructure(car)
    return "\n".join([*comments, *(_table(name, table) for name, table in tables.items())]) + "\n"


def _table(name: str, table: Mapping[str, Any]) -> str:
    """Write one table; tables within it go on one line, as they are typed."""
    rows = [f"\n[{name}]"]
    for key, value in table.items():
        if isinstance(value, Mapping):
            unit = f"  # {KNOBS[key].unit}" if name == "settings" else ""
            rows.append(f"{key} = {_inline(value)}{unit}")
        elif isinstance(value, str):
            rows.append(tomli_w.dumps({key: value}).strip())
        else:
            rows.append(f"{key} = {list(value) if isinstance(value, tuple | list) else value}")
    return "\n".join(rows)


def _inline(value: object) -> str:
    """Write a table, a word or a number as it stands in a line."""
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {_inline(at)}' for key, at in value.items())} }}"
    return f'"{value}"' if isinstance(value, str) else f"{value}"
