"""Figures and temperatures in words, in the reader's unit."""

from planner.trade.corners import was_read
from planner.trade.units import System, apart, degree_mark, in_plan_unit

NOT_KNOWN = "not known"
_FINEST = 4  # decimals, where a figure lies that close to an edge of its band
_LEVELS = ("front", "rear", "left", "right", "diagonal")  # temperatures; the rest are differences


def in_words(name: str) -> str:
    """Return a figure's name in words, e.g. ``RF split`` or ``cross vs front``."""
    kind, _, corner = name.partition(".")
    words = kind.replace("_", " ")
    return f"{corner} {words}" if corner else words


def reading(degrees: float, system: System) -> str:
    """Write one reading [degF] in whole degrees, without its unit; a dash for none."""
    return f"{in_plan_unit(degrees, system):.0f}" if was_read(degrees) else "-"


def temperature(degrees: float, system: System) -> str:
    """Write a temperature [degF] in the plan's unit, e.g. ``205 °F`` or ``96.1 °C``."""
    if not was_read(degrees):
        return NOT_KNOWN
    decimals = 0 if system == "us" else 1
    return f"{in_plan_unit(degrees, system):.{decimals}f} {degree_mark(system)}"


def difference(degrees: float, system: System, *, signed: bool = True) -> str:
    """Write a temperature difference [degF] in the plan's unit, e.g. ``+12.0 °F``."""
    if not was_read(degrees):
        return NOT_KNOWN
    shown = round(apart(degrees, system), 1) + 0.0  # no -0.0
    return f"{shown:{'+' if signed else ''}.1f} {degree_mark(system)}"


def value(figure: str, degrees: float, system: System) -> str:
    """Write a figure [degF] with its unit: averages as temperatures, the rest with a sign."""
    write = temperature if is_level(figure) else difference
    return write(degrees, system)


def is_level(figure: str) -> bool:
    """Say whether a figure is a temperature, not a difference of two."""
    return figure.partition(".")[0] == "average" or figure in _LEVELS


def number(figure: str, degrees: float, system: System) -> str:
    """Write a figure [degF] as `value` does, without its unit."""
    if not was_read(degrees):
        return "-"
    return value(figure, degrees, system).removesuffix(degree_mark(system)).rstrip()


def beside_band(
    figure: str, degrees: float, edges: tuple[float | None, float | None], system: System
) -> str:
    """Write a figure [degF] as `number` does, with so many decimals that it reads on its side.

    A figure outside its band does not read as if rounding had moved it in, nor the other way.
    """
    text = number(figure, degrees, system)
    if not was_read(degrees):
        return text
    size = _in_unit(figure, degrees, system)
    low, high = (None if at is None else _in_unit(figure, at, system) for at in edges)
    lies = _sides(size, (low, high))
    lower, upper = (None if at is None else float(edge(figure, at, system)) for at in edges)
    shown = lower, upper
    decimals = len(text.partition(".")[2])
    while _sides(float(text), shown) != lies and decimals < _FINEST:
        decimals, shown = decimals + 1, (low, high)
        text = f"{size:{'' if is_level(figure) else '+'}.{decimals}f}"
    return text


def _in_unit(figure: str, degrees: float, system: System) -> float:
    if is_level(figure):
        return in_plan_unit(degrees, system)
    return apart(degrees, system)


def _sides(at: float, edges: tuple[float | None, float | None]) -> tuple[bool, bool]:
    """Say whether it lies below the band, and whether above."""
    low, high = edges
    return low is not None and at < low, high is not None and at > high


def edge(figure: str, degrees: float, system: System) -> str:
    """Write an edge of a band [degF] without its unit, as short as it goes."""
    if degrees == 0 and not is_level(figure):
        return "0"
    return number(figure, degrees, system).removesuffix(".0")


def band(figure: str, edges: tuple[float | None, float | None], system: System) -> str:
    """Write a band [degF] without its unit, e.g. ``-10 to +10``; ``""`` where it has no edge."""
    low, high = (None if each is None else edge(figure, each, system) for each in edges)
    if low is None:
        return "" if high is None else f"up to {high}"
    return f"from {low}" if high is None else f"{low} to {high}"
