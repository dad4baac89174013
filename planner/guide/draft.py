"""The draft: a run that is being typed, kept beside the plan until it is stored.

It is never a part of the plan. A draft that was begun at another point of the plan, or that
cannot be read, counts for nothing.
"""

import contextlib
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Literal

import attrs

from planner.files import records, toml_files, toml_text, whole_file
from planner.plan.steps import Plan
from planner.trade.corners import Corner, Three
from planner.trade.refusals import Unusable

Way = Literal["imo", "lr"]


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
    back_at : a tire typed already that the crew has gone back to; None where it goes forward.
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


def place(plan_path: Path) -> Path:
    """Return where the draft of a plan is kept."""
    return plan_path.with_name(f".{plan_path.name}.draft")


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
        kept = records.structure(data, Draft, str(path), "draft", records.plain())
    except Unusable:
        return None
    return kept if counts(kept, plan) else None


def counts(draft: Draft, plan: Plan) -> bool:
    """Say whether a draft was begun at the point where the plan stands."""
    return (draft.plan, draft.after) == (plan.created, len(plan.step))


def save(plan_path: Path, draft: Draft) -> None:
    """Write the draft so that its file always holds the whole old or the whole new one.

    Raises
    ------
    Refusal
        The folder cannot be written to.
    """
    path = place(plan_path)
    try:
        whole_file.put(path, toml_text.dumps(records.plain().unstructure(draft)).encode())
    except OSError as error:
        raise whole_file.cannot_write(path, error, "What you type cannot be kept") from None


def remove(plan_path: Path) -> None:
    """Take the draft away; it is stored, or not wanted."""
    with contextlib.suppress(OSError):
        place(plan_path).unlink()
