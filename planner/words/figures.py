"""Figures in words, in the reader's unit."""

from planner.trade import units
from planner.trade.units import System

_LEVELS = ("front", "rear", "left", "right", "diagonal")  # temperatures; the rest are differences


def value(figure: str, degrees: float, system: System) -> str:
    """Write a figure [degF] with its unit: averages as temperatures, the rest with a sign."""
    write = units.temperature if is_level(figure) else units.difference
    return write(degrees, system)


def is_level(figure: str) -> bool:
    """Say whether a figure is a temperature, and no difference of two."""
    return figure.partition(".")[0] == "average" or figure in _LEVELS


def number(figure: str, degrees: float, system: System) -> str:
    """Write a figure [degF] as `value` does, without its unit."""
    return value(figure, degrees, system).removesuffix(units.degree_mark(system)).rstrip()


def edge(figure: str, degrees: float, system: System) -> str:
    """Write an edge of a band [degF] without its unit, as short as it goes."""
    if degrees == 0 and not is_level(figure):
        return "0"
    return number(figure, degrees, system).removesuffix(".0")
