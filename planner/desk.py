"""The desk where plans are opened and put away, with their files, rules and clock.

Both the commands and the guide work through this; neither opens a plan file itself.
"""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path

import attrs

from planner import car as car_file
from planner import planfile, rulebook
from planner.car import Car
from planner.changes import Setting
from planner.corners import CORNERS
from planner.day import Day
from planner.errors import Refusal, Unusable
from planner.figures import Turns
from planner.plan import USUAL_CERTAINTY, Budget, Plan, RulesUsed, RunStep
from planner.replay import replay
from planner.rulebook import Effect, Rulebook
from planner.units import System


@attrs.frozen
class Opened:
    """A plan, opened: the day it stands for, and what should be mentioned about it."""

    path: Path
    day: Day
    remarks: tuple[str, ...] = ()


@attrs.frozen
class NewPlan:
    """What a new plan is made with; None where the car file or the rules decide.

    Attributes
    ----------
    rules : id of the rules, or a file.
    car, taught : files to read.
    certainty : chance of being in band at which a figure stops holding its stage.
    budget : what there is for the day.
    """

    rules: str = "paved-oval"
    car: Path | None = None
    laps: int | None = None
    track: str | None = None
    units: System = "us"
    turns: Turns | None = None
    certainty: float | None = None
    budget: Budget = Budget()
    taught: Path | None = None


def start(path: Path, wanted: NewPlan = NewPlan(), car: Car | None = None) -> Opened:
    """Make a new plan file.

    Parameters
    ----------
    path : of the plan file.
    wanted : what it is made with.
    car : the car, where it comes from no file.

    Raises
    ------
    Refusal
        The file is there already, or rules, car, laps and turns do not go together.
    Unusable
        The rules file has mistakes.
    """
    rules_path = rulebook.find(wanted.rules)
    book = rulebook.load(rules_path)
    if car is None:
        car = Car() if wanted.car is None else car_file.load(wanted.car)
    way = wanted.turns or car.car.turns or book.turns[0]
    if way not in book.turns:
        raise Refusal(
            "bad-value",
            f"The {book.id} rules are for tracks that turn {' or '.join(book.turns)}, not {way}.",
            where="--turns" if wanted.turns else "car.turns",
            hint=f"--turns {book.turns[0]}, or other rules",
        )
    if way != (car.car.turns or "left"):  # the plan's copy of the car says which side is outside
        car = attrs.evolve(car, car=attrs.evolve(car.car, turns=way))
    laps = book.laps if wanted.laps is None else wanted.laps
    if not 1 <= laps <= 1000:
        raise Refusal("bad-value", f"{laps} laps cannot be.", where="--laps", hint="--laps 10")
    certainty = USUAL_CERTAINTY if wanted.certainty is None else wanted.certainty
    if not 0.3 <= certainty <= 0.95:
        raise Refusal(
            "bad-value",
            f"A certainty of {certainty:g} will not do.",
            where="--certainty",
            hint="from 0.3 (few runs) to 0.95 (many); 0.7 is usual",
        )
    own_file = "" if wanted.rules in rulebook.BUNDLED else str(rules_path.resolve())
    plan = Plan(
        created=planfile.now(),
        rules=RulesUsed(book.id, book.fingerprint, own_file),
        turns=way,
        laps=laps,
        units=wanted.units,
        track=wanted.track or car.track.name,
        car=car,
        certainty=certainty,
        budget=wanted.budget,
        taught={} if wanted.taught is None else _taught(wanted.taught, book),
    )
    planfile.create(path, plan)
    return Opened(path, replay(plan, book.for_turns(way)))


def _taught(path: Path, book: Rulebook) -> dict[str, Mapping[str, Effect]]:
    """Return what an earlier day has taught, as the plan keeps it."""
    from planner import taught

    try:
        effects = taught.load(path, date.today())
    except Unusable as error:
        raise Refusal(error.code, error.message, where=error.where, hint=error.hint) from None
    entries = book.adjustment.values()
    known: set[Setting] = {(entry.knob, entry.corner) for entry in entries}
    known |= {(entry.knob, corner) for entry in entries for corner in CORNERS}
    return {f"{s[0]}.{s[1]}": each for s, each in effects.items() if s in known}


def keep_taught(opened: Opened, target: Path) -> int:
    """Write what the day has taught to a file; return of how many knobs.

    Raises
    ------
    Refusal
        The file is there already, cannot be written, or the day has taught nothing yet.
    """
    from planner import taught

    day = opened.day
    if not day.past or not day.good or not day.known.learned():
        raise Refusal(
            "nothing-learned",
            "Nothing was changed and run yet, so the car has taught nothing.",
            where=str(opened.path),
            hint="make a change, run, record it; then again",
        )
    name = day.plan.car.car.name
    ran = max(step.time for step in day.plan.step if isinstance(step, RunStep))
    content = taught.dump(day.known, car=name, rules=day.plan.rules.id, on=ran.date())
    taught.save(target, content)
    return len({setting for setting, _ in day.known.learned()})


def write_all(files: Mapping[Path, str], *, force: bool = False) -> tuple[Path, ...]:
    """Write files for other programs, into folders made where they are missing.

    Raises
    ------
    Refusal
        A file is there already and may not be written over, or cannot be written.
    """
    taken = [path for path in files if path.exists()]
    if taken and not force:
        raise Refusal(
            "exists",
            "There is a file of this name already; nothing was written.",
            where=str(taken[0]),
            hint="another place, or --force to write over it",
        )
    for path, content in files.items():
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(content, "utf-8", newline="")
        except OSError as error:
            raise Refusal(
                "cannot-write",
                f"The file cannot be written: {error.strerror or error}.",
                where=str(path),
                hint="another place",
            ) from None
    return tuple(files)


@attrs.frozen
class Shelf:
    """The plans of a folder, and the files there that cannot be used, each with the reason."""

    plans: tuple[Opened, ...]
    unusable: tuple[tuple[Path, Refusal], ...]


def shelf(folder: Path) -> Shelf:
    """Open every plan in a folder, the oldest day first.

    Raises
    ------
    Refusal
        There is no such folder, or it cannot be read.
    """
    try:
        found = sorted(p for p in folder.iterdir() if p.suffix == ".toml" and p.is_file())
    except OSError as error:
        raise Refusal(
            "no-folder",
            f"The folder cannot be read: {error.strerror or error}.",
            where=str(folder),
            hint="treadgate days FOLDER",
        ) from None
    plans, unusable = [], []
    for path in found:
        try:
            plans.append(open_plan(path))
        except Refusal as refusal:
            unusable.append((path, refusal))
    plans.sort(key=lambda opened: (opened.day.plan.created.timestamp(), opened.path.name))
    return Shelf(tuple(plans), tuple(unusable))


def open_plan(path: Path) -> Opened:
    """Read a plan and its rules, and work out where the day stands.

    Raises
    ------
    Refusal, Unusable
        See `planfile.load`, `rulebook.load` and `day.replay`.
    """
    plan = planfile.load(path)
    book, remarks = _rules_of(plan, path)
    return Opened(path, replay(plan, book), remarks)


def step(path: Path, move: Callable[[Day, datetime], Day]) -> Opened:
    """Open a plan, make one move on it, and save it, all under its lock."""
    planfile.must_exist(path)
    with planfile.locked(path):
        opened = open_plan(path)
        after = move(opened.day, planfile.now())
        planfile.save(path, after.plan)
    return attrs.evolve(opened, day=after)


def _rules_of(plan: Plan, path: Path) -> tuple[Rulebook, tuple[str, ...]]:
    try:
        rules_path = rulebook.find(plan.rules.file or plan.rules.id, beside=path.parent)
    except Refusal:
        raise Unusable(
            "no-rules",
            f"The rules this plan goes by are not to be found: {plan.rules.file or plan.rules.id}.",
            where=f"{path}, rules",
            hint="put the file back there, or correct rules.file in the plan",
        ) from None
    book = rulebook.load(rules_path)
    if plan.turns not in book.turns:
        raise Unusable(
            "bad-key",
            f"The {book.id} rules are for tracks that turn {' or '.join(book.turns)}.",
            where=f"{path}, turns",
            hint=f'turns = "{book.turns[0]}"',
        )
    remarks: tuple[str, ...] = ()
    if book.fingerprint != plan.rules.fingerprint:
        remarks = (
            f"The {book.id} rules have changed since this plan was begun: earlier steps stand as "
            "they were, new advice goes by the rules as they are now.",
        )
    return book.for_turns(plan.turns), remarks
