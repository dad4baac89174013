"""Readings that look like a slip: what looks wrong, and what corrects it."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from planner.files.file_name import in_command
from planner.run import slips
from planner.run.slips import AirQuestion, LapQuestion, Question
from planner.trade import units
from planner.trade.corners import STRIPS, Corner, Three, was_read
from planner.trade.units import System
from planner.words.figures import difference, temperature


def says(question: Question, system: System) -> str:
    """Say what is odd about a reading, as a whole sentence."""
    corner, reads = question.corner, difference(question.reads, system)
    if question.odd == "in-celsius":
        return "all four tires look as if they were read in °C; the plan is in °F."
    if question.odd == "in-fahrenheit":
        return "all four tires look as if they were read in °F; the plan is in °C."
    if question.odd == "far-from-last":
        return f"{corner} is {reads} away from the run before."
    if question.odd == "exchanged":
        moved = " and ".join(question.corners)
        return f"{moved} fit all runs so far if exchanged, and not as typed: were they exchanged?"
    if question.strip is not None:
        return f"{corner} {question.strip} {_strip(question, system)}"
    assert question.usual is not None
    usual = difference(question.usual.mean, system)
    spread = difference(question.usual.sd, system, signed=False)
    return (
        f"{corner} reads {reads} from inner to outer, but {usual} by all runs so far, give or take "
        f"{spread}; were the edges swapped?"
    )


def _strip(question: Question, system: System) -> str:
    assert question.strip is not None
    shown = temperature(question.reads, system)
    if question.odd == "too-hot":
        return f"{shown} is hotter than a tire survives."
    if not question.instead:
        return f"{shown} is far from its neighbours."
    meant = temperature(question.instead[question.corner][STRIPS.index(question.strip)], system)
    return f"{shown} is far from its neighbours; was {meant} meant?"


def of_air(question: AirQuestion) -> str:
    """Say what is odd about one or more pressures."""
    corner, when, psi = question.corner, question.when, question.read[question.corner]
    if question.odd == "too-low":
        return f"{corner} {psi:.1f} psi {when} is too low to drive on; type bar as {psi:g}bar."
    if question.odd == "impossible":
        read = f"{corner} {psi:g} psi hot from {question.cold:g} cold"
        return f"{read} is impossible: a slip, or the tire is flat."
    if question.odd == "lost":
        return (
            f"{corner} {psi:g} psi hot is less than its {question.cold:g} cold: a slip, or a leak."
        )
    read = _listed(question.read)
    fits = _listed({at: (question.instead or {})[at] for at in question.read})
    if when == "hot":
        return (
            f"hot {read} psi do not fit the cold pressures. Typed in another order? Then it is "
            f"{fits}."
        )
    return (
        f"cold {read} psi do not fit what was in the tires. Typed in another order? Then it is "
        f"{fits}."
    )


def _listed(pressures: Mapping[Corner, float]) -> str:
    return ", ".join(f"{corner} {psi:g}" for corner, psi in pressures.items())


def of_laps(question: LapQuestion) -> str:
    """Say what is odd about a lap time."""
    return (
        f"lap {question.number} took {question.time:g} s; the others took about "
        f"{question.usual:.2f} s."
    )


def in_doubt(
    asked: Iterable[Question],
    pressures: Iterable[AirQuestion],
    path: Path,
    step: int,
    system: System,
    times: Sequence[float] = (),
) -> tuple[str, ...]:
    """Return what may be a slip in a stored run, each with the command that corrects it.

    Parameters
    ----------
    times : lap times that were typed [s].
    """
    found = []
    odd = slips.laps(times)
    if odd is not None:
        found.append((of_laps(odd), f"--lap-times {','.join(f'{lap:g}' for lap in times)}"))
    for question in asked:
        meant_tires = [tire_option(c, tire, system) for c, tire in question.instead.items()]
        unknown = f"--tire {question.corner}=inner/middle/outer"
        found.append((says(question, system), " ".join(meant_tires) or unknown))
    for each in pressures:
        meant = each.instead or {}
        options = [f"--{each.when} {corner}={psi:g}" for corner, psi in meant.items()]
        found.append((of_air(each), " ".join(options) or f"--{each.when} {each.corner}=PSI"))
    return tuple(
        f"{sentence} If it is a slip: {amends(path, step, f'{option} --reason slip')}"
        for sentence, option in found
    )


def tire_option(corner: Corner, tire: Three, system: System) -> str:
    """Return the readings of a tire as they are given on the command line."""
    values = "/".join(
        f"{units.in_plan_unit(value, system):g}" if was_read(value) else "-" for value in tire
    )
    return f"--tire {corner}={values}"


def amends(path: Path, step: int | None, options: str) -> str:
    """Return the command that corrects a step."""
    return f"treadgate amend {in_command(path)} {'STEP' if step is None else step} {options}"
