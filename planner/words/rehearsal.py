"""A rehearsal in words: what was wrong with the simulated car, and what the day took."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from planner.car.changes import Change, Setting
from planner.rulebook.rules import Rulebook
from planner.trade.knobs import shown
from planner.trade.plain_text import counted
from planner.words.figures import difference, in_words

OPEN = "The hood is open."
WRONG, MOVED = "Wrong this morning", "Moved, though nothing was wrong there"
OUT, TOOK = "Truly out of band", "What it took"
FIGURES = "True figures, free of reading noise, if it ran now"


def kept(seed: int, path: Path) -> str:
    """Say which day this is and where its plan is kept."""
    return f"Seed {seed}. The plan is kept in {path}."


def once_more(seed: int, path: Path) -> str:
    """Say how to drive the same day again, and what to do with this one."""
    return (
        f"To drive the same day again: --seed {seed} and another --plan. This one stays in\n"
        f"{path}, for treadgate why, report and export."
    )


def named(setting: Setting) -> str:
    """Name a knob at its place."""
    knob, place = setting
    return "cross weight" if knob == "cross" else f"{place} {knob}"


def knob(name: str, *, good: float, begun: float, now: float, wrong: bool) -> str:
    """Say how far a knob was off and is now, or where one is that was right.

    Parameters
    ----------
    good, begun, now : where it should be, was in the morning, and is [unit of the knob].
    wrong : it was put off as a fault.
    """
    if not wrong:
        right, is_at = (shown(name, at, signed=False) for at in (good, now))
        return f"right at {right}, now at {is_at}"
    was = f"off by {shown(name, begun - good)}"
    if now == begun:
        return f"{was}, not touched"
    left = now - good
    return f"was {was}, now {f'off by {shown(name, left)}' if abs(left) > 1e-6 else 'right'}"


def out_of_band(excess: Mapping[str, float], book: Rulebook) -> str:
    """Say which figures are out of their bands, and by how much, the worst first."""
    said = []
    for key, beyond in sorted(excess.items(), key=lambda item: -item[1]):
        band = book.band(key)
        assert band is not None
        figures = " and ".join(map(in_words, band.figures))
        side = "high" if band.rule.sign > 0 else "low"
        said.append(f"{figures} {difference(beyond, 'us', signed=False)} too {side}")
    return ", ".join(said) or "nothing: every figure is in its band"


def took(runs: int, changes: int, *, complete: bool) -> str:
    """Say how many runs and changes a day had."""
    said = f"{counted(runs, 'run')}, {counted(changes, 'change')}"
    return said if complete else f"{said}; the day is not over"


def changes(made: Iterable[Change]) -> str:
    """Say what was changed in one go."""
    return ", ".join(f"{named(c.setting)} {shown(c.knob, c.amount)}" for c in made)
