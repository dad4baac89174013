"""The plan file: TOML that a person can read, written so that nothing recorded is lost.

A save writes a new file beside the plan, syncs it, keeps the plan as it was under
``NAME.previous``, and only then puts the new file in the plan's place.
"""

import contextlib
import json
import os
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import attrs
import tomli_w
from filelock import FileLock, Timeout

from planner import car as car_file
from planner import knobs, readings, toml_records, units, whole_file
from planner.cautions import CAUTIONS
from planner.corners import Corner
from planner.errors import Refusal, Unusable
from planner.figures import is_figure
from planner.plan import FORMAT, STEP_KINDS, AmendStep, ChoiceStep, MadeStep, Plan, RunStep, Step
from planner.readings import Again, Run, Three

LOCK_PATIENCE = 5.0  # s

toml_records.register_kinds(Step, "kind", STEP_KINDS)


@attrs.frozen
class _TireRow:
    """One tire as a row of the file, so that its three values stand on one line by name."""

    corner: Corner
    inner: float
    middle: float
    outer: float


def _rows(tires: Mapping[Corner, Three]) -> tuple[_TireRow, ...]:
    return tuple(_TireRow(corner, *tire) for corner, tire in tires.items())


def _tires(rows: tuple[_TireRow, ...]) -> dict[Corner, Three]:
    if len({row.corner for row in rows}) != len(rows):
        raise ValueError("a corner is there twice")
    return {row.corner: (row.inner, row.middle, row.outer) for row in rows}


toml_records.register_shape(Mapping[Corner, Three], tuple[_TireRow, ...], _tires, _rows)


def load(path: Path) -> Plan:
    """Read a plan file.

    Raises
    ------
    Refusal
        There is no such file.
    Unusable
        It is damaged, of a newer format, or not a plan; says where and what to do.
    """
    must_exist(path)
    try:
        data = toml_records.read_toml(path, "plan")
    except Unusable as error:
        hint = error.hint or _way_back(path)
        raise Unusable(error.code, error.message, where=error.where, hint=hint) from None
    return parse(data, path)


def must_exist(path: Path) -> None:
    """Refuse where there is no plan file."""
    if not path.exists():
        raise Refusal(
            "not-found",
            "There is no plan here.",
            where=str(path),
            hint=f"treadgate start {path}",
        )


def parse(data: Mapping[str, Any], path: Path) -> Plan:
    """Turn the tables of a plan file into a plan; see `load`."""
    form = data.get("format")
    if isinstance(form, int) and not isinstance(form, bool) and form > FORMAT:
        raise Unusable(
            "newer-format",
            f"This plan is of format {form}; this program reads up to {FORMAT}.",
            where=f"{path}, format",
            hint="use the newer program that wrote it",
        )
    if form != FORMAT:
        raise Unusable(
            "not-a-plan", "This is not a plan file.", where=f"{path}, format", hint=_way_back(path)
        )
    try:
        plan = toml_records.structure(data, Plan, str(path), "plan")
    except Unusable as error:
        raise Unusable(error.code, error.message, where=error.where, hint=_way_back(path)) from None
    problems = car_file.mistakes(plan.car)
    if problems:
        raise Unusable(
            "bad-key",
            "The plan's copy of the car file has mistakes:\n"
            + "\n".join(f"car.{problem}" for problem in problems),
            where=str(path),
            hint=_way_back(path),
        )
    plan = _with_runs(plan, inward=True)
    problems = _impossible(plan)
    if problems:
        raise Unusable(
            "bad-key",
            "The plan file has mistakes:\n" + "\n".join(problems),
            where=str(path),
            hint=_way_back(path),
        )
    return plan


def _impossible(plan: Plan) -> list[str]:
    """Return what has the right shape but cannot be, with the path of its key."""
    found = [] if 1 <= plan.laps <= 1000 else [f"laps: {plan.laps} laps cannot be"]
    for number, step in enumerate(plan.step, 1):
        at = f"step[{number}]"
        if isinstance(step, RunStep):
            try:
                readings.check(step.run)
            except Refusal as refusal:
                found.append(f"{at}.run: {refusal.message} ({refusal.where})")
            continue
        if isinstance(step, AmendStep):
            earlier = plan.step[: number - 1]
            found += [f"{at}{problem}" for problem in _amend_mistakes(step, earlier)]
        changes = step.changes if isinstance(step, MadeStep | AmendStep) else ()
        if isinstance(step, ChoiceStep) and step.chosen is not None:
            changes = step.chosen.changes
            for key in step.chosen.cautions:
                if key not in CAUTIONS:
                    found.append(f"{at}.chosen.cautions: there is none called {key!r}")
            names = [name for aim in step.chosen.aims for name in aim.figures]
            found += [
                f"{at}.chosen.aims: there is no figure {name!r}"
                for name in names
                if not is_figure(name)
            ]
        found += [
            f"{at}.changes: there is no {change.knob} at {change.corner!r}"
            for change in changes
            if not knobs.is_place(change.knob, change.corner)
        ]
    return found


def _amend_mistakes(step: AmendStep, before: Sequence[Step]) -> list[str]:
    """Return what cannot be about an amendment, after the steps before it."""
    amended = before[step.amends - 1] if 1 <= step.amends <= len(before) else None
    if not isinstance(amended, RunStep | MadeStep):
        return [f".amends: step {step.amends} is no run or change made before"]
    found = []
    if isinstance(amended, RunStep) != (step.run is not None):
        found.append(".run: a run is amended by a run, a change made by changes")
    if isinstance(amended, MadeStep) != bool(step.changes):
        found.append(".changes: a change made is amended by changes, a run by a run")
    if not step.reason.strip():
        found.append(".reason: a reason is wanted")
    if step.run is not None:
        try:
            readings.check(step.run)
        except Refusal as refusal:
            found.append(f".run: {refusal.message} ({refusal.where})")
    for judged in step.judged:
        in_reach = 1 <= judged.step <= len(before) and judged.step >= step.amends
        if not in_reach or not isinstance(before[judged.step - 1], RunStep):
            found.append(f".judged: step {judged.step} is no run it bears on")
    return found


def dump(plan: Plan) -> bytes:
    """Return the plan as the bytes of its file."""
    tables: dict[str, Any] = toml_records.unstructure(_with_runs(plan, inward=False))
    return tomli_w.dumps({"format": FORMAT, **tables}).encode()


def as_json(plan: Plan) -> dict[str, Any]:
    """Return the plan as JSON of the published schema, temperatures in degF whatever its unit."""
    tables: dict[str, Any] = toml_records.unstructure(plan)
    timed = json.loads(json.dumps(tables, default=datetime.isoformat))
    system = timed.pop("units", plan.units)
    return {"format": FORMAT, "units": units.JSON_UNITS, "plan_units": system, **timed}


def _with_runs(plan: Plan, *, inward: bool) -> Plan:
    """Return the plan with the temperatures of its runs in degF, or in the plan's unit."""
    steps = tuple(
        attrs.evolve(step, run=_converted(step.run, plan.units, inward=inward))
        if isinstance(step, RunStep | AmendStep) and step.run is not None
        else step
        for step in plan.step
    )
    return attrs.evolve(plan, step=steps)


def _converted(run: Run, system: units.System, *, inward: bool) -> Run:
    """Return the run with its temperatures in degF (inward) or in the plan's unit."""
    if system == "us":
        return run
    turn = units.fahrenheit if inward else units.in_plan_unit

    def one(value: float) -> float:
        return round(turn(value, system), 4)

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


def create(path: Path, plan: Plan) -> None:
    """Write a new plan file.

    Raises
    ------
    Refusal
        There is a file of that name already, or the folder is not there or not writable.
    """
    with locked(path):
        if path.exists():
            raise Refusal(
                "exists",
                "There is a file of this name already; it is not overwritten.",
                where=str(path),
                hint=f"treadgate guide {path} goes on with it; or give another name",
            )
        _write(path, dump(plan))


def save(path: Path, plan: Plan) -> None:
    """Put the plan in the place of the one on disk, which is kept; call under `locked`."""
    _write(path, dump(plan))


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the plan's lock. The system lets go of it when the process ends, however it ends.

    Raises
    ------
    Unusable
        Another process holds it.
    Refusal
        The folder cannot be written to.
    """
    if not path.parent.is_dir():
        raise Refusal(
            "no-folder",
            "There is no such folder.",
            where=str(path.parent),
            hint="make the folder, or correct the path",
        )
    lock = FileLock(f"{path}.lock", timeout=LOCK_PATIENCE)
    try:
        lock.acquire()
    except Timeout:
        raise Unusable(
            "locked",
            "Another process is writing this plan.",
            where=str(path),
            hint="wait for it, or close the other window",
        ) from None
    except OSError as error:
        raise _cannot_write(path, error) from None
    try:
        yield
    finally:
        lock.release()


def previous(path: Path) -> Path:
    """Return where the version before the last save is kept."""
    return path.with_name(path.name + ".previous")


def _write(path: Path, content: bytes) -> None:
    real = path.resolve()  # a link to a plan stays a link
    try:
        if real.exists():
            whole_file.put(previous(real), real.read_bytes())
        whole_file.put(real, content)
        _sync_folder(real.parent)
    except OSError as error:
        raise _cannot_write(path, error) from None


def _sync_folder(folder: Path) -> None:
    # Without this a power cut could forget the renaming. Windows has no such call and needs none.
    # Some file systems have none either; the plan is in place by now, so that is no failure.
    if os.name == "posix":
        with contextlib.suppress(OSError):
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


def _cannot_write(path: Path, error: OSError) -> Refusal:
    reason = error.strerror or str(error)
    return Refusal(
        "cannot-write",
        f"The plan cannot be written: {reason}. Nothing was changed.",
        where=str(path),
        hint="look at the folder, the disk and its free space, then give the command again",
    )


def _way_back(path: Path) -> str:
    kept = previous(path)
    if kept.exists():
        return f"the version before the last save is kept: copy {kept} over it"
    return "look at the line named; every other program leaves a plan file alone"


def now() -> datetime:
    """Return the time to record, to the second, with its offset."""
    return datetime.now().astimezone().replace(microsecond=0)
