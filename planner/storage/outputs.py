"""Files written beside the plans: what a day has taught, and what goes to other programs."""

from collections.abc import Mapping
from pathlib import Path

from planner.files import whole_file
from planner.plan import memory
from planner.plan.fold import own_by_now
from planner.storage.plans import Opened
from planner.trade.refusals import Refusal


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
    found = taught.Taught(
        car=day.car.car.name,
        rules=day.plan.rules.id,
        turns=day.plan.turns,
        date=memory.date_of(day),
        runs=len(day.good),
        told=memory.told_by(day),
        in_balance=own_by_now(day),
    )
    taught.save(target, taught.dump(found), opened.path)
    return len(knobs)


def write_all(files: Mapping[Path, str], like: Path, *, force: bool = False) -> tuple[Path, ...]:
    """Write files for other programs, into folders made where they are missing.

    Parameters
    ----------
    like : the plan; whoever may read that may read files that are new.

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
            hint="another place, or --force to overwrite it",
        )
    for path, content in files.items():
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            whole_file.put(path.resolve(), content.encode(), None if path.exists() else like)
        except OSError as error:
            raise whole_file.cannot_write(path, error, "The file cannot be written") from None
    return tuple(files)
