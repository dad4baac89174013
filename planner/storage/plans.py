"""The desk where plans are opened and put away, with their files, rules and clock.

Both the commands and the guide work through this; neither opens a plan file itself.
"""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path

import attrs

from planner.car import car_file
from planner.car.car_file import MOST_NAME, Car
from planner.car.changes import Setting
from planner.car.doubts import doubts
from planner.files import whole_file
from planner.files.file_name import in_command
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.plan.steps import Budget, Plan, RulesUsed, RunStep
from planner.rulebook import rules_file
from planner.rulebook.mirrored import for_turns
from planner.rulebook.rules import Rulebook
from planner.storage import mend, planfile, since
from planner.storage.mend import Conflict, Saved
from planner.storage.planfile import Kept
from planner.trade.corners import CORNERS, Turns
from planner.trade.estimate import Estimate
from planner.trade.numbers import CERTAINTY, LAPS, USUAL_CERTAINTY
from planner.trade.refusals import Refusal, Unusable, quoted
from planner.trade.units import System
from planner.words import car as car_words


@attrs.frozen
class Opened:
    """A plan, opened: the day it stands for, and what should be mentioned about it.

    Attributes
    ----------
    kept : the plan as it is in its file, by which a change from elsewhere is told.
    """

    path: Path
    day: Day
    remarks: tuple[str, ...] = ()
    kept: Kept = attrs.Factory(lambda self: Kept(self.day.plan, ""), takes_self=True)


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
        The file is there already, or rules, car, lesson, laps and turns do not go
        together.
    Unusable
        The rules file has mistakes.
    """
    rules_path = rules_file.find(wanted.rules)
    book = rules_file.load(rules_path)
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
    if not LAPS.holds(laps):
        raise Refusal(
            "bad-value", f"{laps} laps cannot be.", where="--laps", hint=f"--laps {LAPS.example}"
        )
    certainty = USUAL_CERTAINTY if wanted.certainty is None else wanted.certainty
    if not CERTAINTY.holds(certainty):
        raise Refusal(
            "bad-value",
            f"A certainty of {certainty:g} will not do.",
            where="--certainty",
            hint=CERTAINTY.example,
        )
    remarks = tuple(car_words.doubt(found) for found in doubts(car))
    taught: Mapping[str, Mapping[str, Estimate]] = {}
    if wanted.taught is not None:
        taught, said = _taught(wanted.taught, book, way, car.car.name)
        remarks += said
    own_file = "" if wanted.rules in rules_file.BUNDLED else str(rules_path.resolve())
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
        taught=taught,
    )
    mark = planfile.create(path, plan)
    return Opened(path, replay(plan, for_turns(book, way)), remarks, Kept(plan, mark))


def _taught(
    path: Path, book: Rulebook, way: Turns, name: str
) -> tuple[dict[str, Mapping[str, Estimate]], tuple[str, ...]]:
    """Return what an earlier day has taught, as the plan keeps it, and what to say of it.

    Parameters
    ----------
    way, name : of today's track and car.
    """
    from planner.learning import taught

    try:
        found = taught.read(path)
    except Unusable as error:
        raise Refusal(error.code, error.message, where=error.where, hint=error.hint) from None
    if found.turns != way:
        ways = [f"turns {'both ways' if each == 'both' else each}" for each in (found.turns, way)]
        raise Refusal(
            "bad-value",
            f"This was learned on a track that {ways[0]}; the track of this plan {ways[1]}.",
            where=f"--taught {path}, turns",
            hint=f"start without it; or --turns {found.turns}, if that is the way it turns",
        )
    remarks: tuple[str, ...] = ()
    if found.car and name and found.car != name:
        theirs, ours = (quoted(each, MOST_NAME) for each in (found.car, name))
        remarks = (
            f"What was learned comes from another car: {path} is of {theirs}, this plan of {ours}.",
        )
    effects = taught.effects(found, date.today())
    entries = book.adjustment.values()
    known: set[Setting] = {(entry.knob, entry.corner) for entry in entries}
    known |= {(entry.knob, corner) for entry in entries for corner in CORNERS}
    return {f"{s[0]}.{s[1]}": each for s, each in effects.items() if s in known}, remarks


def keep_taught(opened: Opened, target: Path) -> int:
    """Write what the day has taught to a file; return of how many knobs.

    Raises
    ------
    Refusal
        The file is there already, cannot be written, or the day has taught nothing yet.
    """
    from planner.learning import taught
    from planner.review import lessons

    day = opened.day
    knobs = {lesson.setting for lesson in lessons.of(day)}
    name = day.plan.car.car.name
    ran = max(step.time for step in day.plan.step if isinstance(step, RunStep))
    content = taught.dump(day.known, car=name, rules=day.plan.rules.id, on=ran.date())
    taught.save(target, content)
    return len(knobs)


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
            whole_file.put(path.resolve(), content.encode())
        except OSError as error:
            raise whole_file.cannot_write(path, error, "The file cannot be written") from None
    return tuple(files)


@attrs.frozen
class Shelf:
    """The plans of a folder.

    Attributes
    ----------
    unusable : plans that cannot be used, each with the reason.
    others : TOML of other kinds: cars, rules, runs, what a day has taught.
    """

    plans: tuple[Opened, ...]
    unusable: tuple[tuple[Path, Refusal], ...]
    others: tuple[Path, ...] = ()


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
    plans, unusable, others = [], [], []
    for path in found:
        try:
            plans.append(open_plan(path))
        except Refusal as refusal:
            if refusal.code == planfile.ANOTHER_KIND:
                others.append(path)
            else:
                unusable.append((path, refusal))
    plans.sort(key=lambda opened: (opened.day.plan.created.timestamp(), opened.path.name))
    return Shelf(tuple(plans), tuple(unusable), tuple(others))


def open_plan(path: Path) -> Opened:
    """Read a plan and its rules, and work out where the day stands.

    Raises
    ------
    Refusal, Unusable
        See `planfile.load`, `rulebook.load` and `day.replay`.
    """
    return _opened(path, planfile.read(path))


def step(
    path: Path,
    move: Callable[[Day, datetime], Day],
    *,
    seen: Opened | None = None,
    after: int | None = None,
) -> Opened:
    """Open a plan, make one move on it, and save it, all under its lock.

    Parameters
    ----------
    seen : the plan as it was looked at when the move was decided on; as it is now, when None.
    after : how many steps it had when it was looked at, where that is known.

    Raises
    ------
    Refusal, Unusable
        The move is not legal, the plan was changed since it was looked at (says what is new), or
        it cannot be read or written. In every case nothing was stored.
    """
    looked = planfile.read(path) if seen is None else seen.kept
    with planfile.locked(path):
        now = planfile.read(path, looked)
        opened = seen if seen is not None and now is seen.kept else _opened(path, now)
        if now.mark != looked.mark:
            raise _moved_on(path, since.since(looked.plan, now.plan))
        if after is not None and after != len(now.plan.step):
            held = f"It holds {since.steps(len(now.plan.step))}, not {after}."
            raise _moved_on(path, since.since_step(after, now.plan) or held)
        try:
            stepped = move(opened.day, planfile.now())
        except Refusal as refusal:
            raise _with_the_last(refusal, now.plan) from None
        mark = planfile.save(path, stepped.plan, now.mark)
    return attrs.evolve(opened, day=stepped, kept=Kept(stepped.plan, mark))


def keep_elsewhere(opened: Opened, path: Path) -> Opened:
    """Keep a plan as it was last seen in a new file, where its own cannot be reached.

    Raises
    ------
    Refusal
        There is a file of that name already, or it cannot be written.
    """
    mark = planfile.create(path, opened.kept.plan)
    return attrs.evolve(opened, path=path, kept=Kept(opened.kept.plan, mark))


@attrs.frozen
class Damage:
    """What is wrong with a plan file, and what can be saved of it.

    Attributes
    ----------
    trouble : why it cannot be used or should be looked at; None where it is whole.
    ways : to have a plan again, the one with the most steps first.
    mark : of the file as it was looked at; None where there is none.
    steps : how many it has, where it is whole.
    conflicts : where a merge has left two versions in it.
    """

    path: Path
    trouble: Refusal | None
    ways: tuple[Saved, ...] = ()
    mark: str | None = None
    steps: int = 0
    conflicts: tuple[Conflict, ...] = ()


def look_over(path: Path) -> Damage:
    """Look at a plan file for damage, and for what can be saved of it; nothing is written.

    Raises
    ------
    Refusal, Unusable
        There is no plan and no version before it, or what is wrong is no damage to the plan: it
        is of a newer format, or its rules are missing or have mistakes.
    """
    before = planfile.previous(path)
    try:
        kept = planfile.read(path)
    except Refusal as refusal:
        missing = refusal.code == "not-found" and planfile.is_there(before)
        if refusal.code in ("newer-format", "not-found", "unreadable") and not missing:
            raise
        trouble = refusal
    else:
        _rules_of(kept.plan, path)
        try:
            _opened(path, kept)
        except Unusable as error:
            trouble = error
        else:
            if not kept.remarks:
                return Damage(path, None, mark=kept.mark, steps=len(kept.plan.step))
            said = " ".join((kept.remarks[0].partition(" If ")[0], *_edited(path, kept)))
            trouble = Unusable("edited", said, where=str(path))
    raw = planfile.raw(path)
    ways = mend.ways(
        raw or b"",
        planfile.raw(before),
        path,
        lambda plan: _replayed(plan, _rules_of(plan, path)[0], untouched=False),
    )
    mark = None if raw is None else planfile.mark_of(raw)
    return Damage(path, trouble, ways, mark, conflicts=mend.conflicts(raw or b""))


def mend_plan(damage: Damage, way: Saved) -> Path | None:
    """Put what was saved in the place of the damaged file; return where that is kept now.

    Raises
    ------
    Refusal, Unusable
        It cannot be written, or the file is not the one any more that was looked at.
    """
    with planfile.locked(damage.path):
        return planfile.mended(damage.path, way.plan, damage.mark)


def _opened(path: Path, kept: Kept) -> Opened:
    book, remarks = _rules_of(kept.plan, path)
    try:
        untouched = kept.seal is not None and kept.seal.holds
        day = _replayed(kept.plan, book, untouched=untouched)
    except Unusable as error:
        hint = "; ".join((error.hint, f"treadgate mend {in_command(path)} shows what can be saved"))
        raise Unusable(error.code, error.message, where=error.where, hint=hint) from None
    planfile.refuse_cut_short(kept, path)
    return Opened(path, day, (*kept.remarks, *_edited(path, kept), *remarks), kept)


def _edited(path: Path, kept: Kept) -> tuple[str, ...]:
    """Return in what a plan that is not as it was written differs, where that can be told."""
    if not kept.touched:
        return ()
    before = planfile.previous(path)
    try:
        said = mend.edited(planfile.raw(path) or b"", planfile.raw(before), before.name)
    except Unusable:  # the version before cannot be read
        return ()
    return (said,) if said else ()


def _replayed(plan: Plan, book: Rulebook, *, untouched: bool) -> Day:
    """Work out where a plan stands; see `replay`.

    Parameters
    ----------
    untouched : it is as the program wrote it, so that a failure is a fault of the program. Steps
        put together by hand or by damage may contradict each other in ways nobody thought of.
    """
    try:
        return replay(plan, book)
    except Refusal:
        raise
    except Exception as error:
        if untouched:
            raise
        raise Unusable(
            "out-of-order",
            "The steps of this plan do not fit together: what one of them says was judged or "
            "changed has nothing before it to rest on.",
            where="steps",
            hint="put the steps back as they were",
        ) from error


def _moved_on(path: Path, what: str) -> Refusal:
    return Refusal(
        "moved-on",
        f"The plan was changed from elsewhere in the meantime. Nothing was stored. {what}",
        where=str(path),
        hint=f"treadgate status {in_command(path)} shows where it stands now; go on from there",
    )


def _with_the_last(refusal: Refusal, plan: Plan) -> Refusal:
    """Add to a move out of turn what was recorded last: it may have come from elsewhere."""
    if refusal.code != "not-due" or not plan.step:
        return refusal
    last = f"Recorded last: step {len(plan.step)}, {since.in_words(plan.step[-1])}."
    return Refusal(
        refusal.code, f"{refusal.message} {last}", where=refusal.where, hint=refusal.hint
    )


def _rules_of(plan: Plan, path: Path) -> tuple[Rulebook, tuple[str, ...]]:
    try:
        rules_path = rules_file.find(plan.rules.file or plan.rules.id, beside=path.parent)
    except Refusal:
        raise Unusable(
            "no-rules",
            f"The rules this plan goes by are not to be found: {plan.rules.file or plan.rules.id}.",
            where=f"{path}, rules",
            hint="put the file back there, or correct rules.file in the plan",
        ) from None
    book = rules_file.load(rules_path)
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
    return for_turns(book, plan.turns), remarks
