"""The JSON Schema of an exported plan, worked out from the records a plan is made of.

The published schema is also a file, ``planner/export/schema/plan.schema.json``, so that other
programs can read it without this one; a test compares the two.
"""

import json
import types
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, Union, cast, get_args, get_origin, get_type_hints

import attrs

from planner.advice.candidate import Candidate
from planner.advice.reasons import REASON_KINDS, Reason
from planner.car.changes import Change, Setting
from planner.plan.steps import (
    FORMAT,
    STEP_KINDS,
    AmendStep,
    Budget,
    MadeStep,
    Offered,
    Plan,
    RunStep,
    Step,
)
from planner.run.readings import Run
from planner.storage import plan_tables
from planner.trade import knobs, numbers
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.units import JSON_UNITS, System

PUBLISHED = Path(__file__).parent / "schema" / "plan.schema.json"
DRAFT = "https://json-schema.org/draft/2020-12/schema"

_MOMENT = r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?([+-]\d\d:\d\d)?$"

# What the types alone do not say, by record and field: limits beyond which a plan is refused.
_NARROWED: Mapping[tuple[type, str], dict[str, Any]] = {
    (Run, "laps"): numbers.LAPS_RUN.limits,
    (Run, "delay"): numbers.DELAY.limits,
    (Run, "track_temp"): numbers.WEATHER.limits,
    (Run, "air_temp"): numbers.WEATHER.limits,
    (Plan, "laps"): numbers.LAPS.limits,
    (Plan, "least_laps"): numbers.LAPS.limits,
    (Plan, "certainty"): numbers.CERTAINTY.limits,
    (Budget, "runs"): numbers.RUNS.limits,
    (Budget, "minutes"): numbers.MINUTES.limits,
    (Budget, "sets"): numbers.TIRE_SETS.limits,
    (Budget, "runs_per_set"): numbers.RUNS_PER_SET.limits,
    (AmendStep, "amends"): {"minimum": 1},
    (AmendStep, "reason"): {"minLength": 1},
    (Change, "knob"): {"enum": [*knobs.KNOBS, knobs.OTHER]},
}
_SETTINGS = [f"{knob.name}.{place}" for knob in knobs.KNOBS.values() for place in knob.places]
# A knob at its place, or anything else by what the crew calls it.
_SETTING = {"anyOf": [{"enum": _SETTINGS}, {"pattern": rf"^{knobs.OTHER}\..*\S"}]}
# Changes that are written as amounts by setting.
_AMOUNTS: set[tuple[type, str]] = {
    (kind, "changes") for kind in (Candidate, Offered, MadeStep, AmendStep)
}
_AMOUNTS |= {(RunStep, "really")}
_NARROWED_ITEMS: Mapping[tuple[type, str], dict[str, Any]] = {
    (Run, "lap_times"): numbers.LAP_TIME.limits,
    (Run, "cold"): numbers.PRESSURE.limits,
    (Run, "hot"): numbers.PRESSURE.limits,
}


def published() -> str:
    """Return the published schema as text."""
    return PUBLISHED.read_text("utf-8")


def as_text() -> str:
    """Return the schema as the text of its file."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def schema() -> dict[str, Any]:
    """Return the schema of an exported plan."""
    described = _Described()
    plan = described.table(Plan)
    plan["properties"].pop("format")
    plan["properties"].pop("units")
    plan["properties"] = {
        "format": {"const": FORMAT},
        "units": {"const": dict(JSON_UNITS)},
        "plan_units": {"enum": list(get_args(System))},
        **plan["properties"],
    }
    plan["required"] = ["format", "units", "plan_units", *plan["required"]]
    return {
        "$schema": DRAFT,
        "title": "A Treadgate plan, exported",
        "description": "Temperatures are in degF, pressures in psi, weights in lb, lengths in in, "
        "angles in deg, whatever unit the plan is kept in (plan_units). A key that is left out has "
        "its default; a reading of a tire that was not taken is null.",
        **plan,
        "$defs": dict(sorted(described.records.items())),
    }


class _Described:
    """Types turned into schemas; records are collected by name and referred to."""

    def __init__(self) -> None:
        self.records: dict[str, dict[str, Any]] = {}

    def table(self, kind: type) -> dict[str, Any]:
        """Describe a record as an object."""
        hints = get_type_hints(kind)
        properties: dict[str, Any] = {}
        required = []
        for field in attrs.fields(cast(Any, kind)):
            if field.name in plan_tables.DERIVED.get(kind, ()):
                continue
            described = self.value(hints[field.name])
            if (kind, field.name) in _AMOUNTS:
                described = {
                    "type": "object",
                    "propertyNames": _SETTING,
                    "additionalProperties": {"type": "number"},
                }
            if (kind, field.name) == (Run, "tires"):
                reading = {"type": ["number", "null"]} | numbers.TIRE_TEMPERATURE.limits
                tire = self._list((float,) * 3) | {"prefixItems": [reading] * 3}
                described = described | {
                    "properties": dict.fromkeys(CORNERS, tire),
                    "required": list(CORNERS),
                }
            _narrow(described, _NARROWED.get((kind, field.name), {}))
            _narrow_items(described, _NARROWED_ITEMS.get((kind, field.name), {}))
            properties[field.name] = described
            if field.default is attrs.NOTHING:
                required.append(field.name)
        return {
            "type": "object",
            "properties": properties,
            "required": required,
            "additionalProperties": False,
        }

    def value(self, kind: Any) -> dict[str, Any]:
        """Describe any type that a plan is made of."""
        plain: dict[Any, dict[str, Any]] = {
            float: {"type": "number"},
            int: {"type": "integer"},
            str: {"type": "string"},
            bool: {"type": "boolean"},
            datetime: {"type": "string", "pattern": _MOMENT},
        }
        if kind in plain:
            return dict(plain[kind])
        for union, kinds in ((Step, STEP_KINDS), (Reason, REASON_KINDS)):
            if kind == union:
                return {"oneOf": [self._tagged(each, name) for each, name in kinds.items()]}
        if kind == Setting:
            return dict(_SETTING)
        if kind is Estimate:
            return self._list((float, float))
        if attrs.has(kind):
            return self._reference(kind.__name__, lambda: self.table(kind))
        origin, inner = get_origin(kind), get_args(kind)
        if origin is Literal:
            return {"enum": list(inner)}
        if origin in (Union, types.UnionType):
            described = [self.value(each) for each in inner if each is not type(None)]
            # What is not known is left out.
            return described[0] if len(described) == 1 else {"oneOf": described}
        if origin is tuple:
            return self._list(inner)
        assert origin is Mapping, kind
        return self._mapping(*inner)

    def _tagged(self, kind: type, name: str) -> dict[str, Any]:
        def described() -> dict[str, Any]:
            table = self.table(kind)
            table["properties"] = {"kind": {"const": name}, **table["properties"]}
            table["required"] = ["kind", *table["required"]]
            return table

        return self._reference(kind.__name__, described)

    def _reference(self, name: str, describe: Any) -> dict[str, Any]:
        if name not in self.records:
            self.records[name] = {}
            self.records[name] = describe()
        return {"$ref": f"#/$defs/{name}"}

    def _list(self, inner: tuple[Any, ...]) -> dict[str, Any]:
        if inner[-1] is Ellipsis:
            return {"type": "array", "items": self.value(inner[0])}
        return {
            "type": "array",
            "prefixItems": [self.value(each) for each in inner],
            "minItems": len(inner),
            "maxItems": len(inner),
        }

    def _mapping(self, key: Any, item: Any) -> dict[str, Any]:
        if get_origin(key) is Literal:
            return {
                "type": "object",
                "properties": {name: self.value(item) for name in get_args(key)},
                "additionalProperties": False,
            }
        return {"type": "object", "additionalProperties": self.value(item)}


def _narrow(described: dict[str, Any], limits: dict[str, Any]) -> None:
    described.update(limits)
    if "enum" in limits:
        described.pop("type", None)


def _narrow_items(described: dict[str, Any], limits: dict[str, Any]) -> None:
    if limits:
        parts = [described["items"]] if "items" in described else described["properties"].values()
        for part in parts:
            part.update(limits)
