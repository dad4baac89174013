"""A rehearsal in words: what was wrong with the simulated car, and what the day took."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from planner.car.changes import Change, Setting
from planner.rehearsal.hood import Hood, Knob
from planner.rulebook.rules import Rulebook, figure_names
from planner.trade import units
from planner.trade.figures import in_words
from planner.trade.knobs import shown

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


def knob(of: Knob) -> str:
    """Say how far a knob was off and is now, or where one stands that was right."""
    name, _ = of.setting
    if of.fault is None:
        right, now = (shown(name, at, signed=False) for at in (of.good, of.now))
        return f"right at {right}, now at {now}"
    was = f"off by {shown(name, of.begun - of.good)}"
    if of.now == of.begun:
        return f"{was}, not touched"
    left = of.now - of.good
    return f"was {was}, now {f'off by {shown(name, left)}' if abs(left) > 1e-6 else 'right'}"


def out_of_band(excess: Mapping[str, float], book: Rulebook) -> str:
    """Say which figures are out of their bands, and by how much, the worst first."""
    said = []
    for key, beyond in sorted(excess.items(), key=lambda item: -item[1]):
        name, _, corner = key.partition(":")
        rule = book.rule(name)
        figures = " and ".join(in_words(each) for each in figure_names(rule, corner))
        side = "high" if rule.above is not None else "low"
        said.append(f"{figures} {units.difference(beyond, 'us', signed=False)} too {side}")
    return ", ".join(said) or "nothing: every figure is in its band"


def took(hood: Hood) -> str:
    """Say how many runs and changes the day had."""
    return f"{_count(hood.runs, hood.changes)}{'' if hood.complete else '; the day is not over'}"


def best(hood: Hood) -> str:
    """Say how many an all-knowing crew would have needed."""
    return f"{_count(hood.knowing.runs, len(hood.knowing.made))}, one stage at a time"


def changes(made: Iterable[Change]) -> str:
    """Say what was changed in one go."""
    return ", ".join(f"{named(c.setting)} {shown(c.knob, c.amount)}" for c in made)


def _count(runs: int, changes: int) -> str:
    return f"{runs} run{'' if runs == 1 else 's'}, {changes} change{'' if changes == 1 else 's'}"
