"""A plan as the plain tables of its file and back.

They hold what was recorded and decided as keys and numbers, and nothing that follows from it (why a
run judges nothing, where the day stands, any sentence).
"""

from collections.abc import Mapping, Set
from functools import cache
from typing import Any

import attrs
import cattrs

from planner.advice.candidate import Candidate
from planner.advice.reasons import REASON_KINDS, Reason
from planner.car.car_file import Car
from planner.car.changes import Change, Setting
from planner.files import records
from planner.judging.doubt import Doubt
from planner.judging.outcomes import Outcome
from planner.judging.patterns import Pattern
from planner.learning.earlier import Usual
from planner.learning.observed import Told
from planner.plan.steps import (
    FORMAT,
    STEP_KINDS,
    AmendStep,
    Judged,
    Offered,
    Plan,
    RunStep,
    Step,
)
from planner.run.readings import Again, Run, why_void
from planner.run.typed import NOT_READ
from planner.trade import units
from planner.trade.corners import UNREAD, Corner, Three, was_read
from planner.trade.estimate import Estimate
from planner.trade.units import System

JUDGED_DECIMALS = 3  # of what was worked out: as many as the status object has
DERIVED: Mapping[type, tuple[str, ...]] = {
    RunStep: ("void",),
    Judged: ("void",),
    Pattern: ("masked_by",),
}
# A change is written as its setting and amount, such as "camber.RF" = 1: the settings before and
# after, and what rides along, follow from the steps before it.
Amounts = tuple[Change, ...]
_BY_SETTING: Any = Mapping[str, float]


@cache
def converter() -> cattrs.Converter:
    """Return the converter between the records of a plan and the tables of its file."""
    exact = records.converter(records.DECIMALS, DERIVED)
    judged = records.converter(JUDGED_DECIMALS, DERIVED)
    for made in (exact, judged):
        made.register_structure_hook_func(_are_amounts, _changes)
        made.register_unstructure_hook_func(_are_amounts, _amounts)
        made.register_structure_hook_func(_is_setting, _setting)
        made.register_unstructure_hook_func(_is_setting, ".".join)
        made.register_structure_hook(Estimate, lambda pair, _: Estimate(*_pair(pair, exact)))
    exact.register_unstructure_hook(Estimate, _estimate)
    judged.register_unstructure_hook(
        Estimate, lambda at: [round(each, JUDGED_DECIMALS) for each in (at.mean, at.sd)]
    )
    for made in (exact, judged):
        records.tag(Reason, "kind", REASON_KINDS, made)
    for kind in (Pattern, Outcome, Doubt, Candidate, Offered, Told, Usual):
        exact.register_structure_hook(kind, judged.get_structure_hook(kind))
        exact.register_unstructure_hook(kind, judged.get_unstructure_hook(kind))
    exact.register_structure_hook(Run, _run_reader(exact))
    exact.register_unstructure_hook(Run, _run_writer(exact))
    records.tag(Step, "kind", STEP_KINDS, exact)  # last: it builds on how its parts are written
    return exact


def _run_reader(made: cattrs.Converter) -> Any:
    """Return the reader of runs, in which a dash stands for a reading that was not taken."""
    read = made.get_structure_hook(Run)

    def run(value: Any, kind: Any) -> Run:
        if not isinstance(value, dict) or not isinstance(value.get("tires"), dict):
            found: Run = read(value, kind)
            return found
        tires, unread = without_dashes(value["tires"])
        found = read({**value, "tires": tires}, kind)
        return attrs.evolve(found, tires=unread_again(found.tires, unread))

    return run


def _run_writer(made: cattrs.Converter) -> Any:
    write = made.get_unstructure_hook(Run)

    def run(found: Run) -> dict[str, Any]:
        table: dict[str, Any] = write(found)
        return {**table, "tires": with_dashes(table["tires"])}

    return run


def with_dashes(tires: Mapping[str, Any]) -> dict[str, Any]:
    """Return the table of some tires, a dash for each reading that was not taken."""
    return {
        corner: [value if was_read(value) else NOT_READ for value in tire]
        for corner, tire in tires.items()
    }


def without_dashes(tires: Mapping[str, Any]) -> tuple[dict[str, Any], set[tuple[str, int]]]:
    """Return the table with numbers alone, and where a dash stood."""
    unread = {
        (corner, at)
        for corner, tire in tires.items()
        if isinstance(tire, list)
        for at, value in enumerate(tire)
        if value == NOT_READ
    }
    filled = {
        corner: [0.0 if (corner, at) in unread else value for at, value in enumerate(tire)]
        if isinstance(tire, list)
        else tire
        for corner, tire in tires.items()
    }
    return filled, unread


def unread_again(
    tires: Mapping[Corner, Three], unread: Set[tuple[str, int]]
) -> dict[Corner, Three]:
    """Return tires with the readings that were not taken marked so."""

    def three(corner: Corner, tire: Three) -> Three:
        inner, middle, outer = (
            UNREAD if (corner, at) in unread else value for at, value in enumerate(tire)
        )
        return inner, middle, outer

    return {corner: three(corner, tire) for corner, tire in tires.items()}


def _is_setting(kind: Any) -> bool:
    return bool(kind == Setting)


def _setting(value: Any, _: Any) -> Setting:
    text: str = records.plain().structure(value, str)
    knob, _, place = text.partition(".")
    return knob, place


def _are_amounts(kind: Any) -> bool:
    return bool(kind == Amounts)


def _amounts(changes: Amounts) -> dict[str, float]:
    return {f"{c.knob}.{c.corner}": round(c.amount, records.DECIMALS) for c in changes}


def _changes(amounts: Any, _: Any) -> Amounts:
    found: Mapping[str, float] = records.plain().structure(amounts, _BY_SETTING)
    named = [(*key.partition("."), amount) for key, amount in found.items()]
    return tuple(Change(knob, corner, amount) for knob, _, corner, amount in named)


def _estimate(found: Estimate) -> list[float]:
    return [round(found.mean, records.DECIMALS), round(found.sd, records.DECIMALS)]


def _pair(value: Any, made: cattrs.Converter) -> tuple[float, float]:
    pair: tuple[float, float] = made.structure(value, tuple[float, float])
    return pair


def tables(plan: Plan) -> dict[str, Any]:
    """Return a plan as the tables of its file, temperatures of runs in the plan's unit."""
    found: dict[str, Any] = converter().unstructure(_with_runs(plan, inward=False))
    return {"format": FORMAT, **found}


def plan(data: Mapping[str, Any], where: str) -> Plan:
    """Return the plan that the tables of a file hold.

    Raises
    ------
    Unusable
        A key is missing, unknown or holds what it cannot; names every one of them.
    """
    found = _with_runs(records.structure(data, Plan, where, "plan", converter()), inward=True)
    steps = tuple(
        attrs.evolve(each, void=why_void(each.run, found.laps, found.least_laps))
        if isinstance(each, RunStep)
        else each
        for each in found.step
    )
    return attrs.evolve(found, step=steps)


def step(found: Step) -> dict[str, Any]:
    """Return a step as its table."""
    tables: dict[str, Any] = converter().unstructure(found, unstructure_as=Step)
    return tables


def car(found: Car) -> dict[str, Any]:
    """Return the plan's copy of the car file as tables."""
    tables: dict[str, Any] = converter().unstructure(found)
    return tables


def _with_runs(plan: Plan, *, inward: bool) -> Plan:
    """Return the plan with the temperatures of its runs in degF, or in the plan's unit."""
    if plan.units == "us":
        return plan
    steps = tuple(
        attrs.evolve(step, run=_converted(step.run, plan.units, inward=inward))
        if isinstance(step, RunStep | AmendStep) and step.run is not None
        else step
        for step in plan.step
    )
    return attrs.evolve(plan, step=steps)


def _converted(run: Run, system: System, *, inward: bool) -> Run:
    """Return the run with its temperatures in degF (inward) or in the plan's unit."""
    turn = units.fahrenheit if inward else units.in_plan_unit

    def one(value: float) -> float:
        return round(turn(value, system), 4) if was_read(value) else UNREAD

    def three(values: Three) -> Three:
        inner, middle, outer = (one(value) for value in values)
        return inner, middle, outer

    return attrs.evolve(
        run,
        tires={corner: three(tire) for corner, tire in run.tires.items()},
        again=None if run.again is None else Again(run.again.corner, three(run.again.tire)),
        track_temp=None if run.track_temp is None else one(run.track_temp),
        air_temp=None if run.air_temp is None else one(run.air_temp),
    )
