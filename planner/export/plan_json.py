"""A whole plan as JSON of the published schema, temperatures in degF whatever its unit."""

import json
from datetime import datetime
from typing import Any

from planner.plan.steps import FORMAT, Plan
from planner.run.typed import NOT_READ
from planner.storage import plan_tables
from planner.trade import units


def as_json(plan: Plan) -> dict[str, Any]:
    """Return the plan as JSON."""
    tables: dict[str, Any] = plan_tables.converter().unstructure(plan)
    for step in tables.get("step", ()):
        for tire in step.get("run", {}).get("tires", {}).values():
            tire[:] = [None if value == NOT_READ else value for value in tire]
    timed = json.loads(json.dumps(tables, default=datetime.isoformat))
    system = timed.pop("units", plan.units)
    return {"format": FORMAT, "units": units.JSON_UNITS, "plan_units": system, **timed}
