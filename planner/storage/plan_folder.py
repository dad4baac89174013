"""The plans of a folder."""

from pathlib import Path

import attrs

from planner.storage import planfile
from planner.storage.plans import Opened, open_plan
from planner.trade.refusals import Refusal


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

    What the program wrote is taken as it was judged then: judging the last run of every plan again
    would be most of the work.

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
            plans.append(open_plan(path, afresh=False))
        except Refusal as refusal:
            if refusal.code == planfile.ANOTHER_KIND:
                others.append(path)
            else:
                unusable.append((path, refusal))
    plans.sort(key=lambda opened: (opened.day.plan.created.timestamp(), opened.path.name))
    return Shelf(tuple(plans), tuple(unusable), tuple(others))


def unusable(found: Shelf) -> list[dict[str, str]]:
    """Return the plans that cannot be used as they go into JSON."""
    return [
        {"plan": str(path), "code": why.code, "message": why.message}
        for path, why in found.unusable
    ]
