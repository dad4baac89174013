"""The draft: a run that is being typed, kept beside the plan until it is stored.

It is never part of the plan. A draft begun at another point of the plan is ignored, and so is one
that cannot be read.
"""

import contextlib
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Literal

import attrs

from planner.files import records, toml_files, toml_text, whole_file
from planner.guide.prompts import NOTHING_BEFORE
from planner.plan.steps import Plan
from planner.storage import plan_tables
from planner.trade.corners import CORNERS, Corner, Three
from planner.trade.refusals import Refusal, Unusable

Way = Literal["imo", "across"]


@attrs.frozen
class Draft:
    """What has been typed of a run.

    Attributes
    ----------
    plan, after : when its plan was created, and how many steps that had.
    way : inner/middle/outer, or left to right as the car stands.
    tires : the tires typed [degF], in the order they were typed.
    extras : everything else, as texts by the name of its option.
    finished : the crew has nothing else to add.
    kept, kept_air : doubtful tires, and pressures, that the crew has looked at and keeps.
    back_at : a tire already typed that the crew has gone back to; None while it goes forward.
    """

    plan: datetime
    after: int
    way: Way = "imo"
    tires: Mapping[Corner, Three] = attrs.field(factory=dict)
    extras: Mapping[str, tuple[str, ...]] = attrs.field(factory=dict)
    finished: bool = False
    kept: tuple[Corner, ...] = ()
    kept_air: bool = False
    back_at: Corner | None = None

    @property
    def begun(self) -> bool:
        """Whether there is anything in it worth keeping."""
        return bool(self.tires or self.extras)

    @property
    def has_all_tires(self) -> bool:
        """Whether every tire is typed and none is being looked at again."""
        return self.back_at is None and all(corner in self.tires for corner in CORNERS)

    def with_tires(self, read: Mapping[Corner, Three]) -> "Draft":
        """Put readings in; a tire read anew has not been looked at yet."""
        kept = tuple(corner for corner in self.kept if corner not in read)
        return attrs.evolve(self, tires={**self.tires, **read}, kept=kept)

    def past(self, corner: Corner) -> "Draft":
        """Go on after a tire: to the next typed one if the crew had gone back, else forward."""
        typed = list(self.tires)
        after = typed[typed.index(corner) + 1 :]
        returning = self.back_at is not None and not self.finished
        return attrs.evolve(self, back_at=after[0] if returning and after else None)

    def back(self) -> "Draft":
        """Go back one answer; what was typed stays.

        Raises
        ------
        Refusal
            The first tire is asked for.
        """
        if self.finished:  # one tire was looked at again, from the question about storing
            return attrs.evolve(self, back_at=None)
        typed = list(self.tires)
        at = len(typed) if self.back_at is None else typed.index(self.back_at)
        if at == 0:
            raise Refusal(
                NOTHING_BEFORE, "This is the first tire.", hint="three numbers; q leaves the guide"
            )
        return attrs.evolve(self, back_at=typed[at - 1])


def place(plan_path: Path) -> Path:
    """Return where the draft of a plan is kept."""
    real = plan_path.resolve()  # by whatever name it was reached
    return real.with_name(f".{real.name}.draft")


def fresh(plan: Plan, way: Way = "imo") -> Draft:
    """Return an empty draft for the plan as it stands."""
    return Draft(plan.created, len(plan.step), way)


def load(plan_path: Path, plan: Plan) -> Draft | None:
    """Return the draft kept for the plan as it stands; None when there is none that counts."""
    path = place(plan_path)
    if not path.exists():
        return None
    try:
        data = toml_files.read_toml(path, "draft")
        tires = data.get("tires")
        filled, unread = plan_tables.without_dashes(tires if isinstance(tires, dict) else {})
        data = {**data, "tires": filled}
        kept = records.structure(data, Draft, str(path), "draft", records.plain())
        kept = attrs.evolve(kept, tires=plan_tables.unread_again(kept.tires, unread))
    except Unusable:
        return None
    return kept if counts(kept, plan) else None


def counts(draft: Draft, plan: Plan) -> bool:
    """Say whether a draft was begun at the point where the plan stands."""
    return (draft.plan, draft.after) == (plan.created, len(plan.step))


def save(plan_path: Path, draft: Draft) -> None:
    """Write the draft; its file always holds the whole old one or the whole new one.

    Raises
    ------
    Refusal
        The folder cannot be written to.
    """
    path = place(plan_path)
    table = records.plain().unstructure(draft)
    if "tires" in table:
        table["tires"] = plan_tables.with_dashes(table["tires"])
    try:
        whole_file.put(path, toml_text.dumps(table).encode(), plan_path)
    except OSError as error:
        raise whole_file.cannot_write(path, error, "What you type cannot be kept") from None


def remove(plan_path: Path) -> None:
    """Delete the draft; it is stored, or not wanted."""
    with contextlib.suppress(OSError):
        place(plan_path).unlink()
